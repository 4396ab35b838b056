"""What one ride's coasting tells, held against a simulation, and when it is not to be believed."""

from dataclasses import replace

import numpy as np
import pytest

import ridelog
from ridelog.analysis.coastdown.beside import coasted
from ridelog.fleet.beside import coasting_beside
from sample_rides.fleet import LogPlan, write_fleet
from sample_rides.fleet.bikes import drawn_bike

SEED = 61


@pytest.fixture(scope="module")
def rides(tmp_path_factory):
    """Six rides of a bike whose pedals and brake are logged."""
    folder = tmp_path_factory.mktemp("coasting")
    truth = write_fleet(folder, n_bikes=1, rides_per_bike=6, seed=SEED, logs=LogPlan(with_controls=True))
    (bike,) = folder.glob("*/bike.toml")
    return [ridelog.load_ride([folder / name for name in row["files"]], bike=bike) for row in truth["rides"]]


def test_each_ride_holds_the_truth_within_its_covariance(rides):
    machine = drawn_bike(0, np.random.default_rng(SEED)).machine
    true = np.array([machine.crr * machine.mass_kg * 9.80665 + machine.motor_drag_n, machine.cda_m2])
    told = [each for each in map(coasted, rides) if each is not None]
    assert len(told) >= 3
    for each in told:
        off = np.array([each.drag_n, each.cda_m2]) - true
        assert off @ np.linalg.solve(each.covariance, off) < 13.8  # chi-squared, two degrees of freedom, 99.9 %
        assert (np.linalg.eigvalsh(each.covariance - each.alike) > 0).all()
        assert np.trace(each.alike) > 0


@pytest.mark.parametrize("hidden", [["cadence_rpm"], ["brake_ratio"]])
def test_soft_pedalling_and_a_dragging_brake_that_are_not_logged_are_no_coasting(rides, hidden):
    ride = next(each for each in rides if coasted(each) is not None)
    assert coasted(replace(ride, series=ride.series.drop(columns=hidden))) is None


def test_the_columns_of_a_store_say_the_same(rides):
    ride = next(each for each in rides if coasted(each) is not None)
    told, row = coasted(ride), coasting_beside(ride)
    assert row["coasting_drag_u_n"] ** 2 == pytest.approx(told.covariance[0, 0])
    covariance = row["coasting_correlation_ratio"] * row["coasting_drag_u_n"] * row["coasting_cda_u_m2"]
    assert covariance == pytest.approx(told.covariance[1, 0])
    assert row["coasting_cda_alike_m2"] ** 2 == pytest.approx(told.alike[1, 1])
