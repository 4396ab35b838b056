"""A column of a log on its way to a channel, the questions that it raises, and the decisions on all of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field, replace
from typing import TYPE_CHECKING

import numpy as np

from ridelog.findings import Finding
from ridelog.lazy import dataclass
from ridelog.recording import ColumnReading
from ridelog.signs import SignBasis
from ridelog.tell.reasons import columns as reasons
from ridelog.tell.reasons.headers import MAP_LEAVES_OUT, map_says
from ridelog.tell.refusals import columns as refusals
from ridelog.vocabulary.headers import HeaderMeaning, quantity_named
from ridelog.vocabulary.units import Unit, unit_named

if TYPE_CHECKING:
    from ridelog.settings.column_map import ColumnEntry


@dataclass(frozen=True)
class Question:
    """What the log leaves open, and how a column map answers it.

    ``column`` is the inline table of the answering entry, ``other`` what to write instead if that is wrong,
    ``log`` a whole line for the map's [log]; ``blocking`` says that the log is not read before it is answered.
    """

    text: str
    column: str = ""
    other: str = ""
    log: str = ""
    blocking: bool = True

    @property
    def in_words(self) -> str:
        """The question with the line that answers it."""
        return refusals.with_answer(self.text, answers([self]))


def answers(questions: Iterable[Question]) -> str:
    """The line of a column map that answers the questions; what may be written instead is a comment in it."""
    questions = list(questions)
    if logs := [question.log for question in questions if question.log]:
        return logs[0]
    tables = [question.column for question in questions if question.column]
    return refusals.answer(tables, [question.other for question in questions if question.other])


def entry_table(header: str, quantity: str, unit: str | None = None) -> str:
    """The inline table of a column map that says what a column is.

    Parameters
    ----------
    header, quantity : of the column
    unit : its unit, where one is to be stated

    Returns
    -------
    ``{ header = "I1", quantity = "battery current", unit = "A" }``.
    """
    from ridelog.settings.column_map import toml_string

    said = f", unit = {toml_string(unit)}" if unit else ""
    return f'{{ header = {toml_string(header)}, quantity = "{quantity}"{said} }}'


@dataclass(frozen=True)
class Habits:
    """What holds for a kind of log where neither words nor values decide.

    Attributes
    ----------
    refuses : whether a question on a quantity that every answer needs keeps the log from being read; a track is
        worth reading without the field that raises it
    usual_units : quantity -> spelling of the unit that the format counts in where a field states none
    bare_power : what a power is that does not say whose, unless voltage and current agree to it; ``None`` where it
        may be the battery's
    sample : what one sample is called in sentences
    """

    refuses: bool = True
    usual_units: Mapping[str, str] = field(default_factory=dict)
    bare_power: str | None = None
    sample: str = "row"


TEXT_LOG = Habits()


def labels(headers: Iterable[str]) -> list[str]:
    """Headers that can be told apart: the second of one name is called ``name #2``, and so on."""
    seen: dict[str, int] = {}
    told = []
    for header in headers:
        seen[header] = seen.get(header, 0) + 1
        told.append(header if seen[header] == 1 or not header else f"{header} #{seen[header]}")
    return told


def overruled(meaning: HeaderMeaning, entry: ColumnEntry | None) -> HeaderMeaning:
    """What a header says once the map had its say on whether and as what it is used."""
    if entry is None:
        return meaning
    if not entry.use:
        return HeaderMeaning(None, why=MAP_LEAVES_OUT)
    if entry.quantity and entry.quantity != meaning.quantity:
        unit = unit_named(entry.unit) if entry.unit else meaning.unit
        return HeaderMeaning(entry.quantity, unit, concepts=meaning.concepts, why=map_says(entry.quantity))
    return replace(meaning, unit=unit_named(entry.unit)) if entry.unit else replace(meaning, rank=0)


@dataclass
class Column:
    """One column on its way to a channel.

    ``values`` are as written, times the map's factor, NaN where missing; ``None`` if not read. A ``native`` one is
    the format's own: its quantity and unit are beyond doubt, and no other column takes its place.
    """

    header: str
    meaning: HeaderMeaning
    entry: ColumnEntry | None = None
    values: np.ndarray | None = None
    cell_unit: Unit | None = None
    native: bool = False
    quantity: str | None = None
    unit: Unit | None = None
    sign: int = 1
    sign_settled: bool = False
    sign_basis: SignBasis | None = None
    channel: str | None = None
    is_open: bool = False  # a question on it waits for an answer
    is_empty: bool = False  # it holds no number
    is_told: bool = False  # a finding already says why it is not used
    reasons: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.quantity = self.meaning.quantity
        self.unit = self.meaning.unit or self.cell_unit
        self.sign, self.sign_settled = self.meaning.sign, self.meaning.sign_stated
        self.reasons = [self.meaning.why] if self.meaning.why else []

    @property
    def by_map(self) -> bool:
        """Whether the map names the quantity."""
        return bool(self.entry and self.entry.quantity)

    @property
    def odd_unit(self) -> str:
        """What the header states as a unit and is none that is known; "" where a unit is known all the same."""
        return "" if self.unit or self.native else self.meaning.odd_unit

    @property
    def map_factor(self) -> float | None:
        """What the map says that a written 1 stands for, in the unit; ``values`` are multiplied by it already."""
        return self.entry.factor if self.entry else None

    @property
    def factor(self) -> float:
        """From the unit written to the channel's."""
        factor = self.unit.factor if self.unit else 1.0
        return factor * 100 if (self.channel or "").endswith("_pct") or self.quantity == "state of charge" else factor

    @property
    def si(self) -> np.ndarray:
        """The values in the channel's unit and sign."""
        assert self.values is not None  # noqa: S101  (only columns that were read get here)
        offset = self.unit.offset if self.unit else 0.0
        result: np.ndarray = (self.values + offset if offset else self.values) * (
            self.factor * self.sign
        ) + 0.0  # no -0.0
        return result

    @property
    def reading(self) -> ColumnReading:
        """How the column was understood, for people."""
        quantity = self.quantity or self.meaning.quantity or ""
        fits = quantity_named(quantity)
        stated = self.meaning.unit
        if stated and fits and stated.dimension not in fits.dimensions:
            stated = None  # the map says another quantity than the header's unit measures
        unit = self.unit or stated
        scale = self.map_factor or 1.0
        return ColumnReading(
            header=self.header,
            channel=self.channel,
            quantity=quantity,
            unit=unit.name if unit else None,
            factor=self.factor * scale,
            offset=self.unit.offset / scale if self.unit else 0.0,
            sign=self.sign,
            why=reasons.in_one(self.reasons),
            is_empty=self.is_empty,
            map_factor=self.map_factor,
            sign_basis=self.sign_basis if self.channel in ("current_a", "power_w") else None,
        )

    def hold(self) -> None:
        """Leave the column out until its question is answered."""
        self.channel = None
        self.quantity = None
        self.is_open = True
        self.reasons.append(reasons.WAITS_FOR_ANSWER)

    def leave_out(self, why: str) -> None:
        """Decide against the column."""
        self.channel = None
        self.quantity = None
        self.reasons.append(reasons.not_used(why))


@dataclass
class Assignment:
    """The decisions so far, for a log whose rows have the times ``time_s``."""

    name: str
    columns: list[Column]
    time_s: np.ndarray
    habits: Habits = TEXT_LOG
    questions: list[Question] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    channels: dict[str, np.ndarray] = field(default_factory=dict)

    def ask(self, question: Question, columns: Iterable[Column]) -> None:
        """Leave columns out until the question is answered; a log that does without them is read all the same."""
        self.questions.append(replace(question, blocking=question.blocking and self.habits.refuses))
        for column in columns:
            column.hold()

    @property
    def can_show_return(self) -> bool | None:
        """``False`` where the words say that the current has no sign; ``None`` where only its values can tell."""
        unsigned = any(c.channel == "current_a" and c.meaning.unsigned for c in self.columns)
        return False if unsigned else None

    def of(self, quantity: str) -> list[Column]:
        """The columns that were read and are of this quantity."""
        return [c for c in self.columns if c.quantity == quantity and c.values is not None]

    def first(self, quantity: str, *, with_unit: bool = True) -> Column | None:
        """The first such column; with its unit known, if so wanted."""
        return next((c for c in self.of(quantity) if c.unit or not with_unit), None)
