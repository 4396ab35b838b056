"""What a visitor does just as the page is drawn anew is not lost."""

import pytest

from tests.browser.acts import another_stretch, choose, shown_points, unfold
from tests.browser.looks import seen_as
from tests.browser.visits import NARROW

pytestmark = pytest.mark.browser

REPLACED_AS_IT_IS_USED = """([before, after]) => {
  const fold = document.createElement("details");
  fold.id = "tried";
  fold.open = before;
  fold.innerHTML = "<summary>x</summary>y";
  const fresh = fold.cloneNode(true);
  document.body.append(fold);
  fold.open = after;
  fold.replaceWith(fresh);
}"""
PRINTED_AS_IT_IS_REPLACED = """() => {
  const fold = document.querySelector("#worth");
  fold.replaceWith(Object.assign(fold.cloneNode(true), { open: false }));
}"""

ANSWERS_HELD = """() => {
  const fetched = window.fetch;
  const free = new Promise((done) => { window.release = done; });
  window.held = 0;
  window.fetch = async (...request) => {
    const reply = await fetched(...request);
    if (String(request[1] && request[1].body).includes('"output":"..answer.children')) {
      window.held += 1;
      await free;
    }
    return reply;
  };
}"""
MOVES = """(moves) => moves.map(([move, report]) => window.ridelog.next([100, 300], [0, 1000], move, report))"""


FOLDED = "[...document.querySelectorAll('.folded-chart')].map((place) => place.querySelectorAll('.nsewdrag').length)"
PRINTED = f"() => {{ window.dispatchEvent(new Event('beforeprint')); return {FOLDED}; }}"
FITTED = """() => { const chart = document.querySelector("#power-chart .js-plotly-plot");
                   window.Plotly.Plots.resize(chart); return "_redrawTimer" in chart; }"""


def test_a_fold_and_a_drag_count_though_the_page_is_drawn_anew_at_once(visit):
    """The fold before the browser says that it was used, and on paper; the drag, though a size is reported next.

    Charts in folds are drawn for paper at once, not before; one that fits its place is not laid out once more.
    """
    page = visit.page
    assert page.evaluate(FOLDED) == [0, 0]
    assert not page.evaluate(FITTED)
    for before, after in ((False, True), (True, False)):
        page.evaluate(REPLACED_AS_IT_IS_USED, [before, after])
        page.wait_for_function("after => document.querySelector('#tried').open === after", arg=after)
        page.evaluate("document.querySelector('#tried').remove()")
    assert page.evaluate(PRINTED) == [1, 1]
    page.evaluate(PRINTED_AS_IT_IS_REPLACED)
    page.wait_for_function("() => document.querySelector('#worth').open")
    page.evaluate("window.dispatchEvent(new Event('afterprint'))")
    assert page.locator("#answer details[open]").count() == 0
    with another_stretch(page):
        page.evaluate("""() => {
          const chart = document.querySelector("#power-chart .js-plotly-plot");
          chart.emit("plotly_relayout", { "xaxis.range[0]": 100, "xaxis.range[1]": 200 });
          chart.emit("plotly_relayout", { autosize: true });
        }""")
    shown = shown_points(page)
    assert (shown["from"], shown["to"]) == (100, 200)


def test_what_is_chosen_while_another_answer_is_on_its_way_stays(visit):
    """Its reply is held until a stretch, a line and a field were chosen; then the screen turned meanwhile as well.

    Two moves at once are two moves, although the first is not drawn yet.
    """
    page = visit.page
    unfold(page, "#choices, #bike")
    whole = shown_points(page)
    page.evaluate(ANSWERS_HELD)
    choose(page, "mi, ft")
    page.wait_for_function("() => window.held === 1")
    page.evaluate("""() => {
      const buttons = [...document.querySelectorAll(".power .toolbar button")];
      const button = buttons.find((each) => each.textContent === "Closer");
      button.click();
      button.click();
    }""")
    page.locator(".beneath").get_by_text("Voltage").click()
    chart = "document.querySelector('#power-chart .js-plotly-plot')"
    page.wait_for_function(f"() => {chart}._fullData.some((trace) => trace.name === 'voltage')")
    close = shown_points(page)
    assert (close["to"] - close["from"]) == pytest.approx((whole["to"] - whole["from"]) / 4)
    page.evaluate("window.release()")
    page.wait_for_function(
        """() => document.querySelector('#profile-chart .js-plotly-plot').layout.yaxis.title.text === 'height, ft'"""
    )
    page.wait_for_function(f"([from, to]) => {chart}.layout.xaxis.range[0] === from", arg=[close["from"], close["to"]])
    page.wait_for_function(f"() => {chart}._fullData.some((trace) => trace.name === 'voltage')")
    assert page.locator(".beneath input[value=voltage]").is_checked()
    assert page.locator(".beneath input[value=speed]").is_checked()
    mass = page.locator("#bike input").first
    mass.fill("123.5")
    seen_as(page, NARROW, "dark")
    page.wait_for_function(f"() => {chart}.layout.xaxis.range[0] === {close['from']}")
    assert mass.input_value() == "123.5"
    choose(page, "km, m")
    page.wait_for_function(
        """() => document.querySelector('#profile-chart .js-plotly-plot').layout.yaxis.title.text === 'height, m'"""
    )
    assert mass.input_value() == "123.5"


CLOSER_AT_ONCE = """(title) => {
  window.pressed = 0;
  new MutationObserver(() => {
    const line = document.querySelector(".dateline");
    const button = document.querySelector(".power [data-move=in]");
    if (window.pressed || !button || !line || !line.textContent.includes(title)) return;
    window.pressed += 1;
    button.click();
  }).observe(document, { childList: true, subtree: true, characterData: true });
}"""


def test_a_button_that_is_pressed_as_soon_as_a_ride_stands_counts(visit):
    """In the same moment, before the page's library tells anybody what it drew: of the new ride, half is shown."""
    page = visit.page
    page.evaluate(CLOSER_AT_ONCE, "Errands")
    page.locator(".samples .sample-card", has_text="Errands").click()
    page.wait_for_function("() => window.pressed")
    page.wait_for_function("""() => {
      const chart = document.querySelector("#power-chart .js-plotly-plot");
      const drawn = document.getElementById("drawn-for");
      if (!chart || !chart._fullLayout || !drawn) return false;
      const [from, to] = JSON.parse(drawn.dataset.drawn).whole;
      const [first, last] = chart.layout.xaxis.range;
      return Math.abs((last - first) - (to - from) / 2) < 0.01;
    }""")


def test_the_stretch_follows_buttons_and_drags_and_stays_inside(visit):
    """From 100..300 s of a ride of 1000 s (by hand): halves, doubles, shifts by half, and never leaves the ride."""
    drags = [{"xaxis.range[0]": 500.5, "xaxis.range[1]": 400.5}, {"xaxis.range[0]": -50, "xaxis.range[1]": 5000},
             {"xaxis.autorange": True}, {"xaxis.range[0]": 2000, "xaxis.range[1]": 3000}]  # fmt: skip
    moves = [*([move, None] for move in ("in", "out", "left", "right", "all", "400.0:600.0", "200:200")),
             *(["drag", drag] for drag in drags)]  # fmt: skip
    assert visit.page.evaluate(MOVES, moves) == [
        [150, 250], [0, 400], [0, 200], [200, 400], [0, 1000], [370, 630], [199.9, 200.1],
        [400.5, 500.5], [0, 1000], [0, 1000], [0, 1000],
    ]  # fmt: skip
