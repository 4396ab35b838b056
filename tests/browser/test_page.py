"""What a visitor sees and does, in Chromium, on a wide and on a narrow screen."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.acts import another_stretch, chart_stands, choose, give, headline, log, shown_points, unfold
from tests.browser.looks import assert_accessible, assert_no_sideways_scroll, seen_as
from tests.browser.visits import NARROW, WIDE
from tests.places import SAMPLES

pytestmark = pytest.mark.browser

AT_BOTH_WIDTHS = pytest.mark.parametrize("width", [WIDE, NARROW], ids=["wide", "narrow"], indirect=True)
ON_A_PHONE = pytest.mark.parametrize("width", [NARROW], ids=["narrow"], indirect=True)
HEADLINE = re.compile(r"^Of [\d.]+\sWh drawn, [\d.]+\sWh came back: [\d.]+\s%")
MOST_WORDS = 600  # to be read before anything is unfolded: sample rides, form and the charts' letters included
WORDS_SHOWN = """() => {
  const words = (of) => of.innerText.split(/\\s+/).filter(Boolean).length;
  const cut = [...document.querySelectorAll(".long details:not([open]) .said-of-it")];
  const hidden = (each) => each.clientHeight ? words(each) * (1 - each.clientHeight / each.scrollHeight) : 0;
  return words(document.body) - cut.reduce((n, each) => n + hidden(each), 0);
}"""  # of a long finding, the part that stands in its first lines
CARD_ROOM = """() => {
  const room = [...document.querySelectorAll(".samples .sample-card")].map(
    (each) => each.clientHeight - each.querySelector(".title").offsetHeight);
  return room.length ? Math.max(...room) : Infinity;
}"""


def test_a_request_that_leaves_would_be_seen(blank):
    """The watch works: a planted request to another host is reported and fails."""
    with blank.page.expect_event("requestfailed") as seen:
        blank.page.evaluate("fetch('http://elsewhere.example/').catch(() => null)")
    assert seen.value.url == "http://elsewhere.example/"
    assert blank.left == ["http://elsewhere.example/"]
    blank.left.clear()
    blank.expected = "net::ERR_NAME_NOT_RESOLVED"


@AT_BOTH_WIDTHS
def test_the_page_opens_on_the_commute_and_all_of_it_is_accessible_by_day_and_by_night(visit):
    """Without a click there is the first sample ride and its headline; each chart is one image with a name.

    Unfolded, with the form of the bike and its groups, axe-core knows of no fault in either theme.
    """
    page = visit.page
    assert HEADLINE.match(headline(page))
    expect(page.locator(".sample-card").first).to_have_attribute("aria-current", "page")
    assert page.locator(".ledger tbody tr").count() >= 2
    expect(page.locator("#spoken")).to_have_text(re.compile("^Of "))
    assert len(page.locator("body").inner_text().split()) <= MOST_WORDS
    charts = page.locator(".chart")
    assert charts.count() == 4  # heights, power, track, ledger
    for chart in charts.all():
        assert chart.get_attribute("role") == "img"
        assert len(chart.get_attribute("aria-label")) > 40
    unfold(page)
    for name in ("profile-chart", "track-chart", "ledger-chart"):
        chart_stands(page, name)
    for scheme in ("light", "dark"):
        seen_as(page, page.viewport_size["width"], scheme)
        expect(page.locator("#bike details[open] input").first).to_be_visible()
        assert_accessible(page)
        assert_no_sideways_scroll(page)
    printed_at_night(page)


def printed_at_night(page):
    """On paper the colours are those of the day, bars and hatching included, and all is there."""
    page.emulate_media(color_scheme="dark", media="print")
    page.evaluate("document.querySelectorAll('#answer details').forEach((fold) => { fold.open = false; })")
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    looks = page.evaluate(
        """() => [["body", "backgroundColor"], ["#headline", "color"], [".balance .back", "printColorAdjust"],
                  [".js-plotly-plot", "filter"], ["#ledger-chart .bars .point", "display"], ["#point-place", "display"]]
                  .map(([of, what]) => getComputedStyle(document.querySelector(of))[what])"""
    )
    turned = "invert(1) hue-rotate(180deg)"
    assert looks == ["rgb(255, 255, 255)", "rgb(35, 40, 44)", "exact", turned, "inline", "none"]
    assert page.locator("#answer details:not([open])").count() == 0
    table = "document.querySelector('#event-rows').closest('.scroll')"
    assert page.evaluate(f"{table}.scrollHeight - {table}.clientHeight") <= 0  # each event is on the paper
    page.evaluate("window.dispatchEvent(new Event('afterprint'))")


@AT_BOTH_WIDTHS
def test_every_sample_ride_is_shown(visit):
    """Each sample's card leads to its own answer in 600 words, its headline in view, without a sideways scroll.

    The findings of the winter ride are grave, and stand before its headline. The last sample has no sign.
    """
    page = visit.page
    cards = page.locator(".samples .sample-card")
    for number in range(1, cards.count()):
        page.evaluate("window.scrollTo(0, 0)")
        title = cards.nth(number).locator(".title").inner_text()
        cards.nth(number).click()
        page.wait_for_selector(f".dateline:has-text('{title}')")
        chart_stands(page)
        page.wait_for_function("() => document.querySelector('#headline').getBoundingClientRect().top < 900")
        assert page.evaluate(WORDS_SHOWN) <= MOST_WORDS
        assert page.evaluate(CARD_ROOM) < 30  # above and below its one line, on a phone too
        assert_accessible(page)
        assert_no_sideways_scroll(page)
    assert page.locator(".reason").count() >= 1
    assert "We cannot say how much came back" in headline(page)
    assert "came back:" not in headline(page)


def test_units_and_theme_change_all_of_the_page_and_nothing_that_was_chosen_is_lost(visit):
    """Key figures, tables, charts and what is shown of the window follow; the headline's Wh, zoom and folds stay.

    By most returned, the column of the braking events' returned energy falls.
    """
    page = visit.page
    unfold(page, "#each-hill, #events, #energy, #worth")
    before = headline(page)
    assert page.locator(".figures").inner_text().count("km") >= 1
    with another_stretch(page):
        page.get_by_role("button", name="Closer").click()
    close = shown_points(page)
    choose(page, "mi, ft")
    page.wait_for_selector(".ledger th:has-text('From–to, mi')")
    chart = "document.querySelector('#profile-chart .js-plotly-plot')"
    page.wait_for_function(f"() => {chart}.layout.yaxis.title.text === 'height, ft'")
    seen_as(page, WIDE, "dark")
    shown = page.locator("#answer").inner_text()
    assert "mph" in shown
    assert "km/h" not in shown
    assert headline(page) == before
    again = shown_points(page)
    assert (again["from"], again["to"]) == pytest.approx((close["from"], close["to"]))
    assert page.locator("#worth").get_attribute("open") is not None
    first = page.locator("#event-rows tr th").first.inner_text()
    page.get_by_text("Most returned", exact=True).click()
    expect(page.locator("#event-rows tr th").first).not_to_have_text(first)
    cells = page.locator("#event-rows tr td:nth-child(7)").all_inner_texts()
    returned = [float(cell.split()[0]) for cell in cells]  # the interval follows the value
    assert returned == sorted(returned, reverse=True)
    assert_accessible(page)
    choose(page, "km, m")
    page.wait_for_selector(".ledger th:has-text('From–to, km')")


def test_own_files_are_uploaded_and_answered(visit):
    """Log, track and bike file given in one go become the answer at an address of its own, and a reload keeps it.

    Then a log of 2 A x 20 s back for every 3 A x 40 s drawn: a third came back.
    """
    page = visit.page
    names = ("controller.csv", "track.gpx", "bike.toml")
    before = headline(page)
    give(page, *((name, (SAMPLES / "commute" / name).read_bytes()) for name in names))
    page.wait_for_selector(".dateline:has-text('controller')")
    assert "/ride/" in page.url
    assert headline(page) == before  # the same files give the same numbers
    expect(page.locator(".samples .sample-card[aria-current]")).to_have_count(0)
    expect(page.locator(".own-ride .sample-card[aria-current]")).to_have_count(1)
    page.locator("#sources summary").click()
    expect(page.locator("#sources h3")).to_have_text(["What the answer rests on", "controller.csv", "track.gpx"])
    expect(page.locator("#sources .columns").first).to_contain_text("battery current")
    page.reload()
    page.wait_for_selector(".dateline:has-text('controller')")
    chart_stands(page)
    assert headline(page) == before
    assert_accessible(page)
    give(page, ("mine.csv", log()))
    page.wait_for_selector(".dateline:has-text('mine')")
    share = float(re.search(r"came back: ([\d.]+)", headline(page))[1])
    assert share == pytest.approx(100 / 3, rel=0.02)  # the steps across zero are shared by both sides
    assert_no_sideways_scroll(page)


@ON_A_PHONE
def test_a_refused_file_shows_its_message_and_no_other_answer(visit):
    """A file that is no log: cause and hint in words, its name letter by letter, and no answer as if it had one."""
    page = visit.page
    give(page, ("holiday.csv", b"\x00\x01\x02\x03" * 100))
    refusal = page.locator(".refusal")
    expect(refusal).to_contain_text("holiday.csv")
    expect(refusal).to_contain_text("hint:")
    expect(page.locator("#headline")).to_have_count(0)
    assert_accessible(page)
    assert_no_sideways_scroll(page)
    give(page, ("<img src=x onerror=alert(1)>.csv", b"nothing"))
    expect(refusal).to_contain_text("<img src=x onerror=alert(1)>.csv")
    assert page.locator("main img").count() == 0
    page.locator(".samples .sample-card").first.click()
    page.wait_for_selector("#headline")
    expect(refusal).to_have_count(0)


def test_buttons_and_dragging_zoom_to_finer_detail_and_back(visit):
    """Closer shows half of the ride with its samples, a drag the stretch it went over; and all of it comes back.

    The chart reports its own resizing just when a button is being answered: the button wins, each time.
    """
    page = visit.page
    whole = shown_points(page)
    for _ in range(4):
        with another_stretch(page):
            page.get_by_role("button", name="Closer").click()
    close = shown_points(page)
    assert (close["to"] - close["from"]) == pytest.approx((whole["to"] - whole["from"]) / 16)
    assert close["median_step"] <= whole["median_step"]
    assert close["median_step"] == pytest.approx(0.2, abs=0.01)  # the commute is logged at 5 Hz
    for move in ("Whole ride", "Closer") * 3:
        with another_stretch(page):
            page.get_by_role("button", name=move).click()
            page.set_viewport_size({"width": 2300 - page.viewport_size["width"], "height": 900})
    with another_stretch(page):
        page.get_by_role("button", name="Whole ride").click()
    seen_as(page, WIDE, "light")
    before = shown_points(page)
    assert (before["from"], before["to"]) == (whole["from"], whole["to"])
    with another_stretch(page):
        drag(page)
    page.wait_for_function("old => document.querySelector('#window-words').textContent !== old", arg=before["words"])
    after = shown_points(page)
    part = (after["to"] - after["from"]) / (before["to"] - before["from"])
    assert part == pytest.approx(0.2, rel=0.03)  # a pixel or two


def drag(page):
    """Drag over a fifth of the chart of power."""
    chart = page.locator("#power-chart .nsewdrag").first
    page.wait_for_function("""() => {
      const chart = document.querySelector("#power-chart .js-plotly-plot");
      return chart._fullLayout.width === Math.round(chart.getBoundingClientRect().width);
    }""")  # a chart that is still being fitted to another screen lets go of the pointer
    width = chart.bounding_box()["width"]
    chart.hover(position={"x": 0.3 * width, "y": 60})  # once it stands still
    box = chart.bounding_box()
    page.mouse.down()
    page.mouse.move(box["x"] + 0.5 * width, box["y"] + 60, steps=6)
    page.mouse.up()


@ON_A_PHONE
def test_on_a_phone_dragging_scrolls_and_everything_is_reached_by_keyboard(visit):
    """Tab reaches the skip link first, then the samples and the files; a hill and a sample are chosen by keys.

    Dragging over the chart leaves it as it was: there a finger scrolls the page.
    """
    page = visit.page
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    reached = set()
    for _ in range(12):
        page.keyboard.press("Tab")
        reached.add(page.evaluate("document.activeElement.id || document.activeElement.className.split(' ')[0]"))
    assert "files" in reached
    whole = shown_points(page)
    page.evaluate("""() => {
      window.moved = 0;
      document.querySelector("#power-chart .js-plotly-plot").on("plotly_relayout", (change) => {
        window.moved += Object.keys(change).filter((key) => key.startsWith("xaxis")).length; // marks are no zoom
      });
    }""")
    drag(page)
    page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    assert page.evaluate("window.moved") == 0
    assert shown_points(page) == whole
    with another_stretch(page):
        page.locator("#place").focus()
        page.keyboard.press("ArrowDown")
        page.get_by_role("option").first.wait_for()
        page.keyboard.press("ArrowDown")
        page.keyboard.press("Enter")
    shown = shown_points(page)
    assert shown["to"] - shown["from"] < 600
    page.locator(".samples .sample-card").nth(1).press("Enter")
    page.wait_for_selector("li:nth-child(2) > .sample-card[aria-current=page]")
    page.wait_for_selector(".dateline:has-text('Errands')")
    chart_stands(page)


def test_the_page_says_that_it_is_working_until_the_answer_stands(blank, address):
    """From the choice of a ride to its answer a line says so, to those who see it and to those who hear it."""
    page = blank.page
    page.add_init_script("""
      window.said = [];
      new MutationObserver(() => {
        const line = document.getElementById("working");
        if (line && line.textContent !== window.said.at(-1)) window.said.push(line.textContent);
      }).observe(document, { childList: true, subtree: true, characterData: true });
    """)
    page.goto(address)
    page.wait_for_selector("#headline")
    page.wait_for_function("document.querySelector('#working').textContent === ''")
    said = page.evaluate("window.said")
    assert page.locator("#working").get_attribute("role") == "status"
    assert "Reading and measuring …" in said
    assert said.index("Reading and measuring …") < said.index(
        "Drawing the answer …", said.index("Reading and measuring …")
    )
