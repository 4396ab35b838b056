"""A look tells when a file was recorded and what it offers; one that cannot be opened is told, not raised."""

import hashlib
from datetime import timedelta

from ridelog.fleet.look import look_at
from tests.fleet.recordings import MONDAY, write_log, write_track


def test_a_look_tells_the_digest_the_times_and_what_the_file_offers(tmp_path):
    log, track = write_log(tmp_path / "log.csv"), write_track(tmp_path / "t.gpx", MONDAY + timedelta(seconds=3))
    looks = look_at(log), look_at(track)
    assert [look.sha256 for look in looks] == [hashlib.sha256(path.read_bytes()).hexdigest() for path in (log, track)]
    assert [(look.start, look.end) for look in looks] == [
        (MONDAY, MONDAY + timedelta(seconds=60)), (MONDAY + timedelta(seconds=3), MONDAY + timedelta(seconds=63)),
    ]  # fmt: skip
    assert [(look.electrical, look.track) for look in looks] == [(True, False), (False, True)]
    assert all(look.timed for look in looks)


def test_a_bike_file_is_only_hashed(tmp_path):
    bike = tmp_path / "bike.toml"
    bike.write_bytes(b"no TOML")
    look = look_at(bike)
    assert look.sha256 == hashlib.sha256(b"no TOML").hexdigest()
    assert look.error is None
    assert not look.timed


def test_what_cannot_be_opened_is_told(tmp_path):
    look = look_at(tmp_path / "none.csv")
    assert look.sha256 == ""
    assert "none.csv" in str(look.error)
