"""The squad page at work: groups and classes picked out, lifters side by side."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import Opened

pytestmark = pytest.mark.browser


@pytest.fixture
def squad(opened: Opened, demo_site: Path) -> Page:
    return opened(demo_site / "index.html")


def names(page: Page, where: str) -> list[str]:
    return [one.inner_text() for one in page.locator(where).all() if one.is_visible()]


def test_a_group_is_picked_out_everywhere(squad: Page) -> None:
    """Cards, tables and lists show the same lifters, and how many is said aloud."""
    squad.locator("#group").select_option("juniors")
    cards = names(squad, ".cards h3")
    assert set(cards) == {"Dario Pellicani", "Kofi Adomensah", "Priya Ramanayak"}
    assert names(squad, "#squad-table tbody th a") == cards
    known = [name for name in cards if name != "Dario Pellicani"]
    assert names(squad, "#chart-squad-qualities tbody th a") == known, "too little known of him"
    assert set(names(squad, ".shared li a")) == set(cards)
    assert squad.locator("#filter output").inner_text() == "3 of 15 shown"
    squad.locator("#group").select_option("")
    assert len(names(squad, ".cards h3")) == 15


def test_a_part_of_a_group_counts_the_lifters_that_are_shown(squad: Page) -> None:
    """Kofi is a junior, Inês, whose legs are weak as well, is not."""
    part = squad.locator(".shared > div", has=squad.get_by_text("Leg strength", exact=True))
    assert part.locator("p").inner_text() == "2 lifters"
    squad.locator("#group").select_option("juniors")
    assert len([one for one in part.locator("li").all() if one.is_visible()]) == 1
    assert part.locator("p").inner_text() == "1 of 2 shown"
    squad.locator("#group").select_option("")
    assert part.locator("p").inner_text() == "2 lifters"


def test_a_choice_that_leaves_nobody_says_so_over_no_empty_sections(squad: Page) -> None:
    before = names(squad, ".body > section > h2")
    squad.locator("#class").select_option("women 58 kg")
    squad.locator("#group").select_option("juniors")
    assert "Nobody is in this group and class" in squad.locator("#filter output").inner_text()
    # what is left shows the whole squad, whoever is picked out
    assert names(squad, ".body > section > h2") == [
        "Two lifters side by side",
        "Total and body mass",
    ]
    assert names(squad, ".contents a") == names(squad, ".body > section > h2")
    squad.locator("#group").select_option("")
    squad.locator("#class").select_option("")
    assert names(squad, ".body > section > h2") == before


def test_a_group_and_a_class_work_together(squad: Page) -> None:
    squad.locator("#class").select_option("women 58 kg")
    assert set(names(squad, ".cards h3")) == {"Amara Nwobiri", "Yuki Hanamori"}
    squad.locator("#group").select_option("juniors")
    assert names(squad, ".cards h3") == []


def test_two_lifters_stand_side_by_side(squad: Page) -> None:
    """As chosen, left and right, on one scale."""
    heads = "#side-by-side thead th"
    assert names(squad, f"{heads} a") == ["Amara Nwobiri", "Bram Oosterveld"]
    squad.locator("#side-1").select_option(label="Otto Lindqvarn, now")
    squad.locator("#side-2").select_option(label="Marit Skogheim, now")
    assert names(squad, f"{heads} a") == ["Otto Lindqvarn", "Marit Skogheim"]
    row = squad.locator("#side-by-side tr", has=squad.get_by_text("Snatch", exact=True))
    cells = row.locator("td:visible").all()
    kilos = [float(cell.inner_text().split()[0]) for cell in cells]
    bars = [cell.locator("i").evaluate("e => parseFloat(e.style.width)") for cell in cells]
    assert bars[0] / bars[1] == pytest.approx(kilos[0] / kilos[1], rel=0.02)


def test_one_lifter_then_and_now(squad: Page) -> None:
    squad.locator("#side-1").select_option(label="Kofi Adomensah, now")
    squad.locator("#side-2").select_option(label="Kofi Adomensah, Summer 2026")
    heads = [one.inner_text() for one in squad.locator("#side-by-side thead th:visible").all()]
    assert [head.split("\n")[-1].split()[-1] for head in heads] == ["now", "2026"]
    for lift in ("Snatch", "Clean and jerk", "Total"):
        row = squad.locator("#side-by-side tbody tr", has=squad.get_by_text(lift, exact=True))
        now, then = (float(one.inner_text().split()[0]) for one in row.locator("td:visible").all())
        assert now > then  # a boy of fifteen grows


def test_without_script_every_column_is_there(opened: Opened, demo_site: Path) -> None:
    page = opened(demo_site / "index.html", java_script_enabled=False)
    assert len(names(page, "#side-by-side thead th a")) >= 15
    assert names(page, "select") == []


def test_the_clubs_logo_stands_beside_its_name(opened: Opened, demo_site: Path) -> None:
    """As a picture that the stylesheet carries; never as markup of the page."""
    page = opened(demo_site / "index.html")
    picture = page.locator(".club").evaluate("e => getComputedStyle(e, '::before').backgroundImage")
    assert picture.startswith('url("data:image/svg+xml;base64,')
    assert "<svg" not in page.locator(".masthead").inner_html()
