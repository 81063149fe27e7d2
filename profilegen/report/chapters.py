"""The coach's report as chapters, so that each page is light and says one kind of thing.

`report_page` composes the whole report once; here it is cut along its sections. The first
page holds the answer and what to do about it; what it is compared with, how it came about
and what it rests on are one click away. Rows of a long diary fill pages of their own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from profilegen.report.language import words_in
from profilegen.report.links import Reading, report_path
from profilegen.report.page import Head, Link, ReportPage, Section

ROWS = "rows-"
"""How the ids of sections with older rows begin; each such section is a page."""


@dataclass(frozen=True, slots=True)
class Chapter:
    """Some sections on a page of their own."""

    file: str
    """Beside the report."""
    title: str
    sections: frozenset[str]


REPORT = "index.html"
EVIDENCE = "evidence.html"


def chapters_in(_: Callable[[str], str]) -> tuple[Chapter, ...]:
    """The chapters after the first, which takes every section that no other names."""
    return (
        Chapter(
            "plan.html",
            _("Plan"),
            frozenset({"tests", "meet", "meet-2", "meet-3", "what-if"}),
        ),
        Chapter(
            "compare.html",
            _("Compared"),
            frozenset({"ratios", "pointers", "company", "marks", "field", "scaled"}),
        ),
        Chapter("time.html", _("Over time"), frozenset({"time", "others"})),
        Chapter(
            EVIDENCE,
            _("Evidence"),
            frozenset({"evidence", "assumptions", "diagnostics"}),
        ),
    )


def report_parts(page: ReportPage, athlete_id: str, reading: Reading) -> dict[str, ReportPage]:
    """The pages of one lifter's report by path; only the coach's has more than one."""
    path = report_path(athlete_id, reading)
    if reading != "coach":
        return {path: page}
    folder = path.rpartition("/")[0]
    return {f"{folder}/{file}": part for file, part in chapter_pages(page).items()}


def chapter_pages(page: ReportPage) -> dict[str, ReportPage]:
    """File names and pages; `page` is the whole report of the coach."""
    _ = words_in(page.head.language)._
    chapters = chapters_in(_)
    named = frozenset().union(*(chapter.sections for chapter in chapters))
    rows = [one for one in page.sections if one.id.startswith(ROWS)]
    first = [one for one in page.sections if one.id not in named and one not in rows]
    parts: dict[str, tuple[str, list[Section]]] = {REPORT: ("", first)}
    for chapter in chapters:
        own = [one for one in page.sections if one.id in chapter.sections]
        if own:
            parts[chapter.file] = (chapter.title, own)
    tabs = [Link(title or _("Report"), file) for file, (title, _sections) in parts.items()]
    older = {f"evidence-{i}.html": section for i, section in enumerate(rows, start=2)}
    for file, section in older.items():
        parts[file] = (section.title, [section])
    return {
        file: replace(
            page,
            head=_titled(page.head, title),
            chapter=title,
            tabs=tuple(
                replace(tab, here=tab.href == (EVIDENCE if file in older else file)) for tab in tabs
            ),
            more=tuple(
                Link(section.title, href)
                for href, section in older.items()
                if href != file and file in {EVIDENCE, *older}
            ),
            sections=tuple(sections),
        )
        for file, (title, sections) in parts.items()
    }


def _titled(head: Head, chapter: str) -> Head:
    return replace(head, title=f"{chapter} · {head.title}") if chapter else head
