"""Tables of an answer as rows and frames: units in their names, read back as they were."""

import csv
import io
from dataclasses import replace

import pandas as pd
import pytest

from ridelog.answer.braking import Braking
from ridelog.answer.frames import TABLES, frame, header, records, rows, unit_of
from ridelog.answer.hills import Hill, Place
from ridelog.answer.pack import Pack
from ridelog.answer.ride import Answer, Charge, Energy, RideSummary
from ridelog.errors import AnswerError
from ridelog.uncertain.quantity import Quantity
from tests.scenarios import SLUGS, sample_answer, simulated_answer

OF_RECORDS = [name for name in TABLES if name != "samples"]
SOME_SEEDS = range(7_300, 7_310)


def held(answer: Answer, name: str) -> tuple:
    """The records of the answer that a table shows, without those that have a table of their own."""
    return {
        "hills": answer.hills,
        "hill_pairs": answer.hill_pairs,
        "events": answer.braking.events,
        "kinds": answer.braking.kinds,
        "ledger": answer.ledger.entries if answer.ledger is not None else (),
        "bands": answer.speed_bands,
        "budget": tuple(line for budget in answer.budget for line in budget.rows),
        "sources": tuple(replace(source, columns=()) for source in answer.sources),
        "columns": tuple(column for source in answer.sources for column in source.columns),
        "findings": answer.findings,
    }[name]


def through_csv(answer: Answer, name: str) -> list[dict[str, str]]:
    """The rows as the text of a CSV file holds them."""
    text = io.StringIO()
    writer = csv.DictWriter(text, header(answer, name))
    writer.writeheader()
    writer.writerows(rows(answer, name))
    return list(csv.DictReader(io.StringIO(text.getvalue(), newline="")))


def through_parquet(answer: Answer, name: str) -> pd.DataFrame:
    """The frame as a Parquet file holds it."""
    content = io.BytesIO()
    frame(answer, name).to_parquet(content)
    content.seek(0)
    return pd.read_parquet(content)


def come_back(answer: Answer, name: str) -> None:
    """From the rows, from CSV, from a frame and from Parquet."""
    whole = held(answer, name)
    assert records(name, rows(answer, name)) == whole
    assert records(name, through_csv(answer, name)) == whole
    assert records(name, frame(answer, name).to_dict("records")) == whole
    assert records(name, through_parquet(answer, name).to_dict("records")) == whole


@pytest.mark.parametrize("slug", SLUGS)
@pytest.mark.parametrize("name", OF_RECORDS)
def test_the_rows_of_a_sample_ride_come_back(slug, name):
    come_back(sample_answer(slug), name)


@pytest.mark.parametrize("seed", SOME_SEEDS)
def test_the_rows_of_a_simulated_ride_come_back(seed):
    for name in OF_RECORDS:
        come_back(simulated_answer(seed), name)


def test_a_number_takes_three_columns_and_a_place_two():
    hill = Hill(
        "1-up", "Hill 1, up", "up", 1.0, 2.0, 3.0, 4.0, 1.0, Quantity(5.0, 4.0, 6.0), Quantity(2.0), None, None, None,
        None, None, Place(46.5, 7.5), number=1,
    )  # fmt: skip
    answer = Answer(
        ride=RideSummary("ride", None, 60.0, None, None, None, None),
        sources=(),
        charge=Charge(None, None, None),
        energy=Energy(None, None, None, None, None),
        braking=Braking(None, None, None, ()),
        hills=(hill,),
        hill_pairs=(),
        pack=Pack(),
        findings=(),
    )
    (row,) = rows(answer, "hills")
    assert [row[f"height_m{part}"] for part in ("", "_low95", "_high95")] == [5.0, 4.0, 6.0]
    assert [row[f"mean_grade_pct{part}"] for part in ("", "_low95", "_high95")] == [2.0, None, None]
    assert [row[f"start_{part}_deg"] for part in ("latitude", "longitude")] == [46.5, 7.5]
    assert [row[f"end_{part}_deg"] for part in ("latitude", "longitude")] == [None, None]
    assert list(row) == header(answer, "hills")
    assert records("hills", [row]) == (hill,)


@pytest.mark.parametrize(
    ("column", "unit"),
    [
        ("drawn_wh", "Wh"),
        ("drawn_wh_low95", "Wh"),
        ("net_wh_per_km_high95", "Wh/km"),
        ("start_latitude_deg", "°"),
        ("low_kmh", "km/h"),
        ("clock_drift_ppm", "1e-6"),
        ("samples", None),
        ("name", None),
        ("start", None),
    ],
)
def test_the_unit_is_that_of_the_name(column, unit):
    assert unit_of(column) == unit


@pytest.mark.parametrize("name", TABLES)
def test_every_number_with_a_unit_says_it_in_the_frame(name):
    """Numbers without one are counts, or the 1 of a factor; what a budget's numbers are in is a column of its own."""
    table = frame(sample_answer("commute"), name)
    bare = {"samples", "events", "number", "factor", "sign", "offset", "u"}
    for column in table.select_dtypes("number"):
        assert column in table.attrs["units"] or column in bare, column


def test_the_samples_are_the_series_with_its_units():
    answer = sample_answer("winter")
    table = frame(answer, "samples")
    assert table.equals(answer.series)
    assert table.attrs["units"]["current_a"] == "A"
    assert "units" not in answer.series.attrs
    first = rows(answer, "samples")[0]
    assert list(first) == header(answer, "samples") == ["time", *answer.series.columns]
    assert first["time"].endswith("Z")


def test_an_answer_without_samples_has_no_rows_of_them():
    again = Answer.from_dict(sample_answer("winter").to_dict())
    assert rows(again, "samples") == []
    assert frame(again, "samples").empty


def test_a_table_without_rows_keeps_its_columns():
    bare = Answer.from_dict({**sample_answer("winter").to_dict(), "hills": []})
    assert list(frame(bare, "hills")) == header(bare, "hills")


def test_a_cell_that_is_no_number_is_refused_with_its_column():
    row = {**rows(sample_answer("commute"), "bands")[0], "time_s": "long"}
    with pytest.raises(AnswerError, match="time_s: 'long' is not a number"):
        records("bands", [row])


def test_no_table_of_another_name_is_made_up():
    with pytest.raises(KeyError):
        rows(sample_answer("winter"), "wheels")
