"""What the visitor chose for a ride, and what that changed in its answer."""

from collections.abc import Sequence
from typing import Any

from dash import html

from ridelog.tell.numbers import Style
from ridelog.tell.pages import changes as words
from ridelog.web.tray.changes import Change, Figures


def change_list(changes: Sequence[Change], style: Style) -> Any:
    """The latest choice and what it changed; those before it are folded.

    Parameters
    ----------
    changes : the latest last
    style : how numbers are written

    Returns
    -------
    Component; ``None`` where nothing was chosen.
    """
    if not changes:
        return None
    latest, *earlier = (html.Span([html.B(each.words), ": ", _moved(each, style), "."]) for each in reversed(changes))
    folded = html.Details(
        [html.Summary(words.EARLIER), html.Ul([html.Li(each) for each in earlier])], id="earlier-choices"
    )
    return html.Section(
        [html.P(latest), *([folded] if earlier else [])], className="changes", **{"aria-label": words.TITLE}
    )


def _moved(change: Change, style: Style) -> str:
    return words.moved(_values(change.before), _values(change.after), style)


def _values(figures: Figures | None) -> list[Any] | None:
    return None if figures is None else [getattr(figures, name) for name, _, _ in words.FIGURES]
