"""How soon pages are there and how soon they are alive: medians from disk in real Chromium.

Run by hand:  python -m tests.bench.pages [SITE] [--runs N] [--lighthouse]

Without SITE the demo squad's site is built first. Prints a table with the targets beside.
`slowed` is Chromium with its processor slowed four times, a mid-range phone. Times of a page
of one word, measured in turn with the others, stand beside as the floor: what this machine
needs at this moment, whatever the page. The basic bundle is measured if npm can fetch it or
node_modules has it; its file is put in the full one's place.

`--lighthouse` also runs Lighthouse from npm against 127.0.0.1, if npm has it, and prints what
costs points. Two things need saying of its scores:

- Single files are measured twice. By default Lighthouse loads a page at full speed and works
  out what a slow network would have done, taking for granted that nothing can be painted
  before the whole document is there. A page of one word with the same library behind it,
  measured beside, shows how many points that leaves to any page. `applied` really slows the
  network down, and sees what a reader sees: the report first, the library after it.
- Pages ask search engines to stay away (SEO: `is-crawlable`), and their policy lets them ask
  for nothing, so that Lighthouse cannot ask for robots.txt in their name (`robots-txt`). All
  else that SEO looks at is measured on a copy published with `publish: {index: true}`, with
  `connect-src 'self'` put into its policy for the occasion.
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
from profilegen.publish.keys import add_keys
from profilegen.publish.site import publish_site
from profilegen.report.delivery import packed_library, plotly_library, script_hash
from tests.browser.conftest import ARGUMENTS
from tests.squads import DEMO, TODAY

SLOWED = 4
LIFTER = "marit"
WORD = "<!doctype html><title>x</title><p>word"

SETTLE_MS = 400
"""Until the page before is gone and the new one's process is there. Without this pause
every time has some 40 ms of the other page's end in it."""

WATCH = """
window.seen = { shift: 0, long: [], drawn: 0, all: 0 };
const watch = (type, then) => new PerformanceObserver((list) => list.getEntries().forEach(then))
  .observe({ type, buffered: true });
watch("layout-shift", (one) => { seen.shift += one.value; });
watch("longtask", (one) => seen.long.push(one.duration));
watch("element", (one) => {
  if (one.intersectionRect.height) seen.drawn = Math.max(seen.drawn, one.renderTime);
  seen.all = Math.max(seen.all, one.renderTime);
});
new MutationObserver((changes) => changes.forEach((change) => change.addedNodes.forEach((node) => {
  if (node.className === "chart-title") node.setAttribute("elementtiming", "chart");
}))).observe(document, { childList: true, subtree: true });
"""
"""Captions of charts tell when they are presented: Chromium does so for text that asks."""

DRAWN = """new Promise((done) => {
  const paint = performance.getEntriesByName("first-contentful-paint")[0];
  const at = (one) => done(one.startTime);
  if (paint) at(paint);
  else new PerformanceObserver((list) => list.getEntriesByName("first-contentful-paint").map(at))
    .observe({ type: "paint", buffered: true });
})"""
"""The first paint of content. Charts in sight may come later, see WATCH."""

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
            word = Path(folder) / "word.html"
            word.write_text(WORD, encoding="utf-8")
            speeds(browser, site, word, "full", given.runs)
            if with_basic(site):
                speeds(browser, site, word, "basic", given.runs)
            else:
                print("basic bundle: not to be had here")
            browser.close()
        if given.lighthouse:
            lighthouse(site, Path(folder))


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


def speeds(browser: Browser, site: Path, word: Path, bundle: str, runs: int) -> None:
    """Times of two pages of a report and of the squad's, at full speed and slowed."""
    most = {"full": 1000, "basic": 300}[bundle]
    for path in (f"lifters/{LIFTER}/index.html", f"lifters/{LIFTER}/time.html", "index.html"):
        print(f"{path}, {bundle} bundle")
        for slow, drawn_most, live_most in ((1, 120, most), (SLOWED, 400, most * SLOWED)):
            floors, visits = [], []
            for _ in range(runs):
                floors.append(visit(browser, word.as_uri(), slow)[0])
                visits.append(visit(browser, (site / path).as_uri(), slow))
            floor = statistics.median(floors)
            drawn, live, shift, longest = map(statistics.median, zip(*visits, strict=True))
            speed = f"slowed {slow}x" if slow > 1 else "full speed"
            row(f"drawings on screen, {speed}", drawn, drawn_most, "ms")
            print(f"  {'of that a page of one word, ' + speed:<58} {floor:>10,.4g} ms")
            if slow == 1:
                row(f"interactive after first interest, {speed}", live, live_most, "ms")
            else:
                print(f"  {'interactive after first interest, ' + speed:<58} {live:>10,.4g} ms")
            row(f"layout shift, {speed}", shift, 0, "")
            row(f"longest task before interest over 50 ms, {speed}", longest, 0, "ms")


def visit(browser: Browser, address: str, slow: int) -> tuple[float, float, float, float]:
    """Drawn ms, interactive ms, layout shift, longest long task before interest (0: none).

    Drawn is when all charts in sight have been presented, or the first content where there
    are none. Interactive is 0 for a page without charts.
    """
    size = {"width": 1280, "height": 900} if slow == 1 else {"width": 375, "height": 667}
    context = browser.new_context(viewport=size)
    page = context.new_page()
    page.add_init_script(WATCH)
    if slow > 1:
        session = context.new_cdp_session(page)
        session.send("Emulation.setCPUThrottlingRate", {"rate": slow})
    page.wait_for_timeout(SETTLE_MS)
    page.goto(address)
    painted = page.evaluate(DRAWN)
    page.wait_for_timeout(300)
    drawn = max(painted, page.evaluate("seen.drawn"))
    longest = max(page.evaluate("seen.long"), default=0)
    live = 0.0
    if page.locator("figure[data-chart]").count():
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


def lighthouse(site: Path, folder: Path) -> None:
    """Scores of Lighthouse, desktop and mobile, of the site, its single files and an open copy."""
    full, basic = plotly_library(), plotly_library("basic")
    report = f"lifters/{LIFTER}/index.html"
    alone = site / f"lifters/{LIFTER}/{LIFTER}-in-full.html"
    try:
        for path in (report, "index.html", "methods.html"):
            scores(site, path)
        if alone.is_file():
            files = folder / "files"
            files.mkdir()
            for library in {library.bundle: library for library in (full, basic)}.values():
                text = alone.read_text(encoding="utf-8")
                text = text.replace(packed_library(full), packed_library(library))
                text = text.replace(script_hash(full.text), script_hash(library.text))
                word = f"<script type=text/plain>{packed_library(library)}</script>"
                for name, page in (("report", text), ("word", WORD + word)):
                    path = f"{name}-{library.bundle}.html"
                    (files / path).write_text(page, encoding="utf-8")
                    scores(files, path)
                scores(files, f"report-{library.bundle}.html", "applied")
        copy = open_copy(folder)
        for path in (report, "index.html"):
            scores(copy, path)
    except subprocess.CalledProcessError as problem:
        print(f"lighthouse: {problem.stderr.strip().splitlines()[-1:]}")


def open_copy(folder: Path) -> Path:
    """The demo squad's published copy, open to search engines and to questions of its own."""
    squad, copy = folder / "squad", folder / "public"
    shutil.copytree(DEMO, squad)
    with (squad / "club.yaml").open("a", encoding="utf-8") as club:
        club.write("\npublish: {index: true}\n")
    files = squad.glob("*.yaml")
    add_keys(squad, [one.stem for one in files if "report: locked" in one.read_text("utf-8")])
    publish_site(squad, copy, today=TODAY, jobs=1)
    for page in copy.rglob("*.html"):
        text = page.read_text(encoding="utf-8")
        page.write_text(text.replace("; base-uri", "; connect-src 'self'; base-uri"), "utf-8")
    return copy


def scores(root: Path, path: str, network: str = "worked out") -> None:
    """Print the scores of one page, and what costs points.

    Raises:
        CalledProcessError: Lighthouse is not to be had, or it failed.
    """
    environment = {**os.environ, "CHROME_PATH": shutil.which("chromium") or ""}
    flags = "--chrome-flags=--headless=new --no-sandbox --disable-gpu"
    with served(root) as address:
        for preset in ("desktop", "mobile"):
            command = ["npx", "--yes", "lighthouse", f"{address}/{path}", flags, "--quiet"]
            command += ["--output=json", "--output-path=stdout"]
            command += ["--preset=desktop"] if preset == "desktop" else []
            command += ["--throttling-method=devtools"] if network == "applied" else []
            run = subprocess.run(
                command, env=environment, capture_output=True, text=True, check=True
            )
            result = json.loads(run.stdout)
            parts = result["categories"]
            points = ", ".join(f"{name} {100 * part['score']:.0f}" for name, part in parts.items())
            failed = sorted(
                {
                    one["id"]
                    for part in parts.values()
                    for one in part["auditRefs"]
                    if one["weight"] and (result["audits"][one["id"]]["score"] or 0) < 0.9
                    if result["audits"][one["id"]]["scoreDisplayMode"] in ("binary", "numeric")
                }
            )
            costs = f"; costs points: {', '.join(failed)}" if failed else ""
            print(f"lighthouse {preset}, network {network}, {path}: {points}{costs}")


if __name__ == "__main__":
    main()
