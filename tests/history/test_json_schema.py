"""Editors check and complete the demo's files by schemas that say what the loader says."""

from __future__ import annotations

import json
from copy import deepcopy
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

from profilegen import cli
from profilegen.history.club import read_club_and_lifts
from profilegen.history.json_schema import schema_files
from profilegen.history.load import athlete_paths
from profilegen.history.schema_files import ATHLETE_SCHEMA, CLUB_SCHEMA, SCHEMA_FOLDER
from profilegen.history.yaml_tree import read_tree
from profilegen.norms.catalogue import load_norms
from tests.squads import DEMO, TODAY

FILES = sorted(DEMO.glob("*.yaml"))
ONLY_THE_LOADER = {
    "birth_before_lifting",
    "birth_long_ago",
    "birth_to_come",
    "future",
    "not_utf8",
    "repeated_keys",
}
BAD_FILES = Path(__file__).parents[1] / "bad_files"
_, LIFTS, _ = read_club_and_lifts(DEMO, load_norms().lifts, today=TODAY)
SCHEMAS = {name: json.loads(text) for name, text in schema_files(LIFTS).items()}


def values(text: str) -> Any:
    """A file as an editor sees it: dates are text to JSON Schema."""

    def plain(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: plain(inner) for key, inner in value.items()}
        if isinstance(value, list):
            return [plain(inner) for inner in value]
        return value.isoformat() if isinstance(value, date) else value

    return plain(read_tree(text, "").value)


def complaints(value: Any, schema: str = ATHLETE_SCHEMA) -> list[str]:
    checker = Draft202012Validator(
        SCHEMAS[schema], format_checker=Draft202012Validator.FORMAT_CHECKER
    )
    return [error.message for error in checker.iter_errors(value)]


def athlete(**more: Any) -> dict[str, Any]:
    return {"name": "Ann Example", "sex": "F", "born": "2004-03-18", **more}


def with_set(*, units: str = "kg", **one: Any) -> dict[str, Any]:
    session = {"on": "2026-10-12", "sets": [{"lift": "snatch", **one}]}
    return athlete(units=units, sessions=[session])


@pytest.mark.parametrize("schema", [ATHLETE_SCHEMA, CLUB_SCHEMA])
def test_it_is_a_schema_of_its_draft(schema: str) -> None:
    Draft202012Validator.check_schema(SCHEMAS[schema])


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_demo_file_passes_and_names_its_schema(path: Path) -> None:
    schema = CLUB_SCHEMA if path.stem == "club" else ATHLETE_SCHEMA
    text = path.read_text(encoding="utf-8")
    assert complaints(values(text), schema) == []
    assert text.splitlines()[0] == f"# yaml-language-server: $schema={SCHEMA_FOLDER}/{schema}"
    assert (DEMO / SCHEMA_FOLDER / schema).is_file()


@pytest.mark.parametrize("schema", [ATHLETE_SCHEMA, CLUB_SCHEMA])
def test_the_committed_schema_is_what_the_command_writes(schema: str, tmp_path: Path) -> None:
    """Update with: profilegen schema --athletes athletes"""
    result = CliRunner().invoke(
        cli.app, ["schema", "--athletes", str(DEMO), "--out", str(tmp_path)]
    )
    assert result.exit_code == 0
    committed = json.loads((DEMO / SCHEMA_FOLDER / schema).read_text(encoding="utf-8"))
    assert committed == json.loads((tmp_path / schema).read_text(encoding="utf-8"))


def test_the_loader_passes_over_the_folder() -> None:
    paths, problems = athlete_paths(DEMO)
    assert problems == []
    assert all(SCHEMA_FOLDER not in path.parts for path in paths)


def test_own_lifts_are_offered() -> None:
    assert complaints(with_set(kg=70) | {"avoid": [{"lift": "pin_front_squat"}]}) == []
    plain_lifts = json.loads(schema_files(load_norms().lifts)[ATHLETE_SCHEMA])
    assert "pin_front_squat" not in plain_lifts["$defs"]["lift"]["enum"]


@pytest.mark.parametrize(
    "value",
    [
        athlete(),
        with_set(kg=84),
        with_set(units="lb", lb=185),
        with_set(kg=84, missed=False, effort="max"),
        athlete(sessions=None, bests=None, notes=None, sharing=None),
        athlete(sessions=[{"on": "2026-10-12", "body_mass_kg": 63.4}]),
        athlete(bests=[{"lift": "Power snatch", "kg": 70, "around": 2025}]),
        athlete(questions=[{"claim": {"legs": "low"}}]),
    ],
)
def test_what_the_loader_takes_passes(value: Any) -> None:
    assert complaints(value) == []


@pytest.mark.parametrize(
    "value",
    [
        {"name": "Ann Example", "sex": "F"},
        athlete(sex="female"),
        athlete(born="yesterday"),
        athlete(height_cm=170),
        with_set(kg=84, lift="snach"),
        with_set(kg="84"),
        with_set(kg=840),
        with_set(),
        with_set(lb=185),
        with_set(units="lb", kg=84),
        with_set(kg=84, reps=0),
        with_set(kg=84, in_reserve=0.3),
        with_set(kg=84, in_reserve=8),
        with_set(kg=84, missed="snatch"),
        with_set(kg=84, missed=True, effort="max"),
        athlete(sessions=[{"on": "2026-10-12"}]),
        athlete(sessions=[{"on": "2026-10-12", "sets": [None]}]),
        athlete(avoid=[{"lift": "clean_and_jerk"}]),
        athlete(questions=[{"why": "clean", "holds": "clean"}]),
        athlete(questions=[{"claim": {"grit": "low"}}]),
    ],
)
def test_a_mistake_is_marked(value: Any) -> None:
    assert complaints(value)


def test_an_editor_marks_every_bad_file_but_these() -> None:
    """What only the loader sees: days against today and each other, repeated keys, encoding."""
    unseen = set()
    for path in sorted(BAD_FILES.glob("*.yaml")):
        text = path.read_bytes().decode("utf-8", "replace")
        document = read_tree(text, "")
        is_athlete = not path.stem.startswith(("club", "rivals"))
        if is_athlete and isinstance(document.value, dict) and not complaints(values(text)):
            unseen.add(path.stem)
    assert unseen == ONLY_THE_LOADER


def test_a_bad_club_file_is_marked() -> None:
    good = values((DEMO / "club.yaml").read_text(encoding="utf-8"))
    for key, value in (
        ("language", "latin"),
        ("own_lifts", [{"id": "Deficit Snatch", "name": "x", "parent": "snatch", "share": 0.9}]),
        ("test_cost", {"back_sqat": 2}),
        ("look", {"accent": "green"}),
        ("colour", "green"),
    ):
        bad = deepcopy(good) | {key: value}
        assert complaints(bad, CLUB_SCHEMA), key
