"""Trays are bounded in number and size, and nobody pushes out what others gave by taking more of them."""

from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

import pytest

from ridelog.web.jobs.apart import looked_here, measured_here
from ridelog.web.jobs.measuring import is_map, measure_given
from ridelog.web.jobs.workshop import Workshop
from ridelog.web.rides import RideStore
from ridelog.web.tray.bounds import Bounds, to_give_up
from ridelog.web.tray.grouping import KeptFile
from ridelog.web.tray.tray import Text, Tray
from ridelog.web.tray.trays import Hands, Trays, drop_of
from tests.places import SAMPLES
from tests.web.tray.giving import give, settled


def tray(turn, asked_s, *sizes):
    """A tray with files of these sizes."""
    files = {str(place): KeptFile(str(place), "a", Path("a"), size) for place, size in enumerate(sizes)}
    return Tray(Path(), turn, files=files, asked_s=asked_s)


@dataclass
class Gone:
    """What goes of some trays, by when it was asked for."""

    trays: list[Tray]
    bounds: Bounds
    spared: Tray | None = field(default=None)

    def asked_s(self):
        spared = self.spared or tray("new", 99)
        return [each.asked_s for each in to_give_up([*self.trays, spared], spared, self.bounds)]


def test_within_all_bounds_nothing_goes():
    assert (
        Gone([tray("a", 1, 5), tray("b", 2)], Bounds(most_bytes_all=5, most_files_all=1, most_trays=3)).asked_s() == []
    )


@pytest.mark.parametrize("bounds", [Bounds(most_bytes_all=25), Bounds(most_files_all=5)])
def test_whoever_has_most_gives_up_first_whichever_is_older(bounds):
    """Of 35 bytes and 7 files, 20 and 4 are those of one address: its two oldest go."""
    hog = [tray("hog", asked_s, 5) for asked_s in (5, 6, 7, 8)]
    assert Gone([tray("a", 1, 5), tray("b", 2, 5), tray("c", 3, 5), *hog], bounds).asked_s() == [5, 6]


def test_of_those_who_have_as_much_the_one_asked_for_longest_ago_goes():
    trays = [tray(turn, asked_s, 5) for turn, asked_s in (("a", 3), ("b", 1), ("c", 2))]
    assert Gone(trays, Bounds(most_bytes_all=10)).asked_s() == [1]


def test_of_too_many_trays_those_that_hold_nothing_go_first():
    trays = [tray("a", 1, 5), tray("a", 2, 5), tray("b", 3), tray("c", 4)]
    assert Gone(trays, Bounds(most_trays=3)).asked_s() == [3, 4]
    assert Gone(trays, Bounds(most_trays=2)).asked_s() == [3, 4, 1]


def test_the_tray_in_use_stays_even_where_it_alone_is_too_large():
    spared = tray("a", 1, 50)
    assert Gone([tray("b", 2, 5)], Bounds(most_bytes_all=10), spared).asked_s() == [2]


@pytest.fixture
def trays():
    hands = Hands(partial(measured_here, measure=measure_given), looked_here)
    made = Trays(RideStore(), Workshop(), hands, Bounds(most_trays=5, most_of_samples=4))
    yield made
    made.close()


def test_who_only_looks_leaves_nothing_and_who_gives_is_one_of_few(trays):
    for number in range(50):
        with trays.tray(f"looks {number}"):
            pass
    assert len(trays._trays) == 0
    for number in range(12):
        with trays.giving(f"gives {number}") as folder:
            put(trays, f"gives {number}", folder)
    assert [*trays._trays] == [f"gives {number}" for number in range(7, 12)]
    assert folders(trays) == {tray.folder for tray in trays._trays.values()}


def test_who_is_just_giving_is_not_pushed_out_by_who_gives_meanwhile_and_counts_as_any_other_then(trays):
    """Many come while a file is on its way, and each would push out who holds nothing yet."""
    with trays.giving("slow") as folder:
        for number in range(12):
            with trays.giving(f"quick {number}") as other:
                put(trays, f"quick {number}", other)
        assert len(trays._trays) == 5
        put(trays, "slow", folder)
    with trays.tray("slow") as tray:
        assert [file.path.read_bytes() for file in tray.files.values()] == [b"not a log"]
    for number in range(12):
        with trays.giving(f"later {number}") as other:
            put(trays, f"later {number}", other)
    assert "slow" not in trays._trays
    assert folders(trays) == {tray.folder for tray in trays._trays.values()}


@pytest.mark.parametrize("error", [OSError, KeyboardInterrupt])
def test_of_what_could_not_be_given_nothing_is_left(trays, error):
    def broken_off():
        with trays.giving("v") as folder:
            (folder / "0").write_bytes(b"half")
            raise error

    with pytest.raises(error):
        broken_off()
    with trays.tray("v") as tray:
        assert (tray.n_giving, [*tray.folder.iterdir()]) == (0, [])
    with trays.giving("v"):
        pass
    assert [*tray.folder.iterdir()] == []


def put(trays, visitor, folder):
    """Give a file that is no log."""
    (folder / "0").write_bytes(b"not a log")
    trays.give(visitor, drop_of([("a.csv", folder / "0")], is_map, None))


def folders(trays):
    """Folders of trays: beside them lie the texts that are being measured, and a lock."""
    return {path for path in trays.folder.iterdir() if path.is_dir() and path.name != "texts"}


def test_a_visitor_leaves_no_empty_folders_and_no_notes_of_files_that_went(trays):
    """The same file given again and again, put with itself and taken out."""
    for _ in range(5):
        (ride,) = give(trays, ("1.csv", b"not a log"))
        trays.put_with("v", ride.files[0], None)
        settled(trays)
    trays.remove("v", ride.files[0])
    give(trays, ("2.csv", b"no log either"))
    with trays.tray("v") as tray:
        assert len(tray.by_hand) <= 1
        assert len(list(tray.folder.iterdir())) == 2


def test_rides_made_of_samples_make_room_for_each_other(trays):
    files = (SAMPLES / "commute" / "controller.csv", SAMPLES / "commute" / "track.gpx")
    tokens = [trays.take_sample("v", f"ride {number}", files, Text("bike.toml", "")) for number in range(4)]
    with trays.tray("v") as tray:
        assert [ride.token for ride in tray.rides] == tokens[-2:]
        assert tray.n_files == 4
