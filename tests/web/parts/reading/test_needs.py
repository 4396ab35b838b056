"""What an answer rests on, and what is missing for one."""

from ridelog.recording import ColumnReading
from ridelog.web.parts.reading.needs import needs
from ridelog.web.rides import Columns
from tests.web.parts.test_table import said

LOG = Columns("/tmp/c.csv", (ColumnReading("I1", "current_a", "battery current"), ColumnReading("x", None, "")))
TRACK = Columns(
    "t.gpx", (ColumnReading("lat", "latitude_deg", "latitude"), ColumnReading("ele", "altitude_m", "altitude"))
)


def test_each_thing_is_found_in_a_column_or_said_to_be_missing():
    alone = said(needs((LOG,), None))
    assert "Battery current“I1” of c.csv" in alone
    assert "Battery voltagemissing: charge is known in Ah" in alone
    assert "Heightmissing" in alone
    both = said(needs((LOG, TRACK), None))
    assert "Speed“lat” of t.gpx" in both
    assert "Height“ele” of t.gpx" in both
    assert "mass" not in both  # nothing was measured


def test_the_mass_is_said_to_be_assumed_or_entered(make_answer):
    assert "Total mass" in said(needs((LOG,), make_answer(n=50)))
