"""Typing with the page open: save and see, break and see where, mend and be back."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from profilegen.preview import serve
from tests.squads import TODAY, SmallSquad

pytestmark = pytest.mark.browser

MILLISECONDS = 15_000
"""To wait at most, on a busy machine; the time a rebuild takes is measured in tests/bench/."""


@pytest.fixture
def address(squad: SmallSquad) -> Iterator[str]:
    """Where the preview of three lifters is."""
    stop, ready, said = threading.Event(), threading.Event(), list[str]()

    def say(text: str) -> None:
        said.append(text)
        if text.startswith("http"):
            ready.set()

    def run() -> None:
        serve(squad.folder, port=0, today=lambda: TODAY, say=say, stop=stop)

    thread = threading.Thread(target=run)
    thread.start()
    assert ready.wait(30)
    yield next(text for text in said if text.startswith("http")).split()[0]
    stop.set()
    thread.join(20)
    assert not thread.is_alive()


@pytest.fixture
def page(chromium: Browser) -> Iterator[Page]:
    """Every complaint fails the test, a broken policy's among them."""
    with chromium.new_context() as context:
        page = context.new_page()
        complaints: list[str] = []
        page.on("console", lambda message: complaints.append(message.text))
        page.on("pageerror", lambda error: complaints.append(str(error)))
        yield page
        assert complaints == []


def snatch_in(page: Page) -> str:
    return page.locator(".figures li", has_text="Snatch").first.locator("b").inner_text()


def edit(file: Path, old: str, new: str) -> None:
    text = file.read_text()
    assert old in text
    file.write_text(text.replace(old, new))


def test_a_save_shows_the_new_number_by_itself(squad: SmallSquad, address: str, page: Page) -> None:
    page.goto(f"{address}lifters/ann/index.html")
    before = snatch_in(page)
    edit(squad.folder / "ann.yaml", "kg: 78", "kg: 86")
    figure = page.locator(".figures li", has_text="Snatch").first.locator("b")
    expect(figure).not_to_have_text(before, timeout=MILLISECONDS)
    assert float(snatch_in(page).split()[0]) > float(before.split()[0])


def test_a_broken_file_is_shown_with_its_line_and_mended_the_page_is_back(
    squad: SmallSquad, address: str, page: Page
) -> None:
    ann = squad.folder / "ann.yaml"
    page.goto(f"{address}lifters/ann/index.html")
    edit(ann, "kg: 78", "kg: many")
    expect(page.locator("li").first).to_contain_text("ann.yaml:10:", timeout=MILLISECONDS)
    expect(page.locator("h1")).to_have_text("Something to mend")
    edit(ann, "kg: many", "kg: 78")
    expect(page.locator("h1")).to_have_text("Ann", timeout=MILLISECONDS)
    assert page.url == f"{address}lifters/ann/index.html"


def test_a_new_lifter_appears_on_the_open_squad_page(
    squad: SmallSquad, address: str, page: Page
) -> None:
    page.goto(address)
    expect(page.locator(".cards > li")).to_have_count(3)
    squad.add("dora", "Dora", snatch=70)
    expect(page.locator(".cards > li")).to_have_count(4, timeout=MILLISECONDS)


def test_charts_work_in_the_preview_as_on_the_site(address: str, page: Page) -> None:
    page.goto(f"{address}lifters/ann/index.html")
    figure = page.locator("figure[data-chart]").first
    figure.locator(".chart-explore").click()
    expect(figure).to_have_attribute("data-state", "live", timeout=MILLISECONDS)
