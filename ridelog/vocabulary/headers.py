"""What the header of a column says: the small engine that reads it by the tables of `ridelog.vocabulary.words`."""

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import replace

from ridelog.lazy import dataclass
from ridelog.tell.reasons import headers as reasons
from ridelog.vocabulary.units import BRACKETS, UNITS, Unit, is_other_unit, says_no_unit, unit_named
from ridelog.vocabulary.words import (
    CONCEPTS,
    HARMLESS,
    NOUN_OF_DIMENSION,
    NOUNS,
    PHRASES,
    QUANTITIES,
    RULES,
    Quantity,
)

_CELL = re.compile(r"cell voltage (\d{1,3})")
_COUNTER_NOUNS = frozenset({"charge_noun", "energy"})
# Words such as "state" or "level" spoil a quantity, except where the quantity itself is a signal.
_SIGNALS = frozenset({"brake", "throttle", "soc"})
# Where a "position" is one on the earth, or that of a lever; of a motor or a switch it is nothing that is used.
_PLACED = frozenset({"latitude", "longitude", "altitude"}) | _SIGNALS
_SHORTEST_PART = 3  # of a compound word; shorter parts would find words everywhere
_LONGEST_PART = max(map(len, CONCEPTS))
_LONGEST_FIRST = sorted(PHRASES, key=len, reverse=True)


@dataclass(frozen=True)
class HeaderMeaning:
    """What one header says.

    Attributes
    ----------
    quantity : name in `ridelog.vocabulary.words.QUANTITIES`, ``cell voltage N``, or one of the undecided
        "charge counter" and "energy counter"; ``None`` where the header names nothing that is used
    unit : the unit stated; ``None`` where none is
    sign : -1 where the words say that positive is into the battery, otherwise 1
    sign_stated : whether the words say which way is positive
    unsigned : whether the words say that the values carry no sign
    concepts : what the words were taken for
    strange : words that no table knows
    rank : 0 for the best; among several columns of one quantity the lowest is used
    why : the reasoning, for people
    contradiction : the unit stated beside the header, where it is another than the header's; otherwise ``None``
    odd_unit : what stands in brackets in a unit's place and is neither a unit nor a word that is known; "" for none
    """

    quantity: str | None
    unit: Unit | None = None
    sign: int = 1
    sign_stated: bool = False
    unsigned: bool = False
    concepts: frozenset[str] = frozenset()
    strange: tuple[str, ...] = ()
    rank: int = 0
    why: str = ""
    contradiction: Unit | None = None
    odd_unit: str = ""


def quantity_named(name: str) -> Quantity | None:
    """The quantity called ``name``, cell voltages (``cell voltage 1`` …) included; ``None`` if unknown."""
    if match := _CELL.fullmatch(name):
        return Quantity(name, f"cell_{str(int(match[1])).zfill(2)}_v", ("voltage",))
    return QUANTITIES.get(name)


def understand(header: str, stated_unit: str | None = None) -> HeaderMeaning:
    """What a header says, with the unit that stands apart from it.

    Parameters
    ----------
    header : as it stands in the file: a column's header, a field's or an element's name
    stated_unit : the cell of a units row, or the unit that a field states; ``None`` or empty where there is none

    Returns
    -------
    meaning : never raises; a header that says nothing gives ``quantity`` ``None`` and the reason
    """
    if is_other_unit(header) or any(is_other_unit(match[1]) for match in BRACKETS.finditer(header)):
        return HeaderMeaning(None, why=reasons.STRANGE_UNIT)
    stated = unit_named(BRACKETS.sub(r"\1", stated_unit)) if stated_unit else None
    meaning = _by_header(header, stated)
    if meaning.unit is None:
        meaning = replace(meaning, odd_unit=_odd_unit(header))
    if stated is None and stated_unit and not says_no_unit(stated_unit):
        why = reasons.no_such_unit(stated_unit.strip())
        return HeaderMeaning(None, concepts=meaning.concepts, strange=meaning.strange, why=why)
    return meaning


def _odd_unit(header: str) -> str:
    """What stands in brackets and holds a word that no table knows: a unit, perhaps, in which nothing is read."""
    inside = [match[1].strip() for match in BRACKETS.finditer(header)]
    return next((text for text in inside if strange_words(words_of(text))), "")


def _by_header(header: str, stated: Unit | None) -> HeaderMeaning:
    """The first way to part the header into words and a unit that says something, or else the first of all."""
    first: HeaderMeaning | None = None
    for words, unit in _splits(header):
        meaning = replace(_meaning(words, unit or stated), strange=strange_words(words))
        if meaning.quantity is not None:
            if unit and stated and unit != stated:
                return replace(meaning, contradiction=stated)
            return meaning
        first = first or meaning
        if unit and BRACKETS.search(header):
            break  # an explicit unit that does not fit is not to be read as a word
    return first or HeaderMeaning(None, why=reasons.EMPTY)


def _splits(header: str) -> Iterator[tuple[list[str], Unit | None]]:
    """Ways to part a header into words and a unit, the most explicit first."""
    whole = unit_named(header.replace("()", ""))  # "millis()", as programs call it
    if whole and (len(header.strip()) > 1 or header.strip() in "AVW%"):
        yield [], whole
    for match in BRACKETS.finditer(header):
        if unit := unit_named(match[1]):
            yield words_of(header[: match.start()] + " " + header[match.end() :]), unit
    last = re.search(r"[\s,:]([^\s,:/]+/[^\s,:/]+)\s*$", header)  # "Tempo km/h", which is no time in hours
    if last and (unit := unit_named(last[1])):
        yield words_of(header[: last.start()]), unit
    last = re.search(r"(?:/|\bin|,|:)\s*([^\s,:]+)\s*$", header)
    if last and (unit := unit_named(last[1])):
        yield words_of(header[: last.start()]), unit
    words = words_of(header)
    yield from _units_among(words)
    yield words, None


def _units_among(words: list[str]) -> Iterator[tuple[list[str], Unit | None]]:
    """Words that spell a unit, the last ones first, each with the others."""
    for width in (2, 1):
        joined = "/".join(words[-width:])
        for spelling in (joined, joined.replace("/", "")):
            if len(words) > width and (unit := unit_named(spelling)):
                yield words[:-width], unit
    for place, word in enumerate(words):
        if len(word) > 1 and len(words) > 1 and (unit := unit_named(word)):
            yield words[:place] + words[place + 1 :], unit


def words_of(text: str) -> list[str]:
    """The words of a header, lower case and without accents; camel case and digits are parted."""
    text = unicodedata.normalize("NFKC", text).replace("ß", "ss").replace("μ", "µ")
    text = re.sub(r"[^\W\d_]+", lambda match: _camel_parted(match[0]), text)
    text = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c)).lower()
    return [word for word in re.findall(r"[^\W\d_]+|\d+|[%°µ]+", text.replace("μ", "µ")) if word]


def _camel_parted(word: str) -> str:
    """``StepTime`` as ``Step Time``; words and units that are known as they stand (SoC, kWh) stay whole."""
    if word.lower() in CONCEPTS or word.lower() in UNITS:
        return word
    return re.sub(r"(?<=[a-zà-ÿ])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])", " ", word)


def concepts_of(words: list[str]) -> frozenset[str]:
    """The concepts that the words state; phrases count before single words, compounds are taken apart."""
    text = " ".join(words)
    found: set[str] = set()
    for phrase in _LONGEST_FIRST:
        if phrase in text and re.search(rf"\b{phrase}\b", text):
            meant = PHRASES[phrase]
            found |= CONCEPTS.get(meant, frozenset({meant}))
            text = re.sub(rf"\b{phrase}\b", " ", text)
    rest = text.split()
    for word in rest:
        found |= CONCEPTS.get(word) or frozenset().union(*(CONCEPTS[part] for part in _parts(word)))
    others = found & NOUNS - {"current"}
    if others and not {"amps", "amperage"} & set(rest) and rest[:1] == ["current"]:
        found.discard("current")  # "current speed": the one of now
    return frozenset(found)


def strange_words(words: list[str]) -> tuple[str, ...]:
    """The words that no table knows: they may change what the others say."""
    text = " ".join(words)
    for phrase in PHRASES:
        if phrase in text:
            text = re.sub(rf"\b{phrase}\b", " ", text)
    return tuple(
        word
        for word in text.split()
        if not (word in CONCEPTS or word in UNITS or word in HARMLESS or word.isdecimal() or _parts(word))
    )


def _parts(word: str) -> list[str]:
    """The known words that a compound consists of ("akkustrom" -> "akku", "strom"); empty if it has others.

    From its end on, so that every place is looked at once: of each, the longest word there after which the rest is
    known, and where that rest begins, a linking s or n left out.
    """
    n = len(word)
    known: list[tuple[int, int] | None] = [None] * (n + 1)
    for start in range(n - _SHORTEST_PART, -1, -1):
        for end in range(min(n, start + _LONGEST_PART), start + _SHORTEST_PART - 1, -1):
            if word[start:end] not in CONCEPTS:
                continue
            after = next((at for at in _after(word, end) if at == n or known[at] is not None), None)
            if after is not None:
                known[start] = end, after
                break
    found, place = [], 0
    while place < n:
        step = known[place]
        if step is None:
            return []
        found.append(word[place : step[0]])
        place = step[1]
    return found


def _after(word: str, end: int) -> list[int]:
    """Where the next part of a compound may begin; a linking letter does not end one."""
    if end == len(word):
        return [end]
    linked = [end, end + 1] if word[end] in "sn" else [end]
    return [at for at in linked if at < len(word)]


def _meaning(words: list[str], unit: Unit | None) -> HeaderMeaning:
    """What words and unit say together."""
    concepts = concepts_of(words)
    dimension = unit.dimension if unit else None
    if dimension == "rpm" or (dimension and not concepts & NOUNS):
        concepts |= {NOUN_OF_DIMENSION.get(dimension, "")} - {""}
    if dimension == "share" and concepts & NOUNS == frozenset() and "battery" in concepts:
        concepts |= {"soc"}
    if concepts & _COUNTER_NOUNS:
        concepts |= {"charging"} if "inward" in concepts else set()
        concepts |= {"discharging"} if "outward" in concepts else set()
    void = "void" in concepts or ("indicator" in concepts and not concepts & _SIGNALS)
    void |= "place" in concepts and not concepts & _PLACED
    if void and concepts & NOUNS:
        return HeaderMeaning(None, unit, concepts=concepts, why=reasons.NOT_ITS_SAMPLES)
    return _by_rules(words, concepts, unit)


def _by_rules(words: list[str], concepts: frozenset[str], unit: Unit | None) -> HeaderMeaning:
    misfit = ""
    for rule in RULES:
        if not rule.needs <= concepts or rule.without & concepts:
            continue
        if rule.quantity is None:
            misfit = misfit or rule.why_not
            if rule.needs & NOUNS:
                break
            continue
        name = _numbered(rule.quantity, words)
        if name is None:
            misfit = misfit or reasons.CELL_WITHOUT_NUMBER
            continue
        if unit and unit.dimension not in dimensions_of(name):
            misfit = misfit or reasons.not_measured_in(rule.quantity, unit.name)
            continue
        return _found(name, concepts, unit)
    return HeaderMeaning(None, unit, concepts=concepts, why=misfit or reasons.NOTHING_NAMED)


def _numbered(quantity: str, words: list[str]) -> str | None:
    """The quantity with its cell's number; ``None`` where it needs one and the words hold none."""
    if quantity != "cell voltage":
        return quantity
    numbers = [word for word in words if word.isdecimal() and len(word) <= 3]
    return f"cell voltage {int(numbers[0])}" if numbers else None


def dimensions_of(name: str) -> tuple[str, ...]:
    """The dimensions of the units that a quantity is measured in, undecided counters included; none if unknown."""
    if name == "charge counter":
        return ("charge",)
    if name == "energy counter":
        return ("energy",)
    quantity = quantity_named(name)
    return quantity.dimensions if quantity else ()


def _found(name: str, concepts: frozenset[str], unit: Unit | None) -> HeaderMeaning:
    directed = name in ("battery current", "battery power", "net charge", "net energy")
    into = bool(concepts & {"charge", "charging"})
    out = "discharging" in concepts
    sign_stated = directed and into != out
    rank = 2 * ("part" in concepts) + ("average" in concepts) + ("satellite" in concepts)
    if name in ("battery current", "battery voltage", "battery power"):
        rank += "battery" not in concepts and not sign_stated
    return HeaderMeaning(
        quantity=name,
        unit=unit,
        sign=-1 if sign_stated and into else 1,
        sign_stated=sign_stated,
        unsigned="unsigned" in concepts,
        concepts=concepts,
        rank=rank,
        why=reasons.words_say(name, into=into if sign_stated else None),
    )
