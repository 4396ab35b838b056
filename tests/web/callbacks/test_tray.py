"""Buttons in the list of rides do what they say, for the visitor who presses them."""

from ridelog.web import create_app
from ridelog.web.calls import ROUTE


def press(client, app, button):
    (output,) = [name for name in app.callback_map if name.startswith("tray.data@")]
    call = {
        "output": output,
        "outputs": {"id": "tray", "property": output.partition(".")[2]},
        "inputs": [{"id": "act-pressed", "property": "data",
                    "value": {"type": "act", "to": button, "value": 1, "n": 1}}],
        "state": [{"id": "tray", "property": "data"}],
        "changedPropIds": ["act-pressed.data"],
    }  # fmt: skip
    return client.post(ROUTE, json=call, headers={"Origin": "http://localhost"})


def test_a_button_that_is_pressed_has_the_list_drawn_anew():
    app = create_app(None)
    client = app.server.test_client()
    client.get("/_dash-layout")
    for button in ("remove:nothing", "undo:", "again:nothing", "rule:nothing", "join:a:b", "no such button"):
        reply = press(client, app, button)
        assert reply.status_code == 200, button
        assert reply.json["response"]["tray"]["data"] == {"asked": 1}
