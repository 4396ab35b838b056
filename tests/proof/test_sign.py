"""How often a sign is found, turned, asked for or wrong; a slice of it in every test run."""

from collections import Counter

import pytest

from tests.proof.sign_study import LOGGERS, outcomes, random_descent, random_ride

N_RIDES, N_DESCENTS = 60, 30
EASY = frozenset({"volts", "volts held 3 s", "speed", "speed held 3 s, heights", "volts and speed held 3 s"})


def held_against(counts, *, least_found, easy=EASY):
    """No sign is wrong; where volts or speed and heights are logged, nearly every sign is found without a doubt."""
    for name, each in counts.items():
        assert each["wrong"] + each["wrong, doubted"] == 0, (name, dict(each))
        if name in easy:
            assert each["right"] >= least_found * each.total(), (name, dict(each))


def test_the_slice_of_rides_and_descents():
    few = [logger for logger in LOGGERS if logger.name in EASY | {"amperes alone"}]
    rides = outcomes([random_ride(seed) for seed in (1, 2)], few)
    held_against(rides, least_found=0.75)
    assert rides["amperes alone"] == Counter({"right": 2, "right, doubted": 2})
    held_against(outcomes([random_descent(seed) for seed in (1, 2)], few), least_found=0.75)


@pytest.mark.proof
def test_rides_by_chance_read_either_way():
    counts = outcomes(random_ride(seed) for seed in range(100, 100 + N_RIDES))
    held_against(counts, least_found=0.95)
    assert counts["amperes alone"]["asked"] == 0


@pytest.mark.proof
def test_descents_by_chance_read_either_way():
    """More comes back than is drawn: amperes alone are asked about, and nothing is wrong."""
    counts = outcomes(random_descent(seed) for seed in range(100, 100 + N_DESCENTS))
    held_against(counts, least_found=0.9)
