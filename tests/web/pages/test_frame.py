"""What is around each page that the server writes."""

from flask import Flask

from ridelog.web.pages.frame import framed


def test_a_page_has_a_title_the_way_to_others_and_a_way_past_it():
    server = Flask("t")
    server.add_url_rule("/help", "help", lambda: framed("A <title>", ["<h1>Words</h1>", "", "<p>x</p>"], "/help"))
    page = server.test_client().get("/help").data.decode()
    assert "<title>A &lt;title&gt; · ridelog</title>" in page
    assert '<a href="/help" aria-current="page">Help</a>' in page
    assert page.index('href="#content"') < page.index("<nav") < page.index('<main id="content"')
    assert "<script" not in page
    assert 'http-equiv="refresh"' not in page
    assert "Log out" not in page
    assert "<form" not in page


def test_a_page_that_is_not_done_is_looked_at_again_and_a_page_behind_a_door_leads_out():
    server = Flask("t")
    server.add_url_rule("/logout", "logout", lambda: "")
    server.add_url_rule("/x", "x", lambda: framed("X", [], "/x", again_s=2))
    page = server.test_client().get("/x").data.decode()
    assert '<meta http-equiv="refresh" content="2">' in page
    assert '<a href="/logout">Log out</a>' in page
