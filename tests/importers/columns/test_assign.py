"""Every column of a log decided on: what is read, left out and asked."""

import numpy as np
import pytest

from ridelog.errors import InputError
from ridelog.importers.columns.assign import apply_entry, assign
from ridelog.importers.columns.column import Column
from ridelog.settings.column_map import ColumnEntry
from ridelog.vocabulary.headers import understand
from ridelog.vocabulary.units import unit_named
from tests.importers.columns.logs import CURRENT_A, SPEED_MPS, TIME_S, VOLTAGE_V, column


def with_cells_in(header, spelling, entry=None):
    """A column whose cells state their unit."""
    return Column(header, understand(header), entry, CURRENT_A, unit_named(spelling))


def test_each_column_becomes_its_channel_in_si():
    found = assign(
        [
            column("current (mA)", 1000 * CURRENT_A),
            column("U (V)", VOLTAGE_V),
            column("speed (km/h)", 3.6 * SPEED_MPS),
            column("heart rate", 120 + 0 * TIME_S),
        ],
        TIME_S,
        "b.csv",
    )
    assert set(found.channels) == {"current_a", "voltage_v", "speed_mps"}
    assert found.channels["current_a"] == pytest.approx(CURRENT_A)
    assert found.channels["speed_mps"] == pytest.approx(SPEED_MPS)
    assert found.questions == []


def test_a_column_without_any_number_is_left_out():
    empty = column("motor temperature (°C)", np.full(len(TIME_S), np.nan))
    found = assign([column("current (A)", CURRENT_A), empty], TIME_S, "b.csv")
    assert set(found.channels) == {"current_a"}
    assert empty.is_empty


def test_a_map_leaves_a_column_out_or_says_what_it_is():
    left = column("current (A)", CURRENT_A, use=False)
    named = column("foo", 1000 * CURRENT_A, quantity="battery current", unit="mA", sign=-1)
    found = assign([left, named], TIME_S, "b.csv")
    assert found.channels["current_a"] == pytest.approx(-CURRENT_A)
    assert (left.quantity, left.reasons[-1]) == (None, "not used: the map says so")


@pytest.mark.parametrize(
    ("header", "unit", "what"),
    [
        ("current", "V", "its cells are in V, in which no battery current is measured"),
        ("current (A)", "mA", "the header says A, the rows say mA"),
    ],
)
def test_cells_in_a_unit_that_does_not_fit_are_refused_unless_the_map_decides(header, unit, what):
    with pytest.raises(InputError, match=what):
        apply_entry(with_cells_in(header, unit), "b.csv")
    apply_entry(with_cells_in(header, unit, ColumnEntry(header=header, unit="A")), "b.csv")


def test_a_log_of_the_motor_s_current_alone_says_that_no_charge_can_be_counted():
    found = assign([column("motor current (A)", CURRENT_A), column("speed (m/s)", SPEED_MPS)], TIME_S, "b.csv")
    assert [finding.code for finding in found.findings] == ["motor-current-only"]
    assert "current_a" not in found.channels


def test_a_log_whose_words_say_that_the_current_has_no_sign_cannot_show_a_return():
    assert assign([column("current abs (A)", abs(CURRENT_A))], TIME_S, "b.csv").can_show_return is False
    assert assign([column("current (A)", CURRENT_A)], TIME_S, "b.csv").can_show_return is None
