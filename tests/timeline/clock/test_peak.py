"""The best shift of two signals, and whether it stands out from chance: against hand-worked values."""

import math

import numpy as np
import pytest

from ridelog.timeline.clock.correlate import Correlation, correlate_all
from ridelog.timeline.clock.peak import Peak, find_peak, refusal
from ridelog.timeline.clock.settings import DEFAULTS

LAG_S = np.arange(-5.0, 6.0)


def correlation(agreement: np.ndarray, overlap_s: float = 400.0) -> Correlation:
    return Correlation(LAG_S, agreement, np.full(len(LAG_S), overlap_s))


def peak(**changed: float) -> Peak:
    """A peak that every threshold lets pass."""
    values = {"lag_s": 0.0, "agreement": 0.9, "overlap_s": 900.0, "score": 9.0, "rival_ratio": 0.2, "width_s": 5.0}
    return Peak(**(values | changed))


def test_the_peak_of_a_parabola_lies_between_the_shifts() -> None:
    """r = 0.9 - 0.01 (lag - 1.3)² has its top at 1.3 s, which three points of it tell exactly."""
    found = find_peak(correlation(0.9 - 0.01 * (LAG_S - 1.3) ** 2), width_s=1.0)
    assert found is not None
    assert found.lag_s == pytest.approx(1.3)
    assert found.agreement == pytest.approx(0.9 - 0.01 * 0.3**2)


def test_the_score_is_fishers() -> None:
    """r = 0.8 over 400 s with a half-width of 5 s: 40 stretches, atanh(0.8) = ln(9) / 2 = 1.0986, times √37."""
    agreement = np.zeros(11)
    agreement[7] = 0.8
    found = find_peak(correlation(agreement), width_s=5.0)
    assert found is not None
    assert found.score == pytest.approx(math.log(9) / 2 * math.sqrt(37))
    assert found.overlap_s == 400.0


def test_the_rival_is_the_next_height_outside_the_peaks_own_width() -> None:
    """atanh(0.6) = ln(4) / 2, atanh(0.8) = ln(9) / 2, equal overlaps: ln 4 / ln 9; up to 2 s away it is the peak."""
    agreement = np.zeros(11)
    agreement[[7, 2, 8]] = 0.8, 0.6, 0.79
    found = find_peak(correlation(agreement), width_s=1.0)
    assert found is not None
    assert found.rival_ratio == pytest.approx(math.log(4) / math.log(9))


def test_a_long_overlap_beats_a_slightly_higher_agreement() -> None:
    """atanh(0.95) √900 = 55 against atanh(0.97) √100 = 21."""
    agreement, overlap_s = np.zeros(11), np.full(11, 100.0)
    agreement[[2, 8]], overlap_s[2] = (0.95, 0.97), 900.0
    found = find_peak(Correlation(LAG_S, agreement, overlap_s), width_s=1.0)
    assert found is not None
    assert (found.lag_s, found.agreement) == (-3.0, 0.95)


def test_only_allowed_shifts_are_chosen_and_nothing_is_found_where_none_agrees() -> None:
    agreement = np.zeros(11)
    agreement[[2, 8]] = 0.9, 0.5
    found = find_peak(correlation(agreement), 1.0, LAG_S > 0)
    assert found is not None
    assert found.lag_s == 3.0
    assert find_peak(correlation(agreement), 1.0, np.zeros(11, dtype=bool)) is None
    assert find_peak(correlation(-np.ones(11)), 1.0) is None
    assert find_peak(correlation(np.full(11, np.nan)), 1.0) is None
    assert find_peak(correlate_all(np.full(50, np.nan), np.arange(50.0), 1.0, 5.0), 1.0) is None


@pytest.mark.parametrize(("lag_s", "middle_s"), [(100.0, 550.0), (0.0, 450.0), (-100.0, 450.0)])
def test_the_middle_of_the_overlap_counts_from_the_references_first_sample(lag_s: float, middle_s: float) -> None:
    """900 s that begin with the later of the two recordings."""
    assert peak(lag_s=lag_s).middle_s == middle_s


@pytest.mark.parametrize(
    ("changed", "reason"),
    [({}, None), ({"agreement": 0.49}, "weak"), ({"score": 4.4}, "short"), ({"rival_ratio": 0.91}, "ambiguous")],
)
def test_a_peak_is_refused_below_each_threshold(changed: dict[str, float], reason: str | None) -> None:
    refused = refusal(peak(**changed), DEFAULTS)
    assert (None if refused is None else refused.reason) == reason
