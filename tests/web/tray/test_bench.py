"""Rides are measured with their texts beside them, which go with the work."""

import threading
import time
from pathlib import Path

from ridelog.web.jobs.workshop import Workshop
from ridelog.web.rides import RideStore, ShownRide
from ridelog.web.tray.bench import Bench, Hands, given_of
from ridelog.web.tray.grouping import KeptFile
from ridelog.web.tray.tray import Coasting, Text, Tray, TrayRide


def until(so):
    """Wait until something is so."""
    end = time.monotonic() + 60
    while not so():
        assert time.monotonic() < end
        time.sleep(0.01)


def test_texts_lie_beside_the_files_only_while_they_are_measured(tmp_path):
    seen = []

    def measured(task, _stopped):
        seen.append([(name, path.read_text()) for name, path in task.files if name.endswith(".toml")])
        return ShownRide("x", error_lines=("y",))

    tray = Tray(tmp_path / "tray", "v", files={"k": KeptFile("k", "a.csv", Path("a.csv"), 1)})
    ride = TrayRide("t", ("k",), "alone", bike=Text("bike.toml", "[bike]\n"))
    tray.rides = [ride]
    bench = Bench(RideStore(), Workshop(), Hands(measured, lambda *_: None), threading.RLock(), tmp_path)
    bench.measure(tray, ride, "something")
    until(lambda: ride.state == "refused")
    assert seen == [[("bike.toml", "[bike]\n")]]
    assert [*tmp_path.iterdir()] == []
    assert [(each.words, each.before, each.after) for each in ride.changes] == [("something", None, None)]


def test_what_coasting_tells_is_kept_by_ride(tmp_path):
    tray = Tray(tmp_path / "tray", "v")
    asked = []

    def coasted(_task, only, _stopped):
        asked.append(only)
        raise OSError(12, "no memory")

    hands = Hands(lambda *_: None, lambda *_: None, coasted)
    bench = Bench(RideStore(), Workshop(), hands, threading.RLock(), tmp_path)
    bench.coast(tray, "t", given_of(tray, TrayRide("t", (), "alone"), None), Coasting("t", (0, 2)))
    until(lambda: tray.coasting["t"].job is None)
    assert asked == [(0, 2)]
    assert "no memory" in tray.coasting["t"].told.message
