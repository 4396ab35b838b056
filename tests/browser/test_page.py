"""What a visitor sees and does, in Chromium, on a wide and on a narrow screen."""

import re
from pathlib import Path

import pytest

from tests.places import SAMPLES

pytestmark = pytest.mark.browser

ON_ONE_WIDTH = pytest.mark.parametrize("context", [1280], ids=["wide"], indirect=True)  # the same on any
HEADLINE = re.compile(r"^Of [\d.]+\sWh drawn, [\d.]+\sWh came back: [\d.]+\s%")
SHOWN_POINTS = """() => {
  const chart = document.querySelector("#power-chart .js-plotly-plot");
  const drawn = chart._fullData.find((trace) => trace.name === "drawn");
  const times = Array.from(drawn.x);
  const steps = times.slice(1).map((t, k) => t - times[k]).sort((a, b) => a - b);
  return { from: chart.layout.xaxis.range[0], to: chart.layout.xaxis.range[1], n: times.length,
           median_step: steps[Math.floor(steps.length / 2)] };
}"""


def headline(page):
    return page.locator("#headline").inner_text()


def log(n=1200, head="time [s],battery current [A],battery voltage [V]", row="{t},{i},48"):
    """A log at 1 Hz: 40 s of 3 A out of the battery and 20 s of 2 A into it, again and again."""
    rows = "\n".join(row.format(t=t, i=3 if t % 60 < 40 else -2) for t in range(n))
    return f"{head}\n{rows}\n".encode()


def give(page, *files):
    """Choose files as a visitor does."""
    page.set_input_files("#files", [{"name": n, "mimeType": "text/plain", "buffer": c} for n, c in files])


def assert_accessible(page):
    from axe_playwright_python.sync_playwright import Axe

    results = Axe().run(page)
    assert results.violations_count == 0, results.generate_report()


def assert_no_sideways_scroll(page):
    assert page.evaluate("document.documentElement.scrollWidth - window.innerWidth") <= 0


@ON_ONE_WIDTH
def test_a_request_that_leaves_would_be_seen(context):
    """The watch works: a planted request to another host is reported and fails."""
    page = context.new_page()
    seen = []
    page.on("requestfailed", lambda request: seen.append(request.url))
    page.goto("about:blank")
    page.evaluate("fetch('http://elsewhere.example/').catch(() => null)")
    page.close()
    assert seen == ["http://elsewhere.example/"]


def test_the_page_opens_on_the_commute_with_its_answer(visit):
    """Without a click there is the first sample ride and its headline."""
    assert HEADLINE.match(headline(visit.page))
    assert visit.page.locator(".sample-card").first.get_attribute("aria-checked") == "true"
    assert visit.page.locator(".ledger tbody tr").count() >= 2
    assert visit.page.locator("#spoken").inner_text().startswith("Of ")


def test_axe_finds_nothing_with_everything_unfolded(visit):
    """The open page has no fault that axe-core knows of, and does not scroll sideways."""
    for summary in visit.page.locator("summary").all():
        summary.click()
    assert_accessible(visit.page)
    assert_no_sideways_scroll(visit.page)


def test_every_sample_ride_is_shown(visit):
    """Each sample's card leads to its own answer, accessible and without a sideways scroll."""
    for card in visit.page.locator(".sample-card").all()[1:]:
        title = card.get_attribute("aria-label")
        card.click()
        visit.page.wait_for_selector(f".dateline:has-text('{title}')")
        visit.page.wait_for_selector("#power-chart .nsewdrag")
        assert_accessible(visit.page)
        assert_no_sideways_scroll(visit.page)


@ON_ONE_WIDTH
def test_one_switch_turns_the_page_imperial_and_back(visit):
    """Key figures, tables, charts and what is shown of the window follow; the headline's Wh stay."""
    page = visit.page
    before = headline(page)
    assert page.locator(".figures").inner_text().count("km") >= 1
    page.get_by_text("mi, ft", exact=True).click()
    page.wait_for_selector(".ledger th:has-text('From–to, mi')")
    page.wait_for_selector("#power-chart .nsewdrag")
    shown = page.locator("#answer").inner_text()
    assert "mph" in shown
    assert "km/h" not in shown
    assert (
        page.evaluate("document.querySelector('#profile-chart .js-plotly-plot').layout.yaxis.title.text")
        == "height, ft"
    )
    assert headline(page) == before
    first = page.locator("#event-rows tr th").first.inner_text()
    page.get_by_text("Most returned", exact=True).click()
    page.wait_for_function("old => document.querySelector('#event-rows th').textContent !== old", arg=first)
    assert_accessible(page)
    page.get_by_text("km, m", exact=True).click()
    page.wait_for_selector(".ledger th:has-text('From–to, km')")
    page.wait_for_selector("#power-chart .nsewdrag")


def test_a_log_that_cannot_show_a_return_gets_words_instead_of_a_number(visit):
    """The sample without a sign has no percentage in its headline."""
    visit.page.locator(".sample-card").last.click()
    visit.page.wait_for_selector(".reason")
    assert "We cannot say how much came back" in headline(visit.page)
    assert "came back:" not in headline(visit.page)


def test_own_files_are_uploaded_and_answered(visit):
    """Log, track and bike file given in one go become the answer, and what was read is shown."""
    names = ("controller.csv", "track.gpx", "bike.toml")
    before = headline(visit.page)
    give(visit.page, *((name, (SAMPLES / "commute" / name).read_bytes()) for name in names))
    visit.page.wait_for_selector("text=Read; the answer is below.")
    visit.page.wait_for_selector(".dateline:not(:has-text('Harbour'))")
    assert headline(visit.page) == before  # the same files give the same numbers
    assert visit.page.locator(".sample-card[aria-checked=true]").count() == 0
    visit.page.locator("#sources summary").click()
    assert visit.page.locator("#sources h3").all_inner_texts() == ["controller.csv", "track.gpx"]
    assert "battery current" in visit.page.locator("#sources .columns").first.inner_text()
    assert_accessible(visit.page)


@ON_ONE_WIDTH
def test_own_log_gives_the_share_worked_by_hand(visit):
    """2 A x 20 s of every 3 A x 40 s: a third came back."""
    give(visit.page, ("mine.csv", log()))
    visit.page.wait_for_selector("text=Read; the answer is below.")
    visit.page.wait_for_selector(".dateline:has-text('mine')")
    share = float(re.search(r"came back: ([\d.]+)", headline(visit.page))[1])
    assert share == pytest.approx(100 / 3, rel=0.02)  # the steps across zero are shared by both sides
    assert_no_sideways_scroll(visit.page)


def test_a_refused_file_shows_its_message_and_keeps_the_answer(visit):
    """A file that is no log: the cause and the hint in words, and the ride before stays."""
    before = headline(visit.page)
    give(visit.page, ("holiday.csv", b"\x00\x01\x02\x03" * 100))
    refusal = visit.page.wait_for_selector(".refusal")
    assert "holiday.csv" in refusal.inner_text()
    assert "hint:" in refusal.inner_text()
    assert headline(visit.page) == before
    assert_accessible(visit.page)
    assert_no_sideways_scroll(visit.page)


@ON_ONE_WIDTH
def test_the_reason_of_a_refusal_stays_while_units_and_screen_change(visit):
    """The answer beside it is drawn anew; why the files were refused does not go until another ride is shown."""
    page = visit.page
    give(page, ("holiday.csv", b"\x00\x01\x02\x03" * 100))
    page.wait_for_selector(".refusal")
    page.get_by_text("mi, ft", exact=True).click()
    page.wait_for_selector("#answer :text('mi')")
    assert page.locator(".refusal").count() == 1
    page.set_viewport_size({"width": 500, "height": 900})
    page.wait_for_timeout(1500)
    assert page.locator(".refusal").count() == 1
    page.locator(".sample-card").nth(1).click()
    page.wait_for_selector(".refusal", state="detached")
    page.set_viewport_size({"width": 1280, "height": 900})
    page.get_by_text("km, m", exact=True).click()


@ON_ONE_WIDTH
def test_an_unclear_log_is_answered_with_its_map(visit):
    """The question, how each column was understood and a map to edit; with the map given too, the log is read."""
    page = visit.page
    unclear = log(head="time [s],current one [A],current two [A],battery voltage [V]", row="{t},{i},{t},48")
    give(page, ("two.csv", unclear))
    refusal = page.wait_for_selector(".refusal")
    assert "current one" in refusal.inner_text()
    assert_accessible(page)
    with page.expect_download() as download:
        page.locator(".refusal a").click()
    assert Path(download.value.suggested_filename).suffix == ".toml"
    answer = '[[column]]\nheader = "current one [A]"\nquantity = "battery current"\nunit = "A"\n'
    answer += '[[column]]\nheader = "current two [A]"\nuse = false\n'
    give(page, ("two.csv", unclear), ("map.toml", answer.encode()))
    page.wait_for_selector(".dateline:has-text('two')")
    assert page.locator(".refusal").count() == 0


@ON_ONE_WIDTH
def test_a_file_name_is_text_and_never_markup(visit):
    """A hostile name is shown letter by letter."""
    give(visit.page, ("<img src=x onerror=alert(1)>.csv", b"nothing"))
    visit.page.wait_for_selector(".refusal")
    assert visit.page.locator("main img").count() == 0


@ON_ONE_WIDTH
def test_a_click_is_not_lost_while_the_chart_resizes(visit):
    """The chart reports its own resizing just when a button is being answered; the button wins, each time."""
    page = visit.page
    for move in ("Closer", "Whole ride") * 3:
        words = page.locator("#window-words").inner_text()
        page.get_by_role("button", name=move).click()
        width = page.viewport_size["width"]
        page.set_viewport_size({"width": 2300 - width, "height": 900})
        page.wait_for_function("old => document.querySelector('#window-words').textContent !== old", arg=words)
    page.set_viewport_size({"width": 1280, "height": 900})


@ON_ONE_WIDTH
def test_buttons_zoom_to_finer_detail_and_back(visit):
    """Closer shows half of the ride with its samples, a hill shows its stretch, and all of it comes back."""
    page = visit.page
    whole = page.evaluate(SHOWN_POINTS)
    for _ in range(4):
        words = page.locator("#window-words").inner_text()
        page.get_by_role("button", name="Closer").click()
        page.wait_for_function("old => document.querySelector('#window-words').textContent !== old", arg=words)
    close = page.evaluate(SHOWN_POINTS)
    assert (close["to"] - close["from"]) == pytest.approx((whole["to"] - whole["from"]) / 16)
    assert close["median_step"] <= whole["median_step"]
    assert close["median_step"] == pytest.approx(0.2, abs=0.01)  # the commute is logged at 5 Hz
    words = page.locator("#window-words").inner_text()
    page.get_by_role("button", name="Whole ride").click()
    page.wait_for_function("old => document.querySelector('#window-words').textContent !== old", arg=words)
    assert page.evaluate(SHOWN_POINTS)["to"] == whole["to"]


def test_a_hill_is_gone_to_by_keyboard(visit):
    """The list of hills is opened, walked and chosen from without a mouse."""
    page = visit.page
    words = page.locator("#window-words").inner_text()
    page.locator("#place").focus()
    page.keyboard.press("ArrowDown")
    page.get_by_role("option").first.wait_for()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    page.wait_for_function("old => document.querySelector('#window-words').textContent !== old", arg=words)
    shown = page.evaluate(SHOWN_POINTS)
    assert shown["to"] - shown["from"] < 600


def test_dragging_over_the_chart_zooms_in(visit):
    """On a wide screen a stretch is chosen by dragging over it; on a narrow one dragging scrolls the page."""
    page = visit.page
    page.locator("#power-chart").scroll_into_view_if_needed()
    box = page.locator("#power-chart .nsewdrag").bounding_box()
    before = page.evaluate(SHOWN_POINTS)
    words = page.locator("#window-words").inner_text()
    page.mouse.move(box["x"] + 0.3 * box["width"], box["y"] + 60)
    page.mouse.down()
    page.mouse.move(box["x"] + 0.5 * box["width"], box["y"] + 60, steps=6)
    page.mouse.up()
    if page.viewport_size["width"] < 640:
        page.wait_for_timeout(500)
        assert page.evaluate(SHOWN_POINTS) == before
        return
    page.wait_for_function("old => document.querySelector('#window-words').textContent !== old", arg=words)
    after = page.evaluate(SHOWN_POINTS)
    assert after["to"] - after["from"] == pytest.approx(
        0.2 * (before["to"] - before["from"]), rel=0.03
    )  # a pixel or two


@ON_ONE_WIDTH
def test_braking_events_are_put_in_another_order(visit):
    """By most returned, the column of returned energy falls."""
    page = visit.page
    first = page.locator("#event-rows tr th").first.inner_text()
    page.get_by_text("Most returned", exact=True).click()
    page.wait_for_function("old => document.querySelector('#event-rows th').textContent !== old", arg=first)
    cells = page.locator("#event-rows tr td:nth-child(7)").all_inner_texts()
    returned = [float(cell.split()[0]) for cell in cells]  # the interval follows the value
    assert returned == sorted(returned, reverse=True)


def test_the_file_form_and_the_samples_are_reached_by_keyboard(visit):
    """Tab reaches the skip link first, then the samples and the files; arrows change the sample."""
    page = visit.page
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    reached = set()
    for _ in range(8):
        page.keyboard.press("Tab")
        reached.add(page.evaluate("document.activeElement.id || document.activeElement.className.split(' ')[0]"))
    assert "files" in reached
    page.locator(".sample-card[aria-checked=true]").focus()
    page.keyboard.press("ArrowDown")
    page.wait_for_selector(".sample-card:nth-child(2)[aria-checked=true]")
    page.wait_for_selector(".dateline:has-text('Errands')")
    page.wait_for_selector("#power-chart .nsewdrag")


@ON_ONE_WIDTH
def test_every_chart_is_an_image_with_a_name(visit):
    """Each chart is one image whose name tells what it shows."""
    charts = visit.page.locator(".chart")
    assert charts.count() == 4  # heights, power, track, ledger
    for chart in charts.all():
        assert chart.get_attribute("role") == "img"
        assert len(chart.get_attribute("aria-label")) > 40


def test_the_dark_page_is_accessible_too(visit):
    """At night the colours keep their contrast."""
    visit.page.emulate_media(color_scheme="dark")
    visit.page.wait_for_timeout(1000)
    assert_accessible(visit.page)


def test_the_page_says_that_it_is_working_until_the_answer_stands(context, address):
    """From the choice of a ride to its answer a line says so, to those who see it and to those who hear it."""
    page = context.new_page()
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
    page.close()
    assert "Reading and measuring …" in said
    assert said.index("Reading and measuring …") < said.index(
        "Drawing the answer …", said.index("Reading and measuring …")
    )
