"""How often a sign is found, turned, asked for or wrong; a slice of it in every test run."""

from collections import Counter

import pytest

from tests.proof.sign_study import LOGGERS, outcomes, random_descent, random_ride

N_RIDES, N_DESCENTS = 60, 30
EASY = frozenset({"volts", "volts held 3 s", "speed", "speed held 3 s, heights", "volts and speed held 3 s"})


LARGEST_WRONG_RATIO = 0.05  # of descents, each with its warning in the headline


def held_against(counts, *, least_found, largest_wrong=0.0):
    """No sign is wrong without a doubt; where volts, or speed and heights, are logged, nearly every one is found."""
    for name, each in counts.items():
        assert each["wrong"] == 0, (name, dict(each))
        assert each["wrong, doubted"] <= largest_wrong * each.total(), (name, dict(each))
        if name in EASY:
            assert each["right"] >= least_found * each.total(), (name, dict(each))


def test_the_slice_of_rides_and_descents():
    few = [logger for logger in LOGGERS if logger.name in EASY | {"amperes alone"}]
    rides = outcomes([random_ride(seed) for seed in (1, 2)], few)
    held_against(rides, least_found=0.75)
    assert rides["amperes alone"] == Counter({"right": 2, "right, doubted": 2})
    held_against(outcomes([random_descent(seed) for seed in (1, 2)], few), least_found=0.75, largest_wrong=0.25)


@pytest.mark.proof
def test_rides_by_chance_read_either_way():
    """Of amperes alone, what is not found is asked for: where no current is strong."""
    counts = outcomes(random_ride(seed) for seed in range(100, 100 + N_RIDES))
    held_against(counts, least_found=0.95)
    assert counts["amperes alone"]["asked"] <= 0.1 * counts["amperes alone"].total()


@pytest.mark.proof
def test_descents_by_chance_read_either_way():
    """More comes back than is drawn: amperes alone are asked about, and what is wrong says so."""
    counts = outcomes(random_descent(seed) for seed in range(100, 100 + N_DESCENTS))
    held_against(counts, least_found=0.9, largest_wrong=LARGEST_WRONG_RATIO)
