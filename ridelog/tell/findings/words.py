"""What the templates of findings are made of: facts read with their kind, and the phrases that many share."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import NoReturn

from ridelog.findings import Fact
from ridelog.tell.kinds import TEMPERATURE, Kind
from ridelog.tell.numbers import Style, amount, counted, decimals_of, fixed, number, unit_of, with_unit
from ridelog.tell.times import duration

Template = Callable[["Stated", Style], str]

ASK = "Ask the pack's maker or a qualified technician"
DISTRESS = "If the pack swells, gets hot, smells or smokes, stop, move away from it and call the emergency services."


class Stated:
    """The facts of a finding as its template reads them; one that is missing or of another kind is named.

    Raises
    ------
    LookupError : the fact is missing
    TypeError : the fact is of another kind
    """

    def __init__(self, code: str, facts: Mapping[str, Fact]) -> None:
        self.code = code
        self._facts = facts

    def __contains__(self, name: str) -> bool:
        return name in self._facts

    def number(self, name: str) -> float:
        """A number that is known."""
        value = self._fact(name)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self._another(name, "a number")
        return float(value)

    def maybe(self, name: str) -> float | None:
        """A number that may not be known."""
        return None if self._fact(name) is None else self.number(name)

    def count(self, name: str) -> int:
        """A whole number."""
        value = self._fact(name)
        if isinstance(value, bool) or not isinstance(value, int):
            raise self._another(name, "a whole number")
        return value

    def flag(self, name: str) -> bool:
        """Whether something is so."""
        value = self._fact(name)
        if not isinstance(value, bool):
            raise self._another(name, "true or false")
        return value

    def text(self, name: str) -> str:
        """A text that is known."""
        value = self._fact(name)
        if not isinstance(value, str):
            raise self._another(name, "a text")
        return value

    def texts(self, name: str) -> tuple[str, ...]:
        """A list of texts."""
        value = self._fact(name)
        if not isinstance(value, tuple) or not all(isinstance(each, str) for each in value):
            raise self._another(name, "a list of texts")
        return tuple(str(each) for each in value)

    def lacks(self, *names: str) -> NoReturn:
        """None of some facts is there, of which one at least must be."""
        raise LookupError(f"a finding {self.code!r} needs the fact {names[0]!r} or one of its kind")

    def _fact(self, name: str) -> Fact:
        if name not in self._facts:
            held = ", ".join(self._facts) or "nothing"
            raise LookupError(f"a finding {self.code!r} needs the fact {name!r} and holds {held}")
        value: Fact = self._facts[name]
        return value

    def _another(self, name: str, wanted: str) -> TypeError:
        return TypeError(f"the fact {name!r} of a finding {self.code!r} is {self._facts[name]!r}, not {wanted}")


def case(stated: Stated, name: str, of: Mapping[str, str]) -> str:
    """The phrase for the case that a fact names.

    Parameters
    ----------
    stated : a finding's facts
    name : of the fact
    of : phrase for each of its values

    Returns
    -------
    One of the phrases.
    """
    value = stated.text(name)
    if value not in of:
        raise LookupError(f"a finding {stated.code!r} has no words for {name} = {value!r}, only for {', '.join(of)}")
    return of[value]


def listed(parts: Sequence[str], last: str = "and") -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    return f" {last} ".join((", ".join(parts[:-1]), parts[-1])) if len(parts) > 1 else "".join(parts)


def quoted(text: str) -> str:
    """A column's own name in quotation marks."""
    return f"“{text}”"


def number_of(stated: Stated, name: str, style: Style) -> str:
    """``50 rows``, ``23 samples``: how many there are of what the fact ``of`` names.

    Parameters
    ----------
    stated : a finding's facts
    name : of the fact that counts
    style : units, digits and separators

    Returns
    -------
    Number with its noun.
    """
    return counted(stated.count(name), stated.text("of"), style=style)


def sentences(parts: Iterable[str | None]) -> str:
    """The sentences that there are, one after another."""
    return " ".join(part for part in parts if part)


def trimmed(value: float, kind: Kind, style: Style, *, digits: int = 4) -> str:
    """``5 %``, ``0.06 A``: a number as somebody entered it, without zeros that say nothing.

    Parameters
    ----------
    value : in SI
    kind : of quantity
    style : units, digits and separators
    digits : significant ones at most

    Returns
    -------
    Number with its unit.
    """
    unit = unit_of(kind, style, value=value)
    shown = number(value * unit.factor + unit.offset, style, digits=digits)
    return with_unit(_without_zeros(shown), unit.symbol, style)


def _without_zeros(shown: str) -> str:
    return shown.rstrip("0").rstrip(".,") if "." in shown or "," in shown else shown


def plus_minus(value: float, limit: float, kind: Kind, style: Style) -> str:
    """``110 ± 30 kg``: what is assumed, with its limit.

    Parameters
    ----------
    value, limit : in SI
    kind : of quantity
    style : units, digits and separators

    Returns
    -------
    Number, limit and unit.
    """
    unit = unit_of(kind, style, value=max(abs(value), limit))
    shown, limit_shown = value * unit.factor + unit.offset, limit * unit.factor
    as_given = _without_zeros(number(shown, style, digits=4))
    # a value that was given in this unit stands as given; one that was converted has no more digits than its limit
    number_text = (
        as_given if unit.factor == 1 or 0 in (shown, limit) else fixed(shown, decimals_of(limit_shown, 2), style)
    )
    text = f"{number_text} ± {_without_zeros(number(limit_shown, style, digits=2))}"
    return with_unit(text, unit.symbol, style)


def give_or_take(limit: float, kind: Kind, style: Style) -> str:
    """``±0.15 A``.

    Parameters
    ----------
    limit : in SI
    kind : of quantity
    style : units, digits and separators

    Returns
    -------
    Limit with its unit.
    """
    return f"±{trimmed(limit, kind, style, digits=2)}"


def in_stretches(stated: Stated) -> str:
    """``25 min``, or ``25 min in 3 stretches``."""
    lasted, n = duration(stated.number("lasted_s")), stated.count("n_stretches")
    return lasted if n == 1 else f"{lasted} in {counted(n, 'stretch', 'stretches')}"


def degrees(value_c: float, style: Style) -> str:
    """A temperature; whole degrees as they are, others to a tenth."""
    return amount(value_c, TEMPERATURE, style, decimals=0 if value_c == round(value_c) else 1)
