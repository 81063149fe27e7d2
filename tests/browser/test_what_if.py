"""The sliders in a real browser: the same numbers as the engine, for every reader."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from profilegen.engine.assess import profile_of
from profilegen.engine.profile import Profile
from profilegen.engine.what_if import Moved, moved
from profilegen.history.load import load_squad
from profilegen.norms.catalogue import QUALITIES, load_norms, with_own_lifts
from tests.browser.conftest import Opened
from tests.squads import DEMO, TODAY

pytestmark = pytest.mark.browser

LIFTERS = ("mateo", "helga", "soren")
"""Much known, something avoided, hearsay only."""

SET = """([id, value]) => {
  const slider = document.getElementById(id);
  slider.value = value;
  slider.dispatchEvent(new Event("input", { bubbles: true }));
  return Number(slider.value);
}"""


@cache
def profile(lifter: str) -> Profile:
    squad = load_squad(DEMO, load_norms().lifts, today=TODAY)
    norms = with_own_lifts(load_norms(), squad.club.own_lifts)
    (athlete,) = (one for one in squad.athletes if one.id == lifter)
    assert squad.latest_session_on is not None
    return profile_of(athlete, norms, squad.latest_session_on, squad.club)


def plan_of(opened: Opened, site: Path, lifter: str) -> Page:
    return opened(site / "lifters" / lifter / "plan.html")


def shown(page: Page, slider: str) -> float:
    return float(page.locator(f'output[for="{slider}"]').get_attribute("data-value") or "nan")


def agree(page: Page, lifter: str, expected: Moved) -> None:
    """Every lift and the total to 0.1 kg, every chance to a hundredth."""
    what_if = profile(lifter).what_if
    assert what_if is not None
    for lift, kg in zip(what_if.lifts, expected.lifts_kg, strict=True):
        assert shown(page, f"what-if-{lift}") == pytest.approx(kg, abs=0.1), lift
    total = page.locator("#what-if-total").get_attribute("data-value")
    assert float(total or "nan") == pytest.approx(expected.total_kg, abs=0.1)
    chances = (page.locator("#what-if-limiter").get_attribute("data-value") or "").split(",")
    # the draws are rounded in the page; one of 64 may change sides
    assert [float(one) for one in chances] == pytest.approx(list(expected.chances), abs=0.05)


@pytest.mark.parametrize("lifter", LIFTERS)
def test_browser_and_engine_agree_to_a_tenth_of_a_kilo(
    opened: Opened, demo_site: Path, lifter: str
) -> None:
    page = plan_of(opened, demo_site, lifter)
    what_if = profile(lifter).what_if
    assert what_if is not None
    agree(page, lifter, moved(what_if))
    for lift in what_if.lifts:
        for share in (0.95, 1.04):
            asked = share * profile(lifter).lifts[lift].estimate_kg
            kg = page.evaluate(SET, [f"what-if-{lift}", asked])
            assert kg == pytest.approx(asked, abs=0.26)
            agree(page, lifter, moved(what_if, held=(lift, kg)))
    page.get_by_role("button", name="Back to today").click()
    agree(page, lifter, moved(what_if))
    shifts: dict[int, float] = {}
    for k, (quality, by) in enumerate(
        zip(QUALITIES, (0.5, -1.0, 2.0, 0.3, 0.7, -0.2), strict=True)
    ):
        page.evaluate(SET, [f"what-if-{quality}", by])
        shifts[k] = by
        agree(page, lifter, moved(what_if, shifts=shifts))
    kg = page.evaluate(SET, ["what-if-snatch", profile(lifter).lifts["snatch"].estimate_kg])
    agree(page, lifter, moved(what_if, held=("snatch", kg), shifts=shifts))


def test_at_first_the_sliders_say_what_the_report_says(opened: Opened, demo_site: Path) -> None:
    page = plan_of(opened, demo_site, "mateo")
    report = opened(demo_site / "lifters" / "mateo" / "index.html")
    total = page.locator("#what-if-total").inner_text()
    assert total in report.locator(".figures").inner_text()


TEXTS = "() => [...document.querySelectorAll('.what-if output')].map((one) => one.textContent)"


def test_untouched_sliders_show_what_the_page_was_built_with(
    opened: Opened, chromium: Browser, demo_site: Path
) -> None:
    """Every lifter: the script changes no text before a slider moves, nor after the way back."""
    context = chromium.new_context(java_script_enabled=False)
    plans = sorted((demo_site / "lifters").glob("*/plan.html"))
    # of whom too little is known there is nothing to move
    moving = [path for path in plans if 'id="what-if"' in path.read_text(encoding="utf-8")]
    assert len(moving) >= 13
    for path in moving:
        built = context.new_page()
        built.goto(path.as_uri())
        texts = built.locator(".what-if output").all_text_contents()
        built.close()
        page = opened(path)
        assert page.evaluate(TEXTS) == texts, path
        page.evaluate(SET, ["what-if-speed", 2.0])
        assert page.evaluate(TEXTS) != texts, path
        page.get_by_role("button", name="Back to today").click()
        assert page.evaluate(TEXTS) == texts, path
    context.close()


@pytest.mark.parametrize("lifter", LIFTERS)
def test_untouched_sliders_have_the_chances_of_the_verdict(
    opened: Opened, demo_site: Path, lifter: str
) -> None:
    page = plan_of(opened, demo_site, lifter)
    chances = (page.locator("#what-if-limiter").get_attribute("data-value") or "").split(",")
    known = profile(lifter)
    expected = [known.qualities[quality].chance_limiting for quality in QUALITIES]
    assert [float(one) for one in chances] == pytest.approx(
        [*expected, known.chance_even], abs=1e-5
    )


def test_arrow_keys_move_a_slider_and_everything_follows(opened: Opened, demo_site: Path) -> None:
    page = plan_of(opened, demo_site, "mateo")
    before = shown(page, "what-if-clean")
    slider = page.get_by_role("slider", name="Front squat")
    slider.focus()
    for _ in range(6):
        page.keyboard.press("ArrowRight")
    assert shown(page, "what-if-clean") != before
    text = page.locator('output[for="what-if-front_squat"]').inner_text()
    assert slider.get_attribute("aria-valuetext") == text


def test_every_slider_has_a_name_and_every_result_is_read_out(
    opened: Opened, demo_site: Path
) -> None:
    page = plan_of(opened, demo_site, "mateo")
    sliders = page.get_by_role("slider")
    for i in range(sliders.count()):
        slider = sliders.nth(i)
        assert page.locator(f'label[for="{slider.get_attribute("id")}"]').inner_text().strip()
    assert page.locator(".what-if-results[aria-live=polite]").count() == 1


def test_without_scripts_a_sentence_stands_in(chromium: Browser, demo_site: Path) -> None:
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto((demo_site / "lifters" / "mateo" / "plan.html").as_uri())
    assert page.get_by_text("The sliders need JavaScript.").is_visible()
    assert not page.locator(".what-if-moving").is_visible()
    context.close()


def test_on_paper_there_are_no_sliders(opened: Opened, demo_site: Path) -> None:
    page = plan_of(opened, demo_site, "mateo")
    page.emulate_media(media="print")
    assert not page.locator(".what-if").is_visible()
    assert page.locator("#meet-warm-up").is_visible()


def test_nothing_is_wider_than_a_small_phone(opened: Opened, demo_site: Path) -> None:
    page = opened(
        demo_site / "lifters" / "mateo" / "plan.html", viewport={"width": 320, "height": 700}
    )
    assert page.evaluate("document.documentElement.scrollWidth") <= 320


def test_the_plan_keeps_to_the_budget_of_a_page(demo_site: Path) -> None:
    plans = list((demo_site / "lifters").glob("*/plan.html"))
    assert plans
    for page in plans:
        assert page.stat().st_size < 95_000
