"""Buttons that come and go, and which of them was used.

Whenever one of them is drawn anew, whoever listens to them all is called, pressed or not, and the library drops what an
earlier call is still to be answered. So the browser listens, and only what was pressed becomes a call of the server.
"""

from typing import Any

from dash import ALL, ClientsideFunction, Dash, Input, Output

from ridelog.lazy import dataclass
from ridelog.web import ids


@dataclass(frozen=True)
class Press:
    """What was pressed, or chosen from a file's list: of which kind, what for, and the value that it has now."""

    kind: str
    to: str
    value: Any


def presses_of(app: Dash, kind: str) -> Input:
    """Have the browser tell what is pressed.

    Parameters
    ----------
    app : the page
    kind : of the buttons

    Returns
    -------
    What a callback of the server is called by.
    """
    app.clientside_callback(
        ClientsideFunction("pressed", "tell"), Output(ids.PRESSED[kind], "data"),
        Input({"type": kind, "to": ALL}, "n_clicks"), prevent_initial_call=True,
    )  # fmt: skip
    return Input(ids.PRESSED[kind], "data")


def pressed(said: dict[str, Any] | None) -> Press | None:
    """What the browser told of; ``None`` where it told nothing."""
    return None if said is None else Press(said["type"], said["to"], said["value"])
