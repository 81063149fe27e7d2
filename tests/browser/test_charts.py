"""Charts in a real browser: still first, interactive at the first sign of interest."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page

from profilegen.quick_templates import QuickEnvironment
from profilegen.report.chart import Drawable
from profilegen.report.delivery import (
    csp_single_file,
    csp_site,
    packed_library,
    plotly_library,
)
from profilegen.report.drawn import draw, draw_heat, plots_script
from tests.browser.conftest import Opened
from tests.report.chart_samples import SAMPLES, hostile, qualities

pytestmark = pytest.mark.browser

TEMPLATES = Path(__file__).parents[2] / "templates"

PAGE = """{% import "macros/chart.html" as charts %}<!doctype html>
<html lang="en"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="{{ policy }}"><title>Charts</title>
<style>{{ style | safe }}
body { margin: 0 auto; max-width: 46rem; padding: 1rem; background: var(--paper);
  color: var(--ink); font: 16px/1.5 sans-serif; }
.chart { margin-bottom: 30rem; }</style></head>
<body><main><h1>Charts</h1>
{% for item in items %}{{ charts.chart(item, inline=not plots) }}{% endfor %}
{{ charts.heat(heat) }}</main>
{% if packed -%}
<script type="application/octet-stream" id="plotly-gz">{{ packed }}</script>
{%- endif %}
<script{% if not packed %} data-plotly="{{ library }}"{% endif -%}
{% if plots %} data-charts="{{ plots }}"{% endif %}>{{ script | safe }}</script>
</body></html>"""


def asset(name: str) -> str:
    return (TEMPLATES / "assets" / name).read_text(encoding="utf-8")


def write_page(
    folder: Path, charts: tuple[Drawable, ...], *, single_file: bool = False, plots_file: str = ""
) -> str:
    """A page of charts as a build would write it; its address."""
    environment = QuickEnvironment(TEMPLATES)
    library, script = plotly_library(), asset("charts.js")
    if not single_file:
        (folder / library.name).write_text(library.text, encoding="utf-8")
    page = folder / ("single.html" if single_file else f"site-{charts[0].id}{plots_file}.html")
    text = environment.from_string(PAGE).render(
        policy=csp_single_file([script], library) if single_file else csp_site([script]),
        style=asset("tokens.css") + asset("charts.css"),
        items=[draw(chart) for chart in charts],
        heat=draw_heat(qualities()),
        packed=packed_library(library) if single_file else "",
        library=library.name,
        plots=plots_file,
        script=script,
    )
    page.write_text(text, encoding="utf-8")
    return page.as_uri()


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("charts")


@pytest.fixture(scope="module")
def site(folder: Path) -> str:
    return write_page(folder, SAMPLES)


def figure(page: Page, name: str = "strip") -> Locator:
    return page.locator(f"#chart-{name}")


def wait_live(page: Page, name: str = "strip") -> None:
    page.wait_for_selector(
        f"#chart-{name}[data-state=live] .chart-live svg.main-svg", timeout=20_000
    )


def show_all(page: Page, charts: tuple[Drawable, ...]) -> None:
    for chart in charts:
        figure(page, chart.id).scroll_into_view_if_needed()
        figure(page, chart.id).locator(".chart-box").hover()
        wait_live(page, chart.id)


def test_nothing_is_loaded_before_anyone_is_interested(opened: Opened, site: str) -> None:
    page = opened(site)
    page.mouse.wheel(0, 3000)
    page.wait_for_timeout(200)
    assert page.evaluate("typeof window.Plotly") == "undefined"
    assert page.locator("[data-state]").count() == 0


@pytest.mark.parametrize("width", [1280, 375])
def test_pointing_at_a_chart_makes_it_interactive_and_moves_nothing(
    opened: Opened, site: str, width: int
) -> None:
    """The figure's place, and everything below it, stays to the pixel; no layout shift."""
    page = opened(site, viewport={"width": width, "height": 900})
    page.evaluate(
        """() => { window.shifts = 0; new PerformanceObserver(list => list.getEntries().forEach(
          entry => { window.shifts += entry.value; })).observe({type: "layout-shift"}); }"""
    )
    places = """() => [...document.querySelectorAll("figure, .chart-box, .chart-tools, li")].map(
      element => { const r = element.getBoundingClientRect();
        return [r.x, r.y + scrollY, r.width, r.height]; })"""
    before = page.evaluate(places)
    figure(page).locator(".chart-box").hover()
    wait_live(page)
    page.wait_for_timeout(200)
    assert page.evaluate(places) == before
    assert page.evaluate("window.shifts") == 0


def test_the_plot_lies_over_the_drawing(opened: Opened, site: str) -> None:
    """Marks of the plot stand within a pixel of the drawing's."""
    page = opened(site)
    show_all(page, SAMPLES[:1])
    drawn = page.evaluate(
        """() => [...document.querySelectorAll("#chart-strip .still-wide .row-mark")].flatMap(
          path => [...path.getAttribute("d").matchAll(/M([\\d.]+) ([\\d.]+)/g)].map(([, x, y]) => {
            const spot = new DOMPoint(x, y).matrixTransform(path.getScreenCTM());
            return [spot.x, spot.y]; }))"""
    )
    drawn.sort(key=lambda spot: spot[1])
    plotted = page.evaluate(
        """() => [...document.querySelectorAll("#chart-strip .scatterlayer .points path")].map(
          mark => { const r = mark.getBoundingClientRect();
            return [r.x + r.width / 2, r.y + r.height / 2]; })"""
    )
    assert len(plotted) == len(drawn) == 11
    by_height = sorted(plotted, key=lambda spot: spot[1])
    for (x, y), (other_x, other_y) in zip(drawn, by_height, strict=True):
        assert abs(x - other_x) <= 2  # the middle of a wedge's box lies off its point
        assert abs(y - other_y) <= 1


def test_charts_further_down_wait_until_they_are_near(opened: Opened, site: str) -> None:
    page = opened(site)
    figure(page).locator(".chart-box").hover()
    wait_live(page)
    assert figure(page, "squad").get_attribute("data-state") is None
    figure(page, "squad").scroll_into_view_if_needed()
    wait_live(page, "squad")


def test_the_keyboard_opens_a_chart_and_steps_through_its_values(opened: Opened, site: str) -> None:
    page = opened(site)
    button = figure(page).locator(".chart-explore")
    for _ in range(10):
        page.keyboard.press("Tab")
        if button.evaluate("e => e === document.activeElement"):
            break
    assert button.evaluate("e => getComputedStyle(e).outlineStyle") == "solid"
    page.keyboard.press("Enter")
    wait_live(page)
    assert button.get_attribute("aria-pressed") == "true"
    page.keyboard.press("ArrowRight")
    readout = figure(page).locator(".chart-readout")
    assert readout.inner_text() == "Power snatch · 70 kg (68–72)"
    page.keyboard.press("ArrowRight")
    assert readout.inner_text() == "Snatch · 84.5 kg (83–86)"
    assert figure(page).locator(".hoverlayer .hovertext").count() == 1
    page.keyboard.press("Enter")
    assert button.get_attribute("aria-pressed") == "false"
    assert figure(page).locator(".still-wide").is_visible()


def test_a_tap_opens_a_chart_but_a_scroll_does_not(opened: Opened, site: str) -> None:
    page = opened(site, viewport={"width": 375, "height": 800}, has_touch=True, is_mobile=True)
    page.mouse.wheel(0, 300)
    assert page.evaluate("typeof window.Plotly") == "undefined"
    figure(page).locator(".chart-box").tap()
    wait_live(page)


def test_legend_entries_hide_and_show_kinds_of_evidence(opened: Opened, site: str) -> None:
    page = opened(site)
    figure(page, "trend").scroll_into_view_if_needed()
    figure(page, "trend").locator(".chart-box").hover()
    wait_live(page, "trend")
    entry = figure(page, "trend").locator("button.chart-key", has_text="missed")
    marks = figure(page, "trend").locator(".chart-live .points path")
    count = marks.count()
    entry.focus()
    page.keyboard.press("Enter")
    assert entry.get_attribute("aria-pressed") == "false"
    page.wait_for_function(
        "n => document.querySelectorAll('#chart-trend .chart-live .points path').length < n",
        arg=count,
    )
    page.keyboard.press("Enter")
    page.wait_for_function(
        "n => document.querySelectorAll('#chart-trend .chart-live .points path').length === n",
        arg=count,
    )


def test_the_plot_follows_the_theme(opened: Opened, site: str) -> None:
    page = opened(site, color_scheme="light")
    figure(page).locator(".chart-box").hover()
    wait_live(page)
    colour = """() => getComputedStyle(
      document.querySelector("#chart-strip .chart-live .ytick text")).fill"""
    assert page.evaluate(colour) == "rgb(28, 32, 40)"
    page.evaluate("document.documentElement.dataset.theme = 'dark'")
    page.wait_for_function(f"({colour})() === 'rgb(238, 236, 230)'")
    page.evaluate("document.documentElement.dataset.theme = 'light'")
    page.wait_for_function(f"({colour})() === 'rgb(28, 32, 40)'")
    page.emulate_media(color_scheme="dark")
    page.evaluate("delete document.documentElement.dataset.theme")
    page.wait_for_function(f"({colour})() === 'rgb(238, 236, 230)'")


def test_paper_gets_the_drawing_in_light_colours(opened: Opened, site: str) -> None:
    page = opened(site, color_scheme="dark", viewport={"width": 680, "height": 900})
    figure(page).locator(".chart-box").hover()
    wait_live(page)
    page.emulate_media(media="print")
    assert figure(page).locator(".still-wide").is_visible()
    assert not figure(page).locator(".chart-live").is_visible()
    ink = figure(page).locator(".still-wide text").first.evaluate("e => getComputedStyle(e).fill")
    assert ink in {"rgb(28, 32, 40)", "rgb(71, 78, 91)"}


def test_without_script_everything_can_be_read(opened: Opened, site: str) -> None:
    """Drawings are in sight, tables open, and no button promises what cannot happen."""
    page = opened(site, java_script_enabled=False)
    for chart in SAMPLES:
        assert figure(page, chart.id).locator(".still-wide").is_visible()
        assert not figure(page, chart.id).locator(".chart-explore").is_visible()
    figure(page).locator("summary").click()
    assert figure(page).locator("td", has_text="84.5 kg").is_visible()


@pytest.mark.parametrize("width", [1280, 640, 320])
def test_text_stays_inside_the_drawing_and_legible(opened: Opened, site: str, width: int) -> None:
    """At least 11 px, and nothing reaches out of the picture or makes the page scroll."""
    page = opened(site, viewport={"width": width, "height": 800})
    for chart in SAMPLES:
        rows = figure(page, chart.id).evaluate(
            """figure => [...figure.querySelectorAll(".still-wide, .still-narrow")]
              .filter(svg => svg.getBoundingClientRect().width > 0)
              .flatMap(svg => { const box = svg.getBoundingClientRect();
                const scale = box.width / svg.viewBox.baseVal.width;
                return [...svg.querySelectorAll("text")].map(text => {
                  const r = text.getBoundingClientRect();
                  return [text.textContent, parseFloat(getComputedStyle(text).fontSize) * scale,
                    r.left - box.left, box.right - r.right, box.bottom - r.bottom]; }); })"""
        )
        assert rows
        for text, size, left, right, bottom in rows:
            assert size >= 11, (chart.id, text, size)
            assert min(left, right, bottom) >= -2, (chart.id, text, left, right, bottom)
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_a_single_file_inflates_its_own_plotly(opened: Opened, folder: Path) -> None:
    page = opened(write_page(folder, SAMPLES[:2], single_file=True))
    figure(page).locator(".chart-box").hover()
    wait_live(page)
    assert page.evaluate("document.getElementById('js-plotly-tester').ariaHidden") == "true"


def test_hostile_words_do_nothing(opened: Opened, folder: Path) -> None:
    """Shown in drawing, plot and table; never run; a script address is not followed."""
    charts = hostile()
    page = opened(write_page(folder, charts), viewport={"width": 1280, "height": 1400})
    show_all(page, charts)
    assert page.locator("b").count() == 0
    page.locator("#chart-h4 .chart-live .points path").first.click(force=True)
    page.wait_for_timeout(100)
    assert re.search(r"site-h1\.html$", page.url)


def test_the_box_is_named_and_holds_nothing_to_operate(opened: Opened, site: str) -> None:
    page = opened(site)
    name = "Every lift from fast and light to slow and heavy"
    assert page.get_by_role("img", name=name).count() == 1
    inside = ".chart-box :is(a[href], button, input, [tabindex])"
    assert page.locator(inside).count() == 0


def test_plots_in_a_file_of_their_own_are_found(opened: Opened, folder: Path) -> None:
    """A site page may leave its plots to a script file, which comes with plotly.js."""
    charts = SAMPLES[:2]
    (folder / "plots.js").write_text(plots_script(map(draw, charts)), encoding="utf-8")
    address = write_page(folder, charts, plots_file="plots.js")
    page = opened(address)
    assert page.locator(".chart-spec").count() == 0
    show_all(page, charts)
