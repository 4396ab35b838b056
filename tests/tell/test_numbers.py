"""Numbers as people read them: digits, intervals, signs, and one switch from metric to imperial."""

import ast
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ridelog.tell import kinds, numbers
from ridelog.tell.numbers import IMPERIAL, METRIC, Style, amount, bounds, cell, measured, number
from ridelog.uncertain.quantity import Quantity
from tests.places import ROOT

PAGE = numbers.typeset(METRIC)


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (9.996, "10.0"),  # three digits, not four
        (99.96, "100"),
        (0.00278, "0.00278"),
        (0.0, "0"),
        (-0.0, "0"),
        (123456.0, "123456"),
        (-8.08, "-8.08"),
        (0.0512, "0.0512"),
        (None, "–"),
        (float("nan"), "–"),
        (float("inf"), "–"),
    ],
)
def test_a_number_has_three_significant_digits(value, shown):
    """Digits before the point stay, and what is not known or not finite is a dash."""
    assert number(value) == shown


@pytest.mark.parametrize(
    ("value", "digits", "shown"),
    [(999.6, 3, "1\u202f000"), (-4.55, 2, "−4.5"), (123456.0, 3, "123\u202f456"), (-0.0000001, 3, "0")],
)
def test_a_page_sets_thousands_apart_and_has_a_true_minus(value, digits, shown):
    """Binary 4.55 is a little less than 4.55."""
    assert number(value, PAGE, digits=digits) == shown


@pytest.mark.parametrize(("value", "shown"), [(-0.3, "0"), (-0.0, "0"), (-0.6, "-1"), (12.4, "12"), (-100.0, "-100")])
def test_what_rounds_to_zero_has_no_sign(value, shown):
    assert numbers.fixed(value, 0) == shown


@pytest.mark.parametrize(("value", "shown"), [(0.82, "+0.8"), (-0.82, "−0.8"), (0.04, "0.0"), (-0.04, "0.0")])
def test_a_signed_number_has_a_plus_too(value, shown):
    assert numbers.signed(value, 1, PAGE) == shown


def test_a_column_has_the_decimals_of_its_largest_value():
    """48.0 to three digits has one decimal, and so has every other number below it."""
    assert numbers.decimals_for([0.4, 48.0, None]) == 1
    assert numbers.decimals_for([]) == 0


@pytest.mark.parametrize(
    ("value", "told"),
    [
        (Quantity(8.0812, 8.0408, 8.1216), "8.08 % (8.04 to 8.12)"),
        (Quantity(0.3277, 0.0311, 0.5776), "0.33 % (0.03 to 0.58)"),
        (Quantity(88.654, 87.22, 89.82), "88.7 % (87.2 to 89.8)"),
        (Quantity(483.2, 274.2, 5090.5), "480 % (270 to 5090)"),
        (Quantity(3.0, 1.5, 56.2), "3.0 % (1.5 to 56.2)"),
        (Quantity(3.0, 3.0, 56.2), "3 % (3 to 56)"),
        (Quantity(203.4, 203.4, 12082.0), "200 % (200 to 12080)"),  # a value at its bound is not rounded away
        (Quantity(0.8146, 0.8062, 0.8231), "0.815 % (0.806 to 0.823)"),
        (Quantity(-0.02, -0.4, 0.3), "-0.02 % (-0.40 to 0.30)"),
        (Quantity(72.9123), "72.9 %"),  # no interval known
        (Quantity(0.0, 0.0, 0.0), "0 %"),  # none to see
        (Quantity(48.001, 48.0, 48.002), "48.0 %"),
        (None, "–"),
    ],
)
def test_a_quantity_has_two_digits_of_the_narrower_half_of_its_interval(value, told):
    """Halves 0.04, 0.25, 1.2, 209, 1.5, 53, 0.008 and 0.32, rounded by hand; never more than three digits in all."""
    assert measured(value, kinds.PERCENTAGE) == told


def test_the_unit_may_stand_behind_the_bounds_too():
    assert measured(Quantity(8.0812, 8.0408, 8.1216), kinds.PERCENTAGE, both=True) == "8.08 % (8.04 to 8.12 %)"


def test_an_interval_may_be_written_as_plus_and_minus():
    style = replace(METRIC, intervals="plus-minus")
    assert measured(Quantity(8.0812, 8.0408, 8.1216), kinds.PERCENTAGE, style) == "8.08 ± 0.04 %"
    assert measured(Quantity(70.0, 50.0, 142.0), kinds.PERCENTAGE, style) == "70 % (50 to 142)"


def test_the_bounds_alone_are_rounded_as_with_their_value():
    assert bounds(Quantity(8.0812, 8.0408, 8.1216), kinds.PERCENTAGE) == "8.04 to 8.12"
    assert bounds(Quantity(8.0812), kinds.PERCENTAGE) is None
    assert bounds(None, kinds.PERCENTAGE) is None


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (Quantity(6.22, 5.45, 6.85), "6.2 ±0.7"),
        (Quantity(72.91, 72.5, 73.3), "72.9 ±0.4"),
        (Quantity(430.0, 250.0, 610.0), "430 ±180"),
        (Quantity(14.1), "14.1"),
        (None, "–"),
    ],
)
def test_a_cell_has_the_half_width_to_one_digit(value, shown):
    assert cell(value, kinds.ENERGY) == shown


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (Quantity(70.0, 50.0, 142.0), "70 (50 to 142)"),  # "70 ±46" would reach from 24 to 116
        (Quantity(6.22, 5.35, 6.75), "6.2 (5.3 to 6.8)"),  # halves 0.87 and 0.53
        (Quantity(0.0, 0.0, 0.2), "0.0 (0.0 to 0.2)"),
        (Quantity(-9.0, -9.3, -7.9), "-9 (-9 to -8)"),
        (Quantity(4.0, 1.0, 8.0), "4 ±4"),  # halves 3 and 4: a third more, and no further
        (Quantity(4.0, 1.0, 8.1), "4 (1 to 8)"),
    ],
)
def test_a_cell_whose_interval_is_skewed_names_both_bounds(value, shown):
    assert cell(value, kinds.ENERGY) == shown


@pytest.mark.parametrize(
    ("value", "kind", "metric", "imperial"),
    [
        (0.3048, kinds.LENGTH, "0.305 m", "1.00 ft"),
        (30.48, kinds.HEIGHT, "30.5 m", "100 ft"),
        (1609.344, kinds.ROAD, "1.61 km", "1.00 mi"),
        (1.609344, kinds.RANGE, "1.61 km", "1.00 mi"),
        (0.44704, kinds.SPEED, "1.61 km/h", "1.00 mph"),
        (0.3048, kinds.SPEED_ERROR, "0.305 m/s", "1.00 ft/s"),
        (0.45359237, kinds.MASS, "0.454 kg", "1.00 lb"),
        (4.4482216152605, kinds.FORCE, "4.45 N", "1.00 lbf"),
        (1.3558179483314004, kinds.TORQUE, "1.36 N m", "1.00 lbf ft"),
        (0.09290304, kinds.DRAG_AREA, "0.0929 m²", "1.00 ft²"),
        (37.0, kinds.TEMPERATURE, "37.0 °C", "98.6 °F"),
        (-40.0, kinds.TEMPERATURE, "-40.0 °C", "-40.0 °F"),
        (10.0, kinds.CONSUMPTION, "10.0 Wh/km", "16.1 Wh/mi"),
        (5.89, kinds.ENERGY, "5.89 Wh", "5.89 Wh"),
        (0.00294, kinds.SMALL_CHARGE, "2.94 mAh", "2.94 mAh"),
        (42.0, kinds.ANGLE, "42.0°", "42.0°"),
        (0.0063, kinds.RATIO, "0.00630", "0.00630"),
        (None, kinds.ENERGY, "–", "–"),
    ],
)
def test_one_switch_turns_metric_into_imperial(value, kind, metric, imperial):
    """Values that the exact factors turn into whole ones, and such as are the same in both."""
    assert (amount(value, kind, METRIC), amount(value, kind, IMPERIAL)) == (metric, imperial)


@pytest.mark.parametrize(
    ("metres", "metric", "imperial"),
    [
        (980.0, "980 m", "0.609 mi"),
        (1000.0, "1.00 km", "0.621 mi"),
        (52.6, "52.6 m", "173 ft"),
        (402.0, "402 m", "1319 ft"),  # just below a quarter of a mile, 402.336 m
        (402.5, "402 m", "0.250 mi"),
        (8450.0, "8.45 km", "5.25 mi"),
    ],
)
def test_the_unit_of_a_distance_follows_its_size(metres, metric, imperial):
    assert (amount(metres, kinds.DISTANCE), amount(metres, kinds.DISTANCE, IMPERIAL)) == (metric, imperial)


def test_a_value_and_its_bounds_have_one_unit():
    """Bounds on either side of a kilometre stay in the unit of the value."""
    assert measured(Quantity(1010.0, 980.0, 1040.0), kinds.DISTANCE) == "1.01 km (0.98 to 1.04)"


def test_an_interval_of_temperature_has_no_offset_in_its_width():
    """10 ± 1 °C is 50.0 ± 1.8 °F."""
    style = replace(IMPERIAL, intervals="plus-minus")
    assert measured(Quantity(10.0, 9.0, 11.0), kinds.TEMPERATURE, style) == "50.0 ± 1.8 °F"
    assert cell(Quantity(10.0, 9.0, 11.0), kinds.TEMPERATURE, IMPERIAL) == "50 ±2"


def test_two_numbers_share_their_unit():
    assert numbers.between(10 / 3.6, 30 / 3.6, kinds.SPEED, digits=2) == "10 to 30 km/h"
    assert numbers.between(10 / 3.6, 30 / 3.6, kinds.SPEED, IMPERIAL, digits=2) == "6.2 to 19 mph"


@given(st.floats(-1e6, 1e6), st.integers(1, 5), st.sampled_from(kinds.KINDS))
def test_a_written_number_is_the_value_to_its_digits(value, digits, kind):
    """Half of one in the last digit off at most, in either system, or half of the sixth decimal."""
    for style in (Style(digits=digits), Style("imperial", digits)):
        unit = numbers.unit_of(kind, style, value=value)
        shown = value * unit.factor + unit.offset
        text = amount(value, kind, style).removesuffix(unit.symbol)
        assert abs(float(text) - shown) <= max(0.5 * 10 ** (1 - digits) * abs(shown), 0.5e-6) * (1 + 1e-9)


def test_counts_agree_with_their_word():
    assert numbers.counted(1, "hill") == "1 hill"
    assert numbers.counted(2, "stretch", "stretches") == "2 stretches"
    assert numbers.counted(0, "hill") == "0 hills"
    assert numbers.counted(36002, "sample", style=PAGE) == "36\u202f002 samples"


def test_what_was_entered_is_told_as_it_was_entered():
    assert numbers.plain(120.0) == "120"
    assert numbers.plain(99.95) == "99.95"
    assert numbers.plain(0.1) == "0.1"


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (0.2, "0.2"), (48.0, "48"), (48.25, "48.25"), (-3.0, "-3"), (1234567.891, "1234568"), (1e6, "1000000"),
        (1.5e-7, "0.00000015"), (0.1 + 0.2, "0.3"), (float("nan"), "–"),
    ],
)  # fmt: skip
def test_a_value_of_a_log_is_told_in_full_without_zeros_added(value, shown):
    assert numbers.as_logged(value) == shown


# module -> what it writes that no person reads
FORMATS_OF_CODE = {
    "ridelog/importers/preview.py": "a value rounded to be drawn, which stays a number",
    "ridelog/web/parts/bar.py": "the length of a bar, for the style sheet",
    "ridelog/web/parts/reading/spark.py": "the path of a column's picture, for the browser",
    "ridelog/figures/power.py": "the path of a hill's rail, for the chart library",
}


def formats_numbers(source):
    """Lines of a source text in which a value is written by a format of its own, such as ``{x:.2f}``."""
    return [
        node.lineno
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.FormattedValue) and node.format_spec is not None
    ]


def test_nothing_else_that_people_read_is_formatted_elsewhere():
    """The whole package leaves it to two modules."""
    paths = (ROOT / "ridelog").rglob("*.py")
    found = {str(path.relative_to(ROOT)) for path in paths if formats_numbers(path.read_text(encoding="utf-8"))}
    assert found == {"ridelog/tell/numbers.py", "ridelog/tell/times.py", *FORMATS_OF_CODE}


def test_a_number_formatted_elsewhere_would_be_seen():
    assert formats_numbers('x = 1\nprint(f"{x:.2f} Wh")') == [2]
    assert formats_numbers('print(f"{x} Wh")') == []


def test_a_rounding_error_is_shown_as_zero_and_not_as_a_row_of_zeros():
    assert number(4e-17) == "0"
    assert number(-4e-17) == "0"
    assert number(0.000002) == "0.000002"
