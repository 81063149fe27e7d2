"""Hostile text in every field a person fills in executes nothing, in real Chromium.

The pages run under their own policy and are opened as a coach opens them. Any dialog, any
error, any message on the console (a refused script is one) and any request fails the test.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote

import pytest
import yaml
from playwright.sync_api import Browser

from profilegen.build.site import build_site
from profilegen.publish.site import publish_site
from tests.browser.conftest import Complaints
from tests.squads import TODAY

pytestmark = pytest.mark.browser

DO = "window.__pwned=1"
TEXTS = (
    f"<script>{DO}</script>",
    f"</script><script>{DO}</script>",
    f"<img src=x onerror={DO}>",
    f"<svg/onload={DO}>",
    f"\"><svg onload='{DO}'>",
    f"' onmouseover='{DO}' x='",
    f'" autofocus onfocus="{DO}" x="',
    f"</title><script>{DO}</script>",
    f"</style><script>{DO}</script>",
    f"</textarea><script>{DO}</script>",
    f"--><script>{DO}</script><!--",
    f"]]><script>{DO}</script>",
    f"<a href='javascript:{DO}'>x</a>",
    f"javascript:{DO}",
    "<iframe src='http://127.0.0.1:9/x'></iframe>",
    "<link rel=stylesheet href=//127.0.0.1:9/x>",
    "<meta http-equiv=refresh content='0;url=http://127.0.0.1:9'>",
    "<base href='http://127.0.0.1:9/'>",
    "<form action='http://127.0.0.1:9'><input autofocus>",
    f"<math><mtext><style><img src=x onerror={DO}></style>",
    f"{{{{ ''.__class__ }}}}{{% {DO} %}}${{{DO}}}",
    f"\\u003cscript\\u003e{DO}\\u003c/script\\u003e",
    f"&lt;script&gt;{DO}&lt;/script&gt;",
    f"%3Cscript%3E{DO}%3C/script%3E",
    f"`{DO}`;{DO}//",
    f"';{DO};//",
    f'";{DO};//',
    f"*/{DO}/*",
    "url(http://127.0.0.1:9/x)",
    "__proto__",
)
NOTES = "\n\n".join(
    [
        f"[click](javascript:{DO})",
        f"[click](data:text/html,<script>{DO}</script>)",
        f"[click]( JaVaScRiPt:{DO} )",
        f'[click](https://example.org "onmouseover={DO}")',
        "![x](http://127.0.0.1:9/x.png)",
        f"<javascript:{DO}>",
        f"[x]: javascript:{DO}\n[x]",
        *TEXTS,
    ]
)
LOGO = f"""<svg xmlns="http://www.w3.org/2000/svg" width="10" height="10" onload="{DO}">
<script>{DO}</script><image href="http://127.0.0.1:9/x.png" width="9" height="9"/>
<foreignObject><iframe xmlns="http://www.w3.org/1999/xhtml" src="http://127.0.0.1:9/"/></foreignObject>
<rect width="10" height="10"/></svg>"""
LIFTERS = 10


@pytest.fixture(scope="module")
def hostile_squad(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every text of every file is hostile; each lifter begins at another place of the list."""
    folder = tmp_path_factory.mktemp("hostile") / "athletes"
    folder.mkdir()
    texts = itertools.cycle(TEXTS)
    club = {
        "name": next(texts),
        "testing_weeks": [{"start": "2026-10-12", "end": "2026-10-18", "called": next(texts)}],
        "own_lifts": [
            {"id": "own", "name": next(texts), "parent": "front_squat", "share": 0.9},
        ],
        "marks": [{"called": next(texts), "sex": "F", "up_to_kg": 77, "total_kg": 190}],
        "look": {"logo": "logo.svg"},
    }
    _write(folder / "club.yaml", club)
    (folder / "logo.svg").write_text(LOGO)
    for number in range(LIFTERS):
        for _ in range(3):
            next(texts)
        _write(folder / f"lifter-{number}.yaml", _lifter(texts))
    return folder


def _write(path: Path, values: object) -> None:
    text = yaml.safe_dump(values, width=100_000, allow_unicode=True, sort_keys=False)
    # Days between quotes are days to the program, too, only not to this library.
    path.write_text(text.replace("'2", "2").replace("-12'", "-12").replace("-18'", "-18"))


def _lifter(texts: Iterator[str]) -> dict[str, object]:
    # The loader refuses an address with < > " ' ` { } | \ ^ or a space as it stands.
    address = f"https://example.org/?{quote(next(texts), safe='()=;:/*,&$%#![]@')}"

    def row(lift: str, load_kg: float, **more: object) -> dict[str, object]:
        return {"lift": lift, "kg": load_kg, "note": next(texts), "video": address, **more}

    return {
        "name": next(texts),
        "sex": "F",
        "born": "2000-05-12",
        "group": next(texts),
        "sharing": {"report": "open", "squad": "name", "body_mass": "shown"},
        "avoid": [{"lift": "back_squat", "why": next(texts)}],
        "meets": [
            {"on": "2026-09-12", "called": next(texts)},
            {"on": "2026-12-12", "called": next(texts), "target_total_kg": 190},
        ],
        "sessions": [
            {
                "on": day,
                "at": "testing",
                "body_mass_kg": 71.5,
                "note": next(texts),
                "sets": [
                    row("snatch", 80.0 + add, effort="max"),
                    row("clean_and_jerk", 102.0 + add, missed="jerk"),
                    row("front_squat", 115.0 + add, reps=2),
                    row("own", 104.0 + add),
                    row("back_squat", 131.0 + add),
                ],
            }
            for add, day in enumerate(("2026-07-12", "2026-09-12", "2026-10-12"))
        ],
        "questions": [{"why": "snatch"}, {"claim": {"legs": "low"}}],
        "notes": NOTES,
    }


@pytest.fixture(scope="module")
def hostile_site(hostile_squad: Path) -> Path:
    site = hostile_squad.parent / "site"
    build_site(hostile_squad, site, today=TODAY, one_file=True, jobs=1)
    return site


@pytest.fixture(scope="module")
def hostile_copy(hostile_squad: Path) -> Path:
    copy = hostile_squad.parent / "public"
    publish_site(hostile_squad, copy, today=TODAY, jobs=1)
    return copy


@pytest.mark.parametrize("which", ["hostile_site", "hostile_copy"])
def test_hostile_text_executes_nothing(
    which: str, chromium: Browser, complaints: Complaints, request: pytest.FixtureRequest
) -> None:
    """Every page of the private site, its pages of one file, and the public copy."""
    site: Path = request.getfixturevalue(which)
    page = chromium.new_context().new_page()
    complaints.listen(page)
    files = sorted(site.rglob("*.html"))
    assert len(files) > LIFTERS
    for file in files:
        page.goto(file.as_uri())
        # What stands in titles and closed details may be waiting for a hand to touch it.
        page.evaluate("document.querySelectorAll('details').forEach((one) => (one.open = true))")
        page.evaluate(
            "for (const one of document.querySelectorAll('body *'))"
            " for (const kind of ['mouseover', 'focus', 'toggle'])"
            " one.dispatchEvent(new Event(kind))"
        )
        assert page.evaluate("typeof window.__pwned") == "undefined", file
        assert page.evaluate("document.baseURI") == file.as_uri()
        hrefs = page.evaluate("[...document.links].map((one) => one.protocol)")
        assert set(hrefs) <= {"file:", "https:", "http:"}, file
    page.context.close()


def test_hostile_text_in_a_live_chart_executes_nothing(
    chromium: Browser, complaints: Complaints, hostile_site: Path
) -> None:
    """plotly.js reads a little HTML in labels; names of lifters and notes reach it as text."""
    page = chromium.new_context().new_page()
    complaints.listen(page)
    alive = 0
    for file in [
        hostile_site / "index.html",
        *sorted(hostile_site.glob("lifters/*/time.html"))[:3],
    ]:
        page.goto(file.as_uri())
        page.evaluate("document.querySelectorAll('details').forEach((one) => (one.open = true))")
        for box in page.locator(".chart-box").all():
            box.scroll_into_view_if_needed()
            box.hover()
        if page.locator(".chart-box").count():
            page.wait_for_selector(".chart-live svg.main-svg", timeout=20_000)
            alive += 1
        assert page.evaluate("typeof window.__pwned") == "undefined", file
        assert page.evaluate("document.querySelectorAll('svg a[*|href^=javascript]').length") == 0
    assert alive >= 2
    page.context.close()


def test_the_texts_do_reach_the_pages(hostile_site: Path, chromium: Browser) -> None:
    """As text: what the lifter's file says stands there for everyone to read."""
    page = chromium.new_context().new_page()
    page.goto((hostile_site / "index.html").as_uri())
    shown = page.locator("body").inner_text()
    assert sum(text in shown for text in TEXTS) >= LIFTERS
    page.goto((hostile_site / "lifters/lifter-0/index.html").as_uri())
    name = page.locator("h1").first.inner_text()
    assert any(name == text for text in TEXTS)
    page.context.close()


@pytest.mark.parametrize("text", [TEXTS[0], TEXTS[2], TEXTS[3]])
def test_the_same_text_would_execute_in_a_careless_page(
    text: str, tmp_path: Path, chromium: Browser
) -> None:
    """The checks above can fail."""
    (tmp_path / "page.html").write_text(f"<!doctype html><title>x</title><body>{text}")
    page = chromium.new_context().new_page()
    page.goto((tmp_path / "page.html").as_uri())
    page.wait_for_function("window.__pwned === 1", timeout=5_000)
    page.context.close()
