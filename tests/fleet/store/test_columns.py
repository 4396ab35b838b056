"""The schema: every column has a name of its own that states its unit."""

import json

import pytest

from ridelog.answer.frames import unit_of
from ridelog.fleet.store.columns import BESIDE, TABLES, columns
from ridelog.uncertain.quantity import Quantity
from tests.fleet.store.kept import made_answer

# numbers that count or name
WITHOUT_UNIT = {"number", "line_latitude_deg", "line_longitude_deg"}


@pytest.mark.parametrize("table", TABLES)
def test_each_number_states_its_unit(table):
    numbers = [each for each in columns(table) if each.kind in (float, int)]
    assert {each.name for each in numbers if each.unit is None} - WITHOUT_UNIT == set()
    names = [each.name for each in columns(table)]
    assert len(set(names)) == len(names)


def leaves(data, name):
    """Columns that a section of an answer's JSON takes: one for a value, three for a number with bounds."""
    for key, value in data.items():
        if isinstance(value, dict):
            yield from (f"{name}_{key}{end}" for end in ("", "_low95", "_high95"))
        elif not isinstance(value, list):
            yield f"{name}_{key}"


def test_every_leaf_of_a_section_has_its_column():
    """From the JSON, not from the records that the schema is made of."""
    data = json.loads(json.dumps(made_answer(1).to_dict()))
    named = {each.name for each in columns("answers")}
    for section in ("ride", "charge", "energy", "braking", "pack"):
        assert set(leaves(data[section], section)) <= named
    assert {"energy_net_wh_per_km_low95", "pack_start_charge_headroom_ah", "ride_start", "ride_duration_s"} <= named


def test_what_is_said_beside_has_bounds_where_it_is_measured():
    named = {each.name for each in columns("answers")}
    assert {name + "_low95" for name, (kind, _) in BESIDE.items() if kind is Quantity} <= named
    assert unit_of("current_zero_a_low95") == "A"
