"""A column that behaves as the battery's voltage is proposed as that; one that only lies where a voltage may is not."""

import random

import pytest

from ridelog.importers.preview import preview
from ridelog.recording import ColumnReading
from ridelog.web.parts.reading.proposed import Proposal, proposed_voltage
from ridelog.web.rides import Columns

N = 96
CHANCE = random.Random(5)
CURRENT_A = [CHANCE.choice((0.0, 4.0, 9.0, 15.0, -4.0)) for _ in range(N)]
VOLTAGE_V = [52.0 - 0.02 * row - 0.12 * a for row, a in enumerate(CURRENT_A)]  # 0.12 ohm, and a charge that goes
CHARGE_PCT = [90.0 - 0.2 * row for row in range(N)]
WARMTH_C = [25.0 + CHANCE.random() for _ in range(N)]


def log(*others, current=CURRENT_A, known="current_a"):
    """A log of a current and other columns that nobody knows."""
    readings = [ColumnReading("I", known, ""), *(ColumnReading(name, None, "") for name, _ in others)]
    return Columns(
        "c.csv", tuple(readings), previews=tuple(preview(each) for each in (current, *(v for _, v in others)))
    )


@pytest.mark.parametrize("way", [1, -1])
@pytest.mark.parametrize(("scale", "unit"), [(1, "V"), (1000, "mV")])
def test_the_column_that_sags_with_the_current_is_proposed(scale, unit, way):
    others = (("charge", CHARGE_PCT), ("x", [scale * v for v in VOLTAGE_V]), ("warm", WARMTH_C))
    found = proposed_voltage(log(*others, current=[way * a for a in CURRENT_A]))
    assert (found.header, found.unit) == ("x", unit)
    assert found.reached.startswith(f"{scale * min(VOLTAGE_V):.6g}")


@pytest.mark.parametrize(
    "others",
    [
        [("charge", CHARGE_PCT), ("warm", WARMTH_C)],
        [("x", VOLTAGE_V), ("y", VOLTAGE_V)],  # which of them?
        [("cell", [v / 14 for v in VOLTAGE_V])],
        [("speed", [max(0.0, 30 - a) for a in CURRENT_A])],
        [("x", [None] * N)],
        [("", VOLTAGE_V)],
    ],
)
def test_what_only_lies_there_or_is_not_one_column_alone_is_not_proposed(others):
    values = [(name, [float("nan") if v is None else v for v in each]) for name, each in others]
    assert proposed_voltage(log(*values)) is None


def test_nothing_is_proposed_where_the_voltage_or_no_current_is_known():
    assert proposed_voltage(log(("x", VOLTAGE_V), known=None)) is None
    assert proposed_voltage(log(("x", VOLTAGE_V), known="power_w")) is None
    assert isinstance(proposed_voltage(log(("x", VOLTAGE_V))), Proposal)
