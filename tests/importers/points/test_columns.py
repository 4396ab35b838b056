"""Points that are built alike: what can be used of them, and what makers added, in the order of the file."""

import numpy as np
import pytest

from ridelog.importers.points.columns import Alike, Element, numbers_of, points_of

TIMES = [f"2026-05-01T08:00:0{k}Z" for k in range(4)]


def alike(rows=range(4), latitudes=("1", "2", "3", "4"), times=TIMES, heights=None, others=()):
    texts = list(latitudes)[: len(rows)]
    return Alike(np.array(rows), texts, ["5"] * len(rows), times and times[: len(rows)], heights, others)


def test_a_point_needs_a_position_and_a_time():
    group = alike(
        latitudes=["1", "x", "3", "4"], times=["", TIMES[1], "noon", TIMES[3]], heights=["9", "9", "9", "high"]
    )
    points, lost = points_of(np.zeros(4, dtype=int), [group])
    assert points.rows.tolist() == [3]
    assert {kind: n for kind, n in lost.items() if n} == {
        "no-time": 1, "no-position": 1, "bad-time": 1, "no-number": 1,
    }  # fmt: skip
    np.testing.assert_array_equal(points.values, [[4, 5, np.nan]])


def test_points_without_an_element_of_time_are_lost():
    points, lost = points_of(np.zeros(4, dtype=int), [alike(times=None)])
    assert (len(points.time_us), lost["no-time"]) == (0, 4)


def test_groups_find_their_rows():
    groups = [alike([2, 0], times=[TIMES[2], TIMES[0]]), alike([3, 1], times=[TIMES[3], TIMES[1]])]
    points, _ = points_of(np.array([0, 0, 1, 1]), groups)
    assert (np.diff(points.time_us) == 1_000_000).all()
    assert points.segment.tolist() == [0, 0, 1, 1]


def test_of_two_elements_of_one_name_the_first_with_a_number_counts():
    others = [Element(3, "hr", ["", "90", "on", "x"]), Element(4, "hr", ["80", "70", "0", "60"])]
    points, _ = points_of(np.zeros(4, dtype=int), [alike(others=others)])
    assert points.extras.columns(points.rows)[("hr", "")].tolist() == [80, 90, 1, 60]


def test_units_part_the_elements_of_one_name():
    others = [Element(3, "power", ["1", "2", "3", "4"], ["W", "kW", "W", ""])]
    points, _ = points_of(np.zeros(4, dtype=int), [alike(others=others)])
    columns = points.extras.columns(points.rows)
    assert list(columns) == [("power", "W"), ("power", "kW"), ("power", "")]
    np.testing.assert_array_equal(columns[("power", "W")], [1, np.nan, 3, np.nan])


def test_columns_come_in_the_order_in_which_the_points_asked_for_tell_them():
    others = [Element(3, "late", ["", "", "1", "1"]), Element(4, "b", ["1"] * 4), Element(5, "a", ["1"] * 4)]
    points, _ = points_of(np.zeros(4, dtype=int), [alike(others=others)])
    assert [name for name, _ in points.extras.columns(points.rows)] == ["b", "a", "late"]
    assert [name for name, _ in points.extras.columns(points.rows[2:])] == ["late", "b", "a"]
    assert [name for name, _ in points.extras.columns(points.rows[:2])] == ["b", "a"]


@pytest.mark.parametrize(
    "texts", [["1", " 2\n", "1e3"], ["1", None, "1_0"], ["nan", "inf", "-1e999"], ["x", "", "3"], []]
)
def test_numbers_are_those_of_the_language_and_finite(texts):
    def number(text):
        try:
            return float(text or "")
        except ValueError:
            return np.nan

    expected = [number(text) if np.isfinite(number(text)) else np.nan for text in texts]
    np.testing.assert_array_equal(numbers_of(texts), expected)
