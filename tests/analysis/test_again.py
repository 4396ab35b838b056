"""What is worked out again from a kept series is what the analysis had added to it."""

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet
import pytest

from ridelog.analysis.again import with_drawn
from ridelog.fleet.store.series import decoded, encoded
from tests.scenarios import sample_answer


@pytest.mark.parametrize("slug", ["commute", "no-return"])
def test_it_is_what_the_analysis_had_added(slug):
    """To some centimetres of height: stores keep ways to 1 mm, and a height's staircase is found anew."""
    series = sample_answer(slug).series
    kept = decoded(pa.parquet.read_table(pa.BufferReader(encoded(series, ()))))
    again = with_drawn(kept)
    assert np.array_equal(again["regen_mask"], series["regen_mask"])
    assert series["regen_mask"].any() == (slug == "commute")
    for name, within_m in (("smooth_altitude_m", 0.1), ("east_m", 0.01), ("north_m", 0.01)):
        assert again[name].isna().equals(series[name].isna())
        assert np.nanmax(np.abs(again[name] - series[name])) < within_m


def test_without_heights_positions_or_current_nothing_is_made_up():
    series = pd.DataFrame({"elapsed_s": [0.0, 1.0, 2.0], "distance_m": [0.0, 5.0, 10.0]})
    again = with_drawn(series)
    assert set(again) == {"elapsed_s", "distance_m", "regen_mask"}
    assert not again["regen_mask"].any()


def test_what_is_there_stays():
    series = sample_answer("no-return").series.assign(smooth_altitude_m=1.0)
    assert (with_drawn(series)["smooth_altitude_m"] == 1.0).all()


def test_current_flows_back_between_two_samples_that_show_it_also_where_it_is_not_known():
    """Each second row of a log holds no current, as where two logs of one clock are one: the stretch stays whole."""
    time_s = 0.1 * np.arange(200)
    current_a = np.where((time_s >= 5) & (time_s <= 10), -4.0, 6.0)
    series = pd.DataFrame({"elapsed_s": time_s, "current_a": np.where(np.arange(200) % 2, np.nan, current_a)})
    again = with_drawn(series)["regen_mask"].to_numpy()
    assert np.array_equal(again, (time_s >= 5) & (time_s <= 10))
