"""The page of one ride: findings that come first, the headline, hills, power, braking, energy, worth, and the files."""

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from dash import html

from ridelog.answer.ride import Answer
from ridelog.figures.ledger import ledger_drawing
from ridelog.figures.look import Look
from ridelog.figures.profile import heights_along, profile_drawing
from ridelog.figures.track import track_drawing
from ridelog.findings import Finding, said_first
from ridelog.tell import ledger as ledger_words
from ridelog.tell import page, tables, worth
from ridelog.tell.numbers import Style
from ridelog.tell.pages import bike as bike_words
from ridelog.tell.pages import columns as column_words
from ridelog.tell.ride import headline, ledger_label, profile_label
from ridelog.tell.table import capital
from ridelog.uncertain.budget import Budget
from ridelog.web import ids
from ridelog.web.parts.bike.form import bike_form
from ridelog.web.parts.braking import braking_section
from ridelog.web.parts.charts.frame import chart, folded_chart, returned_is_known
from ridelog.web.parts.charts.power import DEFAULT_LANES, power_section
from ridelog.web.parts.charts.track import TRACK, track_section
from ridelog.web.parts.findings import finding_list, notes
from ridelog.web.parts.headline import headline_section
from ridelog.web.parts.hills import hill_ledger
from ridelog.web.parts.reading.changes import change_list
from ridelog.web.parts.reading.proposed import proposed_voltage
from ridelog.web.parts.reading.sources import sources
from ridelog.web.parts.table import component
from ridelog.web.parts.takeaway import takeaway
from ridelog.web.rides import NOBODYS, Owned, ShownRide

PROFILE, LEDGER = "profile-chart", "ledger-chart"


def answer_page(
    shown: ShownRide,
    look: Look,
    token: str,
    owned: Owned = NOBODYS,
    *,
    stretch: tuple[float, float] | None = None,
    lanes: Collection[str] = DEFAULT_LANES,
) -> list[Any]:
    """Everything that is shown of one ride.

    Parameters
    ----------
    shown : the ride; one without an answer shows nothing
    look : colours, room and units
    token : of the ride, for its links
    owned : what the visitor may do with it
    stretch : of the ride that the chart of power shows, all of it by default [s]
    lanes : what stands beneath the power

    Returns
    -------
    parts : of the page, from top to bottom
    """
    answer, style = shown.answer, look.style
    if answer is None:
        return []
    told = headline(answer, style).finding  # said in the headline, so not once more below
    others = tuple(each for each in answer.findings if told is None or each != told)
    parts = [
        finding_list(_of(others, "danger"), "Dangers", style),
        finding_list([each for each in _of(others, "warning") if said_first(each)], "Before the numbers", style),
        headline_section(shown.title, answer, style, mass_form=owned.mine or owned.free),
        _voltage(shown, owned),
        change_list(owned.changes, style),
        finding_list([each for each in _of(others, "warning") if not said_first(each)], "Warnings", style),
        _hills(answer, look, owned.hills),
        power_section(answer, look, stretch, lanes),
        _bike(answer, owned, token),
        *_folds(shown, answer, token, look, owned),
    ]
    if found := _of(others, "note"):
        parts.append(_fold(page.with_count("Notes", len(found), style), notes(found, style), "notes"))
    return [part for part in (*parts, takeaway(token)) if part is not None]


def other_charts(answer: Answer, look: Look) -> dict[str, Any]:
    """The drawings of a ride's charts besides that of power, by the names of the charts.

    Parameters
    ----------
    answer : of the ride
    look : that they are drawn in

    Returns
    -------
    Those that the page of the ride has.
    """
    drawings = {
        PROFILE: profile_drawing(answer, look) if answer.hills else None,
        TRACK: track_drawing(answer, look),
        LEDGER: None if answer.ledger is None else ledger_drawing(answer.ledger, look),
    }
    return {name: drawing for name, drawing in drawings.items() if drawing is not None}


def _of(findings: Sequence[Finding], severity: str) -> list[Finding]:
    return [finding for finding in findings if finding.severity == severity]


def _bike(answer: Answer, owned: Owned, token: str) -> Any:
    form = bike_form(answer, owned.bike, token, mine=owned.mine or owned.free, n_same_bike=owned.n_same_bike)
    return _fold(bike_words.TITLE, form, ids.BIKE)


def _voltage(shown: ShownRide, owned: Owned) -> Any:
    """That a column may be the battery's voltage, and the way to say so; ``None`` where none may be."""
    found = [proposal for each in shown.columns if (proposal := proposed_voltage(each)) is not None]
    if len(found) != 1 or not owned.mine:
        return None
    link = html.A(column_words.LOOK_AT_IT, href="#sources", className="open")
    return html.P([column_words.asks_for_voltage(found[0].header), link], className="sharpen")


def _folds(shown: ShownRide, answer: Answer, token: str, look: Look, owned: Owned) -> list[Any]:
    """What only some want to read: closed until it is asked for."""
    style = look.style
    track = track_section(answer, look)
    ledger, worth_of_it = _ledger(answer, look), _worth(answer, style)
    pack = component(tables.pack(answer.pack), style)
    read = sources(answer, shown.columns, token, style, owned)
    events = page.with_count(page.BRAKING, len(answer.braking.events), style)
    return [
        _fold(events, braking_section(answer, style), "events"),
        _fold(page.track_title(known=returned_is_known(answer)), track, "way") if track is not None else None,
        _fold("Where the energy went", ledger, "energy") if ledger is not None else None,
        _fold("Is it worth it?", worth_of_it, "worth") if worth_of_it is not None else None,
        _fold("How sure the share is", _budget(answer.budget[0], style), "budget") if answer.budget else None,
        _fold("How the battery was treated", html.Div([pack, _limits()]), "pack") if pack is not None else None,
        _fold(page.with_count("How the files were read", len(answer.sources), style), read, "sources"),
    ]


def _fold(title: str, content: Any, name: str) -> Any:
    return html.Section(html.Details([html.Summary(html.H2(title)), content], id=name), className="fold")


def _hills(answer: Answer, look: Look, places: Mapping[float, str]) -> Any:
    drawing = profile_drawing(answer, look) if answer.hills else None
    if not answer.hills and heights_along(answer) is None:
        return None
    label = profile_label(answer, look.style)
    return html.Section(
        [
            html.H2(_title_of_hills(answer)),
            chart(drawing, label, PROFILE) if drawing is not None else None,
            _hill_table(answer, look.style, places),
        ],
        className="hills",
    )


def _hill_table(answer: Answer, style: Style, places: Mapping[float, str]) -> Any:
    table = hill_ledger(answer, style, places)
    if not answer.hills:
        return table
    return html.Details(
        [html.Summary(page.with_count(page.EACH_HILL, len(answer.hills), style)), table], id="each-hill"
    )


def _title_of_hills(answer: Answer) -> str:
    if not answer.hills:
        return "The road"
    return "What each hill gave back" if headline(answer).share else "The hills"


def _ledger(answer: Answer, look: Look) -> Any:
    ledger, table = answer.ledger, tables.ledger(answer, look.style)
    if ledger is None or table is None:
        return None
    drawing, told = ledger_drawing(ledger, look), ledger_words.sentence(answer, look.style)
    bands = tables.bands(answer, look.style)
    label = ledger_label(answer, look.style)
    return html.Div(
        [
            html.P(told, className="lead") if told else None,
            folded_chart(drawing, label, LEDGER) if drawing is not None else None,
            component(table, look.style, label="Where the energy of the ride went"),
            html.P(ledger_words.closing(ledger, look.style), className="aside"),
            *([html.H3("Braking by speed"), component(bands, look.style)] if bands is not None and bands.rows else []),
        ],
        className="where",
    )


def _worth(answer: Answer, style: Style) -> Any:
    """The verdict, and a word and a sentence for each thing that it rests on; ``None`` where nothing is known."""
    if answer.worth is None:
        return None
    rows = worth.rows(answer, style)
    return html.Div(
        [
            html.P(worth.verdict(answer.worth), className="lead"),
            html.Dl(
                [html.Div([html.Dt(capital(name)), html.Dd(sentence)]) for name, sentence in rows],
                className="facts",
            ),
        ],
        className="worth",
    )


def _budget(budget: Budget, style: Style) -> Any:
    return html.Div(
        [html.P(page.budget_lead(budget, style), className="aside"), component(tables.budget(budget, style), style)]
    )


def _limits() -> Any:
    return html.P(
        "These are compared with the limits under [pack] in the bike file; a finding says so where one was passed. The "
        "limits are those of the battery's maker.",
        className="aside",
    )
