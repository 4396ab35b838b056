"""Clock offset and drift, against simulated rides whose offsets are known."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from ridelog.recording import Clock, Recording
from ridelog.settings.bike import Bike, SensorSection
from ridelog.timeline.clock.findings import join_findings
from ridelog.timeline.clock.join import JoinResult, fit_lag, join_clock
from ridelog.timeline.clock.peak import Peak, Refusal
from ridelog.timeline.clock.signals import SignalPair, grid_step_s, signals_of
from ridelog.timeline.motion.speeds import measure_motion
from sample_rides.loggers import Clock as TrackClock
from sample_rides.loggers import Tracker, electrical_log
from sample_rides.loggers import track_log as sample_track
from sample_rides.scenarios import random_scenario
from sample_rides.simulation import Simulated, simulate
from tests.timeline.simulated import START, controller_log, recording, track_log, true_ride

TOLERANCE_S = 0.1  # the aim for speed against speed; the promise is 0.3 s


PLAIN, AVERAGED = Bike(), Bike(sensor=SensorSection(averaged=True))


def joined(reference: Recording, other: Recording, bike: Bike = PLAIN) -> JoinResult:
    """The join of two recordings, as a ride would take it."""
    step_s = grid_step_s((reference, other))
    signals = [signals_of(item, measure_motion(item, bike), bike, step_s) for item in (reference, other)]
    return join_clock(reference, other, signals[0], signals[1])


@pytest.mark.parametrize("step_s", [0.1, 0.2, 1.0], ids=["10 Hz", "5 Hz", "1 Hz"])
@pytest.mark.parametrize("seed", range(8))
def test_an_unknown_offset_is_found_from_speed(seed: int, step_s: float) -> None:
    """Elapsed time against a track with dropouts that began up to minutes later; both logs out of phase."""
    truth = true_ride(seed)
    rng = np.random.default_rng(seed)
    log_s, track_s = rng.uniform(0, 200, 2)
    verdict = joined(
        controller_log(truth, start_s=log_s, step_s=step_s, clock="elapsed", seed=seed),
        track_log(truth, start_s=track_s, seed=seed),
    )
    assert verdict.join.trusted
    assert verdict.join.method == "speed"
    assert verdict.join.lag_s == pytest.approx(track_s - log_s, abs=TOLERANCE_S)
    assert verdict.join.offset_s is not None  # neither clock is a wall clock to the other: both count from their start
    assert verdict.join.offset_s == pytest.approx(log_s - track_s, abs=TOLERANCE_S)
    assert verdict.join.agreement is not None
    assert verdict.join.agreement > 0.98


@pytest.mark.parametrize("seed", range(4))
def test_gps_dropouts_do_not_move_the_offset(seed: int) -> None:
    truth = true_ride(seed)
    track = track_log(truth, start_s=20.0, seed=seed, dropouts=12)
    assert track.start is not None
    verdict = joined(controller_log(truth, clock="elapsed"), track)
    assert verdict.join.lag_s == pytest.approx((track.start - START).total_seconds(), abs=TOLERANCE_S)


@pytest.mark.parametrize("seed", range(4))
def test_a_speed_that_is_read_once_a_second_and_logged_five_times_is_not_late(seed: int) -> None:
    """Repeated readings are 0.4 s late on average."""
    truth = true_ride(seed)
    log = controller_log(truth, clock="elapsed")
    held_mps = np.repeat(log.frame["speed_mps"].to_numpy()[::5], 5)[: len(log.frame)]
    verdict = joined(
        replace(log, frame=log.frame.assign(speed_mps=held_mps)), track_log(truth, start_s=20.0, seed=seed)
    )
    assert verdict.join.lag_s == pytest.approx(20.0, abs=TOLERANCE_S)


@pytest.mark.parametrize("resolution_mps", [0.5, 1 / 3.6], ids=["0.5 m/s", "1 km/h"])
def test_a_coarse_speed_is_not_late(resolution_mps: float) -> None:
    truth = true_ride(3)
    log = controller_log(truth, clock="elapsed")
    coarse_mps = np.round(log.frame["speed_mps"] / resolution_mps) * resolution_mps
    verdict = joined(replace(log, frame=log.frame.assign(speed_mps=coarse_mps)), track_log(truth, start_s=20.0))
    assert verdict.join.lag_s == pytest.approx(20.0, abs=TOLERANCE_S)


@pytest.mark.parametrize("error_s", [-7215.37, 3.42, 40000.0])
def test_a_clock_that_runs_ahead_is_told_by_how_much(error_s: float) -> None:
    truth = true_ride(11)
    verdict = joined(controller_log(truth), track_log(truth, start_s=33.3, clock_error_s=error_s))
    assert verdict.join.trusted
    assert verdict.join.offset_s == pytest.approx(error_s, abs=TOLERANCE_S)
    assert (verdict.clocks_disagree_s is not None) == (abs(error_s) > 30)


@pytest.mark.parametrize(
    ("error_s", "trusted"), [(0.0, True), (-600.0, True), (7200.0, True), (86400.0, False), (-40000.0, False)],
    ids=["right", "10 min within the ride", "2 h, a zone", "a day", "hours that are no zone"],
)  # fmt: skip
def test_a_power_that_fits_does_not_overrule_clocks_of_another_time(error_s: float, trusted: bool) -> None:
    """The track of the same road: its power fits by 0.93, as that of another day's commute may."""
    truth = true_ride(11)
    log, track = controller_log(truth, with_speed=False), track_log(truth, start_s=33.3, clock_error_s=error_s)
    verdict = joined(log, track)
    assert verdict.join.trusted == trusted
    assert verdict.join.method == ("power" if trusted else "none")
    assert [finding.code for finding in join_findings(log, track, verdict)][:1] == (
        ["clock-joined"] if trusted else ["no-overlap"]
    )


@pytest.mark.parametrize(("log", "track"), [("local", "utc"), ("utc", "local"), ("local", "local")])
def test_an_unknown_time_zone_is_no_disagreement(log: Clock, track: Clock) -> None:
    truth = true_ride(12)
    verdict = joined(controller_log(truth, clock=log, clock_error_s=-3 * 3600), track_log(truth, clock=track))
    assert verdict.join.trusted
    assert verdict.join.offset_s == pytest.approx(3 * 3600, abs=TOLERANCE_S)
    assert verdict.clocks_disagree_s is None


@pytest.mark.parametrize("seed", range(4))
def test_a_drift_of_100_ppm_is_found_in_a_long_ride(seed: int) -> None:
    """100 ppm over 100 minutes are 0.6 s; ± 25 ppm is 0.15 s over the ride, at either end half of it."""
    truth = true_ride(20 + seed, 6000.0)
    verdict = joined(controller_log(truth, clock="elapsed"), track_log(truth, start_s=60.0, drift_ppm=100.0, seed=seed))
    assert verdict.join.drift_ppm == pytest.approx(100.0, abs=25.0)
    track_end_s = 5900.0
    at_end_s = float(verdict.join.to_reference_s(np.array([(track_end_s - 60.0) * (1 + 100e-6)]))[0])
    assert at_end_s == pytest.approx(track_end_s, abs=0.15)
    assert verdict.join.lag_s == pytest.approx(60.0, abs=0.15)


def test_what_a_short_ride_hardly_tells_of_a_drift_is_drawn_towards_none() -> None:
    """100 ppm in a quarter of an hour are 0.09 s: too little to tell, so that the interval holds 0 and 100 ppm."""
    truth = true_ride(2, 900.0)
    join = joined(controller_log(truth), track_log(truth, drift_ppm=100.0)).join
    assert join.drift_ppm is not None
    assert join.drift_u_ppm is not None
    assert join.drift_u_ppm < 100.0 / 3**0.5  # the signals say something, beside what usual clocks do
    assert abs(join.drift_ppm) < 2 * join.drift_u_ppm
    assert abs(join.drift_ppm - 100.0) < 2 * join.drift_u_ppm


def test_a_short_ride_has_no_drift() -> None:
    truth = true_ride(2, 560.0)
    assert joined(controller_log(truth), track_log(truth, drift_ppm=100.0)).join.drift_ppm is None


@pytest.fixture(scope="module", params=[1001, 1004, 1007])
def sample_ride(request: pytest.FixtureRequest) -> Simulated:
    """A ride of the sample rides' own simulation, of other making than the one of these tests."""
    return simulate(random_scenario(np.random.default_rng(request.param)))


@pytest.mark.parametrize("step_s", [0.2, 1.0], ids=["5 Hz", "1 Hz"])
@pytest.mark.parametrize("with_speed", [True, False], ids=["speed", "power"])
def test_the_offset_of_a_sample_ride_is_found(sample_ride: Simulated, step_s: float, with_speed: bool) -> None:
    """A clock that is hours off and drifts by 40 ppm; read in the middle. 0.1 s by speed; by power 1.0 s, which is
    twice the stated standard uncertainty."""
    clock = TrackClock(offset_s=-9876.5, drift_ppm=40.0)
    points = sample_track(sample_ride, Tracker(clock=clock, from_s=25.0))
    log = electrical_log(sample_ride, step_s=step_s, current_noise_a=0.05)
    columns = {name: log[name].to_numpy() for name in ("current_a", "voltage_v", *(["speed_mps"] * with_speed))}
    places = {name: points[name].to_numpy() for name in ("latitude_deg", "longitude_deg", "altitude_m")}
    verdict = joined(
        recording("c.csv", log["time_s"].to_numpy(), clock="elapsed", **columns),
        recording("t.gpx", points["time_s"].to_numpy(), clock="elapsed", **places),
    )
    assert verdict.join.method == ("speed" if with_speed else "power")
    middle = len(points) // 2
    since_first_s = points["time_s"].to_numpy()[[middle]] - points["time_s"].to_numpy()[0]
    true_s = points["moment_s"].to_numpy()[middle]
    assert verdict.join.to_reference_s(since_first_s)[0] == pytest.approx(
        true_s, abs=TOLERANCE_S if with_speed else 1.0
    )


def test_speeds_that_differ_are_not_overruled_by_power() -> None:
    """Ride 7's power with ride 70's speed, against the track of ride 7: something is wrong, so nothing is joined."""
    log, stranger = controller_log(true_ride(7), clock="elapsed"), controller_log(true_ride(70))
    wrong = replace(log, frame=log.frame.assign(speed_mps=stranger.frame["speed_mps"].to_numpy()))
    assert not joined(wrong, track_log(true_ride(7))).join.trusted


@pytest.mark.parametrize("seed", range(6))
def test_a_log_without_speed_is_joined_by_power_and_motion(seed: int) -> None:
    """Power foretold from a track is a rough likeness: 0.5 s, within twice the 0.3 s that is stated at least."""
    truth = true_ride(seed)
    verdict = joined(
        controller_log(truth, start_s=30.13, clock="elapsed", with_speed=False), track_log(truth, start_s=151.37)
    )
    assert verdict.join.trusted
    assert verdict.join.method == "power"
    assert verdict.join.lag_s == pytest.approx(151.37 - 30.13, abs=0.5)
    assert verdict.join.offset_u_s is not None
    assert verdict.join.offset_u_s >= 0.3


def test_the_stated_uncertainty_covers_the_error() -> None:
    """Of 16 rides, at least 13 within twice the standard uncertainty (95 % expected; 12 or fewer has p < 0.01)."""
    n_within = 0
    for seed in range(16):
        truth = true_ride(seed)
        verdict = joined(controller_log(truth, clock="elapsed", seed=seed), track_log(truth, start_s=77.7, seed=seed))
        assert verdict.join.offset_u_s is not None
        n_within += abs(verdict.join.lag_s - 77.7) <= 2 * verdict.join.offset_u_s
    assert n_within >= 13


def test_a_track_of_another_ride_is_refused() -> None:
    for seed in range(6):
        verdict = joined(
            controller_log(true_ride(seed), clock="elapsed"), track_log(true_ride(seed + 50), clock="elapsed")
        )
        assert not verdict.join.trusted
        assert verdict.join.method == "none"
        assert verdict.why_not


def test_a_track_of_another_ride_is_refused_though_the_clocks_would_allow_it() -> None:
    verdict = joined(controller_log(true_ride(1)), track_log(true_ride(51)))
    assert not verdict.join.trusted
    assert verdict.why_not is not None
    assert verdict.why_not.opposed


def test_laps_that_look_alike_are_refused() -> None:
    """A sinusoidal speed fits at every period."""
    time_s = np.arange(0, 1800, 0.2)
    speed_mps = 5 + 2 * np.sin(2 * np.pi * time_s / 100)
    reference = recording("c.csv", time_s, clock="elapsed", speed_mps=speed_mps, current_a=speed_mps)
    verdict = joined(reference, recording("t.gpx", time_s[::5], clock="elapsed", speed_mps=speed_mps[::5]))
    assert not verdict.join.trusted
    assert verdict.why_not is not None
    assert verdict.why_not.reason == "ambiguous"


def test_utc_clocks_decide_where_laps_look_alike() -> None:
    """The same laps with wall clocks a second apart: of all places that fit, the one that the clocks say."""
    time_s = np.arange(0, 1800, 0.2)
    speed_mps = 5 + 2 * np.sin(2 * np.pi * time_s / 300)
    reference = recording("c.csv", time_s, speed_mps=speed_mps, current_a=speed_mps)
    later = START + timedelta(seconds=1)
    verdict = joined(reference, recording("t.gpx", time_s[::5], start=later, speed_mps=speed_mps[::5]))
    assert verdict.join.trusted
    assert verdict.join.lag_s == pytest.approx(0.0, abs=TOLERANCE_S)


def test_wall_clocks_stand_in_where_a_steady_speed_tells_nothing() -> None:
    rng = np.random.default_rng(1)
    time_s = np.arange(1800.0)
    reference = recording(
        "c.csv", time_s, speed_mps=5 + rng.normal(0, 0.1, 1800), current_a=5 + rng.normal(0, 0.1, 1800)
    )
    track = recording("t.gpx", time_s, start=START + timedelta(seconds=60), speed_mps=np.full(1800, 5.0))
    verdict = joined(reference, track)
    assert verdict.join.trusted
    assert verdict.join.method == "wall clock"
    assert verdict.join.lag_s == 60.0
    assert verdict.join.offset_s == 0.0
    assert verdict.why_not


@pytest.mark.parametrize("clock", ["local", "elapsed"])
def test_nothing_stands_in_where_a_clock_is_not_utc(clock: Clock) -> None:
    time_s = np.arange(1800.0)
    reference = recording("c.csv", time_s, clock=clock, current_a=np.ones(1800))
    verdict = joined(reference, recording("t.gpx", time_s, altitude_m=np.ones(1800)))
    assert not verdict.join.trusted
    assert verdict.why_not == Refusal("nothing-in-common")


def test_a_minute_of_common_time_is_too_little() -> None:
    truth = true_ride(5)
    verdict = joined(
        controller_log(truth, end_s=900.0, clock="elapsed"), track_log(truth, start_s=840.0, clock="elapsed")
    )
    assert not verdict.join.trusted


def test_two_electrical_logs_are_joined_by_current() -> None:
    truth = true_ride(6)
    reference = controller_log(truth, start_s=10.0, clock="elapsed", with_speed=False)
    other = controller_log(truth, start_s=55.5, clock="elapsed", with_speed=False, step_s=1.0, seed=9)
    verdict = joined(reference, other)
    assert verdict.join.trusted
    assert verdict.join.lag_s == pytest.approx(45.5, abs=TOLERANCE_S)


@pytest.mark.parametrize(("n", "m"), [(1, 500), (2, 2), (500, 1)])
def test_recordings_of_a_sample_or_two_are_refused_without_an_error(n: int, m: int) -> None:
    reference = recording("c.csv", np.arange(float(n)), current_a=np.ones(n), speed_mps=np.ones(n))
    verdict = joined(reference, recording("t.gpx", np.arange(float(m)), clock="elapsed", speed_mps=np.ones(m)))
    assert not verdict.join.trusted


def sample_pair(
    ride: Simulated, step_s: float, *, averaged: bool, with_speed: bool = True, drift_ppm: float = 0.0, seed: int = 12
) -> tuple[Recording, Recording, float]:
    """A log and a track of one ride of the sample rides' simulation, and the true lag of the track's first point."""
    log = electrical_log(ride, step_s=step_s, first_s=step_s, averaged=averaged)
    points = sample_track(ride, Tracker(clock=TrackClock(0.0, drift_ppm, step_s), from_s=25.0, seed=seed))
    columns = {name: log[name].to_numpy() for name in ("current_a", "voltage_v", *(["speed_mps"] * with_speed))}
    places = {name: points[name].to_numpy() for name in ("latitude_deg", "longitude_deg", "altitude_m")}
    return (
        recording("c.csv", log["time_s"].to_numpy(), clock="elapsed", **columns),
        recording("t.gpx", points["time_s"].to_numpy(), clock="elapsed", **places),
        float(points["moment_s"].iloc[0]) - step_s,
    )


@pytest.mark.parametrize("step_s", [0.5, 1.0])
def test_means_over_steps_are_joined_where_they_stand(sample_ride: Simulated, step_s: float) -> None:
    """A mean shows the bike half a step before its stamp: joined by the stamps, it is late by that (0.25 s, 0.5 s).

    The truth is the simulation's. Each join stays within the tolerance of all joins by speed, and the two ways of
    joining lie half a step apart to 0.01 s, for they share all noise.
    """
    log, track, true_s = sample_pair(sample_ride, step_s, averaged=True)
    by_moments, by_stamps = joined(log, track, AVERAGED).join, joined(log, track).join
    assert by_moments.lag_s == pytest.approx(true_s, abs=TOLERANCE_S)
    assert by_stamps.lag_s - by_moments.lag_s == pytest.approx(step_s / 2, abs=0.01)


def test_only_logs_that_hold_means_are_moved(sample_ride: Simulated) -> None:
    """A track holds no means, whatever the bike file says of the sensor: two tracks are joined as they are."""
    _, track, _ = sample_pair(sample_ride, 0.2, averaged=True)
    own = replace(track, name="own.gpx")
    assert joined(own, track, AVERAGED).join.lag_s == joined(own, track).join.lag_s


def test_the_stated_uncertainty_covers_means_over_seconds_too(sample_ride: Simulated) -> None:
    """Of 20 tracks whose clocks drift by up to 60 ppm, at least 16 (95 % expected; 15 or fewer has p < 0.003), and the
    uncertainty stays below 0.1 s, so that it is no empty word."""
    rng = np.random.default_rng(8)
    n_within = 0
    for seed in range(20):
        drift_ppm = float(rng.uniform(-60, 60))
        log, track, true_s = sample_pair(sample_ride, 1.0, averaged=True, drift_ppm=drift_ppm, seed=seed)
        join = joined(log, track, AVERAGED).join
        assert join.offset_u_s is not None
        assert join.offset_u_s < 0.1
        n_within += abs(join.lag_s - true_s) <= 1.96 * join.offset_u_s
    assert n_within >= 16


def test_a_device_that_shows_its_speed_late_is_joined_by_its_positions(sample_ride: Simulated) -> None:
    """A speed that is smoothed and 0.6 s late; the positions are where the bike was."""
    log, track, true_s = sample_pair(sample_ride, 0.2, averaged=False)
    moving_mps = measure_motion(track, Bike()).speeds_mps["positions"]
    late_mps = np.interp(track.time_s - 0.6, track.time_s, np.nan_to_num(moving_mps))
    late = replace(track, frame=track.frame.assign(speed_mps=late_mps))
    join = joined(log, late).join
    assert join.lag_s == pytest.approx(true_s, abs=TOLERANCE_S)
    assert join.offset_u_s is not None
    assert join.offset_u_s > 0.6 / 12**0.5  # the two speeds of the device are apart, and one of them is wrong


def test_wall_clocks_are_not_trusted_where_the_signals_agree_better_elsewhere() -> None:
    """Three minutes are too short to join by power. Right clocks are trusted; clocks 50 s apart, where the two fit only
    50 s away, are not, for they would be wrong by that."""
    truth = true_ride(5, 200.0)
    log = controller_log(truth, with_speed=False)
    assert joined(log, track_log(truth)).join.method == "wall clock"
    assert not joined(log, track_log(truth, clock_error_s=50.0)).join.trusted


def test_a_ride_that_never_slows_down_is_fitted_as_exactly():
    """Two speeds that stay above 2.5 m/s, 0.1 m/s of noise, 30 min: the lag of 3.37 s to 0.05 s, and a drift."""
    rng = np.random.default_rng(8)
    time_s = np.arange(0, 1800, 0.2)
    course = np.convolve(rng.standard_normal(len(time_s) + 99), np.hanning(100), "valid")
    speed_mps = 6.0 + 3.5 * np.tanh(course / course.std())

    def shifted(lag_s):
        return np.interp(time_s + lag_s, time_s, speed_mps) + 0.1 * rng.standard_normal(len(time_s))

    peak = Peak(3.4, agreement=0.99, overlap_s=1790.0, score=50.0, rival_ratio=0.1, width_s=5.0)
    found = fit_lag(SignalPair("speed", shifted(0.0), shifted(3.37), 0.2), peak)
    assert found.drift_ppm is not None
    assert found.lag_u_s < 0.04
    assert abs(found.lag_s - 3.37) < 0.05


def test_a_recording_over_more_than_a_week_is_not_compared() -> None:
    """400 fixes 23 hours apart would need a grid of 33 million seconds; what is said names the week."""
    truth = true_ride(5)
    far = recording("far.gpx", np.arange(400) * 82_800.0, clock="elapsed", speed_mps=np.full(400, 5.0))
    log = controller_log(truth, clock="elapsed")
    verdict = joined(log, far)
    assert not verdict.join.trusted
    assert verdict.why_not == Refusal("too-long")
    assert signals_of(far, measure_motion(far, Bike()), Bike(), 1.0).speeds_mps == {}
