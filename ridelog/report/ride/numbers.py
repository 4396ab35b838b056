"""The middle of the document: hills, power, braking, the way, the ledger, what it is worth, the battery."""

from dataclasses import replace

from ridelog.answer.braking import BrakingEvent
from ridelog.answer.ride import Answer
from ridelog.report.drawings.ledger import ledger_drawing
from ridelog.report.drawings.power import power_drawing
from ridelog.report.drawings.profile import profile_drawing
from ridelog.report.drawings.track import track_drawing
from ridelog.report.making import Making
from ridelog.report.parts import Section, figure, paragraph, section
from ridelog.report.sheet import text
from ridelog.report.tables import capitals, facts, full_table
from ridelog.tell import ledger as ledger_words
from ridelog.tell import tables, worth
from ridelog.tell.documents import charts
from ridelog.tell.documents import ride as told
from ridelog.tell.numbers import Style
from ridelog.tell.ride import BRAKE_CAUTION

MOST_EVENTS = 120  # in a document; four pages of them
MOST_HILLS = 120  # in a document, each in two tables; what lays out a PDF takes 0.7 MB for each
HILL_COLUMNS = (
    "mark", "from_to", "height", "grade", "drawn", "available", "returned", "captured", "both_ways",
)  # fmt: skip
EVENT_COLUMNS = ("start", "lasts", "kind", "speed", "drop", "available", "returned", "missed", "captured")


def numbers(answer: Answer, making: Making) -> list[Section | None]:
    """The sections of what was measured.

    Parameters
    ----------
    answer : of the ride
    making : how it is to be made

    Returns
    -------
    In order; ``None`` for what has nothing to show.
    """
    style = making.style
    return [
        _hills(answer, style),
        section("power", told.POWER, figure(lambda width: power_drawing(answer, style, width), charts.POWER_LEGEND)),
        _braking(answer, style),
        _map(answer, making),
        _ledger(answer, style),
        _worth(answer, style),
        _pack(answer, style),
    ]


def _heading(words: str) -> str:
    return f"<h3>{text(words)}</h3>"


def _under(heading: str, table: str) -> str:
    """A table under a heading of its own; nothing without a table."""
    return f"{_heading(heading)}\n{table}" if table else ""


def _hills(answer: Answer, style: Style) -> Section | None:
    legend = charts.PROFILE_LEGEND if answer.hills else ""
    profile = figure(lambda width: profile_drawing(answer, style, width), legend)
    if not profile and not answer.hills:
        return None
    few = highest(answer)
    caption = f"{told.hills_left_out(len(few.hills), len(answer.hills), style)}{told.SMALL}"
    hill_ledger = tables.hill_ledger(few)
    return section(
        "road",
        told.HILLS,
        profile,
        full_table(tables.hills(few).only(*HILL_COLUMNS), style, caption=caption)
        if answer.hills
        else paragraph(told.NO_HILLS),
        _under(told.HILL_ENERGY, full_table(hill_ledger, style, caption=caption)) if hill_ledger is not None else "",
    )


def highest(answer: Answer) -> Answer:
    """The answer with the hills of most height alone, also in its ledger, in the order ridden; at most `MOST_HILLS`."""
    if len(answer.hills) <= MOST_HILLS:
        return answer
    chosen = sorted(answer.hills, key=lambda hill: abs(hill.height_m.value), reverse=True)[:MOST_HILLS]
    begin_s = {hill.start_s for hill in chosen}
    hills = tuple(hill for hill in answer.hills if hill.start_s in begin_s)
    pairs = tuple(pair for pair in answer.hill_pairs if {pair.up, pair.down} <= {hill.id for hill in hills})
    ledger = answer.ledger
    if ledger is not None:
        ledger = replace(ledger, hills=tuple(entry for entry in ledger.hills if entry.start_s in begin_s))
    return replace(answer, hills=hills, hill_pairs=pairs, ledger=ledger)


def _braking(answer: Answer, style: Style) -> Section | None:
    events = answer.braking.events
    if not events:
        return section("braking", told.BRAKING, paragraph(told.NO_BRAKING))
    shown = largest(answer)
    table = tables.events(answer, shown).only(*EVENT_COLUMNS)
    caption = f"{told.events_left_out(len(shown), len(events), style)}{told.PLUS_MINUS}"
    bands = tables.bands(answer, style)
    return section(
        "braking",
        told.BRAKING,
        _under(told.KINDS, full_table(tables.kinds(answer), style, caption=told.SMALL)),
        _under(told.BANDS, full_table(bands, style, caption=told.SMALL)) if bands is not None else "",
        _under(told.EVENTS, full_table(table, style, caption=caption, narrow_intervals=True)),
    )


def largest(answer: Answer) -> list[BrakingEvent]:
    """The braking events with most energy available or returned, in the order of the ride; at most `MOST_EVENTS`."""

    def size_wh(event: BrakingEvent) -> float:
        return max((each.value for each in (event.available_wh, event.returned_wh) if each is not None), default=0.0)

    chosen = sorted(answer.braking.events, key=size_wh, reverse=True)[:MOST_EVENTS]
    return sorted(chosen, key=lambda event: event.start_s)


def _map(answer: Answer, making: Making) -> Section | None:
    if not making.with_places:
        return section("map", told.MAP, paragraph(told.PLACES_LEFT_OUT))
    known = answer.charge.returned_ah is not None or answer.energy.returned_wh is not None
    legend = charts.MAP_LEGEND if known else charts.PLAIN_MAP_LEGEND
    return section("map", told.MAP, figure(lambda width: track_drawing(answer, making.style, width), legend))


def _ledger(answer: Answer, style: Style) -> Section | None:
    table = tables.ledger(answer, style)
    if answer.ledger is None or table is None:
        return None
    return section(
        "ledger",
        told.LEDGER,
        paragraph(ledger_words.sentence(answer, style) or ""),
        figure(lambda width: ledger_drawing(answer, style, width), charts.LEDGER_LEGEND),
        full_table(table, style, caption=told.SMALL),
        paragraph(ledger_words.closing(answer.ledger, style), "soft"),
    )


def _worth(answer: Answer, style: Style) -> Section | None:
    if answer.worth is None:
        return None
    return section(
        "worth",
        told.WORTH,
        paragraph(worth.verdict(answer.worth), "lead"),
        facts(capitals(worth.rows(answer, style)), "worth-rows"),
        paragraph(BRAKE_CAUTION, "caution"),
    )


def _pack(answer: Answer, style: Style) -> Section | None:
    table = full_table(tables.pack(answer.pack), style, caption=told.SMALL)
    return section("pack", told.PACK, table, paragraph(told.PACK_CAUTION, "caution")) if table else None
