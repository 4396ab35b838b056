"""Logs on a clock of an unknown zone find the tracks that were recorded meanwhile, and nothing else."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from ridelog.fleet.look import Look
from ridelog.fleet.zones import zones_apart

HOUR = timedelta(hours=1)


def half(name, start, *, minutes=20, log=False, local=False, folder="/b"):
    """A log or a track of so many minutes."""
    return [
        Look(
            Path(folder, name), name, start, start + timedelta(minutes=minutes),
            local=local, electrical=log, track=not log,
        )
    ]  # fmt: skip


def days(n):
    """So many rides, each on another day and at another time of it."""
    return [datetime(2026, 6, 1 + day, 7 + 3 * (day % 3), 5 * day, tzinfo=UTC) for day in range(n)]


def named(rides):
    return sorted(tuple(sorted(look.path.name for look in ride)) for ride in rides)


@pytest.mark.parametrize("offset", [HOUR, -7 * HOUR, timedelta(hours=5, minutes=45)])
@pytest.mark.parametrize("local", ["log", "track"])
def test_each_of_many_logs_finds_its_track(offset, local):
    """In summer in Lisbon, in winter in Denver, in Kathmandu; a log goes on for some minutes after its track."""
    late = {"log": offset if local == "log" else timedelta(), "track": offset if local == "track" else timedelta()}
    rides = []
    for place, start in enumerate(days(12)):
        for kind, minutes in (("log", 23), ("track", 20)):
            when = start + late[kind]
            rides.append(half(f"{place}.{kind}", when, minutes=minutes, log=kind == "log", local=kind == local))
    assert named(zones_apart(rides)) == sorted((f"{place}.log", f"{place}.track") for place in range(12))


def test_tracks_of_some_logs_alone_find_these():
    logs = [half(f"{place}.log", start + HOUR, log=True, local=True) for place, start in enumerate(days(6))]
    tracks = [half(f"{place}.track", start) for place, start in enumerate(days(3))]
    told = named(zones_apart(logs + tracks))
    assert [each for each in told if len(each) == 2] == [(f"{place}.log", f"{place}.track") for place in range(3)]
    assert len(told) == 6


@pytest.mark.parametrize("why", ["zones are known", "no offset fits all", "another folder"])
def test_halves_stay_apart_where(why):
    known, apart = why == "zones are known", why == "another folder"
    logs = [half(f"{place}.log", start + HOUR, log=True, local=not known) for place, start in enumerate(days(4))]
    late = [HOUR * (5 * place if why == "no offset fits all" else 0) for place in range(4)]
    tracks = [
        half(f"{place}.track", start + late[place], folder="/c" if apart else "/b")
        for place, start in enumerate(days(4))
    ]
    assert len(zones_apart(logs + tracks)) == 8
