"""A locked report in a real browser: from a host's subfolder, from disk, and as one file."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from profilegen.publish.keys import add_keys, read_keys
from profilegen.publish.site import publish_site
from tests.browser.conftest import ARGUMENTS
from tests.browser.serving import hosted
from tests.squads import TODAY, SmallSquad

pytestmark = pytest.mark.browser

SECONDS = 20_000
"""Milliseconds to wait at most: 600,000 rounds take a tenth of a second on a quiet machine."""


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str, str]:
    """A host's root with the copy in /club/site, the locked page's place in it, its words."""
    folder = tmp_path_factory.mktemp("host")
    squad = SmallSquad(folder / "athletes")
    squad.add("ann", snatch=78)
    bea = squad.add("bea", "Bea Testname", snatch=84)
    bea.write_text(bea.read_text().replace("report: open, squad: name", "report: locked"))
    add_keys(squad.folder, ["bea"])
    ring = read_keys(squad.folder)
    site = folder / "root/club/site"
    publish_site(squad.folder, site, today=TODAY, jobs=1, one_file=True)
    return folder / "root", ring.page_name("bea"), ring.lifters["bea"].passphrase


@pytest.fixture
def page(chromium: Browser) -> Iterator[Page]:
    """A page whose every complaint fails the test, a broken policy's among them."""
    with chromium.new_context(viewport={"width": 1280, "height": 900}) as context:
        page = context.new_page()
        complaints: list[str] = []
        page.on("console", lambda message: complaints.append(message.text))
        page.on("pageerror", lambda error: complaints.append(str(error)))
        yield page
        assert complaints == []


def unlock(page: Page, words: str) -> None:
    page.get_by_label("Passphrase").fill(words)
    page.get_by_role("button", name="Unlock").click()


def check_unlocked(page: Page) -> None:
    """The report is there, and its first chart comes alive."""
    expect(page.locator(".verdict .sure")).to_be_visible(timeout=SECONDS)
    assert page.locator("#locked").count() == 0
    expect(page.locator("h1")).to_have_text("B. T.")
    figure = page.locator("figure[data-chart]").first
    assert figure.locator(".chart-still svg").first.is_visible()
    figure.locator(".chart-explore").click()
    expect(figure).to_have_attribute("data-state", "live", timeout=SECONDS)
    assert figure.locator(".chart-live svg.main-svg").count() > 0


def from_host(club: tuple[Path, str, str], page: Page, port: int) -> None:
    page.goto(f"http://127.0.0.1:{port}/club/site/lifters/{club[1]}/index.html")


class TestFromAHost:
    @pytest.fixture(autouse=True)
    def _open(self, club: tuple[Path, str, str], page: Page) -> Iterator[None]:
        with hosted(club[0]) as port:
            from_host(club, page, port)
            yield

    def test_the_passphrase_shows_the_report_and_its_charts(
        self, club: tuple[Path, str, str], page: Page
    ) -> None:
        assert page.locator("figure").count() == 0
        unlock(page, club[2])
        check_unlocked(page)

    def test_a_wrong_one_says_so_and_the_right_one_still_opens(
        self, club: tuple[Path, str, str], page: Page
    ) -> None:
        unlock(page, club[2] + " zebra")
        says = page.locator(".lock-says")
        expect(says).to_contain_text("does not open this report", timeout=SECONDS)
        assert page.locator("figure").count() == 0
        unlock(page, club[2].title().replace(" ", "-"))
        check_unlocked(page)

    def test_enter_unlocks_and_the_keyboard_goes_on_in_the_report(
        self, club: tuple[Path, str, str], page: Page
    ) -> None:
        page.get_by_label("Passphrase").fill(club[2])
        page.keyboard.press("Enter")
        expect(page.locator(".verdict .sure")).to_be_visible(timeout=SECONDS)
        assert page.evaluate("document.activeElement.id") == "content"

    def test_what_is_typed_can_be_shown(self, page: Page) -> None:
        field = page.locator("#passphrase")
        assert field.get_attribute("type") == "password"
        page.get_by_label("Show what I type").check()
        assert field.get_attribute("type") == "text"

    def test_nothing_secret_is_kept(self, club: tuple[Path, str, str], page: Page) -> None:
        """After a reload the page is locked again."""
        unlock(page, club[2])
        expect(page.locator(".verdict .sure")).to_be_visible(timeout=SECONDS)
        stored = "JSON.stringify([{...localStorage}, {...sessionStorage}, document.cookie])"
        assert club[2].split()[0] not in page.evaluate(stored)
        page.reload()
        expect(page.locator("#locked")).to_be_visible()

    def test_links_of_the_unlocked_report_work(
        self, club: tuple[Path, str, str], page: Page
    ) -> None:
        unlock(page, club[2])
        page.locator(".contents a").last.click(timeout=SECONDS)
        target = page.url.rpartition("#")[2]
        assert page.locator(f"[id='{target}']").is_visible()
        page.get_by_role("link", name="Squad").click()
        expect(page.locator("body")).to_have_class("squad")


def test_from_disk(club: tuple[Path, str, str], page: Page) -> None:
    page.goto((club[0] / "club/site/lifters" / club[1] / "index.html").as_uri())
    unlock(page, club[2])
    check_unlocked(page)


def test_as_one_file_somewhere_else(
    club: tuple[Path, str, str], page: Page, tmp_path: Path
) -> None:
    """As an attachment that was saved: no other file is there."""
    shutil.copy(club[0] / "club/site/lifters" / club[1] / f"{club[1]}.html", tmp_path / "a.html")
    page.goto((tmp_path / "a.html").as_uri())
    unlock(page, club[2])
    check_unlocked(page)


def test_an_open_report_as_one_file(
    club: tuple[Path, str, str], page: Page, tmp_path: Path
) -> None:
    shutil.copy(club[0] / "club/site/lifters/ann/ann.html", tmp_path / "a.html")
    page.goto((tmp_path / "a.html").as_uri())
    figure = page.locator("figure[data-chart]").first
    figure.locator(".chart-explore").click()
    expect(figure).to_have_attribute("data-state", "live", timeout=SECONDS)


def test_over_plain_http_the_page_says_why_and_what_to_do(
    club: tuple[Path, str, str], chromium: Browser
) -> None:
    """A name other than this machine's own makes the address insecure, as on a real host."""
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    rule = "--host-resolver-rules=MAP club.test 127.0.0.1"
    off = "--disable-features=HttpsUpgrades,HttpsFirstBalancedModeAutoEnable"
    with hosted(club[0]) as port:
        browser = chromium.browser_type.launch(
            executable_path=program, args=[*ARGUMENTS, rule, off]
        )
        page = browser.new_page()
        page.goto(f"http://club.test:{port}/club/site/lifters/{club[1]}/index.html")
        assert page.evaluate("window.isSecureContext") is False
        expect(page.locator(".lock-says")).to_contain_text("https://")
        expect(page.locator(".lock-says")).to_contain_text("cannot unlock")
        assert not page.locator("#passphrase").is_visible()
        browser.close()


def test_without_javascript_the_page_says_so(
    club: tuple[Path, str, str], chromium: Browser
) -> None:
    with chromium.new_context(java_script_enabled=False) as context:
        page = context.new_page()
        page.goto((club[0] / "club/site/lifters" / club[1] / "index.html").as_uri())
        assert "Unlocking needs JavaScript" in page.locator("main").inner_text()
