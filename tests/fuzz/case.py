"""One input by its number: what it is, its files, and how far it is taken."""

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from tests.fuzz.logs import log_by_chance
from tests.fuzz.others import bike_by_chance, bytes_damaged, map_by_chance, packed_by_chance
from tests.fuzz.pages import page_by_chance
from tests.fuzz.rides import ride_by_chance
from tests.fuzz.tracks import fit_by_chance, gpx_by_chance
from tests.fuzz.visits import visit_by_chance

KINDS = ("log", "bytes", "gpx", "fit", "packed", "bike", "map", "ride", "visit", "page")
SHARES = (0.3, 0.08, 0.17, 0.15, 0.1, 0.06, 0.06, 0.03, 0.025, 0.025)
MEASURED_SHARE = 0.04  # of the files that are not made to be measured


@dataclass(frozen=True)
class Case:
    """Files of one ride with their names, or a request; ``measured`` where they are taken all the way to an answer."""

    seed: int
    kind: str
    files: tuple[tuple[str, bytes], ...] = ()
    bike: bytes | None = None
    columns: bytes | None = None
    measured: bool = False
    visit: dict[str, Any] | None = field(default=None)

    @property
    def n_bytes(self) -> int:
        """Size of all that is given [byte]."""
        return sum(len(content) for _, content in self.files) + len(self.bike or b"") + len(self.columns or b"")


def case_of(seed: int, only: str | None = None) -> Case:
    """The input of this number, always the same; of one kind where one is named."""
    rng = np.random.default_rng([seed, 20])
    kind = str(rng.choice(KINDS, p=SHARES))
    measured = bool(rng.random() < MEASURED_SHARE)
    kind = kind if only is None else only
    if kind == "page":
        return Case(seed, kind, visit=page_by_chance(rng))
    if kind == "visit":
        return Case(seed, kind, visit=visit_by_chance(rng))
    if kind in ("bike", "map"):
        bike, columns = (bike_by_chance(rng), None) if kind == "bike" else (None, map_by_chance(rng))
        own = (("ride.csv", ride_by_chance(rng)),) if measured else ()
        return Case(seed, kind, own, bike, columns, measured=measured)
    if kind == "ride":
        files = [("ride.csv", ride_by_chance(rng))]
        if rng.random() < 0.25:
            files.append(("track.gpx", gpx_by_chance(rng)))
        return Case(seed, kind, tuple(files), bike_by_chance(rng) if rng.random() < 0.2 else None, measured=True)
    name, content = _file(rng, kind)
    return Case(seed, kind, ((name, content),), measured=measured)


def _file(rng: np.random.Generator, kind: str) -> tuple[str, bytes]:
    if kind == "log":
        return str(
            rng.choice(["ride.csv", "ride.txt", "ride.log", "ride", "ride.gpx"], p=[0.7, 0.1, 0.1, 0.05, 0.05])
        ), log_by_chance(rng)
    if kind == "gpx":
        return str(rng.choice(["t.gpx", "t.xml", "t.csv"], p=[0.8, 0.1, 0.1])), gpx_by_chance(rng)
    if kind == "fit":
        return str(rng.choice(["t.fit", "t.bin"])), fit_by_chance(rng)
    makers = (log_by_chance, gpx_by_chance, fit_by_chance)
    content = makers[int(rng.integers(3))](rng)
    if kind == "packed":
        return str(rng.choice(["r.zip", "r.gz", "r.csv.gz", "r"])), packed_by_chance(rng, content)
    for _ in range(int(rng.integers(1, 6))):
        content = bytes_damaged(rng, content)
    return str(rng.choice(["a.csv", "a.gpx", "a.fit", "a"])), content
