"""Verdicts on an electrical log: each fault is found where it is, and silent where something else looks like it.

Simulated logs come from `sample_rides`; what was done to them is the truth. Hand-made logs are worked by hand.
"""

from functools import cache

import numpy as np
import pandas as pd
import pytest

from ridelog.analysis.braking.force import regen_runs
from ridelog.analysis.electrical.charger import charging_mask
from ridelog.analysis.electrical.flow import electrical_flow
from ridelog.analysis.electrical.rest import Rest
from ridelog.analysis.quality.findings import (
    least_charge_a,
    quality_findings,
    unbraked_charge_mask,
    unbraked_findings,
)
from ridelog.answer.braking import BrakingEvent
from ridelog.arrays import time_gaps
from ridelog.recording import Recording
from ridelog.settings.bike import SensorSection
from ridelog.tell.findings import sentence
from sample_rides.loggers import electrical_log, rounded, with_dropouts
from sample_rides.scenarios import random_scenario
from sample_rides.simulation import simulate
from tests.places import others_recording

NO_REST = Rest(None, 0, 0.0, 0.0, 0.0)


@cache
def simulated(seed, short=True):
    rng = np.random.default_rng([seed, 7])
    return simulate(random_scenario(rng, **({"n_hills": 1, "there_and_back": False} if short else {})))


def sim_log(seed=1, *, noise_seed=11, **sensor):
    """A log with its true grade beside it, index from 0."""
    ride = simulated(seed)
    log = electrical_log(ride, seed=noise_seed, **sensor)
    distance = np.interp(log["time_s"], ride.time_s, ride.distance_m)
    return log.assign(grade_pct=100 * np.interp(distance, ride.road.knots_m, ride.road.sines))


def event(start_s, end_s):
    return BrakingEvent(start_s, end_s, None, None, None, None, None, None, None, None)


def verdicts(log, *, sensor=None, events=None):
    """The findings of a log given as a frame with ``time_s``; braking events are those with returned current."""
    sensor = sensor or SensorSection()
    frame = log.set_index("time_s")
    recording = Recording(
        "folder/log.csv", "0" * 64, "csv", frame.drop(columns="grade_pct", errors="ignore"), None, "elapsed"
    )
    flow = electrical_flow(recording, sensor=sensor, speed_mps=frame["speed_mps"].to_numpy())
    if events is None:
        runs = regen_runs(flow.time_s, flow.current_a, time_gaps(flow.time_s))
        events = [event(flow.time_s[first] - 1, flow.time_s[last] + 1) for first, last in runs]
    return quality_findings(recording, flow.rest, flow.standing, events, frame, sensor)


def only(findings, code):
    return [finding for finding in findings if finding.code == code]


def the(findings, code):
    (finding,) = only(findings, code)
    return finding


def warnings(findings):
    return [finding for finding in findings if finding.severity != "note"]


def hand_made(current_a, speed_mps, *, step_s=0.2, voltage_v=None, **others):
    """A log of a pack of 48 V behind 0.1 ohm, unless told otherwise."""
    current_a = np.asarray(current_a, dtype=float)
    voltage_v = 48 - 0.1 * current_a if voltage_v is None else voltage_v
    time_s = step_s * np.arange(len(current_a))
    return pd.DataFrame(
        {"time_s": time_s, "current_a": current_a, "voltage_v": voltage_v, "speed_mps": speed_mps, **others}
    )


def stop_and_go(n_stops=6, *, rest_a=0.06, noise_a=0.0, step_s=0.2, seed=4):
    """Six times 30 s of standing and 60 s of riding with a current that wavers between 2 and 14 A."""
    time_s = step_s * np.arange(round(90 * n_stops / step_s))
    phase = time_s % 90
    stands = phase < 30
    noise = noise_a * np.random.default_rng(seed).standard_normal(len(time_s))
    current = np.where(stands, rest_a, 8 + 6 * np.sin(2 * np.pi * phase / 7)) + noise
    speed = np.where(stands, 0.0, 6 + np.sin(2 * np.pi * phase / 11))
    return hand_made(rounded(current, 0.01), speed, step_s=step_s)


# ---- no false alarms ----


@pytest.mark.parametrize("block", [0, 1, *(pytest.param(block, marks=pytest.mark.proof) for block in (2, 3))])
def test_forty_simulated_rides_raise_no_warning(block):
    """Clean, and with noise, zero error, coarse steps and dropouts of usual loggers, steps of 0.1 to 1 s."""
    for seed in range(10 * block, 10 * block + 10):
        rng = np.random.default_rng([seed, 8])
        faults = {
            "averaged": bool(rng.random() < 0.4),
            "current_resolution_a": float(rng.choice([0, 0.01, 0.05, 0.1])),
            "current_zero_a": float(rng.uniform(-0.1, 0.1)),
            "current_noise_a": float(rng.choice([0.02, 0.05, 0.1, 0.2])),
            "voltage_resolution_v": float(rng.choice([0.01, 0.1])),
            "voltage_noise_v": float(rng.choice([0.0, 0.03])),
            "noise_seed": seed,
        }
        step_s = (0.1, 0.2, 0.5, 1.0)[seed % 4]
        sensor = SensorSection(current_zero_limit_a=0.1)
        clean = sim_log(seed, step_s=step_s)
        noisy = with_dropouts(sim_log(seed, step_s=step_s, **faults), 0.03, rng)
        assert warnings(verdicts(clean, sensor=sensor)) == [], seed
        assert warnings(verdicts(noisy, sensor=sensor)) == [], seed


# ---- rest and zero ----


def test_the_reading_at_rest_is_told_with_its_time_and_noise():
    facts = the(verdicts(stop_and_go(rest_a=-0.06, noise_a=0.02)), "current-at-rest").facts
    assert facts["reading_a"] == pytest.approx(-0.06, abs=0.005)
    # six stops of 30 s, less one second at each end that touches riding (and none at the log's start)
    assert facts["rest_s"] == pytest.approx(6 * 30 - 11, abs=2)
    assert (facts["standing"], facts["standby_draw_a"], facts["zero_error_a"]) == (True, None, None)
    assert facts["noise_a"] == pytest.approx(0.02, abs=0.005)
    assert facts["resolution_a"] == pytest.approx(0.01)


def test_with_the_standby_draw_known_the_zero_error_is_told():
    sensor = SensorSection(standby_draw_a=0.06)
    facts = the(verdicts(stop_and_go(rest_a=-0.06), sensor=sensor), "current-at-rest").facts
    assert facts["zero_error_a"] == pytest.approx(-0.12, abs=0.005)


def test_a_ride_without_rest_asks_for_half_a_minute_of_it():
    log = stop_and_go()
    moving = log.assign(speed_mps=5.0, current_a=log["current_a"] + 3)
    finding = the(verdicts(moving), "current-at-rest")
    assert finding.facts["reading_a"] is None
    assert "Let it stand for 30 s" in sentence(finding)


@pytest.mark.parametrize(
    ("rest_a", "sensor", "found"),
    [
        (-0.35, {"current_zero_limit_a": 0.1}, True),
        (-0.09, {"current_zero_limit_a": 0.1}, False),
        (0.45, {"current_zero_limit_a": 0.1}, False),  # 0.1 A of zero and 0.4 A of lights explain it
        (0.60, {"current_zero_limit_a": 0.1}, True),
        (0.45, {"current_zero_limit_a": 0.1, "standby_draw_a": 0.06}, True),
        (0.15, {"current_zero_limit_a": 0.1, "standby_draw_a": 0.06}, False),
        (-0.35, {}, True),  # the zero error is then beyond the 0.15 A that are assumed
        (0.50, {}, False),  # 0.15 A of zero and 0.4 A of lights explain it
        (0.06, {"standby_draw_a": 3.0}, True),  # a slip for 0.06
        (0.06, {"standby_draw_a": 0.06}, False),
        (-2.0, {}, True),  # no standby draw is that large
        (2.0, {}, True),
    ],
)  # fmt: skip
def test_a_reading_at_rest_beyond_the_limit_of_the_zero_is_found(rest_a, sensor, found):
    log = stop_and_go(rest_a=rest_a)
    assert bool(only(verdicts(log, sensor=SensorSection(**sensor)), "zero-beyond-limit")) is found


@pytest.mark.parametrize(
    ("rest_a", "sensor", "severity"),
    [
        (0.7, {}, "note"),  # it may well be a load that nobody entered
        (0.7, {"current_zero_limit_a": 0.1}, "warning"),
        (0.06, {"standby_draw_a": 3.0}, "warning"),
        (-0.35, {}, "warning"),  # no load charges
    ],
)
def test_what_contradicts_the_bike_file_is_a_warning_and_a_load_that_nobody_entered_a_note(rest_a, sensor, severity):
    found = the(verdicts(stop_and_go(rest_a=rest_a), sensor=SensorSection(**sensor)), "zero-beyond-limit")
    assert found.severity == severity


@pytest.mark.parametrize("rest_s", [0, 40])
def test_a_motor_that_helps_slowly_all_the_way_is_no_zero_error(rest_s):
    """0.6 to 1.0 A on a bike that never stands, and coasts for 40 s or not at all."""
    time_s = np.arange(0.0, 900.0)
    current = np.where(time_s < rest_s, 0.06, 0.8 + 0.2 * np.sin(time_s / 40))
    noise = 0.02 * np.random.default_rng(6).standard_normal(900)
    log = hand_made(rounded(current + noise, 0.01), np.full(900, 5.0), step_s=1.0)
    for sensor in (SensorSection(), SensorSection(standby_draw_a=0.06, current_zero_limit_a=0.1)):
        found = verdicts(log, sensor=sensor)
        assert only(found, "zero-beyond-limit") == []
        facts = the(found, "current-at-rest").facts
        assert facts["reading_a"] == (pytest.approx(0.06, abs=0.01) if rest_s else None)
        assert not facts["standing"]


# ---- the end of a range ----


def clipped(log, most_a, *, way=1):
    return log.assign(current_a=way * np.minimum(way * log["current_a"], most_a))


def test_a_clipped_sensor_is_told_by_the_noise_that_is_gone():
    log = sim_log(current_noise_a=0.05)
    finding = the(verdicts(clipped(log, 8.0)), "current-saturated")
    share = 100 * (log["current_a"] >= 8).mean()
    assert finding.severity == "warning"
    assert finding.facts["share_pct"] == pytest.approx(share)
    assert (finding.facts["current_a"], finding.facts["shown_by"]) == (8.0, "noise")
    assert "drawn is too low" in sentence(finding)


def test_a_clipped_sensor_without_noise_is_told_by_the_voltage():
    found = only(verdicts(clipped(sim_log(), 6.0)), "current-saturated")
    (finding,) = (each for each in found if each.facts["current_a"] == 6.0)
    assert finding.severity == "warning"
    assert (finding.facts["verdict"], finding.facts["shown_by"]) == ("range", "voltage")


def test_a_clipped_return_is_told_to_be_too_low():
    found = only(verdicts(clipped(sim_log(0, current_noise_a=0.05), 2.2, way=-1)), "current-saturated")
    assert [finding.facts["current_a"] for finding in found] == [-2.2]
    assert "returned is too low" in sentence(found[0])


def pulses_at(limit_a, *, true_a=None):
    """Twelve pulses that ramp to a limit in 2 s and hold it for 8 s; the voltage feels ``true_a``."""
    one = np.concatenate((np.full(50, 0.06), np.linspace(0, 1, 10), np.ones(40), np.linspace(1, 0, 10)))
    one = np.tile(one, 12)
    current = rounded(np.where(one == 0.06, 0.06, limit_a * one), 0.01)
    felt = current if true_a is None else np.where(one == 0.06, 0.06, true_a * one)
    current = np.minimum(felt, limit_a) if true_a else current
    return hand_made(rounded(current, 0.01), np.where(one == 0.06, 0.0, 5.0), voltage_v=48 - 0.1 * felt)


def test_a_drive_at_its_limit_is_only_noted():
    finding = the(verdicts(pulses_at(18.0)), "current-saturated")
    assert finding.severity == "note"
    assert (finding.facts["verdict"], finding.facts["shown_by"]) == ("limit", "voltage")


def test_without_voltage_a_limit_and_a_range_are_said_to_look_alike():
    finding = the(verdicts(pulses_at(18.0).drop(columns="voltage_v")), "current-saturated")
    assert finding.severity == "note"
    assert (finding.facts["verdict"], finding.facts["shown_by"]) == ("open", "nothing")


def test_a_range_that_ends_far_below_the_true_current_is_a_warning():
    assert the(verdicts(pulses_at(10.0, true_a=18.0)), "current-saturated").severity == "warning"


# ---- stuck channels ----


def frozen(log, channel, start_s, end_s):
    """The log with one channel repeating its value at ``start_s`` until ``end_s``."""
    inside = log["time_s"].between(start_s, end_s)
    return log.assign(**{channel: log[channel].mask(inside, log.loc[inside, channel].iloc[0])})


def test_a_current_that_sticks_is_found_by_the_noise_it_lost():
    log = stop_and_go(noise_a=0.05).drop(columns="voltage_v")
    finding = the(verdicts(frozen(log, "current_a", 125, 200)), "channel-stuck")
    assert finding.facts["channel"] == "current_a"
    assert (finding.start_s, finding.end_s) == (pytest.approx(125), pytest.approx(200))


def test_a_current_that_sticks_is_found_by_the_voltage_that_moves():
    finding = the(verdicts(frozen(stop_and_go(), "current_a", 125, 175)), "channel-stuck")
    assert finding.facts["channel"] == "current_a"
    assert finding.end_s == pytest.approx(175)


def test_a_current_that_sticks_is_found_by_the_bike_that_stands_and_rides():
    log = frozen(stop_and_go().drop(columns="voltage_v"), "current_a", 150, 240)
    assert the(verdicts(log), "channel-stuck").facts["channel"] == "current_a"


def test_a_motor_that_is_off_for_minutes_is_not_stuck():
    log = stop_and_go()
    off = (log["time_s"] > 120) & (log["time_s"] < 360)
    current = log["current_a"].mask(off, 0.0)
    assert warnings(verdicts(hand_made(current, log["speed_mps"]))) == []


def test_a_voltage_that_sticks_is_found():
    finding = the(verdicts(frozen(stop_and_go(), "voltage_v", 100, 220)), "channel-stuck")
    assert finding.facts["channel"] == "voltage_v"
    assert finding.facts["lasted_s"] == pytest.approx(130, abs=0.3)  # the stop from 90 s on reads the same


def test_a_voltage_in_coarse_steps_is_not_stuck():
    log = stop_and_go()
    assert warnings(verdicts(log.assign(voltage_v=rounded(log["voltage_v"].to_numpy() - 0.7, 1.0)))) == []


def test_a_speed_that_sticks_and_then_leaps_is_found():
    log = stop_and_go()
    finding = the(verdicts(frozen(log, "speed_mps", 140, 195)), "channel-stuck")
    assert finding.facts["channel"] == "speed_mps"
    assert finding.start_s == pytest.approx(140)


def test_a_speed_of_zero_while_the_motor_drives_is_found():
    log = stop_and_go()
    dead = log.assign(speed_mps=log["speed_mps"].mask(log["time_s"] > 120, 0.0))
    assert the(verdicts(dead), "channel-stuck").facts["speed_mps"] == 0


def test_a_speed_that_another_device_contradicts_is_found():
    log = hand_made(np.full(600, 5.0) + np.tile([0, 3.0, 0], 200), 6.0)
    log = log.assign(speed_mps=6.0)
    frame = log.set_index("time_s")
    recording = Recording("log.csv", "0" * 64, "csv", frame, None, "elapsed")
    series = frame.assign(track_speed_mps=6 + 3 * np.sin(frame.index.to_numpy() / 5))
    standing = np.zeros(len(frame), dtype=bool)
    assert only(quality_findings(recording, NO_REST, standing, [], series), "channel-stuck")
    series = frame.assign(track_speed_mps=6 + 0.3 * np.sin(frame.index.to_numpy() / 5))
    assert not only(quality_findings(recording, NO_REST, standing, [], series), "channel-stuck")


def test_a_rider_who_keeps_a_speed_to_the_digit_for_a_minute_is_believed():
    log = stop_and_go()
    kept = np.interp(log["time_s"] % 90, [30, 38, 80, 89.9], [0, 6.94, 6.94, 0])
    assert warnings(verdicts(log.assign(speed_mps=np.where(log["time_s"] % 90 < 30, 0, kept)))) == []


# ---- voltage that is none ----


@pytest.mark.parametrize("kind", ["constant", "table"])
def test_a_voltage_that_does_not_answer_the_current_is_found(kind):
    log = stop_and_go()
    drawn = np.cumsum(log["current_a"]) * 0.2 / 3600
    volts = np.full(len(log), 48.0) if kind == "constant" else rounded(52 - 4 * drawn.to_numpy(), 0.1)
    assert "Trust the share in Ah" in sentence(the(verdicts(log.assign(voltage_v=volts)), "voltage-without-sag"))


def test_a_stiff_pack_in_coarse_steps_is_believed():
    log = stop_and_go()
    volts = 48 - 0.05 * log["current_a"].to_numpy() - np.arange(len(log)) / 2000
    assert warnings(verdicts(log.assign(voltage_v=rounded(volts, 0.1)))) == []


# ---- the step ----


@pytest.mark.parametrize(("lasts_s", "severity"), [(5.0, None), (4.0, None), (3.0, "note"), (1.0, "warning")])
def test_a_step_too_long_for_the_braking_events_is_told(lasts_s, severity):
    """At 1 s steps an event from t to t + 4 s holds five samples."""
    log = stop_and_go(step_s=1.0)
    found = only(verdicts(log, events=[event(t, t + lasts_s) for t in (85.0, 175.0, 265.0)]), "step-too-long")
    assert [finding.severity for finding in found] == ([severity] if severity else [])
    assert not severity or found[0].facts["n_events"] == 3


def test_two_events_say_nothing_of_the_step():
    log = stop_and_go(step_s=1.0)
    assert not only(verdicts(log, events=[event(85.0, 86.0), event(175.0, 176.0)]), "step-too-long")


# ---- counters ----


def counters(seed=1, step_s=1.0, *, resolution=0.0005, gain=1.0, **sensor):
    """A simulated log with the counters of its own device, which sees every step of the simulation."""
    ride = simulated(seed)
    log = sim_log(seed, step_s=step_s, **sensor)
    at = np.minimum(np.round(log["time_s"] / ride.step_s).astype(int), len(ride.time_s) - 1)
    counted = {
        f"{which}_counter_{unit}": scale * gain * (np.cumsum(np.maximum(side * flow, 0)) * ride.step_s / 3600)[at]
        for unit, flow, scale in (("ah", ride.current_a, 1.0), ("wh", ride.power_w, 1.0))
        for which, side in (("drawn", 1), ("returned", -1))
    }
    coarse = {name: rounded(v, resolution * (50 if name.endswith("wh") else 1)) for name, v in counted.items()}
    return log.assign(**coarse)


def test_counters_that_fit_the_samples_are_noted_with_the_difference():
    finding = the(verdicts(counters(step_s=0.2)), "counters-agree")
    assert finding.severity == "note"
    assert finding.facts["drawn_counter_ah"] == pytest.approx(finding.facts["drawn_samples_ah"], rel=0.03)
    assert not only(verdicts(counters(step_s=0.2)), "counters-disagree")


@pytest.mark.parametrize("step_s", [0.1, 0.5, 1.0])
def test_counters_of_simulated_rides_never_disagree(step_s):
    for seed in range(8):
        log = counters(seed, step_s, current_noise_a=0.1, current_zero_a=-0.05)
        assert not only(verdicts(log), "counters-disagree"), seed


def test_a_counter_that_counts_a_fifth_more_disagrees():
    finding = the(verdicts(counters(step_s=0.2, gain=1.2)), "counters-disagree")
    assert finding.severity == "warning"
    assert not finding.facts["counts_net"]
    assert finding.facts["drawn_ah_off_pct"] == pytest.approx(20, abs=1.0)  # the samples miss up to 1 %


def test_a_counter_two_per_cent_off_is_within_what_sensors_do():
    assert not only(verdicts(counters(step_s=0.2, gain=1.02)), "counters-disagree")


def steady(n=3600, amperes=6.0):
    """An hour at 6 A with ten halts, 1 Hz, and the charge drawn up to each sample."""
    phase = np.arange(n) % 360
    current = np.where(phase < 20, 0.0, amperes + np.sin(np.arange(n)))
    log = hand_made(current, np.where(phase < 20, 0.0, 6.0 + np.sin(np.arange(n) / 9)), step_s=1.0)
    means = (current[1:] + current[:-1]) / 2
    return log, np.concatenate(([0.0], np.cumsum(means))) / 3600


@pytest.mark.parametrize(
    "spoil",
    [
        lambda ah: np.where(np.arange(len(ah)) < 2000, ah, ah - ah[2000]),  # reset to 0
        lambda ah: (ah + 63.0) % 65.536,  # 16 bits of 1 mAh, full and from 0 again
        lambda ah: np.where(np.arange(len(ah)) < 2000, ah, ah + 9.0),  # a leap that no current explains
        lambda ah: rounded(ah, 0.1),  # coarse
        lambda ah: ah[np.arange(len(ah)) // 60 * 60],  # once a minute
    ],
    ids=["reset", "wrap", "leap", "coarse", "slow"],
)
def test_a_counter_that_is_reset_wraps_leaps_or_ticks_still_fits(spoil):
    log, drawn = steady()
    finding = the(verdicts(log.assign(drawn_counter_ah=rounded(spoil(drawn), 0.001))), "counters-agree")
    assert abs(finding.facts["drawn_ah_off_pct"]) < 0.5


@pytest.mark.parametrize("thinned", [1, 10, 50])
def test_the_counter_of_a_real_tester_fits_its_samples(thinned):
    """A cell under a drive cycle with regen, its cycler's own counter (net 2.58596 Ah, doi 10.17632/wykht8y7tg)."""
    path = others_recording("batt/25degC_US06.mat")
    from scipy.io import loadmat

    table = loadmat(path, squeeze_me=True, struct_as_record=False)["meas"]
    time_s = table.Time.astype(float)
    new = np.append(True, np.diff(np.maximum.accumulate(time_s)) > 0)
    log = pd.DataFrame({"time_s": time_s, "current_a": -table.Current, "net_counter_ah": -table.Ah})[new][::thinned]
    found = verdicts(log.assign(time_s=log["time_s"] - log["time_s"].iloc[0], speed_mps=np.nan), events=[])
    assert the(found, "counters-agree").facts["net_counter_ah"] == pytest.approx(2.58596, abs=0.001)


def test_a_counter_that_never_moves_disagrees():
    log, drawn = steady()
    assert only(verdicts(log.assign(drawn_counter_ah=0 * drawn + 1.5)), "counters-disagree")


def test_a_counter_of_what_was_drawn_that_counts_net_is_named_so():
    log = counters(step_s=0.2)
    net = log["drawn_counter_ah"] - log["returned_counter_ah"]
    log = log[["time_s", "current_a", "voltage_v", "speed_mps", "grade_pct"]].assign(drawn_counter_ah=net)
    text = [f for f in verdicts(log) if f.code.startswith("counters")]
    assert [f.severity for f in text] == ["note"]


# ---- current into the battery that is not braking ----


def charged(amperes, lasts_s, *, rest_a=0.06):
    """Six stops; in the third, which lasts as long as the charger does and 40 s more, a charger is plugged in."""
    log = stop_and_go(rest_a=rest_a)
    n, first = round(lasts_s / 0.2), round(200 / 0.2)
    wait = np.full(100, rest_a)
    inserted = np.concatenate((wait, np.full(n, -amperes + rest_a), wait))
    current = np.concatenate((log["current_a"][:first], inserted, log["current_a"][first:]))
    speed = np.concatenate((log["speed_mps"][:first], np.zeros(len(inserted)), log["speed_mps"][first:]))
    return hand_made(current, speed)


def test_a_charger_at_a_stop_is_told_with_its_charge_and_span():
    finding = the(verdicts(charged(2.0, 600)), "charging-while-standing")
    # 600 s at 2.00 - 0.06 A are 0.323 Ah; it begins 20 s into the inserted stop
    assert finding.facts["charge_ah"] == pytest.approx(0.323, abs=0.001)
    assert (finding.start_s, finding.end_s) == (pytest.approx(220, abs=0.3), pytest.approx(820, abs=0.3))


def test_the_mask_of_a_charger_is_what_has_to_be_left_out():
    log = charged(2.0, 600)
    time_s, current = log["time_s"].to_numpy(), log["current_a"].to_numpy()
    mask = charging_mask(time_s, current, (log["speed_mps"] == 0).to_numpy())
    assert (mask == (current < -1.9)).all()
    assert mask.sum() == 3000


@pytest.mark.parametrize(
    ("log", "sensor"),
    [
        (charged(2.0, 25), {}),  # shorter than half a minute
        (charged(0.3, 600), {}),  # no charger gives so little
        (stop_and_go(rest_a=-0.8), {}),  # every stop reads it: the sensor's zero
        (charged(0.7, 600), {"current_zero_limit_a": 0.6}),
    ],
    ids=["short", "weak", "zero error", "within the zero's limit"],
)
def test_what_is_no_charger_is_not_called_one(log, sensor):
    assert not only(verdicts(log, sensor=SensorSection(**sensor)), "charging-while-standing")


def level_ride(current_a, *, grade_pct=0.0, speed_mps=6.0, lasts_s=60, step_s=1.0):
    """Three minutes of riding with a current into the battery in its middle."""
    time_s = step_s * np.arange(round(180 / step_s))
    inside = (time_s >= 60) & (time_s < 60 + lasts_s)
    log = hand_made(np.where(inside, current_a, 4 + np.sin(time_s)), speed_mps, step_s=step_s)
    return log.assign(grade_pct=grade_pct)


@pytest.mark.parametrize("step_s", [0.1, 1.0])
def test_current_into_the_battery_at_steady_speed_on_level_road_is_found(step_s):
    finding = the(verdicts(level_ride(-2.0, step_s=step_s)), "charge-without-braking")
    assert finding.start_s == pytest.approx(60, abs=step_s)
    assert finding.end_s == pytest.approx(120, abs=1.01)
    assert finding.facts["charge_ah"] == pytest.approx(2 * 60 / 3600, abs=0.0015)  # one step more or less at either end


@pytest.mark.parametrize(
    "changes",
    [
        {"grade_pct": -3.0},
        {"grade_pct": np.nan},
        {"speed_mps": np.interp(np.arange(180), [60, 120], [9, 2])},
        {"speed_mps": np.nan},
        {"lasts_s": 12},
        {"current_a": -0.3},
    ],
    ids=["descent", "no height", "slowing", "no speed", "short", "small"],
)
def test_what_may_be_braking_is_not_called_another_source(changes):
    log = level_ride(**{"current_a": -2.0} | changes)
    assert not only(verdicts(log), "charge-without-braking")


def test_braking_seen_two_seconds_early_is_not_another_source():
    """A stop from 6 m/s every 40 s; the clocks of current and speed are 2 s apart."""
    time_s = np.arange(1800.0)
    phase = time_s % 40
    speed = np.interp(phase, [0, 8, 30, 36, 40], [0, 6, 6, 0, 0])
    current = np.where((phase + 2 >= 30) & (phase + 2 < 36), -5.0, 3.0)
    mask = unbraked_charge_mask(
        time_s, current, speed, np.zeros(1800), least_a=least_charge_a(NO_REST, SensorSection())
    )
    assert unbraked_findings("log.csv", time_s, current, mask) == []


def test_a_log_without_current_has_no_verdict():
    log = stop_and_go().drop(columns="current_a").set_index("time_s")
    recording = Recording("log.csv", "0" * 64, "csv", log, None, "elapsed")
    assert quality_findings(recording, NO_REST, np.zeros(len(log), dtype=bool), [], log) == []


@pytest.mark.parametrize("n", [2, 3, 30])  # over a single sample nothing flows, so there is no flow to judge
def test_a_log_of_a_few_samples_is_no_trouble(n):
    log = hand_made(np.full(n, 3.0), np.full(n, 5.0))
    assert warnings(verdicts(log, events=[])) == []
