"""The visitor's rides: each with its answer in a line, its files, why they are one ride, and what can be done."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import field
from typing import Any

from dash import html

from ridelog.lazy import dataclass
from ridelog.tell.numbers import Style
from ridelog.tell.pages import tray as words
from ridelog.tell.pages.clocks import begin_by, dials
from ridelog.tell.ride import headline
from ridelog.tell.times import calendar_by
from ridelog.web import ids
from ridelog.web.jobs.workshop import Progress
from ridelog.web.parts.acts import act_button
from ridelog.web.rides import ShownRide
from ridelog.web.tray.grouping import KeptFile, likely_halves
from ridelog.web.tray.tray import Tray, TrayRide

ALONE = "alone"
MANY = 9  # rides: more are moved through in a frame of their own, so that the answer stays in reach


@dataclass(frozen=True)
class Seen:
    """What is known of the rides besides their files.

    Attributes
    ----------
    found : the ride of a token, as far as it is measured
    progress : by token, of those under way
    path : of the page's address
    clock : by which it is told when they began, where they know it
    keeps : they can be kept in a store
    """

    found: Callable[[str], ShownRide | None]
    progress: Mapping[str, Progress | None] = field(default_factory=dict)
    path: str | None = None
    clock: str = ""
    keeps: bool = False


def tray_list(tray: Tray, seen: Seen, style: Style) -> list[Any]:
    """The visitor's rides.

    Parameters
    ----------
    tray : of the visitor
    seen : what is known of the rides
    style : how numbers are written

    Returns
    -------
    Components; none where nothing was given yet.
    """
    undo = _undo(tray)
    if not tray.rides and undo is None:
        return []
    names = {ride.token: name_of(ride, seen.found(ride.token), tray) for ride in tray.rides}
    items = [
        html.Li(
            [
                _card(ride, names[ride.token], seen, style, tray.home_of(ride)),
                _files(ride, tray, names[ride.token]),
            ],
            className="own-ride",
            **{"data-token": ride.token, "data-with": words.with_ride(names[ride.token])},
        )
        for ride in tray.rides
    ]
    complaints = [html.P(words.not_used(each), className="complaint", role="status") for each in tray.complaints]
    return [
        html.H2(words.YOURS),
        *complaints,
        *_offers(tray, names),
        html.Ul(items, className="own-rides many" if len(items) > MANY else "own-rides", **{"data-alone": words.ALONE}),
        *([html.P(html.A(words.KEEP_THEM, href=ids.RIDES_PATH))] if seen.keeps and len(items) > 1 else []),
        *([undo] if undo is not None else []),
    ]


def _offers(tray: Tray, names: Mapping[str, str]) -> Iterator[Any]:
    """The button that puts a log and a track together, where they may be one ride and were given apart."""
    for key, other in likely_halves(list(tray.files.values()), [ride.files for ride in tray.rides]):
        ride = tray.ride_of(other)
        if ride is not None:
            button = act_button(f"join:{key}:{ride.token}", words.JOIN)
            yield html.P([words.may_be_one(tray.files[key].name, names[ride.token]), " ", button], className="undo")


def name_of(ride: TrayRide, shown: ShownRide | None, tray: Tray) -> str:
    """What a ride is called.

    Parameters
    ----------
    ride : of the tray
    shown : as far as it is measured
    tray : whose files it is made of

    Returns
    -------
    Its title, else its folder or files.
    """
    if ride.title is not None:
        return ride.title
    if shown is not None and shown.answer is not None:
        return shown.title
    return tray.called(ride) or " + ".join(tray.files[key].name for key in ride.files)


def _card(ride: TrayRide, name: str, seen: Seen, style: Style, home: str | None) -> Any:
    shown = seen.found(ride.token)
    answer = None if shown is None else shown.answer
    dial = None if answer is None else begin_by(dials(answer), seen.clock)
    told = _told(ride, shown, seen.progress.get(ride.token), style)
    bike = None if home is None else (None if answer is None else answer.bike.name) or home
    current = {"aria-current": "page"} if seen.path == f"{ids.RIDE_PATH}{ride.token}" else {}
    return html.A(
        [
            html.Span(name, className="title"),
            html.Span(" · ".join(part for part in (bike, calendar_by(dial) if dial else None, told) if part)),
        ],
        href=f"{ids.RIDE_PATH}{ride.token}",
        className="go sample-card",
        **current,
    )


def _told(ride: TrayRide, shown: ShownRide | None, progress: Progress | None, style: Style) -> str | None:
    """How far a ride is, or what came of it."""
    if ride.state == "waiting":
        return words.MEASURING if progress is None or progress.state == "working" else words.waits(progress.ahead)
    if ride.state == "refused" and shown is not None and shown.error_lines:
        return shown.error_lines[0]
    if ride.state != "done" or shown is None or shown.answer is None:
        return words.STATES.get(ride.state)
    head = headline(shown.answer, style)
    return words.came_back(head.share, head.interval) if head.share else head.reason


def _files(ride: TrayRide, tray: Tray, name: str) -> Any:
    files = [tray.files[key] for key in ride.files]
    can_move = len(tray.rides) > 1 or len(files) > 1
    why = words.WHY[ride.why]
    back = [act_button(f"rule:{ride.token}", words.BY_RULE)] if ride.why == "by-hand" and ride.title is None else []
    again = act_button(f"again:{ride.token}", words.MEASURE, shown=ride.state == "stopped")
    stop = act_button(f"stop:{ride.token}", words.STOP, words.stop(name), shown=ride.state == "waiting")
    out_of_it = words.remove(name)
    out = act_button(f"remove-ride:{ride.token}", words.REMOVE_RIDE, out_of_it, shown=len(files) > 1)
    return html.Details(
        [
            html.Summary(words.n_files(len(files))),
            html.P([why, *back], className="gloss") if why or back else None,
            html.Ul([_file(file, ride, can_move=can_move) for file in files], className="own-files"),
            html.P([again, stop, out], className="acts"),
        ],
        id=f"files-{ride.token}",
        open=ride.why == "several-fit",
    )


def _file(file: KeptFile, ride: TrayRide, *, can_move: bool) -> Any:
    """A file of a ride; assets/pressed.js puts the other rides into its list when that is opened, not before."""
    look = file.look
    facts = words.TOOK_OVER
    if look is not None:
        taken = words.role(electrical=look.electrical, track=look.track, refused=look.error is not None)
        facts = f"{taken} · {words.when(look.start, look.end)}"
    put = {"data-put": file.key, "data-of": ride.token, "data-alone": ALONE if len(ride.files) > 1 else ""}
    move = html.Select(
        html.Option(words.MOVE, value=""),
        className="put",
        hidden=not can_move,
        **{"aria-label": words.move(file.name)},
        **put,
    )
    remove = act_button(f"remove:{file.key}", words.REMOVE, words.remove(file.name))
    return html.Li([html.Span([html.B(file.name), html.Span(facts, className="gloss")]), move, remove])


def _undo(tray: Tray) -> Any:
    if not tray.removed:
        return None
    names: Sequence[str] = [file.name for file in tray.removed]
    return html.P([words.removed(names), " ", act_button("undo:", words.UNDO)], className="undo", role="status")
