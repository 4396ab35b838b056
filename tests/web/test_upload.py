"""A visitor's own files: sorted, measured, or refused with the message that the files deserve."""

import threading
import time
from functools import partial
from io import BytesIO

import pytest
from flask import Flask

from ridelog.errors import BikeFileError, InputError, RidelogError
from ridelog.recording import ColumnReading
from ridelog.web.jobs.apart import measured_here
from ridelog.web.jobs.workshop import Room, Workshop
from ridelog.web.rides import Columns, RideStore, ShownRide
from ridelog.web.upload import Given, add_upload, measure_given, sort_files

ORIGIN = {"Origin": "http://localhost"}  # what Flask's client calls the host


def named(name, content=b"x"):
    return name, BytesIO(content)


def two_column_log(head):
    """Ten minutes of a log at 1 Hz with the header given."""
    rows = "\n".join(f"{t},{3 if t % 60 < 40 else -2},{48}" for t in range(600))
    return f"{head}\n{rows}\n".encode()


@pytest.fixture
def page(make_answer):
    """A client of a server that answers every log but those called bad, and its store."""

    def measure(given: Given):
        if given.logs[0][0].startswith("bad"):
            raise InputError(given.logs[0][0], "is empty", hint="did the copy finish?")
        columns = Columns("c.csv", (ColumnReading("t", "time_s", "time"),), (), "[log]\n")
        return make_answer(n=50), (columns,)

    server, store = Flask("test"), RideStore()
    workshop = Workshop(store, partial(measured_here, measure=measure))
    add_upload(server, workshop, most_bytes=100_000)
    with server.test_client() as client:
        yield client, store
    workshop.close()


def post(client, *files, headers=ORIGIN):
    """The reply to an upload, and where it is being measured the last reply to the question how far it is."""
    data = {"files": [(BytesIO(content), name) for name, content in files]}
    reply = client.post("/upload", data=data, headers=headers, content_type="multipart/form-data")
    key, end = (reply.json or {}).get("job"), time.monotonic() + 20
    while reply.status_code == 202 and time.monotonic() < end:
        reply = client.get(f"/upload/{key}")
    return reply


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


def test_an_upload_becomes_a_ride_to_look_at(page):
    """Two files in, a token out; the token's ride has an answer and knows its files."""
    client, store = page
    reply = post(client, ("c.csv", b"1"), ("t.gpx", b"2"))
    assert reply.status_code == 200
    assert reply.json["answered"] is True
    shown = store.get(reply.json["token"])
    assert shown.answer is not None
    assert shown.files == ("c.csv", "t.gpx")


def test_a_refused_upload_keeps_the_errors_lines(page):
    """A file that cannot be read comes back as its error's lines, with status 200: the page shows them."""
    client, store = page
    reply = post(client, ("bad.csv", b"1"))
    shown = store.get(reply.json["token"])
    assert reply.json["answered"] is False
    assert shown.error_lines == ("bad.csv: is empty", "hint: did the copy finish?")


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"Origin": "http://elsewhere.example"},
        {"Origin": "null"},
        {**ORIGIN, "Sec-Fetch-Site": "cross-site"},
    ],
)
def test_files_from_another_site_are_not_taken(page, headers):
    """Without this page's own origin an upload is refused, and nothing is held."""
    client, store = page
    reply = post(client, ("c.csv", b"1"), headers=headers)
    assert reply.status_code == 403
    assert not store._rides


def test_an_upload_has_a_largest_size(page):
    """More bytes than the limit are refused with a sentence that says what to do."""
    client, _ = page
    reply = post(client, ("c.csv", b"1" * 200_000))
    assert reply.status_code == 413
    assert "ridelog measure" in reply.json["message"]


def test_an_upload_has_a_largest_number_of_files(page):
    """Twenty are measured, one more is refused with the limit."""
    client, _ = page
    for n_files, status in ((20, 200), (21, 413), (22, 413)):
        reply = post(client, *[("c.csv", b"1")] * n_files)
        assert reply.status_code == status
    assert "20 files" in reply.json["message"]


def test_an_upload_without_files_says_so(page):
    """An empty form is no ride."""
    client, _ = page
    assert post(client).status_code == 400


def test_a_file_name_loses_folders_and_control_characters(page):
    """Names are shown to people; paths and control characters are not part of them."""
    client, store = page
    token = post(client, ("..\\..\\x/lo\x07g.csv", b"1")).json["token"]
    assert store.get(token).files == ("log.csv",)


def test_the_column_map_can_be_fetched_and_is_a_download(page):
    """The map of the first log comes as a file; others are not there."""
    client, _ = page
    token = post(client, ("c.csv", b"1")).json["token"]
    reply = client.get(f"/column-map/{token}/0.toml")
    assert reply.data == b"[log]\n"
    assert "attachment" in reply.headers["Content-Disposition"]
    assert client.get(f"/column-map/{token}/1.toml").status_code == 404
    assert client.get("/column-map/guess/0.toml").status_code == 404


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
    from ridelog.web.upload import read_files

    reads, real = [], delimited.read_log
    monkeypatch.setattr(delimited, "read_log", lambda *given: reads.append(given[1]) or real(*given))
    shown = read_files([named("c.csv", two_column_log(head))], measure_given)
    assert reads == ["c.csv"]
    assert shown.columns[0].readings
    assert shown.columns[0].map_toml


def test_an_unclear_log_is_shown_with_its_question_and_a_map(page):
    """Two columns that may both be the battery's current: the question, the readings and a map to edit."""
    from ridelog.web.upload import read_files

    log = two_column_log("time [s],current one [A],current two [A]")
    shown = read_files([named("c.csv", log)], measure_given)
    assert shown.answer is None
    assert "current one" in shown.error_lines[0]
    assert shown.error_lines[1].startswith("hint: ")
    assert len(shown.columns[0].readings) == 3
    assert "current one" in shown.columns[0].map_toml


def test_a_wrong_bike_file_is_named_in_its_message():
    """The message about an uploaded bike file carries the name that the visitor gave it."""
    from ridelog.web.upload import named as known

    log = known("c.csv", two_column_log("time [s],battery current [A],battery voltage [V]"))
    with pytest.raises(BikeFileError, match=r"my\.toml, line 2: unknown key bike\.wings"):
        measure_given(sort_files([log, known("my.toml", b"[bike]\nwings = 2\n")]))


@pytest.mark.parametrize("content", [b"", b"\x00\x01\x02" * 40, b"PK\x03\x04junk", b"<gpx", b"a\n1\n", b"\x1f\x8bjunk"])
def test_absurd_files_are_refused_without_a_traceback(content):
    """Empty, binary, half an archive, half a document: each is an error with a sentence."""
    with pytest.raises(RidelogError) as caught:
        measure_given(sort_files([named("ride.csv", content)]))
    assert caught.value.lines()[0].startswith("ride.csv")


class Held:
    """A measuring that lasts until it is let go, or nobody waits."""

    def __init__(self):
        self.free = threading.Event()

    def __call__(self, files, stopped):
        while not self.free.wait(0.01):
            if stopped():
                return None
        return ShownRide(files[0][0], error_lines=("x",))


@pytest.fixture
def busy():
    """A client of a server that measures one ride at a time, for as long as the test wants."""
    server, held = Flask("test"), Held()
    workshop = Workshop(RideStore(), held, Room(n_at_once=1, most_waiting=3, most_waiting_each=2))
    add_upload(server, workshop)
    with server.test_client() as client:
        yield client, held
    held.free.set()
    workshop.close()


def sent(client, name, visitor="a"):
    data = {"files": [(BytesIO(b"1"), name)]}
    headers = {**ORIGIN, "Ridelog-Visitor": visitor}
    return client.post("/upload", data=data, headers=headers, content_type="multipart/form-data")


def test_who_waits_is_told_how_many_are_ahead(busy):
    client, held = busy
    first = sent(client, "1.csv").json["job"]
    while client.get(f"/upload/{first}").json["waiting"] != "Reading and measuring …":
        time.sleep(0.01)
    second, third = (sent(client, f"{name}.csv").json["job"] for name in "23")
    assert client.get(f"/upload/{second}").json == {"waiting": "Yours is the next ride to be measured."}
    assert client.get(f"/upload/{third}").json == {"waiting": "1 ride will be measured before yours."}
    other = sent(client, "other.csv", visitor="b").json
    assert other["waiting"] == "Yours is the next ride to be measured."  # the other's first is being measured
    assert client.get(f"/upload/{third}").json == {"waiting": "2 rides will be measured before yours."}
    assert sent(client, "4.csv").status_code == 503
    held.free.set()
    end = time.monotonic() + 10
    while (reply := client.get(f"/upload/{third}")).status_code == 202 and time.monotonic() < end:
        time.sleep(0.01)
    assert reply.json["answered"] is False


def test_who_stops_waiting_makes_room_and_another_site_cannot_stop_it(busy):
    client, _ = busy
    jobs = [sent(client, f"{name}.csv").json["job"] for name in "12"]
    assert client.delete(f"/upload/{jobs[1]}").status_code == 403
    assert client.get(f"/upload/{jobs[1]}").status_code == 202
    for job in jobs:
        assert client.delete(f"/upload/{job}", headers=ORIGIN).status_code == 200
        assert client.get(f"/upload/{job}").status_code == 404
    assert client.get("/upload/guess").json == {"message": "Nothing is known of these files any more: send them again."}
