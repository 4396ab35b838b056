"""The sample fleet on the page: begun when it is first asked for, and told until it stands."""

import time

import pytest

from ridelog.errors import StoreError
from ridelog.fleet.audit import Progress
from ridelog.report.sheet import sheet
from ridelog.web import fleet as module
from ridelog.web.app import create_app
from ridelog.web.fleet import FleetPage
from tests.fleet.recordings import MONDAY, write_log


@pytest.fixture
def bikes(tmp_path):
    write_log(tmp_path / "heron" / "log.csv", MONDAY)
    (tmp_path / "heron" / "bike.toml").write_text('[bike]\nname = "Heron <i>"\n')
    return tmp_path


def waited_for(page, words):
    for _ in range(300):
        if words in (shown := page()):
            return shown
        time.sleep(0.1)
    raise AssertionError(shown)


def test_the_first_look_begins_it_and_a_later_one_finds_the_audit(bikes):
    made = []
    page = FleetPage(lambda: made.append(1) or bikes)
    client = create_app(fleet=page).server.test_client()
    first = client.get("/fleet", base_url="http://127.0.0.1")
    assert first.status_code == 200
    assert "http-equiv" in first.text
    shown = waited_for(lambda: client.get("/fleet", base_url="http://127.0.0.1").text, "1 ride of 1 bike")
    assert "Heron &lt;i&gt;" in shown
    assert "http-equiv" not in shown
    assert made == [1]


def test_a_fleet_that_cannot_be_made_is_told_in_a_sentence(bikes, monkeypatch):
    def fails():
        raise PermissionError(13, "Permission denied")

    assert "cannot be made" in waited_for(FleetPage(fails).show, "cannot be made")

    def full(*_arguments, **_more):
        raise StoreError("no room", hint="make room")

    monkeypatch.setattr(module, "audit", full)
    assert "hint: make room" in waited_for(FleetPage(lambda: bikes).show, "no room")


def test_a_fault_of_ours_is_told_too(bikes, monkeypatch):
    monkeypatch.setattr(module, "audit", lambda *_arguments, **_more: 1 / 0)
    assert "http-equiv" not in waited_for(FleetPage(lambda: bikes).show, "ZeroDivisionError")


def test_a_server_that_ends_breaks_the_work_off(bikes, monkeypatch):
    broken_off = []

    def audited(_folders, _store, *, told):
        try:
            while True:
                told(Progress(1, 2, 0))
                time.sleep(0.01)
        finally:
            broken_off.append(True)

    monkeypatch.setattr(module, "audit", audited)
    page = FleetPage(lambda: bikes)
    waited_for(page.show, "1 of 2 rides done")
    page.close()
    for _ in range(100):
        if broken_off:
            return
        time.sleep(0.05)
    raise AssertionError("the work goes on")


def test_a_page_without_a_fleet_has_none():
    shown = create_app().server.test_client().get("/fleet", base_url="http://127.0.0.1").text
    assert "sample fleet" not in shown


def test_a_waiting_page_looks_again():
    assert '<meta http-equiv="refresh" content="2">' in sheet("x", [], again_s=2)
