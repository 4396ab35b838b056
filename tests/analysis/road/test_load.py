"""Air, rolling and grade against published tables and a worked example."""

import numpy as np
import pytest

from ridelog.analysis.road.load import RoadLoad, air_density, road_load, standard_atmosphere
from ridelog.settings.bike import Bike, BikeSection, RoadSection

BASELINE = RoadLoad(110.0, 111.4475, 0.559, 0.0077, 1.225)


@pytest.mark.parametrize(
    ("height_m", "kelvin", "pascal", "density"),
    [  # ISO 2533:1975 / ICAO Doc 7488: rows at 1000, 2000, 3000 m as printed; the others worked out from its formula
        (0, 288.15, 101325.0, 1.225000),
        (500, 284.90, 95460.84, 1.167269),
        (1000, 281.65, 89874.6, 1.11164),
        (2000, 275.15, 79495.2, 1.00649),
        (3000, 268.65, 70108.5, 0.909122),
    ],
)
def test_the_standard_atmosphere_is_that_of_the_standard(height_m, kelvin, pascal, density):
    temperature_k, pressure_pa = standard_atmosphere(height_m)
    assert temperature_k == pytest.approx(kelvin, abs=0.005)
    assert pressure_pa == pytest.approx(pascal, abs=0.06)
    assert air_density(temperature_k - 273.15, pressure_pa / 100) == pytest.approx(density, abs=6e-6)


def test_dry_air_at_20_degrees_weighs_its_handbook_value():
    assert air_density(20.0, 1013.25) == pytest.approx(1.20411, abs=1e-5)


@pytest.mark.parametrize(
    ("kmh", "rolling", "air", "watts"),
    [(15, 8.306, 5.944, 59.4), (20, 8.306, 10.568, 104.9), (25, 8.306, 16.512, 172.3), (45, 8.306, 53.498, 772.6)],
)
def test_the_baseline_bicycle_on_the_flat(kmh, rolling, air, watts):
    """Worked out from the equation with g = 9.80665, three decimals."""
    speed = np.array([kmh / 3.6])
    assert BASELINE.rolling_n(np.zeros(1))[0] == pytest.approx(rolling, abs=6e-4)
    assert BASELINE.air_n(speed)[0] == pytest.approx(air, abs=6e-4)
    assert ((rolling + BASELINE.air_n(speed)) * speed)[0] == pytest.approx(watts, abs=0.06)


def test_the_worked_example_of_the_road_cycling_power_model():
    """Martin et al. 1998 (inputs as quoted in a public reproduction): air 159.39 W, rolling 23.63 W, grade 22.149 W.

    Wind from ahead 2.5461 m/s, drag area with the spokes' 0.0044 m²; g there is 9.81.
    """
    load = RoadLoad(90.0, 90 + 0.14 / 0.311**2, 0.25747 + 0.0044, 0.0032, 1.2234, wind_mps=2.5461)
    speed, grade = np.array([8.3623]), np.array([0.3])
    assert load.air_n(speed)[0] * speed[0] == pytest.approx(159.39, abs=0.02)
    to_981 = 9.81 / 9.80665
    assert load.rolling_n(grade)[0] * speed[0] * to_981 == pytest.approx(23.63, abs=0.005)
    assert load.climbing_n(grade)[0] * speed[0] * to_981 == pytest.approx(22.149, abs=0.0005)
    kinetic_w = 0.5 * load.effective_mass_kg * (8.45**2 - 8.27**2) / 56.42
    assert kinetic_w == pytest.approx(2.439, abs=0.001)


def test_the_second_vector_of_the_road_cycling_power_model():
    """72 kg, 6 m/s, 7.5 %: air 63.16 W, rolling 13.523 W, potential 316.954 W (g there 9.81)."""
    load = RoadLoad(72.0, 72.0, 0.473 + 0.0044, 0.0032, 1.225)
    speed, grade = np.array([6.0]), np.array([7.5])
    assert load.air_n(speed)[0] * 6 == pytest.approx(63.16, abs=0.01)
    assert load.rolling_n(grade)[0] * 6 == pytest.approx(13.523, rel=5e-4)
    assert load.climbing_n(grade)[0] * 6 == pytest.approx(316.954, rel=5e-4)


def test_a_tail_wind_faster_than_the_bike_pushes():
    load = RoadLoad(110.0, 110.0, 0.559, 0.0077, 1.225, wind_mps=-8.0)
    assert load.air_n(np.array([5.0]))[0] < 0


def test_what_the_bike_file_leaves_open_is_assumed_and_named():
    load, assumed = road_load(Bike(bike=BikeSection(total_mass_kg=100.0), road=RoadSection(crr=0.006)))
    assert (load.mass_kg, load.crr) == (100.0, 0.006)
    assert not {"total_mass_kg", "crr"} & set(assumed)
    assert (assumed["cda_m2"], assumed["cda_limit_m2"]) == (0.56, 0.29)


def test_without_a_pressure_the_air_is_that_of_the_standard_atmosphere_at_the_height_of_the_ride():
    bike = Bike(road=RoadSection(air_temperature_c=8.5))  # the standard's own temperature at 1000 m
    assert road_load(bike, mean_height_m=1000.0)[0].density == pytest.approx(1.11164, rel=1e-5)
