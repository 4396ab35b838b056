"""The thresholds with which a ride is put together are told with the ride."""

from dataclasses import asdict

from ridelog.timeline.clock.settings import ClockSettings
from ridelog.timeline.ride import join_recordings
from ridelog.timeline.thresholds import thresholds_used
from tests.timeline.simulated import controller_log, true_ride


def test_a_ride_brings_the_thresholds_that_it_was_put_together_with():
    """Values as the method states them."""
    ride = join_recordings([controller_log(true_ride(7_296, 120.0), step_s=1.0)])
    assert ride.settings == thresholds_used()
    assert ride.settings["clock"] == asdict(ClockSettings())
    assert ride.settings["motion"]["spike_limit_mps2"] == 8.0
    assert ride.settings["motion"]["gap_least_s"] == 2.0
