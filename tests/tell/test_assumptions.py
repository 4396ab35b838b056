"""What a number rests on that nobody measured, in words. Numbers are those given, rounded by hand."""

import pytest

from ridelog.tell.assumptions import benefit_assumptions, ledger_assumptions
from ridelog.tell.findings.words import plus_minus
from ridelog.tell.kinds import FORCE, MASS
from ridelog.tell.numbers import METRIC, Style

EFFICIENCY = {"generator_efficiency_low_pct": 45.0, "generator_efficiency_high_pct": 92.0}
BENEFIT = {
    "battery_efficiency_low_pct": 94.0,
    "battery_efficiency_high_pct": 99.0,
    "drive_efficiency_low_pct": 60.0,
    "drive_efficiency_high_pct": 85.0,
}
RIM = {"motor_drag_low_n": 0.58, "motor_drag_high_n": 2.92}
DRAGS = [
    ({"motor_drag_from": "unknown"}, "drag is not known"),
    ({"motor_drag_from": "freewheel", "motor_drag_low_n": 0.0, "motor_drag_high_n": 0.0}, "no motor drag"),
    ({"motor_drag_from": "entered", "motor_drag_low_n": 1.2, "motor_drag_high_n": 1.8}, "motor drag 1.5 ± 0.3 N"),
    (
        {"motor_drag_from": "assumed", **RIM, "motor_drag_low_nm": 0.2, "motor_drag_high_nm": 1.0},
        "0.58 to 2.9 N at the rim",
    ),
]


def plain(text):
    return text.replace("\xa0", " ")


@pytest.mark.parametrize(("drag", "words"), DRAGS)
def test_the_motor_s_drag_is_told_by_where_it_is_from(drag, words):
    assert words in plain(ledger_assumptions({**EFFICIENCY, **drag, "rider_power_limit_pct": None}))
    assert words in plain(benefit_assumptions({**BENEFIT, **drag}))


def test_a_ledger_tells_efficiency_drag_and_the_rider_s_power_in_one_line():
    parts = plain(ledger_assumptions({**EFFICIENCY, **DRAGS[1][0], "rider_power_limit_pct": 5.0})).split("; ")
    assert len(parts) == 3
    assert parts[0].startswith("45 to 92 %")
    assert parts[2] == "your power to ±5.0 %"
    unknown = ledger_assumptions({**EFFICIENCY, **DRAGS[1][0], "rider_power_limit_pct": None})
    assert unknown.endswith("your own work is not known")


def test_a_benefit_tells_drag_battery_and_drive():
    parts = plain(benefit_assumptions({**BENEFIT, **DRAGS[0][0]})).split("; ")
    assert "94 to 99 %" in parts[1]
    assert "60 to 85 %" in parts[2]


def test_forces_are_in_the_units_of_the_style():
    imperial = Style(units="imperial")
    given = {**EFFICIENCY, **DRAGS[2][0], "rider_power_limit_pct": None}
    assert ledger_assumptions(given, METRIC) != ledger_assumptions(given, imperial)


def test_a_missing_fact_is_named():
    with pytest.raises(LookupError, match="motor_drag_from"):
        ledger_assumptions({**EFFICIENCY, "rider_power_limit_pct": None})


@pytest.mark.parametrize(
    ("value", "limit", "kind", "metric", "imperial"),
    [
        (2.0, 0.4, FORCE, "2 ± 0.4 N", "0.450 ± 0.09 lbf"),  # 0.22481 lbf in a newton
        (110.0, 30.0, MASS, "110 ± 30 kg", "243 ± 66 lb"),  # 2.20462 lb in a kilogram
    ],
)
def test_what_is_converted_has_no_more_digits_than_its_limit(value, limit, kind, metric, imperial):
    assert plain(plus_minus(value, limit, kind, METRIC)) == metric
    assert plain(plus_minus(value, limit, kind, Style(units="imperial"))) == imperial
