"""Whether brakes bring regen each time: how sure a force is, the rule of succession, and what follows, by hand."""

from dataclasses import replace

import numpy as np
import pytest

from ridelog.analysis.braking.force import braking_force
from ridelog.analysis.braking.habit import brakes_bring_regen, force_u_n, sure_force
from ridelog.analysis.road.load import RoadLoad
from ridelog.analysis.road.load_uncertainty import road_trials
from ridelog.analysis.road.motion import Motion
from ridelog.analysis.scene import with_braking
from ridelog.settings.bike import Bike
from tests.analysis.scenes import scene_by_hand, true_heights

LOAD = RoadLoad(110.0, 111.4475, 0.559, 0.0077, 1.225)
STEP_S = 0.2


def road_of(**trials):
    """Two trials, of which only what is named differs."""
    values = {
        "mass_kg": 110.0, "rotating_kg": 1.4475, "cda_m2": 0.559, "crr": 0.0077, "density": 1.225,
        "north_mps": 0.0, "east_mps": 0.0, "speed_ratio": 1.0,
    }  # fmt: skip
    both = {name: np.full(2, value) for name, value in values.items()}
    return replace(road_trials(LOAD, Bike(), n_trials=2), **(both | {k: np.array(v) for k, v in trials.items()}))


def steady(speed_mps):
    time_s = np.arange(0, 10, STEP_S)
    return Motion(time_s, np.full_like(time_s, speed_mps), np.full_like(time_s, 100.0), np.zeros_like(time_s))


@pytest.mark.parametrize(
    ("trials", "expected_n"),
    [
        ({"cda_m2": [0.459, 0.659]}, 3.92),  # ½ · 1.225 · 8² · 0.1
        ({"crr": [0.0057, 0.0097]}, 2.1575),  # 0.002 · 110 · 9.80665
        ({"density": [1.1, 1.35]}, 2.236),  # a tenth of ½ · 1.225 · 0.559 · 8² = 21.913 N, times 0.125/0.1225
        # of a wind of 2 m/s from one side half the square is ahead, and gusts of three tenths: √(2 + 0.36) = 1.5362 m/s
        ({"north_mps": [-2.0, 2.0]}, 8.4158),  # 1.225 · 0.559 · 8 · 1.5362
    ],
)
def test_a_force_is_as_unsure_as_what_it_is_taken_from(trials, expected_n):
    """At 8 m/s without noise of the heights."""
    assert force_u_n(steady(8.0), road_of(**trials), None, 0.0) == pytest.approx(expected_n, rel=2e-4)


def test_a_grade_wrong_by_one_per_cent_weighs_one_per_cent_of_the_weight():
    """White noise of a grade by a kernel, made 0.01: 110 · 9.80665 · 0.01 N."""
    time_s = np.arange(0, 10, STEP_S)
    noise = replace(true_heights(time_s, 8 * time_s), fast_m=0.01 * np.sqrt(2) * 12.0)
    assert force_u_n(steady(8.0), road_of(), noise, 12.0) == pytest.approx(10.787, rel=1e-3)


def course(n_stops, *, then=()):
    """Stops from 6 m/s at 1.2 m/s², each sped up to again, then pieces of so many seconds, m/s and per cent."""
    stop = [*np.arange(0, 6, 0.8 * STEP_S), *np.arange(6, 0, -1.2 * STEP_S), *np.zeros(10)]
    speed = np.array(stop * n_stops + list(np.arange(0, 7, 0.8 * STEP_S)))
    grade = np.zeros_like(speed)
    for lasts_s, speed_mps, grade_pct in then:
        n = round(lasts_s / STEP_S)
        speed, grade = np.append(speed, np.full(n, speed_mps)), np.append(grade, np.full(n, grade_pct))
    speed = np.append(speed, np.arange(speed[-1], 0, -1.2 * STEP_S))
    grade = np.append(grade, np.zeros(len(speed) - len(grade)))
    time_s = STEP_S * np.arange(len(speed))
    height = 100 + np.concatenate(([0.0], np.cumsum((speed * np.sin(np.arctan(grade / 100)) * STEP_S)[1:])))
    return Motion(time_s, speed, height, grade)


def regen_of(motion, *, but=()):
    """Current flows in whenever the bike slows harder than 1 m/s², but in the stops of these numbers."""
    slows = np.gradient(motion.speed_mps, motion.time_s) < -1.0
    number = np.cumsum(np.diff(slows.astype(int), prepend=0) == 1) - 1
    return slows & ~np.isin(number, but)


@pytest.mark.parametrize(
    ("n_stops", "without", "expected"),
    [
        (1, (), False),  # with the last one two: 1/4
        (2, (), True),  # three: 1/5
        (2, (0, 1, 2), False),
        (6, (1,), False),  # one of seven: 2/9
        (8, (1,), True),  # one of nine: 2/11
        (8, (1, 4), False),  # two of nine: 3/11
    ],
)
def test_brakes_bring_regen_by_the_rule_of_succession(n_stops, without, expected):
    """(k + 1)/(n + 2) at most a fifth; the ride ends with one more stop."""
    motion = course(n_stops)
    force = braking_force(motion, LOAD)
    found = brakes_bring_regen(motion, force, regen_of(motion, but=without), LOAD.effective_mass_kg)
    assert found is expected


def held(*, but=()):
    """A bike of which nothing is known, after five stops, on a descent of 5 % at a steady 7 m/s.

    By the best values 0.26 m/s² hold it back; a head wind of 4 m/s would do that as well.
    """
    motion = course(4, then=[(30.0, 7.0, -5.0)])
    return with_braking(replace(scene_by_hand(motion, LOAD, braking=[]), regen_mask=regen_of(motion, but=but)))


def on_the_descent(scene):
    return [run for run in scene.braking if np.median(scene.motion.grade_pct[run[0] : run[1] + 1]) < -4]


def test_what_the_wind_may_hold_back_is_not_braking_where_brakes_bring_regen():
    assert len(on_the_descent(held())) == 0
    assert len(held().braking) == 5


def test_it_is_braking_where_brakes_bring_none_or_only_at_times():
    assert len(on_the_descent(held(but=(0, 1, 2, 3, 4)))) == 1
    assert len(on_the_descent(held(but=(1, 3)))) == 1


def test_hard_braking_counts_whether_or_not_it_brings_regen():
    """Descents of 9 % at 4 m/s: 0.75 m/s², no wind that blows explains that."""
    motion = course(4, then=[(30.0, 7.0, 0.0), (30.0, 4.0, -9.0)])
    scene = with_braking(replace(scene_by_hand(motion, LOAD, braking=[]), regen_mask=regen_of(motion)))
    assert len(on_the_descent(scene)) == 1


def test_current_into_the_battery_is_braking_however_unsure_the_force():
    motion = course(4, then=[(30.0, 7.0, -5.0)])
    regen = regen_of(motion) | ((motion.grade_pct < -4) & (motion.time_s % 40 > 10))
    scene = with_braking(replace(scene_by_hand(motion, LOAD, braking=[]), regen_mask=regen))
    assert on_the_descent(scene)


def test_without_heights_the_force_stays_as_it_was():
    motion = course(4)
    blind = replace(motion, height_m=np.full_like(motion.height_m, np.nan))
    force = braking_force(blind, LOAD)
    u_n = np.full_like(force.force_n, 5.0)
    assert sure_force(blind, force, regen_of(motion), u_n, LOAD.effective_mass_kg) is force
