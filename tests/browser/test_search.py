"""A large squad's first page, from disk: whoever is looked for is found."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from profilegen.build.site import build_site
from profilegen.report import squad_parts
from tests.browser.conftest import Opened
from tests.squads import TODAY, SmallSquad

pytestmark = pytest.mark.browser

NAMES = ("Åsa Øst", "Ann Lee", "Anne Marie Lee", "Bo <i>Li</i>", "Zoë Roşu")


@pytest.fixture
def directory(squad: SmallSquad, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(squad_parts, "MOST_ON_A_PAGE", 3)
    for number, name in enumerate(NAMES):
        file = squad.add(f"lifter-{number}", name=name)
        file.write_text(file.read_text() + "group: Juniors\n")
    build_site(squad.folder, tmp_path / "site", today=TODAY, jobs=1)
    return tmp_path / "site" / "index.html"


def found(page: Page, text: str) -> list[str]:
    page.get_by_label("Find a lifter").fill(text)
    return page.locator(".found a").all_inner_texts()


def test_a_lifter_is_found_by_any_word_and_without_accents(directory: Path, opened: Opened) -> None:
    page = opened(directory)
    assert found(page, "") == []
    assert found(page, "asa") == ["Åsa Øst"]
    assert found(page, "LEE ann") == ["Ann Lee", "Anne Marie Lee"]
    assert found(page, "ann lee jun") == ["Ann Lee", "Anne Marie Lee"]
    assert found(page, "rosu") == ["Zoë Roşu"]
    assert found(page, "bo") == ["Bo <i>Li</i>"]
    assert found(page, "ee") == []
    assert page.locator("#search output").inner_text() == "0 of 0 shown"
    found(page, "zoë")
    page.keyboard.press("Enter")
    page.wait_for_url("**/lifters/lifter-4/index.html")


def test_without_script_the_lists_hold_everyone(directory: Path, chromium: Browser) -> None:
    page = chromium.new_context(java_script_enabled=False).new_page()
    page.goto(directory.as_uri())
    assert not page.locator("#search").is_visible()
    names: set[str] = set()
    for link in page.locator("#by-group th a").all():
        page_of_part = page.context.new_page()
        page_of_part.goto((directory.parent / str(link.get_attribute("href"))).as_uri())
        names |= set(page_of_part.locator(".cards h3").all_inner_texts())
    assert names == {*NAMES, "Ann", "Bea", "Cleo"}
    page.context.close()
