"""Buttons by which a visitor's rides and files are changed.

None of them is a component with a name, as the page's library would look at hundreds of others whenever one is drawn:
assets/pressed.js tells the server which was pressed.
"""

from typing import Any

from dash import html


def act_button(act: str, label: str, spoken: str | None = None, *, shown: bool = True) -> Any:
    """A button; one that is of no use now is hidden.

    Parameters
    ----------
    act : what it does, as `ridelog.web.callbacks.tray` has it
    label : on it
    spoken : instead, for who hears it
    shown : whether it is of use

    Returns
    -------
    Component.
    """
    called = {} if spoken is None else {"aria-label": spoken}
    return html.Button(label, type="button", className="small", hidden=not shown, **{"data-act": act}, **called)
