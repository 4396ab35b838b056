"""Numbers as people read them: significant digits, no exponent, no minus before a zero."""

import pytest

from ridelog.answer.worth import Benefit, Worth
from ridelog.tell.ride import fixed, number, sure, worth_verdict
from ridelog.uncertain.quantity import Quantity


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


def worth(**given):
    return Worth(**({"motor_kind": None, "can_regenerate": None, "benefit": None, "why": None, "would": None} | given))


def benefit(low, high, verdict):
    one = Quantity(1.0, 0.9, 1.1)
    net = Quantity((low + high) / 2, low, high)
    return Benefit(one, one, 10.0, 90.0, one, net, one, one, one, one, one, one, verdict, ("x",))


@pytest.mark.parametrize(
    ("value", "told"),
    [
        (Quantity(0.3277, 0.0311, 0.5776), "0.33 (0.03 to 0.58) km"),
        (Quantity(88.654, 87.22, 89.82), "88.7 (87.2 to 89.8) km"),
        (Quantity(483.2, 274.2, 5090.5), "480 (270 to 5090) km"),
        (Quantity(3.0, 1.5, 56.2), "3.0 (1.5 to 56.2) km"),
        (Quantity(3.0, 3.0, 56.2), "3 (3 to 56) km"),
        (Quantity(0.8146, 0.8062, 0.8231), "0.815 (0.806 to 0.823) km"),
        (Quantity(-0.02, -0.4, 0.3), "-0.02 (-0.40 to 0.30) km"),
        (Quantity(631.4), "630 km"),
        (Quantity(0.0, 0.0, 0.0), "0 km"),
    ],
)
def test_an_unsure_number_is_told_to_two_digits_of_its_narrower_half(value, told):
    """Halves 0.25, 1.2, 209, 1.5, 53, 0.008 and 0.32, rounded by hand; where there is none, two digits."""
    assert sure(value, "km") == told


@pytest.mark.parametrize(
    ("verdict", "begins"),
    [
        ("gains", "Regeneration gained energy"),
        ("loses", "Regeneration lost energy"),
        ("cannot be told", "Whether regeneration gained or lost energy on this ride cannot be told"),
    ],
)
def test_the_verdict_is_told_in_a_sentence(verdict, begins):
    assert worth_verdict(worth(benefit=benefit(-1.0, 1.0, verdict))).startswith(begins)


def test_a_bike_that_cannot_regenerate_is_told_so_with_the_reason():
    told = worth_verdict(worth(motor_kind="mid-drive", can_regenerate=False, why="the drive freewheels"))
    assert told == "This bike cannot regenerate: the drive freewheels."


def test_an_unknown_benefit_is_told_with_its_reason():
    assert worth_verdict(worth(why="what came back is not known")).endswith("not known: what came back is not known.")
