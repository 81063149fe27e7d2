"""The reading test of DEVELOPERS.md: what is above the fold on a phone.

For five lifters, what a reader should be able to say after ten seconds, and where it stands.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.browser.conftest import Opened

pytestmark = pytest.mark.browser

PHONE = {"width": 375, "height": 667}

READING = {
    "marit": ("strength overhead", "clear", "total would grow"),
    "amara": ("even", "clear", ""),
    "kofi": ("leg strength", "clear", "total would grow"),
    "dario": ("too early to say", "too few lifts", "three different lifts"),
    "farid": ("getting under the snatch", "", "total would grow"),
}
"""The answer, how sure and what it would be worth: the story that the comment at the top of
each demo file tells. Dario's five numbers name no weakness."""
UNKNOWN = {"dario"}
"""Of whom too little is known for a chance."""


@pytest.mark.parametrize("reading", ["index", "lifter"])
@pytest.mark.parametrize("lifter", READING)
def test_the_answer_is_above_the_fold(
    opened: Opened, demo_site: Path, lifter: str, reading: str
) -> None:
    """Who, what holds them back, how sure, what it would be worth, and the three numbers."""
    page = opened(demo_site / "lifters" / lifter / f"{reading}.html", viewport=PHONE)
    answer, sure, worth = READING[lifter]
    parts = {
        "h1": "",
        ".verdict .sentence": answer,
        **({} if lifter in UNKNOWN else {".verdict .plates": ""}),
        ".verdict .sure": sure,
        ".verdict .worth": worth,
        ".figures li:first-child": "kg",
        ".figures li:last-child b": "kg",
    }
    for where, words in parts.items():
        part = page.locator(where)
        box = part.bounding_box()
        assert box is not None, where
        assert box["y"] >= 0, where
        assert box["y"] + box["height"] <= PHONE["height"], (where, box)
        said = part.inner_text().casefold()
        assert words in said, (where, said)


def test_five_numbers_make_nothing_clear(opened: Opened, demo_site: Path) -> None:
    """Nobody may leave Dario's page after ten seconds with a weakness in mind."""
    page = opened(demo_site / "lifters" / "dario" / "index.html", viewport=PHONE)
    said = page.locator(".verdict").inner_text().casefold()
    assert "clear" not in said
    assert "chance" not in said
    assert page.locator(".plates").count() == 0
