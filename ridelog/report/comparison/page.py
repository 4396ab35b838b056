"""The document of a comparison, as one HTML file: the same comparison gives the same bytes."""

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from ridelog.compare.groups import ComparedRide
from ridelog.compare.record import QUANTITIES, Comparison
from ridelog.report.comparison.charts import differences_drawing, rides_drawing_of, ways_drawing_of, ways_shown
from ridelog.report.drawings.svg import Drawing
from ridelog.report.making import PAPERS, Making
from ridelog.report.parts import Section, contents, drawn, figure, findings, paragraph, section
from ridelog.report.ride.basis import method_section, versions
from ridelog.report.sheet import sheet, text
from ridelog.report.tables import facts, full_table
from ridelog.tell.compare import flows, sentences, tables, uncertainty
from ridelog.tell.documents import basis, comparing, rests
from ridelog.tell.documents import comparison as told
from ridelog.tell.documents import ride as ride_words
from ridelog.tell.documents.names import short
from ridelog.tell.numbers import Style
from ridelog.tell.table import Table

Rides = Sequence[ComparedRide]
MOST_SAID = 8  # sentences beside the headline; the table has all differences
INTERVAL = re.compile(r"(\([^()]* to [^()]*\d\))")


def comparison_page(comparison: Comparison, making: Making | None = None, rides: Rides = ()) -> str:
    """The document of a comparison as one HTML file, without scripts and without anything fetched.

    Parameters
    ----------
    comparison : what was found
    making : how it is to be made; metric and without a command by default
    rides : that were compared, for what they rest on; it is left out without them

    Returns
    -------
    HTML; the same comparison gives the same bytes.
    """
    making = making or Making()
    parts = comparison_parts(comparison, making, rides)
    return sheet(told.title(comparison), parts, paper=PAPERS[making.paper])


def comparison_parts(comparison: Comparison, making: Making, rides: Rides) -> list[str]:
    """What the document holds, as HTML, from top to bottom.

    Parameters
    ----------
    comparison : what was found
    making : how it is to be made
    rides : that were compared, for what they rest on; it is left out without them

    Returns
    -------
    Parts of a page.
    """
    sections = [each for each in _sections(comparison, making, rides) if each is not None]
    return [_front(comparison, making), contents(sections, ride_words.CONTENTS), *map(drawn, sections)]


def _front(comparison: Comparison, making: Making) -> str:
    style = making.style
    first = sentences.headline(comparison, style)
    every = [one.words for one in sentences.sentences(comparison, style) if one.words != first]
    more = told.more_differences(len(every) - MOST_SAID, style) if len(every) > MOST_SAID else ""
    others = [*every[:MOST_SAID], more]
    doubts = [each for each in comparison.findings if each.severity in ("danger", "warning")]
    line = " · ".join(map(text, told.dateline(comparison, making.dated)))
    return "\n".join(
        part
        for part in (
            f'<header>\n<p class="dateline">{line}</p>\n<h1 class="told">{_with_interval(first)}</h1>',
            *(paragraph(each, "lead") for each in others),
            "</header>",
            findings(doubts, style),
            paragraph(ride_words.INTERVALS, "soft"),
        )
        if part
    )


def _with_interval(words: str) -> str:
    """A sentence, its first interval set apart, as on the first page of a ride."""
    return INTERVAL.sub(r'<span class="interval">\1</span>', text(words), count=1)


def _sections(comparison: Comparison, making: Making, rides: Rides) -> list[Section | None]:
    style = making.style
    return [
        section(
            "differences",
            told.DIFFERENCES,
            figure(lambda width: differences_drawing(comparison, style, width), told.DIFFERENCES_LEGEND),
            full_table(tables.differences(comparison, style), style),
            paragraph(sentences.HOW, "soft"),
        ),
        _table(tables.groups(comparison), style),
        _rides(comparison, style),
        _table(tables.hills(comparison, style), style),
        _ways(comparison, rides, style) if making.with_places else None,
        _flows(comparison, style),
        _budget(comparison, style),
        _table(tables.conditions(comparison, style), style),
        section("basis", told.BASIS, full_table(rests.values(rides, style), style)),
        _table(tables.precision(comparison, style), style),
        _table(tables.loggers(comparison), style),
        _findings(comparison, rides, style),
        _table(tables.failed(_failed_called(comparison)), style),
        method_section(comparing.steps(comparison)),
        _rests_on(comparison, making, rides),
        _again(comparison, making),
    ]


def _failed_called(comparison: Comparison) -> Comparison:
    """The comparison, what failed called by its name alone."""
    return replace(comparison, failed=tuple(replace(each, path=short(each.path)) for each in comparison.failed))


def _table(table: Table, style: Style) -> Section | None:
    """A section of one table, named by its title."""
    return section(table.key, table.title, full_table(table, style))


def _rides(comparison: Comparison, style: Style) -> Section | None:
    def drawing_of(quantity: str) -> Callable[[int], Drawing | None]:
        return lambda width: rides_drawing_of(comparison, quantity, style, width)

    charts = [figure(drawing_of(quantity), told.RIDES_LEGEND) for quantity in QUANTITIES]
    table = full_table(tables.rides(comparison), style, caption=ride_words.SMALL)
    return section("rides", told.RIDES, *charts, table)


def _ways(comparison: Comparison, rides: Rides, style: Style) -> Section | None:
    def drawing_of(width: int) -> Drawing | None:
        return ways_drawing_of(rides, style, width, comparison.hills)

    legend = told.ways_legend(len(ways_shown(rides)), len(rides), hills=bool(comparison.hills))
    return section("ways", told.WAYS, figure(drawing_of, legend))


def _flows(comparison: Comparison, style: Style) -> Section | None:
    """What was braked, where the energy went and what the pack took, from the answers of the rides."""
    return section(
        "flows", told.FLOWS, *(_under(one.title, full_table(one, style)) for one in flows.every(comparison, style))
    )


def _budget(comparison: Comparison, style: Style) -> Section | None:
    sure, causes = uncertainty.budget(comparison, style), uncertainty.shared(comparison, style)
    return section("budget", told.BUDGET, full_table(sure, style), _under(causes.title, full_table(causes, style)))


def _findings(comparison: Comparison, rides: Rides, style: Style) -> Section | None:
    of_rides = any(ride.answer.findings for ride in rides)
    none = told.NO_FINDINGS if of_rides else ride_words.NO_FINDINGS
    own = findings(comparison.findings, style) or paragraph(none)
    return section("findings", told.FINDINGS, own, _under(rests.FOUND, full_table(rests.found(rides, style), style)))


def _rests_on(comparison: Comparison, making: Making, rides: Rides) -> Section | None:
    """The files and how each was read, and every threshold."""
    style = making.style
    beside = {one.sha256 for ride in rides for one in ride.beside}
    given = [(one.name, f"{one.role}, SHA-256 {one.sha256}") for one in making.given if one.sha256 not in beside]
    read = [part for at, one in enumerate(rests.readings(rides, style), start=1) for part in _reading(one, at, style)]
    return section(
        "files",
        told.FILES,
        full_table(rests.files(rides), style) if rides else facts([(ride.name, ride.key) for ride in comparison.rides]),
        facts(given),
        _under(rests.READINGS, "\n".join([paragraph(rests.READINGS_LEAD), *read]) if read else ""),
        _under(ride_words.SETTINGS, "\n".join(_settings(comparison, rides, style))),
    )


def _under(heading: str, part: str) -> str:
    return f"<h3>{text(heading)}</h3>\n{part}" if part else ""


def _reading(read: rests.Reading, at: int, style: Style) -> list[str]:
    table = full_table(read.columns, style, caption=read.told, key=f"columns-{at}")
    return [f"<h4>{text(read.heading)}</h4>", table]


def _settings(comparison: Comparison, rides: Rides, style: Style) -> Iterator[str]:
    """The thresholds of the comparison, then those of its rides: once, where all were measured with the same."""
    yield paragraph(ride_words.SETTINGS_NOTE)
    own = basis.settings(comparison.settings, style)
    yield full_table(own, style, caption=told.SETTINGS_OF_COMPARISON, key="settings-comparison")
    for at, (settings, some) in enumerate(rests.settings(rides), start=1):
        caption = (
            f"{told.SETTINGS_OF_RIDES}: {rests.which(some, rides)}"
            if len(some) < len(rides)
            else told.SETTINGS_OF_RIDES
        )
        yield full_table(basis.settings(settings, style), style, caption=caption, key=f"settings-{at}")


def _again(comparison: Comparison, making: Making) -> Section | None:
    command = f'<pre><code id="command">{text(making.command)}</code></pre>' if making.command else ""
    return section(
        "again",
        told.AGAIN,
        paragraph(told.COMMAND) if command else "",
        command,
        paragraph(f"{ride_words.names(versions(comparison.ridelog))}. {ride_words.VERSIONS_NOTE}", "soft"),
    )
