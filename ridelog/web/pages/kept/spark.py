"""The profile of a ride, as small as a word: its road from the left to the right, without numbers."""

import numpy as np

from ridelog.answer.ride import Answer
from ridelog.figures.profile import heights_along
from ridelog.report.drawings.svg import path

WIDTH, HEIGHT, PEN = 168, 34, 2
N_COLUMNS = 84
LEAST_M = 20.0  # of height from the bottom to the top: level road is drawn level


def spark(answer: Answer) -> str:
    """The profile as SVG, which says nothing that stands not beside it; empty where no height is known."""
    known = heights_along(answer)
    if known is None or known[0][-1] <= known[0][0]:
        return ""
    distance, height = known
    at = np.linspace(distance[0], distance[-1], N_COLUMNS)
    y = np.interp(at, distance, height)
    x = (at - at[0]) / (at[-1] - at[0]) * WIDTH
    y = HEIGHT - PEN - (y - y.min()) / max(float(np.ptp(y)), LEAST_M) * (HEIGHT - 2 * PEN)
    line = path(x, y)
    ground = path(np.concatenate(([0.0], x, [WIDTH])), np.concatenate(([HEIGHT], y, [HEIGHT])), closed=True)
    return (
        f'<svg class="spark" viewBox="0 0 {WIDTH} {HEIGHT}" aria-hidden="true">'
        f'<path class="ground" d="{ground}"/><path class="road" d="{line}"/></svg>'
    )
