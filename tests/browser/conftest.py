"""One real Chromium for all tests of this folder.

Without one the tests are skipped, unless PROFILEGEN_REQUIRE_BROWSER is set (as in CI).
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, ConsoleMessage, Page, Request, sync_playwright

ARGUMENTS = [
    "--no-sandbox",
    "--disable-background-networking",
    "--disable-quic",
    "--disable-gpu",
]

Opened = Callable[..., Page]
"""Opens an address; keyword arguments are those of a Playwright browser context."""


NOT_LAID_OUT = ".scripted .body > section + section:not(.laid-out)"
"""Sections that the script lays out when it has a moment: until then they have no inner text."""


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """The machine's own Chromium (`apt-get install chromium`)."""
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    if program is None:
        if os.environ.get("PROFILEGEN_REQUIRE_BROWSER"):
            pytest.fail("no chromium on this machine")
        pytest.skip("no chromium on this machine")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=ARGUMENTS)
        yield browser
        browser.close()


class Complaints:
    """What pages say and ask for that they should not; empty when all is well."""

    def __init__(self) -> None:
        self.found: list[str] = []

    def listen(self, page: Page) -> None:
        """From now on, every message, error, dialog and request of this page counts."""
        page.on("console", self._message)
        page.on("pageerror", lambda error: self.found.append(f"{page.url}: {error}"))
        page.on("dialog", lambda dialog: self.found.append(f"{page.url}: {dialog.message}"))
        page.on("request", self._request)
        page.on("requestfailed", lambda one: self.found.append(f"{page.url}: lost {one.url}"))

    def _message(self, message: ConsoleMessage) -> None:
        self.found.append(f"{message.type}: {message.text}")

    def _request(self, request: Request) -> None:
        if not request.url.startswith(("file:", "data:", "blob:")):
            self.found.append(f"asked for {request.url}")


@pytest.fixture
def complaints() -> Iterator[Complaints]:
    """Fails the test at its end when a page complained about anything."""
    complaints = Complaints()
    yield complaints
    assert complaints.found == []


@pytest.fixture
def opened(chromium: Browser, complaints: Complaints) -> Iterator[Opened]:
    """Open an address or a file; any complaint of the page fails the test."""
    contexts = []

    def open_page(address: str | Path, **options: Any) -> Page:
        size = {"width": 1280, "height": 900}
        context = chromium.new_context(**{"viewport": size, **options})
        contexts.append(context)
        page = context.new_page()
        complaints.listen(page)
        page.goto(address.as_uri() if isinstance(address, Path) else address)
        page.locator(NOT_LAID_OUT).first.wait_for(state="detached")
        return page

    yield open_page
    for context in contexts:
        context.close()
