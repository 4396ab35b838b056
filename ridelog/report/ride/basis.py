"""The end of the document: findings, the budget, conditions, the method, files, values, settings, the command."""

import platform
from collections.abc import Sequence
from importlib.metadata import PackageNotFoundError, version

from ridelog.answer.ride import Answer, Source
from ridelog.report.equations import equation
from ridelog.report.making import Making
from ridelog.report.parts import Section, findings, paragraph, section
from ridelog.report.sheet import text
from ridelog.report.tables import capitals, facts, full_table
from ridelog.tell import page, tables
from ridelog.tell.documents import basis, method
from ridelog.tell.documents import ride as told
from ridelog.tell.numbers import Style

MOST_COLUMNS = 120  # of a log's, in a document
LIBRARIES = ("numpy", "pandas", "scipy", "pyproj", "pyarrow")  # that numbers go through


def rests_on(answer: Answer, making: Making) -> Section | None:
    """What was measured, entered and assumed.

    Parameters
    ----------
    answer : of the ride
    making : how the document is to be made
    """
    style = making.style
    entered, measured_values, assumed = (
        basis.values_by_origin(answer, origin, style) for origin in ("entered", "measured", "assumed")
    )
    besides = [paragraph(each) for each in basis.assumptions(answer, style)]
    return section(
        "basis",
        told.BASIS,
        _under(told.MEASURED, facts([*basis.measured_rows(answer, style), *capitals(measured_values)], "measured")),
        _under(
            told.ASSUMED,
            "\n".join(part for part in (facts(capitals(assumed), "assumed", short=True), *besides) if part),
        ),
        _under(told.ENTERED, facts(capitals(entered), "entered", short=True))
        if entered
        else paragraph(basis.NOTHING_ENTERED),
    )


def _under(heading: str, part: str) -> str:
    return f"<h3>{text(heading)}</h3>\n{part}" if part else ""


def back(answer: Answer, making: Making) -> list[Section | None]:
    """The sections that a reader turns to who doubts a number.

    Parameters
    ----------
    answer : of the ride
    making : how the document is to be made

    Returns
    -------
    In order.
    """
    style = making.style
    return [
        section("findings", told.FINDINGS, findings(answer.findings, style) or paragraph(told.NO_FINDINGS)),
        _budget(answer, style),
        section(
            "conditions",
            told.CONDITIONS,
            facts(capitals(basis.conditions(answer, style)), "conditions-rows", short=True),
        ),
        method_section(method.steps(answer)),
        _files(answer, making),
        _again(answer, making),
    ]


def _budget(answer: Answer, style: Style) -> Section | None:
    return section(
        "budget",
        told.BUDGET,
        *(
            part
            for each in answer.budget
            for part in (paragraph(page.budget_lead(each, style)), full_table(tables.budget(each, style), style))
        ),
    )


def method_section(steps: Sequence[method.Step]) -> Section | None:
    """The method in about a page: each step with its equations, and the sources that they cite."""
    sources = method.sources(list(steps))
    numbers = {source: n for n, source in enumerate(sources, start=1)}
    parts = [paragraph(method.LEAD)]
    for step in steps:
        cited = "".join(f" [{numbers[source]}]" for source in step.sources)
        head = f'<h3 id="{step_key(step.title)}">{text(step.title)}</h3>'
        parts.append(f"{head}\n<p>{text(step.told)}{cited}</p>")
        parts += [equation(each) for each in step.equations]
    listed = "".join(f"<li>{text(source)}</li>" for source in sources)
    parts.append(f'<ol class="sources">{listed}</ol>')
    return section("method", method.TITLE, *parts)


def step_key(title: str) -> str:
    """By which a step of the method is found in its document."""
    return "step-" + "".join(char if char.isalnum() else "-" for char in title.lower())


def _files(answer: Answer, making: Making) -> Section | None:
    style = making.style
    parts = [part for n, source in enumerate(answer.sources, start=1) for part in _source(source, n, style)]
    for given in making.given:
        parts += [
            f"<h3>{text(given.name)}</h3>",
            facts(capitals([(told.READ_AS, given.role), ("SHA-256", given.sha256)])),
        ]
    settings = full_table(basis.settings(answer.settings, style), style, caption=told.SETTINGS_NOTE)
    return section(
        "files",
        told.FILES,
        *parts,
        _under(told.BIKE, full_table(basis.bike(answer, style), style)),
        _under(told.SETTINGS, settings),
    )


def _source(source: Source, n: int, style: Style) -> list[str]:
    uses = sorted(source.columns, key=lambda use: use.channel is None)[:MOST_COLUMNS]
    shown = source.columns if len(source.columns) <= MOST_COLUMNS else uses
    caption = page.columns_of(source.path) + told.columns_left_out(len(shown), len(source.columns), style)
    table = tables.column_uses(shown, style)
    return [
        f"<h3>{text(source.path)}</h3>",
        facts(capitals(tables.source_facts(source, style))),
        full_table(table, style, caption=caption, key=f"columns-{n}") if table.rows else "",
    ]


def _again(answer: Answer, making: Making) -> Section | None:
    command = f'<pre><code id="command">{text(making.command)}</code></pre>' if making.command else ""
    return section(
        "again",
        told.AGAIN,
        paragraph(told.COMMAND) if command else "",
        command,
        paragraph(f"{told.names(versions(answer.ridelog))}. {told.VERSIONS_NOTE}", "soft"),
    )


def versions(own: str) -> list[tuple[str, str]]:
    """What measured the ride: ridelog, Python, and the libraries that numbers go through, each with its version."""
    found = [("ridelog", own), ("Python", platform.python_version())]
    for name in LIBRARIES:
        try:
            found.append((name, version(name)))
        except PackageNotFoundError:  # pragma: no cover  (a library that was left out of an installation)
            continue
    return found
