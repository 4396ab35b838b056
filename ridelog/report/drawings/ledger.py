"""Where the energy went, as bars from what the battery gave to what came back."""

from collections.abc import Iterator, Sequence

from ridelog.answer.ride import Answer
from ridelog.figures.ledger import waterfall
from ridelog.report.drawings.frame import Scale, along, labels, ticks
from ridelog.report.drawings.svg import WIDE, Drawing, box, hatch, paint, rule, width_of, words
from ridelog.tell.documents import charts
from ridelog.tell.ledger import DRAWN, RETURNED, UNEXPLAINED, Line, lines
from ridelog.tell.numbers import Style, decimals_for, fixed
from ridelog.tell.ride import ledger_label

RIGHT, TOP, FOOT = 12, 6, 40
BAR = 15
Step = tuple[Line, float, float]


def ledger_drawing(answer: Answer, style: Style, width: int = WIDE) -> Drawing | None:
    """The ledger of a ride as a waterfall: what brings energy in goes to the right, what takes it away comes back.

    Parameters
    ----------
    answer : of the ride
    style : units, digits and separators
    width : of the drawing

    Returns
    -------
    The drawing; ``None`` where a line that makes it up is not known.
    """
    steps = waterfall(lines(answer.ledger.ride)) if answer.ledger is not None else None
    if steps is None:
        return None
    beside = width >= WIDE
    left = 198 if beside else 10
    row = 26 if beside else 36
    lowest, highest = (choose(each for step in steps for each in (*step[1:], 0.0)) for choose in (min, max))
    decimals = decimals_for(end - start for _, start, end in steps)
    numbers = [fixed(end if line.key == RETURNED else end - start, decimals, style) for line, start, end in steps]
    room = max(map(width_of, numbers)) + 8
    x = Scale(lowest, highest, left + (room if lowest < 0 else 0), width - RIGHT - room)
    floor = TOP + row * len(steps) + 4
    first = TOP + (0 if beside else 14)
    pattern = f"ledger-hatch-{width}"
    body = [
        hatch(pattern, "soft"),
        *_grid(x, floor, style, 7 if beside else 4),
        *(
            part
            for place, (step, number) in enumerate(zip(steps, numbers, strict=True))
            for part in _bar(step, number, x, (first + row * place, left if beside else None), pattern)
        ),
        *(_links(steps, x, row) if beside else ()),
        along(charts.energy(style), (left + width - RIGHT) / 2, floor + 34),
    ]
    return Drawing("ledger", charts.LEDGER, ledger_label(answer, style), width, floor + FOOT, tuple(body))


def _grid(x: Scale, floor: float, style: Style, most: int) -> Iterator[str]:
    values = ticks(x.low, x.high, most)
    for value, said in zip(values, labels(values, style), strict=True):
        yield rule((x.at(value), TOP), (x.at(value), floor), "soft" if value == 0 else "line")
        yield words((x.at(value), floor + 16), said, anchor="middle")


def _bar(step: Step, number: str, x: Scale, at: tuple[float, float | None], pattern: str) -> Iterator[str]:
    """One step, its name and its number; ``at`` is its top, and where its name ends (``None``: it stands above)."""
    (line, start, end), (top, left) = step, at
    low, high = sorted((x.at(start), x.at(end)))
    color = {RETURNED: "returned", DRAWN: "drawn"}.get(line.key, "soft")
    corner, size = (low, top + 4), (max(high - low, 1.0), BAR)
    if line.key == UNEXPLAINED:
        yield box(corner, size, f'fill="url(#{pattern})"')
        yield box(corner, size, paint(stroke="soft"))
    else:
        yield box(corner, size, paint(fill=color), "" if line.key in (RETURNED, DRAWN) else 'fill-opacity="0.75"')
    name = (left - 8, top + 16) if left is not None else (10.0, top)
    strong = 'font-weight="600"' if line.key in (RETURNED, DRAWN) else ""
    yield words(name, line.name, color=color if strong else "ink", anchor="end" if left is not None else "start",
                more=strong)  # fmt: skip
    yield words((high + 5, top + 16), number, color="ink")


def _links(steps: Sequence[Step], x: Scale, row: int) -> Iterator[str]:
    """Thin lines from where one step ends to where the next begins."""
    for place, (_, _, end) in enumerate(steps[:-2]):
        y = TOP + row * place + 4 + BAR
        yield rule((x.at(end), y), (x.at(end), y + row - BAR), "soft", 'stroke-width="0.7"')
