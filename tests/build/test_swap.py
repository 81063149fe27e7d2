"""A site is replaced whole or not at all, and nothing of the user's is ever lost."""

from __future__ import annotations

import errno
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from profilegen.build import swap
from profilegen.build.files import SiteWriter, Untouched
from profilegen.build.manifest import MANIFEST_NAME, Manifest, read_manifest, sha256
from profilegen.build.swap import open_workshop, swap_in
from profilegen.errors import OutputError

KILLS = 50


def put_site(out: Path, pages: dict[str, str]) -> None:
    """A little site of our own, built the way the program builds its own."""
    with open_workshop(out) as shop:
        writer = SiteWriter(shop.building)
        for path, text in pages.items():
            writer.write(path, text.encode())
        manifest = Manifest("0" * 64, "0" * 64, "0" * 64, "2026-10-12", files=writer.files)
        (shop.building / MANIFEST_NAME).write_bytes(manifest.to_bytes())
        swap_in(shop)


def test_a_file_nobody_looked_at_is_not_kept_and_the_old_site_stays(tmp_path: Path) -> None:
    """Kept files are hard links: writing into one would change the old site."""
    out = tmp_path / "site"
    put_site(out, {"index.html": "old"})
    manifest = read_manifest(out)
    assert manifest is not None
    with open_workshop(out) as shop:
        writer = SiteWriter(shop.building, Untouched(out, manifest, {}))
        with pytest.raises(KeyError):
            writer.keep("index.html")
        assert not (shop.building / "index.html").exists()
    assert files_in(out) == {"index.html": "old"}


def files_in(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): path.read_text()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.name != MANIFEST_NAME
    }


def assert_whole(site: Path) -> None:
    """Every file that the site's own manifest names is there, byte for byte."""
    manifest = read_manifest(site)
    assert manifest is not None
    assert manifest.files
    for path, expected in manifest.files.items():
        assert sha256((site / path).read_bytes()) == expected


@pytest.fixture(params=["one step", "two steps"])
def either_swap(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both ways of swapping: systems without an exchange of folders use two renames."""
    if request.param == "two steps":
        monkeypatch.setattr(swap, "_exchange", lambda one, other: False)


@pytest.mark.usefixtures("either_swap")
class TestReplacing:
    def test_a_deleted_lifter_disappears(self, tmp_path: Path) -> None:
        put_site(tmp_path / "site", {"index.html": "old", "lifters/ann/index.html": "ann"})
        put_site(tmp_path / "site", {"index.html": "new"})
        assert files_in(tmp_path / "site") == {"index.html": "new"}
        assert not (tmp_path / "site" / "lifters").exists()

    def test_only_the_workshop_stands_beside_the_site(self, tmp_path: Path) -> None:
        put_site(tmp_path / "site", {"index.html": "old"})
        put_site(tmp_path / "site", {"index.html": "new"})
        assert sorted(p.name for p in tmp_path.iterdir()) == [".site.profilegen", "site"]
        left = {p.name for p in (tmp_path / ".site.profilegen").iterdir()}
        assert left <= {"lock", "cache", ".gitignore"}

    def test_files_of_the_user_stay_where_they_are(self, tmp_path: Path) -> None:
        site = tmp_path / "site"
        put_site(site, {"index.html": "old", "lifters/ann/index.html": "ann"})
        (site / "CNAME").write_text("club.example")
        (site / "lifters" / "photo.txt").write_text("photo")
        (site / "empty").mkdir()
        (site / "deep" / "er").mkdir(parents=True)
        (site / "deep" / "er" / "file").write_text("deep")
        (site / "link").symlink_to("CNAME")
        (site / "folder-link").symlink_to("deep")
        (site / "dangling").symlink_to("nowhere")
        put_site(site, {"index.html": "new"})
        assert files_in(site) == {
            "CNAME": "club.example",
            "deep/er/file": "deep",
            "index.html": "new",
            "lifters/photo.txt": "photo",
            "link": "club.example",
        }
        assert (site / "empty").is_dir()
        assert (site / "folder-link").readlink() == Path("deep")
        assert (site / "dangling").readlink() == Path("nowhere")

    def test_files_of_the_user_stay_where_links_are_impossible(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def refuse(*args: object, **kwargs: object) -> None:
            raise OSError("no links on this file system")

        site = tmp_path / "site"
        put_site(site, {"index.html": "old"})
        (site / "CNAME").write_text("club.example")
        (site / "link").symlink_to("CNAME")
        monkeypatch.setattr(os, "link", refuse)
        put_site(site, {"index.html": "new"})
        assert files_in(site) == {
            "CNAME": "club.example",
            "index.html": "new",
            "link": "club.example",
        }

    def test_a_file_of_the_user_in_the_way_stops_the_build(self, tmp_path: Path) -> None:
        site = tmp_path / "site"
        put_site(site, {"index.html": "old"})
        (site / "methods.html").write_text("mine")
        with pytest.raises(OutputError, match=r"methods\.html.*move it away"):
            put_site(site, {"index.html": "new", "methods.html": "ours"})
        assert files_in(site) == {"index.html": "old", "methods.html": "mine"}

    def test_the_folder_keeps_its_permissions(self, tmp_path: Path) -> None:
        site = tmp_path / "site"
        put_site(site, {"index.html": "old"})
        site.chmod(0o750)
        put_site(site, {"index.html": "new"})
        assert site.stat().st_mode & 0o777 == 0o750

    def test_an_empty_folder_may_be_used(self, tmp_path: Path) -> None:
        (tmp_path / "site").mkdir()
        put_site(tmp_path / "site", {"index.html": "new"})
        assert_whole(tmp_path / "site")

    def test_a_link_to_a_folder_stays_a_link(self, tmp_path: Path) -> None:
        (tmp_path / "www").mkdir()
        (tmp_path / "site").symlink_to("www")
        put_site(tmp_path / "site", {"index.html": "old"})
        put_site(tmp_path / "site", {"index.html": "new"})
        assert (tmp_path / "site").is_symlink()
        assert files_in(tmp_path / "www") == {"index.html": "new"}


class TestRefusing:
    def test_a_folder_with_other_things_in_it(self, tmp_path: Path) -> None:
        (tmp_path / "site").mkdir()
        (tmp_path / "site" / "thesis.txt").write_text("mine")
        with pytest.raises(OutputError, match="not built by profilegen"):
            put_site(tmp_path / "site", {"index.html": "new"})
        assert files_in(tmp_path / "site") == {"thesis.txt": "mine"}

    @pytest.mark.parametrize(
        "content",
        [
            "",
            "[]",
            "null",
            '{"made_by": "profilegen"}',
            "[" * 100_000,
            '{"made_by": "profilegen", "schema": 1, "program_sha256": "", "club_sha256": "",'
            ' "templates_sha256": "", "on": "", "lifters": {}, "files": {"../thesis.txt": "%s"}}'
            % ("0" * 64),
        ],
    )
    def test_a_manifest_that_is_not_ours(self, tmp_path: Path, content: str) -> None:
        (tmp_path / "thesis.txt").write_text("mine")
        (tmp_path / "site").mkdir()
        (tmp_path / "site" / MANIFEST_NAME).write_text(content)
        with pytest.raises(OutputError, match="not built by profilegen"):
            put_site(tmp_path / "site", {"index.html": "new"})
        assert (tmp_path / "thesis.txt").read_text() == "mine"

    def test_a_file(self, tmp_path: Path) -> None:
        (tmp_path / "site").write_text("mine")
        with pytest.raises(OutputError, match="is a file"):
            put_site(tmp_path / "site", {"index.html": "new"})

    def test_a_broken_link(self, tmp_path: Path) -> None:
        (tmp_path / "site").symlink_to("nowhere")
        with pytest.raises(OutputError, match="broken link to nowhere"):
            put_site(tmp_path / "site", {"index.html": "new"})

    def test_the_root_of_the_file_system(self) -> None:
        with pytest.raises(OutputError, match="root of the file system"):
            put_site(Path("/"), {"index.html": "new"})

    def test_the_folder_one_stands_in(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.chdir(tmp_path)
        with pytest.raises(OutputError, match="inside this folder"):
            put_site(Path(), {"index.html": "new"})

    def test_a_place_where_nothing_can_be_written(self) -> None:
        with pytest.raises(OutputError, match="cannot write here"):
            put_site(Path("/proc/club/site"), {"index.html": "new"})

    def test_a_second_build_says_so_and_leaves(self, tmp_path: Path) -> None:
        with (
            open_workshop(tmp_path / "site"),
            pytest.raises(OutputError, match="another build is writing this site"),
            open_workshop(tmp_path / "site"),
        ):
            pass

    def test_a_disk_without_locks_is_told_and_the_old_site_stays(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """As some network disks are: two builds at once could not be told apart."""
        put_site(tmp_path / "site", {"index.html": "old"})

        def no_locks(*_arguments: object) -> None:
            raise OSError(errno.ENOLCK, os.strerror(errno.ENOLCK))

        monkeypatch.setattr("fcntl.flock", no_locks)
        with pytest.raises(OutputError, match=r"no file can be locked here \(No locks available"):
            put_site(tmp_path / "site", {"index.html": "new"})
        assert files_in(tmp_path / "site") == {"index.html": "old"}

    def test_a_build_that_fails_leaves_the_old_site(self, tmp_path: Path) -> None:
        put_site(tmp_path / "site", {"index.html": "old"})

        def fail(building: Path) -> None:
            (building / "index.html").write_text("half")
            raise RuntimeError

        with pytest.raises(RuntimeError), open_workshop(tmp_path / "site") as shop:
            fail(shop.building)
        assert files_in(tmp_path / "site") == {"index.html": "old"}
        assert not (tmp_path / ".site.profilegen" / "building").exists()


class TestRecovering:
    def test_a_build_killed_between_two_renames_is_finished(self, tmp_path: Path) -> None:
        """Where folders cannot be exchanged there is a moment without a site."""
        site, shop = tmp_path / "site", tmp_path / ".site.profilegen"
        put_site(tmp_path / "new", {"index.html": "new"})
        put_site(site, {"index.html": "old"})
        (site / "CNAME").write_text("club.example")
        site.rename(shop / "old")
        (tmp_path / "new").rename(shop / "building")
        with open_workshop(site):
            assert files_in(site) == {"CNAME": "club.example", "index.html": "new"}
        assert not (shop / "old").exists()

    def test_an_old_site_without_a_finished_new_one_comes_back(self, tmp_path: Path) -> None:
        site, shop = tmp_path / "site", tmp_path / ".site.profilegen"
        put_site(site, {"index.html": "old"})
        site.rename(shop / "old")
        (shop / "building").mkdir()
        (shop / "building" / "index.html").write_text("half")
        with open_workshop(site):
            assert files_in(site) == {"index.html": "old"}

    @pytest.mark.parametrize("way", ["one step", "two steps"])
    def test_killed_at_any_moment_the_site_is_whole(self, tmp_path: Path, way: str) -> None:
        """SIGKILL at random moments; the site is whole and the user's file is there.

        With an exchange of folders that holds the moment after the kill, without one it
        holds as soon as the next build has begun.
        """
        moments = random.Random(20261012)
        site = tmp_path / "site"
        put_site(site, {"index.html": "first"})
        (site / "CNAME").write_text("club.example")
        worker = [sys.executable, str(Path(__file__).with_name("endless_builds.py"))]
        for _ in range(KILLS // 2):
            with subprocess.Popen(
                [*worker, str(site), way], stdout=subprocess.PIPE, text=True
            ) as process:
                assert process.stdout is not None
                assert process.stdout.readline() == "building\n"
                time.sleep(moments.uniform(0, 0.03))
                process.send_signal(signal.SIGKILL)
            if way == "two steps":
                with open_workshop(site):
                    pass
            assert_whole(site)
            assert (site / "CNAME").read_text() == "club.example"
