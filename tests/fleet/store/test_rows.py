"""A measured ride as rows."""

from dataclasses import replace

import numpy as np
import pyproj
import pytest

from ridelog.findings import Finding
from ridelog.fleet.store.rows import LINE_STEP_M, answers_row, log_layout, tables_of
from tests.fleet.store.kept import made_answer, made_ride
from tests.scenarios import sample_answer

GEOD = pyproj.Geod(ellps="WGS84")  # Karney, J. Geodesy 87, 2013: lengths on the ellipsoid, good to 15 nm


def hills_of(answer):
    return tables_of(replace(made_ride(1), answer=answer))["hills"].to_pylist()


@pytest.mark.parametrize("slug", ["commute", "winter", "no-return"])
def test_the_way_of_a_hill_is_as_long_as_the_hill(slug):
    """Within 2 %: the distance may be the wheel's, and the line cuts bends between its points."""
    answer = sample_answer(slug)
    rows = hills_of(answer)
    assert len(rows) == len(answer.hills) > 0
    for row, hill in zip(rows, answer.hills, strict=True):
        steps_m = GEOD.inv(
            row["line_longitude_deg"][:-1], row["line_latitude_deg"][:-1],
            row["line_longitude_deg"][1:], row["line_latitude_deg"][1:],
        )[2]  # fmt: skip
        assert np.sum(steps_m) == pytest.approx(hill.length_m, rel=0.02)
        assert np.max(steps_m) <= 1.05 * LINE_STEP_M
        ends = [(row["line_latitude_deg"][i], row["line_longitude_deg"][i]) for i in (0, -1)]
        assert ends[0] == pytest.approx((hill.start.latitude_deg, hill.start.longitude_deg), abs=2e-5)  # 2 m
        assert ends[1] == pytest.approx((hill.end.latitude_deg, hill.end.longitude_deg), abs=2e-5)


def test_no_way_is_made_up_where_positions_are_missing():
    answer = made_answer(1)
    assert hills_of(answer)[0]["line_latitude_deg"] is not None
    unseen = answer.series["distance_m"].between(400, 550)
    for series in (
        answer.series.drop(columns="latitude_deg"),
        answer.series.assign(latitude_deg=answer.series["latitude_deg"].mask(unseen)),
        answer.series.assign(latitude_deg=np.nan),
    ):
        assert hills_of(replace(answer, series=series))[0]["line_latitude_deg"] is None


def test_the_row_says_where_the_uncertainty_is_from():
    row = answers_row(made_ride(1))
    assert [row[f"u_{name}_pct"] for name in ("zero", "charge_gain", "sampling", "missing")] == [0.2, 0.0, 0.1, 0.0]
    assert "u_zero_pct" not in answers_row(replace(made_ride(1), answer=replace(made_answer(1), budget=())))


def test_the_errors_are_called_as_in_the_budget_of_a_real_ride():
    row = answers_row(replace(made_ride(1), answer=sample_answer("errand")))
    (budget,) = sample_answer("errand").budget
    told = [row[f"u_{name}_pct"] for name in ("zero", "charge_gain", "sampling", "missing")]
    assert sorted(told)[-len(budget.rows) :] == sorted(each.u for each in budget.rows)


def test_a_log_that_cannot_show_a_return_is_told_apart():
    assert answers_row(made_ride(1))["can_show_return"] is True
    clipped = replace(
        made_answer(1),
        findings=(Finding("cannot-show-return", "warning", {"file": "log.csv", "unsigned": True, "zero_pct": None}),),
    )
    assert answers_row(replace(made_ride(1), answer=clipped))["can_show_return"] is False


def test_logs_of_the_same_columns_have_the_same_layout():
    answer = made_answer(1)
    (log,) = answer.sources
    other = replace(log, columns=(replace(log.columns[0], unit="mA"), log.columns[1]))
    assert log_layout(answer) == log_layout(made_answer(2))
    assert log_layout(answer) != log_layout(replace(answer, sources=(other,)))
    assert log_layout(replace(answer, sources=())) is None


def test_what_is_given_stands_over_what_the_answer_tells():
    assert answers_row(replace(made_ride(1), extra={"can_show_return": False}))["can_show_return"] is False


def test_a_temperature_is_the_mean_of_what_was_logged():
    answer = made_answer(1)
    warm = answer.series.assign(battery_temperature_c=np.where(np.arange(240) < 120, 10.0, np.nan))
    row = answers_row(replace(made_ride(1), answer=replace(answer, series=warm)))
    assert row["battery_temperature_c"] == 10.0
    assert row["air_temperature_c"] is None
