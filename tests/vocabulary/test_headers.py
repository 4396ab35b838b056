"""What headers say. The expected readings are what the words mean in the languages concerned."""

import re
import subprocess
import sys

import pytest

from ridelog.channels import CHANNELS
from ridelog.vocabulary.headers import quantity_named, strange_words, understand, words_of
from ridelog.vocabulary.units import UNITS, spells_unit
from ridelog.vocabulary.words import QUANTITIES, RULES

SAID = [
    ("Current (A)", "battery current", "A"),
    ("current [A]", "battery current", "A"),
    ("I_batt/A", "battery current", "A"),
    ("battery_current_a", "battery current", "A"),
    ("Batt Amps", "battery current", "A"),
    ("Strom in A", "battery current", "A"),
    ("Akkustrom (mA)", "battery current", "mA"),
    ("courant batterie [A]", "battery current", "A"),
    ("stroom accu (A)", "battery current", "A"),
    ("corriente (A)", "battery current", "A"),
    ("Corrente batteria/A", "battery current", "A"),
    ("U [mV]", "battery voltage", "mV"),
    ("Batteriespannung V", "battery voltage", "V"),
    ("tension batterie (V)", "battery voltage", "V"),
    ("accuspanning_v", "battery voltage", "V"),
    ("Voltaje (V)", "battery voltage", "V"),
    ("V", "battery voltage", "V"),
    ("Power [kW]", "battery power", "kW"),
    ("Leistung in W", "battery power", "W"),
    ("Motor current (A)", "motor current", "A"),
    ("phase_a", "motor current", "A"),
    ("Motorstrom", "motor current", None),
    ("speed_kmh", "speed", "km/h"),
    ("Geschwindigkeit km/h", "speed", "km/h"),
    ("current speed (mph)", "speed", "mph"),
    ("vitesse (m/s)", "speed", "m/s"),
    ("v (km/h)", "speed", "km/h"),
    ("wheel speed (rpm)", "wheel rpm", "rpm"),
    ("Drehzahl Laufrad (1/min)", "wheel rpm", "rpm"),
    ("Wheel revolutions", "wheel revolutions", None),
    ("Strecke/m", "distance", "m"),
    ("Trip (mi)", "distance", "mi"),
    ("Distanz [ft]", "distance", "ft"),
    ("battery_temperature_f", "battery temperature", "°F"),
    ("Température moteur (°C)", "motor temperature", "°C"),
    ("controller temp [degC]", "controller temperature", "°C"),
    ("Außentemperatur (°C)", "air temperature", "°C"),
    ("brake status", "brake", None),
    ("Bremse", "brake", None),
    ("Gasgriff [%]", "throttle", "%"),
    ("Trittfrequenz (1/min)", "cadence", "rpm"),
    ("rider power (W)", "rider power", "W"),
    ("SoC", "state of charge", None),
    ("Battery (%)", "state of charge", "%"),
    ("état de charge [%]", "state of charge", "%"),
    ("ah_used", "charge drawn", "Ah"),
    ("mAh regenerated", "charge returned", "mAh"),
    ("Wh out", "energy drawn", "Wh"),
    ("net energy (Wh)", "net energy", "Wh"),
    ("cell 1 (mV)", "cell voltage 1", "mV"),
    ("Zellspannung 12 [V]", "cell voltage 12", "V"),
    ("lat", "latitude", None),
    ("Längengrad", "longitude", None),
    ("Länge [°]", "longitude", "°"),
    ("position_lat", "latitude", None),
    ("position_long", "longitude", None),
    ("GPS Lat", "latitude", None),
    ("gps_lng", "longitude", None),
    ("Long", "longitude", None),
    ("Position Long [semicircles]", "longitude", "semicircles"),
    ("throttle position (%)", "throttle", "%"),
    ("Höhe (m)", "altitude", "m"),
    ("time (s)", "time", "s"),
    ("Zeit [ms]", "time", "ms"),
    ("temps (µs)", "time", "µs"),
    ("trip_time_min", "time", "min"),
    ("Uhrzeit", "time", None),
    ("Datum", "date", None),
    ("tempo (km/h)", "speed", "km/h"),
    ("Tempo km/h", "speed", "km/h"),
    ("tempo, km/h", "speed", "km/h"),
    ("tempo/h", "time", "h"),
]

UNUSED = [
    "RPM",
    "motor power (W)",
    "max current (A)",
    "current limit (A)",
    "wind speed (m/s)",
    "Wh/km",
    "Consumption (Wh/km)",
    "Throttle (V)",
    "Current (Hz)",
    "Capacity (Ah)",
    "remaining Ah",
    "acceleration (g)",
    "Temperature (°C)",
    "Mode",
    "motor position",
    "id",
    "",
    "123",
]


JOINED_ONLY = {"track_speed_mps"}  # made when recordings are joined; no file holds it under this name


@pytest.mark.parametrize(("header", "quantity", "unit"), SAID)
def test_a_header_says_its_quantity_and_unit(header, quantity, unit):
    meaning = understand(header)
    assert meaning.quantity == quantity
    assert (meaning.unit.name if meaning.unit else None) == unit


@pytest.mark.parametrize("header", UNUSED)
def test_a_header_of_something_else_is_not_used_and_says_why(header):
    meaning = understand(header)
    assert meaning.quantity is None
    assert meaning.why


@pytest.mark.parametrize(
    ("header", "sign"),
    [
        ("charge current (A)", -1),
        ("current into battery [mA]", -1),
        ("Ladestrom [A]", -1),
        ("regen_current_a", -1),
        ("stroom naar accu (A)", -1),
        ("discharge current (A)", 1),
        ("Entladestrom", 1),
        ("corriente de descarga (A)", 1),
    ],
)
def test_words_of_direction_give_the_sign(header, sign):
    meaning = understand(header)
    assert (meaning.quantity, meaning.sign, meaning.sign_stated) == ("battery current", sign, True)


@pytest.mark.parametrize(
    ("header", "odd"),
    [
        ("battery current [furlong]", "furlong"),
        ("current [smoothed]", "smoothed"),
        ("current [A]", ""),
        ("current (battery)", ""),
        ("current (A) [smoothed]", ""),
        ("current", ""),
    ],
)
def test_a_word_in_brackets_that_no_table_knows_may_be_a_unit(header, odd):
    assert understand(header).odd_unit == odd


def test_words_of_both_directions_leave_the_sign_open():
    assert not understand("charge/discharge current (A)").sign_stated


@pytest.mark.parametrize("header", ["abs current (A)", "current magnitude (A)", "Strom Betrag (A)"])
def test_words_of_magnitude_say_that_there_is_no_sign(header):
    assert understand(header).unsigned


def test_a_units_row_gives_the_unit_and_may_contradict_the_header():
    assert understand("Strom", "mA").unit == UNITS["ma"]
    assert understand("Strom", "[A]").unit == UNITS["a"]
    assert understand("current (A)", "mA").contradiction == UNITS["ma"]


@pytest.mark.parametrize("unit", ["kg", "lbs", "J", "A/s", "Nm"])
def test_a_current_in_a_unit_of_something_else_is_no_current(unit):
    """Its voltage might still move with it, and amperes be taken for shown."""
    assert understand(f"battery current [{unit}]").quantity is None
    assert understand("battery current", unit).quantity is None


def test_camel_case_digits_and_accents_are_parted():
    assert words_of("StepTime(s)") == ["step", "time", "s"]
    assert words_of("Cell01 Höhe SoC mAh") == ["cell", "01", "hohe", "soc", "mah"]


def test_a_units_row_is_told_from_words():
    assert all(spells_unit(cell) for cell in ("A", "[km/h]", "°C", "(ms)", "Nm"))
    assert not any(spells_unit(cell) for cell in ("current", "12", ""))


def test_every_channel_can_be_reached_and_every_rule_names_a_known_quantity():
    reached = {quantity.channel for quantity in QUANTITIES.values()} - {None}
    assert reached == set(CHANNELS) - JOINED_ONLY
    undecided = {"charge counter", "energy counter", "cell voltage"}
    assert {rule.quantity for rule in RULES} - {None} <= set(QUANTITIES) | undecided
    cell = quantity_named("cell voltage 7")
    assert cell is not None
    assert cell.channel == "cell_07_v"


def test_every_channel_s_own_name_is_understood_as_itself():
    for name, channel in CHANNELS.items():
        if name in JOINED_ONLY:
            continue
        quantity = quantity_named(understand(name).quantity or "")
        assert quantity is not None, name
        assert quantity.channel == channel.name


@pytest.mark.parametrize("module", ["vocabulary.headers", "settings.column_map"])
def test_the_understanding_of_headers_loads_nothing_heavy(module):
    code = (
        f"import sys, ridelog.{module}; "
        "print([m for m in ('dash', 'plotly', 'scipy', 'pyarrow', 'pandas') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


# letters that Python calls digits and yet no numbers, those of a compatibility form, and numbers of other scripts
@pytest.mark.parametrize("digit", ["፩", "፪", "᧚", "²", "①", "❶", "٣", "৪"])
def test_a_letter_that_looks_like_a_digit_is_a_number_or_none(digit):
    read = understand(f"cell {digit} voltage [V]")
    if digit in "፩፪᧚❶":
        assert (read.quantity, read.strange) == (understand("cell x voltage [V]").quantity, (digit,))
    else:
        assert re.fullmatch(r"cell voltage [1-4]", read.quantity)


def test_a_word_of_a_thousand_parts_is_taken_apart_at_once():
    """Each way to read a linking letter was tried at each place, three times as many with each part."""
    assert strange_words(["batt" * 1000]) == ()
    assert strange_words(["batts" * 1000]) == ("batts" * 1000,)  # a linking letter ends no word
    assert strange_words(["batt" * 1000 + "x"]) == ("batt" * 1000 + "x",)
