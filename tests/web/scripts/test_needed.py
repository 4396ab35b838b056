"""The page loads what it needs, and the largest of it first."""

import re

from ridelog.web.app import create_app
from ridelog.web.scripts.needed import CHARTS


def test_the_page_takes_files_before_it_shows_anything_then_asks_for_the_charts_and_for_nothing_it_does_not_use():
    client = create_app().server.test_client()
    page = client.get("/").text
    scripts = re.findall(r'<script(?: defer)? src="([^"]+)"', page)
    assert re.findall(r'<script src="/assets/([^?"]+)', page.partition("<body>")[0]) == ["upload.js"]
    assert sum("/assets/upload.js" in each for each in scripts) == 1
    assert scripts[1] == CHARTS
    assert client.get(CHARTS).status_code == 200
    assert any("/deps/react@" in each for each in scripts)
    assert not any("dash_table" in each for each in scripts)
    assert page.count("<script") == len(scripts) + 2  # what it is told, and its beginning
