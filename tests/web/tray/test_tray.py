"""A tray makes rides of its files, and a ride stays itself while files come and go."""

from dataclasses import replace
from pathlib import Path

from ridelog.web.tray.tray import Tray
from tests.web.tray.test_grouping import file


def tray_of(*files):
    return Tray(Path("/"), "v", {each.key: each for each in files})


def test_a_ride_keeps_its_token_when_a_file_is_added_and_only_it_has_changed():
    tray = tray_of(file("log", 0), file("other", 90))
    first, second = tray.regroup()
    tray.files["track"] = file("track", 10, drop="b")
    (changed,) = tray.regroup()
    assert changed is first
    assert set(changed.files) == {"log", "track"}
    assert tray.ride(second.token) is second
    assert tray.ride_of("track") is first


def test_a_ride_that_is_parted_keeps_its_token_on_one_side():
    tray = tray_of(file("log", 0), file("track", 5))
    (ride,) = tray.regroup()
    tray.by_hand["track"] = "x"
    changed = tray.regroup()
    assert len(changed) == 2
    assert ride in tray.rides


def test_a_file_that_is_there_already_is_not_kept_twice():
    tray = tray_of(file("log", 0))
    again = file("again", 0)
    tray.files["again"], tray.unseen = replace(again, look=None), ("again",)
    gone = tray.seen([replace(again.look, sha256="sha log")])
    assert gone == {"log": replace(again, look=None)}
    assert list(tray.files) == ["log"]


def test_files_that_nobody_looked_into_yet_are_no_ride():
    tray = tray_of(file("log", 0))
    tray.files["new"], tray.unseen = replace(file("new"), look=None), ("new",)
    assert [ride.files for ride in tray.regroup()] == [("log",)]
