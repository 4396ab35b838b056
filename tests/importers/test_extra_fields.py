"""What names and units of fields mean: a table of cases, each plain to a reader."""

import pytest

from ridelog.importers.extra_fields import one_each, understood


@pytest.mark.parametrize(
    ("name", "unit", "channel", "factor", "sign"),
    [
        ("Battery Current", "A", "current_a", 1, 1),
        ("battery_current_ma", None, "current_a", 1e-3, 1),
        ("Regen Current", "A", "current_a", 1, -1),
        ("motorCurrent", "A", "motor_current_a", 1, 1),
        ("Battery voltage", "mV", "voltage_v", 1e-3, 1),
        ("Battery power", "W", "power_w", 1, 1),
        ("power", None, "rider_power_w", 1, 1),
        ("PowerInWatts", None, "rider_power_w", 1, 1),
        ("Speed", "M/S", "speed_mps", 1, 1),
        ("speedKmh", None, "speed_mps", 1 / 3.6, 1),
        ("Distance", "Meters", "distance_m", 1, 1),
        ("atemp", None, "air_temperature_c", 1, 1),
        ("battery_temp_f", None, "battery_temperature_c", 5 / 9, 1),
        ("cad", "", "cadence_rpm", 1, 1),
    ],
)
def test_field_is_understood(name, unit, channel, factor, sign):
    """A field is understood by the words of its name and its unit."""
    reading = understood(name, unit)
    assert (reading.channel, reading.factor, reading.sign) == (channel, pytest.approx(factor), sign)


@pytest.mark.parametrize(
    ("name", "unit", "why"),
    [
        ("current", "A", "does not say that it is the battery's current"),
        ("Motor power", "W", "does not say that it is the battery's power"),
        ("Battery Current", None, "nothing says in which unit the current is"),
        ("Battery Current", "V", "“V” is not a unit of current"),
        ("Form Power", "Watts", "“form”, which is not understood"),
        ("average speed", "m/s", "“average”, which is not understood"),
        ("wtemp", "C", "no word that names a quantity"),
        ("hr", None, "no word that names a quantity"),
        ("", None, "no word that names a quantity"),
    ],
)
def test_field_that_leaves_a_doubt_is_not_used(name, unit, why):
    """A field whose name or unit leaves a doubt is not used, and says why."""
    reading = understood(name, unit)
    assert reading.channel is None
    assert why in reading.why


def test_channel_is_given_once():
    """A channel goes to the format's own field, then to a field that counts both ways, then to the first."""
    readings = [understood("regen current", "A"), understood("battery current", "A"), understood("speed", "m/s")]
    given = {reading.header: reading.channel for reading, _ in one_each(((r, None) for r in readings), ["speed_mps"])}
    assert given == {"battery current": "current_a", "regen current": None, "speed": None}
