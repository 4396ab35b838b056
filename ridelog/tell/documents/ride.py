"""What the document of a ride says around its tables and charts."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, time

from ridelog.answer.ride import Answer
from ridelog.tell.kinds import CHARGE, CONSUMPTION, DISTANCE, ENERGY, HEIGHT, PERCENTAGE, Kind
from ridelog.tell.numbers import Style, amount, count
from ridelog.tell.page import captured_note
from ridelog.tell.ride import known_part
from ridelog.tell.times import calendar, day, duration
from ridelog.uncertain.quantity import Quantity

KIND_OF_DOCUMENT = "Ride report"
NOON = time(12, tzinfo=UTC)  # of a date that has no time
BASIS, HILLS, POWER, BRAKING, MAP, LEDGER = (
    "What was measured, and what was assumed",
    "The road and its hills",
    "Battery power over time",
    "Braking",
    "Where it came back",
    "Where the energy went",
)
BANDS, WORTH, PACK, FINDINGS, BUDGET, CONDITIONS = (
    "Braking by speed",
    "Is it worth it?",
    "The battery",
    "Findings",
    "How sure the share is",
    "Conditions",
)
CONTENTS = "Contents"
FILES, AGAIN, READ_AS = "What this rests on", "Making it again", "read as"
HILL_ENERGY, BIKE, SETTINGS, VERSIONS, EVENTS, KINDS = (
    "Where the energy of each hill went", "Values of the bike", "Settings", "Versions", "Every braking event",
    "Braking by kind",
)  # fmt: skip
MEASURED, ENTERED, ASSUMED = "Measured", "Entered in the bike file", "Assumed"
SMALL = "Small numbers are 95 % intervals."
PLUS_MINUS = "± is half the width of a 95 % interval; the energies are at the battery, available at the wheel."
NO_FINDINGS = "None: nothing in these files speaks against the numbers."
NO_HILLS = "No hill on this ride."
NO_BRAKING = "No braking was found on this ride."
PLACES_LEFT_OUT = "The map and all positions were left out on request."
INTERVALS = (
    "Numbers in brackets, and small ones below others, are 95 % coverage intervals: of a hundred such intervals, "
    "about 95 hold the true value. They allow for the sensors, the log, and what is known of the bike."
)
PACK_CAUTION = (
    "Stated is what was logged, beside the limits that were entered under [pack] in the bike file. Those limits are "
    "the pack maker's; that no finding names one says nothing of how the pack is. Never bypass or adjust a battery's "
    "protection; work on pack, controller or brakes is for a qualified technician, and local rules apply."
)
COMMAND = "In a folder that holds the files above, this command makes this document again, to the last byte:"
VERSIONS_NOTE = "Other versions may differ in the last digits."
SETTINGS_NOTE = "Every threshold that was used, its unit at the end of its name."


def dateline(answer: Answer, dated: date | None) -> list[str]:
    """What the document is of: the ride, the bike, when and how long; and its own date where it has one.

    Parameters
    ----------
    answer : of the ride
    dated : of the document
    """
    start = answer.ride.start
    parts = [
        KIND_OF_DOCUMENT,
        answer.ride.name,
        answer.bike.name,
        calendar(start) if start else None,
        duration(answer.ride.duration_s) if answer.ride.duration_s else None,
        None if dated is None else f"document of {day(datetime.combine(dated, NOON))}",
    ]
    return [part for part in parts if part]


def title(answer: Answer) -> str:
    """Of the document's window and file."""
    start = answer.ride.start
    return f"{KIND_OF_DOCUMENT}: {answer.ride.name}{f', {day(start)}' if start else ''}"


Figure = tuple[str, str, Quantity, Kind, str]  # key, name, value, what it is, what stands below it


def figures(answer: Answer, style: Style) -> list[Figure]:
    """The numbers of the whole ride.

    Parameters
    ----------
    answer : of the ride
    style : units, digits and separators

    Returns
    -------
    Those that are known, in order.
    """
    energy, charge, braking, ride = answer.energy, answer.charge, answer.braking, answer.ride
    descended = f"descended {amount(ride.descent_m.value, HEIGHT, style, decimals=0)}" if ride.descent_m else ""
    at_wheel = f"from braking, at the wheel{known_part(answer, style)}"
    drawn_ah = f"of {amount(charge.drawn_ah.value, CHARGE, style)} drawn" if charge.drawn_ah else ""
    rows: tuple[tuple[str, str, Quantity | None, Kind, str], ...] = (
        ("drawn", "Drawn", energy.drawn_wh, ENERGY, "from the battery"),
        ("returned", "Returned", energy.returned_wh, ENERGY, "to the battery"),
        ("recovered", "Recovered", energy.recovered_pct, PERCENTAGE, "of the energy drawn"),
        ("recovered_charge", "Recovered charge", charge.recovered_pct, PERCENTAGE, drawn_ah),
        ("net_use", "Net use", energy.net_wh_per_km, CONSUMPTION, "drawn less returned"),
        ("distance_gained", "Distance gained", energy.distance_gained_m, DISTANCE, "by what came back"),
        ("available", "Available", braking.available_wh, ENERGY, at_wheel),
        ("captured", "Captured", braking.captured_pct, PERCENTAGE, captured_note(answer, style)),
        ("distance", "Distance", ride.distance_m, DISTANCE, ""),
        ("climbed", "Climbed", ride.ascent_m, HEIGHT, descended),
    )  # fmt: skip
    if energy.drawn_wh is None:
        rows = (
            ("drawn_charge", "Drawn", charge.drawn_ah, CHARGE, "from the battery"),
            ("returned_charge", "Returned", charge.returned_ah, CHARGE, "to the battery"),
            *rows,
        )
    return [(key, name, value, kind, note) for key, name, value, kind, note in rows if value is not None]


def events_left_out(shown: int, of: int, style: Style) -> str:
    """Above a table that holds the larger braking events only.

    Parameters
    ----------
    shown, of : how many of how many
    style : how numbers are written

    Returns
    -------
    A sentence; empty where all are shown.
    """
    if shown == of:
        return ""
    return (
        f"Of {count(of, style)} events, the {count(shown, style)} with most energy available or returned; "
        "ridelog measure --table events lists them all. "
    )


def hills_left_out(shown: int, of: int, style: Style) -> str:
    """Above a table that holds the higher hills only.

    Parameters
    ----------
    shown, of : how many of how many
    style : how numbers are written

    Returns
    -------
    A sentence; empty where all are shown.
    """
    if shown == of:
        return ""
    return (
        f"Of {count(of, style)} hills, the {count(shown, style)} with most height; "
        "ridelog measure --table hills lists them all. "
    )


def columns_left_out(shown: int, of: int, style: Style) -> str:
    """Above a table that holds only some of a log's columns.

    Parameters
    ----------
    shown, of : how many of how many
    style : how numbers are written

    Returns
    -------
    A sentence; empty where all are shown.
    """
    if shown == of:
        return ""
    return (
        f". Of {count(of, style)} columns {count(shown, style)} stand here, used ones first; "
        "ridelog columns lists them all."
    )


def names(rows: Sequence[tuple[str, str]]) -> str:
    """Names and versions, in a line."""
    return ", ".join(f"{name} {version}" for name, version in rows)
