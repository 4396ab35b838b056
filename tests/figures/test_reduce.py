"""Zoom reduction: what is left out must not be seen to be missing."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ridelog.figures.reduce import (
    fill_outline,
    known_line,
    one_break_each,
    reduce_window,
    split_at_zero,
    thin_fill,
    thin_path,
)


@st.composite
def windows(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray, np.ndarray, float, float, int]:
    """A log with uneven steps, NaN and gaps, a window of it and a number of pixel columns."""
    n = draw(st.integers(1, 400))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    x = np.cumsum(rng.choice([0.1, 0.2, 1.0, 30.0], size=n, p=[0.5, 0.3, 0.15, 0.05]))
    y = np.round(rng.normal(0, 100, n), 1)
    y[rng.random(n) < draw(st.sampled_from([0.0, 0.1, 0.6]))] = np.nan
    # to the microsecond, as the page's windows are: the sums below overflow in one of 1e-308 s
    ends = sorted(round(draw(st.floats(-5, float(x[-1]) + 5)), 6) for _ in range(2))
    return x, y, np.diff(x) > 10, ends[0], ends[1], draw(st.integers(1, 60))


@given(windows())
def test_every_window_keeps_its_extremes(case):
    """The lowest and the highest sample of the window are kept, wherever in the window they lie."""
    x, y, gap_mask, start, end, n_columns = case
    seen = reduce_window(x, y, start=start, end=end, n_columns=n_columns, gap_mask=gap_mask)
    inside = (x >= start) & (x <= end) & ~np.isnan(y)
    assert seen.n_samples == int(((x >= start) & (x <= end)).sum())
    if inside.any():
        shown = seen.y[(seen.x >= start) & (seen.x <= end)]
        assert np.nanmin(shown) == y[inside].min()
        assert np.nanmax(shown) == y[inside].max()


@given(windows())
def test_every_pixel_column_keeps_its_extremes(case):
    """Column by column the kept samples span what all samples span, so the same pixels are inked."""
    x, y, gap_mask, start, end, n_columns = case
    seen = reduce_window(x, y, start=start, end=end, n_columns=n_columns, gap_mask=gap_mask)
    kept = set(zip(seen.x.tolist(), seen.y.tolist(), strict=True))
    if end <= start:
        return
    inside = (x >= start) & (x <= end)
    column = np.minimum(np.floor((x - start) * (n_columns / (end - start))), n_columns - 1)
    for each in np.unique(column[inside]):
        values = y[inside & (column == each)]
        values = values[~np.isnan(values)]
        if len(values):
            scale = n_columns / (end - start)
            of_column = {
                v for t, v in kept if start <= t <= end and min(np.floor((t - start) * scale), n_columns - 1) == each
            }
            assert {values.min(), values.max()} <= of_column


@given(windows())
def test_the_tails_are_kept(case):
    """The first and last sample of the window and the neighbours just outside it are kept."""
    x, y, gap_mask, start, end, n_columns = case
    seen = reduce_window(x, y, start=start, end=end, n_columns=n_columns, gap_mask=gap_mask)
    inside = np.flatnonzero((x >= start) & (x <= end))
    if len(inside):
        wanted = {int(inside[0]), int(inside[-1]), max(int(inside[0]) - 1, 0), min(int(inside[-1]) + 1, len(x) - 1)}
        assert {float(x[k]) for k in wanted} <= set(seen.x.tolist())


@given(windows())
def test_no_line_crosses_a_gap(case):
    """Between two kept samples on either side of a gap there is a NaN."""
    x, y, gap_mask, start, end, n_columns = case
    seen = reduce_window(x, y, start=start, end=end, n_columns=n_columns, gap_mask=gap_mask)
    gap_starts = x[:-1][gap_mask]
    for k in range(len(seen.x) - 1):
        if not np.isnan(seen.y[k]) and not np.isnan(seen.y[k + 1]):
            assert not ((gap_starts >= seen.x[k]) & (gap_starts < seen.x[k + 1])).any()
    assert (np.diff(seen.x) >= 0).all()


def test_few_samples_are_all_shown():
    """A window with fewer samples than pixels shows each of them."""
    x = np.arange(100.0)
    seen = reduce_window(x, x**2, start=20, end=40, n_columns=1200)
    assert seen.x.tolist() == list(np.arange(19.0, 42.0))  # one neighbour on either side


def test_a_sample_alone_between_gaps_is_marked():
    """A known sample with a break on either side is in the lone mask, since a line cannot show it."""
    x = np.array([0.0, 1.0, 50.0, 100.0, 101.0])
    seen = reduce_window(x, np.ones(5), start=0, end=101, gap_mask=np.diff(x) > 10)
    assert seen.x[seen.lone_mask].tolist() == [50.0]


def test_a_million_samples_come_down_to_two_a_column():
    """What a chart of a million samples sends is bounded by its width, and the one extreme among them is sent."""
    x = np.arange(1_000_000) * 0.01
    y = np.sin(x) * 300
    y[777_777] = -5000.0
    seen = reduce_window(x, y, start=0.0, end=float(x[-1]), gap_mask=np.zeros(999_999, dtype=bool))
    assert len(seen.x) <= 2 * 1060 + 2
    assert seen.y.min() == -5000.0


def test_rows_that_a_channel_has_no_sample_in_do_not_break_its_line():
    """A sample in each fourth row of 100 Hz is a log of 25 Hz; 5 s without one are a gap of it (over 2 s)."""
    time_s = np.arange(2000) / 100
    values = np.where((np.arange(2000) % 4 == 0) & ((time_s < 8) | (time_s >= 13)), 5.0, np.nan)
    at_s, known, gap_mask = known_line(time_s, values)
    assert (len(at_s), set(known)) == (375, {5.0})
    assert [(at_s[k], at_s[k + 1]) for k in np.flatnonzero(gap_mask)] == [(7.96, 13.0)]


@given(windows())
def test_a_fill_keeps_what_is_furthest_from_zero_and_ends_where_the_line_does(case):
    """Against a plain loop over the pixel columns of one side of the line."""
    x, y, _, start, end, n_columns = case
    x, above, _ = split_at_zero(x, y)
    kept = thin_fill(x, above, start=start, end=end, n_columns=n_columns)
    unknown = np.isnan(above)
    assert set(np.flatnonzero(unknown)) <= set(kept)
    at_break = [k for k in np.flatnonzero(~unknown) if unknown[max(k - 1, 0)] or unknown[min(k + 1, len(x) - 1)]]
    assert set(at_break) <= set(kept)
    column = np.searchsorted(start + (end - start) / n_columns * np.arange(n_columns), x, side="right")
    for one in np.unique(column):
        inside = np.flatnonzero((column == one) & ~unknown)
        if len(inside):
            assert np.nanmax(above[np.intersect1d(inside, kept)], initial=-1.0) == above[inside].max()


def test_the_two_sides_meet_on_the_zero_line():
    """From +10 to -30 W in one step the line crosses zero a quarter of the way (by hand)."""
    x, above, below = split_at_zero(np.array([0.0, 4.0]), np.array([10.0, -30.0]))
    assert x.tolist() == [0.0, 1.0, 4.0]
    np.testing.assert_array_equal(above, [10.0, 0.0, np.nan])
    np.testing.assert_array_equal(below, [np.nan, 0.0, -30.0])


def test_the_filled_area_falls_to_zero_at_a_break():
    """The outline goes down to zero on both sides of a gap instead of sloping across it."""
    x, y = fill_outline(np.array([0.0, 1.0, 5.0, 9.0, 10.0]), np.array([5.0, 6.0, np.nan, 7.0, 8.0]))
    assert list(zip(x.tolist(), y.tolist(), strict=True)) == [
        (0, 0), (0, 5), (1, 6), (1, 0), (9, 0), (9, 7), (10, 8), (10, 0),
    ]  # fmt: skip


@pytest.mark.parametrize("n", [10, 50_000])
def test_a_thinned_path_keeps_its_ends_and_what_it_must(n):
    """The drawing of a path keeps first, last and the samples asked for, and stays small."""
    angle = np.linspace(0, 6, n)
    must = np.zeros(n, dtype=bool)
    must[n // 3] = True
    kept = thin_path(1000 * np.cos(angle), 1000 * np.sin(angle), must, n_steps=1500)
    assert {0, n // 3, n - 1} <= set(kept.tolist())
    assert len(kept) <= 1505


def test_a_thinned_path_keeps_its_unknown_stretch():
    """Where positions are missing the path stays broken."""
    east = np.linspace(0, 5000, 20_000)
    east[9000:9100] = np.nan
    kept = thin_path(east, np.zeros_like(east), np.zeros(20_000, dtype=bool))
    assert np.isnan(east[kept]).any()
    assert {8999, 9100} <= set(kept.tolist())


def test_of_each_break_one_point_is_left_and_none_before_the_line_begins():
    y = np.array([np.nan, np.nan, 1.0, 2.0, np.nan, np.nan, np.nan, 3.0, np.nan])
    assert one_break_each(y).tolist() == [2, 3, 4, 7, 8]
    assert one_break_each(np.full(3, np.nan)).tolist() == []
