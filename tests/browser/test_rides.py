"""A visitor's rides in a real browser: files that add up, the bike's form, addresses that stay."""

import re
from contextlib import contextmanager

import pytest
from playwright.sync_api import expect

from tests.browser.acts import chart_stands, give, headline, log
from tests.browser.looks import assert_accessible, assert_no_sideways_scroll
from tests.browser.visits import watched
from tests.places import SAMPLES

pytestmark = pytest.mark.browser


@pytest.fixture
def page(blank, address):
    """A visitor's page as it begins to load; who gives files waits for no sample."""
    blank.page.goto(address)
    return blank.page


def commute(*names):
    return [(name, (SAMPLES / "commute" / name).read_bytes()) for name in names]


def captured(page):
    return page.locator(".figures > div", has_text="Captured").inner_text()


def wall_log(day, head="time,battery current [A],battery voltage [V]", row="{t},{i},48"):
    """Five minutes at 1 Hz on a day of May."""
    rows = (
        row.format(t=f"2026-05-{day:02d}T08:{t // 60:02d}:{t % 60:02d}Z", i=3 if t % 60 < 40 else -2, other=t % 7)
        for t in range(300)
    )
    return "\n".join((head, *rows, "")).encode()


def test_entering_the_mass_sharpens_what_was_captured(page):
    """Without a bike file the answer says what the mass would give, leads to its field, and measures again with it."""
    give(page, *commute("controller.csv", "track.gpx"))
    page.wait_for_selector(".sharpen:has-text('±')")
    before = captured(page)
    page.locator(".sharpen a").click()
    mass = page.locator("#bike input").first
    mass.fill("5")
    wrong = page.locator("#bike .mantine-InputWrapper-error")
    expect(wrong).to_have_text("bike.total_mass_kg = 5.0: a number from 30 to 600 is allowed")
    expect(mass).to_have_attribute("aria-invalid", "true")
    assert_accessible(page)
    page.locator("#bike-save").click()
    page.wait_for_selector("#bike-said:has-text('not allowed')")
    mass.fill("108,0")
    wrong.wait_for(state="detached")
    assert_no_sideways_scroll(page)
    page.locator("#bike-save").click()
    page.wait_for_selector(".sharpen", state="detached")
    page.wait_for_selector(".changes:has-text('Total mass')")
    low, high = map(float, re.search(r"(\d+) to (\d+)", captured(page)).groups())
    old_low, old_high = map(float, re.search(r"(\d+) to (\d+)", before).groups())
    assert high - low < 0.8 * (old_high - old_low)
    expect(page.locator("#bike input").first).to_have_value("108.0")
    expect(page.locator("#bike input").first).to_be_visible()  # the fold stayed open


def test_files_given_one_after_another_add_up_and_two_rides_are_two(page):
    """The log, then its track: one ride. Two more logs of other days: two more rides, each with its answer.

    A file is taken out, and put back.
    """
    give(page, *commute("controller.csv"))
    page.wait_for_selector(".dateline:has-text('controller')")
    assert "No file holds heights" in page.locator(".verdict").inner_text()
    first = page.url
    give(page, *commute("track.gpx"))
    chart_stands(page, "profile-chart")
    assert page.url == first
    page.locator(".own-ride summary").first.click()
    expect(page.locator(".own-ride")).to_contain_text("the times of these files overlap")
    give(page, ("monday.csv", wall_log(11)), ("tuesday.csv", wall_log(12)))
    page.wait_for_selector(".dateline:has-text('monday')")
    expect(page.locator(".own-ride")).to_have_count(3)
    own = page.locator(".own-ride", has_text="tuesday")
    expect(own).to_contain_text("came back")
    own.locator(".sample-card").click()
    page.wait_for_selector(".dateline:has-text('tuesday')")
    assert_accessible(page)
    page.go_back()
    page.wait_for_selector(".dateline:has-text('monday')")
    own.locator("summary").click()
    own.get_by_role("button", name="Take tuesday.csv out").click()
    page.wait_for_selector(".undo:has-text('tuesday.csv was taken out.')")
    expect(own).to_have_count(0)
    page.get_by_role("button", name="Put it back").click()
    expect(own).to_have_count(1)
    assert_accessible(page)


COVER = """() => { const cover = document.createElement("div"); cover.style = "position: fixed; inset: 0";
                 document.body.append(cover); return cover; }"""


def drop(page, path, *, drawn_anew=False):
    """Drop a file or a folder as a hand does; what lies under the hand may be another element at the last moment."""
    drag = page.context.new_cdp_session(page)
    data = {"items": [], "files": [str(path)], "dragOperationsMask": 1}
    for kind in ("dragEnter", "dragOver", "drop"):
        if drawn_anew and kind == "drop":
            cover = page.evaluate_handle(COVER)
        drag.send("Input.dispatchDragEvent", {"type": kind, "x": 600, "y": 500, "data": data})
    drag.detach()
    if drawn_anew:
        cover.evaluate("cover => cover.remove()")


@contextmanager
def held_back(page, which):
    """Requests go out only when what is done within is done."""
    routes = []
    page.route(which, lambda route: routes.append(route))
    yield
    for each in routes:
        each.continue_()
    page.unroute(which)


def written(path, day):
    """A log of a day of May."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(wall_log(day))
    return path


def test_files_and_folders_can_be_dropped_anywhere_at_any_moment(blank, address, tmp_path):
    """Before the page is drawn; on the cautions at its foot, far from the form; while others are being sent.

    As what lies under the hand is drawn anew; of a folder all logs, of those within it too, with the bike file above
    them and no other's.
    """
    page = blank.page
    with held_back(page, "**/deps/react@*"):
        page.goto(address, wait_until="commit")
        page.wait_for_function("() => performance.getEntriesByType('paint').length")
        drop(page, written(tmp_path / "early.csv", 9))
    page.wait_for_selector(".dateline:has-text('early')")
    dropped = page.evaluate_handle(
        """text => { const all = new DataTransfer();
                     all.items.add(new File([text], "dropped.csv", { type: "text/csv" })); return all; }""",
        log().decode(),
    )
    with held_back(page, "**/upload"):
        page.dispatch_event(".cautions", "drop", {"dataTransfer": dropped})
        drop(page, written(tmp_path / "next.csv", 10))
        expect(page.locator(".upload-list li")).to_have_count(2)
    page.wait_for_selector(".dateline:has-text('next')")
    expect(page.locator(".own-ride")).to_have_count(3)
    week = tmp_path / "May" / "week 20"
    deep = written(week / "day" / "deepest.csv", 13).parent
    written(week / "deep.csv", 12)
    written(week.parent / "flat.csv", 11)
    (deep / ".DS_Store").write_bytes(b"what a file manager leaves")
    (week / "bike.toml").write_text('[bike]\nname = "Heron"\n')
    drop(page, tmp_path / "May", drawn_anew=True)
    expect(page.locator(".own-ride")).to_have_count(6)
    expect(page.locator(".own-ride:has-text('Heron'):has-text('came back')")).to_have_count(2)
    assert page.locator(".complaint").count() == 0
    with page.expect_response("**/upload"):
        page.set_input_files("#folder", str(week))
    page.wait_for_selector(".upload-status:has-text('Done.')")
    expect(page.locator(".own-ride")).to_have_count(6)  # they are there already


def folder_of(path, n):
    """Folders of 100 small files each that are no logs."""
    for number in range(n):
        each = path / f"{number // 100:03d}" / f"{number}.csv"
        each.parent.mkdir(parents=True, exist_ok=True)
        each.write_text(f"t,x\n1,{path.parent.name} {number}\n")  # another one in each folder
    return path


def test_a_folder_of_more_than_200_files_goes_in_parts_and_one_of_10_000_is_refused(blank, address, tmp_path):
    """Of 220 files all arrive, with the bikes above them, and a file becomes a ride by itself by keys.

    Of 10 000, no more are sent once a part was refused, and the page goes on.
    """
    page, sent = blank.page, []
    page.on("response", lambda reply: sent.append(reply.status) if reply.url.endswith("/upload") else None)
    page.goto(address)
    for day, name in ((11, "Heron"), (12, "Tern")):
        bike = tmp_path / "all" / name
        written(bike / "ride.csv", day)
        (bike / "bike.toml").write_text(f'[bike]\nname = "{name}"\n')
        folder_of(bike / "notes", 108)
    drop(page, tmp_path / "all")
    for name in ("Heron", "Tern"):
        expect(page.locator(f".own-ride:has-text('{name}'):has-text('came back')")).to_have_count(1)
    page.wait_for_selector(".upload-status:has-text('Done.')")
    assert sent == [200, 200]
    n_rides = page.locator(".own-ride").count()
    assert n_rides == 6  # two logs, and what lay in two folders of each bike
    assert_accessible(page)
    notes = page.locator(".own-ride:has-text('notes/001'):has-text('Tern')")
    notes.locator("summary").press("Enter")
    expect(notes.locator(".own-files li")).to_have_count(8)
    notes.get_by_label("Put 100.csv with another ride").focus()
    page.keyboard.type("a ride by")
    page.keyboard.press("Tab")  # it is chosen when the list is left
    expect(page.locator(".own-ride")).to_have_count(n_rides + 1)
    expect(page.locator(".own-ride summary:text-is('7 files')")).to_have_count(1)
    blank.expected = "status of 413"
    drop(page, folder_of(tmp_path / "many", 10_000))
    page.wait_for_selector(".upload-status:has-text('do not fit beside those that you gave before')")
    expect(page.locator(".upload-list li")).to_have_count(0)
    assert sent.count(413) == 1
    assert len(sent) <= 5
    page.locator(".own-ride .sample-card:has-text('Heron'):has-text('came back')").click()
    page.wait_for_selector(".dateline:has-text('ride')")


def test_a_ride_is_seen_by_whoever_has_its_address_and_is_in_nobody_elses_list(page, browser):
    """A second browser: no ride in its list; with the address the same answer, and no form to change it with."""
    give(page, ("shared.csv", wall_log(14)))
    page.wait_for_selector(".dateline:has-text('shared')")
    said, address = headline(page), page.url
    context = browser.new_context()
    with watched(context) as another:
        other = another.page
        with other.expect_response(lambda reply: reply.url.endswith("/tray")):  # the list of rides is known
            other.goto(address)
        chart_stands(other)
        assert headline(other) == said
        expect(other.locator(".own-ride")).to_have_count(0)
        expect(other.locator("#bike input").first).to_be_disabled()
        assert other.locator("#bike-save").count() == 0
    context.close()


def choose(page, which, label):
    """Choose from a list by its words."""
    field = page.locator(f"[id*='asked-0:{which}']").first
    field.click()
    page.get_by_role("option", name=label, exact=True).click()


def test_an_unclear_log_is_answered_by_choosing_from_lists_or_with_its_map(page):
    """Two columns of current: one of them is said to be the battery's, and the ride stands with its answer.

    A map to edit is there to be taken; with such a map given too, a log is read at once.
    """
    head, row = "time,current {0} [A],current {1} [A],battery voltage [V]", "{t},{i},{other},48"
    give(page, ("two.csv", wall_log(20, head.format("one", "two"), row)))
    page.wait_for_selector(".refusal .editor")
    refusal = page.locator(".refusal")
    expect(refusal).to_contain_text("current one")
    assert_accessible(page)
    with page.expect_download() as download:
        refusal.locator("a").click()
    assert download.value.suggested_filename.endswith(".toml")
    page.get_by_role("button", name="Read it so").click()
    page.wait_for_selector("#read-said:has-text('Choose a column')")
    choose(page, "column", "current one [A]")
    choose(page, "quantity", "battery current")
    choose(page, "unit", "A")
    page.get_by_role("button", name="Read it so").click()
    page.wait_for_selector(".dateline:has-text('two')")
    assert "came back" in headline(page)
    page.locator("#sources > summary").click()
    expect(page.locator("#sources")).to_contain_text("You corrected columns")
    assert_accessible(page)
    answer = '[[column]]\nheader = "current left [A]"\nquantity = "battery current"\nunit = "A"\n'
    answer += '[[column]]\nheader = "current right [A]"\nuse = false\n'
    give(page, ("three.csv", wall_log(21, head.format("left", "right"), row)), ("map.toml", answer.encode()))
    page.wait_for_selector(".dateline:has-text('three')")
    expect(refusal).to_have_count(0)
