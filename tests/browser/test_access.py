"""Pages for every reader: what axe-core finds, and what the keyboard alone can do.

axe looks at every kind of page, with everything opened: one lifter's and the shared ones at a
desk, in light colours, and a junior's and the shared ones on a phone, in dark ones; all pages
in all ways would take minutes. Colours of all pages and drawings are measured by our own survey
(test_site.py).
"""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Locator, Page

from tests.browser.conftest import Complaints, Opened
from tests.browser.survey import OPEN_EVERYTHING

pytestmark = pytest.mark.browser

AXE = files("axe_playwright_python").joinpath("axe.min.js").read_text(encoding="utf-8")

VIOLATIONS = """async () => {
  const { violations } = await axe.run(document, { resultTypes: ["violations"], preload: false });
  return violations.flatMap(({ id, nodes }) => nodes.map(({ target }) => `${id}: ${target}`));
}"""


@pytest.mark.parametrize(
    ("lifter", "options"),
    [
        pytest.param("marit", {"viewport": {"width": 1280, "height": 900}}, id="desk-light"),
        pytest.param(
            "kofi",
            {"viewport": {"width": 375, "height": 800}, "color_scheme": "dark"},
            id="phone-dark",
        ),
    ],
)
def test_axe_finds_nothing(
    chromium: Browser,
    demo_site: Path,
    complaints: Complaints,
    lifter: str,
    options: dict[str, Any],
) -> None:
    """Every rule of axe-core, best practices included."""
    context = chromium.new_context(**options)
    page = context.new_page()
    complaints.listen(page)
    found = []
    pages = sorted([*demo_site.glob("*.html"), *(demo_site / "lifters" / lifter).glob("*.html")])
    assert len(pages) >= 2 + 5
    for file in pages:
        page.goto(file.as_uri())
        page.evaluate(OPEN_EVERYTHING)
        page.evaluate(AXE)
        found += [f"{file.parent.name}/{file.name} {one}" for one in page.evaluate(VIOLATIONS)]
    context.close()
    assert found == []


def test_axe_finds_nothing_in_a_living_chart(opened: Opened, demo_site: Path) -> None:
    page = opened(demo_site / "lifters" / "marit" / "index.html")
    page.locator(".chart-box").first.hover()
    page.wait_for_selector("[data-state=live]")
    page.evaluate(AXE)
    assert page.evaluate(VIOLATIONS) == []


def tab_to(page: Page, target: Locator, most: int = 120) -> None:
    """Walk there with the Tab key, as somebody without a pointer does."""
    for _ in range(most):
        page.keyboard.press("Tab")
        if target.evaluate("e => e === document.activeElement"):
            return
    raise AssertionError("the Tab key never got there")


@pytest.fixture
def stops(opened: Opened, demo_site: Path) -> Page:
    """No smooth scrolling, so that each stop has arrived when it is looked at."""
    return opened(demo_site / "lifters" / "marit" / "index.html", reduced_motion="reduce")


def test_every_stop_of_the_tab_key_can_be_seen(stops: Page) -> None:
    """An outline in the colour of focus, at least 2 px, not hidden behind anything
    (WCAG 2.2, success criteria 2.4.7 and 2.4.11)."""
    seen = 0
    for _ in range(60):
        stops.keyboard.press("Tab")
        state = stops.evaluate(
            """() => { const e = document.activeElement, s = getComputedStyle(e);
              const r = e.getBoundingClientRect();
              return { tag: e.tagName + "." + e.className, style: s.outlineStyle,
                width: parseFloat(s.outlineWidth), body: e === document.body,
                inside: r.bottom > 0 && r.top < innerHeight && r.width > 0 }; }"""
        )
        if state["body"]:
            break
        seen += 1
        assert state["style"] == "solid", state
        assert state["width"] >= 2, state
        assert state["inside"], state
    assert seen > 30


def test_the_first_stop_skips_to_the_content(stops: Page) -> None:
    stops.keyboard.press("Tab")
    assert stops.evaluate("document.activeElement.className") == "skip"
    stops.keyboard.press("Enter")
    assert stops.evaluate("document.activeElement.id") == "content"


def test_values_of_a_chart_are_read_with_arrow_keys(stops: Page) -> None:
    """On the page that ships, not only on a page of samples."""
    figure = stops.locator("#chart-kilos")
    tab_to(stops, figure.locator(".chart-explore"))
    stops.wait_for_selector("#chart-kilos[data-state=live]")
    stops.keyboard.press("ArrowRight")
    first = figure.locator(".chart-readout").inner_text()
    stops.keyboard.press("ArrowRight")
    second = figure.locator(".chart-readout").inner_text()
    assert first.startswith("Overhead · ")
    assert second != first
    assert "kg" in second


def test_the_numbers_of_a_chart_open_with_the_keyboard(stops: Page) -> None:
    figure = stops.locator("#chart-kilos")
    tab_to(stops, figure.locator("summary"))
    stops.keyboard.press("Enter")
    assert figure.locator("td").first.is_visible()


def test_tables_are_sorted_with_the_keyboard(opened: Opened, demo_site: Path) -> None:
    """Enter on a heading sorts, again the other way, and the heading says which."""
    page = opened(demo_site / "index.html")
    heading = page.locator("#squad-table thead th", has_text="Total")
    column = heading.evaluate("e => e.cellIndex")
    values = f"""() => [...document.querySelectorAll("#squad-table tbody tr")]
      .map((row) => Number(row.cells[{column}].dataset.sort))"""
    heading.locator("button").focus()
    page.keyboard.press("Enter")
    assert heading.get_attribute("aria-sort") == "descending"
    assert page.evaluate(values) == sorted(page.evaluate(values), reverse=True)
    page.keyboard.press("Enter")
    assert heading.get_attribute("aria-sort") == "ascending"
    assert page.evaluate(values) == sorted(page.evaluate(values))
    assert page.locator("#squad-table [aria-sort]").count() == 1


def test_the_theme_is_switched_kept_and_never_flickers(opened: Opened, demo_site: Path) -> None:
    """Before anything is painted the next page is as dark as the last."""
    page = opened(demo_site / "index.html", color_scheme="light")
    page.locator("button.theme").focus()
    page.keyboard.press("Enter")
    paper = "getComputedStyle(document.body).backgroundColor"
    assert page.evaluate(paper) == "rgb(20, 23, 28)"
    page.add_init_script(
        """new MutationObserver((changes, self) => { if (!document.body) return;
          window.atFirst = document.documentElement.dataset.theme;
          self.disconnect(); }).observe(document, { childList: true, subtree: true });"""
    )
    page.goto((demo_site / "methods.html").as_uri())
    assert page.evaluate("window.atFirst") == "dark"
    assert page.locator("button.theme").get_attribute("aria-pressed") == "true"
