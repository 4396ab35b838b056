"""What a call of the page's callbacks may hold: the callbacks that there are, with values as the page sends them.

Whoever can reach the page can send it anything. What is held here before a callback runs, no callback asks again.
"""

import json
from collections.abc import Callable, Mapping
from typing import Any

from dash import Dash
from flask import request

from ridelog.settings.bike_form import BIKE_KEYS
from ridelog.tell.refusals.commands import NO_SUCH_CALL
from ridelog.web import ids
from ridelog.web.parts.braking import ORDERS

LONGEST_NAME, LONGEST_VALUE, MOST_LANES = 200, 500, 20
ROUTE = "/_dash-update-component"
MOST_BYTES = 1_000_000  # the largest that the page sends, the names of the sample rides, is a hundredth of it


def add_call_guard(app: Dash) -> None:
    """Answer a call that the page never makes with status 400, or 413 where it is too long, before anything is done."""

    def refuse_foreign_calls() -> tuple[str, int] | None:
        if request.path != ROUTE or request.method != "POST":
            return None
        if (request.content_length or 0) > MOST_BYTES:
            return NO_SUCH_CALL, 413
        return None if fits(request.get_data(), app.callback_map) else (NO_SUCH_CALL, 400)

    app.server.before_request(refuse_foreign_calls)


def fits(body: bytes, callbacks: Mapping[str, Any]) -> bool:
    """Whether a body is a call of one of the callbacks.

    Parameters
    ----------
    body : JSON, or whatever came
    callbacks : by the names of their outputs, as the library holds them

    Returns
    -------
    Whether outputs, inputs and state are those of the callback, what changed is among its inputs, and each value is
    one that the page sends.
    """
    try:
        call = json.loads(body, parse_constant=_no_number)
    except (ValueError, RecursionError):
        return False
    if not isinstance(call, dict) or not isinstance(name := call.get("output"), str):
        return False
    callback = callbacks.get(name)
    if callback is None or "callback" not in callback:  # the others run in the browser
        return False
    inputs, state = call.get("inputs", []), call.get("state", [])
    if not (_are(inputs, callback["inputs"]) and _are(state, callback["state"])):
        return False
    changed = call.get("changedPropIds", [])
    named = {f"{_id_text(each['id'])}.{each['property']}" for each in _flat(inputs)}
    return (
        isinstance(changed, list)
        and all(isinstance(each, str) and each in named for each in changed)
        and _are_outputs(call.get("outputs"), callback["output"])
    )


def _no_number(_constant: str) -> float:
    """NaN and infinity, which JSON has not."""
    raise ValueError


def _flat(given: list[Any]) -> list[dict[str, Any]]:
    return [one for each in given for one in (each if isinstance(each, list) else [each])]


def _id_text(given: str | dict[str, str]) -> str:
    """As the library writes an id."""
    return given if isinstance(given, str) else json.dumps(given, separators=(",", ":"), sort_keys=True)


def _are(given: Any, declared: list[dict[str, str]]) -> bool:
    """Whether inputs or state are those that are declared, in their order."""
    return (
        isinstance(given, list)
        and len(given) == len(declared)
        and all(_is(one, spec) for one, spec in zip(given, declared, strict=True))
    )


def _is(given: Any, spec: dict[str, str]) -> bool:
    if spec["id"].startswith("{"):
        pattern = json.loads(spec["id"])
        if ["ALL"] in pattern.values():  # as many as there are on the page
            return isinstance(given, list) and all(_is_one(one, pattern, spec) for one in given)
        return _is_one(given, pattern, spec)
    return isinstance(given, dict) and given.get("id") == spec["id"] and _holds(given, spec["id"], spec)


def _is_one(given: Any, pattern: dict[str, Any], spec: dict[str, str]) -> bool:
    return isinstance(given, dict) and _matches(given.get("id"), pattern) and _holds(given, str(pattern["type"]), spec)


def _matches(given: Any, pattern: dict[str, Any]) -> bool:
    return (
        isinstance(given, dict)
        and given.keys() == pattern.keys()
        and given.get("type") == pattern["type"]
        and isinstance(given.get("to"), str)
        and NAMES[pattern["type"]](given["to"])
    )


def _holds(given: dict[str, Any], name: str, spec: dict[str, str]) -> bool:
    if given.get("property") != spec["property"]:
        return False
    value = given.get("value")
    known = VALUES[name, spec["property"]]
    return (value is None and known not in NEVER_EMPTY) or (value is not None and known(value))


def _are_outputs(given: Any, declared: Any) -> bool:
    several = isinstance(declared, (list, tuple))
    places = list(declared) if several else [declared]
    found = given if several else [given]
    return (
        isinstance(found, list)
        and len(found) == len(places)
        and all(_is_output(one, place) for one, place in zip(found, places, strict=True))
    )


def _is_output(given: Any, place: Any) -> bool:
    if isinstance(place.component_id, dict):
        pattern = json.loads(place.component_id_str())
        if ["ALL"] in pattern.values():
            return isinstance(given, list) and all(
                isinstance(one, dict) and _matches(one.get("id"), pattern) for one in given
            )
        return isinstance(given, dict) and _matches(given.get("id"), pattern)
    return (
        isinstance(given, dict)
        and given.get("id") == place.component_id
        and str(given.get("property")).partition("@")[0] == place.component_property
    )


# ---- the values of each input, where it has one ----


def _is_text(value: Any) -> bool:
    return isinstance(value, str)


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) < 1e12


def _is_table(value: Any) -> bool:
    return isinstance(value, dict)


def _is_short(value: Any) -> bool:
    return isinstance(value, str) and len(value) <= LONGEST_VALUE


def _names_a_ride(value: Any) -> bool:
    return isinstance(value, dict) and isinstance(value.get("token"), str)


def _is_tray(value: Any) -> bool:
    """What came of the visitor's rides, as a number that grows."""
    return isinstance(value, dict) and _is_number(value.get("asked", 0))


def _is_window(value: Any) -> bool:
    """A stretch of a ride, which is measured anew under the same token."""
    if not (_names_a_ride(value) and _is_number(value.get("version"))):
        return False
    ends = value.get("ends")
    return isinstance(ends, list) and len(ends) == 2 and all(map(_is_number, ends)) and ends[0] < ends[1]


def _are_lanes(value: Any) -> bool:
    """Keys of lanes, also such as an earlier version kept."""
    return isinstance(value, list) and len(value) <= MOST_LANES and all(_is_short(each) for each in value)


def _is_order(value: Any) -> bool:
    return isinstance(value, str) and value in dict(ORDERS)


def _is_press(*kinds: str) -> Callable[[Any], bool]:
    """What the browser tells of a button, or of a list, of some kinds."""

    def is_press(value: Any) -> bool:
        return (
            isinstance(value, dict)
            and value.get("type") in kinds
            and isinstance(value.get("to"), str)
            and NAMES[value["type"]](value["to"])
            and (_is_number(value.get("value")) or _is_short(value.get("value")))
        )

    return is_press


def _is_switch(value: Any) -> bool:
    return isinstance(value, bool)


def _is_anything(_value: Any) -> bool:
    return True


# what names of components of one kind there are
NAMES: dict[str, Callable[[str], bool]] = {
    ids.ACT: lambda name: len(name) <= LONGEST_NAME,
    ids.PUT: lambda name: len(name) <= LONGEST_NAME,
    ids.FIELD: lambda name: name in BIKE_KEYS,
    ids.SHARPER: lambda name: name in ("form", "headline"),
    ids.CORRECT: lambda name: len(name) <= LONGEST_NAME,
    ids.CELL: lambda name: len(name) <= LONGEST_NAME,
    ids.COAST: lambda name: name in ("find", "fit", "take"),
    ids.COAST_FROM: lambda name: not name,
    ids.STRETCH: lambda name: name.isdecimal() and len(name) < 6,
    ids.OFFER: lambda name: name == "coasting",
    ids.LEARN: lambda name: name in ("find", "take"),
    ids.LEARN_FROM: lambda name: not name,
    ids.LEARNED: lambda name: name == "form",
}
VALUES: dict[tuple[str, str], Callable[[Any], bool]] = {
    (ids.VIEW, "data"): _is_table,
    (ids.WRITTEN, "data"): _is_table,
    (ids.UNITS, "value"): _is_text,
    (ids.ADDRESS, "pathname"): _is_short,
    (ids.RIDE, "data"): _names_a_ride,
    (ids.STANDS, "data"): _names_a_ride,
    (ids.TRAY, "data"): _is_tray,
    (ids.PRESSED[ids.ACT], "data"): _is_press(ids.ACT, ids.PUT),
    (ids.PRESSED[ids.CORRECT], "data"): _is_press(ids.CORRECT),
    (ids.PRESSED[ids.COAST], "data"): _is_press(ids.COAST),
    (ids.PRESSED[ids.LEARN], "data"): _is_press(ids.LEARN),
    (ids.BIKE_SAVE, "n_clicks"): _is_number,
    (ids.FIELD, "value"): _is_short,
    (ids.CELL, "value"): _is_short,
    (ids.LEARN_FROM, "value"): _is_short,
    (ids.COAST_FROM, "value"): _is_short,
    (ids.STRETCH, "checked"): _is_switch,
    (ids.LANES, "data"): _are_lanes,
    (ids.WINDOW, "data"): _is_window,
    (ids.EVENT_ORDER, "value"): _is_order,
}
NEVER_EMPTY = (_is_order,)
