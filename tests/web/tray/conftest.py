"""Trays whose files are read in threads of this process."""

from collections.abc import Iterator
from functools import partial

import pytest

from ridelog.web.jobs.apart import looked_here, measured_here
from ridelog.web.jobs.measuring import measure_given
from ridelog.web.jobs.workshop import Workshop
from ridelog.web.rides import RideStore
from ridelog.web.tray.trays import Hands, Trays


@pytest.fixture
def trays() -> Iterator[Trays]:
    """Trays of nobody yet."""
    hands = Hands(partial(measured_here, measure=measure_given), looked_here)
    made = Trays(RideStore(), Workshop(), hands)
    yield made
    made.close()
