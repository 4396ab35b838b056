"""A ride is measured in a process of its own, which is ended where it takes too long, too much, or nobody waits."""

import multiprocessing

import pytest

from ridelog.web.jobs.apart import Limits, looked_apart, looked_here, measured_apart, measured_here, ready
from ridelog.web.jobs.measuring import Task, measure_given
from tests.places import SAMPLES
from tests.web.jobs import measures

LITTLE = Limits(most_memory_bytes=3_000_000_000)
QUICK = Limits(longest_s=2.0, most_memory_bytes=3_000_000_000)
TOO_MUCH = "measuring took more memory than the page gives to one ride, or broke off, and was ended"
AT_THE_TERMINAL = "hint: cut the log into rides, or measure it with the command `ridelog measure`"


def waited():
    return False


@pytest.fixture
def files(tmp_path):
    (tmp_path / "0").write_text("is empty")
    return Task((("a.csv", tmp_path / "0"),))


@pytest.fixture(autouse=True)
def started():
    ready()


def test_a_ride_is_measured_as_it_is_here():
    folder = SAMPLES / "errand"
    given = Task(tuple((name, folder / name) for name in ("akku.csv", "ride.fit", "bike.toml")))
    apart, here = (each(given, waited, measure=measure_given) for each in (measured_apart, measured_here))
    assert apart.answer == here.answer
    assert apart.columns == here.columns
    assert apart.files == here.files


def test_what_a_file_is_refused_for_is_told(files):
    assert measured_apart(files, waited, measure=measures.refuse).error_lines == ("a.csv: is empty", "hint: h")


@pytest.mark.parametrize(
    ("measure", "limits", "line"),
    [
        (measures.fill, LITTLE, TOO_MUCH),
        (measures.die, LITTLE, TOO_MUCH),
        (measures.sleep, QUICK, "measuring took longer than 2 s and was ended"),
    ],
)
def test_a_process_that_takes_too_much_is_ended_and_says_so(measure, limits, line, files):
    shown = measured_apart(files, waited, measure=measure, limits=limits)
    assert shown.error_lines == (line, AT_THE_TERMINAL)
    assert shown.files == ("a.csv",)


def test_a_fault_of_ridelog_itself_is_told_in_one_line_and_a_hint(files):
    assert measured_apart(files, waited, measure=measures.fail).error_lines == (
        "ridelog failed where it should not: ZeroDivisionError: x",
        "hint: please report it with the files",
    )


def test_a_ride_that_nobody_waits_for_is_ended(files):
    """Once somebody said so it is asked no more, and what measured is gone."""
    before = multiprocessing.active_children()
    asked = iter((False, False, True))
    assert measured_apart(files, lambda: next(asked), measure=measures.sleep) is None
    assert next(asked, None) is None
    assert multiprocessing.active_children() == before


def test_a_bike_file_keeps_its_name(tmp_path):
    (tmp_path / "0").write_text("time [s],battery current [A]\n0,1\n1,2\n")
    (tmp_path / "1").write_text("[bike]\nwings = 2\n")
    given = Task((("c.csv", tmp_path / "0"), ("my.toml", tmp_path / "1")))
    assert measured_apart(given, waited).error_lines[0].startswith("my.toml, line 2: unknown key bike.wings")


def test_files_are_looked_into_as_they_are_here(tmp_path):
    """Time, role and contents of each; one that is no recording says so instead of stopping the others."""
    (tmp_path / "1").write_bytes(b"\x00\x01" * 40)
    paths = [SAMPLES / "errand" / "akku.csv", SAMPLES / "errand" / "ride.fit", tmp_path / "1"]
    apart, here = looked_apart(paths, waited), looked_here(paths, waited)
    assert [look.error is None for look in apart] == [look.error is None for look in here] == [True, True, False]
    assert apart[:2] == here[:2]
