"""The route that takes a visitor's own files: multipart in, a token out.

Files come as multipart because the alternative through the page's own callbacks carries them as base64 text,
which takes fifteen times as long and four times the memory.
"""

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from io import BytesIO
from pathlib import PurePosixPath
from typing import Any, BinaryIO

from flask import Flask, Response, jsonify, request
from werkzeug.exceptions import RequestEntityTooLarge

from ridelog.answer.ride import Answer
from ridelog.errors import ColumnQuestionError, InputError, RidelogError
from ridelog.settings.toml_files import read_toml
from ridelog.web.rides import Columns, Held, RideStore, hold

NamedFile = tuple[str, BinaryIO]
MOST_FILES = 20
MOST_BYTES = 256 * 1024 * 1024  # a day at 50 Hz is about 200 MB of text


@dataclass(frozen=True)
class Given:
    """What a visitor gave: logs, and perhaps a bike file and a column map."""

    logs: tuple[NamedFile, ...]
    bike: NamedFile | None = None
    columns: NamedFile | None = None


Measure = Callable[[Given], tuple[Answer, tuple[Columns, ...]]]


def measure_given(given: Given) -> tuple[Answer, tuple[Columns, ...]]:
    """Load and measure; returns the answer and how each log's columns were understood.

    Raises
    ------
    RidelogError : the files cannot be read
    """
    import ridelog

    bike, columns = (table[1] if table else None for table in (given.bike, given.columns))
    ride = ridelog.load_ride(list(given.logs), bike=bike, columns=columns)
    answer = ridelog.measure(ride)
    maps = {each.name: each for each in explained(given)}
    read = (Columns(each.name, each.columns) for each in ride.recordings if each.columns)
    return answer, tuple(maps.get(each.name, each) for each in read)


def explained(given: Given, *, most_bytes: int = 20_000_000) -> tuple[Columns, ...]:
    """How the columns of each delimited log were understood, with the map that a visitor may edit.

    Parameters
    ----------
    most_bytes : logs larger than this are passed over, as it takes reading them a second time [bytes]
    """
    from ridelog.importers.registry import explain

    found: list[Columns] = []
    for name, content in given.logs:
        if content.seek(0, 2) > most_bytes:
            continue
        content.seek(0)
        if given.columns:
            given.columns[1].seek(0)
        with suppress(InputError):  # not a delimited log, or none that can be read: `load_ride` says so
            found += [
                Columns(report.name, report.readings, report.questions, report.to_toml())
                for report in explain(content, name=name, columns=given.columns[1] if given.columns else None)
            ]
    return tuple(found)


def sort_files(files: Sequence[NamedFile]) -> Given:
    """Tell logs, bike file and column map apart: a ``.toml`` with ``[[column]]`` or ``[log]`` is the map.

    Raises
    ------
    InputError : two of one kind, no log among them, or TOML that cannot be read
    """
    logs: list[NamedFile] = []
    tables: dict[str, NamedFile] = {}
    for name, content in files:
        if not name.lower().endswith(".toml"):
            logs.append((name, content))
            continue
        kind = "columns" if _is_map(name, content) else "bike"
        if kind in tables:
            words = "column map" if kind == "columns" else "bike file"
            raise InputError(name, f"is a second {words}, beside {tables[kind][0]}", hint="give one of them")
        tables[kind] = (name, content)
    if not logs:
        raise InputError(
            ", ".join(name for name, _ in files) or "no file",
            "no log of a ride among the files",
            hint="give the log of the controller or the pack, and the track, together in one go",
        )
    return Given(tuple(logs), tables.get("bike"), tables.get("columns"))


def _is_map(name: str, content: BinaryIO) -> bool:
    _, table = read_toml(
        content, name, InputError, option="--bike", form=lambda _: "one `key = value` a line under a [section]"
    )
    content.seek(0)
    return "column" in table or "log" in table


def read_files(files: Sequence[NamedFile], measure: Measure) -> Held:
    """The visitor's files as a ride to show, or as the lines that say why not."""
    names = tuple(name for name, _ in files)
    try:
        given = sort_files(files)
        answer, columns = measure(given)
    except ColumnQuestionError as error:
        asked = tuple(each for each in explained(given) if each.name == error.source)
        return Held("Your files", error_lines=tuple(error.lines()), columns=asked, files=names)
    except RidelogError as error:
        return Held("Your files", error_lines=tuple(error.lines()), files=names)
    return hold(answer, title=answer.ride.name or "Your ride", columns=columns, files=names)


def add_upload(server: Flask, store: RideStore, measure: Measure, *, most_bytes: int = MOST_BYTES) -> None:
    """Add ``POST /upload`` and ``GET /column-map/<token>/<number>.toml`` to the server.

    Parameters
    ----------
    most_bytes : size of one upload, all files together [bytes]
    """
    server.config["MAX_CONTENT_LENGTH"] = most_bytes
    server.config["MAX_FORM_PARTS"] = MOST_FILES + 1

    def upload() -> tuple[Response, int]:
        if not _same_origin():
            return jsonify(message="Files are taken from this page only."), 403
        try:
            sent = request.files.getlist("files")
        except RequestEntityTooLarge:
            return jsonify(
                message=f"Too much at once: up to {most_bytes // 1024**2} MB and {MOST_FILES} files are taken. "
                "Gzip the log, or measure it with the command `ridelog measure`."
            ), 413
        files = [_named(each.filename, each.read()) for each in sent if each.filename]
        if not files:
            return jsonify(message="No file arrived."), 400
        held = read_files(files, measure)
        return jsonify(token=store.put(held), answered=held.answer is not None), 200

    def column_map(token: str, number: int) -> tuple[Response, int]:
        held = store.get(token)
        if held is None or not 0 <= number < len(held.columns) or held.columns[number].map_toml is None:
            return jsonify(message="This map is no longer held."), 404
        name = PurePosixPath(held.columns[number].name).stem
        response = Response(held.columns[number].map_toml, mimetype="application/toml")
        response.headers.set("Content-Disposition", "attachment", filename=f"{name}-columns.toml")
        return response, 200

    server.add_url_rule("/upload", view_func=upload, methods=["POST"])
    server.add_url_rule("/column-map/<token>/<int:number>.toml", view_func=column_map)


def _named(filename: str, content: bytes) -> NamedFile:
    """A file that knows its name, which messages about bike files and column maps show."""
    name = _plain_name(filename)
    file = BytesIO(content)
    file.name = name
    return name, file


def _plain_name(name: str) -> str:
    """A file's name without folders and control characters, not longer than messages can bear."""
    last = name.replace("\\", "/").rsplit("/", 1)[-1]
    return "".join(char for char in last if char.isprintable())[-120:] or "file"


def _same_origin() -> bool:
    """Whether a request comes from this page: another site's form cannot set ``Origin`` to ours."""
    headers: Any = request.headers
    site = headers.get("Sec-Fetch-Site")
    return headers.get("Origin") == f"{request.scheme}://{request.host}" and site in (None, "same-origin")
