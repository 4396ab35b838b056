"""What all charts share: colours, font, axes, and where labels find room."""

from typing import Any

import numpy as np

from ridelog.lazy import dataclass
from ridelog.tell.numbers import NARROW_SPACE, PAGE, Style

FONT = "ui-sans-serif, system-ui, 'Segoe UI', Roboto, 'Helvetica Neue', 'Liberation Sans', sans-serif"


@dataclass(frozen=True)
class Look:
    """Colours, room and units of the page that a chart is drawn for.

    Ochre and blue-green keep apart for every common kind of colour vision, and on paper differ in lightness.
    """

    ink: str = "#23282c"
    soft: str = "#5d6063"
    line: str = "#d9d3c5"
    paper: str = "#fbf9f4"
    drawn: str = "#b5651d"
    returned: str = "#0a6c74"
    drawn_fill: str = "rgba(181,101,29,0.28)"
    returned_fill: str = "rgba(10,108,116,0.55)"
    ground_fill: str = "rgba(35,40,44,0.07)"
    narrow: bool = False
    style: Style = PAGE


PAPER = Look()
NIGHT = Look(
    ink="#e9e5da",
    soft="#a9a79f",
    line="#363c40",
    paper="#1c2124",
    drawn="#e0a45c",
    returned="#58bfc2",
    drawn_fill="rgba(224,164,92,0.28)",
    returned_fill="rgba(88,191,194,0.50)",
    ground_fill="rgba(233,229,218,0.09)",
)


def base_layout(look: Look, height_px: int) -> dict[str, Any]:
    """The layout of an empty figure of a height, with the look's font, colours and margins."""
    side = 46 if look.narrow else 58
    return {
        "height": height_px,
        "margin": {"l": side, "r": 10 if look.narrow else 16, "t": 26, "b": 44},
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "font": {"family": FONT, "size": 12 if look.narrow else 13, "color": look.soft},
        "showlegend": False,
        "hovermode": "closest",
        "hoverlabel": {"bgcolor": look.paper, "bordercolor": look.soft, "font": {"color": look.ink}},
        "dragmode": False,
        "separators": f"{look.style.point}{look.style.thousands or NARROW_SPACE}",
        "template": "none",
    }


def axis(look: Look, title: str, **more: object) -> dict[str, object]:
    """Settings of an axis: its title, its lines, and ``more``."""
    return {
        "gridcolor": look.line,
        "zeroline": False,
        "linecolor": look.soft,
        "tickcolor": look.line,
        "ticks": "outside",
        "ticklen": 4,
        "fixedrange": True,
        "automargin": False,
        "title": {"text": title, "font": {"color": look.soft, "size": 12}, "standoff": 6},
        **more,
    }


def label_room(centres: list[float], width: float, look: Look) -> list[int]:
    """How many pieces of a label fit without touching its neighbours: 0 none, 1 number, 2 energy too, 3 a verb too.

    Parameters
    ----------
    centres : where the labels would stand, in order
    width : of the chart, in the same unit
    look : a narrow one has less room

    Returns
    -------
    One number for each label.
    """
    needed = (0.07, 0.17, 0.3) if look.narrow else (0.03, 0.055, 0.09)  # shares of the width, at the charts' font
    room: list[int] = []
    last = -np.inf
    for k, centre in enumerate(centres):
        after = centres[k + 1] - centre if k + 1 < len(centres) else np.inf
        if centre - last <= needed[0] * width:
            room.append(0)
            continue
        room.append(1 + sum(min(centre - last, after) > share * width for share in needed[1:]))
        last = centre
    return room
