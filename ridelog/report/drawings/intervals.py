"""Intervals side by side: what differs, against zero, and how wide the doubt is."""

from collections.abc import Iterator, Sequence

from ridelog.lazy import dataclass
from ridelog.report.drawings.frame import Scale, labels, ticks
from ridelog.report.drawings.svg import FONT_SIZE, WIDE, Drawing, paint, place, rule, shortened, width_of, words
from ridelog.tell.numbers import Style

RIGHT, TOP, HEAD, ROW, FOOT = 16, 4, 26, 34, 34
SMALL = 11  # of the numbers' letters
UNDER_LABEL = 14  # from the top of a row whose label stands above its interval
BESIDE, APART = 232, 14  # where scales begin beside labels, which otherwise stand above; between both


@dataclass(frozen=True)
class Interval:
    """One number with its interval.

    ``label`` : of what · ``said`` : the number in words · ``wide`` : a wider interval that a verdict follows from ·
    ``told`` : whether that lies on one side of zero
    """

    label: str
    said: str
    value: float
    low: float | None
    high: float | None
    wide: tuple[float, float] | None = None
    told: bool = False

    @property
    def ends(self) -> tuple[float, ...]:
        """All that must find room on the scale."""
        return tuple(each for each in (self.value, self.low, self.high, *(self.wide or ())) if each is not None)


@dataclass(frozen=True)
class Panel:
    """Intervals of one quantity, which share a scale; ``title`` names it with its unit."""

    title: str
    rows: tuple[Interval, ...]


def intervals_drawing(key: str, told: tuple[str, str], panels: Sequence[Panel], style: Style, width: int) -> Drawing:
    """Panels one below the other, a row for each interval, zero as a line through each panel.

    Parameters
    ----------
    key : of the drawing
    told : its title and description
    panels : from top to bottom
    style : how numbers are written
    width : of the drawing

    Returns
    -------
    The drawing.
    """
    body: list[str] = []
    y = TOP
    longest = max((width_of(row.label) for panel in panels for row in panel.rows), default=0.0)
    beside = width >= WIDE and longest <= BESIDE - APART - TOP
    for panel in panels:
        body += _panel(panel, y, style, width, beside=beside)
        y += HEAD + ROW * len(panel.rows) + FOOT
    return Drawing(key, *told, width, y, tuple(body))


def _panel(panel: Panel, top: int, style: Style, width: int, *, beside: bool) -> Iterator[str]:
    left = BESIDE if beside else APART
    ends = [0.0, *(end for row in panel.rows for end in row.ends)]
    room = 0.04 * ((max(ends) - min(ends)) or 1.0)
    x = Scale(min(ends) - room, max(ends) + room, left, width - RIGHT)
    floor = top + HEAD + ROW * len(panel.rows)
    yield words((4, top + 14), panel.title, color="ink", more='font-weight="600"')
    values = ticks(x.low, x.high, 7 if width >= WIDE else 5)
    for value, said in zip(values, labels(values, style), strict=True):
        for start, end in _free(top + HEAD, len(panel.rows), beside=beside):
            yield rule((x.at(value), start), (x.at(value), end), "ink" if value == 0 else "line")
        yield words((x.at(value), floor + 15), said, anchor="middle")
    for n, row in enumerate(panel.rows):
        yield from _row(row, top + HEAD + ROW * n, x, beside=beside)


def _free(top: float, n_rows: int, *, beside: bool) -> list[tuple[float, float]]:
    """Where the scale's lines run: all the way, or below each label that stands above its interval."""
    if beside:
        return [(top - 4, top + ROW * n_rows)]
    return [(top + ROW * n + UNDER_LABEL, top + ROW * (n + 1)) for n in range(n_rows)]


def _inside(row: Interval, room: float) -> str:
    """A label and its number, names cut where there is no room; what follows the last comma says how, and stays."""
    names, comma, how = row.label.rpartition(", ")
    names, rest = (names, f"{comma}{how}: {row.said}") if comma else (how, f": {row.said}")
    return f"{shortened(names, room - width_of(rest))}{rest}"


def _row(row: Interval, top: int, x: Scale, *, beside: bool) -> Iterator[str]:
    y = top + (20 if beside else 24)
    color = "returned" if row.told else "soft"
    if beside:
        yield words((x.start - APART, y - 3), row.label, color="ink", anchor="end")
        yield words((x.start - APART, y + 10), row.said, anchor="end", more=f'font-size="{SMALL}"')
    else:
        label = _inside(row, (x.end - x.start) * FONT_SIZE / SMALL)
        yield words((x.start, top + 10), label, color="ink", more=f'font-size="{SMALL}"')
    if row.wide is not None:
        yield rule((x.at(row.wide[0]), y), (x.at(row.wide[1]), y), color, 'stroke-width="1.2"')
        for end in row.wide:
            yield rule((x.at(end), y - 4), (x.at(end), y + 4), color, 'stroke-width="1.2"')
    if row.low is not None and row.high is not None:
        yield rule((x.at(row.low), y), (x.at(row.high), y), color, 'stroke-width="5" stroke-opacity="0.75"')
    mark = f'cx="{place(x.at(row.value))}" cy="{place(y)}" r="5"'
    yield f'<circle {mark} {paint(fill=color if row.told else "sheet", stroke=color)} stroke-width="2"/>'
