"""The manifest of a bike's folder, and slips in it."""

import pytest

from ridelog.errors import ManifestError
from ridelog.settings.manifest import RideEntry, _first_repeated, read_manifest


def written(tmp_path, text):
    path = tmp_path / "rides.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_manifest_names_the_files_of_rides_and_what_they_are_called(tmp_path):
    text = '[[ride]]\nfiles = ["a.csv", "b/t.gpx"]\nname = "out"\ngroup = "weak"\n[[ride]]\nfiles = ["c.csv"]\n'
    assert read_manifest(written(tmp_path, text)).ride == (
        RideEntry(files=("a.csv", "b/t.gpx"), name="out", group="weak"),
        RideEntry(files=("c.csv",)),
    )
    assert read_manifest(written(tmp_path, "")).ride == ()


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('[[ride]]\nfile = ["a.csv"]\n', "line 2: unknown key ride.file"),
        ('[[rides]]\nfiles = ["a.csv"]\n', "unknown key rides"),
        ('[[ride]]\nfiles = "a.csv"\n', "line 2: ride.files = 'a.csv': a list of texts is allowed"),
        ("[[ride]]\nfiles = 3\n", "line 2: ride.files = 3: a list of texts is allowed"),
        ("ride = 3\n", "line 1: ride = 3: tables are allowed, each headed [[ride]] on a line of its own"),
        ('[[ride]]\nname = "x"\n', "line 1: a ride names no files"),
        ("[[ride]]\nfiles = []\n", "line 2: ride.files = []: a list of texts is allowed"),
        ('[[ride]]\nfiles = ["a.csv"]\nname = 3\n', "line 3: ride.name = 3: text in quotation marks is allowed"),
        ('[[ride]]\nfiles = ["a.csv", "a.csv"]\n', "'a.csv' stands there twice"),
        ('[[ride]]\nfiles = ["a.csv"]\n[[ride]]\nfiles = ["a.csv"]\n', "'a.csv' stands there twice"),
        ("[[ride]]\nfiles = [\n", "rides.toml"),
    ],
)
def test_a_slip_is_told_with_its_place(tmp_path, text, told):
    with pytest.raises(ManifestError) as caught:
        read_manifest(written(tmp_path, text))
    assert told in caught.value.message


class CountedName(str):
    """A name that counts what it is compared with."""

    n_compared = 0
    __hash__ = str.__hash__

    def __eq__(self, other):
        CountedName.n_compared += 1
        return str.__eq__(self, other)


def test_a_name_is_looked_for_among_all_before_it_at_once(monkeypatch):
    """A manifest of 25,000 names took ten seconds: each was compared with all before it."""
    monkeypatch.setattr(CountedName, "n_compared", 0)
    names = [CountedName(f"{k}.csv") for k in range(2000)]
    assert _first_repeated(names) is None
    assert CountedName.n_compared < 2000
    assert _first_repeated([*names, CountedName("7.csv")]) == "7.csv"
