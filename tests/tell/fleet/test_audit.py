"""An audit in words and tables."""

from dataclasses import replace

import pytest

from ridelog.fleet.task import Failure
from ridelog.tell.fleet import audit as words
from tests.fleet.audits import made_up


@pytest.mark.parametrize(
    ("bikes", "failed", "told"),
    [
        (slice(0, 3), True, "62 rides of 3 bikes: 1 bike stands out; 1 ride or file could not be measured."),
        (slice(0, 1), False, "30 rides of 1 bike: no bike stands out."),
        (slice(2, 3), False, "2 rides of 1 bike: no bike stands out."),  # too few to tell is no fault
        (slice(0, 0), True, "0 rides of 0 bikes: no bike stands out; 1 ride or file could not be measured."),
    ],
)
def test_the_headline_counts_rides_bikes_and_what_stands_out(bikes, failed, told):
    audit = made_up()
    audit = replace(audit, bikes=audit.bikes[bikes], failed=audit.failed if failed else ())
    assert words.headline(audit) == told


def test_a_remark_says_since_when():
    lost, few = words.remarks(made_up())
    assert (lost.severity, lost.code) == ("danger", "regen-lost")
    assert lost.who == "Dunlin <b>: regen lost since 14 March 2026"
    assert (few.who, few.severity) == ("Ruff: too few rides", "note")


def test_tables_hold_every_bike_hill_and_failure():
    audit = made_up()
    assert [row[0] for row in words.bikes(audit).rows] == ["Avocet", "Dunlin <b>", "Ruff"]
    assert words.bikes(audit).column("distance_sum")[0] == "251 km"
    assert [row[:3] for row in words.hills(audit).rows] == [("Hill 1, down", 61, 2), ("Hill 1, up", 58, 2)]
    assert words.bikes(audit).note.startswith("Figures are means")
    assert not words.bikes(replace(audit, bikes=audit.bikes[2:])).note  # it has no figure
    assert words.hills(audit, most=1).note == "The 1 of 2 hills that were passed most often."
    assert words.failed(audit).rows == (
        ("bikes/avocet/2026-05-01/track.gpx", "holds no point", "is it the right file?"),
    )
    assert words.work_done(audit) == "Measured now: 2; measured before and unchanged: 60."


def test_many_files_of_one_folder_that_fail_alike_are_told_together():
    """A bike without its bike file, of sixty rides, hid what else had failed."""
    fault, other = Failure("fleet/heron/0.csv", "lies in no bike's folder", "put one there"), ("is empty", None)
    alike = tuple(replace(fault, path=f"fleet/heron/{number}.csv") for number in range(4))
    empty = Failure("fleet/heron/2.log", *other)
    there = words.failed(replace(made_up(), failed=(*alike, empty)))
    assert there.rows == (
        ("4 files in fleet/heron, the first 0.csv", fault.reason, fault.hint),
        ("fleet/heron/2.log", "is empty", ""),
    )
    few = words.failed(replace(made_up(), failed=(*alike[:3], empty)))
    assert [row[0] for row in few.rows] == [f"fleet/heron/{name}" for name in ("0.csv", "1.csv", "2.csv", "2.log")]
