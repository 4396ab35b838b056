"""The form of the bike file: mass first, every key once, what was entered in its field."""

import json

from plotly.utils import PlotlyJSONEncoder

from ridelog.settings.bike_form import BIKE_KEYS
from ridelog.web.parts.bike.form import bike_form
from tests.scenarios import sample_answer


def fields(component):
    """The fields of a form, by their place in the bike file, in their order."""
    found = {}

    def walk(part):
        if isinstance(part, dict):
            name = part.get("props", {}).get("id")
            if isinstance(name, dict) and name.get("type") == "field":
                found[name["to"]] = part["props"]
            for inner in part.values():
                walk(inner)
        elif isinstance(part, list):
            for inner in part:
                walk(inner)

    walk(json.loads(json.dumps(component, cls=PlotlyJSONEncoder)))
    return found


def test_the_mass_comes_first_and_every_key_once():
    found = fields(bike_form(sample_answer("commute"), "[bike]\ntotal_mass_kg = 108.0\n", "t", mine=True))
    assert list(found)[:2] == ["bike.total_mass_kg", "bike.total_mass_limit_kg"]
    assert sorted(found) == sorted(BIKE_KEYS)
    assert found["bike.total_mass_kg"]["value"] == "108.0"
    assert found["road.cda_m2"]["value"] == ""
    assert found["road.cda_limit_m2"]["description"].startswith("used: ")


def test_what_somebody_else_gave_is_shown_and_not_to_be_changed():
    found = fields(bike_form(sample_answer("commute"), None, "t", mine=False))
    assert all(field["disabled"] for field in found.values())
    form = json.dumps(bike_form(sample_answer("commute"), None, "t", mine=False), cls=PlotlyJSONEncoder)
    assert "bike-save" not in form
