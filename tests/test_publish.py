"""The public copy as a folder: for any host, whole or not at all, the same every time."""

from __future__ import annotations

import json
import re
from datetime import date
from pathlib import Path
from urllib.parse import unquote, urldefrag, urlsplit

import pytest
from bs4 import BeautifulSoup
from typer.testing import CliRunner, Result

from profilegen import cli
from profilegen.build.site import build_site
from profilegen.errors import InputError, OutputError
from profilegen.publish import lock as lock_module
from profilegen.publish.keys import KEYS_FILE, add_keys
from profilegen.publish.record import RECORD_NAME
from profilegen.publish.site import PublishResult, publish_site
from profilegen.report.delivery import packed_library, plotly_library, script_hash
from tests.squads import TODAY, SmallSquad

ON = date(2026, 10, 12)


@pytest.fixture(autouse=True)
def _short_lock(monkeypatch: pytest.MonkeyPatch) -> None:
    """Rounds of PBKDF2 are tested in tests/publish/test_lock.py."""
    monkeypatch.setattr(lock_module.lock, "__kwdefaults__", {"rounds": 10})


def share(squad: SmallSquad, lifter: str, sharing: str) -> None:
    file = squad.folder / f"{lifter}.yaml"
    text = re.sub(r"sharing: .*\n", sharing + "\n" if sharing else "", file.read_text())
    file.write_text(text)


@pytest.fixture
def mixed(squad: SmallSquad) -> SmallSquad:
    """Ann open and by name, Bea locked and by initials, Cleo without a word about sharing."""
    share(squad, "bea", "sharing: {report: locked, squad: initials}")
    share(squad, "cleo", "")
    add_keys(squad.folder, ["bea"])
    return squad


def publish(squad: SmallSquad, out: Path, **options: object) -> PublishResult:
    return publish_site(squad.folder, out, today=TODAY, jobs=1, **options)  # type: ignore[arg-type]


def contents(site: Path) -> dict[str, bytes]:
    return {
        path.relative_to(site).as_posix(): path.read_bytes()
        for path in sorted(site.rglob("*"))
        if path.is_file()
    }


def pages(site: Path) -> dict[Path, BeautifulSoup]:
    found = {path: BeautifulSoup(path.read_text(), "html5lib") for path in site.rglob("*.html")}
    assert found
    return found


class TestWhatIsThere:
    def test_squad_page_reports_numbers_and_nothing_of_those_who_share_nothing(
        self, mixed: SmallSquad, tmp_path: Path
    ) -> None:
        result = publish(mixed, tmp_path / "public")
        counts = (result.lifters, result.open, result.locked, result.on_squad_page, result.left_out)
        assert counts == (3, 1, 1, 2, 1)
        files = set(contents(tmp_path / "public"))
        assert {"index.html", "methods.html", "squad.json", "lifters/ann/index.html"} <= files
        folders = {path.split("/")[1] for path in files if path.startswith("lifters/")}
        assert len(folders) == 2
        assert not {"bea", "cleo"} & folders

    def test_no_coachs_page_and_no_mark_of_a_private_copy(
        self, mixed: SmallSquad, tmp_path: Path
    ) -> None:
        publish(mixed, tmp_path / "public")
        build_site(mixed.folder, tmp_path / "site", today=TODAY, jobs=1)
        for page in pages(tmp_path / "site").values():
            assert page.select_one(".private") is not None
        for page in pages(tmp_path / "public").values():
            assert page.select_one(".private") is None
            for coachs in ("evidence", "notes", "assumptions", "diagnostics"):
                assert page.find(id=coachs) is None

    def test_the_open_report_names_the_lifter(self, mixed: SmallSquad, tmp_path: Path) -> None:
        publish(mixed, tmp_path / "public")
        text = (tmp_path / "public/lifters/ann/index.html").read_text()
        sentence = BeautifulSoup(text, "html5lib").select_one(".verdict .sentence")
        assert sentence is not None
        assert "Ann" in sentence.text
        assert " you" not in sentence.text

    def test_someone_without_a_report_is_named_without_a_link(
        self, squad: SmallSquad, tmp_path: Path
    ) -> None:
        for lifter in ("ann", "bea", "cleo"):
            share(squad, lifter, "sharing: {report: off, squad: name}")
        publish(squad, tmp_path / "public")
        page = pages(tmp_path / "public")[tmp_path / "public/index.html"]
        assert "Bea" in page.get_text()
        assert [link["href"] for link in page.select("main a") if "lifters/" in link["href"]] == []
        assert page.select("a[href='']") == []
        assert not (tmp_path / "public/lifters").exists()
        (line, *_) = json.loads((tmp_path / "public/squad.json").read_bytes())["athletes"]
        assert (line["id"], line["report"]) == (None, None)

    def test_a_club_that_shares_nothing_but_its_method_can_do_that(
        self, squad: SmallSquad, tmp_path: Path
    ) -> None:
        for lifter in ("ann", "bea", "cleo"):
            share(squad, lifter, "")
        with pytest.raises(InputError, match="give one with --on"):
            publish(squad, tmp_path / "public")
        assert publish(squad, tmp_path / "public", on=ON).left_out == 3
        assert "methods.html" in contents(tmp_path / "public")

    def test_a_day_before_somebody_shown_could_lift_is_refused(
        self, mixed: SmallSquad, tmp_path: Path
    ) -> None:
        """Ann and Bea were born in 2000; nothing is shown of Cleo, so the day may be any."""
        with pytest.raises(InputError) as caught:
            publish(mixed, tmp_path / "public", on=date(1990, 1, 1))
        named = {Path(problem.path).name for problem in caught.value.problems}
        assert named == {"ann.yaml", "bea.yaml"}
        assert not (tmp_path / "public").exists()

    def test_the_day_is_that_of_someone_who_is_shown(
        self, mixed: SmallSquad, tmp_path: Path
    ) -> None:
        """Otherwise the copy would tell when Cleo trained last."""
        file = mixed.folder / "cleo.yaml"
        file.write_text(file.read_text().replace("2026-10-12", "2026-11-20"))
        assert publish(mixed, tmp_path / "public").on == ON

    def test_nobody_is_older_than_today(self, squad: SmallSquad, tmp_path: Path) -> None:
        """A day to come must not turn a junior into an adult."""
        file = squad.folder / "ann.yaml"
        file.write_text(file.read_text().replace("2000-05-17", "2009-01-01"))
        result = publish(squad, tmp_path / "public", on=date(2027, 6, 1))
        assert result.open == 2


class TestAnyHost:
    def test_every_link_is_relative_and_leads_to_a_file_that_is_there(
        self, mixed: SmallSquad, tmp_path: Path
    ) -> None:
        """So the copy works in a subfolder of any site, and from disk."""
        site = tmp_path / "public"
        publish(mixed, site)
        all_pages = pages(site)
        for path, page in all_pages.items():
            found = [tag.get("href") or tag.get("src") for tag in page.select("[href], [src]")]
            found += [tag["data-plotly"] for tag in page.select("[data-plotly]")]
            for link in found:
                address, place = urldefrag(link)
                parts = urlsplit(address)
                if parts.scheme == "data":
                    continue
                assert not parts.scheme, link
                assert not parts.netloc, link
                assert not address.startswith("/"), link
                target = (path.parent / unquote(parts.path)).resolve() if parts.path else path
                assert target.is_relative_to(site.resolve()), link
                assert target.is_file(), link
                if place and target.suffix == ".html":
                    assert all_pages[site / target.relative_to(site.resolve())].find(id=place)

    def test_search_engines_are_asked_to_stay_away(self, mixed: SmallSquad, tmp_path: Path) -> None:
        publish(mixed, tmp_path / "public")
        for page in pages(tmp_path / "public").values():
            assert page.select_one("meta[name=robots]")["content"] == "noindex, nofollow"  # type: ignore[index]

    def test_unless_the_club_says_otherwise_and_never_for_juniors_and_locked_reports(
        self, mixed: SmallSquad, tmp_path: Path
    ) -> None:
        """Nor for those without a name: that one is left out would tell that it is a junior's."""
        mixed.add("dora")
        share(mixed, "dora", "sharing: {report: open, squad: initials}")
        add_keys(mixed.folder, ["dora"])
        club = mixed.folder / "club.yaml"
        club.write_text(club.read_text() + "publish: {index: true}\n")
        share(mixed, "cleo", "sharing: {report: open, squad: name, guardian_consent: 2026-01-01}")
        file = mixed.folder / "cleo.yaml"
        file.write_text(file.read_text().replace("2000-05-17", "2010-05-17"))
        publish(mixed, tmp_path / "public")
        asked = {
            path.relative_to(tmp_path / "public").as_posix()
            for path, page in pages(tmp_path / "public").items()
            if page.select_one("meta[name=robots]") is None
        }
        assert asked == {"index.html", "methods.html", "lifters/ann/index.html"}

    def test_a_locked_page_lets_in_no_more_than_any_other(
        self, mixed: SmallSquad, tmp_path: Path
    ) -> None:
        publish(mixed, tmp_path / "public")
        policies = {
            page.select_one("meta[http-equiv=Content-Security-Policy]")["content"]  # type: ignore[index]
            for page in pages(tmp_path / "public").values()
        }
        assert len(policies) == 1
        assert "connect-src" not in policies.pop()


class TestTheSameEveryTime:
    def test_the_same_squad_gives_the_same_bytes(self, mixed: SmallSquad, tmp_path: Path) -> None:
        """Locked pages too: ciphertext differs only when it must."""
        publish(mixed, tmp_path / "one")
        publish(mixed, tmp_path / "two")
        assert contents(tmp_path / "one") == contents(tmp_path / "two")

    def test_an_unchanged_copy_is_not_touched(self, mixed: SmallSquad, tmp_path: Path) -> None:
        """So that whoever uploads by date has nothing to upload."""
        publish(mixed, tmp_path / "public")
        index = tmp_path / "public/index.html"
        before = index.stat()
        publish(mixed, tmp_path / "public")
        assert (index.stat().st_ino, index.stat().st_mtime_ns) == (
            before.st_ino,
            before.st_mtime_ns,
        )

    def test_a_damaged_copy_is_mended(self, mixed: SmallSquad, tmp_path: Path) -> None:
        publish(mixed, tmp_path / "public")
        before = contents(tmp_path / "public")
        (tmp_path / "public/index.html").write_text("oops")
        publish(mixed, tmp_path / "public")
        assert contents(tmp_path / "public") == before

    def test_a_locked_page_changes_with_its_content_and_with_its_passphrase(
        self, mixed: SmallSquad, tmp_path: Path
    ) -> None:
        def locked() -> bytes:
            publish(mixed, tmp_path / "public")
            return next(
                data for path, data in contents(tmp_path / "public").items()
                if b'id="sealed"' in data and path.startswith("lifters/")
            )  # fmt: skip

        first = locked()
        ann = mixed.folder / "ann.yaml"
        ann.write_text(ann.read_text().replace("kg: 78", "kg: 79"))
        assert locked() == first
        mixed.add("bea", snatch=85)
        share(mixed, "bea", "sharing: {report: locked, squad: initials}")
        second = locked()
        keys = mixed.folder / KEYS_FILE
        keys.write_text(
            re.sub("passphrase: [a-z ]+", "passphrase: a longer secret of my own", keys.read_text())
        )
        assert len({first, second, locked()}) == 3

    def test_what_is_no_longer_shared_goes(self, mixed: SmallSquad, tmp_path: Path) -> None:
        publish(mixed, tmp_path / "public")
        (tmp_path / "public/CNAME").write_text("club.example.org\n")
        share(mixed, "ann", "sharing: {report: off, squad: off}")
        publish(mixed, tmp_path / "public")
        files = contents(tmp_path / "public")
        assert not any(path.startswith("lifters/ann") for path in files)
        assert not any(b"Ann" in data for path, data in files.items() if path.endswith("html"))
        assert files["CNAME"] == b"club.example.org\n"


class TestMistakes:
    def test_a_locked_report_without_a_key_is_said_and_nothing_is_written(
        self, squad: SmallSquad, tmp_path: Path
    ) -> None:
        share(squad, "bea", "sharing: {report: locked}")
        share(squad, "cleo", "sharing: {report: open, squad: initials}")
        with pytest.raises(InputError) as caught:
            publish(squad, tmp_path / "public")
        (bea, cleo) = map(str, caught.value.problems)
        assert "bea.yaml: sharing: a locked report needs a key" in bea
        assert "cleo.yaml: sharing: a report that does not show the file's name" in cleo
        assert not (tmp_path / "public").exists()

    def test_a_public_copy_never_replaces_a_private_one_nor_the_reverse(
        self, mixed: SmallSquad, tmp_path: Path
    ) -> None:
        publish(mixed, tmp_path / "public")
        build_site(mixed.folder, tmp_path / "site", today=TODAY, jobs=1)
        before = contents(tmp_path / "public"), contents(tmp_path / "site")
        with pytest.raises(OutputError, match="holds a public copy"):
            build_site(mixed.folder, tmp_path / "public", today=TODAY, jobs=1)
        with pytest.raises(OutputError, match="holds a private copy"):
            publish(mixed, tmp_path / "site")
        assert (contents(tmp_path / "public"), contents(tmp_path / "site")) == before

    def test_the_athletes_folder_is_no_place_for_it(
        self, mixed: SmallSquad, tmp_path: Path
    ) -> None:
        with pytest.raises(OutputError, match="lies in the athletes folder"):
            publish(mixed, mixed.folder / "public")
        assert not (mixed.folder / "public").exists()


class TestTheList:
    def test_it_says_what_was_published_and_why_the_rest_was_not(
        self, mixed: SmallSquad, tmp_path: Path
    ) -> None:
        publish(mixed, tmp_path / "public")
        text = (mixed.folder / RECORD_NAME).read_text()
        blocks = {block.split(" (")[0]: block for block in text.split("\n\n")}
        assert "published: lifters/ann/index.html (open)" in blocks["Ann"]
        assert "published: on the squad page by name" in blocks["Ann"]
        assert "held back" not in blocks["Ann"]
        assert "index.html (locked)" in blocks["Bea"]
        assert "held back: name, age: `squad` is initials" in blocks["Bea"]
        assert "held back: body mass: `body_mass` is hidden" in blocks["Bea"]
        assert blocks["Cleo"].splitlines()[1:] == [
            "  held back: everything: the file has no `sharing` block"
        ]

    def test_every_published_file_is_on_it_and_it_is_not_published_itself(
        self, mixed: SmallSquad, tmp_path: Path
    ) -> None:
        publish(mixed, tmp_path / "public")
        text = (mixed.folder / RECORD_NAME).read_text()
        for path in contents(tmp_path / "public"):
            assert path == ".profilegen.json" or f"published: {path}" in text
        assert {path.name for path in tmp_path.iterdir()} == {
            "athletes", "public", ".public.profilegen",
        }  # fmt: skip

    def test_without_a_place_for_the_list_nothing_is_published(
        self, mixed: SmallSquad, tmp_path: Path
    ) -> None:
        publish(mixed, tmp_path / "public")
        before = contents(tmp_path / "public")
        (mixed.folder / RECORD_NAME).unlink()
        (mixed.folder / RECORD_NAME).mkdir()
        share(mixed, "ann", "sharing: {report: off, squad: off}")
        with pytest.raises(OutputError, match=f"{RECORD_NAME}: cannot write here: Is a directory"):
            publish(mixed, tmp_path / "public")
        assert contents(tmp_path / "public") == before

    def test_what_could_not_be_published_is_not_on_the_list(
        self, mixed: SmallSquad, tmp_path: Path
    ) -> None:
        """A file of the club's own stands where the copy needs its place."""
        publish(mixed, tmp_path / "public")
        (tmp_path / "public/lifters/cleo").mkdir()
        (tmp_path / "public/lifters/cleo/index.html").write_text("mine")
        before = contents(mixed.folder)
        share(mixed, "cleo", "")
        file = mixed.folder / "cleo.yaml"
        file.write_text(file.read_text() + "sharing: {report: open, squad: name}\n")
        with pytest.raises(OutputError, match="did not write this file"):
            publish(mixed, tmp_path / "public")
        after = contents(mixed.folder)
        assert after[RECORD_NAME] == before[RECORD_NAME]
        assert after.keys() == before.keys()
        (tmp_path / "public/lifters/cleo/index.html").unlink()
        publish(mixed, tmp_path / "public")
        assert b"published: lifters/cleo/index.html" in contents(mixed.folder)[RECORD_NAME]
        assert contents(mixed.folder).keys() == before.keys()


class TestOneFile:
    """`--single-file`: a report that needs no other file, and leads to none."""

    @pytest.fixture
    def alone(self, mixed: SmallSquad, tmp_path: Path) -> list[Path]:
        publish(mixed, tmp_path / "public", one_file=True)
        build_site(mixed.folder, tmp_path / "site", today=TODAY, jobs=1, one_file=True)
        found = [
            path for path in sorted(tmp_path.rglob("lifters/*/*.html"))
            if path.stem.startswith(path.parent.name)
        ]  # fmt: skip
        assert len(found) == 2 + 2 * 3
        return found

    def test_nothing_in_it_leads_elsewhere(self, alone: list[Path]) -> None:
        for path in alone:
            page = BeautifulSoup(path.read_text(), "html5lib")
            tags = page.select("[href], [src]")
            assert tags
            for tag in tags:
                link = tag.get("href") or tag.get("src")
                assert link.startswith(("#", "data:")), (path, link)

    def test_it_brings_styles_scripts_and_plotly_under_a_policy_of_hashes(
        self, alone: list[Path]
    ) -> None:
        for path in alone:
            page = BeautifulSoup(path.read_text(), "html5lib")
            assert page.find(id="plotly-gz").string == packed_library(plotly_library())  # type: ignore[union-attr]
            policy = page.select_one("meta[http-equiv=Content-Security-Policy]")["content"]  # type: ignore[index]
            assert "'self'" not in policy
            running = [str(tag.string) for tag in page.select("script:not([type])")]
            assert len(running) == 2
            for script in (*running, plotly_library().text):
                assert script_hash(script) in policy

    def test_asked_for_later_it_comes_and_asked_off_it_goes(
        self, mixed: SmallSquad, tmp_path: Path
    ) -> None:
        def build(one_file: bool) -> set[str]:
            build_site(mixed.folder, tmp_path / "site", today=TODAY, jobs=1, one_file=one_file)
            return set(contents(tmp_path / "site"))

        without = build(False)
        added = build(True) - without
        assert added == {
            f"lifters/{one}/{one}-in-{how}.html"
            for one in ("ann", "bea", "cleo") for how in ("full", "short")
        }  # fmt: skip
        assert build(False) == without


class TestCommands:
    def run(self, *arguments: str | Path) -> Result:
        return CliRunner().invoke(cli.app, [str(argument) for argument in arguments])

    def test_publish_says_what_it_did(self, mixed: SmallSquad, tmp_path: Path) -> None:
        result = self.run("publish", mixed.folder, "--out", tmp_path / "public")
        assert result.exit_code == 0, result.stderr
        assert result.stdout == (
            "2 of 3 lifters on the squad page, 1 open and 1 locked reports in "
            f"{tmp_path / 'public'}; 1 left out. Why: {mixed.folder / RECORD_NAME}\n"
        )

    def test_publish_wants_to_be_told_where_to(self, mixed: SmallSquad) -> None:
        result = self.run("publish", mixed.folder)
        assert result.exit_code == 2
        assert "--out" in result.stderr

    def test_keys_makes_what_publish_needs_and_shows_no_passphrase(
        self, squad: SmallSquad, tmp_path: Path
    ) -> None:
        share(squad, "bea", "sharing: {report: locked}")
        asked = ("publish", squad.folder, "--out", tmp_path / "public")
        refused = self.run(*asked)
        assert refused.exit_code == 2
        assert "run `profilegen keys` once" in refused.stderr
        made = self.run("keys", squad.folder)
        assert made.stdout.startswith("1 new passphrase of 63 bits in ")
        words = re.findall("passphrase: ([a-z ]+)", (squad.folder / KEYS_FILE).read_text())
        assert len(words[0].split()) == 6
        assert words[0] not in made.stdout
        assert self.run(*asked).exit_code == 0
        assert self.run("keys", squad.folder).stdout.startswith("0 new passphrases")
        assert self.run("check", squad.folder).exit_code == 0
