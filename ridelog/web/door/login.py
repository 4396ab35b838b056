"""The page behind a password: who has not logged in gets a form and nothing else, whatever they ask for."""

import re
import secrets
from dataclasses import field
from functools import partial
from math import ceil
from urllib.parse import quote, urlencode, urlsplit

from flask import Flask, Request, Response, jsonify, make_response, request

from ridelog.lazy import dataclass
from ridelog.tell.refusals.page import door as words
from ridelog.web.door.attempts import Attempts
from ridelog.web.door.forms import LOGIN, LOGOUT, go_on_page, log_in_page, log_out_page
from ridelog.web.door.origin import is_encrypted, is_from_elsewhere, is_visit, sender
from ridelog.web.door.password import MOST_LETTERS, Password
from ridelog.web.door.sessions import Sessions

MOST_BYTES = 10_000  # of a form
_IN_ADDRESSES = "%/?#[]@!$&'()*+,;=:"  # stands in an address as it is, or was written for it (RFC 3986, 2.2)
_FORM_KEY = re.compile(r"[\w-]{20,64}", re.ASCII)
_CODE = ("/_dash-component-suites/", "/assets/")  # holds nothing of anybody, and takes long to load

Reply = Response | tuple[Response, int]


@dataclass(frozen=True)
class Door:
    """Who may come in: the password, who tried it, and who is in."""

    password: Password
    sessions: Sessions = field(default_factory=Sessions)
    attempts: Attempts = field(default_factory=Attempts)


def add_door(server: Flask, door: Door) -> None:
    """Ask for the password before anything else is answered; to be added after what refuses foreign sites.

    Parameters
    ----------
    server : of the page
    door : who may come in
    """
    server.before_request(partial(_refuse_strangers, door))
    server.after_request(_keep_nothing)
    server.add_url_rule(LOGIN, "login", partial(_log_in, door), methods=["GET", "POST"])
    server.add_url_rule(LOGOUT, "logout", partial(_log_out, door), methods=["GET", "POST"])


def _refuse_strangers(door: Door) -> Reply | None:
    """What who is not in gets: the way to the form, or, where a script of the page asks, a sentence."""
    if request.path == LOGIN or door.sessions.holds(_session(request)):
        return None
    if not is_visit(request):
        return jsonify(message=words.LOG_IN_FIRST), 401
    here = request.full_path.removesuffix("?")
    if is_from_elsewhere(request) and not _session(request):
        return make_response(go_on_page(here))  # a link on another site: the browser keeps its cookie back once
    return _sent(f"{LOGIN}?{urlencode({'next': here})}")


def _keep_nothing(response: Response) -> Response:
    """Let no browser keep what was shown, so that it is not seen again after the logout."""
    if not request.path.startswith(_CODE):
        response.headers["Cache-Control"] = "no-store"
    if request.path in (LOGIN, LOGOUT):
        response.headers["Referrer-Policy"] = "same-origin"  # with none at all browsers keep a form's Origin back too
    return response


def _log_in(door: Door) -> Reply:
    there = _place(request.args.get("next", "/"))
    if door.sessions.holds(_session(request)):
        return _sent(there)
    if request.method != "POST":
        return _form(door, there)
    request.max_content_length = MOST_BYTES
    if not door.sessions.is_token(request.form.get("token", ""), _form_key(request)):
        return _form(door, there, words.NOT_OURS, 400)
    given = request.form.get("password", "")[: MOST_LETTERS + 1]  # one more than any has: a wrong one
    right, wait_s = door.attempts.try_password(sender(request), partial(door.password.fits, given))
    if wait_s > 0:
        reply = _form(door, there, words.wait(wait_s), 429)
        reply.headers["Retry-After"] = str(ceil(wait_s))
        return reply
    if not right:
        return _form(door, there, words.WRONG, 403)
    reply = _sent(there)
    encrypted = is_encrypted(request)
    _set_cookie(reply, _names("ridelog")[0 if encrypted else 1], door.sessions.begin(), encrypted=encrypted)
    return reply


def _log_out(door: Door) -> Reply:
    cookie = _session(request)
    request.max_content_length = MOST_BYTES
    if request.method != "POST":
        return make_response(log_out_page(door.sessions.token(cookie)))
    if not door.sessions.is_token(request.form.get("token", ""), cookie):
        return make_response(log_out_page(door.sessions.token(cookie), words.NOT_OURS), 400)
    door.sessions.end(cookie)
    reply = _sent(LOGIN)
    for name in _names("ridelog"):
        reply.delete_cookie(name, secure=name.startswith("__Host-"), httponly=True, samesite="Strict")
    return reply


def _form(door: Door, there: str, said: str = "", status: int = 200) -> Response:
    """The form, with a token for whoever gets it."""
    key = _form_key(request) or secrets.token_urlsafe(24)
    is_open = not is_encrypted(request) and sender(request) == request.remote_addr
    page = log_in_page(urlencode({"next": there}), door.sessions.token(key), said, is_open=is_open)
    reply = make_response(page, status)
    _set_cookie(reply, _form_name(), key, encrypted=False)
    return reply


def _sent(there: str) -> Response:
    """To another address of this page, which is then looked at."""
    reply = make_response("", 303)
    reply.location = quote(there, safe=_IN_ADDRESSES)
    return reply


def _place(given: str) -> str:
    """Where somebody wanted to go, if that is on this page; nobody is sent elsewhere after a login."""
    if not given.isprintable() or not given.startswith("/") or given[1:2] in ("/", "\\"):
        return "/"
    return "/" if urlsplit(given).path in (LOGIN, LOGOUT) else given


# ---- cookies: a browser sends those of one port of a computer to all of its ports, so the port is in the name ----


def _session(asked: Request) -> str:
    return next((asked.cookies[name] for name in _names("ridelog") if name in asked.cookies), "")


def _names(what: str) -> tuple[str, str]:
    """Of a cookie that goes through TLS alone and cannot be set otherwise, and of one that goes any way."""
    name = f"{what}-{request.environ.get('SERVER_PORT', '')}"
    return f"__Host-{name}", name


def _form_name() -> str:
    return _names("ridelog-form")[1]


def _form_key(asked: Request) -> str:
    key = asked.cookies.get(_form_name(), "")
    return key if _FORM_KEY.fullmatch(key) else ""


def _set_cookie(reply: Response, name: str, value: str, *, encrypted: bool) -> None:
    reply.set_cookie(name, value, httponly=True, samesite="Strict", secure=encrypted, path="/")
