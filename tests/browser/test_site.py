"""The demo squad's site in a real browser, opened from disk as a coach would open it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urldefrag, urlsplit

import pytest
from playwright.sync_api import Browser, Page, Request

from tests.browser.conftest import Complaints, Opened

pytestmark = pytest.mark.browser

WIDTHS = {"desk": 1280, "phone": 375}

OVERHANG = """() => {
  const root = document.documentElement;
  const over = root.scrollWidth - root.clientWidth;
  const wide = [...document.body.querySelectorAll("*")].filter(
    (e) => over > 0 && e.getBoundingClientRect().right > root.clientWidth + 1);
  return [over, ...wide.slice(0, 5).map((e) => `${e.tagName} ${e.getAttribute("class")}`)];
}"""
"""How many pixels one could scroll sideways, and a few elements that stick out."""

IDS = "[...document.querySelectorAll('[id]')].map((element) => element.id)"
LINKS = "[...document.links].map((link) => link.href)"
SCRIPTS = "[...document.scripts].map((script) => script.src)"


def pages_of(site: Path) -> list[Path]:
    """Every page, the squad page first."""
    return sorted(site.rglob("*.html"), key=lambda page: (len(page.parts), page))


@pytest.fixture
def visited(
    chromium: Browser, demo_site: Path, complaints: Complaints, request: pytest.FixtureRequest
) -> Iterator[Iterator[Page]]:
    """Every page of the site one after the other, in the context the test asks for."""
    options: dict[str, Any] = request.param
    context = chromium.new_context(**options)
    page = context.new_page()
    complaints.listen(page)

    def visit() -> Iterator[Page]:
        for file in pages_of(demo_site):
            page.goto(file.as_uri())
            yield page

    yield visit()
    context.close()


def screen(width: int, **options: Any) -> dict[str, Any]:
    return {"viewport": {"width": width, "height": 900}, **options}


@pytest.mark.parametrize(
    "visited",
    [
        pytest.param(screen(width, color_scheme=scheme), id=f"{name}-{scheme}")
        for name, width in WIDTHS.items()
        for scheme in ("light", "dark")
    ],
    indirect=True,
)
def test_no_page_complains_asks_outside_or_scrolls_sideways(
    visited: Iterator[Page], demo_site: Path
) -> None:
    """No console message, no error, every request a file of this very site."""
    asked: list[str] = []

    def note(request: Request) -> None:
        asked.append(request.url)

    seen = 0
    for page in visited:
        if not seen:
            page.on("request", note)
        seen += 1
        assert page.title()
        assert page.evaluate(OVERHANG) == [0], page.url
    assert seen >= 2 * 15 + 2
    inside = demo_site.as_uri() + "/"
    assert [url for url in asked if not url.startswith((inside, "data:", "blob:"))] == []


@pytest.mark.parametrize("visited", [pytest.param(screen(320), id="320")], indirect=True)
def test_nothing_scrolls_sideways_on_the_narrowest_phone(visited: Iterator[Page]) -> None:
    """320 CSS pixels: WCAG 2.2, success criterion 1.4.10 (Reflow)."""
    for page in visited:
        assert page.evaluate(OVERHANG) == [0], page.url


@pytest.mark.parametrize(
    "visited", [pytest.param(screen(375, java_script_enabled=False), id="no-script")], indirect=True
)
def test_everything_can_be_read_without_script(visited: Iterator[Page]) -> None:
    """The verdict, how sure it is, and a drawing and a table for every chart."""
    for page in visited:
        if "/lifters/" not in page.url:
            continue
        assert page.locator(".verdict .sentence").inner_text().strip(), page.url
        assert page.locator(".verdict .sure").is_visible(), page.url
        charts = page.locator("figure.chart")
        assert charts.count(), page.url
        for chart in charts.all():
            name = f"{page.url}#{chart.get_attribute('id')}"
            assert chart.locator("table").count(), name
            if chart.is_visible():  # the others are one click away, in closed details
                assert any(svg.is_visible() for svg in chart.locator("svg").all()), name


@pytest.mark.parametrize("visited", [pytest.param(screen(1280), id="links")], indirect=True)
def test_every_link_inside_the_site_leads_somewhere(
    visited: Iterator[Page], demo_site: Path
) -> None:
    targets: set[str] = set()
    anchors: dict[str, set[str]] = {}
    for page in visited:
        anchors[page.url] = set(page.evaluate(IDS))
        targets |= set(page.evaluate(LINKS))
    inside = {target for target in targets if target.startswith("file:")}
    assert len(inside) > len(anchors)
    for target in inside:
        address, anchor = urldefrag(target)
        file = Path(unquote(urlsplit(address).path))
        assert file.is_relative_to(demo_site), target
        assert file.is_file(), target
        assert not anchor or unquote(anchor) in anchors[address], target
    outside = targets - inside
    assert all(target.startswith(("https://", "http://")) for target in outside)


def test_a_chart_comes_alive_with_the_library_that_ships(opened: Opened, demo_site: Path) -> None:
    """The first sign of interest loads plotly.js from the site itself, under its own policy."""
    page = opened(demo_site / "lifters" / "farid" / "index.html")
    chart = page.locator("figure.chart").first
    chart.scroll_into_view_if_needed()
    assert page.evaluate("typeof window.Plotly") == "undefined"
    chart.locator(".chart-box").hover()
    page.wait_for_selector(".chart-live svg.main-svg", timeout=20_000)
    library = [address for address in page.evaluate(SCRIPTS) if "plotly" in address]
    assert len(library) == 1
    assert library[0].startswith((demo_site / "assets").as_uri())


def test_from_the_squad_page_to_a_report_and_back(opened: Opened, demo_site: Path) -> None:
    page = opened(demo_site / "index.html")
    page.locator(".cards h3 a").first.click()
    assert page.locator("h1").inner_text()
    assert "/lifters/" in page.url
    page.locator("nav a").first.click()
    assert page.url == (demo_site / "index.html").as_uri()
