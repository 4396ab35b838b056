"""A charge path that opens while the bike is braked, and what only looks like one."""

from dataclasses import replace

import numpy as np
import pytest

from ridelog.analysis.pack.cut_out import cut_outs, weakening
from tests.analysis.pack.pack_logs import pack_log_of, stretches

FULL_V, COLD_C = 4.20, 0.0
PARTS = ((2, 10), (-6, 10), (0, 10), (3, 10))  # the current into the battery breaks off at 20 s


def braked_log(*, cell_v=4.26, after_v=4.15, parts=PARTS, **changes):
    """Charging at ``cell_v``; after 20 s ``after_v``."""
    cells = np.select([stretches(*parts)[0] < 20 - 1e-9], [cell_v], after_v)
    return pack_log_of(*parts, volts=13 * cells, **changes)


def cuts(log):
    return cut_outs(log, FULL_V, COLD_C)


def test_current_that_breaks_off_above_full_while_braking_goes_on_is_a_cut_out():
    """6 A until 19.8 s, then nothing until 3 A are drawn at 30 s (the times of the stretches)."""
    (cut,) = cuts(braked_log())
    assert cut.start_s == pytest.approx(19.8)
    assert cut.end_s == pytest.approx(29.8)
    assert cut.returned_a == pytest.approx(6)
    assert cut.before_v == pytest.approx(13 * 4.26)
    assert cut.after_v == pytest.approx(13 * 4.15)
    assert (cut.bus_jumped, cut.full, cut.cold) == (False, True, False)


def test_a_bus_that_rises_as_the_current_ends_has_lost_the_pack():
    """A pack's voltage falls when charging ends; here it rises from 52 to 65 V, and nobody knows of full cells."""
    log = braked_log(cell_v=4.0, after_v=5.0, braking_mask=np.zeros(200, dtype=bool))
    (cut,) = cuts(log)
    assert cut.bus_jumped
    assert cut.after_v == pytest.approx(65)


def test_a_pack_that_is_too_cold_may_open_its_charge_path_too():
    (cut,) = cuts(braked_log(cell_v=3.9, after_v=3.85, temperature_c=np.full(200, -5.0)))
    assert cut.cold
    assert not cut.full


def test_a_rider_who_lets_go_of_the_brake_is_no_cut_out():
    """Nothing brakes after 20 s."""
    assert cuts(braked_log(braking_mask=np.arange(200) < 100)) == []


def test_braking_that_ends_within_three_seconds_at_the_foot_of_a_hill_is_no_cut_out():
    """Grades are blurred over some seconds of road."""
    assert cuts(braked_log(braking_mask=np.arange(200) < 114)) == []


def test_hard_slowing_for_two_seconds_is_enough():
    """1 m/s² for 2.8 s after the cut, then nothing more of braking."""
    time_s = stretches(*PARTS)[0]
    speed = np.clip(8 - np.maximum(time_s - 20, 0), 5.2, None)
    assert len(cuts(braked_log(speed_mps=speed, braking_mask=np.arange(200) < 114))) == 1


def test_the_brake_signal_tells_that_the_rider_still_brakes():
    brake = np.where(np.arange(200) < 115, 1.0, 0.0)
    assert len(cuts(braked_log(brake_ratio=brake, braking_mask=np.arange(200) < 100))) == 1


def test_regen_that_fades_within_a_second_was_ended_by_the_controller():
    """6 A fall to nothing over 1 s."""
    log = braked_log()
    fading = np.interp(log.time_s, [19.0, 20.0], [-6.0, 0.0])
    current = np.where((log.time_s > 19) & (log.time_s <= 20), fading, log.current_a)
    assert cuts(replace(log, current_a=current)) == []


def test_regen_that_ends_near_a_standstill_was_ended_by_the_controller():
    assert cuts(braked_log(speed_mps=np.where(np.arange(200) < 100, 3.0, 1.5))) == []


@pytest.mark.parametrize("what", ["half full", "speed not known", "return not shown", "missing samples"])
def test_without_evidence_nothing_is_told(what):
    log = braked_log(cell_v=3.9, after_v=3.85) if what == "half full" else braked_log()
    if what == "speed not known":
        log = replace(log, speed_mps=np.full(200, np.nan))
    if what == "return not shown":
        log = replace(log, shows_return=False)
    if what == "missing samples":
        log = replace(log, counted=np.arange(199) != 99)
    assert cuts(log) == []


def test_each_cut_out_is_told_once():
    twice = (*PARTS, *PARTS)
    log = pack_log_of(*twice, volts=13 * 4.25)
    assert [round(cut.start_s, 1) for cut in cuts(log)] == [19.8, 59.8]


def easing(*, held):
    """5 A for 10 s, then down to 2 A within 3 s on a pack of 0.1 ohm; its voltage held, or falling with the current."""
    time_s = 0.2 * np.arange(100)
    current = np.interp(time_s, [0, 10, 13], [-5.0, -5.0, -2.0])
    volts = 54.6 - (0.0 if held else 0.1) * (current + 5.0)
    return replace(pack_log_of((-5, 20), volts=volts), current_a=current)


def test_regen_that_weakens_at_a_held_voltage_was_taken_back():
    """3 A less at 0.1 ohm would be 0.3 V less; it is none."""
    found = weakening(easing(held=True), FULL_V, 0.1)
    assert 7 <= found.start_s <= 12
    assert found.before_a - found.after_a >= 1
    assert found.cell_v == pytest.approx(4.2)


def test_a_rider_who_eases_the_brake_lets_the_voltage_fall():
    assert weakening(easing(held=False), FULL_V, 0.1) is None


def test_regen_that_weakens_on_a_half_full_pack_is_not_told():
    log = easing(held=True)
    assert weakening(replace(log, cell_v=log.cell_v - 0.3), FULL_V, 0.1) is None


def test_regen_that_weakens_with_the_speed_is_not_told():
    log = easing(held=True)
    assert weakening(replace(log, speed_mps=np.linspace(9, 2, 100)), FULL_V, 0.1) is None
