"""The ledger as a chart: what brought energy in, and where it went, one step after the other. Pure; no Dash in here."""

import plotly.graph_objects as go

from ridelog.answer.ledger import Ledger
from ridelog.figures.ride import Look, _axis, _base
from ridelog.tell.ledger import DRAWN, REST, RETURNED, Line, lines
from ridelog.web.text import number


def ledger_figure(ledger: Ledger, look: Look) -> go.Figure | None:
    """A waterfall of the whole ride from drawn to returned; ``None`` where a line that makes it up is not known.

    What brings energy in grows to the right, what takes it away goes back; what is left at the end came back.
    """
    steps = waterfall(lines(ledger.ride))
    if steps is None:
        return None
    figure = _base(look, 60 + 30 * len(steps))
    names = [name for name, _, _ in steps]
    for name, start_wh, end_wh in steps:
        gives = end_wh >= start_wh
        color = look.returned if name == names[-1] else look.drawn if gives else look.soft
        unexplained = name == REST
        figure.add_bar(
            y=[name],
            x=[abs(end_wh - start_wh)],
            base=[min(start_wh, end_wh)],
            orientation="h",
            marker={
                "color": "rgba(0,0,0,0)" if unexplained else color,
                "line": {"color": color, "width": 1},
                "pattern": {"shape": "/" if unexplained else "", "fgcolor": color, "size": 6},
            },
            text=[number(end_wh - start_wh if name != names[-1] else end_wh)],
            textposition="outside",
            cliponaxis=False,
            textfont={"color": look.ink},
            hovertemplate=f"{name}<br><b>%{{text}} Wh</b><extra></extra>",
        )
    furthest = max(max(start, end) for _, start, end in steps)
    lowest = min(min(start, end, 0.0) for _, start, end in steps)
    room = 1.3 if look.narrow else 1.12  # for the numbers beside the bars
    figure.update_xaxes(**_axis(look, "energy, Wh", range=[1.05 * lowest, room * furthest], nticks=6, tickformat=","))
    figure.update_yaxes(
        **_axis(look, "", categoryorder="array", categoryarray=names[::-1], showgrid=False, automargin=True)
    )
    figure.update_layout(bargap=0.3, margin={"l": 130 if look.narrow else 190})
    return figure


def waterfall(entry_lines: tuple[Line, ...]) -> list[tuple[str, float, float]] | None:
    """Name, start and end of every step [Wh]; ``None`` where drawn, returned or the rest is not known.

    Lines whose value brings energy in come first, whatever their usual sign; those that are not known or nothing are
    left out. The last one, what came back, stands on 0.
    """
    signed = [(line.name, line.sign * line.quantity.value) for line in entry_lines if line.sign and line.quantity]
    known = dict(signed)
    if not {DRAWN, RETURNED, REST} <= set(known):
        return None
    back_wh = -known[RETURNED]
    others = [step for step in signed if step[0] != RETURNED and abs(step[1]) > 5e-4 * known[DRAWN]]
    steps, level = [], 0.0
    for name, value in sorted(others, key=lambda step: step[1] < 0):  # a stable sort: in first, then out
        steps.append((name, level, level + value))
        level += value
    return [*steps, (RETURNED, 0.0, back_wh)]
