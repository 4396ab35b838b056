"""What many rides need of a ride beside its answer."""

import io
from datetime import UTC, datetime, timedelta

import numpy as np
import pandas as pd
import pytest
from pyproj import Geod

import ridelog
from ridelog.analysis.road.plane import plane_of
from ridelog.fleet.beside import beside, charge_force_n, wheel_scale
from tests.scenarios import sample_answer


def ridden(*, factor=1.0, noise_m=0.0, bend=False, seconds=900, seed=5):
    """A ride at 5 to 8 m/s with positions on WGS 84's geodesics, and a wheel that reads ``1/factor`` of it."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(float(seconds))
    speed_mps = 6.5 + 1.5 * np.sin(time_s / 40)
    way_m = np.concatenate(([0.0], np.cumsum((speed_mps[1:] + speed_mps[:-1]) / 2)))
    heading_deg = 40 + (80 * np.sin(time_s / 60) if bend else 0 * time_s)
    north, east = (
        np.concatenate(([0.0], np.cumsum(np.diff(way_m) * f(np.radians(heading_deg[1:]))))) for f in (np.cos, np.sin)
    )
    geod = Geod(ellps="WGS84")
    azimuth = np.degrees(
        np.arctan2(east + rng.normal(0, noise_m, len(east)), north + rng.normal(0, noise_m, len(east)))
    )
    longitude, latitude, _ = geod.fwd(np.full(len(east), 8.0), np.full(len(east), 47.0), azimuth, np.hypot(east, north))
    series = pd.DataFrame(
        {"elapsed_s": time_s, "speed_mps": speed_mps / factor, "track_speed_mps": speed_mps,
         "latitude_deg": latitude, "longitude_deg": longitude}
    )  # fmt: skip
    return series.assign(**vars(plane_of(series)))


@pytest.mark.parametrize("factor", [1.0, 0.94, 1.08])
def test_a_wheel_that_reads_wrong_is_told_by_the_positions(factor):
    """Against geodesics on WGS 84 by pyproj; the plane of the ride is off by 1 in 10 000 at most."""
    scale = wheel_scale(ridden(factor=factor))
    assert scale.value == pytest.approx(factor, rel=2e-4)


def test_bends_and_noise_of_positions_move_it_by_less_than_a_per_cent():
    scale = wheel_scale(ridden(noise_m=1.5, bend=True))
    assert scale.value == pytest.approx(1.0, abs=0.01)
    assert scale.low95 < scale.value < scale.high95


def test_nothing_is_told_without_positions_or_without_speed_or_from_a_minute():
    series = ridden()
    assert wheel_scale(series.drop(columns="east_m")) is None
    assert wheel_scale(series.drop(columns="speed_mps")) is None
    assert wheel_scale(series[series["elapsed_s"] < 60]) is None


def test_what_is_told_of_the_winter_ride_is_what_its_bike_file_and_its_log_say():
    told = beside(sample_answer("winter"))
    assert told["air_temperature_c"] == -4.0
    assert abs(told["current_zero_a"].value) < 0.05  # its limit in the bike file
    assert told["wheel_scale_ratio"].value == pytest.approx(1.0, abs=0.02)


def merged_log(speed_column, factor=1.0):
    """One log of everything, on a straight way north: a metre is 1 / 111,195 of a degree, to 0.3 % on WGS 84."""
    lines = [f"timestamp,current (A),voltage (V),latitude (deg),longitude (deg),altitude (m){speed_column}"]
    start = datetime(2026, 5, 1, 8, tzinfo=UTC)
    for at in range(600):
        speed_kmh = "" if not speed_column else f",{25 / factor if 20 < at < 580 else 0:.1f}"
        way_m = 25 / 3.6 * min(max(at - 20, 0), 560)
        lines.append(
            f"{(start + timedelta(seconds=at)):%Y-%m-%dT%H:%M:%SZ},{3.1 + at % 5 / 10},48.{at % 7},"
            f"{45 + way_m / 111_195:.6f},9.000000,100.0{speed_kmh}"
        )
    return io.BytesIO("\n".join(lines).encode())


@pytest.mark.parametrize("factor", [1.0, 1.07])
def test_a_log_of_everything_tells_its_wheel_by_its_own_positions(factor):
    log = merged_log(",wheel speed (km/h)", factor)
    scale = beside(ridelog.measure(ridelog.load_ride([("log.csv", log)])))["wheel_scale_ratio"]
    assert scale.value == pytest.approx(factor, rel=5e-3)


def test_a_speed_that_is_that_of_the_positions_tells_nothing_of_a_wheel():
    answer = ridelog.measure(ridelog.load_ride([("log.csv", merged_log(""))]))
    assert beside(answer)["wheel_scale_ratio"] is None


def test_the_largest_force_is_power_over_speed_and_no_odd_speed():
    """A brake of 40 N at the battery from 10 m/s to a stand, beside a current that follows the speed."""
    speed_mps = np.concatenate([np.full(20, 10.0), np.linspace(10, 0, 21)])
    power_w = np.concatenate([np.full(20, 300.0), -40 * speed_mps[20:]])
    series = pd.DataFrame({"speed_mps": speed_mps, "power_w": power_w})
    assert charge_force_n(series) == pytest.approx(40)
    odd = series.assign(speed_mps=np.where(np.isin(np.arange(41), [24, 30]), 3.1, speed_mps))
    assert charge_force_n(odd) == pytest.approx(40)
    assert charge_force_n(series.assign(power_w=np.abs(power_w))) is None
    assert charge_force_n(series[["power_w"]]) is None
