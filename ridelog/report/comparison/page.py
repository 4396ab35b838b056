"""The document of a comparison, as one HTML file: the same comparison gives the same bytes."""

from collections.abc import Callable, Mapping, Sequence

from ridelog.compare.record import QUANTITIES, Comparison
from ridelog.report.comparison.charts import differences_drawing, rides_drawing_of
from ridelog.report.drawings.svg import Drawing
from ridelog.report.making import PAPERS, Making
from ridelog.report.parts import Section, contents, drawn, figure, findings, paragraph, section
from ridelog.report.ride.basis import method_section, versions
from ridelog.report.sheet import sheet, text
from ridelog.report.tables import facts, full_table
from ridelog.tell.compare import sentences, tables
from ridelog.tell.documents import comparing
from ridelog.tell.documents import comparison as told
from ridelog.tell.documents import ride as ride_words
from ridelog.tell.numbers import Style
from ridelog.tell.table import Table

FilesOfRides = Mapping[str, Sequence[tuple[str, str]]]  # key of a ride -> name and SHA-256 of each of its files


def comparison_page(comparison: Comparison, making: Making | None = None, files: FilesOfRides | None = None) -> str:
    """The document of a comparison as one HTML file, without scripts and without anything fetched.

    Parameters
    ----------
    comparison : what was found
    making : how it is to be made; metric and without a command by default
    files : of each ride, where they are known

    Returns
    -------
    HTML; the same comparison gives the same bytes.
    """
    making = making or Making()
    parts = comparison_parts(comparison, making, files or {})
    return sheet(told.title(comparison), parts, paper=PAPERS[making.paper])


def comparison_parts(comparison: Comparison, making: Making, files: FilesOfRides) -> list[str]:
    """What the document holds, as HTML, from top to bottom.

    Parameters
    ----------
    comparison : what was found
    making : how it is to be made
    files : of each ride, where they are known

    Returns
    -------
    Parts of a page.
    """
    sections = [each for each in _sections(comparison, making, files) if each is not None]
    return [_front(comparison, making), contents(sections, ride_words.CONTENTS), *map(drawn, sections)]


def _front(comparison: Comparison, making: Making) -> str:
    style = making.style
    first = sentences.headline(comparison, style)
    others = [one.words for one in sentences.sentences(comparison, style) if one.words != first]
    grave = [each for each in comparison.findings if each.severity == "danger"]
    line = " · ".join(map(text, told.dateline(comparison, making.dated)))
    return "\n".join(
        part
        for part in (
            f'<header>\n<p class="dateline">{line}</p>\n<h1 class="told">{text(first)}</h1>',
            *(paragraph(each, "lead") for each in others),
            "</header>",
            findings(grave, style),
            paragraph(ride_words.INTERVALS, "soft"),
        )
        if part
    )


def _sections(comparison: Comparison, making: Making, files: FilesOfRides) -> list[Section | None]:
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
        _table(tables.conditions(comparison, style), style),
        _table(tables.precision(comparison, style), style),
        _table(tables.loggers(comparison), style),
        section("findings", told.FINDINGS, findings(comparison.findings, style) or paragraph(ride_words.NO_FINDINGS)),
        _table(tables.failed(comparison), style),
        method_section(comparing.steps(comparison)),
        _files(comparison, making, files),
        _again(comparison, making),
    ]


def _table(table: Table, style: Style) -> Section | None:
    """A section of one table, named by its title."""
    return section(table.key, table.title, full_table(table, style))


def _rides(comparison: Comparison, style: Style) -> Section | None:
    def drawing_of(quantity: str) -> Callable[[int], Drawing | None]:
        return lambda width: rides_drawing_of(comparison, quantity, style, width)

    charts = [figure(drawing_of(quantity), told.RIDES_LEGEND) for quantity in QUANTITIES]
    table = full_table(tables.rides(comparison), style, caption=ride_words.SMALL)
    return section("rides", told.RIDES, *charts, table)


def _files(comparison: Comparison, making: Making, files: FilesOfRides) -> Section | None:
    parts = []
    for ride in comparison.rides:
        rows = [*files.get(ride.key, ()), (told.KEY, ride.key)]
        parts.append(f"<h3>{text(f'{ride.group}: {ride.name}')}</h3>\n{facts(rows)}")
    parts += [facts([(given.name, given.sha256)]) for given in making.given]
    return section("files", told.FILES, *parts)


def _again(comparison: Comparison, making: Making) -> Section | None:
    command = f'<pre><code id="command">{text(making.command)}</code></pre>' if making.command else ""
    return section(
        "again",
        told.AGAIN,
        paragraph(told.COMMAND) if command else "",
        command,
        paragraph(f"{ride_words.names(versions(comparison.ridelog))}. {ride_words.VERSIONS_NOTE}", "soft"),
    )
