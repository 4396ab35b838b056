"""The routes that take a visitor's own files: multipart in, a key out, by which the page asks how far its ride is.

Files come as multipart because the alternative through the page's own callbacks carries them as base64 text,
which takes fifteen times as long and four times the memory.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import PurePosixPath
from typing import Any, BinaryIO

from flask import Flask, Response, jsonify, request
from werkzeug.exceptions import RequestEntityTooLarge

from ridelog.answer.ride import Answer
from ridelog.errors import ColumnQuestionError, RidelogError
from ridelog.settings.toml_files import is_column_map
from ridelog.tell import page
from ridelog.tell.refusals import commands as refusals
from ridelog.web.jobs.workshop import Progress, Workshop
from ridelog.web.rides import Columns, ShownRide, shown_ride

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


class UnclearLogError(ColumnQuestionError):
    """A log that leaves a question open; ``columns`` is how far it was understood, with the map that answers it."""

    def __init__(self, question: ColumnQuestionError, columns: Columns) -> None:
        super().__init__(question.source, question.what, place=question.place, hint=question.hint)
        self.columns = columns


def measure_given(given: Given) -> tuple[Answer, tuple[Columns, ...]]:
    """Read each log once and measure; returns the answer and how each log's columns were understood.

    Raises
    ------
    UnclearLogError : the columns of a log can be understood in more than one way
    RidelogError : the files cannot be read
    """
    import ridelog
    from ridelog.importers.registry import read_logs
    from ridelog.settings.column_map import read_map

    known = read_map(given.columns[1]) if given.columns else None
    recordings, read = [], []
    for name, content in given.logs:
        for log in read_logs(content, name=name, columns=known):
            understood = Columns(log.report.name, log.report.readings, log.report.questions, log.report.to_toml())
            if isinstance(log.refusal, ColumnQuestionError):
                raise UnclearLogError(log.refusal, understood)
            recordings.append(log.required())
            read.append(understood)
    ride = ridelog.load_ride(recordings, bike=given.bike[1] if given.bike else None, columns=known)
    return ridelog.measure(ride), tuple(each for each in read if each.readings)


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
            raise refusals.second_table(name, tables[kind][0], is_map=kind == "columns")
        tables[kind] = (name, content)
    if not logs:
        raise refusals.no_log_given([name for name, _ in files])
    return Given(tuple(logs), tables.get("bike"), tables.get("columns"))


def _is_map(name: str, content: BinaryIO) -> bool:
    known = is_column_map(content, name)
    content.seek(0)
    return known


def read_files(files: Sequence[NamedFile], measure: Measure) -> ShownRide:
    """The visitor's files as a ride to show, or as the lines that say why not."""
    names = tuple(name for name, _ in files)
    try:
        answer, columns = measure(sort_files(files))
    except UnclearLogError as error:
        return ShownRide("Your files", error_lines=tuple(error.lines()), columns=(error.columns,), files=names)
    except RidelogError as error:
        return ShownRide("Your files", error_lines=tuple(error.lines()), files=names)
    return shown_ride(answer, title=answer.ride.name or "Your ride", columns=columns, files=names)


def add_upload(server: Flask, workshop: Workshop, *, most_bytes: int = MOST_BYTES) -> None:
    """Add ``POST /upload`` and ``GET /column-map/<token>/<number>.toml`` to the server.

    Parameters
    ----------
    server : of the page
    workshop : where rides are measured; its store holds them for visitors
    most_bytes : size of one upload, all files together [bytes]
    """
    server.config["MAX_CONTENT_LENGTH"] = most_bytes
    server.config["MAX_FORM_PARTS"] = 2 * MOST_FILES  # a form of thousands is not taken in at all

    def upload() -> tuple[Response, int]:
        if not _same_origin():
            return jsonify(message=refusals.foreign_origin()), 403
        if not workshop.takes(_visitor()):  # told before the files are taken apart, which is most of the work
            return jsonify(message=refusals.too_many_wait()), 503
        try:
            sent = request.files.getlist("files")
        except RequestEntityTooLarge:
            return jsonify(message=refusals.too_much_at_once(most_bytes, MOST_FILES)), 413
        if len(sent) > MOST_FILES:
            for each in sent:
                each.close()
            return jsonify(message=refusals.too_much_at_once(most_bytes, MOST_FILES)), 413
        given = [each for each in sent if each.filename]
        if not given:
            return jsonify(message=refusals.nothing_arrived()), 400
        folder = workshop.new_folder()
        files = [(_plain_name(each.filename or ""), folder / str(place)) for place, each in enumerate(given)]
        for each, (_, path) in zip(given, files, strict=True):
            each.save(path)
        job = workshop.take_in(_visitor(), folder, files)
        told, status = _told(workshop.progress(job))
        return jsonify(job=job, **told), status

    def progress(job: str) -> tuple[Response, int]:
        told, status = _told(workshop.progress(job))
        return jsonify(told), status

    def stop(job: str) -> tuple[Response, int]:
        if not _same_origin():
            return jsonify(message=refusals.foreign_origin()), 403
        workshop.stop(job)
        return jsonify({}), 200

    def column_map(token: str, number: int) -> tuple[Response, int]:
        shown = workshop.store.get(token)
        if shown is None or not 0 <= number < len(shown.columns) or shown.columns[number].map_toml is None:
            return jsonify(message=refusals.map_is_gone()), 404
        name = PurePosixPath(shown.columns[number].name).stem
        response = Response(shown.columns[number].map_toml, mimetype="application/toml")
        response.headers.set("Content-Disposition", "attachment", filename=f"{name}-columns.toml")
        return response, 200

    server.add_url_rule("/upload", view_func=upload, methods=["POST"])
    server.add_url_rule("/upload/<job>", view_func=progress, methods=["GET"])
    server.add_url_rule("/upload/<job>", view_func=stop, methods=["DELETE"])
    server.add_url_rule("/column-map/<token>/<int:number>.toml", view_func=column_map)


def named(name: str, content: bytes) -> NamedFile:
    """A file that knows its name, which messages about bike files and column maps show."""
    file = BytesIO(content)
    file.name = name
    return name, file


def _told(progress: Progress | None) -> tuple[dict[str, Any], int]:
    """What the page is told of a ride, and the status that goes with it."""
    if progress is None:
        return {"message": refusals.ride_is_gone()}, 404
    if progress.state == "crowded":
        return {"message": refusals.too_many_wait()}, 503
    if progress.state == "done":
        return {"token": progress.token, "answered": progress.answered}, 200
    words = page.waiting(progress.ahead) if progress.state == "waiting" else page.MEASURING
    return {"waiting": words}, 202


def _visitor() -> str:
    """Whose turn it is: an address, or, on this computer, where all have the same, what the page calls itself."""
    address = request.remote_addr or ""
    return request.headers.get("Ridelog-Visitor", "")[:40] if address in ("127.0.0.1", "::1") else address


def _plain_name(name: str) -> str:
    """A file's name without folders and control characters, not longer than messages can bear."""
    last = name.replace("\\", "/").rsplit("/", 1)[-1]
    return "".join(char for char in last if char.isprintable())[-120:] or "file"


def _same_origin() -> bool:
    """Whether a request comes from this page: another site's form cannot set ``Origin`` to ours."""
    headers: Any = request.headers
    site = headers.get("Sec-Fetch-Site")
    return headers.get("Origin") == f"{request.scheme}://{request.host}" and site in (None, "same-origin")
