"""What reached the battery cannot exceed what the wheel had to give, and that is used (JCGM 101:2008, 6.4)."""

import pytest

from ridelog.answer.ride import Answer
from tests.scenarios import SEEDS, SLUGS, sample_answer, simulated_answer


def beyond_bounds(answer: Answer) -> list[str]:
    """Every captured share that does not lie, with its interval, between 0 and 100."""
    shares = [answer.braking, *answer.braking.events, *answer.braking.kinds, *answer.hills, *answer.speed_bands]
    wrong = []
    for of in shares:
        share = of.captured_pct
        if share is None:
            continue
        low, high = (share.value if bound is None else bound for bound in (share.low95, share.high95))
        if not 0 <= low <= share.value <= high <= 100:
            wrong.append(f"{type(of).__name__}: {share}")
    return wrong


@pytest.mark.parametrize("slug", SLUGS)
def test_the_captured_shares_of_a_sample_ride_lie_between_0_and_100(slug):
    assert beyond_bounds(sample_answer(slug)) == []


@pytest.mark.parametrize("seed", SEEDS)
def test_the_captured_shares_of_a_simulated_ride_lie_between_0_and_100(seed):
    assert beyond_bounds(simulated_answer(seed)) == []
