"""Heights too rough for grades: closed forms of a random walk, and simulated rides with heights of known errors."""

import dataclasses
import math
from functools import cache

import numpy as np
import pandas as pd
import pytest

from ridelog.analysis.measure import measure
from ridelog.analysis.road.height_noise import HeightNoise, walked, wander
from ridelog.analysis.road.profile import gaussian, height_profile
from ridelog.analysis.road.rough_heights import grade_smoothing_m, height_findings, roughness_m, usual_pace_mps
from ridelog.recording import Recording, checked
from ridelog.settings.bike import Bike, BikeSection, RoadSection
from ridelog.tell.findings import sentence
from ridelog.timeline.ride import join_recordings
from sample_rides.loggers import electrical_log, track_log
from sample_rides.scenarios import random_scenario
from sample_rides.simulation import simulate
from sample_rides.truth import TruthSettings, truth

GRID_M = np.arange(0.0, 20_000.1, 5.0)
PACE_MPS = 5.0


def noise_of(slow_m, memory_s=300.0, fast_m=0.0, **changes):
    known = HeightNoise(
        "satellite", slow_m, math.inf, memory_s, fast_m, 0.0, GRID_M / PACE_MPS, GRID_M, np.zeros_like(GRID_M),
        wander_m2ps=slow_m**2 / memory_s,
    )  # fmt: skip
    return dataclasses.replace(known, **changes)


def walk(rng, per_m):
    return np.cumsum(rng.normal(0, math.sqrt(per_m * 5.0), len(GRID_M)))


# --- closed forms ---------------------------------------------------------------------------------


@pytest.mark.parametrize("smoothing_m", [12.0, 30.0])
def test_the_slope_of_a_smoothed_walk_scatters_as_stated(smoothing_m):
    """A random walk of 0.02 m² a metre over 20 km, some 500 kernels long: the scatter stands to 5 %."""
    smooth = gaussian(walk(np.random.default_rng(1), 0.02), smoothing_m / 5.0)
    scatter = np.gradient(smooth, GRID_M).std()
    # 2 slow_m²/memory_s/pace = 0.02 m²/m
    assert noise_of(math.sqrt(0.02 * 300 * PACE_MPS / 2)).grade_u(smoothing_m, PACE_MPS) == pytest.approx(
        scatter, rel=0.08
    )


def test_the_slope_of_smoothed_white_noise_falls_with_its_kernel():
    """White noise of 1 m a cell: the kernel of 12 m leaves √(5/(2√π·12)) = 0.343 m, and of 40 m its slope."""
    white = np.random.default_rng(2).standard_normal(len(GRID_M))
    fast_m = math.sqrt(5 / (2 * math.sqrt(math.pi) * 12))
    assert gaussian(white, 12 / 5).std() == pytest.approx(fast_m, rel=0.05)
    scatter = np.gradient(gaussian(white, 40 / 5), GRID_M).std()
    assert noise_of(0.0, fast_m=fast_m).grade_u(40.0, PACE_MPS) == pytest.approx(scatter, rel=0.08)


def test_a_walk_over_a_length_is_what_the_kernel_leaves_of_it():
    smooth = gaussian(walk(np.random.default_rng(3), 0.02), 12 / 5)
    for cells in (2, 10, 40):
        found = np.mean((smooth[cells:] - smooth[:-cells]) ** 2)
        assert 0.02 * float(walked(np.array(5.0 * cells), 12.0)) == pytest.approx(found, rel=0.15)


@pytest.mark.parametrize("per_m", [0.001, 0.01, 0.05])
def test_how_fast_a_height_wanders_shows_in_how_it_bends(per_m):
    """On 20 km, 400 bends that hardly overlap: their quartile knows a variance to some 15 %, two of which are allowed.

    The road bends up or down by 5 % every 600 m, which a fifth of the places see from within 62 m: the quartile of all
    is then the 31 % quantile of the others, 0.40 σ instead of 0.32 σ, and the variance 1.6 times too large.
    """
    road = np.cumsum(np.where((GRID_M // 600) % 2 == 0, 0.0, np.where((GRID_M // 1200) % 2 == 0, 0.25, -0.25)))
    profile = height_profile(GRID_M, road + walk(np.random.default_rng(4), per_m))
    found = wander(profile, profile.distance_m / PACE_MPS, 0.0)
    # var per metre = 2 slow²/memory / pace
    assert 0.7 * per_m * PACE_MPS / 2 <= found <= 1.6 * 1.3 * per_m * PACE_MPS / 2


def test_a_road_without_an_error_hardly_wanders():
    road = np.interp(GRID_M, np.arange(0, 20_001, 400), np.tile([0.0, 20, 20, 0, 0], 11)[:51])
    profile = height_profile(GRID_M, road)
    assert wander(profile, profile.distance_m / PACE_MPS, 0.0) < 1e-4


def test_roughness_over_100_m_has_the_hand_worked_value():
    """2·(3²/60)·100/5 m² = 6 m²; with 0.5 √2 m of quick error √6.5 m; times 1.96: 5.0 m."""
    assert roughness_m(noise_of(3.0, 60.0, fast_m=0.5), PACE_MPS) == pytest.approx(1.96 * math.sqrt(6.5))


def test_a_good_height_keeps_the_usual_kernel_and_a_rough_one_gets_a_longer_one():
    """σ = q/(2√π·10⁻⁴) with q = 2·(2²/120)/5 m: 37.6 m; a search in steps of a tenth comes up to 10 % above."""
    assert grade_smoothing_m(noise_of(0.4), PACE_MPS) == 12.0
    needed_m = 2 * (2**2 / 120) / 5 / (2 * math.sqrt(math.pi) * 1e-4)
    assert needed_m <= grade_smoothing_m(noise_of(2.0, 120.0), PACE_MPS) <= 1.1 * needed_m
    assert grade_smoothing_m(noise_of(5.0, 60.0), PACE_MPS) == 60.0


def test_a_wander_that_neither_stops_nor_bends_show_is_none():
    """Errors that last for an hour make two passes differ and bend no profile; bends alone may be the road's."""
    assert grade_smoothing_m(noise_of(4.0, wander_m2ps=0.001), PACE_MPS) == 12.0
    assert grade_smoothing_m(noise_of(0.3, wander_m2ps=0.1), PACE_MPS) == 12.0


def test_the_pace_is_that_of_moving_and_5_metres_a_second_where_none_is_known():
    assert usual_pace_mps(np.array([0.0, 0, 0, 6, 7, 8])) == 7.0
    assert usual_pace_mps(np.full(4, np.nan)) == 5.0


def test_the_finding_says_how_rough_and_what_to_do_and_warns_where_grades_stay_unsure():
    assert height_findings(noise_of(0.4), PACE_MPS, 12.0) == []
    (note,) = height_findings(noise_of(2.0, 120.0), PACE_MPS, 40.0)
    assert (note.code, note.severity) == ("height-rough", "note")
    assert note.facts["wander_m"] == pytest.approx(2.26, abs=0.01)  # 1.96·√(2·2²/120·100/5)
    assert (note.facts["over_m"], note.facts["usual_m"]) == pytest.approx((94.2, 28.3), abs=0.05)  # 2.355 of them
    assert "barometer" in sentence(note)
    (warning,) = height_findings(noise_of(5.0, 60.0), PACE_MPS, 60.0)
    assert warning.severity == "warning"


# --- the truth of simulated rides -----------------------------------------------------------------

ROUGH = {"2 m over 60 s": (2.0, 60.0, 0.5), "3 m over 120 s": (3.0, 120.0, 0.3), "white 1.5 m": (0.5, 300.0, 1.5)}
SEEDS = range(300, 312)
SLICE = SEEDS[:6]  # all of them in `make proof`
SOME_OR_ALL = pytest.mark.parametrize("seeds", [SLICE, pytest.param(SEEDS, marks=pytest.mark.proof)], ids=len)


@cache
def simulated(seed):
    return simulate(random_scenario(np.random.default_rng(seed)))


def recording(name, log, start):
    time_s = log.pop("time_s").to_numpy()
    log.index = pd.Index(time_s - time_s[0], name="time_s")
    return checked(Recording(name, name.ljust(64, "0"), name[-3:], log, start, "utc"))


@cache
def with_height(seed, error_m, memory_s, white_m):
    """The answer on a 1 Hz track whose height errs so, and the true sum of what its braking had available [Wh]."""
    ride = simulated(seed)
    log = electrical_log(ride, step_s=0.2, seed=seed)[["time_s", "current_a", "voltage_v", "speed_mps"]].copy()
    track = track_log(ride, altitude_error_m=error_m, altitude_memory_s=memory_s, altitude_resolution_m=0, seed=seed)
    white = white_m * np.random.default_rng(seed).standard_normal(len(track))
    track["altitude_m"] = np.round(track["altitude_m"] + white, 1)
    track = track[["time_s", "latitude_deg", "longitude_deg", "altitude_m"]].copy()
    machine = ride.scenario.machine
    road = RoadSection(
        cda_m2=machine.cda_m2, cda_limit_m2=0.05, crr=machine.crr, crr_limit=0.001, wind_mps=machine.wind_mps
    )
    bike = Bike(bike=BikeSection(total_mass_kg=machine.mass_kg, total_mass_limit_kg=2.0), road=road)
    start = ride.scenario.start
    joined = join_recordings([recording("log.csv", log, start), recording("track.gpx", track, start)], bike)
    available_wh = sum(event.available_wh for event in truth(ride, TruthSettings(brake_n=3.0)).events)
    return measure(joined), available_wh


@SOME_OR_ALL
@pytest.mark.parametrize("kind", ROUGH)
def test_what_was_available_is_held_where_heights_are_rough(kind, seeds):
    """12 rides: at 95 %, fewer than 10 come once in 50 studies; and no more than 15 % too much over all of them.

    Of 6, fewer than 5 come once in 30.

    With the grade over the usual 28 m, such heights feigned 33 to 55 % more than braking had.
    """
    answers = [with_height(seed, *ROUGH[kind]) for seed in seeds]
    held = [answer.braking.available_wh.low95 <= true <= answer.braking.available_wh.high95 for answer, true in answers]
    assert sum(held) >= len(seeds) * 5 // 6
    found, expected = (sum(part) for part in zip(*((a.braking.available_wh.value, t) for a, t in answers), strict=True))
    assert abs(found / expected - 1) <= 0.15


@SOME_OR_ALL
@pytest.mark.parametrize("kind", ROUGH)
def test_rough_heights_are_a_finding(kind, seeds):
    codes = [[finding.code for finding in with_height(seed, *ROUGH[kind])[0].findings] for seed in seeds]
    assert all("height-rough" in each for each in codes)


@SOME_OR_ALL
def test_barometric_heights_are_none(seeds):
    """0.4 m over 300 s and a last digit of 0.1 m, the simulation's usual tracker."""
    for seed in seeds:
        answer, true = with_height(seed, 0.4, 300.0, 0.0)
        assert "height-rough" not in [finding.code for finding in answer.findings]
        assert answer.braking.available_wh.value == pytest.approx(true, rel=0.25)
