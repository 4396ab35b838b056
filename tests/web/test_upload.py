"""A visitor's own files: taken in, kept, and told how far they are; nobody else's business."""

import threading
import time
from contextlib import nullcontext
from functools import partial
from io import BytesIO

import pytest
from flask import Flask
from werkzeug.datastructures import FileStorage

from ridelog.web.jobs.apart import looked_here, measured_here
from ridelog.web.jobs.measuring import measure_given
from ridelog.web.jobs.workshop import Workshop
from ridelog.web.rides import RideStore
from ridelog.web.tray.trays import Bounds, Hands, Trays
from ridelog.web.tray.visitor import add_visitors
from ridelog.web.upload import add_upload

ORIGIN = {"Origin": "http://localhost"}  # what Flask's client calls the host


def log(day=1, n=120, head="time,battery current [A],battery voltage [V]"):
    """Two minutes at 1 Hz on a day of May."""
    rows = "\n".join(
        f"2026-05-{day:02d}T08:{t // 60:02d}:{t % 60:02d}Z,{3 if t % 60 < 40 else -2},48" for t in range(n)
    )
    return f"{head}\n{rows}\n".encode()


@pytest.fixture
def trays():
    hands = Hands(partial(measured_here, measure=measure_given), looked_here)
    made = Trays(RideStore(), Workshop(), hands, Bounds(most_files=40))
    yield made
    made.close()


@pytest.fixture
def server(trays):
    made = Flask("test")
    add_visitors(made)
    add_upload(made, trays, most_bytes=100_000)
    return made


@pytest.fixture
def client(server):
    return server.test_client()


def post(client, *files, headers=ORIGIN):
    data = {"files": [(BytesIO(content), name) for name, content in files]}
    return client.post("/upload", data=data, headers=headers, content_type="multipart/form-data")


def given(client, *files):
    """What the page is told once nothing is under way any more."""
    said, end = post(client, *files).json, time.monotonic() + 30
    while said["pending"] and time.monotonic() < end:
        time.sleep(0.02)
        said = client.get("/tray").json
    return said


def test_an_upload_becomes_a_ride_with_an_address(client, trays):
    said = given(client, ("c.csv", log()))
    token = said["go"].removeprefix("/ride/")
    assert trays.store.get(token).answer is not None
    assert trays.store.get(token).files == ("c.csv",)
    assert len(token) == 24


def test_what_one_visitor_gave_no_other_is_told_of(server, client):
    """Another browser has another key, and so has one that makes a key up in another form."""
    assert given(client, ("c.csv", log()))["go"]
    other = server.test_client()
    assert other.get("/tray").json["go"] is None
    other.set_cookie("ridelog-visitor-80", "x" * 3)
    assert other.get("/tray").json["go"] is None


def test_the_key_of_a_visitor_is_for_no_script_and_no_other_site(client):
    sent = client.get("/tray").headers["Set-Cookie"]
    assert "HttpOnly" in sent
    assert "SameSite=Lax" in sent
    assert "Set-Cookie" not in client.get("/tray").headers  # once it is there, it stays


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"Origin": "http://elsewhere.example"},
        {"Origin": "null"},
        {**ORIGIN, "Sec-Fetch-Site": "cross-site"},
    ],
)
def test_files_from_another_site_are_not_taken_and_nothing_is_stopped_by_one(client, headers):
    """Without this page's own origin an upload is refused, and nothing is held."""
    assert post(client, ("c.csv", b"1"), headers=headers).status_code == 403
    assert client.delete("/tray", headers=headers).status_code == 403
    assert client.get("/tray").json["arrived"] == 0


def test_an_upload_has_a_largest_size(client):
    """More bytes than the limit are refused with a sentence that says what to do."""
    reply = post(client, ("c.csv", b"1" * 200_000))
    assert reply.status_code == 413
    assert "ridelog measure" in reply.json["message"]


def test_files_that_do_not_fit_beside_those_kept_are_refused(client):
    """Forty are kept here."""
    reply = post(client, *[(f"{index}.csv", b"1") for index in range(41)])
    assert reply.status_code == 413
    assert "take some of your rides out" in reply.json["message"]


def test_an_upload_has_a_largest_number_of_files(client):
    assert "200 files" in post(client, *[("c.csv", b"1")] * 201).json["message"]


def test_an_upload_without_files_says_so(client):
    """An empty form is no ride."""
    assert post(client).status_code == 400


def test_a_file_name_loses_folders_and_control_characters(client, trays):
    """Names are shown to people; paths and control characters are not part of them."""
    said = given(client, ("..\\..\\x/lo\x07g.csv", log()))
    assert trays.store.get(said["go"].removeprefix("/ride/")).files == ("log.csv",)


def test_a_wrong_bike_file_alone_is_told_at_once(client):
    reply = post(client, ("my.toml", b"[bike]\nwings = 2\n"))
    assert reply.status_code == 422
    assert reply.json["message"].startswith("my.toml, line 2: unknown key bike.wings")
    assert client.get("/tray").json["arrived"] == 0


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        ([("my.toml", b"[bike]\nwings = 2\n")], "my.toml, line 2: unknown key bike.wings"),
        ([("a.toml", b"[bike]\n"), ("b.toml", b"[bike]\n")], "b.toml: is a second bike file, beside a.toml"),
    ],
)
def test_a_wrong_bike_file_beside_logs_is_told_and_does_not_keep_them_out(client, trays, texts, said):
    token = given(client, ("c.csv", log()), *texts)["go"].removeprefix("/ride/")
    assert trays.store.get(token).answer.bike.total_mass_kg.source == "assumed"
    (tray,) = trays._trays.values()
    assert [each.startswith(said) for each in tray.complaints] == [True]


def test_two_bike_files_at_once_are_one_too_many(client):
    reply = post(client, ("a.toml", b"[bike]\n"), ("b.toml", b"[bike]\n"))
    assert reply.json["message"].startswith("b.toml: is a second bike file, beside a.toml")


def test_what_is_stopped_is_not_measured_and_says_so(client):
    post(client, ("c.csv", log()))
    assert client.delete("/tray", headers=ORIGIN).status_code == 200
    assert client.get("/tray").json["words"] in ("", "Looking into the files …")


def test_files_for_which_there_is_no_place_are_refused_in_a_sentence(client, trays, tmp_path, monkeypatch):
    """A full disk gives the same kind of error as a folder that is not there."""
    monkeypatch.setattr(trays, "giving", lambda _visitor: nullcontext(tmp_path / "gone"))
    reply = post(client, ("a.csv", log()))
    assert reply.status_code == 507
    assert reply.json["message"] == "The files could not be kept where this page runs: no such file or directory."


def test_an_upload_on_its_way_keeps_its_place_while_others_give(server, client, trays, monkeypatch):
    """Between two files of one visitor another one gives, where there is room for one tray alone."""
    trays.bounds = Bounds(most_trays=1)
    save, others, replies = FileStorage.save, [server.test_client()], []

    def interrupted(sent, path):
        save(sent, path)
        if others:
            other = threading.Thread(target=lambda: replies.append(post(others.pop(), ("b.csv", log(2)))))
            other.start()
            other.join()

    monkeypatch.setattr(FileStorage, "save", interrupted)
    said = given(client, ("c.csv", log()), ("d.csv", log(3)))
    assert trays.store.get(said["go"].removeprefix("/ride/")).files == ("c.csv",)
    assert [reply.status_code for reply in replies] == [200]
    assert [len(tray.files) for tray in trays._trays.values()] == [2]


def test_the_rides_of_a_folder_are_of_the_bike_whose_file_is_nearest_above_them(client, trays):
    """Two bikes ridden at the same time; what comes later without a folder is of neither."""
    bikes = {name: f'[bike]\nname = "{name}"\n'.encode() for name in ("Heron", "Dunlin")}
    files = [
        ("fleet/heron/bike.toml", bikes["Heron"]), ("fleet/heron/1 May/log.csv", log(1)),
        ("fleet/dunlin/bike.toml", bikes["Dunlin"]), ("fleet/dunlin/log.csv", log(1, n=110)),
        ("fleet/heron/photo.jpg", b"x"), ("fleet/../../../etc/x.csv", log(2)),
    ]  # fmt: skip
    token = given(client, *files)["go"].removeprefix("/ride/")
    (owner,) = [key for key, tray in trays._trays.items() if tray.ride(token)]
    with trays.tray(owner) as tray:
        told = {(trays.store.get(ride.token).title, ride.bike and ride.bike.text.encode()) for ride in tray.rides}
        assert {title for title, _ in told} == {"1 May", "log", "fleet/etc"}
        assert {bike for _, bike in told} == {*bikes.values(), None}
        assert all(file.path.is_relative_to(tray.folder) for file in tray.files.values())
        assert [each for each in tray.complaints if "photo.jpg" in each]
    given(client, ("loose.csv", log(3)))
    with trays.tray(owner) as tray:
        assert tray.rides[-1].bike is None


def test_a_folder_without_a_log_is_refused(client):
    reply = post(client, ("holiday/photo.jpg", b"x"))
    assert reply.status_code == 422
    assert "photo.jpg: no log of a ride" in reply.json["message"]
