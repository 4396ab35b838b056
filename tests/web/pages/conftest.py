"""A page on a store of seven made-up rides of two bikes, whose name and group a browser could take for markup; and one
with a small campaign, and visitors of it.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from dash import Dash

from ridelog.fleet.store.measured import MeasuredRide
from ridelog.report.comparison import files as comparison_files
from ridelog.report.ride import files as ride_files
from ridelog.web.app import create_app
from ridelog.web.jobs.apart import looked_here, measured_here
from ridelog.web.jobs.measuring import measure_given
from ridelog.web.jobs.workshop import Workshop
from ridelog.web.kept.kept import Kept
from ridelog.web.kept.sources import store_rides
from ridelog.web.rides import RideStore
from ridelog.web.tray.trays import Hands, Trays
from tests.fleet.store.kept import made_ride
from tests.web.visits import Guest, write_campaign

BASE = "http://127.0.0.1"


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Kept:
    """Written once for the tests of a module, which change nothing of its rides."""
    kept = store_rides(str(tmp_path_factory.mktemp("kept") / "store"))
    for number in range(7):
        bike = "Avocet" if number < 4 else "Ruff <i>"
        group = "weak" if number % 2 else "strong"
        kept.store().write(replace(ride_with_heights(number, bike), group=group))
    return kept


def ride_with_heights(number: int, bike: str) -> MeasuredRide:
    """A made-up ride whose log wrote heights."""
    ride = made_ride(number, bike=bike, returned_wh=10.0 + number)
    series = ride.answer.series
    heights_m = series["smooth_altitude_m"]
    return replace(ride, answer=replace(ride.answer, series=series.assign(altitude_m=heights_m)))


@pytest.fixture
def look(store: Kept, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Any]:
    """What a visitor reads at an address."""
    monkeypatch.setattr("ridelog.web.kept.kept.PATIENCE_S", 60.0)
    client = create_app(kept=store).server.test_client()
    return lambda path, **more: client.open(path, base_url=BASE, **more)


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Dash]:
    """A page with a small campaign, which works in threads of its own."""
    samples: Path = tmp_path_factory.mktemp("samples")
    write_campaign(samples / "campaign")
    trays = Trays(RideStore(), Workshop(), Hands(partial(measured_here, measure=measure_given), looked_here))
    yield create_app(samples, trays=trays)
    trays.close()


@pytest.fixture(scope="module")
def guests(site: Dash) -> Iterator[Callable[[], Guest]]:
    """Makes visitors of the page.

    Laying out a PDF takes most of the time of a document, and is tested with documents: here its words do.
    """
    with pytest.MonkeyPatch.context() as patched:
        for module in (comparison_files, ride_files):
            patched.setattr(module, "pdf_of", lambda html: b"%PDF " + html.encode())
        yield lambda: Guest(site.server.test_client())


@pytest.fixture
def guest(guests: Callable[[], Guest]) -> Guest:
    """One of them."""
    return guests()
