"""Braking force, available energy and braking events against closed forms."""

import numpy as np
import pytest

from ridelog.analysis.braking.available import available_wh
from ridelog.analysis.braking.force import braking_force, event_kind, find_events, regen_runs
from ridelog.analysis.road.load import RoadLoad
from ridelog.analysis.road.motion import Motion

LOAD = RoadLoad(110.0, 111.4475, 0.559, 0.0077, 1.225)


def flat(time_s, speed_mps, grade_pct=0.0):
    distance = np.concatenate(([0.0], np.cumsum((speed_mps[1:] + speed_mps[:-1]) / 2 * np.diff(time_s))))
    height = 100 + np.sin(np.arctan(grade_pct / 100)) * distance
    return Motion(time_s, speed_mps, height, np.full_like(time_s, grade_pct))


def events_of(motion, regen=None):
    force = braking_force(motion, LOAD)
    regen_mask = np.zeros(len(motion.time_s), dtype=bool) if regen is None else regen
    gap_mask = np.zeros(len(motion.time_s) - 1, dtype=bool)
    return force, find_events(motion, force, regen_mask, gap_mask, LOAD)


def coast_down(time_s):
    """Closed form of m_e dv/dt = −(A + B v²) from 25 km/h: v = v_c tan(φ0 − t/τ)."""
    return 4.925418 * np.tan(0.9538825 - time_s / 66.08596)


def test_the_coast_down_vector_is_reproduced():
    assert coast_down(np.array([5.0, 20.0, 40.0])) == pytest.approx([5.936593, 3.754020, 1.790164], abs=2e-6)


@pytest.mark.parametrize("step_s", [0.1, 0.2, 1.0])
def test_coasting_is_not_braking(step_s):
    """On the closed-form coast-down no force is left over, though the bike loses 0.22 m/s each second.

    0.3 N: the slope over the window of 1.6 to 2.2 s against the curvature of the coast-down (ends: one-sided).
    """
    time_s = np.arange(0, 60, step_s)
    force, events = events_of(flat(time_s, coast_down(time_s)))
    assert np.abs(force.force_n[3:-3]).max() < 0.3
    assert events == []


def test_coasting_at_terminal_speed_down_a_slope_is_not_braking():
    """5 % descent, terminal speed 41.53 km/h from the ceilings worked out for the baseline bicycle."""
    time_s = np.arange(0, 60, 0.2)
    force, events = events_of(flat(time_s, np.full_like(time_s, 41.53 / 3.6), grade_pct=-5.0))
    assert np.abs(force.force_n).max() < 0.05
    assert events == []


@pytest.mark.parametrize(
    ("grade_pct", "kmh", "wh_per_km"),
    [(3, 15, 5.028), (5, 20, 9.724), (5, 25, 8.073), (5, 30, 6.055), (8, 25, 17.009), (8, 40, 9.854)],
)
def test_holding_a_descent_offers_what_physics_allows(grade_pct, kmh, wh_per_km):
    """Ceilings table of the baseline bicycle: Wh per km of slope at a held speed, three decimals."""
    time_s = np.arange(0, 1000 / (kmh / 3.6), 0.2)
    motion = flat(time_s, np.full_like(time_s, kmh / 3.6), grade_pct=-grade_pct)
    force, events = events_of(motion)
    kilometres = (time_s[-1] - time_s[0]) * kmh / 3600
    assert events == [(0, len(time_s) - 1)]
    assert available_wh(force, *events[0]) / kilometres == pytest.approx(wh_per_km, abs=6e-4)
    assert event_kind(kmh / 3.6, kmh / 3.6, 10.0) == "holding"


@pytest.mark.parametrize(
    ("known", "expected"),
    [
        ((0, 700), [(0, 699), (699, 719)]),  # heights end 4 s before the descent
        ((0, 717), [(0, 716)]),  # 0.6 s: too short to be an event
        ((50, 700), [(0, 50), (50, 699), (699, 719)]),
        ((50, 51), [(0, 50), (50, 719)]),
        ((0, 0), []),
    ],
)
def test_a_descent_that_runs_on_to_where_no_height_is_known_is_cut_there(known, expected):
    """5 % at 25 km/h, held for 144 s; 1 A flows back throughout."""
    time_s = np.arange(0, 144, 0.2)
    motion = flat(time_s, np.full_like(time_s, 25 / 3.6), grade_pct=-5.0)
    motion.height_m[: known[0]] = motion.height_m[known[1] :] = np.nan
    regen = np.full(len(time_s), known[1] > 0)
    assert events_of(motion, regen)[1] == expected


def test_heights_that_are_missing_within_a_descent_do_not_cut_it():
    time_s = np.arange(0, 144, 0.2)
    motion = flat(time_s, np.full_like(time_s, 25 / 3.6), grade_pct=-5.0)
    motion.height_m[300:310] = np.nan
    assert events_of(motion, np.ones(len(time_s), dtype=bool))[1] == [(0, len(time_s) - 1)]


def test_a_holding_force_too_small_to_tell_from_a_wrong_grade_is_no_event():
    """3 % at 25 km/h leaves 2.093 Wh/km, 7.5 N: below the threshold of 0.15 m/s² (17 N)."""
    time_s = np.arange(0, 144, 0.2)
    force, events = events_of(flat(time_s, np.full_like(time_s, 25 / 3.6), grade_pct=-3.0))
    assert events == []
    kilometres = (time_s[-1] - time_s[0]) * 25 / 3600
    assert available_wh(force, 0, len(time_s) - 1) / kilometres == pytest.approx(2.093, abs=6e-4)


@pytest.mark.parametrize(
    ("kmh", "decel", "expected"),
    [(15, 0.5, 0.2143), (15, 2, 0.2551), (25, 0.5, 0.5246), (25, 1, 0.6355), (25, 2, 0.6910), (32, 1, 0.9834)],
)
def test_a_stop_offers_what_the_closed_form_says(kmh, decel, expected):
    """KE less A·v²/(2a) + B·v⁴/(4a): stop table of the baseline bicycle, four decimals.

    The event is found between cruising and standing: the found bounds may lie up to 0.8 s (half the window in
    which deceleration is evaluated) outside the braking, which costs at most the road load over 0.8 s of cruising.
    """
    cruise_s, stop_s = 20.0, kmh / 3.6 / decel
    time_s = np.arange(0, cruise_s + stop_s + 10, 0.05)
    speed = np.clip(kmh / 3.6 - decel * (time_s - cruise_s), 0, kmh / 3.6)
    force, events = events_of(flat(time_s, speed))
    assert len(events) == 1
    first, last = events[0]
    assert time_s[first] == pytest.approx(cruise_s, abs=0.85)
    assert time_s[last] == pytest.approx(cruise_s + stop_s, abs=0.85)
    spill_wh = 0.8 * (8.306 + 0.3424 * (kmh / 3.6) ** 2) * kmh / 3.6 / 3600
    assert available_wh(force, first, last) == pytest.approx(expected, abs=spill_wh + 5e-5)
    exact = (np.searchsorted(time_s, cruise_s), np.searchsorted(time_s, cruise_s + stop_s))
    assert available_wh(force, *exact) == pytest.approx(expected, abs=6e-4)  # 0.05 s steps
    assert event_kind(speed[first], speed[last], 0.0) == "stop"


def test_weak_regen_is_braking_even_where_the_force_alone_would_not_tell():
    time_s = np.arange(0, 60, 0.2)
    regen = (time_s > 20) & (time_s < 30)
    _, events = events_of(flat(time_s, np.full_like(time_s, 5.0)), regen)
    assert [(time_s[a], time_s[b]) for a, b in events] == [pytest.approx((20.2, 29.8))]


def test_regen_has_hysteresis_and_does_not_span_a_gap():
    current = -np.array([0, 0.3, 0.6, 0.3, 0.1, 0, 0, 0, 0.6, 0.6, 0.6, 0.6])
    time_s = np.array([0.0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 100, 101])
    gap = np.diff(time_s) > 5
    assert regen_runs(time_s, current, gap) == [(2, 3), (8, 9), (10, 11)]


@pytest.mark.parametrize(
    ("start", "end", "drop", "kind"),
    [(6.0, 0.5, 0.0, "stop"), (6.0, 4.0, 0.0, "slowing"), (6.0, 5.9, 8.0, "holding"), (6.0, 6.5, None, "holding")],
)
def test_kinds_of_braking(start, end, drop, kind):
    assert event_kind(start, end, drop) == kind


def test_without_speed_the_kind_is_not_known():
    assert event_kind(np.nan, np.nan, None) is None


@pytest.mark.parametrize(("step_s", "known"), [(0.2, True), (5.0, True), (5.1, False), (10.0, False)])
def test_samples_too_far_apart_tell_nothing_of_what_braking_had_available(step_s, known):
    """From 8 m/s to rest in 40 s on the level: at any step that the log could have."""
    time_s = np.arange(0, 120, step_s)
    force = braking_force(flat(time_s, np.clip(8 - (time_s - 40) / 5, 0, 8)), LOAD)
    assert force.tells_available is known
    assert (available_wh(force, 0, len(time_s) - 1) is not None) is known
