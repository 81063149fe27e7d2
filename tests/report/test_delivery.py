"""plotly.js reaches the reader from installed packages, and nothing else does."""

from __future__ import annotations

import base64
import gzip
import hashlib
import importlib.resources
import io
import stat
import subprocess
import tarfile
from pathlib import Path

import pytest

from profilegen.report import delivery
from profilegen.report.delivery import (
    BASIC_FILE,
    BASIC_PACKAGE,
    Library,
    basic_library,
    csp_single_file,
    csp_site,
    packed_library,
    plotly_library,
    script_hash,
)

HEADER = "/**\n* plotly.js (basic - minified) v4.1.1\n* Licensed under the MIT license\n*/\n"
BASIC_TEXT = HEADER + "window.Plotly = {};\n"


@pytest.fixture(autouse=True)
def _forget() -> None:
    """Each test looks for the basic bundle anew."""
    basic_library.cache_clear()


def test_the_full_bundle_is_the_installed_packages_own_file() -> None:
    file = importlib.resources.files("plotly") / "package_data" / "plotly.min.js"
    library = plotly_library()
    assert library.text.encode("utf-8") == file.read_bytes()
    assert library.sha256 == hashlib.sha256(file.read_bytes()).hexdigest()
    assert library.name == f"plotly-{library.sha256[:12]}.min.js"
    assert library.bundle == "full"
    assert plotly_library() is library


def test_the_licence_travels_with_the_library() -> None:
    library = plotly_library()
    assert "MIT" in library.licence
    assert "Copyright" in library.licence
    assert library.licence in library.text


def test_the_packed_library_inflates_to_the_same_text_and_is_always_the_same() -> None:
    library = plotly_library()
    packed = packed_library(library)
    assert gzip.decompress(base64.b64decode(packed)).decode("utf-8") == library.text
    packed_library.cache_clear()
    assert packed_library(library) == packed


def test_a_basic_bundle_in_node_modules_is_found_from_a_folder_below(tmp_path: Path) -> None:
    package = tmp_path / "node_modules" / BASIC_PACKAGE
    package.mkdir(parents=True)
    (package / BASIC_FILE).write_text(BASIC_TEXT, encoding="utf-8")
    below = tmp_path / "club" / "site"
    below.mkdir(parents=True)
    library = plotly_library("basic", near=below)
    assert (library.bundle, library.text, library.note) == ("basic", BASIC_TEXT, "")
    assert library.licence == HEADER.strip()


def test_without_npm_the_full_bundle_comes_with_a_note(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(delivery.shutil, "which", lambda _: None)
    library = plotly_library("basic", near=tmp_path)
    assert library.bundle == "full"
    assert "npm is not installed" in library.note


def executable(path: Path, script: str) -> str:
    path.write_text("#!/bin/sh\n" + script, encoding="utf-8")
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    return str(path)


def test_npm_is_asked_for_one_exact_version_without_running_its_scripts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A stand-in for npm writes the archive that the real one would fetch."""
    archive = tmp_path / "archive"
    with tarfile.open(archive, "w:gz") as files:
        entry = tarfile.TarInfo(f"package/{BASIC_FILE}")
        entry.size = len(BASIC_TEXT.encode())
        files.addfile(entry, io.BytesIO(BASIC_TEXT.encode()))
    log = tmp_path / "log"
    npm = executable(tmp_path / "npm", f'echo "$@" > {log}\ncp {archive} basic.tgz\n')
    monkeypatch.setattr(delivery.shutil, "which", lambda _: npm)
    library = plotly_library("basic", near=tmp_path)
    assert (library.bundle, library.text) == ("basic", BASIC_TEXT)
    asked = log.read_text(encoding="utf-8").split()
    assert asked == ["pack", "--silent", "--ignore-scripts", f"{BASIC_PACKAGE}@4.1.1"]


@pytest.mark.parametrize("script", ["exit 1\n", "exit 0\n", "echo broken > basic.tgz\n"])
def test_an_npm_that_fails_is_no_reason_to_fail(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, script: str
) -> None:
    """Offline, an empty answer, a broken archive: the full bundle and a note."""
    npm = executable(tmp_path / "npm", script)
    monkeypatch.setattr(delivery.shutil, "which", lambda _: npm)
    library = plotly_library("basic", near=tmp_path)
    assert library.bundle == "full"
    assert "npm could not fetch" in library.note


def test_an_npm_that_hangs_is_given_up(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def hang(*_: object, timeout: float, **__: object) -> None:
        raise subprocess.TimeoutExpired("npm", timeout)

    monkeypatch.setattr(delivery.shutil, "which", lambda _: "npm")
    monkeypatch.setattr(delivery.subprocess, "run", hang)
    assert "TimeoutExpired" in plotly_library("basic", near=tmp_path).note


LIBRARY = Library("plotly-0.min.js", "library", "", "", "basic")


def test_script_hash_knows_the_example_of_the_specification() -> None:
    """W3C, Content Security Policy level 3, section on hash-source."""
    example = "'sha256-qznLcsROx4GACP2dm0UCKCzCG+HiZ1guq6ZZDob/Tng='"
    assert script_hash("alert('Hello, world.');") == example


def directives(policy: str) -> dict[str, list[str]]:
    return {name: rest for name, *rest in (part.split() for part in policy.split(";"))}


@pytest.mark.parametrize(
    "policy",
    [csp_site(), csp_site(["a"]), csp_single_file(["a"], LIBRARY), csp_single_file([], None)],
)
def test_every_policy_lets_nothing_in_from_outside(policy: str) -> None:
    """No host, no scheme but data: and blob: for images, no eval, no inline script."""
    rules = directives(policy)
    assert rules["default-src"] == ["'none'"]
    assert rules["base-uri"] == ["'none'"]
    assert rules["form-action"] == ["'none'"]
    assert rules["img-src"] == ["data:", "blob:"]
    assert set(rules["style-src"]) <= {"'self'", "'unsafe-inline'"}
    for source in rules["script-src"]:
        assert source in {"'self'", "'none'"} or source.startswith("'sha256-")
    assert len(rules) == 6


def test_a_site_runs_its_own_files_and_the_given_scripts() -> None:
    assert directives(csp_site(["a", "b"]))["script-src"] == [
        "'self'",
        script_hash("a"),
        script_hash("b"),
    ]


def test_a_single_file_runs_only_what_is_named_by_hash() -> None:
    rules = directives(csp_single_file(["a"], LIBRARY))
    assert rules["script-src"] == [script_hash("a"), script_hash("library")]
    assert directives(csp_single_file([], None))["script-src"] == ["'none'"]
