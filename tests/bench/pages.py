"""How soon pages are there and how soon they are alive: medians from disk in real Chromium.

Run by hand:  python tests/bench/pages.py [SITE] [--runs N] [--lighthouse]

Without SITE the demo squad's site is built first. Prints a table with the targets beside.
`slowed` is Chromium with its processor slowed four times, a mid-range phone. The basic bundle
is measured if npm can fetch it or node_modules has it; its file is put in the full one's place.
`--lighthouse` also runs Lighthouse from npm against 127.0.0.1, if npm has it.
"""

from __future__ import annotations

import argparse
import gzip
import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

from playwright.sync_api import Browser, sync_playwright

from profilegen.build.site import build_site
from profilegen.report.delivery import packed_library, plotly_library
from tests.browser.conftest import ARGUMENTS
from tests.squads import DEMO, TODAY

SLOWED = 4
LIFTER = "marit"

WATCH = """
window.seen = { shift: 0, long: [] };
new PerformanceObserver((list) => list.getEntries().forEach((one) => { seen.shift += one.value; }))
  .observe({ type: "layout-shift", buffered: true });
new PerformanceObserver((list) => list.getEntries().forEach((one) => seen.long.push(
  [one.startTime, one.duration]))).observe({ type: "longtask", buffered: true });
"""

DRAWN = """new Promise((done) => {
  const paint = performance.getEntriesByName("first-contentful-paint")[0];
  const at = (one) => done(one.startTime);
  if (paint) at(paint);
  else new PerformanceObserver((list) => list.getEntriesByName("first-contentful-paint").map(at))
    .observe({ type: "paint", buffered: true });
})"""
"""Drawings are part of the page, so the first paint of content shows those in sight."""

LIVE = """(figure) => new Promise((done) => {
  const start = performance.now();
  const look = () => figure.dataset.state === "live"
    ? requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now() - start)))
    : setTimeout(look, 2);
  figure.querySelector(".chart-box").dispatchEvent(
    new PointerEvent("pointerover", { bubbles: true, pointerType: "mouse" }));
  look();
})"""
"""From the pointer's arrival to the frame after the chart in sight has become interactive."""


def main() -> None:
    """Measure and print."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("site", nargs="?", type=Path)
    arguments.add_argument("--runs", type=int, default=7)
    arguments.add_argument("--lighthouse", action="store_true")
    given = arguments.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        site = given.site or Path(folder) / "site"
        if given.site is None:
            build_site(DEMO, site, today=TODAY, jobs=1, one_file=True)
        load, day = os.getloadavg()[0], date.today().isoformat()
        print(f"{day}, {os.cpu_count()} processors, load {load:.1f}")
        sizes(site)
        with sync_playwright() as playwright:
            program = shutil.which("chromium") or shutil.which("chromium-browser")
            browser = playwright.chromium.launch(executable_path=program, args=ARGUMENTS)
            print(f"Chromium {browser.version}, medians of {given.runs}")
            floor(browser, Path(folder), given.runs)
            speeds(browser, site, "full", given.runs)
            if with_basic(site):
                speeds(browser, site, "basic", given.runs)
            else:
                print("basic bundle: not to be had here")
            browser.close()
        if given.lighthouse:
            lighthouse(site)


def row(what: str, value: float, target: float, unit: str) -> None:
    """One line of the table."""
    verdict = "ok" if value <= target else "MISSED"
    print(f"  {what:<58} {value:>10,.4g} {unit:<3} target {target:>9,.6g}  {verdict}")


def sizes(site: Path) -> None:
    """Bytes of pages: the heaviest of each kind."""
    reports = [p for p in (site / "lifters").rglob("*.html") if not alone(p)]
    raw = {page: page.stat().st_size for page in reports}
    packed = {page: len(gzip.compress(page.read_bytes(), 9)) for page in reports}
    heaviest = max(raw, key=lambda page: raw[page])
    print(f"sizes, {len(reports)} report pages")
    row(
        f"heaviest report page, raw ({heaviest.parent.name}/{heaviest.name})",
        raw[heaviest] / 1e3,
        95,
        "kB",
    )
    heaviest = max(packed, key=lambda page: packed[page])
    name = f"{heaviest.parent.name}/{heaviest.name}"
    row(f"heaviest report page, gzip -9 ({name})", packed[heaviest] / 1e3, 18, "kB")
    row("median report page, raw", statistics.median(raw.values()) / 1e3, 95, "kB")
    single = [p.stat().st_size for p in (site / "lifters").rglob("*.html") if alone(p)]
    if single:
        row("heaviest single file, full bundle", max(single) / 1e3, 2_100, "kB")
        basic = plotly_library("basic")
        if basic.bundle == "basic":
            less = len(packed_library(plotly_library())) - len(packed_library(basic))
            row("heaviest single file, basic bundle", (max(single) - less) / 1e3, 650, "kB")


def alone(page: Path) -> bool:
    """Whether this is a report as one file."""
    return page.name.startswith(f"{page.parent.name}-") or page.stem == page.parent.name


def with_basic(site: Path) -> bool:
    """Put the basic bundle in the full one's place."""
    basic = plotly_library("basic")
    if basic.bundle != "basic":
        return False
    (library,) = (site / "assets").glob("plotly-*.js")
    library.write_text(basic.text, encoding="utf-8")
    return True


def floor(browser: Browser, folder: Path, runs: int) -> None:
    """What this machine needs, at this moment, for a page of one word: the part of the times
    below that no page can save. A busy machine shows here."""
    page = folder / "word.html"
    page.write_text("<!doctype html><title>x</title><p>word", encoding="utf-8")
    for slow in (1, SLOWED):
        drawn = statistics.median(first_paint(browser, page.as_uri(), slow) for _ in range(runs))
        speed = f"slowed {slow}x" if slow > 1 else "full speed"
        print(f"  {'floor: a page of one word on screen, ' + speed:<58} {drawn:>10,.4g} ms")


def first_paint(browser: Browser, address: str, slow: int) -> float:
    """When content is first painted, ms."""
    context = browser.new_context()
    page = context.new_page()
    if slow > 1:
        session = context.new_cdp_session(page)
        session.send("Emulation.setCPUThrottlingRate", {"rate": slow})
    page.goto(address)
    drawn: float = page.evaluate(DRAWN)
    context.close()
    return drawn


def speeds(browser: Browser, site: Path, bundle: str, runs: int) -> None:
    """Times of a report, at full speed and slowed."""
    most = {"full": 1000, "basic": 300}[bundle]
    for page_name in ("index", "time"):
        address = (site / "lifters" / LIFTER / f"{page_name}.html").as_uri()
        print(f"{page_name}.html, {bundle} bundle")
        for slow, drawn_most, live_most in ((1, 120, most), (SLOWED, 400, most * SLOWED)):
            measured = [visit(browser, address, slow) for _ in range(runs)]
            speed = f"slowed {slow}x" if slow > 1 else "full speed"
            drawn, live, shift, longest = map(statistics.median, zip(*measured, strict=True))
            row(f"drawings on screen, {speed}", drawn, drawn_most, "ms")
            if slow == 1:
                row(f"interactive after first interest, {speed}", live, live_most, "ms")
            else:
                print(f"  {'interactive after first interest, ' + speed:<58} {live:>10,.4g} ms")
            row(f"layout shift, {speed}", shift, 0, "")
            row(f"longest task before interest over 50 ms, {speed}", longest, 0, "ms")


def visit(browser: Browser, address: str, slow: int) -> tuple[float, float, float, float]:
    """Drawn ms, interactive ms, layout shift, longest long task before interest (0: none)."""
    size = {"width": 1280, "height": 900} if slow == 1 else {"width": 375, "height": 667}
    context = browser.new_context(viewport=size)
    page = context.new_page()
    page.add_init_script(WATCH)
    if slow > 1:
        session = context.new_cdp_session(page)
        session.send("Emulation.setCPUThrottlingRate", {"rate": slow})
    page.goto(address)
    drawn = page.evaluate(DRAWN)
    page.wait_for_timeout(300)
    longest = max((length for _start, length in page.evaluate("seen.long")), default=0)
    chart = page.locator("figure[data-chart]").first
    chart.scroll_into_view_if_needed()
    page.wait_for_timeout(100)
    live = chart.evaluate(LIVE)
    page.wait_for_timeout(200)
    shift = page.evaluate("seen.shift")
    context.close()
    return drawn, live, shift, longest


@contextmanager
def served(site: Path) -> Iterator[str]:
    """The site on 127.0.0.1, packed as a host would send it."""

    class Packed(SimpleHTTPRequestHandler):
        def log_message(self, *_: Any) -> None:
            pass

        def send_head(self) -> Any:
            file = Path(self.translate_path(self.path))
            if not file.is_file():
                return super().send_head()
            body = gzip.compress(file.read_bytes(), 6)
            self.send_response(200)
            self.send_header("Content-Type", f"{self.guess_type(str(file))}; charset=utf-8")
            self.send_header("Content-Encoding", "gzip")
            self.send_header("Content-Length", str(len(body)))
            self.send_header("Cache-Control", "max-age=31536000")
            self.end_headers()
            from io import BytesIO

            return BytesIO(body)

    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(Packed, directory=str(site)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()


def lighthouse(site: Path) -> None:
    """Scores of Lighthouse, desktop and mobile."""
    chrome = shutil.which("chromium") or ""
    environment = {**os.environ, "CHROME_PATH": chrome}
    flags = "--chrome-flags=--headless=new --no-sandbox --disable-gpu"
    with served(site) as root:
        single = f"lifters/{LIFTER}/{LIFTER}-in-full.html"
        paths = [f"lifters/{LIFTER}/index.html", "index.html", single]
        for path in (path for path in paths if (site / path).is_file()):
            for preset in ("desktop", "mobile"):
                command = ["npx", "--yes", "lighthouse", f"{root}/{path}", flags, "--quiet"]
                command += ["--output=json", "--output-path=stdout"]
                command += ["--preset=desktop"] if preset == "desktop" else []
                run = subprocess.run(
                    command, env=environment, capture_output=True, text=True, check=False
                )
                if run.returncode:
                    print(f"lighthouse: {run.stderr.strip().splitlines()[-1:]}")
                    return
                scores = {
                    name: round(100 * part["score"])
                    for name, part in json.loads(run.stdout)["categories"].items()
                }
                print(f"lighthouse {preset} {path}: {scores}")


if __name__ == "__main__":
    main()
