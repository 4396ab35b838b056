"""Units: their factors are those that are agreed, and no spelling has two meanings.

Exact by definition: inch, foot, mile (international, 1959), nautical mile (1929), degree Fahrenheit, hour.
"""

import pytest

from ridelog.vocabulary.units import (
    _UNIT_ROWS,
    NO_UNITS,
    OTHER_UNITS,
    UNITS,
    is_other_unit,
    says_no_unit,
    spells_unit,
    unit_named,
)


@pytest.mark.parametrize(
    ("value", "spelling", "in_si"),
    [
        (36, "km/h", 10.0),
        (10, "mph", 10 * 5280 * 12 * 0.0254 / 3600),
        (1, "knots", 1852 / 3600),
        (100, "ft", 30.48),
        (3, "miles", 3 * 1609.344),
        (1500, "mA", 1.5),
        (36_000, "mV", 36.0),
        (0.25, "kW", 250.0),
        (250, "ms", 0.25),
        (250, "µs", 250e-6),
        (1.5, "h", 5400.0),
        (32, "°F", 0.0),
        (212, "degF", 100.0),
        (-40, "°F", -40.0),
        (273.15, "K", 0.0),
        (2600, "mAh", 2.6),
        (0.5, "kWh", 500.0),
        (55, "%", 0.55),
    ],
)
def test_a_value_in_a_unit_is_this_much_in_si(value, spelling, in_si):
    unit = unit_named(spelling)
    assert (value + unit.offset) * unit.factor == pytest.approx(in_si, rel=1e-12, abs=1e-12)


def test_no_spelling_has_two_meanings():
    spellings = [spelling for *_, row in _UNIT_ROWS for spelling in row.split()]
    assert len(spellings) == len(set(spellings)) == len(UNITS)
    assert not set(spellings) & OTHER_UNITS


@pytest.mark.parametrize("text", ["μs", "  KM / H ", "Sec.", "℃"])
def test_a_unit_is_known_however_it_is_typed(text):
    """Greek mu and micro sign, blanks, capitals, a full stop, one sign for degree and C."""
    assert unit_named(text) is not None


@pytest.mark.parametrize(
    ("text", "unit", "other", "none"),
    [
        ("[A]", True, False, False),
        ("(km/h)", True, False, False),
        ("hPa", True, True, False),
        ("Wh / km", True, True, False),
        ("kg", True, True, False),
        ("count", True, True, True),
        ("", False, False, True),
        ("12.5", False, False, False),
        ("current", False, False, False),
    ],
)
def test_a_unit_that_is_not_used_is_told_from_none_at_all(text, unit, other, none):
    assert (spells_unit(text), is_other_unit(text), says_no_unit(text)) == (unit, other, none)
    assert NO_UNITS < OTHER_UNITS
