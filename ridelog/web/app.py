"""The page as a Dash application."""

from functools import partial
from pathlib import Path

from dash import Dash
from flask import Flask
from flask_compress import Compress

from ridelog.web.callbacks import add_callbacks
from ridelog.web.calls import add_call_guard
from ridelog.web.fleet import FleetPage, add_fleet
from ridelog.web.guards import add_guards
from ridelog.web.hosts import OWN_NAMES, Names
from ridelog.web.jobs.apart import measured_here
from ridelog.web.jobs.workshop import Workshop
from ridelog.web.layout import INDEX, skeleton
from ridelog.web.rides import RideStore
from ridelog.web.samples import list_samples
from ridelog.web.upload import MOST_BYTES, Measure, add_upload, measure_given

# Figures are four times as small so. Neither coding takes longer to make than a slow line takes for the rest.
SMALLER_REPLIES = {"COMPRESS_ALGORITHM": ["br", "gzip"], "COMPRESS_BR_LEVEL": 4, "COMPRESS_LEVEL": 5}


def create_app(
    samples: Path | None = None,
    *,
    names: Names = OWN_NAMES,
    measure: Measure = measure_given,
    most_upload_bytes: int = MOST_BYTES,
    workshop: Workshop | None = None,
    fleet: FleetPage | None = None,
) -> Dash:
    """The page, ready to be served.

    Parameters
    ----------
    samples : folder of sample rides; without one the page offers none
    names : by which requests may call it
    measure : from given files to an answer
    most_upload_bytes : size of one upload [bytes]
    workshop : where visitors' files are measured, and the store of rides; one that measures in threads of its own
        by ``measure``, where ``None``
    fleet : page of a sample fleet; without one the page offers none

    Returns
    -------
    Application; its ``server`` answers.

    Raises
    ------
    InputError : a sample ride's description cannot be read
    """
    found = list_samples(samples)
    workshop = workshop or Workshop(RideStore(), partial(measured_here, measure=measure))
    server = Flask("ridelog.web")
    server.config |= SMALLER_REPLIES
    Compress(server)
    app = Dash(
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
    app.layout = skeleton(with_fleet=fleet is not None)
    add_callbacks(app, workshop.store, found, workshop.measured_now)
    add_upload(server, workshop, most_bytes=most_upload_bytes)
    if fleet is not None:
        add_fleet(server, fleet)
    add_guards(app, names)
    add_call_guard(app)
    return app
