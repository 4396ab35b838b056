"""Intervals of what braking had available: closed forms, a worked table, and the truth of simulated rides."""

import dataclasses
import math

import numpy as np
import pytest

from ridelog.analysis.braking.events import find_events
from ridelog.analysis.braking.force import offered
from ridelog.analysis.road.height_noise import HeightNoise
from ridelog.analysis.road.load import DEFAULTS, RoadLoad, road_load
from ridelog.analysis.road.load_uncertainty import (
    ERRORS,
    Course,
    RoadDraws,
    available_draws,
    available_q,
    captured_q,
    heading_rad,
    road_draws,
    road_limits,
    speed_noise_mps,
)
from ridelog.analysis.road.motion import Motion
from ridelog.arrays import time_gaps
from ridelog.settings.bike import Bike, BikeSection, RoadSection
from ridelog.uncertain.gum import Contribution, combine
from tests.analysis.chance_rides import SEEDS, chance_ride, coverage_and_width

# 110 kg, CdA 0.559 m², Crr 0.0077, 1.225 kg/m³ (the baseline of `tests/analysis/test_road_load.py`)
BASELINE = RoadLoad(110.0, 111.4475, 0.559, 0.0077, 1.225)
SPEED_MPS = 25 / 3.6


def quiet(distance_m, time_s):
    """Heights without an error."""
    zero = np.zeros_like(distance_m)
    return HeightNoise("barometric", 0.0, math.inf, 300.0, 0.0, 0.0, time_s, distance_m, zero)


def steady(grade_pct=-5.0, length_m=1000.0, speed_mps=SPEED_MPS, heading=None):
    """A course at one speed down one grade; its length is along the road."""
    time_s = np.linspace(0.0, length_m / speed_mps, 501)
    along = speed_mps * time_s
    height = 100 + along * math.sin(math.atan(grade_pct / 100))
    motion = Motion(time_s, np.full(501, speed_mps), height, np.full(501, grade_pct))
    return Course(motion, quiet(along, time_s), heading, speed_u_mps=0.0)


def normal_draws(n, *, cda, crr, mass, wind, seed=1):
    """Draws with the given standard uncertainties, nothing else unsure."""
    rng = np.random.default_rng(seed)
    parts = rng.standard_normal((4, n))
    one = np.ones(n)
    return RoadDraws(
        BASELINE,
        mass_kg=BASELINE.mass_kg + mass * parts[0],
        rotating_kg=1.4475 * one,
        cda_m2=BASELINE.cda_m2 + cda * parts[1],
        crr=BASELINE.crr + crr * parts[2],
        density=1.225 * one,
        north_mps=wind * parts[3],
        east_mps=0 * one,
        speed_ratio=one,
        seed=seed,
    )


# --- the worked table -----------------------------------------------------------------------------

# Worked out by the law of propagation of uncertainty for 1 km down 5 % at 25 km/h (surplus S = 29.06 N): standard
# uncertainties of CdA, Crr, grade, mass and head wind; their contributions; u(S). All to the digits given.
TABLE = [
    ((0.17, 0.0036, 0.003, 2.0, 1.0), (5.02, 3.88, 3.22, 0.83, 4.76), 8.61),
    ((0.10, 0.0010, 0.003, 2.0, 1.0), (2.95, 1.08, 3.22, 0.83, 4.76), 6.61),
    ((0.03, 0.0005, 0.001, 1.0, 0.3), (0.89, 0.54, 1.07, 0.41, 1.43), 2.11),
]


@pytest.mark.parametrize(("u", "parts", "total"), TABLE)
def test_the_force_that_a_descent_offers_is_as_unsure_as_the_worked_table_says(u, parts, total):
    """By the same `combine` that makes the budgets; derivatives of S by hand.

    Of the printed parts of the third row 1.43 stands for a wind of 0.3 m/s, 0.89 for a CdA of 0.03 m².
    """
    angle = math.atan(0.05)
    pull = 110 * 9.80665
    slopes = (
        -0.5 * 1.225 * SPEED_MPS**2,
        -pull * math.cos(angle),
        pull * math.cos(angle) ** 3 * (1 + 0.0077 * math.tan(angle)),
        9.80665 * (math.sin(angle) - 0.0077 * math.cos(angle)),
        -1.225 * 0.559 * SPEED_MPS,
    )
    whole = combine([Contribution(str(i), one, slope) for i, (one, slope) in enumerate(zip(u, slopes, strict=True))])
    for part, one, slope in zip(parts, u, slopes, strict=True):
        assert abs(one * slope) == pytest.approx(part, abs=0.015)
    assert whole.u_c == pytest.approx(total, abs=0.015)


@pytest.mark.parametrize(("u", "parts", "total"), TABLE)
def test_draws_of_what_a_descent_offers_spread_as_the_worked_table_says(u, parts, total):
    """Without the grade's part, which is a height here; 1.5 % for 40,000 draws and for the wind's square.

    The wind's square adds ½ρCdA w² and its spread √2 · 0.34 u² = 0.48 N at 1 m/s: 1 % beside 7 N.
    """
    road = normal_draws(40_000, cda=u[0], crr=u[1], mass=u[3], wind=u[4])
    draws = available_draws(steady(), [(0, 500)], road, acting=("mass", "rolling", "air drag", "wind"))[0]
    expected = math.sqrt(total**2 - parts[2] ** 2)
    assert draws.std() * 3600 / 1000 == pytest.approx(expected, rel=0.025)
    assert draws.mean() * 3600 / 1000 == pytest.approx(29.06 - 0.5 * 1.225 * 0.559 * u[4] ** 2, abs=0.1)


def test_a_height_error_moves_what_was_available_by_its_weight():
    """Slow error 0.5 m over far more than its memory: m g · 0.5 √2 J, as a standard deviation."""
    course = steady(length_m=1e5)
    noise = dataclasses.replace(course.noise, slow_m=0.5, dof=1e9)
    road = normal_draws(20_000, cda=0, crr=0, mass=0, wind=0)
    draws = available_draws(dataclasses.replace(course, noise=noise), [(0, 500)], road, acting=("height",))[0]
    assert draws.std() * 3600 == pytest.approx(110 * 9.80665 * 0.5 * math.sqrt(2), rel=0.02)


# --- what the draws keep --------------------------------------------------------------------------


def test_draws_without_any_error_are_what_the_value_is():
    """The value is the fall of `Offered.state_j`, another way of summing the same equation; head and tail winds too."""
    time_s = np.arange(0.0, 60.0, 0.2)
    speed = 5 + 3 * np.sin(time_s / 7)
    height = 80 - 0.2 * time_s
    motion = Motion(time_s, speed, height, np.full(len(time_s), -4.0))
    for wind_mps in (-6.0, 0.0, 2.0):
        load = dataclasses.replace(BASELINE, wind_mps=wind_mps)
        state_j = offered(motion, load).state_j
        road = road_draws(load, Bike(), n_draws=50)
        course = Course(motion, quiet(np.cumsum(speed) * 0.2, time_s))
        found = available_draws(course, [(10, 200), (0, 299)], road, acting=())
        expected = [(state_j[10] - state_j[200]) / 3600, (state_j[0] - state_j[299]) / 3600]
        np.testing.assert_allclose(found, np.repeat([expected], 50, axis=0).T, rtol=1e-9)


def test_two_runs_of_one_ride_share_their_mass():
    """Twice the same descent: what mass does to the sum is twice what it does to one, not √2 of it."""
    course = steady()
    road = road_draws(BASELINE, Bike(), n_draws=2000)
    both = available_draws(course, [(0, 250), (250, 500)], road, acting=("mass", "rolling", "air drag"))
    assert np.corrcoef(both)[0, 1] == pytest.approx(1.0, abs=1e-9)
    assert both.sum(axis=0).std() == pytest.approx(2 * both[0].std(), rel=1e-9)


def test_a_steady_wind_takes_on_the_way_out_what_it_gives_on_the_way_back():
    """First order cancels (headings 0 and π); the squares, ½ρCdA w² v, remain: 0.34·3² N over 2 km, 1.7 Wh at most."""
    out = steady(grade_pct=0.0, heading=np.zeros(501))
    back = steady(grade_pct=0.0, heading=np.full(501, math.pi))
    road = road_draws(BASELINE, Bike(), n_draws=4000)
    one, other = (available_draws(course, [(0, 500)], road, acting=("wind",))[0] for course in (out, back))
    assert np.corrcoef(one, other)[0, 1] < -0.9
    assert (one + other).std() < 0.3 * one.std()


def test_errors_add_up_as_squares_where_they_are_independent():
    course = steady()
    road = road_draws(BASELINE, Bike(), n_draws=40_000)
    alone = [available_draws(course, [(0, 500)], road, acting=(name,))[0].var() for name in ERRORS]
    together = available_draws(course, [(0, 500)], road)[0].var()
    assert together == pytest.approx(sum(alone), rel=0.08)  # products of two errors, and chance


def test_an_unknown_error_is_refused_by_name():
    road = road_draws(BASELINE, Bike(), n_draws=10)
    with pytest.raises(ValueError, match="no such error: gravity"):
        available_draws(steady(), [(0, 500)], road, acting=("gravity",))


def test_a_ride_without_braking_has_no_draws():
    assert available_draws(steady(), [], road_draws(BASELINE, Bike(), n_draws=10)).shape == (0, 10)


def test_a_run_without_height_is_not_known():
    course = steady()
    course.motion.height_m[:] = np.nan
    draws = available_draws(course, [(0, 500)], road_draws(BASELINE, Bike(), n_draws=100))
    assert np.isnan(draws).all()
    assert available_q(1.0, draws[0]).low95 is None


# --- limits, captured, speed, heading -------------------------------------------------------------


def test_limits_come_from_the_bike_file_then_from_the_value_then_from_the_default():
    bike = Bike(bike=BikeSection(total_mass_kg=100.0), road=RoadSection(cda_m2=0.6, cda_limit_m2=0.05, wind_mps=2.0))
    limits = road_limits(bike)
    assert limits["bike.total_mass_kg"] == pytest.approx(3.0)
    assert limits["road.cda_m2"] == 0.05
    assert limits["road.wind_mps"] == 1.5
    assert limits["road.crr"] == DEFAULTS["road.crr"][1]


def test_draws_keep_to_their_limits_and_fill_them_evenly():
    """A rectangle of half-width a has u = a/√3 (JCGM 100:2008, 4.3.7); 1 % for 40,000 draws."""
    road = road_draws(BASELINE, Bike(), n_draws=40_000)
    for draws, value, limit in ((road.mass_kg, 110.0, 30.0), (road.cda_m2, 0.559, 0.29), (road.north_mps, 0.0, 3.0)):
        assert abs(draws - value).max() <= limit
        assert draws.std() == pytest.approx(limit / math.sqrt(3), rel=0.01)
    assert road.crr.min() >= 0


def test_captured_keeps_what_returned_and_available_have_in_common():
    """Both 10 % too large in the same draws: their share does not move."""
    scale = np.random.default_rng(1).uniform(0.9, 1.1, 4000)
    found = captured_q(0.4, 1.0, 0.4 * scale, scale)
    assert (found.value, found.low95, found.high95) == pytest.approx((40, 40, 40))


def test_captured_has_no_upper_bound_where_nothing_may_have_been_available():
    draws = np.random.default_rng(1).normal(0.1, 0.1, 4000)  # one in six below 0
    found = captured_q(0.05, 0.1, np.full(4000, 0.05), draws)
    assert found.value == pytest.approx(50)
    assert 0 < found.low95 < 50
    assert found.high95 is None
    assert captured_q(0.05, 0.0, draws, draws) is None


def test_available_is_never_below_nothing():
    found = available_q(0.0, np.random.default_rng(1).normal(-1, 0.1, 1000))
    assert (found.low95, found.high95) == (0.0, 0.0)


@pytest.mark.parametrize("sigma", [0.03, 0.1])
def test_the_noise_of_a_speed_is_seen_through_starts_and_stops(sigma):
    rng = np.random.default_rng(1)
    smooth = np.clip(4 + 4 * np.sin(np.arange(5000) / 60), 0, 6)
    assert speed_noise_mps(smooth + rng.normal(0, sigma, 5000)) == pytest.approx(sigma, rel=0.15)


def test_a_last_digit_is_the_least_noise():
    """0.1 km/h over √12 is 0.008 m/s; the speed changes too slowly to move the digit at most samples."""
    smooth = np.round((4 + 2 * np.sin(np.arange(5000) / 600)) * 36) / 36
    assert speed_noise_mps(smooth) == pytest.approx(1 / 36 / math.sqrt(12), rel=0.01)


def test_headings_are_those_of_the_way():
    """North, then east; standing keeps the last way."""
    north = np.concatenate([np.arange(0, 100, 5.0), np.full(20, 95.0), np.full(10, 95.0)])
    east = np.concatenate([np.zeros(20), np.arange(5, 105, 5.0), np.full(10, 100.0)])
    found = heading_rad(east, north)
    assert found[5] == pytest.approx(0.0)
    assert found[30] == pytest.approx(math.pi / 2)
    assert found[-1] == pytest.approx(math.pi / 2)


def test_a_bike_that_never_moves_has_a_heading_all_the_same():
    assert (heading_rad(np.zeros(5), np.zeros(5)) == 0).all()
    assert (heading_rad(np.full(5, np.nan), np.full(5, np.nan)) == 0).all()


# --- the truth of simulated rides -----------------------------------------------------------------


def half_hidden(machine, rng):
    """A bike file that is off by anything within the limits that it states."""
    return Bike(
        bike=BikeSection(total_mass_kg=machine.mass_kg + float(rng.uniform(-4, 4)), total_mass_limit_kg=4.0),
        road=RoadSection(
            cda_m2=machine.cda_m2 + float(rng.uniform(-0.1, 0.1)),
            cda_limit_m2=0.1,
            crr=machine.crr + float(rng.uniform(-0.002, 0.002)),
            crr_limit=0.002,
            air_temperature_c=15.0,
            wind_mps=0.0,
        ),
    )


def events_of(one, seed):
    """Intervals of the events that the truth knows too, with it, and those of the whole ride."""
    bike = half_hidden(one.machine, np.random.default_rng(seed))
    load, _ = road_load(bike, mean_height_m=float(np.nanmean(one.motion.height_m)))
    offer = offered(one.motion, load)
    time_s, gaps = one.motion.time_s, time_gaps(one.motion.time_s)
    runs = find_events(one.motion, offer, np.zeros(len(time_s), dtype=bool), gaps, load)
    heading = heading_rad(one.passage.east_m, one.passage.north_m)
    course = Course(one.motion, one.noise, heading, clock_u_s=one.join.offset_u_s)
    draws = available_draws(course, runs, road_draws(load, bike, speed_source="device"))
    values = [max(0.0, float(offer.state_j[first] - offer.state_j[last])) / 3600 for first, last in runs]
    found, true = [], []
    for (first, last), value, row in zip(runs, values, draws, strict=True):
        for event in one.true.events:
            shared = min(event.end_s, time_s[last]) - max(event.start_s, time_s[first])
            if shared >= 0.5 * (max(event.end_s, time_s[last]) - min(event.start_s, time_s[first])):
                found.append(available_q(value, row))
                true.append(event.available_wh)
    ride = available_q(sum(values), draws.sum(axis=0)), sum(event.available_wh for event in one.true.events)
    return found, true, ride


@pytest.mark.parametrize("step_s", [0.2, 1.0])
def test_at_least_nine_in_ten_intervals_of_available_hold_the_truth(step_s):
    """16 rides and some 190 events; of the rides two in 16 may be missed, which 95 % do in one study of 25."""
    found, true, rides = [], [], []
    for seed in SEEDS:
        some, of_them, ride = events_of(chance_ride(seed, step_s), seed)
        found += [(q.value, q.low95, q.high95) for q in some]
        true += of_them
        rides.append(ride)
    assert len(found) >= 120
    share, half_width = coverage_and_width(found, true)
    assert share >= 0.9
    assert half_width <= 0.3 * float(np.median(true))  # the worked table: 7 to 30 % of what a descent offers
    assert sum(q.low95 <= truth <= q.high95 for q, truth in rides) >= 14
