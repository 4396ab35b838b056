"""Positions that a log holds until the next one comes: which are measurements, and how far the ride went by them."""

import numpy as np
import pandas as pd
import pytest

import ridelog
from ridelog.recording import Recording
from ridelog.settings.bike import Bike, BikeSection
from ridelog.timeline.motion.fixes import Fixes
from ridelog.timeline.motion.held import held_mask, own_way_m, without_held_positions
from ridelog.timeline.ride import join_recordings
from tests.places import others_recording
from tests.timeline.motion.degrees import NORTH_M
from tests.timeline.said import codes, facts
from tests.timeline.simulated import Truth, controller_log, recording, track_log


def northwards(time_s: np.ndarray, north_m: np.ndarray) -> Fixes:
    return Fixes(time_s, north_m / NORTH_M, np.zeros(len(time_s)))


def merged(truth: Truth, stay_s: float, *, with_speed: bool = True, start_s: float = 0.0) -> Recording:
    """A 5 Hz log into which the last position and height of a track were copied, a new one every ``stay_s``."""
    log, track = controller_log(truth, with_speed=with_speed), track_log(truth, noise_m=0.0)
    shown_s = np.maximum(np.floor((log.time_s - start_s) / stay_s + 1e-9) * stay_s + start_s, 0.0)
    at = np.clip(np.searchsorted(track.time_s, shown_s + 1e-6, side="right") - 1, 0, len(track.time_s) - 1)
    places = {name: track.frame[name].to_numpy()[at] for name in track.frame}
    return recording("merged.csv", log.time_s, **{str(k): log.frame[k].to_numpy() for k in log.frame}, **places)


def test_a_position_repeated_while_the_speed_says_that_the_bike_rolls_is_held() -> None:
    """1 Hz, 5 m/s; the position of 3 s stays until 7 s: the rows of 4 to 6 s are none, unlike that of 7 s."""
    time_s = np.arange(20.0)
    north_m = np.where((time_s > 3) & (time_s < 7), 15.0, 5 * time_s)
    assert np.flatnonzero(held_mask(northwards(time_s, north_m), 5 * time_s)).tolist() == [4, 5, 6]


def test_a_position_repeated_while_the_bike_stands_is_a_measurement() -> None:
    time_s = np.arange(20.0)
    north_m = np.interp(time_s, [0, 5, 12, 19], [0, 25, 25, 60])
    assert not held_mask(northwards(time_s, north_m), north_m).any()


def test_what_is_repeated_after_a_standstill_that_followed_riding_is_stale() -> None:
    """The position of 0 s is repeated through 10 s of riding and 10 s of standing: none of it shows the place."""
    time_s = np.arange(0.0, 30.0)
    carried_m = np.interp(time_s, [0, 10, 20, 29], [0, 50, 50, 95])
    north_m = np.where(time_s < 20, 0.0, carried_m)
    assert np.flatnonzero(held_mask(northwards(time_s, north_m), carried_m)).tolist() == list(range(1, 20))


def test_a_position_that_stays_and_leaps_is_held_without_any_speed() -> None:
    """26 s of 6 m/s without a new position: 156 m in one second, which no bicycle rides; in 26 s any does."""
    time_s = np.arange(100.0)
    north_m = np.where((time_s > 40) & (time_s < 66), 240.0, 6 * time_s)
    assert np.flatnonzero(held_mask(northwards(time_s, north_m))).tolist() == list(range(41, 66))


def test_a_leap_that_no_time_explains_is_not_held() -> None:
    """2 km after 10 s at one place."""
    time_s = np.arange(60.0)
    north_m = np.where(time_s < 30, 0.0, 2000.0)
    assert not held_mask(northwards(time_s, north_m)).any()


def test_a_log_that_repeats_its_positions_keeps_those_that_were_due_while_it_stood() -> None:
    """5 Hz, a new position every 2 s, and 10 s of standing that repeat one: each second second counts."""
    time_s = np.round(np.arange(0, 60, 0.2), 6)
    true_m = np.interp(np.floor(time_s / 2 + 1e-9) * 2, [0, 20, 30, 60], [0, 100, 100, 250])
    for carried_m in (None, np.interp(time_s, [0, 20, 30, 60], [0, 100, 100, 250])):
        new_s = time_s[~held_mask(northwards(time_s, true_m), carried_m)]
        assert np.setdiff1d(np.arange(0.0, 60.0, 2.0), new_s).tolist() == []
        assert len(new_s) <= 32


def test_noise_of_a_speed_at_rest_carries_nowhere() -> None:
    rolling = recording("a.csv", np.arange(100.0), speed_mps=np.full(100, 0.2))
    assert own_way_m(rolling, Bike())[-1] == 0.0  # type: ignore[index]


def test_turns_of_the_wheel_tell_that_the_bike_rolls() -> None:
    """120 turns a minute of 2.2 m for 10 s: 44 m; 20 turns counted: 44 m."""
    bike = Bike(bike=BikeSection(wheel_circumference_m=2.2))
    turning = recording("a.csv", np.arange(11.0), wheel_speed_rpm=np.full(11, 120.0))
    counting = recording("a.csv", np.arange(11.0), wheel_revolutions=2 * np.arange(11.0))
    assert own_way_m(turning, bike)[-1] == pytest.approx(44.0)  # type: ignore[index]
    assert own_way_m(counting, bike)[-1] == pytest.approx(44.0)  # type: ignore[index]
    assert own_way_m(recording("a.csv", np.arange(11.0), altitude_m=np.zeros(11)), bike) is None


@pytest.mark.parametrize("with_speed", [True, False], ids=["own speed", "no speed"])
@pytest.mark.parametrize("stay_s", [2.0, 5.0, 10.0, 25.0])
def test_the_way_of_held_positions_is_that_of_the_ride(truth: Truth, stay_s: float, with_speed: bool) -> None:
    """Once each: within 1 %, or what a winding way loses between fixes 150 m apart, which its interval then holds."""
    ride = join_recordings([merged(truth, stay_s, with_speed=with_speed, start_s=0.6)])
    answer = ridelog.measure(ride)
    way = answer.ride.distance_m
    assert way is not None
    assert way.low95 is not None
    assert way.high95 is not None
    assert way.low95 <= truth.distance_m[-1] <= way.high95
    assert way.value == pytest.approx(truth.distance_m[-1], rel=0.01 if with_speed or stay_s < 10 else 0.06)
    assert "stray-positions" not in codes(ride)
    use = answer.energy.net_wh_per_km
    assert use is not None
    assert use.low95 is not None
    assert use.high95 is not None


def test_the_better_source_gives_the_distance(truth: Truth) -> None:
    """Fixes 2 s apart measure a bend; between fixes 25 s apart the way winds, and the speed knows it better."""
    assert join_recordings([merged(truth, 2.0)]).distance_source == "positions"
    assert join_recordings([merged(truth, 25.0)]).distance_source == "speed"


def test_between_two_fixes_the_speed_tells_where_the_bike_was(truth: Truth) -> None:
    """Fixes 10 s apart: a straight line in time is off by 8 m over 5 s where the bike stops between them."""
    off_m = {}
    for with_speed in (True, False):
        series = join_recordings([merged(truth, 10.0, with_speed=with_speed)]).series
        true_m = np.interp(series["elapsed_s"], truth.time_s, truth.distance_m)
        off_m[with_speed] = float((series["distance_m"] - true_m).diff(25).abs().quantile(0.99))  # over 5 s
    assert off_m[False] > 7.0
    assert off_m[True] < 2.5


def test_held_positions_are_told(truth: Truth) -> None:
    told = facts(join_recordings([merged(truth, 10.0)]), "positions-held")
    assert told["usual_s"] == pytest.approx(10.0, abs=0.21)
    assert told["n_new"] + told["n_positions"] == len(merged(truth, 10.0).frame)
    assert "positions-held" not in codes(join_recordings([merged(truth, 1.0)]))


def test_heights_that_come_with_the_positions_are_held_with_them_and_others_are_not(truth: Truth) -> None:
    held = merged(truth, 10.0)
    whole = np.interp(held.time_s, truth.time_s, truth.altitude_m)
    own = recording(
        "own.csv",
        held.time_s,
        **{str(k): held.frame[k].to_numpy() for k in held.frame if k != "altitude_m"},
        altitude_m=whole,
    )
    assert without_held_positions(held, Bike()).frame["altitude_m"].notna().mean() < 0.2
    assert without_held_positions(own, Bike()).frame["altitude_m"].notna().all()
    assert without_held_positions(own, Bike()).frame["latitude_deg"].notna().mean() < 0.2


def test_a_speed_beside_held_positions_is_not_left_out(truth: Truth) -> None:
    """Near a gap a speed is held against the positions; held ones say that the bike stood."""
    held = merged(truth, 10.0)
    gappy = held.frame[(held.time_s < 600) | (held.time_s > 615)]
    ride = join_recordings(
        [recording("gappy.csv", gappy.index.to_numpy(), **{str(k): gappy[k].to_numpy() for k in gappy})]
    )
    assert "speed-spike" not in codes(ride)


@pytest.mark.parametrize("trip", ["v1", "v5", "v10"])
def test_the_way_of_a_measured_trip_with_held_positions_is_that_of_its_speed(trip: str) -> None:
    """Speedometers err by up to 2 %; the way by held positions used to be 18 to 38 % short."""
    path = others_recording(f"real/car-irregular-{trip}.csv")
    log = pd.read_csv(path)
    time_s, speed_mps = log["Timestamp(s)"].to_numpy(), log["Vehicle Speed[km/h]"].to_numpy() / 3.6
    integral_m = np.sum(np.diff(time_s) * (speed_mps[1:] + speed_mps[:-1]) / 2)
    ride = ridelog.load_ride([path])
    answer = ridelog.measure(ride)
    assert answer.ride.distance_m is not None
    assert answer.ride.distance_m.value == pytest.approx(integral_m, rel=0.02)
    assert "stray-positions" not in codes(ride)
    assert "speed-spike" not in codes(ride)
