"""A button of the page pressed as a browser says it: the call of the one callback that has a state of its own."""

from typing import Any

from dash import Dash
from flask.testing import FlaskClient

from ridelog.web.calls import ROUTE

ORIGIN = {"Origin": "http://localhost"}


def pressed(app: Dash, client: FlaskClient, kind: str, verb: str, state: list[Any]) -> Any:
    """What comes of pressing a button.

    Parameters
    ----------
    app, client : the page and who visits it
    kind, verb : of the button; the state of its callback alone has components of the kind with "-from" behind it
    state : as the callback reads it

    Returns
    -------
    What changes on the page.
    """
    (output,) = [
        name for name, call in app.callback_map.items()
        if "callback" in call and any(f"{kind}-from" in each["id"] for each in call["state"])
    ]  # fmt: skip
    name = {"to": verb, "type": kind}
    places = [part.rpartition(".") for part in output.strip(".").split("...")]
    call = {
        "output": output,
        "outputs": [{"id": place, "property": what} for place, _, what in places],
        "inputs": [{"id": f"{kind}-pressed", "property": "data", "value": {**name, "value": 1, "n": 1}}],
        "state": state,
        "changedPropIds": [f"{kind}-pressed.data"],
    }
    reply = client.post(ROUTE, json=call, headers=ORIGIN)
    assert reply.status_code == 200, reply.text
    return reply.get_json()["response"]
