"""Files told apart, of which one that cannot be used does not keep the others out."""

import pytest

from ridelog.errors import InputError
from ridelog.web.jobs.measuring import is_map
from ridelog.web.tray.drop import drop_of

MAP = b'[[column]]\nheader = "A"\n'


def dropped(folder, *files):
    for name, content in files:
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
