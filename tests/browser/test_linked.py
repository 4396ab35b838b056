"""Profile, map and chart of power as one, by pointer and by keyboard; what was chosen outlives a reload."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.acts import another_stretch, chart_stands, choose, headline, shown_points, unfold
from tests.browser.looks import BY_DAY, assert_accessible, assert_good_in

pytestmark = pytest.mark.browser

MARKS = """() => Object.fromEntries(["power-chart", "profile-chart", "track-chart"].map((id) => {
  const chart = document.querySelector(`#${id} .js-plotly-plot`);
  const marks = (chart.layout.shapes || []).filter((shape) => shape.name === "picked");
  return [id, marks.map((mark) => ({ type: mark.type, x0: mark.x0, x1: mark.x1, at: mark.xanchor ?? null,
                                     steps: (mark.path || "").split(/[ML]/).length - 1 }))];
}))"""
WAYS = """(at) => Object.fromEntries(["profile-chart", "track-chart"].map((id) => {
  const way = document.querySelector(`#${id} .js-plotly-plot`)._fullData.find((trace) => trace.meta && trace.meta.way);
  const k = Array.from(way.customdata).findIndex((time) => time >= at);
  return [id, [way.x[k - 1], way.x[k]]];
}))"""
KINDS = {
    "power-chart": ["rect", "line"],
    "profile-chart": ["rect", "line"],
    "track-chart": ["path", "circle"],
}


def until_marked(page, kinds):
    """Wait until each chart has marks of these kinds and no others; the marks."""
    page.wait_for_function(
        f"""(kinds) => Object.entries(({MARKS})()).every(([id, marks]) =>
              JSON.stringify(marks.map((mark) => mark.type)) === JSON.stringify(kinds[id]))""",
        arg=kinds,
    )
    return page.evaluate(MARKS)


def test_a_hill_an_event_and_a_point_are_marked_in_every_chart(visit):
    """By the pointer in the profile, by keys on the slider, by a row of the table: each time in all three."""
    page = visit.page
    words, point = page.locator("#point-words"), page.locator("#point")
    unfold(page, "#way, #events")
    for name in KINDS:
        chart_stands(page, name)
    profile = page.locator("#profile-chart .nsewdrag").first
    box = profile.bounding_box()
    profile.click(position={"x": 0.3 * box["width"], "y": 0.5 * box["height"]})
    expect(words).to_contain_text("Hill 3, up")  # 2.5 km along the road of the commute
    marks = until_marked(page, KINDS)
    assert marks["track-chart"][0]["steps"] > 20
    rect = marks["profile-chart"][0]
    assert rect["x0"] < marks["profile-chart"][1]["x0"] < rect["x1"]

    page.locator("h1").hover()  # what lies beneath the pointer would be marked while the page moves
    point.focus()
    page.keyboard.press("Escape")
    expect(words).to_have_text("")
    until_marked(page, {name: [] for name in KINDS})
    page.keyboard.press("Home")
    for _ in range(7):
        page.keyboard.press("PageUp")
    expect(point).to_have_value("700")
    page.wait_for_function(
        f"""() => {{ const [from, to] = document.querySelector("#power-chart .js-plotly-plot").layout.xaxis.range;
                   const marks = ({MARKS})()["power-chart"];
                   return marks.length === 1 && Math.abs((marks[0].x0 - from) / (to - from) - 0.7) < 1e-3; }}"""
    )
    marks = until_marked(page, {name: kinds[1:] for name, kinds in KINDS.items()})
    at = marks["power-chart"][0]["x0"]
    ways = page.evaluate(WAYS, at)
    assert ways["profile-chart"][0] <= marks["profile-chart"][0]["x0"] <= ways["profile-chart"][1]
    low, high = sorted(ways["track-chart"])
    assert low <= marks["track-chart"][0]["at"] <= high
    expect(words).to_have_text(re.compile(r"\d:\d\d:\d\d\.\d · [\d.]+\skm · [\d.]+\sW (drawn|returned)"))
    expect(point).to_have_attribute("aria-valuetext", words.text_content())

    row = page.locator("#event-rows tr").nth(3)
    row.locator("button").focus()
    with another_stretch(page):
        page.keyboard.press("Enter")
    expect(words).to_contain_text("Braking event")
    shown, (start, end) = shown_points(page), (float(row.get_attribute(f"data-{to}")) for to in ("from", "to"))
    assert shown["from"] < start < end < shown["to"]
    assert shown["to"] - shown["from"] < 1.4 * (end - start)
    mark = until_marked(page, KINDS)["power-chart"][0]
    assert (mark["x0"], mark["x1"]) == (start, end)
    expect(point).to_be_focused()
    expect(row).to_have_class("picked")
    assert_good_in(page, BY_DAY)


def test_units_numbers_clock_and_what_stands_beneath_are_kept(visit):
    """The commute begins at 09:12 UTC; in the table, on the axis and in words, before and after a reload."""
    page = visit.page
    unfold(page, "#events, #choices")
    assert_accessible(page)
    choose(page, "1,5", "UTC")
    page.wait_for_selector("#event-rows th:has-text('09:1')")
    page.locator(".beneath").get_by_text("Voltage").click()
    chart = "document.querySelector('#power-chart .js-plotly-plot')"
    page.wait_for_function(f"() => {chart}._fullData.some((trace) => trace.name === 'voltage')")
    assert_accessible(page)
    for _ in range(2):
        page.wait_for_function(f"() => {chart}.layout.xaxis.title.text === 'time of day, UTC'")
        expect(page.locator("#window-words")).to_have_text(re.compile("^Shown: 09:12:00 to 09:41:15, 8"))
        assert re.match(r"Of 72,9\sWh drawn, 5,89\sWh came back: 8,08\s%", headline(page))
        assert page.evaluate(f"{chart}._fullData.map((trace) => trace.name)")[-2:] == ["speed", "voltage"]
        assert not re.search(r"\d\.\d", page.locator(".figures, .events, .ledger, .lead").first.inner_text())
        page.reload()
        page.wait_for_selector("#headline:has-text('72,9')")
        chart_stands(page)
        page.wait_for_function(f"() => {chart}._fullData.some((trace) => trace.name === 'voltage')")
    choose(page, "1.5", "Since the start")
    page.wait_for_selector("#headline:has-text('72.9')")
    page.wait_for_function(f"() => {chart}.layout.xaxis.title.text !== 'time of day, UTC'")
    page.locator(".beneath").get_by_text("Voltage").click()
    page.wait_for_function(f"() => !{chart}._fullData.some((trace) => trace.name === 'voltage')")


def test_a_level_ride_shows_no_chart_of_hills(blank, address):
    page = blank.page
    page.goto(f"{address}sample/errand")
    page.wait_for_selector(".dateline:has-text('Errands')")
    chart_stands(page)
    assert page.locator("#profile-chart").count() == 0
    assert "No hill on this ride climbs or falls by" in page.locator(".hills").inner_text()
    chart = "document.querySelector('#power-chart .js-plotly-plot')"
    for sign in ("", "!"):  # its heights are there all the same
        page.locator(".beneath").get_by_text("Height").click()
        page.wait_for_function(f"() => {sign}{chart}._fullData.some((trace) => trace.name === 'height')")
