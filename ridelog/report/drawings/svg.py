"""What a drawing is made of: lines, areas and words in a palette of few names, as SVG that needs no style sheet.

Each mark carries its colour of paper as an attribute, which printers and programs without style sheets obey, and the
name of that colour as a class, by which a page turns it with the light. What is drawn and what is returned differ by
place and pattern as well, so that a print without colour tells them apart.
"""

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from ridelog.figures.reduce import Floats
from ridelog.lazy import dataclass
from ridelog.report.sheet import text
from ridelog.tell.numbers import plain

PAPER_COLORS = {
    "ink": "#23282c",
    "soft": "#5a5d60",
    "line": "#d9d3c5",
    "drawn": "#a4560f",
    "returned": "#0a5f67",
    "danger": "#9c1f1f",
    "sheet": "#fbf9f4",
}
FONT = "'Liberation Sans', Arimo, Arial, Helvetica, 'Segoe UI', Roboto, 'DejaVu Sans', sans-serif"
WIDE, NARROW = 736, 358  # pixels: a page, and a telephone
FONT_SIZE = 12
LETTER = 0.56  # mean width of a letter of the font, in its size


@dataclass(frozen=True)
class Drawing:
    """One chart.

    ``key`` : short, for names of files and of patterns · ``title``, ``description`` : for those who do not see it ·
    ``body`` : marks, in the order in which they are laid
    """

    key: str
    title: str
    description: str
    width: int
    height: int
    body: tuple[str, ...]

    @property
    def narrow(self) -> bool:
        """Whether it is drawn for a telephone."""
        return self.width < WIDE

    def inline(self) -> str:
        """For a page."""
        kind = "narrow" if self.narrow else "wide"
        return self._svg(f'class="drawing {kind}"', self.body)

    def file(self) -> str:
        """For a file of its own, on paper."""
        paper = f'<rect width="{self.width}" height="{self.height}" fill="#fff"/>'
        size = f'xmlns="http://www.w3.org/2000/svg" width="{self.width}" height="{self.height}"'
        return self._svg(size, (paper, *self.body)) + "\n"

    def _svg(self, attributes: str, body: Iterable[str]) -> str:
        name = f"{self.key}{'-n' if self.narrow else ''}"
        return (
            f'<svg {attributes} viewBox="0 0 {self.width} {self.height}" role="img" '
            f'aria-labelledby="{name}-t" aria-describedby="{name}-d">'
            f'<title id="{name}-t">{text(self.title)}</title><desc id="{name}-d">{text(self.description)}</desc>'
            f'<g font-family="{FONT}" font-size="{FONT_SIZE}">{"".join(body)}</g></svg>'
        )


def place(value: float) -> str:
    """A place of the drawing, to a tenth of its unit."""
    return plain(round(value, 1) + 0.0, 7)


def paint(*, fill: str | None = None, stroke: str | None = None) -> str:
    """Attributes that colour a mark; ``None`` paints nothing."""
    names = [f"{letter}-{name}" for letter, name in (("f", fill), ("s", stroke)) if name in PAPER_COLORS]
    drawn = [f'class="{" ".join(names)}"'] if names else []
    drawn.append(f'fill="{PAPER_COLORS.get(fill, fill) if fill else "none"}"')
    if stroke:
        drawn.append(f'stroke="{PAPER_COLORS.get(stroke, stroke)}"')
    return " ".join(drawn)


def rule(start: tuple[float, float], end: tuple[float, float], color: str, more: str = "") -> str:
    """A straight line.

    Parameters
    ----------
    start, end : x and y
    color : its name
    more : attributes beside

    Returns
    -------
    SVG.
    """
    (x1, y1), (x2, y2) = start, end
    at = f'x1="{place(x1)}" y1="{place(y1)}" x2="{place(x2)}" y2="{place(y2)}"'
    return f"<line {at} {paint(stroke=color)}{more and f' {more}'}/>"


def path(x: Floats, y: Floats, *, closed: bool = False) -> str:
    """The way of a pen through places, lifted where they are not known, in steps from place to place.

    Parameters
    ----------
    x, y : shape (n,)
    closed : whether each stretch leads back to where it began

    Returns
    -------
    The ``d`` of a path.
    """
    strokes: list[list[tuple[int, int]]] = [[]]
    for px, py in zip(x.tolist(), y.tolist(), strict=True):
        if math.isnan(px) or math.isnan(py):
            strokes.append([])
            continue
        place_in_tenths = (round(10 * px), round(10 * py))
        if strokes[-1][-1:] != [place_in_tenths]:
            strokes[-1].append(place_in_tenths)
    return "".join(_stroke(stroke, closed=closed) for stroke in strokes if stroke)


def _stroke(places: Sequence[tuple[int, int]], *, closed: bool) -> str:
    """One stretch of a path; a single place is a line of no length, which a round pen shows."""
    steps = [f"{_tenths(b[0] - a[0])} {_tenths(b[1] - a[1])}" for a, b in pairwise(places)]
    drawn = f"l{' '.join(steps)}".replace(" -", "-") if steps else "h0"
    return f"M{_tenths(places[0][0])} {_tenths(places[0][1])}{drawn}{'z' if closed else ''}"


def _tenths(n: int) -> str:
    """Tenths as a number, as short as SVG allows."""
    whole = plain(n / 10, 7)
    return whole.replace("0.", ".", 1) if abs(n) < 10 and n % 10 else whole


def curve(d: str, color: str, width: float = 1.2, more: str = "") -> str:
    """A line along a path.

    Parameters
    ----------
    d : the path
    color : its name
    width : of the line
    more : attributes beside

    Returns
    -------
    SVG.
    """
    how = f'stroke-width="{plain(width)}" stroke-linejoin="round"{more and f" {more}"}'
    return f'<path d="{d}" {paint(stroke=color)} {how}/>'


def area(d: str, color: str, opacity: float = 0.3) -> str:
    """A filled area.

    Parameters
    ----------
    d : its outline
    color : its name
    opacity : of the colour

    Returns
    -------
    SVG.
    """
    return f'<path d="{d}" {paint(fill=color)} fill-opacity="{plain(opacity)}"/>'


def words(at: tuple[float, float], said: str, *, color: str = "soft", anchor: str = "start", more: str = "") -> str:
    """Words, from, about or up to a place.

    Parameters
    ----------
    at : x, and y of the line that they stand on
    said : the words
    color : its name
    anchor : "start", "middle" or "end"
    more : attributes beside

    Returns
    -------
    SVG.
    """
    where = f'x="{place(at[0])}" y="{place(at[1])}"' + (f' text-anchor="{anchor}"' if anchor != "start" else "")
    return f"<text {where} {paint(fill=color)}{more and f' {more}'}>{text(said)}</text>"


def hatch(name: str, color: str) -> str:
    """A pattern of slanted lines, to be filled with ``url(#name)``."""
    lines = "M-1 1l2-2M0 6l6-6M5 7l2-2"
    return (
        f'<defs><pattern id="{name}" width="6" height="6" patternUnits="userSpaceOnUse">'
        f'<path d="{lines}" {paint(stroke=color)} stroke-width="1.4"/></pattern></defs>'
    )


def box(corner: tuple[float, float], size: tuple[float, float], painted: str, more: str = "") -> str:
    """A rectangle.

    Parameters
    ----------
    corner : its least x and y
    size : width and height
    painted : from `paint`
    more : attributes beside

    Returns
    -------
    SVG.
    """
    at = f'x="{place(corner[0])}" y="{place(corner[1])}" width="{place(size[0])}" height="{place(size[1])}"'
    return f"<rect {at} {painted}{more and f' {more}'}/>"


def width_of(said: str) -> float:
    """About how wide words are."""
    return LETTER * FONT_SIZE * len(said)


def shortened(said: str, room: float) -> str:
    """Words as far as they find room, with a mark where they were cut."""
    letters = int(room / (LETTER * FONT_SIZE) + 1e-9)
    return said if len(said) <= letters else f"{said[: max(letters - 1, 1)].rstrip()}…"


def fits(centres: Sequence[float], wide: Sequence[float], gap: float = 4.0) -> list[bool]:
    """Which labels find room, from left to right: those that do not touch the last one that did.

    Parameters
    ----------
    centres : where they would stand, in order
    wide : how wide each is
    gap : between two of them

    Returns
    -------
    One truth a label.
    """
    found, last = [], float("-inf")
    for centre, width in zip(centres, wide, strict=True):
        free = centre - width / 2 >= last + gap
        found.append(free)
        last = centre + width / 2 if free else last
    return found
