"""General-purpose static-site generators that build as many pages of the same size.

    python -m tests.bench.generators [--pages 300] [--mkdocs] [--pelican] [--eleventy]

Each that is asked for is installed into a folder of its own (pip or npm as they are set up
here) that is gone afterwards. Pages are Markdown with a table, sized so that the HTML is about
as large as a coach's report; nothing is computed. Prints ms per page of a cold build, beside
profilegen's own ms per page and per lifter for invented lifters, inference included, and beside
what its rendering alone takes. Each runs as it comes: mkdocs with its search, profilegen on all
processors.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
import venv
from pathlib import Path

from profilegen.build.lifters import READINGS
from profilegen.engine.assess import profile_of
from profilegen.history.club import read_club
from profilegen.history.load import read_athlete
from profilegen.norms.catalogue import load_norms
from profilegen.render import Renderer
from profilegen.report.chapters import report_parts
from profilegen.report.compose import report_page
from tests.bench.large_squad import LAST_DAY, write_squad
from tests.squads import TODAY

ROWS = {"mkdocs": 110, "pelican": 480, "eleventy": 490}
"""Of the table on each page: some 40 kB of HTML, as much as a page of a report."""
LIFTERS = 100
RENDERED = 20


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--pages", type=int, default=300)
    for name in GENERATORS:
        parser.add_argument(f"--{name}", action="store_true")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        box = Path(folder)
        ours(box)
        for name, run in GENERATORS.items():
            if getattr(given, name):
                (box / name).mkdir()
                seconds, built = run(box / name, given.pages)
                sizes = [page.stat().st_size for page in built]
                size = sum(sizes) / max(1, len(sizes)) / 1000
                print(
                    f"{name:<16}{1000 * seconds / given.pages:7.1f} ms a page "
                    f"({len(sizes)} pages of {size:.0f} kB)"
                )


def ours(box: Path) -> None:
    """profilegen, cold: as the command runs by itself, on one process, and what the stages from
    a profile to its files take."""
    squad = box / "athletes"
    write_squad(squad, LIFTERS)
    for name, jobs in (("profilegen", []), ("  one process", ["--jobs", "1"])):
        site = box / f"site{len(jobs)}"
        command = [sys.executable, "-m", "profilegen", "build", str(squad), "--out", str(site)]
        seconds = timed([*command, "--on", LAST_DAY.isoformat(), *jobs], box)
        pages = list(site.rglob("*.html"))
        size = sum(page.stat().st_size for page in pages) / len(pages) / 1000
        print(
            f"{name:<16}{1000 * seconds / len(pages):7.1f} ms a page "
            f"({len(pages)} pages of {size:.0f} kB), {1000 * seconds / LIFTERS:.1f} ms a lifter"
        )
    seconds, count = rendering(squad)
    print(f"{'  rendering':<16}{1000 * seconds / count:7.1f} ms a page ({count} pages)")


def rendering(squad: Path) -> tuple[float, int]:
    """Seconds to make every page of some lifters from their profiles, and how many pages."""
    norms = load_norms()
    club, renderer = read_club(squad, norms.lifts, today=TODAY), Renderer()
    files = sorted(squad.glob("lifter-*.yaml"))[:RENDERED]
    athletes = [read_athlete(file, norms.lifts, today=TODAY) for file in files]
    known = [(athlete, profile_of(athlete, norms, LAST_DAY, club)) for athlete in athletes]
    count, start = 0, time.perf_counter()
    for athlete, profile in known:
        for reading in READINGS:
            page = report_page(profile, athlete, club, norms, reading=reading)
            parts = report_parts(page, athlete.id, reading)
            for path, part in parts.items():
                renderer.files(part, path)
            count += len(parts)
    return time.perf_counter() - start, count


def timed(command: list[str], folder: Path) -> float:
    """Seconds that a command takes by the clock."""
    start = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True, cwd=folder)
    return time.perf_counter() - start


def markdown(number: int, rows: int) -> str:
    """A page: headings, prose and a long table."""
    head = f"# Report {number}\n\nWhat each lift is worth today, **with its interval**.\n\n"
    cells = [
        f"| lift {row} | {row * 7 % 300}.5 kg | 2026-10-12 | made, {row} |" for row in range(rows)
    ]
    return head + "\n".join(["| lift | load | day | note |", "|---|---|---|---|", *cells]) + "\n"


def _python(box: Path, *packages: str) -> Path:
    venv.create(box / "venv", with_pip=True)
    programs = box / "venv" / "bin"
    command = [str(programs / "pip"), "install", "--quiet", *packages]
    subprocess.run(command, check=True, capture_output=True)
    return programs


def mkdocs(box: Path, pages: int) -> tuple[float, list[Path]]:
    """mkdocs with its own theme."""
    programs = _python(box, "mkdocs")
    (box / "docs").mkdir()
    (box / "mkdocs.yml").write_text("site_name: x\n")
    for number in range(pages):
        (box / "docs" / f"page-{number}.md").write_text(markdown(number, ROWS["mkdocs"]))
    seconds = timed([str(programs / "mkdocs"), "build", "--quiet"], box)
    return seconds, list((box / "site").rglob("page-*/index.html"))


def pelican(box: Path, pages: int) -> tuple[float, list[Path]]:
    """pelican with its own theme."""
    programs = _python(box, "pelican[markdown]")
    (box / "content").mkdir()
    for number in range(pages):
        head = f"Title: Report {number}\nDate: 2026-10-12\nSlug: page-{number}\n\n"
        (box / "content" / f"page-{number}.md").write_text(head + markdown(number, ROWS["pelican"]))
    seconds = timed([str(programs / "pelican"), "content", "-o", "output", "--quiet"], box)
    return seconds, list((box / "output").glob("page-*.html"))


def eleventy(box: Path, pages: int) -> tuple[float, list[Path]]:
    """eleventy: one Nunjucks template over as many data rows, its quickest way."""
    subprocess.run(
        ["npm", "install", "--silent", "--no-fund", "--no-audit", "@11ty/eleventy"],
        check=True,
        capture_output=True,
        cwd=box,
    )
    (box / "_data").mkdir()
    (box / "_data" / "lifters.js").write_text(
        f"module.exports = Array.from({{length: {pages}}}, (_, n) => ({{n, rows: Array.from("
        f"{{length: {ROWS['eleventy']}}}, (_, r) => [`lift ${{r}}`, `${{r * 7 % 300}}.5 kg`, "
        "'2026-10-12', `made, ${r}`])}));\n"
    )
    (box / "page.njk").write_text(
        "---\npagination: {data: lifters, size: 1, alias: lifter}\n"
        "permalink: 'page-{{ lifter.n }}.html'\n---\n<h1>Report {{ lifter.n }}</h1><table>"
        "{% for row in lifter.rows %}<tr>{% for cell in row %}<td>{{ cell }}</td>{% endfor %}</tr>"
        "{% endfor %}</table>\n"
    )
    command = ["npx", "--no-install", "eleventy", "--quiet", "--input", ".", "--output", "out"]
    seconds = timed(command, box)
    return seconds, list((box / "out").glob("page-*.html"))


GENERATORS = {"mkdocs": mkdocs, "pelican": pelican, "eleventy": eleventy}

if __name__ == "__main__":
    main()
