"""German words are long: they must not make a narrow phone scroll sideways."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import Opened
from tests.browser.survey import LOOKS, OPEN_EVERYTHING

pytestmark = pytest.mark.browser

NARROWEST = {"width": 320, "height": 700}
PAGES = [
    "index.html",
    "methods.html",
    *(f"lifters/bram/{name}.html" for name in ("index", "plan", "compare", "time", "evidence")),
    "lifters/kofi/index.html",
    "lifters/kofi/lifter.html",
    "lifters/niamh/index.html",
    "lifters/yuki/lifter.html",
]


@pytest.mark.parametrize("name", PAGES)
def test_no_german_page_scrolls_sideways_on_the_narrowest_phone(
    opened: Opened, german_site: Path, name: str
) -> None:
    """At 320 CSS pixels, everything opened: WCAG 2.2, success criterion 1.4.10 (Reflow)."""
    page = opened(german_site / name, viewport=NARROWEST)
    page.evaluate(OPEN_EVERYTHING)
    assert page.evaluate("document.documentElement.lang") == "de"
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    assert page.evaluate(f"{LOOKS}; window.looks()")["overhang"] == []


def drawn_texts(page: Page) -> list[str]:
    return page.eval_on_selector_all("svg text", "found => found.map((one) => one.textContent)")


def test_german_drawings_have_german_numbers_and_months(opened: Opened, german_site: Path) -> None:
    """On their axes too, and no label is lost."""
    page = opened(german_site / "lifters" / "bram" / "time.html", viewport=NARROWEST)
    texts = drawn_texts(page)
    assert any(text.startswith(("Jan.", "März", "Mai", "Juli", "Okt.", "Sept.")) for text in texts)
    assert not [text for text in texts if "." in text and text.replace(".", "").isdigit()]


def test_a_german_chart_becomes_interactive_and_speaks_german(
    opened: Opened, german_site: Path
) -> None:
    """The plot's own labels come from the page."""
    page = opened(german_site / "lifters" / "bram" / "index.html")
    button = page.locator("#chart-kilos .chart-explore")
    assert button.inner_text() == "Erkunden"
    button.click()
    page.wait_for_selector("#chart-kilos[data-state=live]")
    assert page.locator("#chart-kilos .chart-readout").inner_text().startswith("Pfeiltasten")
    button.press("ArrowRight")
    assert "kg" in page.locator("#chart-kilos .chart-readout").inner_text()
    plotted = page.locator("#chart-kilos .chart-live").inner_text()
    assert "im Zweikampf" in plotted


OUTSIDE = """() => [...document.querySelectorAll("svg")].flatMap(drawing => {
  const frame = drawing.getBoundingClientRect();
  return [...drawing.querySelectorAll("text")].filter(text => {
    const box = text.getBoundingClientRect();
    return box.width > 0 && (box.left < frame.left - 1 || box.right > frame.right + 1);
  }).map(text => text.textContent);
})"""


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("width", [1280, 375])
def test_no_german_label_is_cut_at_the_edge_of_its_drawing(
    opened: Opened, german_site: Path, name: str, width: int
) -> None:
    """Even in a wide font, such as this machine's."""
    page = opened(german_site / name, viewport={"width": width, "height": 900})
    page.evaluate(OPEN_EVERYTHING)
    assert page.locator("svg text").count() > 0 or name.endswith(
        ("plan.html", "methods.html", "evidence.html")
    )
    assert page.evaluate(OUTSIDE) == []
