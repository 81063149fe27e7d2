"""A folder to write athlete files into, and the real catalogue."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path

import pytest

from profilegen.history.load import read_athlete
from profilegen.history.records import Athlete
from profilegen.norms.catalogue import Lift, load_norms

HEAD = "name: Ann Example\nsex: F\nborn: 2004-03-18\n"


@pytest.fixture(scope="session")
def lifts() -> Mapping[str, Lift]:
    return load_norms().lifts


@pytest.fixture(scope="session")
def today() -> date:
    return date(2026, 11, 25)


@pytest.fixture
def squad_folder(tmp_path: Path) -> Path:
    """A folder with a club and one lifter, ann."""
    (tmp_path / "club.yaml").write_text("name: Example Club\n", encoding="utf-8")
    (tmp_path / "ann.yaml").write_text(HEAD, encoding="utf-8")
    return tmp_path


@pytest.fixture
def ann(tmp_path: Path, lifts: Mapping[str, Lift], today: date) -> Callable[[str], Athlete]:
    """Ann's file with the given text after the lines that every file needs."""

    def read(rest: str, head: str = HEAD) -> Athlete:
        path = tmp_path / "ann.yaml"
        path.write_text(head + rest, encoding="utf-8")
        return read_athlete(path, lifts, today=today)

    return read
