"""In which unit a column is, where its header does not say it."""

import numpy as np
import pytest

from ridelog.importers.columns.assign import assign
from ridelog.importers.columns.column import Habits
from tests.importers.columns.logs import CURRENT_A, POWER_W, SPEED_MPS, TIME_S, VOLTAGE_V, column
from tests.importers.delimited.logs import WAVE_A, WAVE_V, log, read, why

TRACK = Habits(refuses=False)


def decided(*columns, habits=None):
    return assign(list(columns), TIME_S, "b.csv", *([habits] if habits else []))


@pytest.mark.parametrize(("factor", "unit"), [(1.0, "V"), (1000.0, "mV")])
def test_a_voltage_is_in_the_unit_that_its_range_allows(factor, unit):
    volts = column("Spannung", VOLTAGE_V * factor)
    found = decided(volts, column("Strom (A)", CURRENT_A))
    assert volts.unit.name == unit
    assert found.channels["voltage_v"] == pytest.approx(VOLTAGE_V)


def test_a_voltage_in_the_range_of_one_cell_is_that_of_a_cell():
    found = decided(column("U (V)", VOLTAGE_V / 13), column("Strom (A)", CURRENT_A))
    assert "voltage_v" not in found.channels
    assert found.channels["cell_01_v"] == pytest.approx(VOLTAGE_V / 13)


@pytest.mark.parametrize(("factor", "unit"), [(1.0, "A"), (1000.0, "mA")])
def test_a_current_is_in_the_unit_in_which_it_gives_the_power(factor, unit):
    current = column("Strom", CURRENT_A * factor)
    decided(column("U (V)", VOLTAGE_V), column("Leistung (W)", POWER_W), current)
    assert current.unit.name == unit


@pytest.mark.parametrize(("factor", "unit"), [(1.0, "m/s"), (3.6, "km/h"), (1 / 0.44704, "mph")])
def test_a_speed_is_in_the_unit_in_which_the_distance_grows(factor, unit):
    speed = column("speed", SPEED_MPS * factor)
    distance_m = np.concatenate(([0.0], np.cumsum((SPEED_MPS[1:] + SPEED_MPS[:-1]) / 2)))
    decided(column("current (A)", CURRENT_A), speed, column("distance (m)", distance_m))
    assert speed.unit.name == unit


@pytest.mark.parametrize(("top", "unit"), [(1.0, "1"), (100.0, "%")])
def test_a_share_is_a_ratio_or_per_cent_by_its_largest_value(top, unit):
    throttle = column("throttle", np.linspace(0, top, len(TIME_S)))
    found = decided(column("current (A)", CURRENT_A), throttle)
    assert throttle.unit.name == unit
    assert found.channels["throttle_ratio"].max() == pytest.approx(1.0)


def test_values_that_are_no_share_are_left_out():
    found = decided(column("current (A)", CURRENT_A), column("throttle", np.linspace(0, 4000, len(TIME_S))))
    assert "throttle_ratio" not in found.channels


def test_a_unit_that_nothing_shows_is_asked_for_where_it_is_needed():
    current = column("Strom", CURRENT_A)
    found = decided(current)
    assert [question.blocking for question in found.questions] == [True]
    assert 'header = "Strom"' in found.questions[0].column
    assert "current_a" not in found.channels


def test_a_unit_that_nothing_shows_is_a_note_where_it_is_not_needed():
    found = decided(column("current (A)", CURRENT_A), column("motor temperature", 40 + TIME_S / 100))
    assert [finding.code for finding in found.findings if finding.code == "unit-unknown"] == ["unit-unknown"]
    assert not any(question.blocking for question in found.questions)


def test_a_track_is_read_without_the_field_whose_unit_nothing_shows():
    found = decided(column("Strom", CURRENT_A), column("speed (m/s)", SPEED_MPS), habits=TRACK)
    assert set(found.channels) == {"speed_mps"}
    assert not any(question.blocking for question in found.questions)


def test_a_counter_is_that_of_the_direction_whose_sum_it_shows():
    """Ah by the running sums of the current; what it grows by is net here, not what was drawn."""
    net_ah = np.concatenate(([0.0], np.cumsum((CURRENT_A[1:] + CURRENT_A[:-1]) / 2))) / 3600
    found = decided(column("current (A)", CURRENT_A), column("U (V)", VOLTAGE_V), column("Ah", net_ah))
    assert found.channels["net_counter_ah"] == pytest.approx(net_ah)
    lost = decided(column("current (A)", CURRENT_A), column("U (V)", VOLTAGE_V), column("Ah", 3 * net_ah))
    assert not [name for name in lost.channels if "counter" in name]


@pytest.mark.parametrize(("factor", "unit"), [(1, "A"), (1000, "mA")])
def test_power_and_voltage_show_the_unit_of_a_current(factor, unit):
    recording = read(
        log("time (s),current,U (V),P (W)", lambda k: f"{k},{factor * WAVE_A[k]:.2f},50,{50 * WAVE_A[k]:.1f}")
    )
    assert recording.frame["current_a"].to_numpy() == pytest.approx(WAVE_A)
    assert f"{unit}, since power / voltage is 1.00 times it" in why(recording, "current")


@pytest.mark.parametrize(("factor", "unit"), [(1, "A"), (1000, "mA")])
def test_the_voltage_s_answer_shows_the_unit_of_a_current(factor, unit):
    recording = read(log("time (s),current,U", lambda k: f"{k},{factor * WAVE_A[k]:.2f},{WAVE_V[k]}"))
    assert recording.frame["current_a"].to_numpy() == pytest.approx(WAVE_A)
    assert f"{unit}, since the voltage then moves by 0.11 V per ampere" in why(recording, "current")


def test_a_distance_shows_the_unit_of_a_speed():
    """18 km/h are 5 m/s."""
    recording = read(log("time (s),speed,distance (m)", lambda k: f"{k},18,{5 * k}"))
    assert recording.frame["speed_mps"].to_numpy() == pytest.approx(5.0)


def test_a_count_without_direction_is_what_the_current_adds_up_to():
    """5 A for 59 s at 50 V: 5·59/3600 = 0.0819 Ah and 4.097 Wh drawn."""
    recording = read(
        log("time (s),current (A),voltage (V),Ah,Wh", lambda k: f"{k},5,50,{5 * k / 3600:.5f},{250 * k / 3600:.4f}")
    )
    assert recording.frame["drawn_counter_ah"].iloc[-1] == pytest.approx(0.0819, abs=1e-4)
    assert recording.frame["drawn_counter_wh"].iloc[-1] == pytest.approx(4.097, abs=1e-3)


# A square of 200 m sides around Lisbon's latitude, ridden once a minute and a half at 8.9 m/s: degrees by hand,
# 200 m north are 200 / 6371000 rad, and east the same over cos 38.7°.
_WAY_M = np.arange(600) * 8.9
_SIDE, _ALONG_M = np.divmod(_WAY_M, 200.0)
_NORTH_M = np.select([_SIDE % 4 == 0, _SIDE % 4 == 1, _SIDE % 4 == 2], [_ALONG_M, 200.0, 200 - _ALONG_M], 0.0)
_EAST_M = np.select([_SIDE % 4 == 0, _SIDE % 4 == 1, _SIDE % 4 == 2], [0.0, _ALONG_M, 200.0], 200 - _ALONG_M)
LATITUDE_DEG = 38.7 + np.degrees(_NORTH_M / 6_371_000)
LONGITUDE_DEG = -9.1 + np.degrees(_EAST_M / 6_371_000 / np.cos(np.radians(38.7)))


def _placed(*columns, held=1):
    rows = np.arange(600) // held * held
    places = [column("lat", LATITUDE_DEG[rows]), column("lon", LONGITUDE_DEG[rows])]
    return decided(column("current (A)", CURRENT_A), *columns, *places)


@pytest.mark.parametrize("held", [1, 5, 20])
@pytest.mark.parametrize(("factor", "unit"), [(1.0, "m"), (1e-3, "km"), (1 / 1609.344, "mi"), (1 / 0.3048, "ft")])
def test_a_distance_is_in_the_unit_in_which_it_grows_as_the_positions_move_on(factor, unit, held):
    distance = column("distance", 1234 + _WAY_M * factor)
    found = _placed(distance, held=held)
    assert distance.unit is not None
    assert distance.unit.name == unit
    assert found.questions == []


def test_a_distance_that_agrees_with_the_positions_in_no_unit_is_left_out_and_the_log_is_read():
    found = _placed(column("distance", _WAY_M * 30))
    assert "distance_m" not in found.channels
    assert "current_a" in found.channels
    assert not any(question.blocking for question in found.questions)


def test_a_distance_and_the_positions_show_the_unit_of_a_speed():
    """The positions say that the distance is in km, and the distance that the speed is in km/h."""
    speed = column("speed", np.full(600, 8.9 * 3.6))
    _placed(column("distance", _WAY_M / 1000), speed)
    assert speed.unit is not None
    assert speed.unit.name == "km/h"


@pytest.mark.parametrize("name", ["speed", "altitude", "distance", "motor temperature", "battery voltage"])
def test_only_current_or_power_refuses_a_log_for_want_of_a_unit(name):
    values = np.full(600, 3e6) if name == "battery voltage" else 7 + np.arange(600) % 7
    found = decided(column("current (A)", CURRENT_A), column(name, values))
    assert set(found.channels) == {"current_a"}
    assert not any(question.blocking for question in found.questions)
    (told,) = [finding for finding in found.findings if finding.code == "unit-unknown"]
    assert told.severity == ("warning" if name in ("speed", "battery voltage") else "note")


def test_a_trip_number_that_never_changes_raises_no_question():
    found = decided(column("current (A)", CURRENT_A), column("trip", np.full(600, 7.0)))
    assert found.questions == []
    assert not [finding for finding in found.findings if finding.code == "unit-unknown"]


def test_a_trip_number_does_not_take_the_place_of_the_distance():
    odometer = column("odometer (km)", 800 + np.arange(600) * 0.005)
    found = decided(column("current (A)", CURRENT_A), column("trip", np.full(600, 7.0)), odometer)
    assert found.channels["distance_m"][-1] - found.channels["distance_m"][0] == pytest.approx(2995)


@pytest.mark.parametrize("word", ["furlong", "smoothed", "x10"])
def test_a_current_in_a_unit_that_is_not_known_is_a_question_whatever_the_voltage_says(word):
    found = decided(column(f"battery current [{word}]", CURRENT_A), column("U (V)", VOLTAGE_V))
    assert "current_a" not in found.channels
    assert [question.blocking for question in found.questions] == [True]
    assert word in found.questions[0].text


def test_a_speed_in_a_unit_that_is_not_known_is_left_out():
    found = decided(column("current (A)", CURRENT_A), column("speed [leagues]", SPEED_MPS), column("d (m)", TIME_S))
    assert "speed_mps" not in found.channels
    (told,) = [finding for finding in found.findings if finding.code == "unit-unknown"]
    assert told.facts["stated"] == "leagues"


@pytest.mark.parametrize(
    "header", ["current (battery)", "I [signed]", "current (battery) [mA]", "current (A) [smoothed]"]
)
def test_words_in_brackets_that_are_known_or_stand_beside_a_unit_raise_no_question(header):
    found = decided(column(header, CURRENT_A), column("U (V)", VOLTAGE_V))
    assert "current_a" in found.channels
    assert found.questions == []


def test_positions_in_semicircles_are_read_where_the_unit_is_stated_and_left_out_where_it_is_not():
    """2^31 semicircles are 180°."""
    counts = [np.round(values * 2**31 / 180) for values in (LATITUDE_DEG, LONGITUDE_DEG)]
    heads = ("position_lat", "position_long")
    stated = decided(*(column(f"{head} [semicircles]", each) for head, each in zip(heads, counts, strict=True)))
    assert stated.channels["latitude_deg"] == pytest.approx(LATITUDE_DEG, abs=1e-7)
    assert stated.channels["longitude_deg"] == pytest.approx(LONGITUDE_DEG, abs=1e-7)
    bare = decided(column("current (A)", CURRENT_A), *(map(column, heads, counts)))
    assert set(bare.channels) == {"current_a"}
    assert [finding.code for finding in bare.findings if "unit" in finding.code] == ["unit-unknown"] * 2


def test_a_pack_of_350_volts_is_in_volts():
    volts = column("Spannung", np.full(600, 350.0))
    found = decided(volts, column("Strom (A)", CURRENT_A))
    assert found.channels["voltage_v"] == pytest.approx(350.0)
