"""Reports on paper: printed from a desk or a phone, they are the same drawings."""

from __future__ import annotations

import re
import zlib
from pathlib import Path

import pytest

from tests.browser.conftest import Opened
from tests.browser.paper import words_by_page

pytestmark = pytest.mark.browser

A4_TEXT_WIDTH = 680
"""CSS pixels between the margins of the stylesheet: (210 - 2 * 15) mm at 96 per inch."""


@pytest.mark.parametrize(
    "screen",
    [
        pytest.param({"viewport": {"width": 1280, "height": 900}}, id="desk"),
        pytest.param({"viewport": {"width": 375, "height": 667}, "is_mobile": True}, id="phone"),
    ],
)
def test_charts_fill_the_width_of_the_paper(
    opened: Opened, demo_site: Path, screen: dict[str, object]
) -> None:
    """The wide drawing, from edge to edge of the text, whatever the screen was."""
    page = opened(demo_site / "lifters" / "marit" / "time.html", **screen)
    page.emulate_media(media="print")
    page.set_viewport_size({"width": A4_TEXT_WIDTH, "height": 900})
    charts = page.locator("figure.chart:not(.small)").all()
    assert charts
    for chart in charts:
        drawing = chart.locator(".still-wide")
        text = page.locator(".body").bounding_box()
        box = drawing.bounding_box()
        assert text is not None
        assert box is not None
        assert box["width"] == pytest.approx(text["width"], abs=1)
        assert not chart.locator(".still-narrow").is_visible()


def test_a_printed_report_is_vectors_and_real_text(
    opened: Opened, demo_site: Path, tmp_path: Path
) -> None:
    """No picture in the PDF but the club's logo, fonts embedded, and few pages."""
    page = opened(demo_site / "lifters" / "marit" / "time.html")
    pdf = page.pdf(prefer_css_page_size=True, format="A4")
    pages = len(re.findall(rb"/Type\s*/Page\b", pdf))
    assert 2 <= pages <= 7
    assert b"/FontFile2" in pdf or b"/FontFile3" in pdf
    drawn = sum(
        len(re.findall(rb"[\d.-]+ [\d.-]+ l\b", zlib.decompressobj().decompress(stream)))
        for stream in re.findall(rb"/FlateDecode.*?stream\r?\n(.*?)\r?\nendstream", pdf, re.DOTALL)
        if stream[:1] == b"\x78"
    )
    assert drawn > 400  # line segments of a dozen trends
    assert len(re.findall(rb"/Subtype\s*/Image", pdf)) <= 2


@pytest.mark.parametrize("reading", ["lifter", "index"])
def test_no_heading_and_no_head_of_a_table_stands_alone_at_the_foot_of_a_page(
    opened: Opened, demo_site: Path, reading: str
) -> None:
    """The lifts' heading comes with their chart, the head of a table with a row of it."""
    heads = 0
    for path in sorted((demo_site / "lifters").glob(f"*/{reading}.html")):
        page = opened(path)
        lifts = page.locator("#chart-lifts tbody th").all_text_contents()
        changed = page.locator("#change-table tbody th").all_text_contents()
        pages = words_by_page(page.pdf(prefer_css_page_size=True, format="A4"))
        (chart,) = (one for one in pages if "slowandheavy" in one)
        assert "Thelifts,fromfasttoslow" in chart, path
        assert all(squeezed(lift) in chart for lift in lifts), path
        rows = tuple(map(squeezed, changed))
        for words in pages:
            for after in words.split("LiftThenNowChange")[1:]:
                heads += 1
                assert after.startswith(rows), path
    assert heads > 12


def squeezed(text: str) -> str:
    return re.sub(r"\s", "", text)


def test_paper_shows_neither_buttons_nor_menus(opened: Opened, demo_site: Path) -> None:
    page = opened(demo_site / "lifters" / "marit" / "index.html")
    page.locator(".chart-box").first.hover()
    page.wait_for_selector("[data-state=live]")
    page.emulate_media(media="print")
    # Entries of a living chart's legend are buttons; on paper they are its legend.
    for what in (
        "button:not(.chart-key)",
        "nav",
        "select",
        ".chart-live",
        "details:not([open]) > summary",
    ):
        assert [one for one in page.locator(what).all() if one.is_visible()] == [], what
    headings, charts = page.locator("h2").all(), page.locator("figure.chart").all()
    assert headings
    assert charts
    for heading in headings:
        assert heading.evaluate("e => getComputedStyle(e).breakAfter") == "avoid"
    for chart in charts:
        assert chart.evaluate("e => getComputedStyle(e).breakInside") == "avoid"
