"""The answer at a glance: one sentence, a bar as long as what was drawn, and the key figures."""

from typing import Any

from dash import html

from ridelog.answer.ride import Answer
from ridelog.tell import page
from ridelog.tell.findings import sentence
from ridelog.tell.kinds import CHARGE, CONSUMPTION, DISTANCE, HEIGHT, PERCENTAGE, Kind
from ridelog.tell.numbers import Style, amount, bounds, measured
from ridelog.tell.pages import bike as bike_words
from ridelog.tell.pages.clocks import dials
from ridelog.tell.ride import NO_FLOW, Headline, headline, hill_sentence
from ridelog.tell.times import calendar_by, duration
from ridelog.uncertain.quantity import Quantity
from ridelog.web import ids
from ridelog.web.parts.bar import width
from ridelog.web.parts.findings import marked
from ridelog.web.tray.sharper import mass_is_assumed


def headline_section(title: str, answer: Answer, style: Style, *, mass_form: bool = False) -> Any:
    """What came back of what was drawn, or why we cannot say.

    Parameters
    ----------
    title : of the ride
    answer : of the ride
    style : units, digits and separators
    mass_form : there is a form that the mass can be entered in

    Returns
    -------
    Component.
    """
    head = headline(answer, style)
    known = dials(answer)
    dial = style.dial or known.get("utc") or known.get("log")
    facts = [
        title,
        calendar_by(dial) if dial else None,
        duration(answer.ride.duration_s, style) if answer.ride.duration_s else None,
    ]
    return html.Section(
        [
            html.P(" · ".join(fact for fact in facts if fact), className="dateline"),
            html.H2(_sentence(head, style), className="headline", id="headline"),
            _balance(answer, head),
            html.P(hill_sentence(answer, style), className="lead") if head.share else None,
            _key_figures(answer, style),
            _mass(answer, style) if mass_form else None,
        ],
        className="verdict",
        **{"aria-labelledby": "headline"},
    )


def _sentence(head: Headline, style: Style) -> list[Any]:
    if not head.share:
        lead = [html.B(head.drawn, className="drawn"), " was drawn. "] if head.drawn else []
        why = head.finding
        more = (
            [html.Span(marked(sentence(why, style)), className="reason")]
            if why is not None and why.code != NO_FLOW  # whose words are the reason itself
            else []
        )
        return [*lead, head.reason, *more]
    within = [html.Span(f" ({head.interval}, {page.INTERVAL})", className="interval")] if head.interval else []
    return [
        "Of ", html.B(head.drawn, className="drawn"), " drawn, ",
        html.B(head.returned, className="returned"), " came back: ",
        html.Strong(head.share, className="share"), *within, head.but,
    ]  # fmt: skip


def _balance(answer: Answer, head: Headline) -> Any:
    """A scale as long as what was drawn; the part that came back is cut off its end."""
    share = answer.energy.recovered_pct or answer.charge.recovered_pct
    if head.share is None or share is None:
        return None
    return html.Div(
        [
            html.Div([html.Div(className="spent"), html.Div(className="back", style=width(share.value))],
                     className="bar"),
            html.Div([html.Span("0"), html.Span(["drawn ", head.drawn])], className="scale"),
        ],
        className="balance",
        role="img",
        **{"aria-label": page.balance(head.drawn or "", head.share)},
    )  # fmt: skip


def _key_figures(answer: Answer, style: Style) -> Any:
    energy, charge, ride = answer.energy, answer.charge, answer.ride
    returned = page.charge_note(answer, style)
    descended = page.descent_note(ride.descent_m, style)
    rows = (
        ("Distance", ride.distance_m, DISTANCE, None, None),
        ("Net use", energy.net_wh_per_km, CONSUMPTION, bounds(energy.net_wh_per_km, CONSUMPTION, style), None),
        ("Distance gained", energy.distance_gained_m, DISTANCE, None, "from what came back"),
        (
            "Captured",
            answer.braking.captured_pct,
            PERCENTAGE,
            bounds(answer.braking.captured_pct, PERCENTAGE, style, digits=2),
            page.captured_note(answer, style),
        ),
        ("Charge", charge.drawn_ah, CHARGE, None, returned),
        ("Climbed", ride.ascent_m, HEIGHT, None, descended),
    )
    return html.Dl(
        [
            _figure(name, _value(quantity, kind, style, **_rounding(kind)), within, note)
            for name, quantity, kind, within, note in rows
            if quantity is not None
        ],
        className="figures",
    )


def _mass(answer: Answer, style: Style) -> Any:
    """That the mass was assumed, what entering it would give, and the way to the form."""
    mass = answer.bike.total_mass_kg
    if not mass_is_assumed(answer) or answer.braking.captured_pct is None or not isinstance(mass.value, float):
        return None
    return html.P(
        [
            bike_words.assumed_mass(mass.value, mass.limit, style),
            html.Span(id={"type": ids.SHARPER, "to": "headline"}),
            " ",
            html.A(bike_words.ENTER, href=f"#{ids.BIKE}", className="open"),
        ],
        className="sharpen",
    )


def _rounding(kind: Kind) -> dict[str, int]:
    """Heights in whole metres, and shares as finely as their interval is written."""
    return {"decimals": 0} if kind is HEIGHT else {"digits": 2} if kind is PERCENTAGE else {}


def _value(quantity: Quantity | None, kind: Kind, style: Style, **rounding: int) -> str:
    if quantity is not None and "digits" in rounding:
        return measured(quantity, kind, style, digits=rounding["digits"]).partition(" (")[0]
    return amount(None if quantity is None else quantity.value, kind, style, **rounding)


def _figure(name: str, value: str, within: str | None, note: str | None) -> Any:
    return html.Div(
        [
            html.Dt(name),
            html.Dd(
                [
                    html.Span(value, className="figure"),
                    *([html.Span(within, className="interval")] if within else []),
                    *([html.Span(note, className="gloss")] if note else []),
                ]
            ),
        ]
    )
