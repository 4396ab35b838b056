"""The sign of a current by voltage, state of charge and counters, of a known sign: U = U0 - R·I, positive is out."""

import numpy as np
import pytest

from ridelog.importers.columns.sign_evidence import sign_by_counter, sign_by_fall, sign_by_sag, verdict
from ridelog.signs import SignEvidence

RNG = np.random.default_rng(7)
TIME_S = np.arange(600) * 0.2
CURRENT_A = np.repeat(RNG.uniform(-6, 15, 120), 5)
VOLTAGE_V = 50 - 0.12 * CURRENT_A - 0.001 * TIME_S


def test_a_voltage_sampled_late_does_not_turn_the_sign():
    """Current alternates from sample to sample on a slow swing, and the voltage answers one sample later."""
    swing_a = 8 * np.sin(TIME_S / 3) + np.where(np.arange(600) % 2, 1.5, -1.5)
    late_v = 50 - 0.12 * np.concatenate((swing_a[:1], swing_a[:-1]))
    found = sign_by_sag(late_v, swing_a)
    assert found is not None
    assert found.way != "reversed"


@pytest.mark.parametrize("held_s", [1, 2, 3, 5])
@pytest.mark.parametrize(("sign", "way"), [(1, "as read"), (-1, "reversed")])
def test_a_voltage_that_is_held_for_seconds_shows_the_sign_where_it_is_read_anew(sign, way, held_s):
    """Ten minutes at 5 Hz; each voltage stands for seconds, the current goes on."""
    current_a = np.repeat(np.random.default_rng(3).uniform(-6, 15, 600), 5)
    rows = np.arange(3000) // (5 * held_s) * 5 * held_s
    found = sign_by_sag((50 - 0.12 * current_a)[rows], sign * current_a)
    assert found is not None
    assert found.way == way


def test_noise_alone_shows_no_sign():
    found = sign_by_sag(50 + RNG.normal(0, 0.1, 600), CURRENT_A)
    assert found is not None
    assert found.way == "unclear"
    assert sign_by_sag(np.full(600, 50.0), CURRENT_A) is None


@pytest.mark.parametrize(("sign", "way"), [(1, "as read"), (-1, "reversed")])
def test_each_kind_of_evidence_tells_both_signs(sign, way):
    """Read with either sign, each kind of evidence says which it is."""
    current_a = sign * CURRENT_A
    drawn_ah = np.cumsum(np.clip(CURRENT_A, 0, None)) * 0.2 / 3600
    returned_ah = np.cumsum(np.clip(-CURRENT_A, 0, None)) * 0.2 / 3600
    soc_pct = 80 - 10 * np.cumsum(CURRENT_A) / np.sum(CURRENT_A)
    found = [
        sign_by_sag(VOLTAGE_V, current_a),
        sign_by_fall(soc_pct, current_a, TIME_S),
        sign_by_counter(drawn_ah, current_a, TIME_S, "drawn"),
        sign_by_counter(returned_ah, current_a, TIME_S, "returned"),
        sign_by_counter(drawn_ah - returned_ah, current_a, TIME_S, "net"),
    ]
    assert [item.way if item else None for item in found] == [way] * 5


def test_evidence_that_contradicts_itself_decides_nothing():
    said = [SignEvidence("as read", {"a": 1}), SignEvidence("reversed", {"b": 2}), SignEvidence("unclear", {"c": 3})]
    assert verdict(said) == SignEvidence("unclear", {"a": 1, "b": 2})
    assert verdict(said[:1]) == said[0]
    assert verdict(said[2:]) == said[2]
    assert verdict([]).way == "unclear"
