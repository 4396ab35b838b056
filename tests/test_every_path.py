"""Every ride of the one list goes every way to people: summary, tables, CSV and page, in metric and imperial units."""

import csv
import io
import json
import re

import pytest
from plotly.utils import PlotlyJSONEncoder

from ridelog.cli.parser import TABLES
from ridelog.console import answers as console
from ridelog.figures.look import Look
from ridelog.tell.numbers import STYLES
from ridelog.web.rides import shown_ride
from ridelog.web.views.answer import answer_page
from tests.scenarios import HELD, SEEDS, SLUGS, held_answer, held_truth_m, sample_answer, simulated_answer

RIDES = [*SLUGS, *HELD, *list(SEEDS)[::4]]
NOT_FOR_PEOPLE = re.compile(r"\b(?:nan|None|inf|NaN|Infinity|Quantity)\b|\d\.\d{7,}")


def answer_of(ride):
    if ride in HELD:
        return held_answer(ride)
    return sample_answer(ride) if isinstance(ride, str) else simulated_answer(ride)


@pytest.mark.parametrize("units", STYLES)
@pytest.mark.parametrize("ride", RIDES)
def test_the_summary_can_be_read_by_a_rider(ride, units):
    out = io.StringIO()
    console.print_summary(answer_of(ride), out, STYLES[units])
    text = out.getvalue()
    assert text.strip()
    assert NOT_FOR_PEOPLE.findall(text) == []
    other = r"\d (?:km|m|km/h|kg|°C)\b" if units == "imperial" else r"\d (?:mi|ft|mph|lb|°F)\b"
    assert re.findall(other, text) == []


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize("ride", RIDES)
def test_every_table_is_there_as_csv_or_says_why_not(ride, table):
    """Rows of one width, headings once each; what is not known is an empty cell."""
    out = io.StringIO()
    console.print_table(answer_of(ride), table, out)
    rows = list(csv.reader(io.StringIO(out.getvalue())))
    assert rows
    if len(rows) > 1 or "," in out.getvalue():
        assert len(set(rows[0])) == len(rows[0])
        assert {len(row) for row in rows} == {len(rows[0])}
        assert not {"nan", "None", "inf"} & {cell for row in rows for cell in row}


@pytest.mark.parametrize("units", STYLES)
@pytest.mark.parametrize("ride", RIDES)
def test_the_page_is_a_layout_that_dash_takes(ride, units):
    answer = answer_of(ride)
    parts = answer_page(shown_ride(answer, title=answer.ride.name), Look(style=STYLES[units]), "token")
    text = json.dumps(parts, cls=PlotlyJSONEncoder)
    assert len(parts) > 2
    assert not re.findall(r">(?:nan|None)<|\"(?:nan|None)\"", text)


@pytest.mark.parametrize("ride", HELD)
def test_positions_that_stay_leave_a_distance_and_a_use_with_both_bounds(ride):
    """400 s at some 5 m/s: a single place for good and a speed beside it are distance enough.

    Without any speed, straight lines between places of every 10 s cut a winding way's corners; its interval says so.
    """
    answer = answer_of(ride)
    for told in (answer.ride.distance_m, answer.energy.net_wh_per_km):
        assert told.low95 < told.value < told.high95
    assert answer.ride.distance_m.low95 <= held_truth_m() <= answer.ride.distance_m.high95
    assert answer.ride.distance_m.value == pytest.approx(held_truth_m(), rel=0.04)
