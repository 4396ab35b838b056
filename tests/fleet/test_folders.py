"""Which files below a folder are one ride, and of which bike?"""

import errno
import hashlib
import os
from datetime import timedelta

import pytest

from ridelog.errors import InputError, UsageError
from ridelog.fleet.folders import find_rides
from ridelog.fleet.look import Look, look_at
from tests.fleet.recordings import MONDAY, write_log, write_track

HOUR = timedelta(hours=1)


@pytest.fixture
def bike(tmp_path):
    folder = tmp_path / "heron"
    folder.mkdir()
    (folder / "bike.toml").write_text("[bike]\ntotal_mass_kg = 100.0\n")
    return folder


def names(found):
    return [sorted(path.name for path in ride.paths) for ride in found.rides]


def test_recordings_that_overlap_in_time_are_one_ride_at_any_depth(bike):
    write_log(bike / "logs" / "a.csv", MONDAY)
    write_track(bike / "tracks" / "2026" / "a.gpx", MONDAY + timedelta(seconds=20))
    write_log(bike / "logs" / "b.csv", MONDAY + HOUR)
    assert names(find_rides([bike])) == [["a.csv", "a.gpx"], ["b.csv"]]


def test_a_track_over_two_logs_makes_one_ride_of_them(bike):
    write_log(bike / "a.csv", MONDAY)
    write_log(bike / "b.csv", MONDAY + timedelta(seconds=90))
    write_track(bike / "t.gpx", MONDAY, seconds=200)
    assert names(find_rides([bike])) == [["a.csv", "b.csv", "t.gpx"]]


def test_a_ride_that_begins_as_another_ends_is_another(bike):
    write_log(bike / "a.csv", MONDAY)
    write_log(bike / "b.csv", MONDAY + timedelta(seconds=59))
    assert len(find_rides([bike]).rides) == 2


def test_a_recording_without_wall_time_belongs_to_the_ride_of_its_own_folder(bike):
    write_track(bike / "mon" / "t.gpx", MONDAY)
    write_log(bike / "mon" / "log.csv", None)
    write_track(bike / "tue" / "t.gpx", MONDAY + 24 * HOUR)
    write_log(bike / "tue" / "log.csv", None, current_a=3.0)
    found = find_rides([bike])
    assert [[path.parent.name for path in ride.paths] for ride in found.rides] == [["mon", "mon"], ["tue", "tue"]]
    assert [ride.name for ride in found.rides] == ["mon", "tue"]


def test_one_in_a_folder_of_several_rides_is_listed_with_what_to_do(bike):
    write_track(bike / "t1.gpx", MONDAY)
    write_track(bike / "t2.gpx", MONDAY + HOUR)
    write_log(bike / "log.csv", None)
    found = find_rides([bike])
    assert len(found.rides) == 2
    assert "2 rides in its folder" in found.failed[0].what
    assert "rides.toml" in found.failed[0].hint


def test_logs_without_wall_time_alone_in_their_folder_are_its_ride(bike):
    write_log(bike / "one" / "log.csv", None)
    assert names(find_rides([bike])) == [["log.csv"]]


def test_a_manifest_overrules_time_and_folder_and_gives_name_and_group(bike):
    write_log(bike / "a.csv", MONDAY)
    write_log(bike / "b.csv", MONDAY, current_a=3.0)  # overlaps, and is another ride all the same
    write_log(bike / "c.csv", MONDAY + HOUR)
    (bike / "rides.toml").write_text('[[ride]]\nfiles = ["a.csv"]\nname = "out"\ngroup = "weak"\n')
    rides = {ride.name: ride for ride in find_rides([bike]).rides}
    assert rides["out"].group == "weak"
    assert [path.name for path in rides["out"].paths] == ["a.csv"]
    assert sorted(rides) == ["b.csv", "c.csv", "out"]


def test_a_file_that_a_manifest_names_and_that_is_not_there_is_said(bike):
    write_log(bike / "a.csv", MONDAY)
    (bike / "rides.toml").write_text('[[ride]]\nfiles = ["a.csv", "gone.gpx"]\n')
    found = find_rides([bike])
    assert found.rides == ()
    assert [error.what for error in found.failed] == ["rides.toml names it, and it is not there"]


@pytest.mark.parametrize(
    ("named", "what"),
    [
        ("c" * 300, "rides.toml names it, and it is not there"),
        (".", "rides.toml names it, and it is no log in that folder"),
        ("rides.toml", "rides.toml names it, and it is no log in that folder"),
        ("../other.csv", "rides.toml names it, and it is no log in that folder"),
    ],
)
def test_what_a_manifest_names_and_cannot_be_a_log_of_the_bike_is_said(bike, named, what):
    """A name longer than names can be ended the audit; what lay elsewhere was passed over, and its ride with it."""
    write_log(bike / "a.csv", MONDAY)
    write_log(bike.parent / "other.csv", MONDAY)
    (bike / "rides.toml").write_text(f'[[ride]]\nfiles = ["a.csv", "{named}"]\n')
    found = find_rides([bike])
    assert [error.what for error in found.failed] == [what]


def test_a_log_that_a_manifest_names_and_that_cannot_be_read_is_said_once(bike):
    write_log(bike / "a.csv", MONDAY)
    (bike / "b.csv").write_text("x")
    (bike / "rides.toml").write_text('[[ride]]\nfiles = ["a.csv", "b.csv"]\n')
    assert [error.source for error in find_rides([bike]).failed] == [str(bike / "b.csv")]


def test_a_slip_in_a_manifest_is_listed_and_no_ride_is_guessed(bike):
    write_log(bike / "a.csv", MONDAY)
    (bike / "rides.toml").write_text('[[ride]]\nfile = ["a.csv"]\n')
    found = find_rides([bike])
    assert found.rides == ()
    assert "unknown key ride.file" in found.failed[0].message


def test_a_bike_is_called_as_its_file_says_else_as_its_folder(tmp_path):
    for folder, text in (("one", '[bike]\nname = "Sandpiper"\n'), ("two", "")):
        write_log(tmp_path / folder / "a.csv", MONDAY)
        (tmp_path / folder / "bike.toml").write_text(text)
    assert [ride.bike for ride in find_rides([tmp_path]).rides] == ["Sandpiper", "two"]


def test_a_bike_in_a_bikes_folder_is_another_bike(bike):
    write_log(bike / "a.csv", MONDAY)
    write_log(bike / "spare" / "b.csv", MONDAY)
    (bike / "spare" / "bike.toml").write_text("")
    assert {(ride.bike, ride.paths[0].name) for ride in find_rides([bike]).rides} == {
        ("heron", "a.csv"),
        ("spare", "b.csv"),
    }


def test_a_slip_in_a_bike_file_is_told_once_and_no_ride_is_measured_without_it(bike):
    write_log(bike / "a.csv", MONDAY)
    (bike / "bike.toml").write_text("[bike]\ntotal_mass_kg = -3.0\n")
    found = find_rides([bike])
    assert found.rides == ()
    assert "total_mass_kg" in found.failed[0].message


def test_a_folder_without_any_bike_file_is_one_bike(tmp_path):
    write_log(tmp_path / "mine" / "a.csv", MONDAY)
    (ride,) = find_rides([tmp_path / "mine"]).rides
    assert (ride.bike, ride.bike_file) == ("mine", None)


def test_a_recording_beside_the_bikes_is_listed(tmp_path, bike):
    write_log(bike / "a.csv", MONDAY)
    write_log(tmp_path / "stray.csv", MONDAY)
    found = find_rides([tmp_path])
    assert len(found.rides) == 1
    assert found.failed[0].source.endswith("stray.csv")


def test_a_broken_file_is_listed_and_its_neighbours_are_rides(bike):
    write_log(bike / "a.csv", MONDAY)
    (bike / "junk.fit").write_bytes(b"\x0e\x10nothing")
    (bike / "empty.gpx").write_bytes(b"")
    (bike / "notes.md").write_text("not a log")
    found = find_rides([bike])
    assert names(found) == [["a.csv"]]
    assert sorted(error.source.rpartition("/")[2] for error in found.failed) == ["empty.gpx", "junk.fit"]
    assert all(error.hint for error in found.failed)


def test_the_key_is_that_of_the_contents_and_the_bike_file(bike):
    log, track = write_log(bike / "a.csv", MONDAY), write_track(bike / "t.gpx", MONDAY)
    (ride,) = find_rides([bike]).rides
    digests = sorted(hashlib.sha256(path.read_bytes()).hexdigest() for path in (log, track, bike / "bike.toml"))
    assert ride.key == hashlib.sha256("\n".join(digests).encode()).hexdigest()
    (bike / "elsewhere").mkdir()
    log.rename(bike / "elsewhere" / "renamed.csv")
    (moved,) = find_rides([bike]).rides
    assert moved.key == ride.key
    (bike / "bike.toml").write_text("[bike]\ntotal_mass_kg = 101.0\n")
    (changed,) = find_rides([bike]).rides
    assert changed.key != ride.key
    assert changed.recordings_key == ride.recordings_key


def test_a_column_map_beside_the_bike_file_is_that_of_its_logs(bike):
    write_log(bike / "a.csv", MONDAY)
    (bike / "columns.toml").write_text("[log]\nsigned = true\n")
    (ride,) = find_rides([bike]).rides
    assert ride.column_map is not None


def test_a_log_whose_clock_states_no_zone_and_a_track_alone_in_a_folder_are_one_ride(bike):
    """The log's wall time is two hours off; the clocks are joined by what both recorded."""
    log = write_log(bike / "mon" / "log.csv", MONDAY + 2 * HOUR)
    log.write_text(log.read_text().replace("Z,", ","))
    write_track(bike / "mon" / "t.gpx", MONDAY)
    assert names(find_rides([bike])) == [["log.csv", "t.gpx"]]


def test_a_folder_given_twice_gives_its_rides_and_failures_once(bike):
    write_log(bike / "a.csv", MONDAY)
    write_log(bike / "tue" / "b.csv", MONDAY + 24 * HOUR)
    (bike / "junk.fit").write_bytes(b"junk")
    (bike.parent / "again").symlink_to(bike)
    once = find_rides([bike])
    assert (len(once.rides), len(once.failed)) == (2, 1)
    for folders in ([bike, bike], [bike.parent, bike], [bike / "tue", bike], [bike, bike.parent / "again"]):
        found = find_rides(folders)
        assert [ride.key for ride in found.rides] == [ride.key for ride in once.rides]
        assert [(error.source, error.message) for error in found.failed] == [
            (error.source, error.message) for error in once.failed
        ]


def test_a_hidden_folder_within_another_is_looked_at_where_it_is_given(bike):
    write_log(bike / "a.csv", MONDAY)
    write_log(bike / ".kept" / "b.csv", MONDAY + HOUR)
    assert names(find_rides([bike, bike / ".kept"])) == [["a.csv"], ["b.csv"]]


def test_a_folder_that_may_not_be_read_is_not_said_to_be_empty(bike, monkeypatch):
    write_log(bike / "a.csv", MONDAY)
    real = os.scandir

    def scandir(path):
        if os.fspath(path) == os.fspath(bike):
            raise PermissionError(errno.EACCES, "Permission denied", os.fspath(path))
        return real(path)

    monkeypatch.setattr(os, "scandir", scandir)
    with pytest.raises(InputError, match="permission denied") as refused:
        find_rides([bike.parent])
    assert refused.value.source == str(bike)


def test_a_store_and_what_is_hidden_hold_no_rides(bike):
    write_log(bike / "a.csv", MONDAY)
    write_log(bike / "kept" / "b.csv", MONDAY + HOUR)
    (bike / "kept" / "store.json").write_text("{}")
    write_log(bike / ".trash" / "c.csv", MONDAY + 2 * HOUR)
    assert names(find_rides([bike])) == [["a.csv"]]


def test_what_is_no_folder_or_holds_no_ride_is_refused_in_one_sentence(tmp_path):
    with pytest.raises(UsageError, match="is no folder"):
        find_rides([tmp_path / "nowhere"])
    with pytest.raises(UsageError, match="holds no ride"):
        find_rides([tmp_path])


class _Kept(dict):
    """Looks kept in memory, counting those that were taken."""

    def look(self, path, size, mtime_ns):
        return self.get((path, size, mtime_ns))

    def keep(self, look, size, mtime_ns):
        assert isinstance(look, Look)
        self[look.path, size, mtime_ns] = look


def test_a_file_that_has_not_changed_is_not_looked_at_again(bike):
    path = write_log(bike / "a.csv", MONDAY)
    kept, taken = _Kept(), []

    def looked(paths):
        taken.extend(each.name for each in paths)
        return [look_at(each) for each in reversed(paths)]

    first = find_rides([bike], kept, looked)
    assert find_rides([bike], kept, looked) == first
    assert sorted(taken) == ["a.csv", "bike.toml"]
    write_log(path, MONDAY, seconds=61)
    assert find_rides([bike], kept, looked) != first
    assert taken[-1] == "a.csv"
