"""A squad in, a site out: the same bytes every time, only what changed made anew."""

from __future__ import annotations

import errno
import json
import os
import pickle
import shutil
import subprocess
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from profilegen.build.manifest import MANIFEST_NAME, read_manifest, sha256
from profilegen.build.site import BuildResult, build_site
from profilegen.errors import InputError, OutputError, Problem
from profilegen.render import default_templates_dir
from tests.squads import DEMO, TODAY, SmallSquad


def build(squad: SmallSquad, out: Path, **options: Any) -> BuildResult:
    return build_site(squad.folder, out, today=TODAY, **options)


def contents(site: Path) -> dict[str, bytes]:
    return {
        path.relative_to(site).as_posix(): path.read_bytes()
        for path in sorted(site.rglob("*"))
        if path.is_file()
    }


class TestWhatIsWritten:
    def test_a_squad_page_a_methods_page_and_a_folder_per_lifter(
        self, squad: SmallSquad, tmp_path: Path
    ) -> None:
        result = build(squad, tmp_path / "site")
        assert (result.lifters, result.computed, result.on) == (3, 3, date(2026, 10, 12))
        files = set(contents(tmp_path / "site"))
        own = {"index.html", "lifter.html", "profile.json"}
        assert files >= {"index.html", "methods.html", "squad.json", MANIFEST_NAME}
        for lifter in ("ann", "bea", "cleo"):
            assert {f"lifters/{lifter}/{name}" for name in own} <= files
        folders = {f.rpartition("/")[0] for f in files if "/" in f}
        assert folders == {"assets", "lifters/ann", "lifters/bea", "lifters/cleo"}

    def test_the_manifest_names_every_file_and_its_hash(
        self, squad: SmallSquad, tmp_path: Path
    ) -> None:
        build(squad, tmp_path / "site")
        manifest = read_manifest(tmp_path / "site")
        assert manifest is not None
        files = contents(tmp_path / "site")
        del files[MANIFEST_NAME]
        assert manifest.files == {path: sha256(content) for path, content in files.items()}

    def test_every_asset_has_the_hash_of_its_content_in_its_name(self, demo_site: Path) -> None:
        assets = list((demo_site / "assets").iterdir())
        assert assets
        for asset in assets:
            assert sha256(asset.read_bytes())[:12] in asset.name

    def test_profile_json_holds_what_the_schema_promises(
        self, squad: SmallSquad, tmp_path: Path
    ) -> None:
        """Keys as in the project's contract, schema 1."""
        build(squad, tmp_path / "site")
        numbers = json.loads((tmp_path / "site/lifters/ann/profile.json").read_bytes())
        assert numbers["schema"] == 1
        assert set(numbers["athlete"]) == {"id", "name", "sex", "age", "body_mass_kg"}
        assert numbers["athlete"]["body_mass_kg"] == 71.5
        assert numbers["on"] == "2026-10-12"
        assert {"clean_and_jerk", "total", "back_squat"} <= set(numbers["lifts"])
        assert numbers["lifts"]["snatch"]["best_made_kg"] == 78
        assert set(numbers["qualities"]) == {
            "legs",
            "pull",
            "speed",
            "snatch_turnover",
            "clean_turnover",
            "overhead",
        }
        chances = [quality["chance_limiting"] for quality in numbers["qualities"].values()]
        assert sum(chances) + numbers["chance_even"] == pytest.approx(1, abs=1e-3)

    def test_squad_json_has_one_entry_per_lifter(self, squad: SmallSquad, tmp_path: Path) -> None:
        build(squad, tmp_path / "site")
        numbers = json.loads((tmp_path / "site/squad.json").read_bytes())
        assert [entry["id"] for entry in numbers["athletes"]] == ["ann", "bea", "cleo"]
        for entry in numbers["athletes"]:
            assert (tmp_path / "site" / entry["report"]).is_file()

    def test_the_profiles_are_for_the_day_asked_for(
        self, squad: SmallSquad, tmp_path: Path
    ) -> None:
        result = build(squad, tmp_path / "site", on=date(2026, 11, 1))
        assert result.on == date(2026, 11, 1)
        numbers = json.loads((tmp_path / "site/lifters/ann/profile.json").read_bytes())
        assert numbers["on"] == "2026-11-01"

    def test_without_any_session_a_day_must_be_given(
        self, squad: SmallSquad, tmp_path: Path
    ) -> None:
        for file in squad.folder.glob("*.yaml"):
            if file.name != "club.yaml":
                file.unlink()
        (squad.folder / "ann.yaml").write_text(
            "name: Ann\nsex: F\nborn: 2000-05-17\n"
            "bests:\n  - {lift: snatch, kg: 80, around: 2025-11}\n"
        )
        with pytest.raises(InputError, match="--on"):
            build(squad, tmp_path / "site")
        assert not (tmp_path / "site").exists()
        assert build(squad, tmp_path / "site", on=date(2026, 10, 1)).lifters == 1


class TestTheSameBytes:
    def test_whatever_the_processes_locale_time_zone_and_hash_seed(self, tmp_path: Path) -> None:
        """Built by fresh interpreters in different settings, one of them with processes."""
        settings = (
            {"PYTHONHASHSEED": "1", "TZ": "Pacific/Kiritimati", "LC_ALL": "C", "JOBS": "1"},
            {"PYTHONHASHSEED": "77", "TZ": "America/Adak", "LC_ALL": "C.UTF-8", "JOBS": "2"},
        )
        sites = []
        for number, setting in enumerate(settings):
            out = tmp_path / f"site{number}"
            command = [sys.executable, "-m", "profilegen", "build", str(DEMO)]
            subprocess.run(
                [*command, "--out", str(out), "--jobs", setting["JOBS"]],
                check=True,
                env={**os.environ, **setting},
                capture_output=True,
                cwd=tmp_path,
            )
            sites.append(contents(out))
        assert sites[0] == sites[1]

    def test_whoever_the_executor_is(self, squad: SmallSquad, tmp_path: Path) -> None:
        build(squad, tmp_path / "one")
        with ThreadPoolExecutor(2) as threads:
            build(squad, tmp_path / "two", executor=threads)
        assert contents(tmp_path / "one") == contents(tmp_path / "two")

    def test_after_any_number_of_small_edits(self, squad: SmallSquad, tmp_path: Path) -> None:
        """An incremental build ends where a fresh one would."""
        build(squad, tmp_path / "site")
        squad.add("bea", snatch=86)
        build(squad, tmp_path / "site")
        squad.add("dot", snatch=70)
        (squad.folder / "ann.yaml").unlink()
        build(squad, tmp_path / "site")
        build(squad, tmp_path / "fresh")
        assert contents(tmp_path / "site") == contents(tmp_path / "fresh")

    def test_in_a_folder_of_its_own_that_is_changed_where_it_lies(
        self, squad: SmallSquad, tmp_path: Path
    ) -> None:
        """A preview's: no second tree is made, and edits end where a fresh build would."""
        for number in range(3):
            build(squad, tmp_path / "site", throwaway=True)
            place = (tmp_path / "site").stat().st_ino
            squad.add("bea", snatch=86 + number)
            squad.add(f"dot-{number}", snatch=70)
            (squad.folder / f"dot-{number - 1}.yaml").unlink(missing_ok=True)
            (tmp_path / "site/lifters/ann/index.html").write_text("someone wrote here")
            build(squad, tmp_path / "site", throwaway=True)
            assert (tmp_path / "site").stat().st_ino == place
            build(squad, tmp_path / f"fresh-{number}")
            assert contents(tmp_path / "site") == contents(tmp_path / f"fresh-{number}")
            assert not (tmp_path / f"site/lifters/dot-{number - 1}").exists()


SPOILED: dict[str, Callable[[bytes], bytes]] = {
    "empty": lambda _: b"",
    "cut after 100 bytes": lambda entry: entry[:100],
    "cut in the profile": lambda entry: entry[:-100],
    "zeros": lambda entry: bytes(len(entry)),
    "another number": lambda entry: entry.replace(b"0.1", b"0.2").replace(b"8", b"9"),
    "no text": lambda entry: b"\xff" + entry[1:],
}
"""What becomes of a kept profile."""


class TestOnlyWhatChanged:
    def test_nothing_changed_nothing_written(self, squad: SmallSquad, tmp_path: Path) -> None:
        build(squad, tmp_path / "site")
        before = (tmp_path / "site").stat().st_ino
        result = build(squad, tmp_path / "site")
        assert (result.computed, result.rendered, result.unchanged) == (0, 0, 3)
        assert (tmp_path / "site").stat().st_ino == before

    def test_one_edited_lifter_is_one_new_profile(self, squad: SmallSquad, tmp_path: Path) -> None:
        build(squad, tmp_path / "site")
        old = contents(tmp_path / "site")
        squad.add("bea", snatch=88)
        result = build(squad, tmp_path / "site")
        new = contents(tmp_path / "site")
        assert (result.computed, result.rendered, result.unchanged) == (1, 0, 2)
        changed = {path for path in new if new[path] != old[path]}
        changed_lifters = {path for path in changed if path.startswith("lifters/")}
        assert all(path.startswith("lifters/bea/") for path in changed_lifters)
        assert {path.rpartition("/")[2] for path in changed_lifters} >= {
            "index.html",
            "lifter.html",
            "profile.json",
        }
        assert "index.html" in changed

    def test_an_unchanged_file_is_not_even_parsed(
        self, squad: SmallSquad, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        build(squad, tmp_path / "site")
        read = []

        def watched(path: Path, *args: Any, **options: Any) -> Any:
            read.append(path.stem)
            return original(path, *args, **options)

        from profilegen.build import inputs

        original = inputs.read_athlete
        monkeypatch.setattr(inputs, "read_athlete", watched)
        squad.add("bea", snatch=88)
        build(squad, tmp_path / "site")
        assert read == ["bea"]

    def test_a_deleted_lifter_disappears_from_site_and_cache(
        self, squad: SmallSquad, tmp_path: Path
    ) -> None:
        squad.add("ann", name="Unforgettable Name")
        build(squad, tmp_path / "site")
        (squad.folder / "ann.yaml").unlink()
        build(squad, tmp_path / "site")
        for path in (*tmp_path.glob("site/**/*"), *tmp_path.glob(".site.profilegen/**/*")):
            assert not path.is_file() or b"Unforgettable" not in path.read_bytes()
            assert path.name != "ann"

    def test_a_renamed_file_is_a_new_lifter(self, squad: SmallSquad, tmp_path: Path) -> None:
        build(squad, tmp_path / "site")
        (squad.folder / "ann.yaml").rename(squad.folder / "anna.yaml")
        build(squad, tmp_path / "site")
        numbers = json.loads((tmp_path / "site/lifters/anna/profile.json").read_bytes())
        assert numbers["athlete"]["id"] == "anna"

    def test_a_new_stylesheet_needs_no_new_profile(self, squad: SmallSquad, tmp_path: Path) -> None:
        """Pages made from kept profiles are the same bytes as pages made afresh."""
        templates = tmp_path / "templates"
        shutil.copytree(default_templates_dir(), templates)
        build(squad, tmp_path / "site", templates_dir=templates)
        style = next((templates / "assets").glob("site*.css"))
        style.write_text(style.read_text() + "\nbody { letter-spacing: 0.01em; }\n")
        result = build(squad, tmp_path / "site", templates_dir=templates)
        assert (result.computed, result.rendered) == (0, 3)
        build(squad, tmp_path / "fresh", templates_dir=templates)
        assert contents(tmp_path / "site") == contents(tmp_path / "fresh")

    @pytest.mark.parametrize("harm", SPOILED.values(), ids=SPOILED)
    @pytest.mark.parametrize("edit", ["a style", "another lifter"])
    def test_a_spoiled_profile_is_made_again(
        self, squad: SmallSquad, tmp_path: Path, harm: Callable[[bytes], bytes], edit: str
    ) -> None:
        """As after a power cut: a new style needs the profiles, the squad page the summaries."""
        templates = tmp_path / "templates"
        shutil.copytree(default_templates_dir(), templates)
        build(squad, tmp_path / "site", templates_dir=templates)
        cache = tmp_path / ".site.profilegen" / "cache"
        (cache / "briefs").unlink()
        entries = list(cache.glob("*.jsonl"))
        assert len(entries) == 3
        for entry in entries:
            entry.write_bytes(harm(entry.read_bytes()))
        if edit == "a style":
            style = templates / "assets" / "site.css"
            style.write_text(style.read_text() + "\nbody { letter-spacing: 0.01em; }\n")
        else:
            squad.add("bea", snatch=88)
        build(squad, tmp_path / "site", templates_dir=templates)
        build(squad, tmp_path / "fresh", templates_dir=templates)
        assert contents(tmp_path / "site") == contents(tmp_path / "fresh")
        squad.add("bea", snatch=89)
        assert build(squad, tmp_path / "site", templates_dir=templates).computed == 1

    def test_a_changed_club_makes_everything_new(self, squad: SmallSquad, tmp_path: Path) -> None:
        build(squad, tmp_path / "site")
        (squad.folder / "club.yaml").write_text("name: Otherford Barbell Club\nunits: kg\n")
        assert build(squad, tmp_path / "site").computed == 3
        assert b"Testford" not in (tmp_path / "site/lifters/ann/index.html").read_bytes()

    @pytest.mark.parametrize("harm", ["edited", "removed", "same length", "linked elsewhere"])
    def test_a_page_someone_touched_is_made_good(
        self, squad: SmallSquad, tmp_path: Path, harm: str
    ) -> None:
        build(squad, tmp_path / "site")
        expected = contents(tmp_path / "site")
        page = tmp_path / "site/lifters/ann/index.html"
        content = page.read_bytes()
        page.unlink()
        if harm == "edited":
            page.write_bytes(content + b"<!-- edited -->")
        elif harm == "same length":
            page.write_bytes(content.replace(b"Ann", b"Eve"))
        elif harm == "linked elsewhere":
            (tmp_path / "elsewhere").write_bytes(content)
            page.symlink_to(tmp_path / "elsewhere")
        build(squad, tmp_path / "site")
        assert contents(tmp_path / "site") == expected
        assert not page.is_symlink()

    def test_without_its_cache_it_only_takes_longer(
        self, squad: SmallSquad, tmp_path: Path
    ) -> None:
        build(squad, tmp_path / "site")
        expected = contents(tmp_path / "site")
        shutil.rmtree(tmp_path / ".site.profilegen")
        assert build(squad, tmp_path / "site").computed == 3
        assert contents(tmp_path / "site") == expected

    def test_the_cache_is_for_its_owner_only(self, squad: SmallSquad, tmp_path: Path) -> None:
        """It holds what a lifter may not have agreed to publish."""
        build(squad, tmp_path / "site")
        assert (tmp_path / ".site.profilegen").stat().st_mode & 0o077 == 0


class TestNothingIsWritten:
    def test_when_any_file_has_a_mistake(self, squad: SmallSquad, tmp_path: Path) -> None:
        """Every problem of every file; the old site is untouched, a first one not begun."""
        build(squad, tmp_path / "site")
        before = contents(tmp_path / "site")
        (squad.folder / "ann.yaml").write_text("name: Ann\nsex: X\nborn: 2000-05-17\n")
        (squad.folder / "bea.yaml").write_text("name: Bea\nsex: F\nborn: yesterday\n")
        with pytest.raises(InputError) as caught:
            build(squad, tmp_path / "site")
        assert {Path(problem.path).name for problem in caught.value.problems} >= {
            "ann.yaml",
            "bea.yaml",
        }
        assert contents(tmp_path / "site") == before
        with pytest.raises(InputError):
            build(squad, tmp_path / "first")
        assert sorted(p.name for p in tmp_path.iterdir()) == [
            ".site.profilegen",
            "athletes",
            "site",
        ]

    def test_when_club_and_lifters_have_mistakes_all_are_told(
        self, squad: SmallSquad, tmp_path: Path
    ) -> None:
        (squad.folder / "club.yaml").write_text("nam: Testford\n")
        (squad.folder / "ann.yaml").write_text("name: Ann\nsex: X\nborn: 2000-05-17\n")
        with pytest.raises(InputError) as caught:
            build(squad, tmp_path / "site")
        assert {Path(problem.path).name for problem in caught.value.problems} == {
            "ann.yaml",
            "club.yaml",
        }

    @pytest.mark.parametrize("on", [date(1990, 1, 1), date(1, 1, 1), date(2007, 5, 16)])
    def test_when_the_day_lies_before_anyone_could_lift(
        self, squad: SmallSquad, tmp_path: Path, on: date
    ) -> None:
        """Born on 17 May 2000, so seven, the youngest age of a file, on that day of 2007."""
        with pytest.raises(InputError) as caught:
            build(squad, tmp_path / "site", on=on)
        assert not (tmp_path / "site").exists()
        told = {Path(problem.path).name: problem for problem in caught.value.problems}
        assert set(told) == {"ann.yaml", "bea.yaml", "cleo.yaml"}
        assert told["ann.yaml"].field == "born"
        assert told["ann.yaml"].message == (
            f"expected an age from 7 on {on}, the day the profiles are for, found a birth on "
            "2000-05-17; give a later day with --on"
        )

    def test_when_a_child_was_not_born_at_the_latest_session_of_the_others(
        self, squad: SmallSquad, tmp_path: Path
    ) -> None:
        """Two children of seven and eight today; the club's last session is eight years old."""
        for file in squad.folder.glob("*.yaml"):
            file.write_text(file.read_text().replace("on: 2026-10-12", "on: 2018-10-12"))
        (squad.folder / "kid.yaml").write_text("name: Kid\nsex: M\nborn: 2019-01-05\n")
        (squad.folder / "sis.yaml").write_text("name: Sis\nsex: F\nborn: 2018-01-05\n")
        with pytest.raises(InputError, match="born: expected an age from 0") as caught:
            build(squad, tmp_path / "site")
        assert len(caught.value.problems) == 1
        assert build(squad, tmp_path / "site", on=TODAY).lifters == 5

    def test_when_the_day_goes_back_although_every_file_is_known(
        self, squad: SmallSquad, tmp_path: Path
    ) -> None:
        build(squad, tmp_path / "site", on=date(2007, 5, 17))
        before = contents(tmp_path / "site")
        with pytest.raises(InputError, match="born: expected an age from 7"):
            build(squad, tmp_path / "site", on=date(2007, 5, 16))
        assert contents(tmp_path / "site") == before

    @pytest.mark.parametrize(
        "thing", ["folder", "broken link", "link to itself", "pipe", "no text"]
    )
    def test_when_something_else_stands_in_an_athlete_files_place(
        self, squad: SmallSquad, tmp_path: Path, thing: str
    ) -> None:
        """Also where a file that was known before has been replaced."""
        build(squad, tmp_path / "site")
        before = contents(tmp_path / "site")
        file = squad.folder / "ann.yaml"
        file.unlink()
        if thing == "folder":
            file.mkdir()
        elif thing == "broken link":
            file.symlink_to("nowhere")
        elif thing == "link to itself":
            file.symlink_to(file.name)
        elif thing == "pipe":
            os.mkfifo(file)
        else:
            file.write_bytes(b"\0" * 100)
        with pytest.raises(InputError, match="ann"):
            build(squad, tmp_path / "site")
        assert contents(tmp_path / "site") == before

    def test_when_the_disk_is_full(
        self, squad: SmallSquad, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        build(squad, tmp_path / "site")
        before = contents(tmp_path / "site")
        original = Path.write_bytes

        def full(self: Path, data: bytes) -> int:
            if self.name == "lifter.html":
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(self))
            return original(self, data)

        squad.add("ann", snatch=79)
        monkeypatch.setattr(Path, "write_bytes", full)
        with pytest.raises(OutputError, match=r"lifter\.html.*No space left"):
            build(squad, tmp_path / "site")
        assert contents(tmp_path / "site") == before
        assert not (tmp_path / ".site.profilegen/building").exists()

    def test_when_a_worker_finds_a_bug(
        self, squad: SmallSquad, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """A bug is no user's mistake: it is not dressed up as one, and the site stays."""
        build(squad, tmp_path / "site")
        before = contents(tmp_path / "site")
        from profilegen.build import lifters

        def broken(*args: object) -> None:
            raise ZeroDivisionError

        monkeypatch.setattr(lifters, "profile_of", broken)
        squad.add("ann", snatch=79)
        with pytest.raises(ZeroDivisionError):
            build(squad, tmp_path / "site")
        assert contents(tmp_path / "site") == before


def test_progress_ends_with_everything_done(squad: SmallSquad, tmp_path: Path) -> None:
    told: list[tuple[int, int]] = []
    build(squad, tmp_path / "site", progress=lambda done, total: told.append((done, total)))
    assert told[0] == (0, 3)
    assert told[-1] == (3, 3)
    assert told == sorted(told)


def test_problems_find_their_way_back_from_a_worker() -> None:
    """An InputError survives the pickling between processes with every problem."""
    error = InputError([Problem("ann.yaml", 3, 7, "born", "expected a day")])
    assert pickle.loads(pickle.dumps(error)).problems == error.problems
