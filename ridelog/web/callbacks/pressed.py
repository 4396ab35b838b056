"""Which of the buttons that come and go was pressed."""

from dash import ctx


def pressed() -> str | None:
    """What the button that was pressed is for; ``None`` where buttons were only drawn anew.

    A call also names buttons that are new or gone as changed: these were never pressed, or hold no value any more.
    """
    for each in ctx.triggered:
        if each["value"]:
            return str(ctx.triggered_prop_ids[each["prop_id"]]["to"])
    return None
