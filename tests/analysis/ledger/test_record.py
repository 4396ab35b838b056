"""The ledger put together, and what it tells that a rider must know."""

import dataclasses

import numpy as np
import pytest

from ridelog.analysis.braking.events import measured_events
from ridelog.analysis.ledger.record import assumptions, beyond_available, fading, ledger_record, limited, still_height_m
from ridelog.answer.ledger import ReturnLimit, SpeedBand
from ridelog.uncertain.quantity import Quantity
from tests.analysis.ledger.test_entries import held, perfect


def band(low, high, value, low95, high95):
    some = Quantity(1.5, 1.0, 2.0)
    return SpeedBand(low, high, 10.0, some, some, some, Quantity(value, low95, high95))


def test_fading_is_told_where_the_intervals_part():
    (finding,) = fading((band(0, 10, 12, 9, 17), band(10, 20, 30, 20, 40), band(20, 30, 26, 22, 37)))
    assert finding.code == "regen-fades"
    facts = finding.facts
    assert (facts["captured_pct"], facts["available_wh"], facts["best_captured_pct"]) == (12, 1.5, 30)
    bounds_kmh = [3.6 * facts[name] for name in ("below_mps", "best_low_mps", "best_high_mps")]
    assert bounds_kmh == pytest.approx([10, 10, 20])
    assert fading((band(0, 10, 12, 9, 21), band(10, 20, 30, 20, 40))) == []
    assert fading((band(0, 10, 40, 30, 50), band(10, 20, 20, 15, 25))) == []
    assert fading(()) == []


def test_fading_is_not_told_of_a_band_that_hardly_had_anything():
    """It captured most, but anything from 0 to 92 %; the one that is surely better counts."""
    (finding,) = fading((band(0, 10, 14, 12, 17), band(10, 20, 27, 24, 30), band(20, 30, 44, 0, 92)))
    assert finding.facts["best_captured_pct"] == 27


def beyond(scene):
    return beyond_available(scene, measured_events(scene))


def test_more_returned_than_braking_had_is_a_warning_only_beyond_two_standard_uncertainties():
    """8.07 Wh were available; the road load's defaults leave u some Wh (by a worked table 30 % where little is known).

    3.84 Wh (2 A) are less; 9.6 Wh (5 A) are more, but within 2 u; 38.4 Wh (20 A) are not.
    """
    assert beyond(held(-2.0)) == []
    assert beyond(held(-5.0)) == []
    (finding,) = beyond(held(-20.0))
    assert (finding.code, finding.severity) == ("captured-beyond-available", "warning")
    assert (finding.start_s, finding.end_s) == (0.0, 144.0)


def test_where_the_height_never_moves_that_is_said_instead():
    """The same return, and a height written as 12 m throughout: no descent can be told from that."""
    scene = held(-20.0)
    n = len(scene.track.time_s)
    rolled_m = np.linspace(0.0, 1200.0, n)
    for altitude_m, code in ((np.full(n, 12.0), "height-still"), (12 - rolled_m / 20, "captured-beyond-available")):
        track = dataclasses.replace(scene.track, altitude_m=altitude_m, distance_m=rolled_m)
        (finding,) = beyond(dataclasses.replace(scene, track=track))
        assert finding.code == code
    assert still_height_m(scene) is None  # 12 m or not, too little of it is known to have been ridden level


def test_a_ride_without_heights_or_battery_energy_has_no_ledger():
    scene, _, _ = perfect(71)
    for part in ({"heights": None}, {"flow": dataclasses.replace(scene.flow, energy=None)}):
        assert ledger_record(dataclasses.replace(scene, **part), (), ()) == (None, (), [])


def test_the_ledger_of_a_ride_holds_its_events_and_what_was_assumed():
    scene, _, _ = perfect(71)
    events = measured_events(scene)
    ledger, bands, _ = ledger_record(scene, events, ())
    assert len(ledger.events) == len(events) > 0
    assert ledger.hills == ()
    assert bands
    assert ledger.assumed == assumptions(scene.drag, rider_known=True)


def test_a_limit_that_regen_meets_is_stated():
    (finding,) = limited(ReturnLimit(Quantity(5.0, 4.8, 5.2), 4.0, 7, 31.0))
    assert (finding.code, finding.facts["limit_a"], finding.facts["n_events"]) == ("regen-limited", 5.0, 7)
    assert limited(None) == []
