"""The charts of a comparison: what differs, what every ride gave, and where they went."""

from collections.abc import Sequence

import numpy as np

from ridelog.arrays import Floats
from ridelog.compare.groups import ComparedRide
from ridelog.compare.record import QUANTITIES, Comparison, Difference, HillFigure
from ridelog.fleet.history.ways import plane
from ridelog.report.drawings.intervals import Interval, Panel, intervals_drawing
from ridelog.report.drawings.rides import Dot, rides_drawing
from ridelog.report.drawings.svg import WIDE, Drawing
from ridelog.report.drawings.track import Marked, ways_drawing
from ridelog.tell.documents import comparison as told
from ridelog.tell.findings.comparison import kind_of
from ridelog.tell.kinds import Kind
from ridelog.tell.numbers import Style, converted
from ridelog.tell.times import day
from ridelog.uncertain.quantity import Quantity

FEWEST = 3  # rides that make a chart
MOST_WAYS = 24  # over each other on a map


def differences_drawing(comparison: Comparison, style: Style, width: int = WIDE) -> Drawing | None:
    """Every difference with its interval, a panel for each quantity.

    Parameters
    ----------
    comparison : what was found
    style : units, digits and separators
    width : of the drawing

    Returns
    -------
    The drawing; ``None`` where no difference has an interval.
    """
    panels = []
    for quantity in QUANTITIES:
        known = [each for each in comparison.differences if each.quantity == quantity and each.difference is not None]
        rows = tuple(row for each in known if (row := _interval(each, style)) is not None)
        if rows:
            panels.append(Panel(told.panel(quantity, style), rows))
    if not any(row.low is not None for panel in panels for row in panel.rows):
        return None
    names = (told.DIFFERENCES_TITLE, told.chart_description(comparison, style))
    return intervals_drawing("differences", names, panels, style, width)


def _interval(each: Difference, style: Style) -> Interval | None:
    if each.difference is None:
        return None
    kind = kind_of(each.quantity, differs=True)
    value, low, high, *wide = (
        converted(bound, kind, style)
        for bound in (
            each.difference.value, each.difference.low95, each.difference.high95, each.verdict_low, each.verdict_high,
        )
    )  # fmt: skip
    ends = (wide[0], wide[1]) if wide[0] is not None and wide[1] is not None else None
    said, label = told.change(each, style), told.row_label(each)
    return Interval(label, said, value or 0.0, low, high, ends, told=each.verdict != "not-told")


def rides_drawing_of(comparison: Comparison, quantity: str, style: Style, width: int = WIDE) -> Drawing | None:
    """What every ride gave of one quantity, in the order of time.

    Parameters
    ----------
    comparison : what was found
    quantity : its name
    style : units, digits and separators
    width : of the drawing

    Returns
    -------
    The drawing; ``None`` where too few rides tell it.
    """
    names, kind = [group.name for group in comparison.groups], kind_of(quantity)
    ridden = sorted(comparison.rides, key=lambda ride: ride.start.timestamp() if ride.start else float("inf"))
    dots = [
        Dot(names.index(ride.group), _short(day(ride.start)) if ride.start else "?", _shown(value, kind, style))
        for ride in ridden
        if (value := getattr(ride, quantity)) is not None
    ]
    if len(dots) < FEWEST:
        return None
    words = (told.rides_title(quantity), told.RIDES_LEGEND)
    key = f"rides-{quantity.partition('_')[0]}"
    return rides_drawing(key, words, told.scale(quantity, style), dots, names, (style, width))


def _short(date: str) -> str:
    """A day without its year, and three letters of its month: "4 May"."""
    number, month, *_ = date.split(" ")
    return f"{number} {month[:3]}"


def _shown(quantity: Quantity, kind: Kind, style: Style) -> Quantity:
    value, low, high = (converted(each, kind, style) for each in (quantity.value, quantity.low95, quantity.high95))
    return Quantity(value or 0.0, low, high)


def ways_drawing_of(
    rides: Sequence[ComparedRide], style: Style, width: int = WIDE, hills: Sequence[HillFigure] = ()
) -> Drawing | None:
    """Where the rides went, over each other, in metres from where the first of them started; descents drawn thick.

    Parameters
    ----------
    rides : that were compared
    style : units, digits and separators
    width : of the drawing
    hills : descents that groups have in common

    Returns
    -------
    The drawing, lengths within 0.4 % of the ellipsoid's; ``None`` where no ride knows its positions.
    """
    shown = ways_shown(rides)
    ways = [each.way for each in shown if each.way is not None]
    if not ways:
        return None
    step, first = 1 if width >= WIDE else 2, ways[0]
    origin = float(first.latitude_deg[0]), float(first.longitude_deg[0])
    on_plane = [plane(way.latitude_deg[::step], way.longitude_deg[::step], origin) for way in ways]
    marked = [mark for hill in hills if (mark := _marked(hill, shown, origin)) is not None]
    legend = told.ways_legend(len(shown), len(rides), hills=bool(marked))
    return ways_drawing([(each[:, 0], each[:, 1]) for each in on_plane], style, legend, marked, width)


def _marked(hill: HillFigure, rides: Sequence[ComparedRide], origin: tuple[float, float]) -> Marked | None:
    """A descent on the way of the first ride that went down it; ``None`` where none of them knows its place."""
    for ride in rides:
        down = next((one for one in ride.answer.hills if one.start_s == hill.passes.get(ride.key)), None)
        if down is None or down.start is None or down.end is None or ride.way is None:
            continue
        way = plane(ride.way.latitude_deg, ride.way.longitude_deg, origin)
        ends = [
            plane(np.array([at.latitude_deg]), np.array([at.longitude_deg]), origin)[0] for at in (down.start, down.end)
        ]
        first, last = stretch(way, ends, down.length_m)
        return told.descent_mark(hill.number), way[first : last + 1, 0], way[first : last + 1, 1]
    return None


def stretch(way: Floats, ends: Sequence[Floats], length_m: float) -> tuple[int, int]:
    """Which stretch of a way lies between two places, where it may come by both more than once.

    Parameters
    ----------
    way : shape (n, 2) [m]
    ends : where it begins and ends, shape (2,) each [m]
    length_m : about how long it is

    Returns
    -------
    First and last point of it: those that are off by the least in all.
    """
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(way, axis=0).T))])
    off = [np.hypot(*(way - end).T) for end in ends]
    cost = off[0][:, None] + off[1][None, :] + np.abs(along[None, :] - along[:, None] - length_m)
    cost[np.tril_indices(len(way))] = np.inf
    first, last = np.unravel_index(int(np.argmin(cost)), cost.shape)
    return int(first), int(last)


def ways_shown(rides: Sequence[ComparedRide]) -> list[ComparedRide]:
    """The rides whose way is drawn: those with positions, of groups by turns, at most `MOST_WAYS`.

    Parameters
    ----------
    rides : that were compared, by group, then by time
    """
    turn: dict[str, int] = {}
    order: list[tuple[int, int, ComparedRide]] = []
    for ride in rides:
        if ride.way is not None:
            turn[ride.group] = turn.get(ride.group, -1) + 1
            order.append((turn[ride.group], len(order), ride))
    return [ride for _, _, ride in sorted(order, key=lambda each: each[:2])[:MOST_WAYS]]
