"""Recorded rides of other people, which may not be committed: skipped, saying so, where their folder is absent."""

import numpy as np
import pytest

from ridelog.recording import Ride
from ridelog.timeline.motion.fixes import Fixes
from ridelog.timeline.motion.positions import position_distance_m
from ridelog.timeline.ride import load_ride
from tests.places import others_recording


def _along_m(ride: Ride) -> float:
    frame = ride.reference.frame
    fixes = Fixes(ride.reference.time_s, frame["latitude_deg"].to_numpy(), frame["longitude_deg"].to_numpy())
    along_m = position_distance_m(fixes)
    return float(np.nanmax(along_m))


@pytest.mark.parametrize(
    ("name", "stated_m", "geodesic_m"),
    [
        ("ride-C_smart-recording.fit", 11536.43, 11527.2),
        ("ride-D_no-distance-field.fit", 13400.14, 13399.7),
    ],
)
def test_the_way_along_the_positions_is_the_stated_one(name: str, stated_m: float, geodesic_m: float) -> None:
    """The file's own total to 0.1 %; the sum of geodesics worked out by another tool to the metres that are not
    counted while the bike stands (0.05 %)."""
    ride = load_ride([others_recording(f"fit/{name}")])
    assert _along_m(ride) == pytest.approx(geodesic_m, rel=5e-4)
    assert _along_m(ride) == pytest.approx(stated_m, rel=1e-3)
    assert ride.series["distance_m"].iloc[-1] == pytest.approx(stated_m, rel=1e-3)


def test_the_false_sample_at_a_resume_is_left_out() -> None:
    """26.1 m/s, one sample after a pause of 33 s; the fastest true one of this ride is 17.2 m/s. The stated total of
    92622.34 m is the device's own count."""
    ride = load_ride([others_recording("fit/ride-B_pauses_dups.fit")])
    speed_mps = ride.series["speed_mps"].to_numpy()
    assert ride.reference.frame["speed_mps"].max() > 26  # it is there
    assert np.nanmax(speed_mps) == pytest.approx(17.2, abs=0.05)
    known = np.flatnonzero(np.isfinite(speed_mps))
    change_mps2 = np.diff(speed_mps[known]) / np.diff(ride.reference.time_s[known])
    assert np.abs(change_mps2).max() < 8.0
    assert [finding.code for finding in ride.findings].count("speed-spike") == 1
    assert ride.series["distance_m"].iloc[-1] == pytest.approx(92622.34, abs=0.5)


def test_speed_from_positions_is_that_of_the_device() -> None:
    """Ride A, 1 Hz, moving: the two differ by less than 0.3 m/s at the median, and by 1 % in the mean."""
    ride = load_ride([others_recording("fit/ride-A_1hz_power.fit")])
    from ridelog.timeline.motion.speeds import measure_motion

    speeds_mps = measure_motion(ride.reference, ride.bike).speeds_mps
    device_mps, positions_mps = speeds_mps["device"], speeds_mps["positions"]
    moving_mask = (device_mps > 2) & np.isfinite(positions_mps)
    assert np.median(np.abs(device_mps - positions_mps)[moving_mask]) < 0.3
    assert positions_mps[moving_mask].mean() == pytest.approx(device_mps[moving_mask].mean(), rel=0.01)
