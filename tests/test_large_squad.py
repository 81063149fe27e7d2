"""A squad too large for one page: a directory with a search, and pages by group and class."""

from __future__ import annotations

import json
import re
from itertools import chain, pairwise
from pathlib import Path

import pytest
from bs4 import BeautifulSoup

from profilegen.build import squad as squad_building
from profilegen.build.cache import BRIEFS_NAME
from profilegen.build.site import build_site
from profilegen.publish.site import publish_site
from profilegen.report import squad_parts
from tests.squads import TODAY, SmallSquad
from tests.test_build import contents

CLUB = """\
name: Great Testford Federation
marks:
  - {called: Record, sex: F, up_to_kg: 64, total_kg: 190}
  - {called: Record, sex: F, up_to_kg: 76, total_kg: 200}
"""
GROUPS = ("Seniors", "Seniors", "Seniors", "Juniors <b>", "")
MOST = 3


@pytest.fixture
def large(squad: SmallSquad, monkeypatch: pytest.MonkeyPatch) -> SmallSquad:
    """Thirteen lifters where a page holds three."""
    monkeypatch.setattr(squad_parts, "MOST_ON_A_PAGE", MOST)
    (squad.folder / "club.yaml").write_text(CLUB)
    for number in range(10):
        file = squad.add(f"lifter-{number}", name=f"Lifter {chr(65 + number)}", snatch=70 + number)
        group = GROUPS[number % len(GROUPS)]
        if group:
            file.write_text(file.read_text() + f'group: "{group}"\n')
    return squad


def build(squad: SmallSquad, site: Path) -> Path:
    build_site(squad.folder, site, today=TODAY, jobs=1)
    return site


def page_of(site: Path, name: str) -> BeautifulSoup:
    return BeautifulSoup((site / name).read_text("utf-8"), "html5lib")


def lifters_on(site: Path, name: str) -> list[str]:
    cards = page_of(site, name).select(".cards h3 a")
    return [str(card["href"]) for card in cards]


def parts_in(site: Path, section: str) -> list[str]:
    links = page_of(site, "index.html").select(f"#{section} th a")
    return [str(link["href"]) for link in links]


def test_everyone_is_on_one_page_by_group_and_one_by_class(
    large: SmallSquad, tmp_path: Path
) -> None:
    site = build(large, tmp_path / "site")
    everyone = sorted(f"lifters/{file.stem}/index.html" for file in large.folder.glob("[!c]*.yaml"))
    everyone.append("lifters/cleo/index.html")
    for section in ("by-group", "by-class"):
        pages = [lifters_on(site, part) for part in parts_in(site, section)]
        assert all(1 <= len(page) <= MOST for page in pages)
        assert sorted(chain.from_iterable(pages)) == sorted(everyone)


def test_every_page_of_the_squad_leads_to_its_neighbours(large: SmallSquad, tmp_path: Path) -> None:
    """All parts of a kind can be read one after the other, from the first page and back."""
    site = build(large, tmp_path / "site")
    parts = parts_in(site, "by-group")
    titles = [page_of(site, part).h1.get_text() for part in parts]  # type: ignore[union-attr]
    assert titles == ["Juniors <b>", "Seniors, 1 of 2", "Seniors, 2 of 2", "No group, 1 of 2",
                      "No group, 2 of 2"]  # fmt: skip
    for here, there in pairwise(parts):
        assert there in {a["href"] for a in page_of(site, here).select("nav a")}
        assert here in {a["href"] for a in page_of(site, there).select("nav a")}
    for part in parts:
        assert "index.html" in {a["href"] for a in page_of(site, part).select("nav a")}
        assert not page_of(site, part).select("nav a[aria-current]")


def test_the_search_script_holds_everyone_and_nothing_that_ends_a_script(
    large: SmallSquad, tmp_path: Path
) -> None:
    site = build(large, tmp_path / "site")
    text = (site / "roster.js").read_text("utf-8")
    found = re.fullmatch(r"window\.roster=(\[.*\]);\n", text)
    assert found is not None
    assert "<" not in text
    rows = json.loads(found[1])
    assert len(rows) == 13
    assert [row[0] for row in rows] == sorted((row[0] for row in rows), key=str.casefold)
    assert ["Lifter D", "lifters/lifter-3/index.html", "Juniors <b>", "women 76\u00a0kg"] in rows
    assert page_of(site, "index.html").select_one("main script")["src"] == "roster.js"  # type: ignore[index]


def test_an_edit_makes_anew_only_the_pages_that_show_the_lifter(
    large: SmallSquad, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And ends where a fresh build would."""
    site = build(large, tmp_path / "site")
    made: list[int] = []
    original = squad_building.squad_page

    def watched(summaries: list[object], *args: object, **options: object) -> object:
        made.append(len(summaries))
        return original(summaries, *args, **options)  # type: ignore[arg-type]

    monkeypatch.setattr(squad_building, "squad_page", watched)
    file = large.folder / "lifter-3.yaml"
    file.write_text(file.read_text().replace("kg: 73", "kg: 74"))
    build(large, site)
    assert len(made) == 2
    assert contents(site) == contents(build(large, tmp_path / "fresh"))


@pytest.mark.parametrize("left", [b"", b"half of what", None])
def test_what_was_remembered_of_everyone_may_be_lost_or_spoiled(
    large: SmallSquad, tmp_path: Path, left: bytes | None
) -> None:
    """The next build finds it in the files of each lifter, and writes the same site."""
    site = build(large, tmp_path / "site")
    (briefs,) = tmp_path.glob(f".site.profilegen/cache/{BRIEFS_NAME}")
    if left is None:
        briefs.unlink()
    else:
        briefs.write_bytes(left + briefs.read_bytes()[: 3 * len(left)])
    large.add("lifter-3", name="Lifter D", snatch=90)
    again = contents(build(large, site))
    assert again == contents(build(large, tmp_path / "other"))


def test_a_squad_that_shrinks_is_one_page_again(large: SmallSquad, tmp_path: Path) -> None:
    site = build(large, tmp_path / "site")
    for file in large.folder.glob("lifter-*.yaml"):
        file.unlink()
    build(large, site)
    assert not list(site.glob("squad-*")) + list(site.glob("roster*"))
    assert contents(site) == contents(build(large, tmp_path / "fresh"))


def test_a_large_public_copy_is_split_too_and_names_no_more_than_agreed(
    large: SmallSquad, tmp_path: Path
) -> None:
    hidden = large.folder / "lifter-3.yaml"
    hidden.write_text(
        hidden.read_text().replace("report: open, squad: name", "report: off, squad: off")
    )
    publish_site(large.folder, tmp_path / "public", today=TODAY, jobs=1)
    names = {row[0] for row in json.loads((tmp_path / "public/roster.js").read_text()[14:-2])}
    assert len(names) == 12
    assert "Lifter D" not in names
    parts = parts_in(tmp_path / "public", "by-class")
    everyone = {page for part in parts for page in lifters_on(tmp_path / "public", part)}
    assert len(everyone) == 12
