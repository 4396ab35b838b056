"""Comparisons of answers that a test makes up, through a store as they would come."""

import hashlib
from collections.abc import Sequence
from pathlib import Path

from ridelog.answer.ride import Answer
from ridelog.compare.groups import Beside, Compared, ComparedRide, compared
from ridelog.compare.places import group_place
from ridelog.fleet.beside import beside
from ridelog.fleet.store.measured import MeasuredRide
from ridelog.fleet.store.store import open_store

Row = tuple[str, str, str, Answer]  # group, name, bike, answer


def rides_at_hand(**answers: Answer) -> tuple[ComparedRide, ...]:
    """Two groups of one bike as files would give them: rides of samples, by their names, by turns of "off" and "on"."""
    bike = Beside("bike.toml", "bike", "b" * 64)
    told = []
    for at, (name, answer) in enumerate(answers.items()):
        key = hashlib.sha256(name.encode()).hexdigest()
        told.append(ComparedRide(("off", "on")[at % 2], name, key, answer.ride.start, "Avocet", "x", answer, (bike,)))
    return tuple(told)


def compared_of(folder: Path, rides: Sequence[Row]) -> Compared:
    """The rides, kept in a store below a folder and taken out again."""
    place = folder / "kept"
    store = open_store(place, create=True)
    for group, name, bike, answer in rides:
        key = hashlib.sha256(name.encode()).hexdigest()
        extra = {**beside(answer), "recordings": key}
        store.write(MeasuredRide(key, bike, name, group, answer, extra))
    groups = dict.fromkeys(group for group, *_ in rides)
    return compared([group_place(f"{group}={place}?group={group}") for group in groups])
