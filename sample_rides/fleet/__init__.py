"""Made-up fleets: many bikes and their rides over a year, simulated quickly, with faults and their truth."""

from sample_rides.fleet.faults import NO_FAULTS, USUAL_FAULTS, FaultPlan
from sample_rides.fleet.folders import LogPlan, write_fleet, write_sample_fleet
from sample_rides.fleet.truth import beside_truth, hills_frame, truth_frame

__all__ = [
    "NO_FAULTS",
    "USUAL_FAULTS",
    "FaultPlan",
    "LogPlan",
    "beside_truth",
    "hills_frame",
    "truth_frame",
    "write_fleet",
    "write_sample_fleet",
]
