"""What is chosen for a column becomes a column map that reads back."""

from io import BytesIO

import pytest

from ridelog.errors import ColumnMapError
from ridelog.settings.column_map import read_map
from ridelog.web.callbacks.columns import in_words, map_with


def chosen(column, quantity, unit=None, sign=None, step=None):
    return {"column": column, "quantity": quantity, "unit": unit, "sign": sign, "step": step}


def test_a_choice_is_added_and_the_latest_of_a_column_counts():
    text = map_with(None, chosen("I1", "battery current", "mA", "-1"))
    text = map_with(text, chosen("I2", "-"))
    text = map_with(text, chosen("I1", "battery current", "A"))
    first, second = sorted(read_map(BytesIO(text.encode())).column, key=lambda entry: entry.header)
    assert (first.header, first.quantity, first.unit, first.sign) == ("I1", "battery current", "A", None)
    assert (second.header, second.use) == ("I2", False)


@pytest.mark.parametrize(
    "wrong",
    [
        chosen("I1", "battery current", "km/h"),
        chosen("I1", "phlogiston"),
        chosen(None, None, step="soon"),
        chosen(None, None, step="0"),
    ],
)
def test_what_cannot_be_is_refused_in_the_maps_words(wrong):
    with pytest.raises(ColumnMapError):
        map_with(None, wrong)


def test_a_step_is_kept_beside_columns_and_may_have_a_decimal_comma():
    text = map_with(map_with(None, chosen(None, None, step="0,5")), chosen("I1", "battery current", "mA"))
    known = read_map(BytesIO(text.encode()))
    assert known.log.step_s == 0.5
    assert [entry.header for entry in known.column] == ["I1"]


def test_a_choice_is_said():
    assert in_words(chosen("I1", "battery current", "mA", "-1")) == (
        "“I1” read as battery current in mA, the other way round"
    )
    assert in_words(chosen("I2", "-", step="2")) == "“I2” left out; rows taken to be 2 s apart"
