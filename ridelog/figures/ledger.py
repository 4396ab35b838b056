"""The ledger as a chart: what brought energy in, and where it went, one step after the other. Pure."""

from typing import Any

from ridelog.answer.ledger import Ledger
from ridelog.figures.look import Look, axis, base_layout
from ridelog.tell.ledger import DRAWN, RETURNED, UNEXPLAINED, Line, lines
from ridelog.tell.numbers import decimals_for, fixed


def ledger_drawing(ledger: Ledger, look: Look) -> dict[str, Any] | None:
    """A waterfall of the whole ride from drawn to returned; ``None`` where a line that makes it up is not known.

    What brings energy in grows to the right, what takes it away goes back; what is left at the end came back. Only what
    the battery gave and took has its colours: height that was lost is no energy that was drawn.
    """
    steps = waterfall(lines(ledger.ride))
    if steps is None:
        return None
    decimals = decimals_for(end_wh - start_wh for _, start_wh, end_wh in steps)  # as in the table below
    names = [line.name for line, _, _ in steps]
    furthest = max(max(start, end) for _, start, end in steps)
    lowest = min(min(start, end, 0.0) for _, start, end in steps)
    room = 1.3 if look.narrow else 1.12  # for the numbers beside the bars
    layout = base_layout(look, 60 + 30 * len(steps))
    return {
        "data": [_bar(step, decimals, look) for step in steps],
        "layout": {
            **layout,
            "xaxis": axis(look, "energy, Wh", range=[1.05 * lowest, room * furthest], nticks=6, tickformat=","),
            "yaxis": axis(look, "", categoryorder="array", categoryarray=names[::-1], showgrid=False, automargin=True),
            "bargap": 0.3,
            "margin": {**layout["margin"], "l": 130 if look.narrow else 190},
        },
    }


def _bar(step: tuple[Line, float, float], decimals: int, look: Look) -> dict[str, Any]:
    line, start_wh, end_wh = step
    color = {RETURNED: look.returned, DRAWN: look.drawn}.get(line.key, look.soft)
    unexplained = line.key == UNEXPLAINED
    return {
        "type": "bar",
        "y": [line.name],
        "x": [abs(end_wh - start_wh)],
        "base": [min(start_wh, end_wh)],
        "orientation": "h",
        "marker": {
            "color": "rgba(0,0,0,0)" if unexplained else color,
            "line": {"color": color, "width": 1},
            "pattern": {"shape": "/" if unexplained else "", "fgcolor": color, "size": 6},
        },
        "text": [fixed(end_wh if line.key == RETURNED else end_wh - start_wh, decimals, look.style)],
        "textposition": "outside",
        "cliponaxis": False,
        "textfont": {"color": look.ink},
        "hovertemplate": f"{line.name}<br><b>%{{text}} Wh</b><extra></extra>",
    }


def waterfall(entry_lines: tuple[Line, ...]) -> list[tuple[Line, float, float]] | None:
    """Line, start and end of every step [Wh]; ``None`` where drawn, returned or the rest is not known.

    Lines whose value brings energy in come first, whatever their usual sign; those that are not known or zero are
    left out. The last one, what came back, stands on 0.
    """
    signed = [(line, line.sign * line.quantity.value) for line in entry_lines if line.sign and line.quantity]
    known = {line.key: (line, value_wh) for line, value_wh in signed}
    if not {DRAWN, RETURNED, UNEXPLAINED} <= set(known):
        return None
    least_wh = 5e-4 * known[DRAWN][1]
    others = [step for step in signed if step[0].key != RETURNED and abs(step[1]) > least_wh]
    steps, level = [], 0.0
    for line, value_wh in sorted(others, key=lambda step: step[1] < 0):  # a stable sort: in first, then out
        steps.append((line, level, level + value_wh))
        level += value_wh
    back, back_wh = known[RETURNED]
    return [*steps, (back, 0.0, -back_wh)]
