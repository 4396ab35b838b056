"""Series at the resolution of their logger: small, and equal within half a step."""

import numpy as np
import pandas as pd
import pyarrow as pa
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ridelog.fleet.store.packed import unpacked
from ridelog.fleet.store.series import DERIVED, column, decoded, encoded, floats, places_of
from tests.fleet.store.kept import START, made_series
from tests.scenarios import SLUGS, sample_answer

# The last digit in sample_rides/*/*.csv and *.gpx; of FIT: its published profile, message record (from memory).
STEPS = {
    "elapsed_s": 0.1, "current_a": 0.01, "voltage_v": 0.01, "power_w": 1e-4, "speed_mps": 0.1 / 3.6,
    "battery_temperature_c": 0.1, "distance_m": 0.01, "altitude_m": 0.1, "track_speed_mps": 0.001,
    "latitude_deg": 1e-7, "longitude_deg": 1e-7,  # FIT has 0.84e-7; joined to another clock, 1 cm on the ground is kept
}  # fmt: skip


def logged(answer):
    return {use.channel for use in answer.sources[0].columns}


@pytest.mark.parametrize("slug", SLUGS)
def test_a_sample_ride_comes_back_within_half_a_step_in_a_quarter_of_the_room(slug):
    answer = sample_answer(slug)
    content = encoded(answer.series, logged(answer))
    table = unpacked(content, "series")
    series = decoded(table)
    was = answer.series.drop(columns=[name for name in answer.series if name in DERIVED])
    assert set(series) == set(was)
    assert series.index.equals(was.index)
    for name in was:
        assert (series[name].isna() == was[name].isna()).all()
        assert (series[name] - was[name]).abs().max() <= STEPS[name] / 2
    for name in ("current_a", "voltage_v"):
        assert np.array_equal(series[name], was[name])  # the log's own digits
    assert len(content) <= 0.25 * 4 * len(was) * table.num_columns


@given(
    st.integers(0, 6), st.lists(st.integers(-(10**6), 10**6), min_size=1, max_size=50), st.sampled_from([1, -1, 1e-3])
)
def test_decimals_come_back_exactly(places, whole, factor):
    """As text is read: the nearest float of a decimal, also where a unit's factor moved the point."""
    values = np.array([float(f"{each}e-{places}") for each in whole]) * factor
    held = column(values, "current_a", own=True)
    assert pa.types.is_decimal(held.type)
    back = floats(pa.chunked_array([held]))
    assert np.array_equal(back, values) if abs(factor) == 1 else np.allclose(back, values, rtol=2e-15, atol=0)


@given(st.floats(0.001, 2.0), st.lists(st.integers(-500, 500), min_size=20, max_size=60, unique=True))
def test_steps_that_are_no_decimals_are_met_to_a_twentieth(step, whole):
    values = step * np.array(whole)
    places = places_of(values)
    if places is not None:  # a step that no three neighbours show is none
        assert np.abs(np.round(values, places) - values).max() <= step / 20 * 1.001


def test_noise_has_no_step():
    assert places_of(np.random.default_rng(1).normal(size=100)) is None


def test_a_log_of_full_floats_comes_back_to_the_last_bit():
    values = np.random.default_rng(2).normal(size=100)
    for exact in (values, values.astype(np.float32).astype(float)):
        held = column(exact, "current_a", own=True)
        assert pa.types.is_floating(held.type)
        assert np.array_equal(held.to_numpy(zero_copy_only=False).astype(float), exact)


@pytest.mark.parametrize("values", [[1e300, 2.0], [1e17, 3.0], [np.nan, np.nan], [], [0.0], [-0.0, 5e-324]])
def test_strange_numbers_do_not_break_it(values):
    held = column(np.array(values, dtype=float), "current_a", own=True)
    back = floats(pa.chunked_array([held]))
    assert np.allclose(back, values, rtol=1e-12, atol=1e-9, equal_nan=True)


def test_infinity_is_not_known():
    assert column(np.array([1.0, np.inf]), "current_a", own=True).null_count == 1


def test_power_that_is_no_product_is_kept():
    series = made_series(50, START)
    assert "power_w" not in unpacked(encoded(series, ()), "series").column_names
    other = series.assign(power_w=series["power_w"] + 1.0)
    held = decoded(unpacked(encoded(other, ()), "series"))
    assert np.allclose(held["power_w"], other["power_w"], atol=1e-4)


def test_times_come_back_to_the_microsecond():
    series = made_series(50, START)
    odd = series.set_index(series.index + pd.to_timedelta(np.arange(50) ** 2 * 7, unit="us"))
    assert decoded(unpacked(encoded(odd, ()), "series")).index.equals(odd.index)
    finer = odd.set_index(odd.index.as_unit("ns") + pd.Timedelta(400, "ns"))
    assert decoded(unpacked(encoded(finer, ()), "series")).index.equals(odd.index)
