"""The pack's record and its findings, put together; the sample rides against the simulation that they were made of."""

from functools import cache

import numpy as np
import pandas as pd
import pytest

import ridelog
from ridelog.analysis.measure import measure
from ridelog.analysis.pack.limits import charge_current_q
from ridelog.analysis.pack.record import (
    cell_findings,
    charge_path_findings,
    cold_findings,
    current_findings,
    headroom_findings,
)
from ridelog.answer.pack import Pack
from ridelog.recording import Recording, checked
from ridelog.settings.bike import Bike, PackSection, SensorSection
from ridelog.tell.findings import sentence
from ridelog.timeline.ride import join_recordings
from ridelog.uncertain.quantity import Quantity
from sample_rides import quillmoor
from sample_rides.simulation import simulate
from tests.analysis.pack.pack_logs import codes, pack_log_of
from tests.places import SAMPLES

PACK_CODES = ("charge-path", "charge-cut-out", "cell-overcharged", "charged-cold", "charge-current-high")
FILES = {
    "winter": ("battery.csv", "track.gpx"),
    "commute": ("controller.csv", "track.gpx"),
    "errand": ("akku.csv", "ride.fit"),
    "no-return": ("log.csv", "track.gpx"),
}


@cache
def sample(slug):
    folder = SAMPLES / slug
    return ridelog.measure(ridelog.load_ride([folder / name for name in FILES[slug]], bike=folder / "bike.toml"))


@cache
def true_winter():
    return simulate(quillmoor.winter())


def finding(answer, code):
    (found,) = [each for each in answer.findings if each.code == code]
    return found


def switched():
    """8, 0 and −4 A for 10 s each, ten times over, with 0.02 A of noise read to 0.01 A."""
    current = np.tile(np.repeat([8.0, 0.0, -4.0], 50), 10)
    return np.round(current + 0.02 * np.random.default_rng(2).standard_normal(len(current)), 2)


def log_answer(columns, bike, *, step_s=0.2):
    """The answer to one log; ``columns`` by channel."""
    n = len(next(iter(columns.values())))
    frame = pd.DataFrame(columns, index=pd.Index(step_s * np.arange(n), name="time_s"))
    return measure(join_recordings([checked(Recording("log.csv", "", "csv", frame, None, "elapsed"))], bike))


def test_the_winter_ride_tells_when_the_charge_path_opened():
    """The simulation's pack takes no charge from the step after the last one that still returned in the hairpins."""
    true, told = true_winter(), finding(sample("winter"), "charge-cut-out")
    first = np.flatnonzero((true.current_a < -1) & (true.time_s < 200))
    assert told.severity == "danger"
    assert told.start_s == pytest.approx(true.time_s[first[-1]], abs=0.2)  # a step of the log
    assert true.voltage_v[first[-1]] / 13 > 4.26  # it trips at 4.27 V for 2 s
    assert told.facts["before_v"] == pytest.approx(55.5, abs=0.05)
    assert told.facts["after_v"] == pytest.approx(54.3, abs=0.05)
    assert "friction brakes" in sentence(told)
    assert "emergency services" in sentence(told)


def test_the_winter_ride_tells_for_how_long_and_how_far_cells_were_above_full():
    true, told = true_winter(), finding(sample("winter"), "cell-overcharged")
    over = (true.current_a < -0.3) & (true.voltage_v / 13 > 4.20)
    assert told.severity == "warning"
    assert told.start_s == pytest.approx(true.time_s[over][0], abs=0.4)
    assert told.facts["lasted_s"] == pytest.approx(over.sum() * true.step_s, abs=2)  # half a step at 12 ends
    assert sample("winter").pack.highest_cell_v.value == pytest.approx(true.voltage_v.max() / 13, abs=0.002)


def test_the_winter_ride_tells_what_went_into_the_frozen_pack():
    true, told = true_winter(), finding(sample("winter"), "charged-cold")
    into_ah = -true.current_a[true.current_a < 0].sum() * true.step_s / 3600
    assert told.severity == "warning"
    assert told.facts["charge_ah"] == pytest.approx(into_ah, abs=0.0005)
    assert told.facts["lowest_c"] == pytest.approx(-4.0)


def test_the_winter_ride_needs_as_much_headroom_as_its_charge_rose():
    true, found = true_winter(), sample("winter").pack.start_charge_headroom_ah
    rise_ah = (true.soc_ratio.max() - true.soc_ratio[0]) * 14.0
    assert found.low95 <= rise_ah <= found.high95
    assert found.value == pytest.approx(rise_ah, rel=0.01)


@pytest.mark.parametrize(("slug", "ohm"), [("winter", 0.21), ("commute", 0.13), ("errand", 0.10), ("no-return", 0.11)])
def test_the_resistance_of_each_sample_is_that_of_its_simulated_pack(slug, ohm):
    """Within 1 %: the sample logs have no gain error; the log that clips at zero included."""
    found = sample(slug).pack.resistance_ohm
    assert found.value == pytest.approx(ohm, rel=0.01)
    assert found.low95 <= ohm <= found.high95


@pytest.mark.parametrize("slug", ["commute", "errand", "no-return"])
def test_the_other_samples_raise_nothing_of_the_pack(slug):
    assert [each.code for each in sample(slug).findings if each.code in PACK_CODES] == []


def test_a_log_that_cannot_show_return_leaves_what_hangs_on_it_unknown():
    pack = sample("no-return").pack
    assert pack.highest_charge_a is None
    assert pack.start_charge_headroom_ah is None


def test_a_log_without_voltage_has_no_resistance_and_no_cell_voltage():
    pack = log_answer({"current_a": switched()}, Bike(pack=PackSection(cells_in_series=13))).pack
    assert pack.resistance_ohm is None
    assert pack.highest_cell_v is None
    assert pack.highest_charge_a.value == pytest.approx(4.0, abs=0.2)


def test_without_an_electrical_log_nothing_is_known_of_the_pack():
    frame = pd.DataFrame({"speed_mps": np.full(60, 5.0)}, index=pd.Index(np.arange(60.0), name="time_s"))
    answer = measure(join_recordings([checked(Recording("a.gpx", "", "gpx", frame, None, "elapsed"))], Bike()))
    assert answer.pack == Pack()


def test_the_highest_logged_cell_goes_before_the_mean_of_the_pack():
    """48.1 V over 13 cells are 3.7 V each; the second cell stands at 4.31 V while 4 A go in: 0.11 V above full."""
    current = switched()
    columns = {
        "current_a": current,
        "voltage_v": np.full(1500, 48.1),
        "cell_01_v": np.full(1500, 3.65),
        "cell_02_v": np.where(current < -1, 4.31, 3.75),
    }
    bike = Bike(
        pack=PackSection(cells_in_series=13, full_cell_v=4.2, charge_path="allowed"),
        sensor=SensorSection(voltage_gain_limit_pct=0.5, standby_draw_a=0.0),
    )
    answer = log_answer(columns, bike)
    assert answer.pack.highest_cell_v.value == pytest.approx(4.31)
    told = finding(answer, "cell-overcharged")
    assert told.severity == "warning"
    assert told.facts["cells_logged"]
    assert told.facts["verdict"] == "harmful"


@pytest.mark.parametrize(
    ("cell_v", "severity"), [(4.19, None), (4.21, "note"), (4.25, "warning"), (4.35, "warning"), (4.49, "danger")]
)
def test_the_further_above_full_the_graver_it_is(cell_v, severity):
    """Steps (common practice, no source): above 4.2, 4.3 and about 4.5 V; at ± 0.5 %, 4.49 V may be 4.51 V."""
    found = cell_findings(pack_log_of((2, 10), (-5, 10), volts=13 * cell_v), PackSection(full_cell_v=4.2))
    assert codes(found) == ([("cell-overcharged", severity)] if severity else [])


def test_a_limit_that_the_bike_file_leaves_open_is_named_as_assumed():
    log = pack_log_of((2, 10), (-5, 72), volts=13 * 4.27, temperature_c=np.full(410, -4.0))
    assert "no `full_cell_v`" in sentence(cell_findings(log, PackSection())[0])
    assert "no `min_charge_temperature_c`" in sentence(cold_findings(log, PackSection())[0])


@pytest.mark.parametrize(
    ("pack", "severity"),
    [
        (PackSection(charge_path="blocked"), "danger"),
        (PackSection(charge_path="unknown"), "warning"),
        (PackSection(), "note"),
        (PackSection(charge_path="allowed"), None),
    ],
)
def test_charge_through_a_path_that_is_not_allowed_is_told(pack, severity):
    found = charge_path_findings(pack_log_of((2, 10), (-5, 10)), pack)
    assert codes(found) == ([("charge-path", severity)] if severity else [])


def test_a_blocked_path_through_which_nothing_came_is_not_told():
    assert charge_path_findings(pack_log_of((2, 10), (0, 10)), PackSection(charge_path="blocked")) == []


def test_too_much_charge_current_is_told_as_a_pulse_and_as_a_mean():
    """6 A for 12 s against 5 A; the hardest ten seconds are 6.0 A too."""
    log = pack_log_of((2, 10), (-6, 12), (2, 10))
    (told,) = current_findings(log, charge_current_q(log), PackSection(max_charge_a=5.0))
    assert told.severity == "warning"
    assert (told.facts["highest_a"], told.facts["mean_10_s_a"]) == pytest.approx((6.0, 6.0), abs=0.05)


def test_the_note_on_the_start_charge_says_at_which_percentage_to_leave():
    """0.84 Ah of 14 Ah are 6 %: 94 % (by hand)."""
    (told,) = headroom_findings(Quantity(0.82, 0.80, 0.84), PackSection(capacity_ah=14.0), too_full=False)
    assert told.severity == "note"
    assert told.facts["leave_at_pct"] == 94


def test_a_ride_that_was_too_full_is_told_no_percentage():
    """The winter ride left at 98.5 % and stood above full: what is left over from its sum is no advice."""
    told = finding(sample("winter"), "start-charge")
    assert told.facts["too_full"]
    assert "%" not in sentence(told)
    assert "Leave with less charge" in sentence(told)


def test_a_headroom_of_nothing_is_not_worth_a_note():
    assert headroom_findings(Quantity(0.0, 0.0, 0.001), PackSection(capacity_ah=14.0), too_full=False) == []


@pytest.mark.parametrize("slug", list(FILES))
def test_no_sentence_calls_anything_safe_or_harmless(slug):
    for each in sample(slug).findings:
        if each.code in (*PACK_CODES, "start-charge"):
            assert not {"safe", "harmless", "bypass"} & set(sentence(each).lower().replace(".", " ").split())
