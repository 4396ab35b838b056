"""How sure the road load is: limits from the bike file, trials within them, and the noise of a speed."""

import math

import numpy as np
import pytest

from ridelog.analysis.road.load import DEFAULTS, RoadLoad
from ridelog.analysis.road.load_uncertainty import road_limits, road_trials, speed_noise_mps
from ridelog.settings.bike import Bike, BikeSection, RoadSection

# 110 kg, CdA 0.559 m², Crr 0.0077, 1.225 kg/m³ (the baseline of `tests/analysis/road/test_load.py`)
BASELINE = RoadLoad(110.0, 111.4475, 0.559, 0.0077, 1.225)


def test_limits_come_from_the_bike_file_then_from_the_value_then_from_the_default():
    bike = Bike(bike=BikeSection(total_mass_kg=100.0), road=RoadSection(cda_m2=0.6, cda_limit_m2=0.05, wind_mps=2.0))
    limits = road_limits(bike)
    assert limits["bike.total_mass_kg"] == pytest.approx(3.0)
    assert limits["road.cda_m2"] == 0.05
    assert limits["road.wind_mps"] == 1.5
    assert limits["road.crr"] == DEFAULTS["road.crr"][1]


def test_trials_keep_to_their_limits_and_fill_them_evenly():
    """A rectangle of half-width a has u = a/√3 (JCGM 100:2008, 4.3.7); 1 % for 40,000 trials."""
    road = road_trials(BASELINE, Bike(), n_trials=40_000)
    for trials, value, limit in ((road.mass_kg, 110.0, 30.0), (road.cda_m2, 0.559, 0.29), (road.north_mps, 0.0, 3.0)):
        assert abs(trials - value).max() <= limit
        assert trials.std() == pytest.approx(limit / math.sqrt(3), rel=0.01)
    assert road.crr.min() >= 0


@pytest.mark.parametrize("sigma", [0.03, 0.1])
def test_the_noise_of_a_speed_is_seen_through_starts_and_stops(sigma):
    rng = np.random.default_rng(1)
    smooth = np.clip(4 + 4 * np.sin(np.arange(5000) / 60), 0, 6)
    assert speed_noise_mps(smooth + rng.normal(0, sigma, 5000)) == pytest.approx(sigma, rel=0.15)


def test_a_last_digit_is_the_least_noise():
    """0.1 km/h over √12 is 0.008 m/s; the speed changes too slowly to move the digit at most samples."""
    smooth = np.round((4 + 2 * np.sin(np.arange(5000) / 600)) * 36) / 36
    assert speed_noise_mps(smooth) == pytest.approx(1 / 36 / math.sqrt(12), rel=0.01)
