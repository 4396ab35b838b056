"""What rides teach, in words and tables."""

from datetime import UTC, datetime

from ridelog.fleet.history.bike.learned import Learned
from ridelog.fleet.history.bike.start_charge import StartCharge
from ridelog.fleet.learning import Gain, RouteStart, Teaching
from ridelog.tell.fleet import learning as words
from ridelog.tell.table import text_of
from ridelog.uncertain.quantity import Quantity

ZERO = Learned("current_zero_a", Quantity(0.02, 0.01, 0.03), 0.011, 12, None)
WHEEL = Learned("wheel_circumference_m", Quantity(2.11, 2.10, 2.12), 0.011, 12, -0.004)
START = RouteStart("to work", datetime(2026, 3, 1, tzinfo=UTC), StartCharge(0.9, 93.57, 0.7, 12, 14.0))
GAIN = Gain("to work", (Quantity(6.7, 6.0, 7.4), Quantity(6.7, 6.5, 6.9)), (None, None))
TEACHING = Teaching(
    "Avocet", 12, (ZERO, WHEEL),
    {"bike": {"wheel_circumference_m": 2.11}, "sensor": {"current_zero_limit_a": 0.031}}, (START,), GAIN,
)  # fmt: skip


def test_each_value_has_its_unit_its_interval_and_its_trend():
    table = words.values(TEACHING)
    shown = [[text_of(cell, column) for cell, column in zip(row, table.columns, strict=True)] for row in table.rows]
    assert shown[0][:3] == ["current at rest, less the standby draw", "0.020 A (0.010 to 0.030)", "12"]
    assert shown[1][3].endswith(" m")


def test_a_start_is_rounded_down():
    table = words.starts(TEACHING)
    assert table.rows[0] == ("to work (1 March 2026)", 12, 0.7, 93.0)
    assert "friction brakes" in words.FULL_CAUTION


def test_a_gain_is_told_of_what_is_known():
    assert words.gain(TEACHING) == "With these, to work says recovered 6.70 % (6.00 to 7.40) -> 6.70 % (6.50 to 6.90)."
    assert words.headline(TEACHING) == "What 12 rides of Avocet teach:"


def test_the_lines_of_a_bike_file_hold_what_was_learned():
    assert words.as_toml(TEACHING) == "[bike]\nwheel_circumference_m = 2.11\n[sensor]\ncurrent_zero_limit_a = 0.031"
