"""What the cells of a column of numbers say: each text is understood once, however often it stands there."""

import math
import re

from ridelog.importers.delimited.dialect import INFINITE, NO_VALUE
from ridelog.vocabulary.units import UNITS, Unit
from ridelog.vocabulary.words import SWITCH_WORDS

_MOST_HELD = 200_000  # texts; some 20 MB


class OtherUnitError(Exception):
    """A cell states another unit than those before it."""

    def __init__(self, cell: str, units: tuple[str, str]) -> None:
        super().__init__(cell)
        self.cell, self.units = cell, units


class Cells(dict[str, float]):
    """Cell -> number; infinite where the device writes so of no value, NaN where there is none.

    A unit beside a number is taken off, and must be the same throughout; switch words are 1 and 0.

    Attributes
    ----------
    unit : that stands in the cells
    wrong : cells that are no numbers
    """

    def __init__(self, decimal: str) -> None:
        super().__init__()
        sign = re.escape(decimal)
        self._number = re.compile(rf"([+-]?(?:\d+(?:{sign}\d*)?|{sign}\d+)(?:[eE][+-]?\d+)?)\s*(.*)")
        self.unit: Unit | None = None
        self.wrong: set[str] = set()

    def __missing__(self, cell: str) -> float:
        if len(self) > _MOST_HELD:
            self.clear()
        self[cell] = value = self._understood(cell)
        return value

    def _understood(self, cell: str) -> float:
        if (word := cell.lower()) in NO_VALUE:
            return math.inf if word in INFINITE else math.nan
        match = self._number.fullmatch(SWITCH_WORDS.get(word, cell))
        if match is None or (match[2] and match[2].lower() not in UNITS):
            self.wrong.add(cell)
            return math.nan
        if match[2]:
            unit = UNITS[match[2].lower()]
            self.unit = self.unit or unit
            if unit != self.unit:
                raise OtherUnitError(cell, (unit.name, self.unit.name))
        return float(match[1].replace(",", "."))
