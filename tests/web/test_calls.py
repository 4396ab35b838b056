"""Calls of the page's callbacks: those that it makes are answered, no other gets as far as a callback."""

import copy
import json
import logging
from collections.abc import Iterator
from typing import Any

import pytest

from ridelog.web import create_app
from ridelog.web.calls import MOST_BYTES, ROUTE, fits

WRONG: tuple[Any, ...] = (
    0,
    -1,
    1e308,
    "",
    "x",
    "1:2:3",
    "nan:nan",
    "1:inf",
    [],
    [None, None],
    ["a", "b"],
    {},
    {"token": None},
    {"token": [1]},
    {"type": "act", "to": [], "value": 1},
    {"type": "fit", "to": "find", "value": 1},
    {"xaxis.range[0]": "x", "xaxis.range[1]": {}},
    {"xaxis.range[0]": 1},
    True,
    [[[[]]]],
    list(range(10_000)),
)
TRUE_VALUES: dict[str, Any] = {
    "view.data": {"narrow": False, "dark": True},
    "written.data": {"units": "metric", "clock": "start"},
    "address.pathname": "/sample/beta",
    "tray.data": {"asked": 1},
    "bike-save.n_clicks": 1,
    "ride.data": {"token": "gone"},
    "units.value": "metric",
    "lanes.data": ["speed"],
    "window.data": {"token": "gone", "version": 1, "ends": [0.0, 49.0]},
    "event-order.value": "returned",
    "act-pressed.data": {"type": "put", "to": "x", "value": "alone", "n": 1},
    "correct-pressed.data": {"type": "correct", "to": "0", "value": 1, "n": 1},
    "coast-pressed.data": {"type": "coast", "to": "find", "value": 1, "n": 1},
    "learn-pressed.data": {"type": "learn", "to": "find", "value": 1, "n": 1},
}


@pytest.fixture
def app(samples, make_answer):
    app = create_app(samples, measure=lambda _given: (make_answer(n=50), ()))
    app.server.config["PROPAGATE_EXCEPTIONS"] = False
    return app


def true_calls(app, token: str = "gone") -> Iterator[dict[str, Any]]:
    """One call of each callback of the server, as the page makes it."""
    for name, callback in app.callback_map.items():
        if "callback" not in callback:
            continue
        outputs = callback["output"]
        several = isinstance(outputs, list)
        named = [_named(each) for each in (outputs if several else [outputs])]
        inputs = [_filled(spec, token) for spec in callback["inputs"]]
        yield {
            "output": name,
            "outputs": named if several else named[0],
            "inputs": inputs,
            "state": [_filled(spec, token) for spec in callback["state"]],
            "changedPropIds": [_changed(inputs[0][0] if isinstance(inputs[0], list) else inputs[0])],
        }


def _changed(given: dict[str, Any]) -> str:
    name = given["id"]
    text = name if isinstance(name, str) else json.dumps(name, separators=(",", ":"), sort_keys=True)
    return f"{text}.{given['property']}"


SEVERAL: dict[str, dict[str, Any]] = {
    "field": {"bike.total_mass_kg": "100"},
    "sharper": {"form": None, "headline": None},
    "cell": {"0:column": "y"},
    "coast-from": {"": "gone"},
    "stretch": {"0": True, "1": False},
    "offer": {"coasting": None},
    "learn-from": {"": "Gannet"},
    "learned": {"form": None},
}


def _named(output) -> Any:
    if isinstance(output.component_id, str):
        return {"id": output.component_id, "property": output.component_property}
    pattern = json.loads(output.component_id_str())
    named = [
        {"id": {"to": to, "type": pattern["type"]}, "property": output.component_property}
        for to in SEVERAL[pattern["type"]]
    ]
    return named if pattern["to"] == ["ALL"] else named[0]


def _filled(spec: dict[str, str], token: str) -> Any:
    if spec["id"].startswith("{"):
        pattern = json.loads(spec["id"])
        given = [
            {"id": {"to": to, "type": pattern["type"]}, "property": spec["property"],
             "value": value}
            for to, value in SEVERAL[pattern["type"]].items()
        ]  # fmt: skip
        return given if pattern["to"] == ["ALL"] else given[0]
    value = TRUE_VALUES.get(f"{spec['id']}.{spec['property']}")
    return {**spec, "value": {"token": token} if spec["id"] == "ride" else value}


def post(client, call: Any):
    body = call if isinstance(call, bytes) else json.dumps(call).encode()
    return client.post(ROUTE, data=body, headers={"Content-Type": "application/json", "Origin": "http://localhost"})


def test_the_calls_that_the_page_makes_are_answered(app):
    """With a ride that is held and with one that is gone; a callback that changes nothing answers 204."""
    client = app.server.test_client()
    client.get("/_dash-layout")
    chosen = next(call for call in true_calls(app) if call["output"] == "ride.data")
    chosen["state"][0]["value"] = None
    held = post(client, chosen).get_json()["response"]["ride"]["data"]["token"]
    answered = {(call["output"], token): post(client, call).status_code
                for token in ("gone", held) for call in true_calls(app, token)}  # fmt: skip
    assert len(answered) == 2 * 14
    assert set(answered.values()) <= {200, 204}
    assert answered["event-table.children", held] == 200


def test_no_other_value_in_any_place_of_a_call_is_a_fault_of_the_server(app, caplog):
    """Each input and each state of each callback with each wrong value: answered or refused, and nothing is logged."""
    client = app.server.test_client()
    client.get("/_dash-layout")
    refused = 0
    with caplog.at_level(logging.WARNING):
        for call in true_calls(app):
            for part in ("inputs", "state"):
                for place in range(len(call[part])):
                    for wrong in (None, *WRONG):
                        other = copy.deepcopy(call)
                        spot = other[part][place]
                        (spot[0] if isinstance(spot, list) else spot)["value"] = wrong
                        status = post(client, other).status_code
                        assert status in (200, 204, 400), (call["output"], part, place, wrong)
                        refused += status == 400
    assert refused > 150
    assert caplog.records == []


@pytest.mark.parametrize("key", ["output", "outputs", "inputs", "state", "changedPropIds"])
@pytest.mark.parametrize("wrong", [*WRONG, "gone"], ids=lambda value: repr(value)[:20])
def test_a_call_that_is_put_together_otherwise_is_refused(app, key, wrong):
    """Parts of another kind, or left out: 400 and one sentence."""
    client = app.server.test_client()
    client.get("/_dash-layout")
    for call in true_calls(app):
        other = {**call, key: wrong}
        if wrong == "gone":
            del other[key]
        if key in ("state", "inputs") and call[key] == [] and wrong in ([], "gone"):
            continue
        if key == "changedPropIds" and wrong in ([], "gone"):
            continue  # nothing that changed is a first call
        if key == "outputs" and wrong == [] and '["ALL"]' in call["output"]:
            continue  # there is none of these on the page
        reply = post(client, other)
        if key == "state" and wrong == "gone" and call["state"] == []:
            continue
        assert reply.status_code == 400, call["output"]
        assert reply.get_data(as_text=True) == "The page makes no such call: load it anew.\n"


@pytest.mark.parametrize(
    "body",
    [b"", b"\xff", b"null", b"5", b"[]", b"{}", b"[" * 100_000, b'{"output": NaN}', b'{"output": ["x"]}',
     b'{"output": "view.data"}', b'{"output": "nobody.x"}', b"9" * 9000],
    ids=lambda body: repr(body[:20]),
)  # fmt: skip
def test_a_body_that_is_no_call_is_refused(app, body):
    client = app.server.test_client()
    client.get("/_dash-layout")
    assert post(client, body).status_code == 400


def test_a_call_longer_than_any_that_the_page_makes_is_not_read(app):
    reply = post(app.server.test_client(), b"[" + b"1," * (MOST_BYTES // 2) + b"1]")
    assert reply.status_code == 413


def test_numbers_that_json_has_not_are_no_values(app):
    app.server.test_client().get("/_dash-layout")
    shown = next(call for call in true_calls(app) if call["output"].startswith("..answer.children"))
    assert fits(json.dumps(shown).encode(), app.callback_map)
    for number in ("NaN", "Infinity", "-Infinity", "1e999", '"1"'):
        text = json.dumps(shown).replace("[0.0, 49.0]", f"[{number}, 49.0]")
        assert text != json.dumps(shown)
        assert not fits(text.encode(), app.callback_map), number
