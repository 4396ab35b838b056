"""What a visitor does just as the page is drawn anew is not lost."""

import pytest

from tests.browser.acts import another_stretch, shown_points

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


def test_a_fold_and_a_drag_count_though_the_page_is_drawn_anew_at_once(visit):
    """The fold before the browser says that it was used, and on paper; the drag, though a size is reported next."""
    page = visit.page
    for before, after in ((False, True), (True, False)):
        page.evaluate(REPLACED_AS_IT_IS_USED, [before, after])
        page.wait_for_function("after => document.querySelector('#tried').open === after", arg=after)
        page.evaluate("document.querySelector('#tried').remove()")
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
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
