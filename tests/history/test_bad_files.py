"""Every kind of mistake, as a file beside the exact words it is answered with.

After a deliberate change of words: UPDATE_BAD_FILES=1 pytest tests/history/test_bad_files.py,
then read the difference.
"""

from __future__ import annotations

import os
import shutil
from datetime import date
from pathlib import Path

import pytest

from profilegen.errors import InputError
from profilegen.history.club import read_club
from profilegen.history.load import read_athlete
from profilegen.history.rivals import read_rivals
from profilegen.norms.catalogue import load_norms

FOLDER = Path(__file__).parents[1] / "bad_files"
CASES = sorted(path.name for path in FOLDER.iterdir() if path.suffix in (".yaml", ".csv"))
TODAY = date(2026, 11, 25)


def problems_of(name: str, folder: Path) -> str:
    """What the coach is told about one bad file."""
    with pytest.raises(InputError) as caught:
        read(name, folder)
    return str(caught.value).replace(f"{folder.as_posix()}/", "") + "\n"


def read(name: str, folder: Path) -> None:
    lifts = load_norms().lifts
    if name.startswith("club_"):
        shutil.copy(FOLDER / name, folder / "club.yaml")
        read_club(folder, lifts, today=TODAY)
    elif name.startswith("rivals_"):
        read_rivals(FOLDER / name, name, today=TODAY)
    else:
        read_athlete(FOLDER / name, lifts, today=TODAY, shown_as=name)


@pytest.mark.parametrize("name", CASES)
def test_a_bad_file_is_answered_with_exactly_these_words(name: str, tmp_path: Path) -> None:
    told = problems_of(name, tmp_path)
    expected = (FOLDER / name).with_suffix(".txt")
    if os.environ.get("UPDATE_BAD_FILES"):
        expected.write_text(told, encoding="utf-8")
    assert told == expected.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", CASES)
def test_every_problem_names_the_file_and_says_something(name: str, tmp_path: Path) -> None:
    for line in problems_of(name, tmp_path).splitlines():
        file, _, message = line.partition(": ")
        assert file.split(":")[0] in (name, "club.yaml")
        assert message.isprintable()
        assert len(message) > 15
