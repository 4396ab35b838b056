"""What a visitor does on the page of a ride, each done once what it leads to is there."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from playwright.sync_api import FilePayload, Page

SHOWN_POINTS = """() => {
  const chart = document.querySelector("#power-chart .js-plotly-plot");
  const drawn = chart._fullData.find((trace) => trace.name === "drawn");
  const times = Array.from(drawn.x);
  const steps = times.slice(1).map((t, k) => t - times[k]).sort((a, b) => a - b);
  return { from: chart.layout.xaxis.range[0], to: chart.layout.xaxis.range[1], n: times.length,
           median_step: steps[Math.floor(steps.length / 2)],
           words: document.querySelector("#window-words").textContent };
}"""


def chart_stands(page: "Page", name: str = "power-chart") -> None:
    """Wait until a chart is drawn."""
    page.wait_for_selector(f"#{name} .nsewdrag")


def unfold(page: "Page", which: str = "#answer details") -> None:
    """Open folds of the answer."""
    page.evaluate("which => document.querySelectorAll(which).forEach((fold) => { fold.open = true; })", which)


def choose(page: "Page", *words: str) -> None:
    """Choose units, signs or clocks by what stands on the buttons."""
    unfold(page, "#choices")
    for each in words:
        page.locator("#choices").get_by_text(each, exact=True).click()
    page.evaluate("document.querySelector('#choices').open = false")


def headline(page: "Page") -> str:
    """What is said first of a ride."""
    return page.locator("#headline").inner_text()


def shown_points(page: "Page") -> Any:
    """The stretch that the chart of power shows, how finely, and what is said of it."""
    return page.evaluate(SHOWN_POINTS)


@contextmanager
def another_stretch(page: "Page") -> Iterator[None]:
    """What is done within shows another stretch of the ride: first its words, then its chart; both are waited for."""
    before = shown_points(page)
    yield
    page.wait_for_function(
        f"old => {{ const now = ({SHOWN_POINTS})();"
        " return now.words !== old.words && (now.from !== old.from || now.to !== old.to); }",
        arg=before,
    )


def log(
    n: int = 1200, head: str = "time [s],battery current [A],battery voltage [V]", row: str = "{t},{i},48"
) -> bytes:
    """A log at 1 Hz: 40 s of 3 A out of the battery and 20 s of 2 A into it, again and again."""
    rows = "\n".join(row.format(t=t, i=3 if t % 60 < 40 else -2) for t in range(n))
    return f"{head}\n{rows}\n".encode()


def give(page: "Page", *files: tuple[str, bytes]) -> None:
    """Choose files as a visitor does."""
    chosen: list[FilePayload] = [{"name": name, "mimeType": "text/plain", "buffer": content} for name, content in files]
    page.set_input_files("#files", chosen)
