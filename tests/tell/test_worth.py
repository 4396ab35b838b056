"""What regeneration is worth, in words."""

import pytest

from ridelog.answer.braking import Braking
from ridelog.answer.pack import Pack
from ridelog.answer.ride import Answer, Charge, Energy, RideSummary
from ridelog.answer.worth import Benefit, BrakingToCapture, Worth, WouldReturn
from ridelog.tell.numbers import IMPERIAL, PAGE
from ridelog.tell.worth import rows, verdict
from ridelog.uncertain.quantity import Quantity

ASSUMED = {
    "motor_drag_from": "assumed",
    "motor_drag_low_n": 0.58,
    "motor_drag_high_n": 2.92,
    "motor_drag_low_nm": 0.2,
    "motor_drag_high_nm": 1.0,
    "battery_efficiency_low_pct": 92.0,
    "battery_efficiency_high_pct": 98.0,
    "drive_efficiency_low_pct": 65.0,
    "drive_efficiency_high_pct": 85.0,
}


def worth(**given):
    return Worth(**({"motor_kind": None, "can_regenerate": None, "benefit": None, "why": None, "would": None} | given))


def benefit(low, high, verdict):
    one = Quantity(1.0, 0.9, 1.1)
    net = Quantity((low + high) / 2, low, high)
    return Benefit(one, one, 10.0, 90.0, one, net, one, one, one, one, one, one, verdict, ASSUMED)


def answer(given, *, lower_m=0.0):
    ride = RideSummary("r", None, 600.0, None, Quantity(5000.0), Quantity(100.0), Quantity(100.0), Quantity(lower_m))
    energy = Energy(Quantity(100.0), Quantity(5.0), Quantity(5.0), None, None)
    return Answer(
        ride=ride,
        sources=(),
        charge=Charge(None, None, None),
        energy=energy,
        braking=Braking(None, None, None, ()),
        hills=(),
        hill_pairs=(),
        pack=Pack(),
        findings=(),
        worth=given,
    )


@pytest.mark.parametrize(
    ("word", "begins"),
    [
        ("gains", "Regeneration gained energy"),
        ("loses", "Regeneration lost energy"),
        ("not-told", "We cannot say whether regeneration gained or lost energy on this ride"),
    ],
)
def test_the_verdict_is_told_in_a_sentence(word, begins):
    assert verdict(worth(benefit=benefit(-1.0, 1.0, word))).startswith(begins)


def test_a_bike_that_cannot_regenerate_is_told_so_with_the_reason():
    told = verdict(worth(motor_kind="mid-drive", can_regenerate=False, why="freewheel"))
    assert told == "This bike cannot regenerate: the drive freewheels, so it neither returns anything nor drags."


def test_an_unknown_benefit_is_told_with_its_reason():
    told = verdict(worth(why="return-unknown"))
    assert told.startswith("We cannot say whether")
    assert told.endswith(": we do not know how much came back.")


def test_every_number_of_a_benefit_follows_the_style():
    """1 N is 0.225 lbf, 1 N m 0.738 lbf ft, 1 Wh/km 1.61 Wh/mi (bounds 0.9 and 1.1: 0.202 to 0.247 lbf and so on)."""
    given = answer(worth(benefit=benefit(0.9, 1.1, "gains")))
    metric, imperial = dict(rows(given)), dict(rows(given, IMPERIAL))
    assert metric["use"].startswith("1.00 Wh/km (0.90 to 1.10) with this drive")
    assert imperial["use"].startswith("1.61 Wh/mi (1.45 to 1.77) with this drive")
    assert metric["break-even"].startswith("a drag of 1.00 N (0.90 to 1.10), or 1.00 N m (0.90 to 1.10) at the wheel")
    assert imperial["break-even"].startswith("a drag of 0.225 lbf (0.202 to 0.247), or 0.738 lbf ft")
    assert "10 % of the way" in metric["at best"]


def test_a_range_is_told_with_and_without_what_came_back():
    """80 km are 49.7 mi."""
    ranges = {"range_km": Quantity(80.0), "range_without_km": Quantity(75.0), "range_freewheeling_km": Quantity(78.0)}
    told = dict(rows(answer(worth(**ranges))))["range"]
    assert told == (
        "80 km on a full battery, ridden like this; 75 km if nothing had come back; 78 km with a drive that freewheels"
    )
    assert dict(rows(answer(worth(**ranges)), IMPERIAL))["range"].startswith("50 mi on a full battery")


def test_a_year_is_told_in_energy_money_and_years():
    """A loss has a true minus where a page shows it."""
    given = worth(
        km_per_year=2000.0, kwh_per_year=Quantity(0.1, -0.5, 0.7), saved_per_year=Quantity(0.03, -0.15, 0.21),
        currency="EUR", premium=120.0, soonest_payback_years=120 / 0.21,
    )  # fmt: skip
    told = dict(rows(answer(given)))["a year"]
    assert told.startswith("0.10 kWh (-0.50 to 0.70) in 2000 km ridden like this, or 0.03 EUR (-0.15 to 0.21); ")
    assert told.endswith("the extra price of 120 EUR is paid back no sooner than in 571 years, if ever")
    assert "(−0.50 to 0.70)" in dict(rows(answer(given), PAGE))["a year"]
    assert "in 1243 mi ridden like this" in dict(rows(answer(given), IMPERIAL))["a year"]


def test_what_a_bike_without_regeneration_could_have_had_is_told_by_kind():
    would = WouldReturn((BrakingToCapture("holding", 3, 12.0, 39.6, 71.2),), Quantity(6.0, 4.0, 8.0), None)
    told = dict(rows(answer(worth(can_regenerate=False, would=would))))
    assert told["available"] == "12.0 Wh from holding back on descents (40 to 71 % of it usually captured)"
    assert told["would return"].startswith("6.0 Wh (4.0 to 8.0) on this ride; ")
    assert told["it needs"].startswith("a motor that turns with the wheel")


def test_a_ride_that_ends_lower_says_so():
    """The last line qualifies what is said of other rides; 83 m are 272 ft."""
    given = answer(worth(benefit=benefit(0.9, 1.1, "gains")), lower_m=83.0)
    assert dict(rows(given))["but"].startswith("this ride ends 83 m lower than it starts")
    assert dict(rows(given, IMPERIAL))["but"].startswith("this ride ends 272 ft lower than it starts")
    assert "but" not in dict(rows(answer(worth(benefit=benefit(0.9, 1.1, "gains")))))


def test_a_ride_of_which_nothing_is_known_has_no_rows():
    assert rows(answer(None)) == []


@pytest.mark.parametrize(
    ("why", "lower_m", "told"),
    [
        ("ends-lower", 83.4, "it ends 83 m lower than it starts. Log a ride that ends where it began"),
        ("ends-higher", -24.0, "it ends 24 m higher than it starts. Log a ride that ends where it began"),
        ("too-short", 2.0, "5.00 km is too short for that"),
    ],
)
def test_why_there_is_no_year_is_said_once(why, lower_m, told):
    given = answer(worth(benefit=benefit(0.9, 1.1, "gains"), no_outlook=why), lower_m=lower_m)
    (said,) = [sentence for name, sentence in rows(given) if name == "but"]
    assert said == f"no range and no year is worked out from this ride: {told}"
