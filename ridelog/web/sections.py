"""The parts of the answer's page, from an answer's records: headline, findings, key figures, charts, sources."""

from typing import Any

import dash_mantine_components as dmc
from dash import dcc, html

from ridelog.answer.ride import Answer, Source
from ridelog.figures.ledger import ledger_figure
from ridelog.figures.ride import Look, electrical_line, power_figure, profile_figure, track_figure
from ridelog.findings import Finding, said_first
from ridelog.tell.ledger import closing, sentence
from ridelog.web import tables, text
from ridelog.web.budget import budget_table
from ridelog.web.ledger import band_table, ledger_label, ledger_table
from ridelog.web.pack import pack_table
from ridelog.web.rides import Columns, Held
from ridelog.web.worth import worth_section

GRAPH_CONFIG = {
    "displayModeBar": False,
    "responsive": True,
    "doubleClick": "autosize",
    "scrollZoom": False,
    "showTips": False,
}
SEVERITY_MARKS = {"danger": "■", "warning": "▲", "note": "●"}
SEVERITY_WORDS = {"danger": "Danger", "warning": "Warning", "note": "Note"}
MOVES = (("in", "Closer"), ("out", "Wider"), ("left", "Earlier"), ("right", "Later"), ("all", "Whole ride"))


def answer_page(held: Held, look: Look, token: str) -> list[Any]:
    """Everything that is shown of one ride."""
    answer = held.answer
    if answer is None:
        return []
    told = text.headline(answer).reason  # said in the headline, so not once more below
    by_severity = text.split_findings(tuple(each for each in answer.findings if each.message != told))
    pack = pack_table(answer.pack)
    parts = [
        _findings(by_severity["danger"], "Dangers"),
        _findings(tuple(filter(said_first, by_severity["warning"])), "Before the numbers"),
        _headline(held, answer),
        _findings(tuple(each for each in by_severity["warning"] if not said_first(each)), "Warnings"),
        _hills(answer, look),
        _power(answer, look),
        _road_and_braking(answer, look),
        _ledger(answer, look),
        worth_section(answer),
        _fold("How sure the share is", budget_table(answer.budget[0]), "budget") if answer.budget else None,
        _fold("How the pack was treated", pack, "pack") if pack is not None else None,
        _sources(held, answer, token),
        _notes(by_severity["note"]),
    ]
    return [part for part in parts if part is not None]


def _headline(held: Held, answer: Answer) -> Any:
    head = text.headline(answer)
    start = answer.ride.start
    facts = [
        held.title,
        f"{start:%-d %B %Y, %H:%M} UTC" if start else None,
        f"{text.clock(answer.ride.duration_s)} long" if answer.ride.duration_s else None,
    ]
    if head.share:
        sentence = [
            "Of ", html.B(head.drawn, className="drawn"), " drawn, ",
            html.B(head.returned, className="returned"), " came back: ",
            html.Strong(head.share, className="share"),
            *([html.Span(f" ({head.interval})", className="interval")] if head.interval else []),
        ]  # fmt: skip
    else:
        sentence = [
            *([html.B(head.drawn, className="drawn"), " was drawn; what came back is not known."] if head.drawn else
              ["What came back is not known."]),
            html.Span(_marked(head.reason or ""), className="reason"),
        ]  # fmt: skip
    return html.Section(
        [
            html.P(" · ".join(fact for fact in facts if fact), className="dateline"),
            html.H2(sentence, className="headline", id="headline"),
            _balance(answer),
            html.P(text.hill_sentence(answer), className="lead") if head.share else None,
            _key_figures(answer),
        ],
        className="verdict",
        **{"aria-labelledby": "headline"},
    )


def _balance(answer: Answer) -> Any:
    """A scale as long as what was drawn; the part that came back is cut off its end."""
    head, share = text.headline(answer), answer.energy.recovered_pct or answer.charge.recovered_pct
    if head.share is None or share is None:
        return None
    back = min(max(share.value, 0.0), 100.0)
    return html.Div(
        [
            html.Div([html.Div(className="spent"), html.Div(className="back", style={"width": f"{back:.2f}%"})],
                     className="bar"),
            html.Div([html.Span("0"), html.Span(["drawn ", head.drawn])], className="scale"),
        ],
        className="balance",
        role="img",
        **{"aria-label": f"A bar for {head.drawn} drawn, of which {head.share} came back."},
    )  # fmt: skip


def _key_figures(answer: Answer) -> Any:
    energy, charge, ride = answer.energy, answer.charge, answer.ride
    rows = (
        ("Distance", text.length(ride.distance_m), None, None),
        ("Used per km, net", text.measured(energy.net_wh_per_km, "Wh/km"), text.interval(energy.net_wh_per_km), None),
        ("Distance gained", text.length(energy.distance_gained_m), None, "thanks to what came back"),
        (
            "Captured",
            text.measured(answer.braking.captured_pct, "%", digits=2),
            text.interval(answer.braking.captured_pct),
            "of what braking had to offer",
        ),
        (
            "Charge",
            text.measured(charge.drawn_ah, "Ah"),
            None,
            f"drawn; {text.measured(charge.returned_ah, 'Ah')} returned" if charge.returned_ah else "drawn",
        ),
        (
            "Climbed",
            text.length(ride.ascent_m),
            None,
            f"descended {text.length(ride.descent_m)}" if ride.descent_m else None,
        ),
    )
    return html.Dl(
        [
            html.Div(
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
            for name, value, within, note in rows
            if value != text.UNKNOWN
        ],
        className="figures",
    )


def _finding(finding: Finding) -> Any:
    when = text.span(finding.start_s, finding.end_s)
    return html.Li(
        [
            html.Span(SEVERITY_MARKS[finding.severity], className="mark", **{"aria-hidden": "true"}),
            html.Div(
                [
                    html.B(f"{SEVERITY_WORDS[finding.severity]}: "),
                    html.Span(_marked(finding.message)),
                    *([html.Span(f" ({when})", className="when")] if when else []),
                ]
            ),
        ],
        className=finding.severity,
    )


def _findings(findings: tuple[Finding, ...], label: str) -> Any:
    if not findings:
        return None
    return html.Section(
        html.Ul([_finding(each) for each in findings]),
        className="findings",
        **{"aria-label": label},
    )


def _notes(findings: tuple[Finding, ...]) -> Any:
    if not findings:
        return None
    return _fold(
        f"Notes ({len(findings)})", html.Ul([_finding(each) for each in findings], className="findings"), "notes"
    )


def _marked(sentence: str) -> list[Any]:
    """A sentence with what stands between backticks as code."""
    return [html.Code(part) if number % 2 else part for number, part in enumerate(sentence.split("`")) if part]


def _fold(title: str, content: Any, name: str) -> Any:
    return html.Section(html.Details([html.Summary(html.H2(title)), content], id=name), className="fold")


def _chart(figure: Any, label: str, name: str) -> Any:
    """A chart as one image with a name; its numbers are in a table."""
    return html.Div(
        dcc.Graph(id=name, figure=figure, config=GRAPH_CONFIG), role="img", id=f"{name}-image", className="chart",
        **{"aria-label": label},
    )  # fmt: skip


def _hills(answer: Answer, look: Look) -> Any:
    figure = profile_figure(answer, look)
    if figure is None and not answer.hills:
        return None
    return html.Section(
        [
            html.H2("Which hill gave how much" if text.headline(answer).share else "The hills"),
            _chart(figure, text.profile_label(answer), "profile-chart") if figure is not None else None,
            tables.hill_ledger(answer),
        ],
        className="hills",
    )


def _power(answer: Answer, look: Look) -> Any:
    if electrical_line(answer.series) is None or len(answer.series) < 2:
        return None
    end_s = float(answer.series["elapsed_s"].iloc[-1])
    how = "The buttons show" if look.narrow else "Drag over the chart or use the buttons to see"
    places = [{"value": f"{hill.start_s}:{hill.end_s}", "label": hill.name} for hill in answer.hills]
    return html.Section(
        [
            html.H2("Drawn and returned over time"),
            html.P(
                [html.B("▲ drawn", className="drawn"), " above zero, ", html.B("▼ returned", className="returned"),
                 f" below. {how} every sample of a stretch."],
                className="gloss",
            ),
            html.Div(
                [
                    *(
                        dmc.Button(word, id={"type": "move", "to": move}, variant="default", size="xs")
                        for move, word in MOVES
                    ),
                    dmc.Select(
                        id="place", data=_distinct(places), placeholder="Go to a hill", size="xs", clearable=False,
                        display=None if places else "none", **{"aria-label": "Go to a hill"},
                    ),
                ],
                className="toolbar",
                role="group",
                **{"aria-label": "Which stretch of the ride the chart shows"},
            ),
            dcc.Store(id="window", data=[0.0, end_s]),
            dcc.Store(id="drag"),
            _chart(power_figure(answer, look), text.power_label(0.0, end_s, answer), "power-chart"),
            html.P(window_words(0.0, end_s, len(answer.series)), id="window-words", className="gloss", role="status"),
        ],
        className="power",
    )  # fmt: skip


def _distinct(places: list[dict[str, str]]) -> list[dict[str, str]]:
    """Each value once, which the select insists on."""
    return list({place["value"]: place for place in places}.values())


def window_words(start_s: float, end_s: float, n_samples: int) -> str:
    """What the chart shows: "0:03:10 to 0:05:20, 650 samples"."""
    decimals = 1 if end_s - start_s < 20 else 0
    start, end = (text.clock(each, decimals=decimals) for each in (start_s, end_s))
    return f"Shown: {start} to {end}, {text.count(n_samples)} samples, no extreme left out."


def _road_and_braking(answer: Answer, look: Look) -> Any:
    track = track_figure(answer, look)
    known = answer.charge.returned_ah is not None or answer.energy.returned_wh is not None
    parts = []
    if track is not None:
        parts.append(
            html.Section(
                [
                    html.H2("Where it came back" if known else "The way"),
                    html.P(
                        [html.B("Thick line", className="returned"), ": charge returned. Dotted: the rest of the way."]
                        if known
                        else "Where charge returned is not known.",
                        className="gloss",
                    ),
                    _chart(track, text.track_label(answer), "track-chart"),
                ],
                className="track",
            )
        )
    parts.append(tables.braking_section(answer))
    return html.Div(parts, className="pair" if track is not None else "single")


def _ledger(answer: Answer, look: Look) -> Any:
    ledger = answer.ledger
    if ledger is None:
        return None
    figure, told = ledger_figure(ledger, look), sentence(answer)
    return html.Section(
        [
            html.H2("Where the energy went"),
            html.P(told, className="lead") if told else None,
            _chart(figure, ledger_label(answer), "ledger-chart") if figure is not None else None,
            ledger_table(ledger),
            html.P(closing(ledger), className="aside"),
            html.H3("Braking by speed") if answer.speed_bands else None,
            band_table(answer.speed_bands),
        ],
        className="where",
    )


def _sources(held: Held, answer: Answer, token: str) -> Any:
    columns = {each.name: (number, each) for number, each in enumerate(held.columns)}
    return _fold(
        f"How the files were read ({len(answer.sources)})",
        html.Div([_source(each, columns.get(each.path), token) for each in answer.sources]),
        "sources",
    )


def _source(source: Source, columns: tuple[int, Columns] | None, token: str) -> Any:
    role = {"electrical": "electrical log", "track": "track", "both": "electrical log and track"}[source.role]
    facts = [
        ("Read as", f"{source.format.upper()}, {role}"),
        ("Samples", f"{text.count(source.samples)}, one every {text.number(source.step_s, 2)} s (median)"),
        ("Covered", f"{text.number(source.covered_pct, 3)} % of its time"),
        ("Starts", f"{source.start:%Y-%m-%d %H:%M:%S} UTC" if source.start else "no wall time in the file"),
        ("Clock", _clock_words(source)),
        ("SHA-256", source.sha256),
    ]
    return html.Div(
        [
            html.H3(source.path.replace("\\", "/").rsplit("/", 1)[-1]),
            html.Dl([html.Div([html.Dt(name), html.Dd(value)]) for name, value in facts], className="facts"),
            *([tables.column_table(columns[1].readings, source.path), *_map_link(*columns, token)] if columns else []),
        ],
        className="source",
    )


def _clock_words(source: Source) -> str:
    if source.clock_offset_s is None:
        return "not known against the electrical log"
    offset = source.clock_offset_s.value
    if offset == 0 and source.clock_drift_ppm is not None and source.clock_drift_ppm.value == 0:
        return "the one that everything else is set against"
    ahead = f"{text.number(abs(offset))} s {'ahead of' if offset > 0 else 'behind'} the electrical log"
    drift = text.value_of(source.clock_drift_ppm)
    return f"{ahead}, {text.number(drift, 2)} ppm fast" if drift else ahead


def refusal(held: Held, token: str) -> Any:
    """Why the visitor's files gave no answer, and what answers the question where there is one."""
    message, *hints = held.error_lines
    return html.Section(
        [
            html.H2("These files were not measured"),
            html.P(_marked(message), className="cause"),
            *(html.Pre(hint, className="hint", tabIndex="0") for hint in hints),
            *(_question(number, each, token) for number, each in enumerate(held.columns)),
            html.P(f"Files: {', '.join(held.files)}", className="gloss") if held.files else None,
        ],
        className="refusal",
        **{"aria-label": "Files that were not measured"},
    )


def _question(number: int, columns: Columns, token: str) -> Any:
    return html.Div(
        [
            html.H3(f"How far {columns.name} was understood"),
            tables.column_table(columns.readings, columns.name),
            *_map_link(number, columns, token, "to answer the question in it"),
        ]
    )  # fmt: skip


def _map_link(
    number: int, columns: Columns, token: str, why: str = "if a column is not what it was taken for"
) -> list[Any]:
    """The column map of a log, to be corrected and given together with the files."""
    if columns.map_toml is None:
        return []
    return [
        html.P(
            [
                html.A("Download the map to edit", href=f"/column-map/{token}/{number}.toml", download=True),
                f" {why}; then give the map together with the files.",
            ],
            className="gloss",
        )
    ]
