"""Over how much of a ride the height is known, worked by hand."""

import numpy as np
import pytest

from ridelog.analysis.road.height_coverage import Movement, height_covered_pct, partial_findings


def movement(n=1001, **columns):
    """A ride at 5 m/s, a sample a second, every height known."""
    time_s = np.arange(float(n))
    unknown = np.full(n, np.nan)
    values = {
        "time_s": time_s,
        "altitude_m": np.full(n, 20.0),
        "speed_mps": np.full(n, 5.0),
        "distance_m": 5.0 * time_s,
        "current_a": unknown,
        "paused": np.zeros(n - 1, dtype=bool),
    }
    return Movement(**(values | columns))


def known_from(n, first, last, values):
    mask = (np.arange(n) >= first) & (np.arange(n) <= last)
    return np.where(mask, values, np.nan)


def test_a_track_over_all_of_the_ride_covers_all_of_it():
    assert height_covered_pct(movement()) == 100.0


def test_heights_over_six_tenths_of_the_moving_time_cover_60_per_cent():
    assert height_covered_pct(movement(altitude_m=known_from(1001, 200, 800, 20.0))) == pytest.approx(60.0)


def test_without_any_height_nothing_is_said():
    assert height_covered_pct(movement(altitude_m=np.full(1001, np.nan))) is None


def test_standing_without_a_height_leaves_nothing_out():
    """500 s ridden with heights, 500 s stood without."""
    speed = np.where(np.arange(1001) <= 500, 5.0, 0.0)
    assert height_covered_pct(movement(altitude_m=known_from(1001, 0, 501, 20.0), speed_mps=speed)) == 100.0


def test_a_rest_that_only_the_way_shows_leaves_nothing_out():
    """The track, whose speed it is, stops for 400 s and goes on at the same place."""
    still = (np.arange(1001) > 300) & (np.arange(1001) < 700)
    distance = 5.0 * np.minimum(np.arange(1001.0), 300) + 5.0 * np.maximum(np.arange(1001.0) - 700, 0)
    gone = {name: np.where(still, np.nan, values) for name, values in (
        ("altitude_m", np.full(1001, 20.0)), ("speed_mps", np.full(1001, 5.0)), ("distance_m", distance),
    )}  # fmt: skip
    assert height_covered_pct(movement(**gone)) == 100.0


def test_a_way_without_heights_that_only_the_distance_shows_is_left_out():
    """400 of 1000 s without a height and a speed, between places 2 km apart."""
    gone_mask = (np.arange(1001) > 300) & (np.arange(1001) < 700)
    gone = {
        "altitude_m": np.where(gone_mask, np.nan, 20.0),
        "speed_mps": np.where(gone_mask, np.nan, 5.0),
        "distance_m": np.where(gone_mask, np.nan, 5.0 * np.arange(1001)),
    }
    assert height_covered_pct(movement(**gone)) == pytest.approx(60.0)


def test_a_track_that_begins_late_leaves_out_what_the_current_shows_was_ridden():
    """Nothing but the current tells of the first 500 s; it flows from 100 s on: 400 of 900 s have no height."""
    late = {
        "altitude_m": known_from(1001, 500, 1000, 20.0),
        "speed_mps": known_from(1001, 500, 1000, 5.0),
        "distance_m": known_from(1001, 500, 1000, 5.0 * np.arange(1001)),
        "current_a": np.where(np.arange(1001) >= 100, 6.0, 0.1),
    }
    assert height_covered_pct(movement(**late)) == pytest.approx(100 * 500 / 900)


def test_without_current_all_of_the_time_before_the_track_counts():
    late = {
        "altitude_m": known_from(1001, 500, 1000, 20.0),
        "speed_mps": known_from(1001, 500, 1000, 5.0),
        "distance_m": known_from(1001, 500, 1000, 5.0 * np.arange(1001)),
    }
    assert height_covered_pct(movement(**late)) == pytest.approx(50.0)


def test_a_long_gap_between_two_heights_is_left_out_and_a_short_one_is_not():
    """Steps of 1 s; one of 20 s, then one of 200 s; the bike goes on at 5 m/s all the time."""
    time_s = np.concatenate((np.arange(400.0), 419 + np.arange(400.0), 1018 + np.arange(400.0)))
    gaps = movement(1200, time_s=time_s, distance_m=5.0 * time_s)
    whole_s = time_s[-1]
    assert height_covered_pct(gaps) == pytest.approx(100 * (whole_s - 200) / whole_s)


def test_a_pause_of_the_device_is_no_part_of_the_ride():
    paused = np.zeros(1000, dtype=bool)
    paused[500:] = True
    assert height_covered_pct(movement(altitude_m=known_from(1001, 0, 500, 20.0), paused=paused)) == 100.0


@pytest.mark.parametrize(
    ("covered_pct", "severity"),
    [(None, None), (100.0, None), (95.0, None), (94.9, "note"), (80.0, "note"), (79.9, "warning")],
)
def test_a_part_is_told_below_95_per_cent_and_warned_of_below_80(covered_pct, severity):
    found = partial_findings(covered_pct)
    assert [each.severity for each in found] == ([] if severity is None else [severity])
    assert all(each.code == "height-partial" for each in found)
