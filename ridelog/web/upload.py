"""The routes that take a visitor's own files and say how far they are: multipart in, a few words out.

Files come as multipart because the alternative through the page's own callbacks carries them as base64 text,
which takes fifteen times as long and four times the memory.
"""

import contextlib
import hashlib
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import unquote

from flask import Flask, Response, jsonify, request
from werkzeug.exceptions import RequestEntityTooLarge

from ridelog.errors import InputError
from ridelog.fleet.folders import LOG_SUFFIXES
from ridelog.settings.bike import read_bike
from ridelog.tell.pages import tray as words
from ridelog.tell.refusals import commands as refusals
from ridelog.web.door.origin import is_own
from ridelog.web.ids import RIDE_PATH
from ridelog.web.jobs.measuring import NamedPath, is_map, named
from ridelog.web.tray.drop import Drop, drop_of
from ridelog.web.tray.homes import by_home, plain_folders
from ridelog.web.tray.tray import Text, Tray, TrayRide
from ridelog.web.tray.trays import Trays
from ridelog.web.tray.visitor import turn, visitor

MEANT = LOG_SUFFIXES | {".toml"}
MOST_FILES = 200
MOST_BYTES = 256 * 1024 * 1024  # a day at 50 Hz is about 200 MB of text


def add_upload(server: Flask, trays: Trays, *, most_bytes: int = MOST_BYTES) -> None:
    """Add ``POST /upload``, ``GET /tray`` and ``DELETE /tray`` to the server.

    Parameters
    ----------
    server : of the page
    trays : where files are kept and rides measured
    most_bytes : size of one upload, all files together [bytes]
    """
    server.config["MAX_CONTENT_LENGTH"] = most_bytes
    server.config["MAX_FORM_PARTS"] = 2 * MOST_FILES  # a form of thousands is not taken in at all

    def upload() -> tuple[Response, int]:
        if not is_own(request):
            return jsonify(message=refusals.foreign_origin()), 403
        if not trays.workshop.takes(turn()):  # told before the files are taken apart, which is most of the work
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
        if not trays.has_room(visitor(), len(given), request.content_length or 0):
            return jsonify(message=refusals.tray_is_full()), 413
        try:
            with trays.giving(visitor()) as folder:
                drops = _saved(folder, given)
                with trays.tray(visitor(), turn()):
                    number = [trays.give(visitor(), drop) for drop in drops][-1]
        except InputError as error:
            return jsonify(message="\n".join(error.lines())), 422
        except OSError as error:  # the disk is full
            return jsonify(message=refusals.not_kept(error.strerror or str(error))), 507
        return jsonify(drop=number, **_status(trays)), 200

    def stop() -> tuple[Response, int]:
        if not is_own(request):
            return jsonify(message=refusals.foreign_origin()), 403
        trays.stop(visitor())
        return jsonify(_status(trays)), 200

    server.add_url_rule("/upload", view_func=upload, methods=["POST"])
    server.add_url_rule("/tray", "tray", lambda: jsonify(_status(trays)))
    server.add_url_rule("/tray", "stop", stop, methods=["DELETE"])


def _saved(folder: Path, given: list[Any]) -> list[Drop]:
    """What a visitor sent, in folders of its own as it lay in the visitor's; one drop for each bike."""
    files, passed_over = [], []
    for place, each in enumerate(given):
        folders, name = plain_folders(each.filename or ""), plain_name(each.filename or "")
        if folders and Path(name).suffix.lower() not in MEANT:  # folders hold pictures and notes as well
            passed_over.append(name)
            continue
        inside = folder
        if folders:
            inside = folder / hashlib.sha256("/".join(folders).encode()).hexdigest()[:16]
            inside.mkdir(exist_ok=True)
        each.save(inside / str(place))
        files.append(("/".join((*folders, name)), inside / str(place)))
    if not files:
        raise refusals.no_log_given(passed_over)
    said = (words.no_logs(passed_over),) if passed_over else ()
    drops = _drops(files, said)
    for inside in {path.parent for _, path in files}:
        with contextlib.suppress(OSError):  # recordings lie there
            inside.rmdir()
    return drops


def _drops(files: list[NamedPath], said: tuple[str, ...]) -> list[Drop]:
    """What was sent as drops, each of one bike; what is said of it all stands with the first."""
    on = unquote(request.headers.get("Ridelog-View", ""))
    token = on.removeprefix(RIDE_PATH) if on.startswith(RIDE_PATH) else None
    homes = by_home(files, is_map)
    told = [replace(drop_of(each.files, is_map, token, _check), home=each.home) for each in homes]
    among_others = len({each.home for each in homes if each.home}) > 1
    first, *others = [replace(drop, among_others=among_others) for drop in told if drop.recordings] or told[:1]
    return [replace(first, complaints=(*first.complaints, *said)), *others]


def _check(bike: Text) -> None:
    """Raise where a bike file cannot be read."""
    read_bike(named(bike.name, bike.text.encode())[1], name=bike.name)


def _status(trays: Trays) -> dict[str, Any]:
    """What the page asks for while anything is under way."""
    with trays.tray(visitor(), turn()) as tray:
        trays.revive(tray)
        _note_progress(trays, tray)
        if tray.expects is not None and not tray.expects():
            tray.expects = None
            tray.revision += 1  # what was drawn without it is drawn anew
        number, token = tray.arrived
        beside = tray.expects is not None or any(each.job is not None for each in tray.coasting.values())
        return {
            "revision": tray.revision,
            "pending": bool(tray.unseen) or beside or any(_under_way(trays, ride) for ride in tray.rides),
            "words": _words(trays, tray),
            "arrived": number,
            "go": None if token is None else f"{RIDE_PATH}{token}",
        }


def _note_progress(trays: Trays, tray: Tray) -> None:
    """Have the list of rides drawn anew where another one is being measured, or another number wait before one."""
    far = [(ride.token, trays.progress(ride)) for ride in tray.rides if ride.state == "waiting"]
    if far != tray.far:
        tray.far = far
        tray.revision += 1


def _under_way(trays: Trays, ride: TrayRide) -> bool:
    """Whether a ride is being measured, or what entering its mass would give."""
    return ride.state == "waiting" or trays.workshop.progress(ride.sharper_job) is not None


def _words(trays: Trays, tray: Tray) -> str:
    if tray.unseen:
        return words.LOOKING
    waiting = [ride for ride in tray.rides if ride.state == "waiting"]
    if not waiting:
        return ""
    far = [found for ride in waiting if (found := trays.progress(ride)) is not None]
    ahead = min((each.ahead for each in far if each.state == "waiting"), default=0)
    working = any(each.state == "working" for each in far)
    return words.measuring(len(waiting), working=working, n_ahead=ahead)


def plain_name(name: str) -> str:
    """A file's name without folders and control characters, not longer than messages can bear."""
    last = name.replace("\\", "/").rsplit("/", 1)[-1]
    return "".join(char for char in last if char.isprintable())[-120:] or "file"
