"""What a document rests on: each key of the bike file has a name, and each value its limit, unit and origin."""

import pytest

from ridelog.answer.provenance import BikeValue
from ridelog.settings.bike import Bike
from ridelog.tell.documents import basis
from ridelog.tell.numbers import IMPERIAL, METRIC
from tests.scenarios import sample_answer, simulated_answer

LIMITS = {"total_mass_limit_kg", "cda_limit_m2", "crr_limit"}  # told as the limits of the values that they are of


def test_every_key_of_the_bike_file_has_a_name():
    keys = {
        f"{section}.{key}"
        for section, field in Bike.model_fields.items()
        for key in field.annotation.model_fields
        if key != "name" and key not in LIMITS
    }
    assert keys == set(basis.NAMES)


@pytest.mark.parametrize(
    ("key", "value", "limit", "metric", "imperial"),
    [
        ("bike.total_mass_kg", 108.0, 3.0, "108 ± 3 kg", "238.1 ± 6.6 lb"),  # 1 lb = 0.45359237 kg
        ("sensor.current_zero_limit_a", 0.05, None, "0.05 A", "0.05 A"),
        ("road.wind_mps", 0.0, 1.5, "0 ± 5.4 km/h", "0 ± 3.4 mph"),
        ("pack.min_charge_temperature_c", 0.0, None, "0 °C", "32 °F"),
        ("motor.kind", "direct-drive", None, "direct-drive", "direct-drive"),
        ("sensor.averaged", False, None, "no", "no"),
        ("pack.cells_in_series", 13, None, "13", "13"),
        ("pack.capacity_ah", None, None, "", ""),
    ],
)
def test_a_value_has_its_limit_and_unit(key, value, limit, metric, imperial):
    used = BikeValue(value, limit, "entered")
    assert basis.value_text(key, used, METRIC) == metric
    assert basis.value_text(key, used, IMPERIAL) == imperial


def test_what_was_measured_is_told_by_file():
    rows = dict(basis.measured_rows(sample_answer("commute"), METRIC))
    (log,) = (said for path, said in rows.items() if path.endswith("controller.csv"))
    assert "8777 samples, one every 0.20 s" in log
    assert "battery current" in log


def test_values_are_sorted_by_where_they_are_from():
    entered = dict(basis.values_by_origin(sample_answer("commute"), "entered", METRIC))
    assert entered["drag area"] == "0.55 ± 0.1 m²"
    assert "price of a kWh" not in entered
    assert basis.values_by_origin(sample_answer("commute"), "assumed", METRIC) == []
    assert any(basis.values_by_origin(simulated_answer(seed), "assumed", METRIC) for seed in range(7300, 7306))


def test_conditions_and_assumptions_are_told():
    conditions = dict(basis.conditions(sample_answer("commute"), METRIC))
    assert conditions["start"] == "2026-05-04 09:12:00 UTC"
    assert conditions["air temperature"] == "15 ± 3 °C, entered"
    assert "time zone" not in conditions
    assert len(basis.assumptions(sample_answer("commute"), METRIC)) == 2


def test_settings_are_told_with_their_values():
    table = basis.settings(sample_answer("commute").settings, METRIC)
    hills = next(row[1] for row in table.rows if row[0] == "hills")
    assert "min_height_m = 5;" in hills
    rows = {row[0]: row[1:] for row in basis.bike(sample_answer("commute"), METRIC).rows}
    assert rows["road.cda_m2"] == ("drag area", "0.55 ± 0.1 m²", "entered")
