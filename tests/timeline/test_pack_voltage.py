"""A pack's voltage from its cells': where they are all of them, and what a ride then says."""

import numpy as np
import pandas as pd
import pytest

import ridelog
from ridelog.recording import Recording
from ridelog.settings.bike import Bike, PackSection
from ridelog.timeline.pack_voltage import with_voltage_of_cells
from ridelog.timeline.ride import join_recordings

N = 600
TIME_S = np.arange(float(N))
CURRENT_A = 5 + 6 * np.sin(2 * np.pi * TIME_S / 12)


def recording(numbers, **others):
    cells = {f"cell_{number:02d}_v": 3.8 + 0.01 * number - 0.005 * CURRENT_A for number in numbers}
    frame = pd.DataFrame({"current_a": CURRENT_A, **cells, **others}, index=pd.Index(TIME_S, name="time_s"))
    return Recording(name="b.csv", sha256="0" * 64, format="csv", frame=frame, start=None, clock="elapsed", columns=())


def bike(cells):
    return Bike(pack=PackSection(cells_in_series=cells))


@pytest.mark.parametrize("first", [0, 1])
@pytest.mark.parametrize("stated", [None, 10])
def test_all_cells_in_series_add_up(first, stated):
    found = with_voltage_of_cells(recording(range(first, first + 10)), bike(stated))
    by_hand = sum(3.8 + 0.01 * number for number in range(first, first + 10)) - 10 * 0.005 * CURRENT_A
    np.testing.assert_allclose(found.frame["voltage_v"], by_hand)
    assert [finding.code for finding in found.findings] == ["voltage-of-cells"]


@pytest.mark.parametrize(
    ("numbers", "stated"),
    [(range(1, 11), 13), (range(1, 6), None), (range(4, 14), None), ([1, 2, 3, 5, 6, 7, 8], None), ([], None)],
    ids=["fewer than entered", "too few for a pack", "begins late", "one is missing", "none"],
)
def test_some_of_the_cells_are_no_pack(numbers, stated):
    given = recording(numbers)
    assert with_voltage_of_cells(given, bike(stated)) is given


@pytest.mark.parametrize("known", ["voltage_v", "power_w"])
def test_a_voltage_or_power_that_is_logged_stays(known):
    given = recording(range(1, 11), **{known: 50.0})
    assert with_voltage_of_cells(given, Bike()) is given


def test_a_row_that_lacks_a_cell_has_no_voltage():
    given = recording(range(1, 11))
    given.frame.iloc[7, 3] = np.nan
    assert np.flatnonzero(np.isnan(with_voltage_of_cells(given, Bike()).frame["voltage_v"])).tolist() == [7]


def test_a_ride_of_cells_alone_has_its_energy():
    """The exact integrals of i(t) = 5 + 6 sin(2πt/12 s) A at 38.5 V - 0.05 Ω i(t), worked out on a fine grid."""
    at_s = np.linspace(0, N - 1, 1_000_001)
    flow_a = 5 + 6 * np.sin(2 * np.pi * at_s / 12)
    power_w = flow_a * (sum(3.8 + 0.01 * number for number in range(1, 11)) - 0.05 * flow_a)
    drawn_wh, returned_wh = (np.trapezoid(np.maximum(side * power_w, 0), at_s) / 3600 for side in (1, -1))
    answer = ridelog.measure(join_recordings([recording(range(1, 11))]))
    assert answer.energy.drawn_wh.low95 <= drawn_wh <= answer.energy.drawn_wh.high95
    assert answer.energy.returned_wh.low95 <= returned_wh <= answer.energy.returned_wh.high95
