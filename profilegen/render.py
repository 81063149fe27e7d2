"""Page -> HTML text: with quick_templates.py and notes.py all that knows HTML.

Templates place values; everything they show was written by report/. What a coach wrote is
hostile until it has been escaped (names, labels) or cleaned (notes).
"""

from __future__ import annotations

import base64
import gzip
import hashlib
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType

from markupsafe import Markup

from profilegen.notes import notes_html
from profilegen.quick_templates import QuickEnvironment, escaped
from profilegen.report.chart import Chart, ChartWords, Drawable, HeatTable
from profilegen.report.delivery import (
    Bundle,
    Library,
    csp_single_file,
    csp_site,
    packed_library,
    plotly_library,
    policy,
)
from profilegen.report.drawn import (
    DrawnChart,
    DrawnHeat,
    draw,
    draw_heat,
    plots_json,
    plots_script,
    shared_keys,
)
from profilegen.report.links import ASSETS, plots_path
from profilegen.report.locked import LockedPage
from profilegen.report.page import (
    Block,
    Details,
    DirectoryPage,
    Drawn,
    Head,
    MethodsPage,
    Multiples,
    ReportPage,
    SquadPage,
    Term,
    WhatIfBlock,
)
from profilegen.report.sheet_words import Sheet, sheet_words

STYLES = ("tokens.css", "charts.css", "site.css", "locked.css")
SCRIPTS = ("charts.js", "site.js", "search.js", "whatif.js", "lock.js")
THEME_SCRIPT = "theme.js"
"""Runs before anything is painted, so that a chosen theme never flickers."""


class Renderer:
    """Renders pages with one set of templates; templates are compiled once.

    `logo` is the club's, as a data: address of base64. `templates_dir` defaults to the
    checkout's templates/, else to the installed package's.
    """

    def __init__(
        self, templates_dir: Path | None = None, *, bundle: Bundle = "full", logo: str = ""
    ) -> None:
        folder = templates_dir or default_templates_dir()
        self._library: Library = plotly_library(bundle)
        texts = {name: lean(_text(folder, name)) for name in (*STYLES, *SCRIPTS, THEME_SCRIPT)}
        self._texts = texts
        style = "".join(texts[name] for name in STYLES)
        if logo:
            style += f'.club::before{{content:"";background-image:url("{logo}")}}\n'
        script = "".join(texts[name] for name in SCRIPTS)
        self._style, self._style_name = style, _hashed("site", style, "css")
        self._script, self._script_name = script, _hashed("site", script, "js")
        environment = QuickEnvironment(folder)
        environment.globals |= {
            "assets": ASSETS,
            "style_name": self._style_name,
            "script_name": self._script_name,
            "library_name": self._library.name,
            "theme_script": Markup(texts[THEME_SCRIPT]),
            "policy": csp_site([texts[THEME_SCRIPT]]),
            "drawn": drawn,
            "shared_keys": shared_keys,
            "layout": "base.html",
            "alone": False,
        }
        environment.filters["notes"] = notes_html
        environment.tests["heat_table"] = lambda value: isinstance(value, DrawnHeat)
        self._pages = {
            kind: environment.get_template(f"pages/{kind}.html")
            for kind in ("report", "squad", "directory", "methods", "locked")
        }

    def report(self, page: ReportPage, *, one_file: bool = False) -> str:
        """The HTML of one lifter's report; as one file it brings styles, scripts and plotly.js."""
        if not one_file:
            return self._render("report", page, page.head)
        charts = plotted(page)
        packed = gzip.compress(plots_json(charts).encode(), compresslevel=9, mtime=0)
        return self._render(
            "report",
            page,
            replace(page.head, plots="#plots-gz" if charts else ""),
            **self._alone(_scripts_for(page))
            | {"packed_plots": base64.b64encode(packed).decode("ascii") if charts else ""},
        )

    def files(self, page: ReportPage | SquadPage, path: str) -> tuple[tuple[str, bytes], ...]:
        """A page of a site, and beside it the script with its plots, by path."""
        kind = "report" if isinstance(page, ReportPage) else "squad"
        charts = plotted(page)
        if not charts:
            return ((path, self._render(kind, page, page.head).encode()),)
        script = plots_script(charts).encode()
        beside = plots_path(path)
        name = f"{beside.rpartition('/')[2]}?{hashlib.sha256(script).hexdigest()[:12]}"
        text = self._render(kind, page, replace(page.head, plots=name))
        return ((path, text.encode()), (beside, script))

    def report_content(self, page: ReportPage) -> str:
        """The HTML inside a report's `main`: what a locked page keeps locked."""
        return self._render("report", page, page.head, layout="bare.html")

    def locked(self, page: LockedPage, *, one_file: bool = False) -> str:
        """The HTML of a locked report: the outer page, with what is locked in it."""
        return self._render("locked", page, page.head, **self._alone(SCRIPTS) if one_file else {})

    def squad(self, page: SquadPage) -> str:
        """The HTML of the squad page."""
        return self._render("squad", page, page.head)

    def directory(self, page: DirectoryPage) -> str:
        """The HTML of the first page of a large squad."""
        return self._render("directory", page, page.head)

    def methods(self, page: MethodsPage) -> str:
        """The HTML of the methods page."""
        return self._render("methods", page, page.head)

    def _alone(self, scripts: Iterable[str]) -> dict[str, object]:
        """What the base template needs for a page that is one file, with the scripts it uses."""
        script = "".join(self._texts[name] for name in scripts)
        return {
            "alone": True,
            "policy": csp_single_file([self._texts[THEME_SCRIPT], script], self._library),
            "style": Markup(self._style),
            "script": Markup(script),
            "packed_library": packed_library(self._library),
            "packed_plots": "",
        }

    def _render(
        self,
        kind: str,
        page: ReportPage | SquadPage | DirectoryPage | MethodsPage | LockedPage,
        head: Head,
        **more: object,
    ) -> str:
        gloss = Glosses(head.glossary, head.glossary_href)
        return self._pages[kind].render(page=page, head=head, gloss=gloss, **more)

    def assets(self) -> Mapping[str, bytes]:
        """What every page links to, by path from the site's root."""
        return MappingProxyType(
            {
                f"{ASSETS}/{self._style_name}": self._style.encode(),
                f"{ASSETS}/{self._script_name}": self._script.encode(),
                f"{ASSETS}/{self._library.name}": self._library.text.encode(),
            }
        )


def printable_sheet(sheet: Sheet) -> str:
    """The blank testing-week sheet as one page without scripts, to print (intake/blank.py)."""
    environment = QuickEnvironment(default_templates_dir())
    template = environment.get_template("pages/sheet.html")
    words = sheet_words(sheet)
    return template.render(page=sheet, words=words, policy=policy("'none'", "'unsafe-inline'"))


def default_templates_dir() -> Path:
    """The templates: in a wheel inside the package, in a checkout beside it."""
    package = Path(__file__).parent
    installed = package / "_templates"
    return installed if installed.is_dir() else package.parent / "templates"


def _text(folder: Path, name: str) -> str:
    return (folder / "assets" / name).read_text(encoding="utf-8")


def lean(text: str) -> str:
    r"""A style sheet or script without comments of whole lines and without indentation.

    >>> lean("/* pale\n   red */\n.a {\n  color: red; /* so */\n}\n")
    '.a {\ncolor: red; /* so */\n}\n'
    >>> lean("f();\n  // Now g, too.\n  g(); // yes\n")
    'f();\ng(); // yes\n'
    """
    without = re.sub(r"^\s*/\*.*?\*/\s*\n", "", text, flags=re.DOTALL | re.MULTILINE)
    without = re.sub(r"^\s*//.*\n", "", without, flags=re.MULTILINE)
    return re.sub(r"^\s+", "", without, flags=re.MULTILINE)


def _hashed(stem: str, text: str, suffix: str) -> str:
    return f"{stem}-{hashlib.sha256(text.encode()).hexdigest()[:12]}.{suffix}"


def _scripts_for(page: ReportPage) -> tuple[str, ...]:
    """The scripts a report needs; one in a mail carries no others."""
    blocks = [block for section in page.sections for block in section.blocks]
    moving = any(isinstance(block, WhatIfBlock) for block in blocks)
    return ("charts.js", "site.js", *(("whatif.js",) if moving else ()))


def plotted(page: ReportPage | SquadPage) -> list[DrawnChart]:
    """The charts of a page that can become interactive, in order."""
    charts = (found for section in page.sections for found in _charts_in(section.blocks))
    return [drawn_chart(chart, page.head.chart_words, small) for chart, small in charts]


def _charts_in(blocks: Iterable[Block]) -> Iterator[tuple[Drawable, bool]]:
    """Charts, and whether they are drawn small."""
    for block in blocks:
        if isinstance(block, Details):
            yield from _charts_in(block.blocks)
        elif isinstance(block, Multiples):
            yield from ((chart, True) for chart in block.charts)
        elif isinstance(block, Drawn) and not isinstance(block.chart, HeatTable):
            yield block.chart, False


def drawn(chart: Chart, words: ChartWords, small: bool = False) -> DrawnChart | DrawnHeat:
    """A chart made ready for the macros of macros/chart.html."""
    if isinstance(chart, HeatTable):
        return draw_heat(chart)
    return drawn_chart(chart, words, small)


@lru_cache(maxsize=64)
def drawn_chart(chart: Drawable, words: ChartWords, small: bool) -> DrawnChart:
    """Remembered for a while: a page's plots are wanted twice, and the two readings of one
    lifter share most of their charts."""
    return draw(chart, words=words, small=small)


Mentions = tuple[tuple[int, int, str, str], ...]
"""Where a text mentions which term: start, end, the term's id, the link's opening tag."""


@lru_cache(maxsize=4)
def _finder(terms: tuple[Term, ...], href: str) -> Callable[[str], Mentions]:
    """Finds the mentions of any of these terms. Most texts come again with the next lifter."""
    by_spelling = {
        spelling.casefold(): (
            term.id,
            f'<a class="term" href="{escaped(href)}#term-{escaped(term.id)}"'
            f' title="{escaped(term.meaning)}">',
        )
        for term in terms
        for spelling in (term.name, *term.also)
    }
    spellings = sorted(by_spelling, key=len, reverse=True)
    pattern = re.compile(rf"\b(?:{'|'.join(map(re.escape, spellings))})\b", re.IGNORECASE)

    @lru_cache(maxsize=4096)
    def find(text: str) -> Mentions:
        return tuple(
            (match.start(), match.end(), *by_spelling[match.group().casefold()])
            for match in (pattern.finditer(text) if spellings else ())
        )

    return find


class Glosses:
    """Marks the first mention of each term on a page with its meaning; one per page."""

    def __init__(self, terms: tuple[Term, ...], href: str) -> None:
        self._find = _finder(terms, href)
        self._seen: set[str] = set()

    def __call__(self, text: str) -> Markup:
        """The text, escaped, with links from terms to the glossary."""
        text = str(text)  # a misspelt name in a template fails here, not further down
        parts: list[str] = []
        end = 0
        for start, after, term, link in self._find(text):
            if term in self._seen:
                continue
            self._seen.add(term)
            parts += (escaped(text[end:start]), link, escaped(text[start:after]), "</a>")
            end = after
        parts.append(escaped(text[end:]))
        return Markup("".join(parts))
