"""Every page of the demo site, looked at once at a desk and once on a phone.

Loading is most of what a look costs, so each page is loaded twice and then shown in every
way that matters: light, dark, on paper, and as narrow as a page must bear.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Request

from tests.browser.conftest import Complaints

LOOKS = (Path(__file__).parent / "looks.js").read_text(encoding="utf-8")

OPEN_EVERYTHING = "document.querySelectorAll('details').forEach((one) => { one.open = true; })"
IDS = "[...document.querySelectorAll('[id]')].map((element) => element.id)"
LINKS = "[...document.links].map((link) => link.href)"

DESK, PHONE, NARROWEST = 1280, 375, 320


@dataclass(frozen=True, slots=True)
class Look:
    """A page shown in one way."""

    page: str
    way: str
    texts: int
    contrast: list[str]
    small: list[str]
    overhang: list[str]


@dataclass(slots=True)
class Survey:
    """What was seen, all pages together."""

    looks: list[Look] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)
    asked_for: set[str] = field(default_factory=set)
    anchors: dict[str, set[str]] = field(default_factory=dict)
    """Ids by address."""
    links: set[str] = field(default_factory=set)

    def found(self, what: str, *ways: str) -> list[str]:
        """Everything of one kind, with page and way."""
        return [
            f"{look.page} {look.way}: {one}"
            for look in self.looks
            if not ways or look.way in ways
            for one in getattr(look, what)
        ]


def pages_of(site: Path) -> list[Path]:
    """Every page, the squad page first."""
    pages = sorted(site.rglob("*.html"), key=lambda page: (len(page.parts), page))
    assert pages
    return pages


def survey_of(site: Path, chromium: Browser) -> Survey:
    """Look at every page."""
    survey, complaints = Survey(), Complaints()

    def note(request: Request) -> None:
        survey.asked_for.add(request.url)

    for width in (DESK, PHONE):
        context = chromium.new_context(viewport={"width": width, "height": 900})
        page = context.new_page()
        complaints.listen(page)
        page.on("request", note)
        page.add_init_script(LOOKS)

        def look(name: str, way: str, page: Any = page) -> None:
            # Colours are the same at every width.
            contrasts = way not in {"phone", "narrowest"}
            survey.looks.append(Look(name, way, **page.evaluate("window.looks", contrasts)))

        for file in pages_of(site):
            name = file.relative_to(site).as_posix()
            page.set_viewport_size({"width": width, "height": 900})
            page.emulate_media(media="screen", color_scheme="light")
            page.goto(file.as_uri())
            assert page.title(), name
            survey.anchors[file.as_uri()] = set(page.evaluate(IDS))
            survey.links |= set(page.evaluate(LINKS))
            page.evaluate(OPEN_EVERYTHING)
            if width == DESK:
                look(name, "desk light")
                page.emulate_media(color_scheme="dark")
                look(name, "desk dark")
                # Paper in the colours of a dark system must still be paper.
                page.emulate_media(media="print")
                look(name, "print")
            else:
                look(name, "phone")
                page.set_viewport_size({"width": NARROWEST, "height": 900})
                look(name, "narrowest")
        context.close()
    survey.complaints = complaints.found
    return survey
