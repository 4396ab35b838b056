"""What can be taken away from a ride: its answer, its tables, its bike file and its column maps."""

import csv
import io
import json
from pathlib import PurePosixPath

from flask import Flask, Response

from ridelog.answer import frames
from ridelog.report.exports import parquet_of
from ridelog.tell.refusals import commands as refusals
from ridelog.web.callbacks.ride import Rides
from ridelog.web.pages.files import KINDS

TABLES = ("hills", "events", "ledger", "bands", "samples")


def add_downloads(server: Flask, rides: Rides) -> None:
    """Add the addresses of files to download, below the address of a ride.

    Parameters
    ----------
    server : of the page
    rides : where they are found
    """

    def answer(token: str) -> tuple[Response, int]:
        shown = rides.store.get(token)
        if shown is None or shown.answer is None:
            return _gone()
        text = json.dumps(shown.answer.to_dict(), indent=2, ensure_ascii=False, allow_nan=False) + "\n"
        return _file(text, "application/json", f"{_stem(shown.title)}.json")

    def table(token: str, name: str, kind: str) -> tuple[Response, int]:
        shown = rides.store.get(token)
        if shown is None or shown.answer is None or name not in TABLES:
            return _gone()
        if kind == "parquet":
            held = frames.frame(shown.answer, name)
            content = parquet_of(held.reset_index() if name == "samples" else held)
            return _file(content, KINDS[kind], f"{_stem(shown.title)}-{name}.parquet")
        out = io.StringIO()
        writer = csv.DictWriter(out, frames.header(shown.answer, name), lineterminator="\n")
        writer.writeheader()
        writer.writerows(frames.rows(shown.answer, name))
        return _file(out.getvalue(), KINDS[kind], f"{_stem(shown.title)}-{name}.csv")

    def bike(token: str) -> tuple[Response, int]:
        text = rides.owned(token).bike
        return _gone() if text is None else _file(text, "application/toml", "bike.toml")

    def column_map(token: str, number: int) -> tuple[Response, int]:
        shown = rides.store.get(token)
        text = None if shown is None or number >= len(shown.columns) else shown.columns[number].map_toml
        if shown is None or text is None:
            return _gone()
        return _file(text, "application/toml", f"{PurePosixPath(shown.columns[number].name).stem}-columns.toml")

    server.add_url_rule("/ride/<token>/answer.json", "answer", answer)
    server.add_url_rule("/ride/<token>/<name>.<any(csv,parquet):kind>", "table", table)
    server.add_url_rule("/ride/<token>/bike.toml", "bike", bike)
    server.add_url_rule("/ride/<token>/columns/<int:number>.toml", "column_map", column_map)


def _gone() -> tuple[Response, int]:
    return Response(refusals.map_is_gone(), mimetype="text/plain"), 404


def _file(text: str | bytes, kind: str, name: str) -> tuple[Response, int]:
    response = Response(text, mimetype=kind)
    response.headers.set("Content-Disposition", "attachment", filename=name)
    response.headers["Cache-Control"] = "no-store"
    return response, 200


def _stem(title: str) -> str:
    """A name for a file: letters, digits and hyphens of the ride's title."""
    plain = "".join(char if char.isalnum() else "-" for char in title).strip("-")
    return plain[:60] or "ride"
