"""Files of one ride: told apart, read once each, and answered or refused."""

from io import BytesIO

import pytest

from ridelog.errors import BikeFileError, InputError, RidelogError
from ridelog.web.jobs.measuring import header_key, measure_given, read_files, sort_files
from ridelog.web.jobs.measuring import named as known


def named(name, content=b"x"):
    return name, BytesIO(content)


def two_column_log(head):
    """Ten minutes of a log at 1 Hz with the header given."""
    rows = "\n".join(f"{t},{3 if t % 60 < 40 else -2},{48}" for t in range(600))
    return f"{head}\n{rows}\n".encode()


HEAD = "time [s],battery current [A],battery voltage [V]"


def test_logs_bike_file_and_column_map_are_told_apart():
    """Of four files dropped together two are logs, one the bike file, one the column map."""
    given = sort_files(
        [
            named("a.csv"),
            named("my bike.toml", b"[bike]\ntotal_mass_kg = 100\n"),
            named("T.GPX"),
            named("MAP.TOML", b'[[column]]\nheader = "A"\n'),
        ]
    )
    assert [name for name, _ in given.logs] == ["a.csv", "T.GPX"]
    assert given.bike[0] == "my bike.toml"
    assert given.columns[0] == "MAP.TOML"
    assert given.columns[1].read().startswith(b"[[column]]")  # rewound after the look inside


@pytest.mark.parametrize(
    ("files", "words"),
    [
        ([named("b.toml", b"[bike]")], "no log of a ride among the files"),
        ([], "no log of a ride among the files"),
        ([named("a.csv"), named("1.toml", b""), named("2.toml", b"")], "2.toml: is a second bike file, beside 1.toml"),
        ([named("a.csv"), named("b.toml", b"[bike\n")], "b.toml: is not TOML"),
        ([named("a.csv"), named("b.toml", b"\xff\xfe")], "b.toml, byte 0: is not UTF-8 text"),
    ],
)
def test_files_that_make_no_ride_are_refused(files, words):
    """Missing logs, doubled tables and broken TOML are told in words."""
    with pytest.raises(InputError, match=words):
        sort_files(files)


def test_real_files_go_all_the_way_to_an_answer():
    """3 A for 40 s and -2 A for 20 s in turn at 48 V: 2/3 of each minute's 120 As comes back as 40 As (by hand).

    Crossing zero within a one-second step, the linear rule moves either side by less than 2 % here.
    """
    log = two_column_log("time [s],battery current [A],battery voltage [V]")
    answer, columns = measure_given(sort_files([named("c.csv", log)]))
    assert answer.charge.recovered_pct.value == pytest.approx(100 * 40 / 120, rel=0.02)
    assert columns[0].map_toml is not None
    assert [reading.channel for reading in columns[0].readings] == ["time_s", "current_a", "voltage_v"]


@pytest.mark.parametrize("head", ["time [s],battery current [A],battery voltage [V]", "time [s],one [A],two [A]"])
def test_each_log_is_read_once(head, monkeypatch):
    """For the answer, for what is shown of its columns and for its map alike; also where it leaves a question open."""
    from ridelog.importers.delimited import read as delimited

    reads, real = [], delimited.read_log
    monkeypatch.setattr(delimited, "read_log", lambda *given: reads.append(given[1]) or real(*given))
    shown = read_files([named("c.csv", two_column_log(head))], measure_given)
    assert reads == ["c.csv"]
    assert shown.columns[0].readings
    assert shown.columns[0].map_toml


def test_an_unclear_log_is_shown_with_its_question_and_a_map():
    """Two columns that may both be the battery's current: the question, the readings and a map to edit."""
    log = two_column_log("time [s],current one [A],current two [A]")
    shown = read_files([named("c.csv", log)], measure_given)
    assert shown.answer is None
    assert "current one" in shown.error_lines[0]
    assert shown.error_lines[1].startswith("hint: ")
    assert len(shown.columns[0].readings) == 3
    assert "current one" in shown.columns[0].map_toml


def test_a_wrong_bike_file_is_named_in_its_message():
    """The message about an uploaded bike file carries the name that the visitor gave it."""
    log = known("c.csv", two_column_log("time [s],battery current [A],battery voltage [V]"))
    with pytest.raises(BikeFileError, match=r"my\.toml, line 2: unknown key bike\.wings"):
        measure_given(sort_files([log, known("my.toml", b"[bike]\nwings = 2\n")]))


@pytest.mark.parametrize("content", [b"", b"\x00\x01\x02" * 40, b"PK\x03\x04junk", b"<gpx", b"a\n1\n", b"\x1f\x8bjunk"])
def test_absurd_files_are_refused_without_a_traceback(content):
    """Empty, binary, half an archive, half a document: each is an error with a sentence."""
    with pytest.raises(RidelogError) as caught:
        measure_given(sort_files([named("ride.csv", content)]))
    assert caught.value.lines()[0].startswith("ride.csv")


def test_logs_with_the_same_header_are_read_as_somebody_said_before():
    """Turned round by a correction, 3 A out of the battery for two thirds of the time are 3 A into it."""
    log = two_column_log(HEAD)
    before, columns = measure_given(sort_files([named("c.csv", log)]))
    said = '[[column]]\nheader = "battery current [A]"\nquantity = "battery current"\nunit = "A"\nsign = -1\n'
    for header, drawn in (
        (header_key(columns[0].readings), before.charge.returned_ah),
        ("other", before.charge.drawn_ah),
    ):
        after, _ = measure_given(sort_files([named("c.csv", log)], {header: said}))
        assert after.charge.drawn_ah.value == pytest.approx(drawn.value, rel=0.01)
