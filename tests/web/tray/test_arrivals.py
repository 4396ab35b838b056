"""What is given becomes rides, or comes to those that are there, with what came with it."""

import threading
from functools import partial
from pathlib import Path

import pytest

from ridelog.web.jobs.apart import looked_here, measured_here
from ridelog.web.jobs.measuring import is_map, measure_given
from ridelog.web.jobs.workshop import Workshop
from ridelog.web.rides import RideStore
from ridelog.web.tray.arrivals import discard
from ridelog.web.tray.grouping import KeptFile
from ridelog.web.tray.trays import Hands, Trays, drop_of
from tests.web.test_upload import log
from tests.web.tray.giving import give, hand, settled

TURNED = b'[[column]]\nheader = "battery current [A]"\nquantity = "battery current"\nunit = "A"\nsign = -1\n'


def test_a_bike_file_given_alone_is_of_the_rides_that_are_there(trays):
    give(trays, ("1.csv", log(1)))
    (ride,) = give(trays, ("mine.toml", b"[bike]\ntotal_mass_kg = 90\n"))
    assert ride.bike.name == "mine.toml"
    assert trays.store.get(ride.token).answer.bike.total_mass_kg.source == "entered"


def test_the_same_file_once_more_with_a_map_is_read_as_the_map_says(trays):
    """Turned round, what was drawn is what was returned before."""
    (ride,) = give(trays, ("1.csv", log(1)))
    before = trays.store.get(ride.token).answer.charge.returned_ah.value
    (again,) = give(trays, ("1.csv", log(1)), ("map.toml", TURNED))
    assert again.token == ride.token
    assert trays.store.get(ride.token).answer.charge.drawn_ah.value == pytest.approx(before, rel=0.02)


@pytest.mark.parametrize(
    "drops",
    [
        ((("1.csv", log(1)), ("map.toml", TURNED)), (("2.csv", log(2)),)),
        ((("2.csv", log(2)),), (("1.csv", log(1)), ("map.toml", TURNED))),
        ((("1.csv", log(1)),), (("map.toml", TURNED),), (("2.csv", log(2)),)),
    ],
)
def test_what_is_given_before_the_last_was_looked_into_keeps_what_came_with_it(drops):
    """However soon the next comes; a map that follows its log alone is of that log."""
    goes_on = threading.Event()

    def looked(paths, stopped):
        goes_on.wait(60)
        return looked_here(paths, stopped)

    trays = Trays(RideStore(), Workshop(), Hands(partial(measured_here, measure=measure_given), looked))
    numbers = [hand(trays, *files) for files in drops]
    goes_on.set()
    rides = {trays.store.get(ride.token).files[0]: ride for ride in settled(trays)}
    assert {name: ride.columns and ride.columns.name for name, ride in rides.items()} == {
        "1.csv": "map.toml", "2.csv": None,
    }  # fmt: skip
    returned = {name: trays.store.get(ride.token).answer.charge.returned_ah.value for name, ride in rides.items()}
    assert returned["1.csv"] > returned["2.csv"]
    with trays.tray("v") as tray:
        assert tray.arrived == (numbers[-1], rides[drops[-1][0][0]].token)
    trays.close()


def test_what_is_stopped_while_it_is_looked_into_is_not_measured_and_what_is_given_then_is():
    go = threading.Event()

    def looked(paths, stopped):
        assert go.wait(60)
        return looked_here(paths, stopped)

    trays = Trays(RideStore(), Workshop(), Hands(partial(measured_here, measure=measure_given), looked))
    with trays.giving("v") as folder:
        (folder / "0").write_bytes(log(1))
        trays.give("v", drop_of([("1.csv", folder / "0")], is_map, None))
    trays.stop("v")
    go.set()
    assert [ride.state for ride in settled(trays)] == ["stopped"]
    assert [ride.state for ride in give(trays, ("2.csv", log(2)))] == ["stopped", "done"]
    trays.close()


def test_a_file_that_is_given_again_leaves_no_second_copy(trays):
    (first,) = give(trays, ("1.csv", log(1)))
    with trays.tray("v") as tray:
        paths = [file.path for file in tray.files.values()]
    (again,) = give(trays, ("renamed.csv", log(1)))
    assert again.token == first.token
    with trays.tray("v") as tray:
        assert [file.path for file in tray.files.values()] == paths
        assert [path for path in tray.folder.rglob("*") if path.is_file()] == paths


def test_files_that_could_not_be_looked_into_are_measured_all_the_same():
    """Where no process is to be had, which the measure says better."""

    def looked(_paths, _stopped):
        raise OSError(12, "no memory")

    trays = Trays(RideStore(), Workshop(), Hands(partial(measured_here, measure=measure_given), looked))
    assert [ride.state for ride in give(trays, ("1.csv", log(1)))] == ["done"]
    trays.close()


def test_a_folder_goes_with_the_last_of_its_files_and_a_sample_stays(tmp_path):
    folder = tmp_path / "given"
    folder.mkdir()
    files = [KeptFile(str(number), f"{number}.csv", folder / f"{number}", 1) for number in range(2)]
    sample = KeptFile("s", "s.csv", tmp_path / "s.csv", 1, own=False)
    for file in (*files, sample):
        Path(file.path).write_bytes(b"x")
    discard(files[:1])
    assert [path.name for path in folder.iterdir()] == ["1"]
    discard((files[1], sample))
    assert [path.name for path in tmp_path.iterdir()] == ["s.csv"]
