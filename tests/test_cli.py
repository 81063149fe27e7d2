"""What a coach types, what comes back, and with which exit code."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

import profilegen
from profilegen import cli
from profilegen.build import places
from tests.squads import DEMO, SmallSquad


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(cli.app, [str(argument) for argument in arguments])


class TestBuild:
    def test_says_how_many_where_how_long_and_what_to_open(
        self, squad: SmallSquad, tmp_path: Path
    ) -> None:
        result = run("build", squad.folder, "--out", tmp_path / "site")
        assert result.exit_code == 0
        assert result.stderr == ""
        (line,) = result.stdout.splitlines()
        assert line.startswith(f"3 profiles in {tmp_path / 'site'} (")
        assert f"Open {tmp_path / 'site' / 'index.html'}" in line
        assert (tmp_path / "site" / "index.html").is_file()

    def test_says_how_many_were_kept(self, squad: SmallSquad, tmp_path: Path) -> None:
        run("build", squad.folder, "--out", tmp_path / "site")
        squad.add("ann", snatch=79)
        assert "2 unchanged" in run("build", squad.folder, "--out", tmp_path / "site").stdout

    def test_without_a_folder_it_takes_athletes_and_site_here(
        self, squad: SmallSquad, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.chdir(tmp_path)
        assert run("build").stdout.startswith("3 profiles in site (")
        assert (tmp_path / "site" / "lifters" / "ann" / "index.html").is_file()

    def test_takes_the_demo_squad_of_a_checkout(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.chdir(tmp_path)
        result = run("check")
        assert result.exit_code == 0
        assert result.stdout == "15 athlete files checked, no problems.\n"
        assert result.stderr == (
            "No folder `athletes` here: this is the demo squad of profilegen.\n"
        )

    def test_the_day_can_be_given(self, squad: SmallSquad, tmp_path: Path) -> None:
        run("build", squad.folder, "--out", tmp_path / "site", "--on", "2026-11-01")
        assert '"on":"2026-11-01"' in (tmp_path / "site" / "squad.json").read_text()


class TestMistakes:
    @pytest.mark.parametrize("day", ["0001-01-01", "1990-01-01"])
    def test_a_day_before_the_lifters_birth(
        self, squad: SmallSquad, tmp_path: Path, day: str
    ) -> None:
        result = run("build", squad.folder, "--out", tmp_path / "site", "--on", day)
        assert (result.exit_code, result.stdout) == (2, "")
        *problems, last = result.stderr.splitlines()
        assert [f"{name}.yaml: born: expected an age from 7 on {day}" in told
                for name, told in zip(("ann", "bea", "cleo"), problems, strict=True)]  # fmt: skip
        assert last == "3 problems; nothing was written."
        assert not (tmp_path / "site").exists()

    def test_every_problem_on_a_line_then_how_many(self, squad: SmallSquad, tmp_path: Path) -> None:
        squad.folder.joinpath("ann.yaml").write_text("name: Ann\nsex: X\nborn: never\n")
        result = run("build", squad.folder, "--out", tmp_path / "site")
        assert result.exit_code == 2
        assert result.stdout == ""
        *problems, last = result.stderr.splitlines()
        assert len(problems) == 2
        assert any("ann.yaml:2:6" in problem and "sex" in problem for problem in problems)
        assert any("ann.yaml:3:7" in problem and "born" in problem for problem in problems)
        assert last == "2 problems; nothing was written."
        assert not (tmp_path / "site").exists()

    def test_check_tells_the_same_problems(self, squad: SmallSquad, tmp_path: Path) -> None:
        squad.folder.joinpath("ann.yaml").write_text("name: Ann\nsex: X\nborn: never\n")
        built = run("build", squad.folder, "--out", tmp_path / "site")
        checked = run("check", squad.folder)
        assert checked.exit_code == 2
        assert checked.stderr == built.stderr

    def test_no_folder_at_all(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """Installed from a wheel, somewhere else: there is no demo squad to fall back on."""
        monkeypatch.chdir(tmp_path)
        monkeypatch.setattr(places, "_CHECKOUT", tmp_path)
        for command in ("build", "check"):
            result = run(command)
            assert result.exit_code == 2
            assert "no folder `athletes` here" in result.stderr

    @pytest.mark.parametrize(
        "command",
        [
            ["new", "Zoe Example", "--sex", "F", "--born", "2004-03-18"],
            ["intake", "sheet.csv", "--yes"],
            ["sheet"],
            ["schema"],
            ["keys"],
            ["publish", "--out", "public"],
        ],
    )
    def test_nothing_is_ever_written_into_the_demo_squad(
        self, command: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """A checkout has one beside the program: only what reads may take it for the squad."""
        checkout, elsewhere = tmp_path / "checkout", tmp_path / "elsewhere"
        elsewhere.mkdir()
        shutil.copytree(DEMO, checkout / "athletes")
        (checkout / "pyproject.toml").touch()
        monkeypatch.setattr(places, "_CHECKOUT", checkout)
        monkeypatch.chdir(elsewhere)
        (elsewhere / "sheet.csv").write_text("name,date,snatch\nKofi,2026-11-20,60\n")
        before = {path: path.read_bytes() for path in checkout.rglob("*") if path.is_file()}
        result = run(*command)
        assert result.exit_code == 2
        said = ("no folder `athletes` here", "athletes: no such folder")
        assert result.stderr.startswith(said)
        assert [path.name for path in elsewhere.iterdir()] == ["sheet.csv"]
        after = {path: path.read_bytes() for path in checkout.rglob("*") if path.is_file()}
        assert after == before

    def test_a_folder_that_is_not_there(self, tmp_path: Path) -> None:
        result = run("build", tmp_path / "squad", "--out", tmp_path / "site")
        assert result.exit_code == 2
        assert "squad: no such folder" in result.stderr

    def test_a_folder_that_is_not_ours(self, squad: SmallSquad, tmp_path: Path) -> None:
        (tmp_path / "thesis").mkdir()
        (tmp_path / "thesis" / "chapter").write_text("mine")
        result = run("build", squad.folder, "--out", tmp_path / "thesis")
        assert result.exit_code == 2
        assert "left alone" in result.stderr
        assert (tmp_path / "thesis" / "chapter").read_text() == "mine"

    @pytest.mark.parametrize(
        "options", [["--on", "yesterday"], ["--on", "2026-02-30"], ["--jobs", "0"], ["--speed"]]
    )
    def test_options_that_make_no_sense(self, squad: SmallSquad, options: list[str]) -> None:
        assert run("build", squad.folder, *options).exit_code == 2

    def test_a_name_cannot_command_the_terminal(self, squad: SmallSquad) -> None:
        """Escape sequences, new lines and marks that turn the writing direction show as text."""
        hostile = 'sex: "\\e[2J\\u202E\\nX"\n'
        squad.folder.joinpath("ann.yaml").write_text(f"name: Ann\n{hostile}born: 2000-05-17\n")
        stderr = run("check", squad.folder).stderr
        assert "\x1b" not in stderr
        assert "\u202e" not in stderr
        assert len(stderr.splitlines()) == 2


def test_a_bug_shows_itself_and_is_exit_code_1(
    squad: SmallSquad, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from profilegen.build import lifters

    def broken(*args: object) -> None:
        raise ZeroDivisionError("a bug")

    monkeypatch.setattr(lifters, "profile_of", broken)
    result = run("build", squad.folder, "--out", tmp_path / "site")
    assert result.exit_code == 1
    assert isinstance(result.exception, ZeroDivisionError)


def test_the_version_is_told() -> None:
    assert run("--version").stdout == f"profilegen {profilegen.__version__}\n"


def test_help_does_not_wait_for_the_stages() -> None:
    """Asking for help loads neither NumPy nor the templates."""
    told = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "profilegen", "--help"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert "build" in told.stdout
    loaded = {line.rsplit("|", 1)[-1].strip() for line in told.stderr.splitlines()}
    assert not loaded & {"numpy", "scipy", "jinja2", "pydantic", "yaml"}


def read_to_end(terminal: int) -> str:
    shown = b""
    with suppress(OSError):  # a pseudo-terminal ends with an error
        while part := os.read(terminal, 4096):
            shown += part
    os.close(terminal)
    return shown.decode()


@pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")
def test_a_terminal_gets_a_progress_bar_and_a_pipe_does_not(
    squad: SmallSquad, tmp_path: Path
) -> None:
    import pty

    leader, follower = pty.openpty()
    command = [sys.executable, "-m", "profilegen", "build", str(squad.folder)]
    done = subprocess.run(
        [*command, "--out", str(tmp_path / "site")],
        stdout=subprocess.PIPE,
        stderr=follower,
        env={**os.environ, "TERM": "xterm", "COLUMNS": "100"},
        check=True,
    )
    os.close(follower)
    shown = read_to_end(leader)
    assert "Profiles" in shown
    assert "3/3" in shown
    assert done.stdout.count(b"\n") == 1
