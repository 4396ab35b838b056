"""Passes over hills: which seconds and which braking lie on each, and what is held of very many."""

import weakref

import numpy as np
import pytest

from ridelog.analysis.braking.hills import descents_share_pct, hill_passes, hill_records
from ridelog.analysis.braking.passes import _runs_on, within
from ridelog.analysis.ledger.record import ledger_record
from tests.analysis.braking.a_hill import LEAST, ridden


def test_braking_counts_on_a_hill_as_far_as_it_lies_on_it():
    _, scene, events, passes, _ = ridden()
    first, last = passes[1].run
    counted, losing = within(scene, events, passes[1].run)
    assert counted == passes[1].counted
    assert all(first <= start < end <= last for start, end in (*counted, *losing))
    assert within(scene, events, (first, first)) == ([], [])


def test_no_second_is_on_two_hills():
    """Ten metres a sample: hills that meet at 104 m, those that share nothing, and a short one between two others."""
    distance_m = np.arange(0.0, 400.0, 10.0)
    assert _runs_on(distance_m, [(20.0, 104.0), (104.0, 200.0)]) == [(2, 10), (10, 20)]
    assert _runs_on(distance_m, [(20.0, 100.0), (150.0, 205.0)]) == [(2, 10), (15, 21)]
    first, short, last = _runs_on(distance_m, [(20.0, 104.0), (104.0, 126.0), (126.0, 200.0)])
    assert (first[1], short[1]) == (short[0], last[0]) == (10, 13)
    assert _runs_on(distance_m, [(5.0, 7.0), (7.0, 9.0)]) == [(0, 1), (0, 1)]  # nothing lies between to part them


def test_which_distances_are_known_is_looked_for_once_a_ride_not_once_a_hill(monkeypatch):
    """On 52 hills of a long log at 100 Hz that took as long as reading a third of it."""
    distance_m, asked = 10.0 * np.arange(21), []
    once = np.isfinite
    monkeypatch.setattr(np, "isfinite", lambda values: asked.append(np.size(values)) or once(values))
    _runs_on(distance_m, [(20.0, 100.0), (150.0, 160.0), (170.0, 205.0)])
    assert asked.count(21) == 1


def trials_of(one):
    return [one.energy.drawn.trials, one.energy.returned.trials, one.available_wh.trials]


def test_trials_of_the_first_passes_are_held_and_those_of_the_others_are_the_same_when_asked_for_again(monkeypatch):
    """With what the bike gained 0.23 MB each, they took 190 MB of a log of 1.9 MB; but one none is held here."""
    _, scene, events, passes, pairs = ridden()
    monkeypatch.setattr("ridelog.analysis.braking.passes.MOST_HELD", 0)
    few, pairs_of_few = hill_passes(scene, events, **LEAST)
    for place in (1, 0, 1):
        for again, before in zip(trials_of(few[place]), trials_of(passes[place]), strict=True):
            np.testing.assert_array_equal(again, before)
    first, last = weakref.ref(few[0].available_wh), weakref.ref(few[1].available_wh)
    assert (first() is None, last() is None) == (True, False)
    assert hill_records(scene, few, pairs_of_few) == hill_records(scene, passes, pairs)
    assert descents_share_pct(scene, few) == descents_share_pct(scene, passes)
    assert ledger_record(scene, events, few)[0].hills == ledger_record(scene, events, passes)[0].hills


def test_what_passes_had_available_is_held_to_what_the_ride_had_when_it_is_worked_out_again_as_well(monkeypatch):
    """A ride whose braking had half of what its hills had, which no ride has: their best values are halved."""
    _, scene, events, passes, _ = ridden()
    whole_wh = sum(one.available_wh.value for one in passes)
    monkeypatch.setattr("ridelog.analysis.braking.passes.best_wh", lambda _events: whole_wh / 2)
    for most_held in (0, 128):
        monkeypatch.setattr("ridelog.analysis.braking.passes.MOST_HELD", most_held)
        held, _ = hill_passes(scene, events, **LEAST)
        assert sum(one.available_wh.value for one in held) == pytest.approx(whole_wh / 2)
