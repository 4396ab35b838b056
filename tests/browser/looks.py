"""What holds for every page, however wide the screen and whatever the light."""

from typing import TYPE_CHECKING

from ridelog.figures.look import NIGHT, PAPER
from tests.browser.visits import HEIGHT, NARROW, WIDE

if TYPE_CHECKING:
    from playwright.sync_api import Page

BY_DAY = ((WIDE, "light"), (NARROW, "light"))
ALL_LOOKS = ((WIDE, "light"), (WIDE, "dark"), (NARROW, "dark"), (NARROW, "light"))
OVER = "each => Number.isFinite(each.effect.getComputedTiming().endTime)"  # what turns for ever never ends
DRAWN_ANEW = """([width, dark, soft]) => {
  const fits = (chart) => chart._fullLayout && chart.layout.font.color === soft
    && (chart.layout.font.size === 12) === (width <= 640) && chart.clientWidth <= width
    && (chart.offsetParent === null || Math.abs(chart._fullLayout.width - chart.clientWidth) <= 1);
  return window.innerWidth === width && matchMedia("(prefers-color-scheme: dark)").matches === dark
    && [...document.querySelectorAll(".js-plotly-plot")].every(fits);
}"""


def seen_as(page: "Page", width: int, scheme: str) -> None:
    """Look at a page otherwise, and wait until all its charts are drawn for this width and light."""
    page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
    page.set_viewport_size({"width": width, "height": HEIGHT})
    dark = scheme == "dark"
    page.wait_for_function(DRAWN_ANEW, arg=[width, dark, (NIGHT if dark else PAPER).soft])


def assert_accessible(page: "Page") -> None:
    """The axe-core library has no fault to find."""
    from axe_playwright_python.sync_playwright import Axe

    # what is just appearing is as pale as its background for a fifth of a second
    page.wait_for_function(f"() => !document.getAnimations().some({OVER})")
    results = Axe().run(page)
    assert results.violations_count == 0, results.generate_report()


def assert_no_sideways_scroll(page: "Page") -> None:
    """Nothing is wider than the screen, once charts have found their width."""
    page.wait_for_function("() => document.documentElement.scrollWidth <= window.innerWidth")


def assert_good_in(page: "Page", looks: tuple[tuple[int, str], ...] = ALL_LOOKS) -> None:
    """A page is accessible and no wider than the screen in each look, and left in the first of them."""
    for width, scheme in looks:
        seen_as(page, width, scheme)
        assert_accessible(page)
        assert_no_sideways_scroll(page)
    seen_as(page, *looks[0])
