"""What braking had available and how sure that is: closed forms, a worked table, the truth of simulated rides."""

import dataclasses
import math

import numpy as np
import pytest

from ridelog.analysis.braking.available import available_trials, available_wh
from ridelog.analysis.braking.force import braking_force, find_events
from ridelog.analysis.braking.own_errors import ERRORS
from ridelog.analysis.road.load import RoadLoad, road_load
from ridelog.analysis.road.load_uncertainty import RoadTrials, road_trials, speed_noise_mps
from ridelog.analysis.road.motion import Motion
from ridelog.analysis.road.plane import heading_rad
from ridelog.arrays import time_gaps
from ridelog.settings.bike import Bike, BikeSection, RoadSection
from ridelog.uncertain.gum import Contribution, combine
from ridelog.uncertain.trials import Uncertain, total
from tests.analysis.chance_rides import SEEDS, SLICE, chance_ride, coverage_and_width
from tests.analysis.scenes import true_heights

# 110 kg, CdA 0.559 m², Crr 0.0077, 1.225 kg/m³ (the baseline of `tests/analysis/road/test_load.py`)
BASELINE = RoadLoad(110.0, 111.4475, 0.559, 0.0077, 1.225)
SPEED_MPS = 25 / 3.6


def steady(grade_pct=-5.0, length_m=1000.0, speed_mps=SPEED_MPS, heading=None):
    """A motion at one speed down one grade, and heights without an error; its length is along the road."""
    time_s = np.linspace(0.0, length_m / speed_mps, 501)
    along = speed_mps * time_s
    height = 100 + along * math.sin(math.atan(grade_pct / 100))
    motion = Motion(time_s, np.full(501, speed_mps), height, np.full(501, grade_pct), heading)
    return motion, true_heights(time_s, along)


def normal_trials(n, *, cda, crr, mass, wind, seed=1):
    """Trials with the given standard uncertainties, nothing else unsure."""
    rng = np.random.default_rng(seed)
    parts = rng.standard_normal((4, n))
    one = np.ones(n)
    return RoadTrials(
        BASELINE,
        mass_kg=BASELINE.mass_kg + mass * parts[0],
        rotating_kg=1.4475 * one,
        cda_m2=BASELINE.cda_m2 + cda * parts[1],
        crr=BASELINE.crr + crr * parts[2],
        density=1.225 * one,
        north_mps=wind * parts[3],
        east_mps=0 * one,
        speed_ratio=one,
        seed="road",
    )


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
def test_trials_of_what_a_descent_offers_spread_as_the_worked_table_says(u, parts, total):
    """Without the grade's part, which is a height here; 1.5 % for 40,000 trials and for the wind's square.

    The wind's square adds ½ρCdA w² and its spread √2 · 0.34 u² = 0.48 N at 1 m/s: 1 % beside 7 N.
    """
    road = normal_trials(40_000, cda=u[0], crr=u[1], mass=u[3], wind=u[4])
    trials = available_trials(*steady(), [(0, 500)], road, acting=("mass", "rolling", "air drag", "wind"))[0]
    expected = math.sqrt(total**2 - parts[2] ** 2)
    assert trials.std() * 3600 / 1000 == pytest.approx(expected, rel=0.025)
    assert trials.mean() * 3600 / 1000 == pytest.approx(29.06 - 0.5 * 1.225 * 0.559 * u[4] ** 2, abs=0.1)


def test_a_height_error_moves_what_was_available_by_its_weight():
    """Slow error 0.5 m over far more than its memory: m g · 0.5 √2 J, as a standard deviation."""
    motion, noise = steady(length_m=1e5)
    noise = dataclasses.replace(noise, slow_m=0.5, dof=1e9)
    road = normal_trials(20_000, cda=0, crr=0, mass=0, wind=0)
    trials = available_trials(motion, noise, [(0, 500)], road, acting=("height",))[0]
    assert trials.std() * 3600 == pytest.approx(110 * 9.80665 * 0.5 * math.sqrt(2), rel=0.02)


def test_trials_without_any_error_are_what_the_value_is():
    """The value is the fall of `BrakingForce.state_j`, the same equation summed in another way; head and tail winds."""
    time_s = np.arange(0.0, 60.0, 0.2)
    speed = 5 + 3 * np.sin(time_s / 7)
    height = 80 - 0.2 * time_s
    motion = Motion(time_s, speed, height, np.full(len(time_s), -4.0))
    for wind_mps in (-6.0, 0.0, 2.0):
        load = dataclasses.replace(BASELINE, wind_mps=wind_mps)
        state_j = braking_force(motion, load).state_j
        road = road_trials(load, Bike(), n_trials=50)
        course = motion, true_heights(time_s, np.cumsum(speed) * 0.2)
        found = available_trials(*course, [(10, 200), (0, 299)], road, acting=())
        expected = [(state_j[10] - state_j[200]) / 3600, (state_j[0] - state_j[299]) / 3600]
        np.testing.assert_allclose(found, np.repeat([expected], 50, axis=0).T, rtol=1e-9)


def test_two_runs_of_one_ride_share_their_mass():
    """Twice the same descent: what mass does to the sum is twice what it does to one, not √2 of it."""
    course = steady()
    road = road_trials(BASELINE, Bike(), n_trials=2000)
    both = available_trials(*course, [(0, 250), (250, 500)], road, acting=("mass", "rolling", "air drag"))
    assert np.corrcoef(both)[0, 1] == pytest.approx(1.0, abs=1e-9)
    assert both.sum(axis=0).std() == pytest.approx(2 * both[0].std(), rel=1e-9)


def test_a_steady_wind_takes_on_the_way_out_what_it_gives_on_the_way_back():
    """First order cancels (headings 0 and π); the squares, ½ρCdA w² v, remain: 0.34·3² N over 2 km, 1.7 Wh at most."""
    out = steady(grade_pct=0.0, heading=np.zeros(501))
    back = steady(grade_pct=0.0, heading=np.full(501, math.pi))
    road = road_trials(BASELINE, Bike(), n_trials=4000)
    one, other = (available_trials(*course, [(0, 500)], road, acting=("wind",))[0] for course in (out, back))
    assert np.corrcoef(one, other)[0, 1] < -0.9
    assert (one + other).std() < 0.3 * one.std()


def test_errors_add_up_as_squares_where_they_are_independent():
    course = steady()
    road = road_trials(BASELINE, Bike(), n_trials=40_000)
    alone = [available_trials(*course, [(0, 500)], road, acting=(name,))[0].var() for name in ERRORS]
    together = available_trials(*course, [(0, 500)], road)[0].var()
    assert together == pytest.approx(sum(alone), rel=0.08)  # products of two errors, and chance


def test_an_unknown_error_is_refused_by_name():
    road = road_trials(BASELINE, Bike(), n_trials=10)
    with pytest.raises(ValueError, match="no such error: gravity"):
        available_trials(*steady(), [(0, 500)], road, acting=("gravity",))


def test_a_ride_without_braking_has_no_trials():
    assert available_trials(*steady(), [], road_trials(BASELINE, Bike(), n_trials=10)).shape == (0, 10)


def test_a_run_without_height_is_not_known():
    course = steady()
    course[0].height_m[:] = np.nan
    trials = available_trials(*course, [(0, 500)], road_trials(BASELINE, Bike(), n_trials=100))
    assert np.isnan(trials).all()
    assert Uncertain(1.0, trials[0]).quantity(least=0.0).low95 is None


def test_available_is_never_below_nothing():
    found = Uncertain(0.0, np.random.default_rng(1).normal(-1, 0.1, 1000)).quantity(least=0.0)
    assert (found.low95, found.high95) == (0.0, 0.0)


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
    heading = heading_rad(one.track.east_m, one.track.north_m)
    noise_mps = speed_noise_mps(one.motion.speed_mps)
    motion = dataclasses.replace(
        one.motion, heading_rad=heading, height_clock_u_s=one.join.offset_u_s, speed_u_mps=noise_mps
    )
    force = braking_force(motion, load)
    time_s, gaps = motion.time_s, time_gaps(motion.time_s)
    runs = find_events(motion, force, np.zeros(len(time_s), dtype=bool), gaps, load)
    rows = available_trials(motion, one.noise, runs, road_trials(load, bike, speed_source="device"))
    events = [Uncertain(available_wh(force, *run), row) for run, row in zip(runs, rows, strict=True)]
    found, true = [], []
    for (first, last), event in zip(runs, events, strict=True):
        for known in one.true.events:
            shared = min(known.end_s, time_s[last]) - max(known.start_s, time_s[first])
            if shared >= 0.5 * (max(known.end_s, time_s[last]) - min(known.start_s, time_s[first])):
                found.append(event.quantity(least=0.0))
                true.append(known.available_wh)
    ride = total(events).quantity(least=0.0), sum(event.available_wh for event in one.true.events)
    return found, true, ride


@pytest.mark.parametrize("seeds", [SLICE, pytest.param(SEEDS, marks=pytest.mark.proof)], ids=len)
@pytest.mark.parametrize("step_s", [0.2, 1.0])
def test_at_least_nine_in_ten_intervals_of_available_hold_the_truth(step_s, seeds):
    """16 rides and some 190 events; of the rides two in 16 may be missed, which 95 % do in one study of 25.

    Of 8 rides one may, which is missed twice in one study of 17.
    """
    found, true, rides = [], [], []
    for seed in seeds:
        some, of_them, ride = events_of(chance_ride(seed, step_s), seed)
        found += [(q.value, q.low95, q.high95) for q in some]
        true += of_them
        rides.append(ride)
    assert len(found) >= 7.5 * len(seeds)
    share, half_width = coverage_and_width(found, true)
    assert share >= 0.9
    assert half_width <= 0.3 * float(np.median(true))  # the worked table: 7 to 30 % of what a descent offers
    assert sum(q.low95 <= truth <= q.high95 for q, truth in rides) >= len(seeds) - len(seeds) // 8
