"""The same hill on many rides, whatever the order of rows; what it gives over bikes."""

import numpy as np
import pandas as pd
import pytest

from ridelog.fleet.history.places import hill_figures, same_hills

START = pd.Timestamp("2026-03-01", tz="UTC")


def passes(n=300, seed=1):
    """Passes of ten roads both ways, with positions off by metres, and ends by tens of metres."""
    rng = np.random.default_rng(seed)
    roads = []
    for _ in range(10):
        heading = np.cumsum(rng.normal(0, 0.15, rng.integers(20, 80))) + rng.uniform(0, 6)
        roads.append(np.cumsum(20 * np.column_stack([np.cos(heading), np.sin(heading)]), 0) + rng.uniform(-4e3, 4e3, 2))
    rows = []
    for at in range(n):
        road, direction = int(rng.integers(10)), str(rng.choice(["up", "down"]))
        cut = rng.integers(0, 4, 2)
        line = roads[road][cut[0] : len(roads[road]) - cut[1]] + rng.normal(0, 4, 2)
        line = line + rng.normal(0, 3, line.shape)
        line = line[::-1] if direction == "down" else line
        captured = 50 + rng.normal(0, 5) if direction == "down" else rng.uniform(0, 100)
        rows.append(
            {
                "key": f"ride {at // 2}", "bike": f"bike {at // 2 % 4}", "id": f"{at}-{direction}",
                "direction": direction,
                "ride_start": START + pd.Timedelta(hours=at // 2), "start_s": float(at % 2), "road": road,
                "line_latitude_deg": 41 + line[:, 1] / 111_195,
                "line_longitude_deg": -8 + line[:, 0] / 111_195 / np.cos(np.radians(41)),
                "length_m": 20.0 * len(line), "height_m": 12.0, "drawn_wh": 10.0 if direction == "up" else 0.0,
                "returned_wh": 3.0 if direction == "down" else 0.0,
                "captured_pct": captured, "captured_pct_low95": captured - 4, "captured_pct_high95": captured + 4,
            }
        )  # fmt: skip
    return pd.DataFrame(rows)


def test_each_road_is_one_hill_each_way():
    hills = passes()
    places = same_hills(hills)
    assert places.nunique() == 20
    assert hills.groupby(["road", "direction"]).ngroups == 20
    assert hills.assign(place=places).groupby("place")[["road", "direction"]].nunique().to_numpy().max() == 1


def test_up_and_down_share_the_road_and_never_the_hill():
    hills = passes()
    places = same_hills(hills)
    assert (places.str.rpartition("-")[2] == hills["direction"]).all()
    assert places.str.rpartition("-")[0].nunique() == 10


def test_the_order_of_rows_and_later_rides_move_no_identifier():
    hills = passes()
    places = same_hills(hills)
    assert same_hills(hills.sample(frac=1, random_state=3)).sort_index().equals(places)
    assert same_hills(hills.iloc[:200]).equals(places.iloc[:200])


def test_a_pass_without_positions_is_of_no_hill():
    hills = passes(20)
    hills["line_latitude_deg"] = hills["line_latitude_deg"].astype(object)
    hills.loc[7, "line_latitude_deg"] = None
    assert same_hills(hills).isna().to_list() == [at == 7 for at in range(20)]
    assert same_hills(hills.drop(columns="line_latitude_deg")).isna().all()
    assert same_hills(hills.iloc[:0]).empty


def test_a_hill_gives_its_mean_over_bikes():
    hills = passes()
    figures = hill_figures(hills)
    assert len(figures) == 20
    assert sum(each.passes for each in figures) == 300
    assert [each.number for each in figures][:2] == [1, 2]
    down = [each for each in figures if each.direction == "down"]
    for each in down:
        assert each.captured_pct.low95 < each.captured_pct.value < each.captured_pct.high95
        assert each.recovered_pct.value == pytest.approx(30)  # 3 Wh down over 10 Wh up
        assert len(each.bikes) >= 3
    held = np.mean([each.captured_pct.low95 <= 50 <= each.captured_pct.high95 for each in down])
    assert held >= 0.7  # 95 % of ten: fewer than seven in 1 of 10,000
    assert all(each.recovered_pct is each.captured_pct is None for each in figures if each.direction == "up")


def test_too_few_rides_have_no_mean():
    hills = passes().query("bike == 'bike 1' and road == 2 and direction == 'down'").iloc[:2]
    (figure,) = hill_figures(hills)
    assert figure.captured_pct is None
    assert figure.bikes[0].captured_pct is None
    assert hill_figures(hills.iloc[:0]) == ()
