"""The page behind its password: nobody gets anything before, and nothing but the right password opens it."""

import re

import pytest
from flask import Flask
from werkzeug.security import generate_password_hash

from ridelog.tell.refusals.page import door as words
from ridelog.web import create_app
from ridelog.web.door.access import Access
from ridelog.web.door.attempts import OF_ONE, Attempts
from ridelog.web.door.login import Door
from ridelog.web.door.password import Password
from ridelog.web.door.sessions import IDLE_S, Sessions
from ridelog.web.kept.sources import sample_rides

SECRET = "four cold apples march"
HERE = {"Origin": "http://localhost"}
VISIT = {"Accept": "text/html", "Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "document"}
FAR = {"REMOTE_ADDR": "192.0.2.7"}
PASSWORD = Password(generate_password_hash(SECRET, "scrypt:1024:8:1"))  # what a check should take is in test_password


class Clock:
    now_s = 1000.0

    def __call__(self):
        return self.now_s


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def app(samples, make_answer, clock):
    door = Door(PASSWORD, Sessions(clock), Attempts(clock))
    kept = sample_rides(lambda: pytest.fail("somebody who has not logged in began an audit"))
    return create_app(samples, access=Access(door=door), measure=lambda _given: (make_answer(n=50), ()), kept=kept)


@pytest.fixture
def client(app):
    return app.server.test_client()


def token_in(page):
    return re.search(r'name="token" value="([^"]+)"', page)[1]


def log_in(client, password=SECRET, *, headers=HERE, query="", **given):
    """Fetch the form and send it; the reply."""
    token = token_in(client.get(f"/login{query}", **given).text)
    form = {"password": password, "token": token}
    return client.post(f"/login{query}", data=form, headers=headers, **given)


def cookie_of(reply):
    return next(each for each in reply.headers.getlist("Set-Cookie") if "ridelog-form" not in each)


def argument(converter):
    if "int" in type(converter).__name__.lower():
        return 0
    return min(getattr(converter, "items", "x"))  # of several words one


def addresses(app):
    """One address of each route, its arguments filled with something."""
    for rule in app.server.url_map.iter_rules():
        filled = {name: argument(each) for name, each in rule._converters.items()}
        for method in rule.methods | {"GET", "POST", "DELETE", "OPTIONS"}:
            yield method, app.server.url_map.bind("localhost").build(rule.endpoint, filled, method=None), rule.rule


def test_every_route_is_behind_the_door(app, client):
    """Those of the library, its scripts, assets, uploads and the fleet, by every method; what is no route as well."""
    client.get("/login")
    tried = list(addresses(app))
    assert {"/", "/upload", "/fleet", "/rides", "/hill/<place>", "/_dash-layout", "/_dash-update-component"} <= {
        rule for _, _, rule in tried
    }
    assert len(tried) > 40
    nowhere = [("GET", path, "") for path in ("/assets/page.css", "/nothing", "/static/x", "/login/", "/LOGIN")]
    for method, path, rule in tried + nowhere:
        if rule == "/login":
            continue
        reply = client.open(path, method=method, headers=HERE)
        assert reply.status_code == 401, (method, path)
        assert method == "HEAD" or reply.json == {"message": words.LOG_IN_FIRST}
        reply = client.open(path, method=method, headers={**HERE, **VISIT})
        assert reply.status_code == (303 if method in ("GET", "HEAD") else 401), (method, path)


def test_the_right_password_opens_everything(client, samples):
    reply = log_in(client)
    assert (reply.status_code, reply.location) == (303, "/")
    for path in ("/", "/_dash-layout", "/_dash-dependencies", "/assets/page.css"):
        assert client.get(path, buffered=True).status_code == 200
    assert "Log out" in client.get("/_dash-layout").text


def test_the_cookie_is_out_of_reach_of_scripts_and_of_other_sites(client):
    cookie = cookie_of(log_in(client))
    assert cookie.startswith("ridelog-80=")  # a browser sends one computer's cookies to all of its ports
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= set(cookie.split("; "))
    assert "Secure" not in cookie
    assert "Domain" not in cookie


@pytest.mark.parametrize(
    "headers",
    [{"Origin": "https://bikes.example", "X-Forwarded-Host": "bikes.example"}, {**HERE, "X-Forwarded-Proto": "https"}],
)
def test_where_a_browser_speaks_tls_the_cookie_goes_that_way_alone(client, headers):
    cookie = cookie_of(log_in(client, headers=headers))
    assert cookie.startswith("__Host-ridelog-80=")
    assert {"HttpOnly", "SameSite=Strict", "Path=/", "Secure"} <= set(cookie.split("; "))
    client.set_cookie("__Host-ridelog-80", cookie.partition("=")[2].partition(";")[0])
    assert client.get("/_dash-layout").status_code == 200


@pytest.mark.parametrize("wrong", ["", "x", SECRET[:-1], SECRET + " ", SECRET.upper(), "x" * 5000, "\x00", "' or 1=1"])
def test_a_wrong_password_opens_nothing(client, wrong):
    reply = log_in(client, wrong)
    assert reply.status_code == 403
    assert words.WRONG in reply.text
    assert client.get("/_dash-layout").status_code == 401


def test_a_form_beyond_any_size_is_not_read(client):
    assert log_in(client, "x" * 100_000).status_code == 413


def test_who_guesses_waits_and_then_even_the_right_password_does(client, clock):
    statuses = [log_in(client, "wrong", environ_base=FAR).status_code for _ in range(OF_ONE.n_free + 3)]
    assert statuses == [403] * (OF_ONE.n_free + 1) + [429] * 2
    reply = log_in(client, environ_base=FAR)
    assert reply.status_code == 429
    assert reply.headers["Retry-After"] == "1"
    assert "try again in 1 second." in reply.text
    clock.now_s += 1
    assert log_in(client, environ_base=FAR).status_code == 303


def test_this_computer_gets_in_whoever_guesses_elsewhere(client, monkeypatch):
    monkeypatch.setattr(type(PASSWORD), "fits", lambda _self, given: given == SECRET)  # the work of it is not needed
    for n in range(60):
        log_in(client, "", environ_base={"REMOTE_ADDR": f"192.0.2.{n}"})
    assert log_in(client, environ_base=FAR).status_code == 429
    assert log_in(client).status_code == 303


@pytest.mark.parametrize("change", ["none", "other", "cookie", "mine"])
def test_a_form_without_its_own_token_is_refused(app, client, change):
    """None; one of another browser; the right one without the cookie that it was given with; one made up."""
    token = token_in(client.get("/login").text)
    if change == "other":
        token = token_in(app.server.test_client().get("/login").text)
    if change == "cookie":
        client.delete_cookie("ridelog-form-80")
    form = (
        {"password": SECRET} if change == "none" else {"password": SECRET, "token": "x" if change == "mine" else token}
    )
    reply = client.post("/login", data=form, headers=HERE)
    assert reply.status_code == 400
    assert words.NOT_OURS in reply.text
    assert client.get("/_dash-layout").status_code == 401


@pytest.mark.parametrize("headers", [{}, {"Origin": "http://evil.example"}, {"Origin": "null"}])
def test_another_site_can_neither_log_in_nor_out_nor_guess(client, headers, monkeypatch):
    monkeypatch.setattr(type(PASSWORD), "fits", lambda *_: pytest.fail("it was checked"))
    assert log_in(client, headers=headers).status_code == 403
    monkeypatch.undo()
    log_in(client)
    token = token_in(client.get("/logout").text)
    assert client.post("/logout", data={"token": token}, headers=headers).status_code == 403
    assert client.get("/_dash-layout").status_code == 200


def test_who_logs_out_is_out_and_a_copy_of_the_cookie_too(client):
    copy = cookie_of(log_in(client)).partition("=")[2].partition(";")[0]
    assert client.post("/logout", data={"token": "x"}, headers=HERE).status_code == 400
    assert client.get("/_dash-layout").status_code == 200
    token = token_in(client.get("/logout").text)
    reply = client.post("/logout", data={"token": token}, headers=HERE)
    assert (reply.status_code, reply.location) == (303, "/login")
    assert client.get("/_dash-layout").status_code == 401
    client.set_cookie("ridelog-80", copy)
    assert client.get("/_dash-layout").status_code == 401


def test_a_session_that_is_over_or_forged_opens_nothing(client, clock):
    cookie = cookie_of(log_in(client)).partition("=")[2].partition(";")[0]
    client.set_cookie("ridelog-80", cookie[:-5] + "AAAAA")
    assert client.get("/_dash-layout").status_code == 401
    client.set_cookie("ridelog-80", cookie.partition(".")[0])
    assert client.get("/_dash-layout").status_code == 401
    client.set_cookie("ridelog-80", cookie)
    assert client.get("/_dash-layout").status_code == 200
    clock.now_s += IDLE_S + 1
    assert client.get("/_dash-layout").status_code == 401


def test_a_login_makes_a_session_of_its_own(client):
    """One that was there before, perhaps put there by somebody else, does not become known by it."""
    client.set_cookie("ridelog-80", "x.y")
    assert "x.y" not in cookie_of(log_in(client))


@pytest.mark.parametrize(
    ("wanted", "there"),
    [
        ("/fleet", "/fleet"),
        ("/?ride=x&units=imperial", "/?ride=x&units=imperial"),
        ("/a%20b", "/a%20b"),
        ("/Zürich", "/Z%C3%BCrich"),
        ("https://evil.example/", "/"),
        ("//evil.example/", "/"),
        ("/\\evil.example/", "/"),
        ("\\\\evil.example", "/"),
        ("javascript:alert(1)", "/"),
        ("/\tevil", "/"),
        ("/x\r\nSet-Cookie: a=b", "/"),
        ("/login", "/"),
        ("/logout?x", "/"),
        ("", "/"),
    ],
)
def test_after_the_login_it_goes_on_where_it_was_wanted_and_nowhere_else(client, wanted, there):
    from urllib.parse import urlencode

    query = "?" + urlencode({"next": wanted})
    assert log_in(client, query=query).location == there
    assert client.get(f"/login{query}").location == there


def test_who_visits_an_address_is_brought_back_to_it(client):
    reply = client.get("/fleet?a=1", headers=VISIT)
    assert reply.location == "/login?next=%2Ffleet%3Fa%3D1"
    assert client.get("/", headers=VISIT).location == "/login?next=%2F"


def test_a_link_on_another_site_leads_in_who_has_logged_in(client):
    """The browser keeps a strict cookie back on the way from another site, and sends it on the way from here."""
    reply = client.get("/fleet", headers={**VISIT, "Sec-Fetch-Site": "cross-site"})
    assert reply.status_code == 200
    assert '<meta http-equiv="refresh" content="0">' in reply.text
    assert "Set-Cookie" not in reply.headers
    assert client.get("/fleet", headers={**VISIT, "Sec-Fetch-Site": "same-origin"}).status_code == 303


def test_nothing_shown_is_kept_by_a_browser(client):
    for path in ("/login", "/_dash-layout"):
        assert client.get(path).headers["Cache-Control"] == "no-store"
    log_in(client)
    for path in ("/", "/_dash-layout", "/logout"):
        assert client.get(path).headers["Cache-Control"] == "no-store"
    assert "no-store" not in client.get("/assets/page.css", buffered=True).headers["Cache-Control"]


def test_a_form_keeps_its_origin_and_the_policy_its_guards(client):
    """A page with no referrer at all makes browsers send the origin "null" with its forms (Fetch, 3.2)."""
    reply = client.get("/login")
    assert reply.headers["Referrer-Policy"] == "same-origin"
    policy = reply.headers["Content-Security-Policy"]
    assert "form-action 'self'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in re.search(r"script-src [^;]*", policy)[0]


def test_who_comes_unencrypted_is_told_so(client):
    assert words.OPEN_LINE in client.get("/login", environ_base=FAR).text
    assert words.OPEN_LINE not in client.get("/login").text
    forwarded = {"X-Forwarded-For": "192.0.2.7", "X-Forwarded-Proto": "https"}
    assert words.OPEN_LINE not in client.get("/login", headers=forwarded).text


def test_a_foreign_name_is_refused_before_anything_else(client):
    reply = client.get("/login", headers={"Host": "evil.example"})
    assert reply.status_code == 403
    assert "form" not in reply.text


def test_a_page_without_a_password_has_no_login(samples):
    server: Flask = create_app(samples).server
    assert {"/login", "/logout"} & {rule.rule for rule in server.url_map.iter_rules()} == set()
    assert "Log out" not in server.test_client().get("/_dash-layout").text
