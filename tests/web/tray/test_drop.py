"""Files told apart, of which one that cannot be used does not keep the others out."""

import pytest

from ridelog.errors import InputError
from ridelog.web.jobs.measuring import is_map
from ridelog.web.tray.drop import drop_of

MAP = b'[[column]]\nheader = "A"\n'


def dropped(folder, *files):
    for name, content in files:
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(content)
    return drop_of([(name, folder / name) for name, _ in files], is_map, None)


def test_logs_bike_and_map_are_told_apart(tmp_path):
    drop = dropped(tmp_path, ("a.csv", b"x"), ("b.toml", b"[bike]\n"), ("m.toml", MAP))
    assert [name for name, _ in drop.recordings] == ["a.csv"]
    assert (drop.bike.name, drop.columns.name, drop.complaints) == ("b.toml", "m.toml", ())
    assert {path.name for path in tmp_path.iterdir()} == {"a.csv"}  # texts are kept as such


def test_of_two_bike_files_neither_is_used_and_a_broken_one_is_left_out(tmp_path):
    drop = dropped(tmp_path, ("a.csv", b"x"), ("1.toml", b"[bike]\n"), ("2.toml", b"[bike]\n"), ("3.toml", b"[b"))
    assert drop.bike is None
    assert [each.split(":")[0].split(",")[0] for each in drop.complaints] == ["2.toml", "3.toml"]


def test_without_recordings_it_is_refused(tmp_path):
    with pytest.raises(InputError, match="is not TOML"):
        dropped(tmp_path, ("3.toml", b"[b"))


LIST = b'[[ride]]\nfiles = ["logs/1.csv", "logs/1.gpx"]\nname = "to work"\ngroup = "weak"\n'


def test_a_manifest_says_which_recordings_are_one_ride_where_all_of_them_are_there(tmp_path):
    logs = [(f"bike/logs/{name}", b"x") for name in ("1.csv", "1.gpx", "2.csv")]
    drop = dropped(tmp_path, *[(name[5:], content) for name, content in logs], ("rides.toml", LIST))
    assert {place: entry.name for place, entry in drop.listed.items()} == dict.fromkeys(
        ("logs/1.csv", "logs/1.gpx"), "to work"
    )
    assert drop.complaints == ()
    assert dropped(tmp_path, ("logs/1.csv", b"x"), ("rides.toml", LIST)).listed == {}
    (told,) = dropped(tmp_path, ("logs/1.csv", b"x"), ("rides.toml", b"[[ride]]\nfile = 1\n")).complaints
    assert told.startswith("rides.toml, line 2")
