"""What README.md and DEVELOPERS.md say is true."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from typer.main import get_command

from profilegen.cli import app
from profilegen.history.load import load_squad
from profilegen.norms.catalogue import load_norms
from tests.squads import CLUB, TODAY

CHECKOUT = Path(__file__).parents[1]
DOCS = ("README.md", "DEVELOPERS.md")


def text_of(name: str) -> str:
    return (CHECKOUT / name).read_text(encoding="utf-8")


def test_the_athlete_file_in_the_readme_passes(tmp_path: Path) -> None:
    (example,) = re.findall(r"```yaml\n(.*?)```", text_of("README.md"), re.DOTALL)
    (tmp_path / "club.yaml").write_text(CLUB)
    (tmp_path / "ann.yaml").write_text(example)
    squad = load_squad(tmp_path, load_norms().lifts, today=TODAY)
    (ann,) = squad.athletes
    assert ann.name == "Ann Example"
    assert len(ann.sessions[0].sets) == 5


def test_the_readme_opens_with_two_commands() -> None:
    prose = re.sub(r"```.*?```", "", text_of("README.md"), flags=re.DOTALL)
    build, tests = re.findall(r"^    (.+)$", prose, re.MULTILINE)
    assert re.search(r"profilegen build athletes --on \S+ --out site$", build)
    assert "pytest" in tests
    assert "`site/index.html`" in text_of("README.md")


def test_every_command_and_option_in_the_readme_exists() -> None:
    text = text_of("README.md")
    commands = get_command(app).commands  # type: ignore[attr-defined]
    named = set(re.findall(r"`profilegen ([a-z]+)", text))
    assert named
    assert named <= set(commands)
    known = {option for c in commands.values() for p in c.params for option in p.opts}
    line = re.findall(r"`profilegen [^`]*`", text)
    assert {option for part in line for option in re.findall(r"--[a-z-]+", part)} <= known


@pytest.mark.parametrize("name", DOCS)
def test_every_file_of_ours_that_is_named_exists(name: str) -> None:
    paths = re.findall(r"`((?:profilegen|templates|tests|athletes)/[\w./-]*)`", text_of(name))
    assert paths
    for path in paths:
        assert (CHECKOUT / path).exists(), path
