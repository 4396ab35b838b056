"""CdA learned from the coasting of many rides of made-up fleets whose loggers show pedals and brake, against the truth.

The bike files say nothing of CdA; Crr and motor drag are as their riders took them for, off by up to what they state.
"""

import numpy as np
import pytest

from ridelog.fleet.audit import audit
from ridelog.fleet.learning import teaching_of
from ridelog.fleet.store.store import open_store
from sample_rides.fleet import LogPlan, write_fleet
from sample_rides.fleet.bikes import drawn_bike

N_BIKES = 20


@pytest.fixture(scope="module", params=[71, 72])
def errors(request, tmp_path_factory):
    """Of each bike that coasted enough: error of CdA over its standard uncertainty, and the limit it leaves."""
    place = tmp_path_factory.mktemp(f"drag-{request.param}")
    logs = LogPlan(with_controls=True)
    write_fleet(place / "fleet", n_bikes=N_BIKES, rides_per_bike=25, seed=request.param, logs=logs)
    for file in (place / "fleet").glob("*/bike.toml"):
        lines = file.read_text(encoding="utf-8").splitlines()
        file.write_text("\n".join(line for line in lines if not line.startswith("cda_")) + "\n", encoding="utf-8")
    store = open_store(place / "store", create=True)
    audit([place / "fleet"], store)
    rng, found = np.random.default_rng(request.param), []
    for number in range(N_BIKES):
        bike = drawn_bike(number, rng)
        drag = teaching_of(store, bike.name).drag
        if drag is not None:
            u = drag.cda_limit_m2 / np.sqrt(3)
            found.append(((drag.cda_m2.value - bike.machine.cda_m2) / u, drag.cda_limit_m2))
    return np.array(found)


@pytest.mark.proof
def test_the_drag_area_is_held_and_known_better_than_before(errors):
    """At most one bike of a fleet beyond 95 %; half of the limits below half of the 0.29 m² that is assumed."""
    off, limits = errors.T
    assert len(off) >= N_BIKES / 2
    assert np.count_nonzero(np.abs(off) > 1.96) <= 1
    assert np.median(limits) < 0.29 / 2
