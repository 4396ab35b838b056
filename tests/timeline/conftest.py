"""A simulated ride, and what is made of its files."""

import pytest

from ridelog.recording import Ride
from ridelog.timeline.ride import join_recordings
from tests.timeline.simulated import Truth, controller_log, track_log, true_ride


@pytest.fixture(scope="session")
def truth() -> Truth:
    return true_ride(31)


@pytest.fixture(scope="session")
def ride(truth: Truth) -> Ride:
    """A 5 Hz log without wall time and a track that begins 45.6 s later, with dropouts."""
    return join_recordings(
        [track_log(truth, start_s=45.6, dropouts=4), controller_log(truth, clock="elapsed")], name="To Quillmoor"
    )
