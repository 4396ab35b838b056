"""Samples of a speed that no bicycle reached."""

import numpy as np

from ridelog.settings.bike import Bike
from ridelog.timeline.motion.speeds import measure_motion
from ridelog.timeline.motion.spikes import resume_mask, spike_mask, without_spikes
from tests.timeline.simulated import recording


def test_a_single_false_sample_is_a_spike_up_or_down() -> None:
    for false_mps in (26.1, 0.0):
        speed_mps = np.full(30, 9.5)
        speed_mps[14] = false_mps
        assert np.flatnonzero(spike_mask(np.arange(30.0), speed_mps)).tolist() == [14]


def test_two_false_samples_are_a_spike_and_three_are_not() -> None:
    speed_mps = np.full(30, 3.0)
    speed_mps[10:12] = 20.0
    assert np.flatnonzero(spike_mask(np.arange(30.0), speed_mps)).tolist() == [10, 11]
    speed_mps[10:13] = 20.0
    assert not spike_mask(np.arange(30.0), speed_mps).any()


def test_hard_braking_to_a_halt_is_no_spike() -> None:
    """8 to 0 m/s in 1 s, standing, and off again at 3 m/s²: fierce, but not out and straight back."""
    speed_mps = np.array([8.0] * 5 + [4.0, 0.0, 0.0, 0.0, 3.0, 6.0, 8.0, 8.0])
    assert not spike_mask(np.arange(len(speed_mps)) * 0.5, speed_mps).any()


def test_coarse_resolution_at_a_high_rate_is_no_spike() -> None:
    """1 km/h steps at 50 Hz look like 14 m/s², to and fro."""
    speed_mps = np.where(np.arange(200) % 2, 5.0, 5.0 + 1 / 3.6)
    assert not spike_mask(np.arange(200) * 0.02, speed_mps).any()


def test_speed_that_positions_contradict_after_a_pause_is_impossible() -> None:
    time_s = np.concatenate((np.arange(10.0), np.arange(60.0, 90.0)))
    speed_mps, position_mps = np.full(40, 5.0), np.full(40, 5.0)
    speed_mps[10:14], position_mps[10:14] = 11.6, 0.2  # for longer than a spike may last
    speed_mps[35], position_mps[35] = 11.6, 0.2  # the same, far from the pause
    broken_mask = np.diff(time_s) > 3
    assert np.flatnonzero(resume_mask(time_s, speed_mps, position_mps, broken_mask)).tolist() == [10, 11, 12, 13]


def test_left_out_samples_are_counted_in_a_finding() -> None:
    speed_mps = np.full(60, 5.0)
    speed_mps[30] = 26.1
    motion = measure_motion(recording("ride.fit", np.arange(60.0), speed_mps=speed_mps), Bike())
    assert np.flatnonzero(np.isnan(motion.speeds_mps["device"])).tolist() == [30]
    (finding,) = motion.findings
    assert (finding.code, finding.start_s, finding.end_s) == ("speed-spike", 30.0, 30.0)
    assert finding.facts == {"file": "ride.fit", "n_samples": 1, "highest_mps": 26.1, "at_s": 30.0}


def test_a_speed_without_spikes_is_left_as_it_is() -> None:
    speed_mps = np.linspace(0.0, 8.0, 30)
    log = recording("c.csv", np.arange(30.0), speed_mps=speed_mps)
    kept_mps, findings = without_spikes(log, speed_mps, None, np.zeros(29, dtype=bool))
    assert kept_mps is speed_mps
    assert findings == ()


def test_without_positions_a_speed_after_a_pause_is_believed() -> None:
    """Four samples at 11.6 m/s after a pause are no spike; only positions can contradict them."""
    time_s = np.concatenate((np.arange(10.0), np.arange(60.0, 90.0)))
    speed_mps, position_mps = np.full(40, 5.0), np.full(40, 5.0)
    speed_mps[10:14], position_mps[10:14] = 11.6, 0.2
    log = recording("c.csv", time_s, speed_mps=speed_mps)
    broken_mask = np.diff(time_s) > 3
    assert np.isfinite(without_spikes(log, speed_mps, None, broken_mask)[0]).all()
    held_mps, (finding,) = without_spikes(log, speed_mps, position_mps, broken_mask)
    assert np.flatnonzero(np.isnan(held_mps)).tolist() == [10, 11, 12, 13]
    assert (finding.code, finding.start_s, finding.end_s) == ("speed-spike", 60.0, 63.0)
