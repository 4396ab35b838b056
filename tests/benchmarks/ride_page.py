"""What a ride of some million samples costs on the page, in a real browser: ``python -m tests.benchmarks.ride_page``.

The file is the one of ``make bench`` at 100 Hz with its track. Time is that of the processor: of the page's processes
with those that have ended, of the browser's main thread, and of the command for comparison, in the same run. Wall times
are printed beside them; they mean something on a machine that does nothing else.
"""

import json
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import psutil
from playwright.sync_api import sync_playwright

from tests.benchmarks.workloads import workloads
from tests.browser.conftest import CHROMIUM, FLAGS
from tests.places import ROOT
from tests.web.program import Page

if TYPE_CHECKING:
    from playwright.sync_api import CDPSession

DRAWN = "#power-chart .nsewdrag"
CHART = "#power-chart .js-plotly-plot"


def spent_s(program: psutil.Process) -> float:
    """What a program and all that it began took of the processor so far [s]."""
    total = 0.0
    for each in (program, *program.children(recursive=True)):
        try:
            times = each.cpu_times()
        except psutil.NoSuchProcess:
            continue
        total += times.user + times.system + times.children_user + times.children_system
    return float(total)


def by_command(files: list[Path]) -> float:
    """What `ridelog measure --json` takes of the processor [s]."""
    command = [sys.executable, "-m", "ridelog", "measure", *map(str, files), "--json"]
    began = psutil.Process().cpu_times()
    subprocess.run(command, check=False, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, cwd=ROOT)
    ended = psutil.Process().cpu_times()
    return float(
        ended.children_user + ended.children_system - began.children_user - began.children_system,
    )


def uploaded(page: Page, files: list[Path]) -> tuple[str, float, float]:
    """Address of the ride, processor time from upload to answer, and wall time [s]."""
    program = psutil.Process(page.program.pid)
    began_s, before_s = time.monotonic(), spent_s(program)
    _, said = page.send([(file.name, file.read_bytes()) for file in files])
    told: dict[str, Any] = json.loads(said)
    while told.get("pending"):
        time.sleep(0.3)
        told = json.loads(page.ask("GET", "/tray")[1])
    wall_s = time.monotonic() - began_s
    time.sleep(0.5)  # the processes are gone and counted
    return str(told["go"]), spent_s(program) - before_s, wall_s


def busy_s(session: "CDPSession") -> float:
    """What the browser's main thread took of the processor so far [s]."""
    found = session.send("Performance.getMetrics")["metrics"]
    return float(next(each["value"] for each in found if each["name"] == "TaskDuration"))


def looked_at(address: str, program: psutil.Process, n_zooms: int) -> None:
    """Print what a first view and zooming take."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        visit = browser.new_context(viewport={"width": 1280, "height": 900}).new_page()
        visit.set_default_timeout(120_000)
        session = visit.context.new_cdp_session(visit)
        session.send("Performance.enable", {"timeDomain": "threadTicks"})
        session.send("Network.enable")
        weights: list[float] = []
        session.on("Network.loadingFinished", lambda event: weights.append(event["encodedDataLength"]))
        for what in ("first view, nothing kept", "view again, scripts kept"):
            visit.goto("about:blank")
            weights.clear()
            server_s, browser_s, began_s = spent_s(program), busy_s(session), time.monotonic()
            visit.goto(address)
            visit.wait_for_selector(DRAWN)
            wall_s = time.monotonic() - began_s
            visit.wait_for_timeout(1000)
            print(
                f"{what}: server {spent_s(program) - server_s:.2f} s, browser {busy_s(session) - browser_s:.2f} s of "
                f"the processor; {wall_s:.2f} s by the clock, {sum(weights) / 1e6:.2f} MB",
                flush=True,
            )
        for n_lanes, name in enumerate(("", "Height", "Current", "Voltage"), start=1):
            if name:
                visit.locator(".beneath").get_by_text(name).click()
                visit.wait_for_function(
                    "([chart, name]) => document.querySelector(chart)._fullData.some((trace) => trace.name === name)",
                    arg=[CHART, name.lower()],
                )
                visit.wait_for_timeout(1000)
            before_s = spent_s(program)
            times = [zoomed(visit, session, ("Closer", "Wider")[k % 2]) for k in range(n_zooms)]
            server_s = (spent_s(program) - before_s) / n_zooms
            browser_s, wall_s = (statistics.median(each) for each in zip(*times, strict=True))
            print(
                f"zoom with {n_lanes} lines beneath, {n_zooms} times: server {1e3 * server_s:.0f} ms, browser "
                f"{1e3 * browser_s:.0f} ms of the processor; {1e3 * wall_s:.0f} ms by the clock",
                flush=True,
            )
        browser.close()


def zoomed(visit: Any, session: "CDPSession", move: str) -> tuple[float, float]:
    """The browser's time of the processor, and wall time, of one button until all of it is drawn [s]."""
    browser_s = busy_s(session)
    wall_s = visit.evaluate(
        """move => new Promise((done) => {
          const chart = document.querySelector("CHART");
          const buttons = [...document.querySelectorAll(".power .toolbar button")];
          const button = buttons.find((each) => each.textContent === move);
          const began = performance.now();
          const drawn = () => {
            chart.removeListener("plotly_afterplot", drawn);
            done((performance.now() - began) / 1000);
          };
          chart.on("plotly_afterplot", drawn);
          button.click();
          setTimeout(() => done(0), 20000);
        })""".replace("CHART", CHART),
        move,
    )
    visit.wait_for_timeout(400)  # what comes after it belongs to it
    return busy_s(session) - browser_s, float(wall_s)


def main() -> None:
    """Measure all of it on one ride."""
    files = list(workloads()["3 h, 100 Hz"])
    with tempfile.TemporaryDirectory() as folder, Page(Path(folder)) as page:
        page.ask("GET", "/")
        command_s = by_command(files)
        path, upload_s, wall_s = uploaded(page, files)
        print(
            f"the command {command_s:.2f} s, from upload to answer {upload_s:.2f} s of the processor: "
            f"{upload_s / command_s:.2f} times; {wall_s:.1f} s by the clock",
            flush=True,
        )
        looked_at(page.origin + path, psutil.Process(page.program.pid), 10)


if __name__ == "__main__":
    main()
