"""An audit's answer as JSON, by the contract, and back."""

import json
from dataclasses import replace

from ridelog.fleet.history.one_way import OneWay
from ridelog.fleet.record import Audit, HillOfBike, RidePoint
from ridelog.uncertain.quantity import Quantity
from tests.fleet.audits import made_up
from tests.places import ROOT


def test_the_json_has_the_keys_of_the_contract():
    told = made_up().to_dict()
    assert list(told)[:5] == ["schema", "ridelog", "measured", "unchanged", "failed"]
    assert told["schema"] == 1
    assert told["failed"] == [
        {"path": "bikes/avocet/2026-05-01/track.gpx", "reason": "holds no point", "hint": "is it the right file?"}
    ]
    wanted = {"bike", "rides", "distance_m", "drawn_wh", "returned_wh", "recovered_pct", "ride_to_ride_sd"}
    assert all(wanted | {"net_wh_per_km", "stands_out"} <= set(bike) for bike in told["bikes"])
    assert told["bikes"][0]["recovered_pct"] == {"value": 6.71, "low95": 6.02, "high95": 7.4}
    (lost,) = told["bikes"][1]["stands_out"]
    assert {"code", "severity", "since", "message", "evidence"} == set(lost)
    assert lost["since"] == "2026-03-14T07:12:00Z"
    assert "0.4" in lost["message"]
    assert lost["evidence"]["n_before"] == 21
    wanted = {"id", "name", "direction", "passes", "bikes", "recovered_pct", "captured_pct"}
    assert all(wanted <= set(hill) for hill in told["hills"])


def test_what_is_kept_comes_back_as_it_was():
    audit = made_up()
    assert Audit.read(json.loads(json.dumps(audit.kept()))) == audit


def test_a_remark_of_danger_or_a_ride_that_failed_is_grave():
    audit = made_up()
    assert audit.grave
    calm = Audit(0, 2, (), (audit.bikes[0], audit.bikes[2]), ())
    assert not calm.grave
    assert Audit(0, 2, audit.failed, calm.bikes, ()).grave
    assert Audit(0, 2, (), audit.bikes, ()).grave


def keys_in(told):
    """Every key of plain data, but those of facts and of names that are data themselves."""
    if isinstance(told, list):
        return set().union(*map(keys_in, told))
    if not isinstance(told, dict):
        return set()
    data = ("evidence", "by_month", "by_air_c")
    return set(told) | set().union(*(keys_in(value) for key, value in told.items() if key not in data))


def test_every_key_of_the_json_is_documented():
    document = (ROOT / "docs" / "audit.md").read_text(encoding="utf-8")
    first = made_up()
    point = RidePoint("k", "n", None, Quantity(1.0), None)
    way = OneWay(1, "there", "n", None, 3, 1.0, 2.0, None, Quantity(1.0))
    audit = replace(first, bikes=tuple(replace(bike, history=(point,), by_direction=(way,)) for bike in first.bikes))
    assert Audit.read(json.loads(json.dumps(audit.kept()))) == audit
    audit = replace(audit, hills=(replace(audit.hills[0], by_bike=(HillOfBike("b", 1, None),)),))
    wanted = keys_in(audit.to_dict()) - {"value", "low95", "high95"}
    assert {key for key in wanted if f"`{key}`" not in document} == set()
