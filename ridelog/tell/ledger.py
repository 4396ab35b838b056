"""The lines of a ledger in words: what brought energy in, where it went, and what could have come back."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from ridelog.lazy import dataclass
from ridelog.tell.assumptions import ledger_assumptions
from ridelog.tell.kinds import ENERGY, SPEED
from ridelog.tell.numbers import METRIC, Style, amount, between, measured
from ridelog.uncertain.quantity import Quantity

if TYPE_CHECKING:
    from ridelog.answer.ledger import Ledger, LedgerEntry, SpeedBand
    from ridelog.answer.ride import Answer

DRAWN, RETURNED, UNEXPLAINED = (
    "drawn_wh",
    "returned_wh",
    "unexplained_wh",
)  # keys of the lines that every ledger must have

TURNED = {
    "potential_wh": "height lost",
    "kinetic_wh": "speed lost",
    UNEXPLAINED: "unexplained",
}  # names of a negative gain
LEAST_WH = 5e-4


@dataclass(frozen=True)
class Line:
    """One line of a ledger.

    ``key`` : the entry's field · ``sign`` : +1 where it brings energy in, -1 where it takes it, 0 where it is a part
    """

    key: str
    name: str
    quantity: Quantity | None
    sign: int
    meaning: str


def lines(entry: LedgerEntry) -> tuple[Line, ...]:
    """The lines of an entry that is no braking event: those with a sign add up to zero; parts follow their whole.

    Height or speed that was lost brings energy in, and what is unexplained does so too where it is below zero.
    """
    told = (*_flows(entry), *_parts(entry))
    return tuple(_brought_in(replace(line, quantity=_visible(line.quantity))) for line in told)


def _flows(entry: LedgerEntry) -> tuple[Line, ...]:
    """What brings energy in and what takes it."""
    drag_known, rider = entry.drag_wh is not None, entry.rider_wh is not None
    brakes = "friction brakes" if drag_known else "friction brakes and motor drag"
    pedals = "at the pedals" if rider else "not logged; part of the unexplained"
    drag = "while the motor is not powered" if drag_known else "not in the bike file; part of brakes and unexplained"
    losses = "motor and controller losses, standby"
    unexplained = losses if rider else f"{losses}, less your pedalling"
    if entry.unexplained_wh is not None and entry.unexplained_wh.value < 0:  # more went out than is known to come in
        unexplained = "errors of the lines above" if rider else f"your pedalling, less {losses}"
    return (
        Line(DRAWN, "drawn from the battery", entry.drawn_wh, 1, "at its terminals"),
        Line("rider_wh", "rider", entry.rider_wh, 1, pedals),
        Line("air_wh", "air resistance", entry.air_wh, -1, "on bike and rider"),
        Line("rolling_wh", "rolling resistance", entry.rolling_wh, -1, "of the tyres"),
        Line("potential_wh", "height gained", entry.potential_wh, -1, "between start and end"),
        Line("kinetic_wh", "speed gained", entry.kinetic_wh, -1, "between start and end"),
        Line("drag_wh", "motor drag", entry.drag_wh, -1, drag),
        Line("friction_wh", brakes, entry.friction_wh, -1, "available from braking, less what charging took"),
        Line(
            "conversion_wh",
            "charging losses",
            entry.conversion_wh,
            -1,
            "between wheel and battery, assumed",
        ),
        *_unplaced(entry),
        Line(UNEXPLAINED, "unexplained", entry.unexplained_wh, -1, unexplained),
        Line(RETURNED, "returned to the battery", entry.returned_wh, -1, "at its terminals"),
    )


def _parts(entry: LedgerEntry) -> tuple[Line, ...]:
    """Sums and parts of the flows, which do not count again."""
    return (
        Line("to_wheel_wh", "delivered to the wheel", entry.to_wheel_wh, 0, "by battery and rider, while not braking"),
        Line("available_wh", "available from braking", entry.available_wh, 0, "at the wheel"),
        Line("missed_wh", "missed", entry.missed_wh, 0, "available, but never reached the battery"),
        Line("catchable_wh", "could have come back", entry.catchable_wh, 0, "of the missed, after charging losses"),
    )


def _unplaced(entry: LedgerEntry) -> tuple[Line, ...]:
    """What was used where the height or speed is not known; no line where it is known throughout."""
    if entry.unplaced_wh is None or entry.unplaced_wh.value == 0:
        return ()
    return (Line("unplaced_wh", "not placed", entry.unplaced_wh, -1, "drawn while height or speed was not known"),)


def _visible(value: Quantity | None) -> Quantity | None:
    """A number as it is, or zero where all of it is below half a milliwatt-hour, which is less than 2 J."""
    if value is None:
        return None
    known = [each for each in (value.value, value.low95, value.high95) if each is not None]
    return Quantity(0.0, 0.0, 0.0) if max(map(abs, known)) < LEAST_WH else value


def _brought_in(line: Line) -> Line:
    """A line as it is read where what it should take brings energy in: height lost instead of a negative gain."""
    value = line.quantity
    if line.key not in TURNED or value is None or value.value >= 0:
        return line
    low, high = (None if bound is None else -bound for bound in (value.high95, value.low95))
    return replace(line, name=TURNED[line.key], sign=-line.sign, quantity=Quantity(-value.value, low, high))


def band_name(band: SpeedBand, style: Style = METRIC) -> str:
    """ "0 to 10 km/h", "above 30 km/h"."""
    if band.high_kmh is None:
        return f"above {amount(band.low_kmh / 3.6, SPEED, style, digits=2)}"
    return between(band.low_kmh / 3.6, band.high_kmh / 3.6, SPEED, style, digits=2)


def closing(ledger: Ledger, style: Style = METRIC) -> str:
    """How well the ledger closes, and what it assumes, as sentences."""
    off_wh = ledger.ride.closing_wh
    error = ""
    if off_wh is not None:
        by = amount(abs(off_wh), ENERGY, style, digits=1)
        error = f"Added up from forces instead of energies, the work at the wheel differs by {by} (closing error). "
    assumed = f"Assumed: {ledger_assumptions(ledger.assumed, style)}." if ledger.assumed else ""
    return f"{error}{assumed}".strip()


def sentence(answer: Answer, style: Style = METRIC) -> str | None:
    """What braking had available, returned and missed, in one sentence; ``None`` where it is not known."""
    if answer.ledger is None:
        return None
    ride = answer.ledger.ride
    if ride.available_wh is None or ride.caught_wh is None or ride.missed_wh is None or ride.catchable_wh is None:
        return None
    if ride.available_wh.value <= 0:
        return None
    parts = (ride.available_wh, ride.missed_wh, ride.caught_wh)
    available, missed, kept = (amount(each.value, ENERGY, style) for each in parts)
    if ride.missed_wh.value <= 0 or ride.catchable_wh.value <= 0:
        return f"Braking had {available} available at the wheel and {kept} came back: the friction brakes took nothing."
    brakes = "the friction brakes" if ride.drag_wh is not None else "the friction brakes and the motor's drag"
    return (
        f"Braking had {available} available at the wheel: {kept} came back and {missed} did not. What {brakes} took "
        f"could have put about {measured(ride.catchable_wh, ENERGY, style)} into the battery."
    )
