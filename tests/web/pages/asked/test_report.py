"""The report of a ride from its page: the bytes of the command line, for whoever gave its files."""

import io
import shlex

import pytest

from ridelog.cli import main
from ridelog.web.pages.asked.report import document_look
from tests.report.reading import Document
from tests.web.visits import log

BIKE = b'[bike]\nname = "Kittiwake"\ntotal_mass_kg = 100.0\n'


@pytest.fixture(scope="module")
def made(guests):
    """A ride of two files, and the page of its report."""
    guest = guests()
    guest.give(("bike.toml", BIKE))
    (token,) = guest.give(("log.csv", log()))
    reply = guest.send(guest.form(f"/ride/{token}/report"), {"numbers": "comma", "places": "no", "paper": "letter"})
    path = reply.headers["Location"]
    return guest, token, path, guest.done(path)


def test_each_form_is_what_the_command_in_it_makes(made, tmp_path, monkeypatch):
    guest, _, path, page = made
    (tmp_path / "log.csv").write_bytes(log())
    monkeypatch.chdir(tmp_path)
    command = shlex.split(Document(guest.see(f"{path}/report.html").text).command)
    if "--bike" in command:
        (tmp_path / command[command.index("--bike") + 1]).write_bytes(BIKE)
    assert {"--no-place", "--numbers", "--paper"} <= set(command)
    main(command[1:], io.StringIO(), io.StringIO())
    assert (tmp_path / "report.html").read_bytes() == guest.see(f"{path}/report.html").data
    for name in ("report.pdf", "report.zip"):
        assert f"{path}/{name}" in page
        assert guest.see(f"{path}/{name}").status_code == 200


def test_it_is_still_there_when_it_is_looked_at_again_also_by_others(made, guests):
    _, token, path, page = made
    other = guests()
    assert "report.pdf" in other.see(path).text
    assert "report.pdf" in page
    reply = other.see(f"/ride/{token}/report")  # but nobody else has it made
    assert reply.status_code == 404
    assert "Only the browser" in reply.text
    assert guests().see("/report/guess").status_code == 404
    assert "no longer kept" in guests().see("/report/guess").text
    assert guests().see(path.replace("/report/", "/compare/")).status_code == 404  # of another kind


def test_of_a_ride_without_an_answer_there_is_no_report(guest):
    (token,) = guest.give(("broken.csv", b"a,b\n1,2\n"))
    reply = guest.see(f"/ride/{token}/report")
    assert reply.status_code == 404
    assert "no answer yet" in reply.text


def test_only_what_can_be_chosen_is(made):
    look = document_look({"units": "imperial", "numbers": "x", "paper": "../a4"})
    assert (look.units, look.numbers, look.paper, look.with_places) == ("imperial", "point", "a4", True)
