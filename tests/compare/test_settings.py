"""The thresholds of a comparison as a record holds them."""

from ridelog.compare.settings import DEFAULTS, told


def test_each_threshold_is_told_by_its_name_and_those_of_a_quantity_behind_it():
    flat = told(DEFAULTS)
    assert flat["false_alarm_rate"] == DEFAULTS.false_alarm_rate
    assert flat["worth_knowing.captured_pct"] == DEFAULTS.worth_knowing["captured_pct"]
    assert "worth_knowing" not in flat
