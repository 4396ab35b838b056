"""The lines of a ledger in words, shared by terminal and page."""

from dataclasses import dataclass, replace

from ridelog.answer.ledger import Ledger, LedgerEntry, SpeedBand
from ridelog.answer.ride import Answer
from ridelog.tell.ride import interval, number
from ridelog.uncertain.quantity import Quantity

DRAWN, RETURNED, REST = "battery, drawn", "battery, returned", "unexplained rest"


@dataclass(frozen=True)
class Line:
    """One line of a ledger; ``sign`` is +1 where it brings energy in, -1 where it takes it, 0 where it is a part."""

    name: str
    quantity: Quantity | None
    sign: int
    meaning: str


def lines(entry: LedgerEntry) -> tuple[Line, ...]:
    """The lines of an entry that is no braking event: those with a sign add up to nothing; parts follow their whole.

    What was lost of height or speed brings energy in, and an unexplained rest below nothing does too.
    """
    drag_told = entry.drag_wh is not None
    rider = entry.rider_wh is not None
    brakes = "friction brakes" if drag_told else "friction brakes and motor drag"
    rest = "losses of motor and controller, standby" if rider else "drive losses and standby, less the rider's work"
    told = (
        Line(DRAWN, entry.drawn_wh, 1, "at the terminals"),
        Line("rider", entry.rider_wh, 1, "at the pedals" if rider else "not logged: in the rest"),
        Line("air", entry.air_wh, -1, "drag of bike and rider"),
        Line("rolling", entry.rolling_wh, -1, "tyres on the road"),
        Line("height gained", entry.potential_wh, -1, "given back where the road falls"),
        Line("speed gained", entry.kinetic_wh, -1, "from start to end"),
        Line(
            "motor drag",
            entry.drag_wh,
            -1,
            "of the unpowered motor" if drag_told else "not in the bike file: in brakes and rest",
        ),
        Line(brakes, entry.friction_wh, -1, "what braking offered, less what charging took"),
        Line("lost in charging", entry.conversion_wh, -1, "between wheel and battery, by an assumed efficiency"),
        Line(REST, entry.rest_wh, -1, rest),
        Line(RETURNED, entry.returned_wh, -1, "at the terminals"),
        Line("brought to the wheel", entry.to_wheel_wh, 0, "by battery and rider, outside braking"),
        Line("braking offered", entry.available_wh, 0, "at the wheel"),
        Line("missed", entry.missed_wh, 0, "offered, and did not reach the battery"),
        Line("could have been caught", entry.catchable_wh, 0, "of it, as it would have reached the battery"),
    )
    return tuple(replace(line, quantity=_rounded(line.quantity)) for line in told)


def _rounded(value: Quantity | None, decimals: int = 3) -> Quantity | None:
    """Nothing of a ride is told finer than 1 mWh, which is less than 4 J."""
    if value is None:
        return None
    low, high = (None if bound is None else round(bound, decimals) for bound in (value.low95, value.high95))
    return Quantity(round(value.value, decimals), low, high)


def band_name(band: SpeedBand) -> str:
    """ "0 to 10 km/h", "above 30 km/h"."""
    if band.high_kmh is None:
        return f"above {band.low_kmh:g} km/h"
    return f"{band.low_kmh:g} to {band.high_kmh:g} km/h"


def closing(ledger: Ledger) -> str:
    """How well the ledger closes, and what it takes for granted, as sentences."""
    off_wh = ledger.ride.closing_wh
    error = ""
    if off_wh is not None:
        by = number(abs(off_wh), digits=1)
        error = f"Summed up from forces instead of energies, the work at the wheel differs by {by} Wh (closing error). "
    return f"{error}Taken for granted: {'; '.join(ledger.assumed)}."


def sentence(answer: Answer) -> str | None:
    """What braking offered, returned and missed, in one sentence; ``None`` where it is not known."""
    if answer.ledger is None:
        return None
    ride = answer.ledger.ride
    if ride.available_wh is None or ride.missed_wh is None or ride.catchable_wh is None or ride.available_wh.value <= 0:
        return None
    kept = ride.available_wh.value - ride.missed_wh.value
    offered = f"Braking offered {number(ride.available_wh.value)} Wh at the wheel; {number(kept)} Wh came back"
    if ride.missed_wh.value <= 0 or ride.catchable_wh.value <= 0:
        return f"{offered}: nothing is left that the friction brakes can have taken."
    took = "the friction brakes" if ride.drag_wh is not None else "friction brakes and motor drag"
    return (
        f"{offered} and {number(ride.missed_wh.value)} Wh did not. What {took} took would have been about "
        f"{interval(ride.catchable_wh, unit='Wh')} at the battery."
    )
