"""What the pack took against the limits of its maker."""

from dataclasses import replace

import numpy as np
import pytest

from ridelog.analysis.pack.limits import (
    charge_current_q,
    cold_charge,
    highest_cell_q,
    highest_mean_charge_a,
    lasting_mask,
    over_current,
    over_voltage,
    unseen_peak,
)
from tests.analysis.pack.pack_logs import pack_log_of, stretches


def volts_of(*parts, step_s=0.2):
    return stretches(*parts, step_s=step_s)[1]


def test_the_highest_cell_is_the_pack_over_its_cells():
    """13 cells at 55.64 V are at 4.28 V (references, section 7: COMPUTED). ± 0.5 % rectangular: 95 % within 0.475 %."""
    log = pack_log_of((0, 10), (-5, 10), volts=volts_of((54.6, 10), (55.64, 10)))
    found = highest_cell_q(log, np.ones(100, dtype=bool))
    assert found.value == pytest.approx(4.28)
    assert found.low95 == pytest.approx(4.28 * (1 - 0.00475), abs=0.001)
    assert found.high95 == pytest.approx(4.28 * (1 + 0.00475), abs=0.001)


def test_cells_that_are_neither_logged_nor_counted_give_no_highest_cell():
    log = replace(pack_log_of((0, 10)), cell_v=np.full(50, np.nan))
    assert highest_cell_q(log, np.ones(50, dtype=bool)) is None


def test_a_spike_of_one_sample_is_no_highest_cell_at_5_hz():
    volts = np.full(100, 52.0)
    volts[40] = 65.0
    assert highest_cell_q(pack_log_of((0, 20), volts=volts), np.ones(100, dtype=bool)).value == pytest.approx(4.0)


def test_a_peak_of_one_sample_loses_all_its_height_where_it_is_skipped():
    """Of 1, 1, 5, 1 the odd ones alone reach 1: 4 lost."""
    assert unseen_peak(np.array([1.0, 1, 5, 1])) == 4
    assert unseen_peak(np.array([5.0, 5, 5, 5])) == 0


def test_cells_above_full_while_charging_are_told_with_how_long():
    """4.28 V for 10 s of charging against 4.20 V: 1.9 % more, beyond the 0.5 % of the reading."""
    log = pack_log_of((0, 10), (-5, 10), (0, 10), volts=volts_of((54.0, 10), (55.64, 10), (54.0, 10)))
    over = over_voltage(log, 4.20)
    assert over.certain
    assert over.highest_v == pytest.approx(4.28)
    assert over.exceeded.lasted_s == pytest.approx(10, abs=0.2)
    assert (over.exceeded.start_s, over.exceeded.end_s) == pytest.approx((10.0, 19.8))
    assert over.exceeded.into_ah == pytest.approx(5 * 10 / 3600, rel=0.03)  # edges of half a step


def test_one_wild_reading_does_not_make_an_overcharge_graver():
    """4.24 V for 10 s, and one sample of 65 V (5 V a cell) among them: the highest that lasted is 4.24 V."""
    volts = volts_of((54.0, 10), (55.12, 10), (54.0, 10))
    volts[70] = 65.0
    over = over_voltage(pack_log_of((0, 10), (-5, 10), (0, 10), volts=volts), 4.20)
    assert over.highest_v == pytest.approx(4.24)


@pytest.mark.parametrize("every", [1, 2, 7])
def test_cells_logged_less_often_than_the_current_are_seen_above_full_all_the_same(every):
    """4.28 V for 10 s of charge at 5 Hz, each second or seventh value logged: no NaN, and at most a gap less long."""
    log = pack_log_of((0, 10), (-5, 10), (0, 10), volts=13 * 4.28)
    cell_v = np.where(np.arange(len(log.time_s)) % every == 0, log.cell_v, np.nan)
    over = over_voltage(replace(log, cell_v=cell_v, n_cells_logged=13), 4.20)
    assert over.highest_v == pytest.approx(4.28)
    assert over.exceeded.lasted_s == pytest.approx(10.0, abs=0.2)
    assert over.certain


def test_cells_that_are_not_logged_for_long_are_not_guessed():
    log = pack_log_of((-5, 60), volts=13 * 4.28)
    cell_v = np.where((log.time_s < 10) | (log.time_s > 50), log.cell_v, np.nan)
    assert over_voltage(replace(log, cell_v=cell_v), 4.20).exceeded.lasted_s == pytest.approx(20.0, abs=0.5)


def test_an_excess_that_the_gain_explains_may_be_none():
    """4.215 V is 0.36 % above 4.20 V, less than ± 0.5 %."""
    log = pack_log_of((-5, 10), volts=13 * 4.215)
    assert not over_voltage(log, 4.20).certain


def test_cells_above_full_without_current_into_them_are_not_charged():
    assert over_voltage(pack_log_of((5, 10), volts=13 * 4.28), 4.20) is None


def test_cells_at_full_are_not_above_it():
    assert over_voltage(pack_log_of((-5, 10), volts=13 * 4.20), 4.20) is None


def test_the_highest_charge_current_is_that_of_the_plateau():
    """−6 A at ± 1 % and ± 0.2 % rectangular: 95 % within 1.059 % (1.2 − sqrt(2 · 0.05 · 0.2)), by hand."""
    found = charge_current_q(pack_log_of((3, 10), (-6, 10), (0, 5)))
    assert found.value == pytest.approx(6.0)
    assert found.high95 == pytest.approx(6.0 * 1.0106, abs=0.005)
    assert found.low95 == pytest.approx(6.0 * 0.9894, abs=0.005)


def test_noise_does_not_feign_a_higher_charge_current():
    """500 readings of 6 A with 0.2 A of noise reach about 6.6 A; the interval still holds 6 A, in at least 18 of 20."""
    held = 0
    for seed in range(20):
        log = pack_log_of((3, 10), (-6, 100), (0, 5))
        noise = 0.2 * np.random.default_rng(seed).standard_normal(len(log.time_s))
        found = charge_current_q(replace(log, current_a=log.current_a + noise, noise_a=0.2))
        held += found.low95 <= 6.0 <= found.high95
    assert held >= 18


def test_a_log_that_cannot_show_return_knows_no_charge_current():
    log = replace(pack_log_of((3, 30)), shows_return=False)
    assert charge_current_q(log) is None
    assert highest_mean_charge_a(log) is None


def test_the_mean_of_the_hardest_ten_seconds_is_that_of_a_short_pulse_in_it():
    """8 A for 4 s and nothing else: 3.2 A over 10 s, by hand; half a step at each edge."""
    assert highest_mean_charge_a(pack_log_of((0, 20), (-8, 4), (0, 20))) == pytest.approx(3.2, abs=0.1)


def test_a_mean_is_not_taken_across_a_gap():
    """Without the steps in the middle no ten seconds are whole."""
    log = pack_log_of((-8, 16))
    counted = np.ones(79, dtype=bool)
    counted[40] = False
    assert highest_mean_charge_a(replace(log, counted=counted)) is None


def test_charge_current_above_its_limit_is_told_with_how_long():
    """6 A for 12 s against 5 A: 20 % more, beyond the 1.2 % of the gains."""
    over = over_current(pack_log_of((3, 10), (-6, 12), (0, 5)), 5.0)
    assert over.certain
    assert over.exceeded.lasted_s == pytest.approx(12, abs=0.2)


def test_charge_current_that_the_gain_explains_may_be_within():
    assert not over_current(pack_log_of((3, 10), (-5.03, 12), (0, 5)), 5.0).certain


def test_charge_current_below_its_limit_is_not_told():
    assert over_current(pack_log_of((3, 10), (-4.9, 12), (0, 5)), 5.0) is None


def test_charge_in_the_cold_is_told_with_its_ampere_hours():
    """5 A for 72 s are 0.1 Ah, by hand; two half steps at the edges."""
    log = pack_log_of((2, 10), (-5, 72), (2, 10), temperature_c=np.full(460, -4.0))
    cold = cold_charge(log, 0.0)
    assert cold.certain
    assert cold.lowest_c == -4
    assert cold.exceeded.into_ah == pytest.approx(0.1, abs=0.0005)
    assert (cold.exceeded.start_s, cold.exceeded.end_s) == pytest.approx((10.0, 81.8))


def test_half_a_degree_may_be_the_sensor():
    log = pack_log_of((2, 10), (-5, 72), temperature_c=np.full(410, -0.5))
    assert not cold_charge(log, 0.0).certain


@pytest.mark.parametrize("temperature_c", [0.0, 3.0, np.nan])
def test_charge_in_the_warm_or_at_an_unknown_temperature_is_not_told(temperature_c):
    log = pack_log_of((2, 10), (-5, 72), temperature_c=np.full(410, temperature_c))
    assert cold_charge(log, 0.0) is None


def test_single_samples_do_not_last_at_5_hz_but_at_1_hz():
    mask = np.array([False, True, False, True, True, True, False])
    assert lasting_mask(0.2 * np.arange(7), mask).tolist() == [False, False, False, True, True, True, False]
    assert lasting_mask(1.0 * np.arange(7), mask).tolist() == mask.tolist()
