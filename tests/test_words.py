"""Numbers as people read them: significant digits, no exponent, no minus before a zero."""

import pytest

from ridelog.words import fixed, number


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (9.996, "10.0"),  # three digits, not four
        (0.00278, "0.00278"),
        (0.0, "0"),
        (-0.0, "0"),
        (123456.0, "123456"),
        (-8.08, "-8.08"),
        (None, "–"),
        (float("nan"), "–"),
        (float("inf"), "–"),
    ],
)
def test_a_number_has_three_significant_digits(value, shown):
    """Digits before the point stay, and what is not known or not finite is a dash."""
    assert number(value) == shown


@pytest.mark.parametrize(("value", "shown"), [(-0.3, "0"), (-0.0, "0"), (-0.6, "-1"), (12.4, "12"), (-100.0, "-100")])
def test_what_rounds_to_zero_has_no_sign(value, shown):
    assert fixed(value, 0) == shown
