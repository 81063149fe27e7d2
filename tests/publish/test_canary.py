"""Not one private value reaches the public copy, in any combination of sharing and age."""

from __future__ import annotations

import html
import json
import re
import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from bs4 import BeautifulSoup

from profilegen.build.site import build_site
from profilegen.publish import lock as lock_module
from profilegen.publish.keys import KeyRing, add_keys, read_keys
from profilegen.publish.site import publish_site
from tests.publish.canaries import (
    MINOR,
    SEALED,
    Canary,
    content_of,
    everything_in,
    write_squad,
)

TODAY = date(2026, 12, 31)
ON = date(2026, 10, 12)
ABOUT_AGE = ".facts, .caution-line, #cautions, #reading"
"""Where a report says who it is about, and how to handle it."""


class Published:
    """A public copy with everything a reader could dig out of it."""

    def __init__(self, folder: Path) -> None:
        self.squad_dir, self.site = folder / "athletes", folder / "public"
        self.squad = write_squad(self.squad_dir)
        add_keys(self.squad_dir, (one.id for one in self.squad if one.report == "locked"))
        self.ring: KeyRing = read_keys(self.squad_dir)
        self.result = publish_site(self.squad_dir, self.site, today=TODAY, on=ON, jobs=1)
        self.files = {
            path.relative_to(self.site).as_posix(): path.read_bytes()
            for path in sorted(self.site.rglob("*"))
            if path.is_file()
        }
        # plotly.js is the same for everyone and comes from an installed package.
        mine = {path: data for path, data in self.files.items() if "plotly" not in path}
        self.layers = [layer for data in mine.values() for layer in everything_in(data)]
        self.unlocked = {one.id: self._unlocked(one) for one in self.squad if self._has_lock(one)}
        inside = [
            layer for page in self.unlocked.values() for layer in everything_in(page.encode())
        ]
        self.haystack = b"\0".join([*self.layers, *inside, "\0".join(self.files).encode()])
        self.haystack = self.haystack.lower().replace("\u00a0".encode(), b" ")

    def page_of(self, one: Canary) -> str:
        """The place of a lifter's report."""
        name = one.id if one.is_open and one.shows_name else self.ring.page_name(one.id)
        return f"lifters/{name}/index.html"

    def _has_lock(self, one: Canary) -> bool:
        return one.shows_report and one.report == "locked"

    def _unlocked(self, one: Canary) -> str:
        page = self.files[self.page_of(one)].decode()
        return content_of(page, self.ring.lifters[one.id].passphrase)


@pytest.fixture(scope="module")
def published(tmp_path_factory: pytest.TempPathFactory) -> Published:
    """Everyone's copy, made once. Rounds of PBKDF2 are cut short: they are tested elsewhere."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(lock_module.lock, "__kwdefaults__", {"rounds": 10})
        return Published(tmp_path_factory.mktemp("canary"))


def wrong(published: Published, says: Callable[[Canary], object]) -> dict[str, object]:
    """What a check has to say of each lifter, by what was asked for; empty when all is well."""
    said = {one: says(one) for one in published.squad}
    return {
        f"{one.report}, {one.squad}, {one.body_mass}, {one.born}, consent {one.consent}": found
        for one, found in said.items()
        if found
    }


class TestNothingPrivateIsFound:
    def test_all_combinations_are_there(self, published: Published) -> None:
        """3 reports, 3 ways onto the squad page, 2 of body mass, 4 of age and consent."""
        assert len(published.squad) == 3 * 3 * 2 * 4 + 1
        assert 0 < sum(one.shows_report for one in published.squad) < len(published.squad)

    def test_in_any_byte_of_any_file(self, published: Published) -> None:
        def leaks(one: Canary) -> list[str]:
            return [word for word in one.private_words() if word.encode() in published.haystack]

        assert wrong(published, leaks) == {}

    def test_body_mass_only_where_it_may_be_shown(self, published: Published) -> None:
        def leaks(one: Canary) -> bool:
            found = re.search(one.mass_written, published.haystack)
            return bool(found) != one.shows_mass

        assert wrong(published, leaks) == {}

    def test_a_name_only_where_it_may_be_shown(self, published: Published) -> None:
        def leaks(one: Canary) -> bool:
            return (f"foren{one.tag}".encode() in published.haystack) != one.shows_name

        assert wrong(published, leaks) == {}

    def test_a_report_only_where_there_may_be_one(self, published: Published) -> None:
        def leaks(one: Canary) -> bool:
            page = published.page_of(one)
            numbers = page.replace("index.html", "profile.json")
            there = (page in published.files, numbers in published.files)
            return there != (one.shows_report, one.is_open)

        assert wrong(published, leaks) == {}
        folders = [path.split("/")[1] for path in published.files if path.startswith("lifters/")]
        assert len(set(folders)) == sum(one.shows_report for one in published.squad)
        for one in published.squad:
            if one.shows_report and not one.is_open:
                assert folders.count(published.page_of(one).split("/")[1]) == 1

    def test_a_locked_report_shows_nothing_before_it_is_unlocked(
        self, published: Published
    ) -> None:
        assert set(published.unlocked) == {
            one.id for one in published.squad if one.shows_report and one.report == "locked"
        }

        def leaks(one: Canary) -> list[str]:
            if one.id not in published.unlocked:
                return []
            page = published.files[published.page_of(one)].decode()
            outside = SEALED.sub("", page)
            assert len(outside) < len(page)
            inside = published.unlocked[one.id]
            verdict = re.findall(r'class="(?:sentence|worth)">([^<]+)<', inside)
            assert len(verdict) == 2
            assert "chart-spec" in inside
            return [word for word in (*verdict, "chart-spec", " kg", "2026") if word in outside]

        assert wrong(published, leaks) == {}

    def test_in_what_public_data_says(self, published: Published) -> None:
        """Neither group nor age without the name; no multiples of a hidden body mass."""
        squad = json.loads(published.files["squad.json"])
        on_page = [one for one in published.squad if one.block and one.squad != "off"]
        assert len(squad["athletes"]) == len(on_page)
        for line in squad["athletes"]:
            assert line["group"] is None
            by_name = line["name"].startswith("Foren")
            assert (line["age"] is not None) == by_name
            if line["body_mass_kg"] is None:
                assert line["scaled"] == {}
        for path, data in published.files.items():
            if path.endswith("profile.json"):
                _numbers_fit_together(json.loads(data))

    def test_the_age_is_told_with_the_name_and_by_no_word_without_it(
        self, published: Published
    ) -> None:
        """Neither in years, nor as girl or woman, nor by what is said to juniors alone."""
        page = BeautifulSoup(published.files["index.html"], "html5lib")
        cards = page.select(".cards > li")
        facts = [(card.select("h3")[0].text, card.select(".facts")[0].text) for card in cards]
        girls = [name for name, text in facts if text.startswith("Girl")]
        assert girls
        assert all(name.startswith("Foren") for name in girls)
        by_name = [one for one in published.squad if one.shows_name]
        assert len(girls) == sum(one.born == MINOR for one in by_name)

        said: set[tuple[str, ...]] = set()

        def leaks(one: Canary) -> bool:
            if not one.shows_report:
                return False
            text = (
                published.unlocked.get(one.id) or published.files[published.page_of(one)].decode()
            )
            report = BeautifulSoup(text, "html5lib")
            who, *about = [part.get_text(" ", strip=True) for part in report.select(ABOUT_AGE)]
            assert len(about) == 3
            if one.shows_name:
                return who.startswith("Girl") != (one.born == MINOR)
            said.add(tuple(about))
            return not who.startswith("Woman") or "year" in who

        assert wrong(published, leaks) == {}
        assert len(said) == 1

    def test_the_manifest_in_the_public_folder_names_nobody(self, published: Published) -> None:
        manifest = json.loads(published.files[".profilegen.json"])
        assert manifest["lifters"] == {}
        assert (manifest["club_sha256"], manifest["program_sha256"]) == ("", "")
        assert manifest["public"] is True

    def test_nor_the_folder_beside_it(self, published: Published) -> None:
        beside = published.site.parent / ".public.profilegen"
        assert {path.name for path in beside.rglob("*")} <= {".gitignore", "lock"}

    def test_lifters_stand_in_the_order_of_what_is_shown(self, published: Published) -> None:
        names = [one["name"] for one in json.loads(published.files["squad.json"])["athletes"]]
        assert names == sorted(names, key=str.casefold)


def _numbers_fit_together(numbers: dict[str, Any]) -> None:
    weighed = numbers["athlete"]["body_mass_kg"] is not None
    assert bool(numbers["scaled"]) == weighed
    for lift in numbers["lifts"].values():
        assert (lift["body_mass_multiple"] is not None) == weighed
        assert "avoided" not in lift
    assert not {"assumptions", "warnings", "diagnostics", "pointers"} & set(numbers)


def test_after_a_build_they_are_all_there(tmp_path: Path) -> None:
    """So the test above looks for the right words: the coach's copy shows them."""
    squad = write_squad(tmp_path / "athletes", every=9)
    build_site(tmp_path / "athletes", tmp_path / "site", today=TODAY, on=ON, jobs=1)
    shown = ("foren", "aftern", "group", "remark", "video", "note")
    for one in squad:
        folder = tmp_path / "site/lifters" / one.id
        pages = "".join(path.read_text() for path in sorted(folder.glob("*.html")))
        text = html.unescape(pages).lower()
        assert [word for word in shown if f"{word}{one.tag}" not in text] == []
        assert re.search(one.mass_written, text.replace("\u00a0", " ").encode())
        assert one.mass in (folder / "profile.json").read_text()


class TestWhatIsHiddenChangesNothing:
    """The strongest form: with other private values the copy is the same, byte for byte, so
    nothing about them can be worked out from it, by whatever computation."""

    @pytest.fixture
    def short_lock(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(lock_module.lock, "__kwdefaults__", {"rounds": 10})

    def published(self, folder: Path, name: str, edit: Any) -> dict[str, bytes]:
        squad_dir = folder / name
        squad = write_squad(squad_dir, every=3)
        keys = folder / "keys.yaml"
        if not keys.exists():
            add_keys(folder, (one.id for one in squad if one.report == "locked"))
        shutil.copy(keys, squad_dir)
        for one in squad:
            file = squad_dir / f"{one.id}.yaml"
            file.write_text(edit(one, file.read_text()))
        out = folder / f"{name}-public"
        publish_site(squad_dir, out, today=TODAY, jobs=1)
        return {
            path.relative_to(out).as_posix(): path.read_bytes()
            for path in sorted(out.rglob("*"))
            if path.is_file()
        }

    @pytest.mark.usefixtures("short_lock")
    def test_whatever_the_hidden_values_are(self, tmp_path: Path) -> None:
        def edit(one: Canary, text: str) -> str:
            text = text.replace("# comment", "# another line\n# comment").replace(
                "questions:\n  - {why: power_clean}\n", ""
            )
            for word in ("group", "reason", "meet", "day", "remark", "video", "note"):
                text = text.replace(f"{word}{one.tag}", f"other{one.number}")
            text = text.replace("target_total_kg: 201", "target_total_kg: 222")
            text = text.replace("lift: press, since: 2025-02-01", "lift: back_squat")
            text = text.replace("guardian_consent: 2026-01-10", "guardian_consent: 2026-02-11")
            if not one.shows_mass:
                text = text.replace(f"body_mass_kg: {one.mass}", "body_mass_kg: 47.3")
            if not one.shows_name:
                text = text.replace("Foren", "Fabienne").replace("Aftern", "Asante")
                if one.at_another_age.shown == one.shown:
                    text = text.replace(one.born, one.at_another_age.born)
            if not one.shows_anything:
                text = text.replace("kg: 80", "kg: 70").replace("sex: F", "sex: M")
                text = text.replace("on: 2026-10-12\n", "on: 2026-12-30\n")
            return text

        before = self.published(tmp_path, "one", lambda one, text: text)
        after = self.published(tmp_path, "two", edit)
        assert before.keys() == after.keys()
        assert [path for path in before if before[path] != after[path]] == []

    @pytest.mark.usefixtures("short_lock")
    def test_and_what_is_shown_does_change_it(self, tmp_path: Path) -> None:
        """The comparison would notice."""
        before = self.published(tmp_path, "one", lambda one, text: text)
        after = self.published(tmp_path, "two", lambda one, text: text.replace("g: 101", "g: 109"))
        changed = {path for path in before if before[path] != after[path]}
        reports = {path for path in before if path.startswith("lifters/")}
        assert changed >= reports | {"index.html", "squad.json", ".profilegen.json"}
        assert not any(path.startswith(("assets/", "methods")) for path in changed)
