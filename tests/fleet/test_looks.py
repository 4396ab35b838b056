"""Looks at files that were taken before come back as they were."""

from datetime import timedelta

from ridelog.fleet.folders import find_rides
from ridelog.fleet.look import look_at
from ridelog.fleet.looks import KeptLooks
from ridelog.fleet.store.catalogue import Catalogue
from tests.fleet.recordings import MONDAY, write_log, write_track


def state(path):
    return path.stat().st_size, path.stat().st_mtime_ns


def test_a_look_comes_back_as_it_was_taken_as_long_as_the_file_is_the_same(tmp_path):
    paths = [
        write_log(tmp_path / "a.csv", MONDAY),
        write_log(tmp_path / "elapsed.csv", None),
        write_track(tmp_path / "t.gpx", MONDAY + timedelta(seconds=0.25)),
    ]
    local = write_log(tmp_path / "local.csv", MONDAY)
    local.write_text(local.read_text().replace("Z,", ","))
    looks = {path: look_at(path) for path in [*paths, local]}
    first = KeptLooks(Catalogue(tmp_path / "catalogue.sqlite"))
    for path, look in looks.items():
        first.keep(look, *state(path))
    first.save()
    again = KeptLooks(Catalogue(tmp_path / "catalogue.sqlite"))
    assert {path: again.look(path, *state(path)) for path in looks} == looks
    size, mtime_ns = state(local)
    assert again.look(local, size, mtime_ns + 1) is None
    assert again.look(local, size + 1, mtime_ns) is None


def test_a_look_that_failed_is_taken_again(tmp_path):
    """A file may have been cut because it was still being copied."""
    write_log(tmp_path / "bike" / "a.csv", MONDAY)
    broken = tmp_path / "bike" / "b.gpx"
    broken.write_bytes(b"")
    kept = KeptLooks(Catalogue(tmp_path / "catalogue.sqlite"))
    assert len(find_rides([tmp_path / "bike"], kept).failed) == 1
    kept.save()
    assert KeptLooks(Catalogue(tmp_path / "catalogue.sqlite")).look(broken, *state(broken)) is None
