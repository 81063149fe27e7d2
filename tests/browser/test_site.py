"""The demo squad's site in a real browser, opened from disk as a coach would open it."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import unquote, urldefrag, urlsplit

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import Opened
from tests.browser.survey import LOOKS, Survey, pages_of, survey_of

pytestmark = pytest.mark.browser

TALL = {"width": 1280, "height": 4000}
TOP = "(element) => element.getBoundingClientRect().top"
SHOWN = "(all) => all.map((one) => getComputedStyle(one).contentVisibility)"
SCRIPTS = "[...document.scripts].map((script) => script.src)"


@pytest.fixture(scope="module")
def survey(demo_site: Path, chromium: Browser) -> Survey:
    """Every page, light, dark, on paper and on phones; see tests/browser/survey.py."""
    return survey_of(demo_site, chromium)


def test_every_page_was_looked_at_in_every_way(survey: Survey, demo_site: Path) -> None:
    """Otherwise the tests below would have nothing to say."""
    pages = {page.relative_to(demo_site).as_posix() for page in pages_of(demo_site)}
    assert len(pages) >= 2 + 15 * 5
    ways = {"desk light", "desk dark", "print", "phone", "narrowest"}
    assert {(look.page, look.way) for look in survey.looks} == {(p, w) for p in pages for w in ways}
    assert all(look.texts > 20 for look in survey.looks)


def test_no_page_complains(survey: Survey) -> None:
    """No console message, no error, no failed request."""
    assert survey.complaints == []


def test_every_request_is_for_a_file_of_the_site(survey: Survey, demo_site: Path) -> None:
    inside = demo_site.as_uri() + "/"
    outside = {url for url in survey.asked_for if not url.startswith((inside, "data:", "blob:"))}
    assert outside == set()


def test_nothing_scrolls_sideways(survey: Survey) -> None:
    """Down to 320 CSS pixels, everything opened: WCAG 2.2, success criterion 1.4.10 (Reflow)."""
    assert survey.found("overhang") == []


@pytest.mark.parametrize(
    ("page_name", "tables"),
    [("lifter", "#change .table-box"), ("plan", ".table-box:has([id$=warm-up])")],
)
def test_changes_and_warm_ups_fit_on_a_phone(
    opened: Opened, demo_site: Path, page_name: str, tables: str
) -> None:
    """Then and now with its verdict, and the table for the warm-up room: nothing is cut off."""
    boxes = 0
    for path in sorted((demo_site / "lifters").glob(f"*/{page_name}.html")):
        page = opened(path, viewport={"width": 375, "height": 700})
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        for box in page.locator(tables).all():
            boxes += 1
            assert box.evaluate("e => e.scrollWidth - e.clientWidth") == 0, path
    assert boxes > 12


def test_no_text_is_smaller_than_eleven_pixels(survey: Survey) -> None:
    """In pages and in drawings, on paper and on the narrowest phone."""
    assert survey.found("small") == []


def test_every_text_stands_out_from_what_is_behind_it(survey: Survey) -> None:
    """Light, dark and on paper, in SVG too: WCAG 2.2, success criterion 1.4.3, level AA."""
    assert survey.found("contrast") == []


def test_pale_small_and_overhanging_text_would_be_found(opened: Opened, tmp_path: Path) -> None:
    """The tests above can fail. By WCAG's definition #777 on white is 4.48 to 1, #767676 is
    4.54, and half of black over white mixes to #808080, 3.95."""
    page = tmp_path / "page.html"
    page.write_text(
        """<!doctype html><title>x</title><style>* { font: 16px sans-serif; }</style>
        <p style="color:#777">just short</p> <p style="color:#767676">enough</p>
        <p style="color:#949494; font-size: 24px">large</p>
        <p style="color:rgb(0 0 0 / 50%)">half</p>
        <div style="background:#000"><p style="color:#222">dark on dark</p></div>
        <p style="font-size:10px; width:3000px">tiny</p>
        <svg viewBox="0 0 100 40" width="50"><rect width="100" height="20" fill="#333"/>
        <text y="15" fill="#444" font-size="20">on a shape</text></svg>""",
        encoding="utf-8",
    )
    looks = opened(page).evaluate(f"{LOOKS}; window.looks()")
    words = [one.split('"')[1] for one in looks["contrast"]]
    assert words == ["just short", "half", "dark on dark", "on a shape"]
    ratios = [float(one.split(" ")[0]) for one in looks["contrast"]]
    assert ratios[:2] == pytest.approx([4.48, 3.95], abs=0.06)  # eight bits of alpha
    assert [one.split('"')[1] for one in looks["small"]] == ["tiny", "on a shape"]
    assert looks["overhang"]


def test_every_link_inside_the_site_leads_somewhere(survey: Survey, demo_site: Path) -> None:
    inside = {target for target in survey.links if target.startswith("file:")}
    assert len(inside) > len(survey.anchors)
    for target in inside:
        address, anchor = urldefrag(target)
        file = Path(unquote(urlsplit(address).path))
        assert file.is_relative_to(demo_site), target
        assert file.is_file(), target
        assert not anchor or unquote(anchor) in survey.anchors[address], target
    assert all(target.startswith(("https://", "http://")) for target in survey.links - inside)


def test_every_page_can_be_reached_from_the_first(survey: Survey, demo_site: Path) -> None:
    """Nothing lies in the site that nobody finds."""
    targets = {urldefrag(target).url for target in survey.links}
    assert {page.as_uri() for page in pages_of(demo_site)} - targets == set()


def test_everything_can_be_read_without_script(chromium: Browser, demo_site: Path) -> None:
    """The verdict, how sure it is, and a drawing and a table for every chart."""
    context = chromium.new_context(
        viewport={"width": 375, "height": 900}, java_script_enabled=False
    )
    page = context.new_page()
    for file in pages_of(demo_site):
        if file.parent == demo_site:
            continue
        page.goto(file.as_uri())
        assert page.locator(".verdict .sentence").inner_text().strip(), page.url
        if file.name in {"index.html", "lifter.html"}:
            assert page.locator(".verdict .sure").is_visible(), page.url
        if file.name in {"index.html", "lifter.html", "compare.html", "time.html"}:
            assert page.locator("figure.chart").count(), page.url
        for chart in page.locator("figure.chart").all():
            name = f"{page.url}#{chart.get_attribute('id')}"
            assert chart.locator("table").count(), name
            if chart.is_visible():  # the others are one click away, in closed details
                assert any(svg.is_visible() for svg in chart.locator("svg").all()), name
    context.close()


def test_a_chart_comes_alive_with_the_library_that_ships(opened: Opened, demo_site: Path) -> None:
    """The first sign of interest loads plotly.js from the site itself, under its own policy."""
    page = opened(demo_site / "lifters" / "farid" / "index.html")
    chart = page.locator("figure.chart").first
    chart.scroll_into_view_if_needed()
    assert page.evaluate("typeof window.Plotly") == "undefined"
    chart.locator(".chart-box").hover()
    page.wait_for_selector(".chart-live svg.main-svg", timeout=20_000)
    library = [address for address in page.evaluate(SCRIPTS) if "/plotly-" in address]
    assert len(library) == 1
    assert library[0].startswith((demo_site / "assets").as_uri())


def alive(page: Page) -> None:
    """Bring every chart of a page to life."""
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    for chart in page.locator("figure[data-chart]").all():
        chart.scroll_into_view_if_needed()
        chart.locator(".chart-box").hover()
    page.wait_for_function(
        """[...document.querySelectorAll("figure[data-chart]")].every(
          (figure) => figure.dataset.state === "live")""",
        timeout=30_000,
    )


@pytest.mark.parametrize("page_name", ["index", "compare", "time"])
def test_every_form_of_chart_comes_alive_as_legible_as_it_was_drawn(
    opened: Opened, demo_site: Path, page_name: str
) -> None:
    """Text that plotly draws has the same sizes and enough contrast, light and dark."""
    page = opened(demo_site / "lifters" / "marit" / f"{page_name}.html", color_scheme="dark")
    page.evaluate(LOOKS)
    alive(page)
    for scheme in ("dark", "light"):
        page.emulate_media(color_scheme=scheme)
        page.wait_for_timeout(800)
        looks = page.evaluate("window.looks()")
        assert (looks["contrast"], looks["small"], looks["overhang"]) == ([], [], []), scheme


def test_from_the_squad_page_to_a_report_and_back(opened: Opened, demo_site: Path) -> None:
    page = opened(demo_site / "index.html")
    page.locator(".cards h3 a").first.click()
    assert page.locator("h1").inner_text()
    assert "/lifters/" in page.url
    page.locator("nav a").first.click()
    assert page.url == (demo_site / "index.html").as_uri()


def test_tabs_lead_through_the_parts_of_a_report(opened: Opened, demo_site: Path) -> None:
    """From any part to any other, and the one that is open says so."""
    page = opened(demo_site / "lifters" / "farid" / "index.html")
    for title in ("Compared", "Over time", "Evidence", "Report"):
        page.locator(".tabs a", has_text=title).click()
        assert page.locator(".tabs a[aria-current=page]").inner_text() == title
    page.locator(".tabs a", has_text="Evidence").click()
    page.locator(".more a").first.click()
    assert "Rows from" in page.locator("h2").first.inner_text()
    assert page.locator(".tabs a[aria-current=page]").inner_text() == "Evidence"


def test_one_legend_hides_a_kind_of_evidence_in_all_small_charts(
    opened: Opened, demo_site: Path
) -> None:
    """Also in those that come alive after it was hidden."""
    page = opened(demo_site / "lifters" / "marit" / "time.html", viewport=TALL)
    page.locator("#chart-time-power_clean .chart-box").hover()
    page.wait_for_selector("#chart-time-power_clean[data-state=live]")
    marks = page.locator("#chart-time-power_clean .chart-live .points path")
    before = marks.count()
    key = page.locator("#others button.chart-key", has_text="to the limit")
    key.click()
    assert key.get_attribute("aria-pressed") == "false"
    page.wait_for_function(
        """n => document.querySelectorAll(
          "#chart-time-power_clean .chart-live .points path").length < n""",
        arg=before,
    )
    page.locator("#chart-time-press .chart-box").hover()
    page.wait_for_selector("#chart-time-press[data-state=live]")
    assert page.locator("#chart-time-press .chart-live .points path").count() == 0
    key.click()
    page.wait_for_function(
        """n => document.querySelectorAll(
          "#chart-time-power_clean .chart-live .points path").length === n""",
        arg=before,
    )


@pytest.mark.parametrize("width", [1280, 375])
def test_a_link_to_a_section_leads_to_its_heading(
    opened: Opened, demo_site: Path, width: int
) -> None:
    """Also right after loading, when sections far below are not laid out yet."""
    report = demo_site / "lifters/marit/index.html"
    for place in ("lifts", "emphasis", "change"):
        size = {"width": width, "height": 700}
        page = opened(f"{report.as_uri()}#{place}", viewport=size)
        page.wait_for_timeout(300)
        assert abs(page.locator(f"#{place}").evaluate(TOP) - 16) <= 2
        page.evaluate("scrollTo(0, 0)")
        page.evaluate("document.querySelector('.contents a[href=\"#cautions\"]').click()")
        page.wait_for_timeout(100)
        assert 0 <= page.locator("#cautions-title").evaluate(TOP) < 700


def test_the_whole_page_is_laid_out_soon(opened: Opened, demo_site: Path) -> None:
    """So that its length, and what a search or a reader of screens finds, are no guesses."""
    for path in ("index.html", "lifters/marit/index.html"):
        page = opened(demo_site / path)
        sections = page.locator(".body > section + section")
        assert sections.count() > 5
        expect(page.locator(".body > section + section:not(.laid-out)")).to_have_count(0)
        assert set(sections.evaluate_all(SHOWN)) == {"visible"}
