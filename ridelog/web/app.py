"""The page as a Dash application."""

from functools import partial
from pathlib import Path

from dash import Dash
from flask import Flask

from ridelog.tell.refusals import commands as refusals
from ridelog.web import ids
from ridelog.web.callbacks.bike import add_bike
from ridelog.web.callbacks.coasting import add_coasting
from ridelog.web.callbacks.columns import add_columns
from ridelog.web.callbacks.learned import add_learned
from ridelog.web.callbacks.ride import Rides, add_ride
from ridelog.web.callbacks.tray import add_tray
from ridelog.web.callbacks.zoom import add_order, add_zoom
from ridelog.web.calls import add_call_guard
from ridelog.web.door.access import OWN_ACCESS, Access
from ridelog.web.door.login import add_door
from ridelog.web.door.origin import add_origin_guard
from ridelog.web.downloads import add_downloads
from ridelog.web.guards import add_guards
from ridelog.web.jobs.apart import looked_here, measured_here, refused
from ridelog.web.jobs.coasting import coasted_here
from ridelog.web.jobs.measuring import Measure, Task, measure_given
from ridelog.web.jobs.workshop import Workshop
from ridelog.web.kept.kept import Kept
from ridelog.web.layout import INDEX, skeleton
from ridelog.web.orders.choosing import campaign_in
from ridelog.web.orders.orders import Orders
from ridelog.web.pages.asked.compare import add_compare
from ridelog.web.pages.asked.desk import Desk
from ridelog.web.pages.asked.plan import add_plan
from ridelog.web.pages.asked.report import add_reports
from ridelog.web.pages.help import add_help
from ridelog.web.pages.kept.fleet import add_fleet
from ridelog.web.pages.kept.hill import add_hills
from ridelog.web.pages.kept.rides import add_rides
from ridelog.web.pages.tokens import Tokens
from ridelog.web.pages.written import add_written
from ridelog.web.parts.navigation import links_of
from ridelog.web.rides import RideStore, ShownRide
from ridelog.web.samples import list_samples
from ridelog.web.scripts.needed import LeanDash
from ridelog.web.scripts.smaller import add_compression
from ridelog.web.tray.trays import Hands, Trays
from ridelog.web.tray.visitor import add_visitors
from ridelog.web.upload import MOST_BYTES, add_upload


def create_app(
    samples: Path | None = None,
    *,
    access: Access = OWN_ACCESS,
    measure: Measure = measure_given,
    most_upload_bytes: int = MOST_BYTES,
    trays: Trays | None = None,
    kept: Kept | None = None,
) -> Dash:
    """The page, ready to be served.

    Parameters
    ----------
    samples : folder of sample rides; without one the page offers none
    access : by which names requests may call it, and whether it has a password
    measure : from given files to an answer
    most_upload_bytes : size of one upload [bytes]
    trays : what visitors give, and the store of rides; measured in threads of their own by ``measure``, where ``None``
    kept : the rides of a store; without one there is no fleet

    Returns
    -------
    Application; its ``server`` answers.

    Raises
    ------
    InputError : a sample ride's description cannot be read
    """
    found = list_samples(samples)
    trays = trays or Trays(
        RideStore(), Workshop(), Hands(partial(measured_here, measure=measure), looked_here, coasted_here)
    )
    server = Flask("ridelog.web")
    keeps = kept is not None and kept.keeps
    server.config |= {ids.WITH_OTHERS: access.reaches_others, ids.KEEPS: keeps}
    add_compression(server)
    app = LeanDash(
        "ridelog.web",
        server=server,
        assets_folder=str(Path(__file__).parent / "assets"),
        serve_locally=True,
        title="ridelog",
        update_title="",
        index_string=INDEX,
        meta_tags=[{"name": "viewport", "content": "width=device-width, initial-scale=1"}],
        suppress_callback_exceptions=True,
        enable_mcp=False,
    )
    rides = Rides(trays.store, found, partial(_measured_now, trays.hands), trays, kept)
    for add in (add_ride, add_tray, add_bike, add_coasting, add_columns, add_learned):
        add(app, rides)
    add_order(app, trays.store)
    add_visitors(server)
    add_upload(server, trays, most_bytes=most_upload_bytes)
    add_downloads(server, rides)
    add_zoom(server, trays.store)
    forms = Tokens()
    add_rides(server, trays, kept, forms)
    if kept is not None:
        trays.store.look_behind(kept.shown)
        add_fleet(server, kept)
        add_hills(server, kept, forms)
    orders = Orders(trays.workshop, trays.folder / "orders", trays.hands.made)
    desk = Desk(rides, orders, forms, campaign_in(samples), kept)
    for add_pages in (add_reports, add_compare, add_plan, add_help):
        add_pages(server, desk)
    add_guards(app, access.names)
    add_origin_guard(server)
    if access.door is not None:
        add_door(server, access.door)
    add_call_guard(app)
    add_written(server)
    app.layout = skeleton(
        with_door=access.door is not None,
        with_others=access.reaches_others,
        keeps=keeps,
        links=links_of(server),
    )
    return app


def _measured_now(hands: Hands, task: Task) -> ShownRide:
    """A sample ride measured out of turn, by the means of all others and within their bounds."""
    try:
        shown = hands.measured(task, lambda: False)
    except OSError as error:
        shown = refused(task, refusals.no_process(str(error)))
    assert shown is not None  # noqa: S101  (it is given up only where somebody says so)
    return shown
