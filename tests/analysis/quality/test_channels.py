"""Whether a channel shows what flowed. Logs are made here, so that what is wrong with them is known."""

from dataclasses import replace

import numpy as np
import pytest

from ridelog.analysis.quality.channels import (
    Sag,
    Samples,
    current_pile,
    equal_runs,
    hidden_current_a,
    sag_is_missing,
    sample_noise_a,
    stuck_current,
    stuck_speed,
    stuck_voltage,
    voltage_sag,
)

STEP_S = 0.5


def samples(current_a, voltage_v=np.nan, speed_mps=np.nan, other_mps=np.nan, resolution_a=0.0):
    """A log at 2 Hz; the bike stands where its speed is 0."""
    n = len(current_a)
    speed = np.broadcast_to(speed_mps, n).astype(float)
    return Samples(
        time_s=STEP_S * np.arange(n),
        current_a=np.asarray(current_a, dtype=float),
        voltage_v=np.broadcast_to(voltage_v, n).astype(float),
        speed_mps=speed,
        other_speed_mps=np.broadcast_to(other_mps, n).astype(float),
        standing=speed == 0,
        resolution_a=resolution_a,
    )


def wave_a(n=2000, top_a=30.0):
    """A current that swings between 0 and its top once in 40 s."""
    return top_a * np.sin(np.pi * STEP_S * np.arange(n) / 40) ** 2


def test_the_sag_is_the_resistance_that_moves_the_voltage():
    """V = 50 − 0.1 I, falling by 2 V over the log, which differences over 3 s hardly see."""
    current = wave_a()
    log = samples(current, 50 - 0.1 * current - np.linspace(0, 2, len(current)))
    found = voltage_sag(log)
    assert found.ohm == pytest.approx(0.1, abs=1e-3)
    assert found.u_ohm < 1e-3


def test_the_sag_of_a_voltage_that_is_read_less_often_than_the_current():
    """Volts each 2 s beside amperes each half: no two volts are neighbours, and the sag shows all the same."""
    current = wave_a(4000)
    volts = np.where(np.arange(4000) % 4 == 0, 50.0 - 0.12 * current, np.nan)
    found = voltage_sag(samples(current, volts), over_s=4.0)
    assert found.ohm == pytest.approx(0.12, rel=1e-6)
    assert found.noise_v == pytest.approx(0.0, abs=1e-9)


def test_a_current_that_never_changes_tells_no_sag():
    assert voltage_sag(samples(np.full(2000, 8.0), 50.0)) is None
    assert voltage_sag(samples(wave_a(30), 50.0)) is None  # too short


def test_noise_is_judged_while_the_bike_stands_and_only_where_steps_are_fine():
    """Gaussian, 0.2 A; 2000 samples give it to 5 %."""
    noisy = 0.2 * np.random.default_rng(1).standard_normal(2000)
    assert sample_noise_a(samples(noisy, speed_mps=0.0)) == pytest.approx(0.2, rel=0.05)
    assert sample_noise_a(samples(noisy, speed_mps=5.0)) == 0.0
    assert sample_noise_a(samples(noisy.round(0), speed_mps=0.0, resolution_a=1.0)) == 0.0


@pytest.mark.parametrize(
    ("voltage", "verdict"),
    [("of the true current", "range"), ("of the current as logged", "limit"), ("not logged", "open")],
)
def test_a_pile_is_the_end_of_a_range_or_a_limit_as_the_voltage_tells(voltage, verdict):
    """The true current is 30 A for a quarter of each 20 s, the log goes up to 20 A; 0.1 ohm."""
    at = np.arange(4000)
    true = np.where(at % 40 < 10, 30.0, 8 + 8 * np.sin(at / 2))
    logged = np.minimum(true, 20.0)
    shown = {"of the true current": 50 - 0.1 * true, "of the current as logged": 50 - 0.1 * logged}
    pile = current_pile(samples(logged, shown.get(voltage, np.nan), 6.0), way="out")
    assert (pile.verdict, pile.value_a, pile.by_noise) == (verdict, 20.0, False)
    assert pile.share_pct == pytest.approx(25.0)


def test_a_current_that_only_reaches_its_top_piles_up_nowhere():
    current = wave_a(4000) + 0.5 * np.random.default_rng(3).standard_normal(4000)
    assert current_pile(samples(current, speed_mps=6.0), way="out") is None
    assert current_pile(samples(current, speed_mps=6.0), way="in") is None


def test_what_the_voltage_shows_beyond_a_reading_is_worked_out_for_each_run():
    """By hand: the reading steps by 10 A, the voltage by 2 V at 0.1 ohm: 20 A, so that 10 A are hidden."""
    current, volts = np.array([0, 10, 10, 10, 0.0]), np.array([50, 48, 48, 48, 50.0])
    log = samples(current, volts)
    assert hidden_current_a(log, current == 10, Sag(0.1, 0.0, 0.0)) == pytest.approx([10.0])
    assert hidden_current_a(log, np.array([True, *[False] * 4]), Sag(0.1, 0.0, 0.0)).size == 0  # nothing before it


def test_equal_values_make_a_run_that_a_long_step_ends():
    time_s = np.concatenate((np.arange(40.0), 100 + np.arange(40.0)))
    values = np.concatenate(([1.0], np.full(79, 2.0)))
    assert equal_runs(time_s, values, shortest_s=30.0) == [(1, 39), (40, 79)]
    assert equal_runs(time_s, values, shortest_s=39.0) == [(40, 79)]
    assert equal_runs(time_s[:1], values[:1], shortest_s=0.0) == []


def stuck_log():
    """A current that sticks at 6 A for a minute, while the bike stops for 20 s and rides on."""
    current = wave_a()
    speed = np.full(len(current), 6.0)
    current[400:520] = 6.0
    speed[440:480] = 0.0
    return current, speed


def test_a_current_that_drives_while_the_bike_stands_and_rides_is_stuck():
    current, speed = stuck_log()
    nowhere = np.zeros(len(current), dtype=bool)
    assert stuck_current(samples(current, speed_mps=speed), nowhere) == [(400, 519)]
    assert stuck_current(samples(current, speed_mps=6.0), nowhere) == []  # a steady ride reads the same


def test_a_current_that_keeps_still_while_the_voltage_swings_is_stuck():
    true = wave_a()
    current = true.copy()
    current[400:520] = 6.0
    nowhere = np.zeros(len(current), dtype=bool)
    assert stuck_current(samples(current, 50 - 0.1 * true, 6.0), nowhere) == [(400, 519)]
    assert stuck_current(samples(current, 50 - 0.1 * current, 6.0), nowhere) == []


def test_a_voltage_that_keeps_still_while_the_current_moves_it_is_stuck():
    current = wave_a()
    volts = (50 - 0.1 * current).round(2)
    assert stuck_voltage(samples(current, volts)) == []
    volts[621:823] = volts[620]
    assert stuck_voltage(samples(current, volts)) == [(620, 822)]


def test_a_voltage_that_never_answers_has_no_sag():
    current = wave_a()
    assert sag_is_missing(samples(current, 50.0))
    assert not sag_is_missing(samples(current, 50 - 0.05 * current))
    assert not sag_is_missing(samples(current))  # not logged at all


@pytest.mark.parametrize(
    ("case", "stuck"),
    [("leap", True), ("contradicted", True), ("motor drives", True), ("held by the rider", False)],
)
def test_a_speed_is_stuck_where_no_bicycle_could_have_kept_it(case, stuck):
    """40 s at one value: with a leap of 4 m/s at its end, against another device, or at 0 while the motor drives."""
    n = 600
    speed = 6 + 0.5 * np.sin(np.arange(n) / 7)
    speed[200:280] = speed[199]
    log = samples(np.full(n, 5.0), speed_mps=speed, other_mps=np.nan)
    if case == "leap":
        speed[280:] -= 4.0
        log = replace(log, speed_mps=speed)
    if case == "contradicted":
        log = replace(log, other_speed_mps=np.full(n, 2.0))
    if case == "motor drives":
        speed[200:340] = 0.0
        speed[199] = speed[340] = 1.0
        log = replace(log, speed_mps=speed)
    assert bool(stuck_speed(log)) is stuck


@pytest.mark.parametrize(("pack_v", "ohm"), [(48.0, 0.012), (350.0, 0.1), (36.0, 0.3), (24.0, -0.003)])
def test_a_small_sag_that_is_told_from_none_is_one(pack_v, ohm):
    """Large packs have little resistance; a current whose sign is not yet turned makes the slope negative."""
    rng = np.random.default_rng(5)
    current = wave_a(4000)
    volts = np.round(pack_v - ohm * current + rng.normal(0, 0.02, len(current)), 2)
    assert not sag_is_missing(samples(current, volts))


def test_a_voltage_from_a_table_of_charge_is_no_sag_however_smooth():
    """It falls with the charge drawn, by 6 V over a pack of 10 Ah, and not with the current."""
    current = wave_a(4000)
    table_v = 54 - 0.6 * np.cumsum(current) * STEP_S / 3600
    assert sag_is_missing(samples(current, table_v))
    assert sag_is_missing(samples(current, np.round(table_v, 1)))


def test_a_speed_of_zero_with_a_heater_on_is_a_stop():
    """The bike slows to a stop, stands for two minutes at 5 A, and starts again; or the log begins with the stop."""
    ramp = np.linspace(6, 0, 13)
    ride = np.full(200, 6.0)
    stop = np.zeros(240)
    for speed in (np.concatenate((ride, ramp, stop, ramp[::-1], ride)), np.concatenate((stop, ramp[::-1], ride))):
        assert not stuck_speed(samples(np.full(len(speed), 5.0), speed_mps=speed))


def test_a_speed_that_drops_to_zero_and_stays_there_under_power_is_stuck():
    speed = np.concatenate((np.full(200, 6.0), np.zeros(240), np.full(200, 6.0)))
    assert stuck_speed(samples(np.full(len(speed), 5.0), speed_mps=speed))[1] == (200, 439)
