"""A comparison's record: the contract's keys, and back from JSON."""

import json

import pytest

from ridelog.compare.record import Comparison
from ridelog.errors import AnswerError
from tests.compare.campaigns import told_comparison

DIFFERENCE = (
    "quantity", "first", "second", "paired_by", "pairs", "difference", "from_measurement_u", "from_ride_to_ride_sd",
    "verdict", "smallest_told", "rides_to_settle",
)  # fmt: skip


def test_it_has_every_key_of_the_contract():
    told = told_comparison().to_dict()
    assert (told["schema"], list(told)[:2]) == (1, ["schema", "ridelog"])
    assert {"groups", "differences", "conditions", "rides", "findings"} <= set(told)
    assert {"name", "rides", "recovered_pct", "captured_pct", "net_wh_per_km"} <= set(told["groups"][0])
    for each in told["differences"]:
        assert tuple(each)[: len(DIFFERENCE)] == DIFFERENCE
        assert each["verdict"] in ("first-higher", "second-higher", "not-told")
        assert each["paired_by"] in ("hill", "route", "none")
        assert set(each["difference"]) == {"value", "low95", "high95"}
    assert {"mean", "sd"} == set(told["conditions"][0]["groups"]["off"])
    assert {"group", "name", "start", "key"} <= set(told["rides"][0])


def test_what_is_read_back_is_what_was_written():
    whole = told_comparison()
    assert Comparison.from_dict(json.loads(json.dumps(whole.to_dict(), allow_nan=False))) == whole


def test_what_is_no_comparison_is_refused():
    with pytest.raises(AnswerError):
        Comparison.from_dict({"schema": 1})
