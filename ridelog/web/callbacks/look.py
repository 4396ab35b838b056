"""The look of charts and numbers on the screen that there is, as the visitor chose it."""

from dataclasses import replace
from typing import Any

from ridelog.answer.ride import Answer
from ridelog.figures.look import NIGHT, PAPER, Look
from ridelog.tell.pages.clocks import dials
from ridelog.web.parts.choices import Written


def screen_look(view: dict[str, Any] | None, answer: Answer | None = None) -> Look:
    """The look for a screen, and how its numbers and times are written.

    Parameters
    ----------
    view : the screen as assets/view.js describes it, with what was chosen: units, decimal sign, clock
    answer : of the ride that is shown, which knows what the clocks showed; times count from the start without one

    Returns
    -------
    Look.
    """
    view = view or {}
    chosen = Written.of(view)
    dial = dials(answer).get(chosen.clock) if answer is not None else None
    style = replace(chosen.style, dial=dial)
    return replace(NIGHT if view.get("dark") else PAPER, narrow=bool(view.get("narrow")), style=style)
