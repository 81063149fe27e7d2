"""Whatever stands in any place of any file, and whatever a sheet adds to a file of any layout,
the answer is plain: done, or what is wrong and where."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from pydantic import BaseModel

from profilegen.errors import InputError, OutputError
from profilegen.history.club import read_club
from profilegen.history.load import read_athlete
from profilegen.history.schema import AthleteFile, ClubFile
from profilegen.intake.headings import MAPPING_FILE, read_mapping
from profilegen.intake.plan import Plan, Wishes, plan_intake
from profilegen.norms.catalogue import load_norms
from profilegen.publish import keys
from profilegen.publish.keys import KEYS_FILE, read_keys
from profilegen.report.language import words_in
from tests.fuzz import odd
from tests.intake.sheets import write_csv
from tests.squads import TODAY

LIFTS = load_norms().lifts
FREE = {"legs", "back_squat", "tall_snatch", "ann", "Front sqt", "Coach"}
"""Keys whose names are up to the coach."""


def read_club_there(folder: Path) -> object:
    return read_club(folder, LIFTS, today=TODAY)


def read_ann(folder: Path) -> object:
    return read_athlete(folder / "ann.yaml", LIFTS, today=TODAY)


KINDS: dict[str, tuple[str, dict[str, Any], Callable[[Path], object]]] = {
    "athlete": ("ann.yaml", odd.ATHLETE, read_ann),
    "athlete in pounds": ("ann.yaml", odd.IN_POUNDS, read_ann),
    "club": ("club.yaml", odd.CLUB, read_club_there),
    "keys": (KEYS_FILE, odd.KEYS, read_keys),
    "headings": (MAPPING_FILE, odd.HEADINGS, read_mapping),
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """With the files that a club file names."""
    (tmp_path / "f.csv").write_text(
        "sex,category,body_mass_kg,snatch_kg,clean_and_jerk_kg\nF,63,62,80,100\n"
    )
    (tmp_path / "l.png").write_bytes(b"x")
    return tmp_path


@pytest.mark.parametrize(
    ("model", "good"),
    [
        (AthleteFile, [odd.ATHLETE, odd.IN_POUNDS]),
        (ClubFile, [odd.CLUB]),
        (keys._KeysFile, [odd.KEYS]),
    ],
)
def test_no_key_of_any_file_is_left_out(model: type[BaseModel], good: list[Any]) -> None:
    """A key that is added to a schema must be added to odd.py."""
    tried = {tuple(step for step in way if step not in FREE) for way in odd.keys_in(good)} - {()}
    assert tried == odd.keys_of(model)


@pytest.mark.parametrize("kind", KINDS)
def test_anything_anywhere_in_a_file_is_read_or_refused_with_its_place(
    kind: str, folder: Path
) -> None:
    name, good, read = KINDS[kind]
    (folder / name).write_text(odd.file_text(good))
    read(folder)
    outcomes = {"read": 0, "refused": 0}
    bad: list[str] = []
    for what, text in odd.odd_files(good):
        (folder / name).write_text(text, encoding="utf-8")
        try:
            read(folder)
            outcomes["read"] += 1
        except InputError as error:
            outcomes["refused"] += 1
            bad += [f"{what}: {one}" for one in unplaced(error, folder / name)]
        except Exception as error:
            bad.append(f"{what}: {error!r}")
    assert bad == []
    places = len(list(odd.places(good)))
    assert sum(outcomes.values()) > places * len(odd.ODD_VALUES)
    assert min(outcomes.values()) > places


def unplaced(error: InputError, file: Path) -> Iterator[str]:
    """Messages without file, line and column, or that cannot be printed."""
    for line in str(error).split("\n"):
        if not re.match(rf"{re.escape(file.as_posix())}:[1-9]\d*:[1-9]\d*: .{{15}}", line):
            yield line
        elif not line.isprintable():
            yield repr(line)


# --- sheets ----------------------------------------------------------------------------


def plan(folder: Path, sheet: Path) -> Plan:
    return plan_intake(sheet, folder, LIFTS, Wishes(), texts_in=words_in, today=TODAY)


@pytest.fixture
def squad_of_ann(tmp_path: Path) -> Path:
    squad = tmp_path / "athletes"
    squad.mkdir()
    (squad / "club.yaml").write_text("name: Testford\n")
    return squad


@pytest.mark.parametrize("layout", odd.LAYOUTS)
def test_any_sheet_goes_into_a_file_of_any_layout_or_is_refused(
    layout: str, squad_of_ann: Path, tmp_path: Path
) -> None:
    """What goes in leaves every letter that was there, in its order."""
    ann, sheet = squad_of_ann / "ann.yaml", tmp_path / "a.csv"
    ann.write_bytes(odd.LAYOUTS[layout].encode())
    refused: list[str] = []
    for content in odd.SHEETS.values():
        sheet.write_text(content, encoding="utf-8")
        try:
            (change,) = plan(squad_of_ann, sheet).changes
        except OutputError as error:
            refused.append(str(error))
            continue
        assert change.added_sets > 0
        new = iter(change.new)
        assert all(any(old == other for other in new) for old in change.old)
    assert all("leaves no safe place for new rows" in one for one in refused)
    assert bool(refused) == (layout in odd.NO_SAFE_PLACE)


@pytest.mark.parametrize("heads", [odd.PER_LIFTER, odd.PER_SET], ids=["per lifter", "per set"])
def test_anything_in_any_cell_is_read_or_refused_with_its_place(
    heads: tuple[str, ...], squad_of_ann: Path, tmp_path: Path
) -> None:
    (squad_of_ann / "ann.yaml").write_text(odd.LAYOUTS["plain"])
    good = {"name": "Ann", "date": "2026-10-20", "snatch": "80", "lift": "snatch", "load": "80"}
    outcomes = {"read": 0, "refused": 0}
    bad: list[str] = []
    for head in heads:
        for cell in odd.ODD_CELLS:
            row = [cell if one == head else good.get(one, "") for one in heads]
            sheet = write_csv(tmp_path / "a.csv", [heads, row])
            try:
                plan(squad_of_ann, sheet)
                outcomes["read"] += 1
            except InputError as error:
                outcomes["refused"] += 1
                bad += [
                    f"{head} {cell!r}: {line}"
                    for line in str(error).split("\n")
                    if not re.match(rf"{re.escape(str(sheet))}:[A-Z]\d+: ", line)
                    or not line.isprintable()
                ]
            except Exception as error:
                bad.append(f"{head} {cell!r}: {error!r}")
    assert bad == []
    assert sum(outcomes.values()) == len(heads) * len(odd.ODD_CELLS)
    assert min(outcomes.values()) > len(odd.ODD_CELLS)
