"""What the columns of a sheet mean: headings matched to columns that are known and to lifts.

A sheet with a column `lift` holds one row per set; any other holds one row per lifter (and
day), with a column per lift. Several columns of one lift (`Snatch 1`, `Snatch 2`) are read
from left to right. A unit in a heading (`Snatch (kg)`) holds for its column.

Headings are understood in English and in the club's language (`vocabulary.py`). One that is
not is never guessed; what is suggested is what a slip of the hand explains, or what it means in
the language of another club.

What a club calls its columns is remembered in `.intake.yaml` in the athletes folder, a file
that the coach may edit and the loader of athletes skips::

    headings:
      "Front sqt": front_squat
      "Coach": ignore
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from profilegen.errors import InputError, Problem
from profilegen.history.lift_names import LiftNames, normal
from profilegen.history.reading import read_document
from profilegen.history.records import Units
from profilegen.history.words import quoted, shown, shown_path
from profilegen.intake import as_yaml
from profilegen.intake.cells import CellError
from profilegen.intake.sheet import Cell, CellProblem, Table
from profilegen.intake.vocabulary import IGNORE, Vocabulary
from profilegen.norms.catalogue import Lift

MAPPING_FILE = ".intake.yaml"
HEADING_ROWS = 20
"""The headings stand in one of the first rows; above them may be a title."""

_START = '"headings:"'

_UNITS: Mapping[str, Units] = {"kg": "kg", "lb": "lb", "lbs": "lb"}
_SLIP = 0.8
"""How alike two headings are that only a slip of the hand tells apart."""

_UNIT_TAIL = re.compile(
    r"[\s_-]*(?:\((kg|lbs?)\)|\[(kg|lbs?)\]|[\s_,-](kg|lbs?))\s*\Z", re.IGNORECASE
)
_NUMBER_TAIL = re.compile(r"[\s_-]*(?:attempt|att|try|#)?[\s_.#-]*[1-9]\.?\Z", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Column:
    """What one column means: `role` is one of the vocabulary, or "results" of a lift."""

    number: int
    role: str
    heading: str
    lift: str | None = None
    unit: Units | None = None


@dataclass(frozen=True, slots=True)
class Headings:
    """The columns of one sheet."""

    columns: tuple[Column, ...]
    row: int
    """Where the headings stand."""
    suggested: frozenset[str] = frozenset()
    """What headings that are not understood may mean."""

    @property
    def per_set(self) -> bool:
        """Whether a row is one set."""
        return any(column.role == "lift" for column in self.columns)

    def one(self, role: str) -> Column | None:
        """The column with this role, if the sheet has it."""
        return next((column for column in self.columns if column.role == role), None)


class Meanings:
    """Finds what a heading means.

    Args:
        vocabulary: the club's, and what other clubs say.
        lifts: all that may be meant.
        mapping: the club's own headings.
    """

    def __init__(
        self, vocabulary: Vocabulary, lifts: Mapping[str, Lift], mapping: Mapping[str, str]
    ) -> None:
        self._names = LiftNames(lifts, vocabulary.spoken)
        self._mapping = {normal(heading): target for heading, target in mapping.items()}
        self._common, self._set = vocabulary.common, vocabulary.per_set
        self._elsewhere = {
            tag: Meanings(other, lifts, {}) for tag, other in vocabulary.elsewhere.items()
        }

    def heading_row(self, table: Table) -> dict[int, Cell] | None:
        """The row among the first ones that has a column of lifters."""
        for row in table.rows[:HEADING_ROWS]:
            roles = {self._target(cell.text, per_set=False)[0] for cell in row.values()}
            if roles & {"lifter", "id"}:
                return row
        return None

    def headings(self, table: Table, row: dict[int, Cell]) -> tuple[Headings, list[CellProblem]]:
        """What every column means, and the headings that mean nothing."""
        per_set = any(self._names_lifts(cell.text) for cell in row.values())
        columns: list[Column] = []
        problems: list[CellProblem] = []
        seen: dict[str, str] = {}
        load_twice = False
        suggested: set[str] = set()
        number = next(iter(row.values())).row
        below = [r for r in table.rows if next(iter(r.values())).row > number]
        for at, cell in sorted(row.items()):
            role, lift, unit = self._target(cell.text, per_set=per_set)
            if not role:
                if any(at in r for r in below):
                    said, target = self._unknown(cell.text, per_set)
                    problems.append(table.problem(cell, "heading", said))
                    suggested.add(target)
                continue
            if role == "results" and per_set:
                said = "a sheet with one row per set has no column of a lift; take it out"
                problems.append(table.problem(cell, "heading", f"{quoted(cell.text)}: {said}"))
            elif role in self._set.values() and not per_set:
                problems.append(table.problem(cell, "heading", _of_one_set(cell.text)))
            elif role in seen and role not in (IGNORE, "results"):
                problems.append(table.problem(cell, "heading", _twice(role, seen[role], cell.text)))
                load_twice = load_twice or role == "load"
            else:
                seen[role] = cell.text
                columns.append(Column(at, role, cell.text, lift, unit))
        problems += _without_heading(table, row, below)
        if per_set and "load" not in seen:
            said = "a sheet with one row per set needs a column load, kg or lb"
            problems.append(table.problem_at(number, 1, "heading", said))
        if load_twice:  # until it is known which one, nothing can be said about its cells
            columns = [column for column in columns if column.role != "load"]
        return Headings(tuple(columns), number, frozenset(suggested)), problems

    def check(self, heading: str, target: str) -> str:
        """`target` as it is remembered; CellError when it means nothing."""
        role, lift, _ = self._known(target, per_set=True)
        if not role:
            raise CellError(
                f"expected a lift, a column or {IGNORE} for {quoted(heading)}, "
                f"found {quoted(target)}{_meant(self._slip(target, True))}"
            )
        return lift or role

    def _target(self, heading: str, *, per_set: bool) -> tuple[str, str | None, Units | None]:
        mapped = self._mapping.get(normal(heading))
        if mapped is None:
            return self._known(heading, per_set)
        role, lift, unit = self._known(mapped, True)
        return role, lift, unit or _unit(heading)[1]

    def _known(self, heading: str, per_set: bool) -> tuple[str, str | None, Units | None]:
        """Role, lift and unit of a heading; no role when it means nothing."""
        bare, unit = _unit(heading)
        for name in (heading, bare):
            key = normal(name)
            role = self._common.get(key) or (self._set.get(key) if per_set else None)
            if role == "load":
                unit = _UNITS.get(key, unit)
            if role:
                return role, None, unit
        for name in (heading, bare, _NUMBER_TAIL.sub("", bare)):
            lift = self._names.find(name)
            if lift:
                return "results", lift, unit
        return "", None, None

    def _names_lifts(self, heading: str) -> bool:
        """Whether the column says which lift, so that a row is one set."""
        mapped = self._mapping.get(normal(heading), heading)
        return self._set.get(normal(mapped)) == "lift"

    def _slip(self, heading: str, per_set: bool) -> str:
        """The heading of which this is a misspelling; empty when there is none.

        Only as many words can be meant as are there: a hang clean pull is no hang clean.
        """
        word = normal(_unit(heading)[0])[:_LONGEST_GUESSED]
        known = [*self._common, *self._names.known(), *(self._set if per_set else ())]
        alike = [
            name for name in known if name[:1] == word[:1] and name.count("_") == word.count("_")
        ]
        return next(iter(difflib.get_close_matches(word, alike, n=1, cutoff=_SLIP)), "")

    def _unknown(self, heading: str, per_set: bool) -> tuple[str, str]:
        """What to say about a heading that is not understood, and what it may mean."""
        if not per_set and self._known(heading, True)[0]:
            return _of_one_set(heading), ""
        slip = self._slip(heading, per_set)
        hint, target = _meant(slip) or ";", slip or "LIFT"
        for tag, other in self._elsewhere.items():
            role, lift, _ = other._known(heading, per_set)
            if role:
                target = lift or role
                hint = f", which is {target} in a club with language: {tag};"
        return (
            f"expected a lift or a column that is known, found {quoted(heading)}{hint} "
            f'say --map "{shown(heading)}={target}", or ={IGNORE}'
        ), self._common.get(target, target)


_LONGEST_GUESSED = 60


def _meant(slip: str) -> str:
    return f', did you mean "{slip}"?' if slip else ""


def _of_one_set(heading: str) -> str:
    """What to do about a word on one set above a row that holds many."""
    return (
        f"{quoted(heading)} is of one set, and this sheet has no row per set (with a column lift);"
        " write it into the cells, as in 100x3@1, 100x3@rpe9 or 87x, or say "
        f'--map "{shown(heading)}={IGNORE}"'
    )


def _twice(role: str, first: str, second: str) -> str:
    """What to do about two columns of one role."""
    said = f"the column {role} is here twice, {quoted(first)} and {quoted(second)}"
    if role != "load":
        return f'{said}; keep one of them, or say --map "{shown(second)}={IGNORE}"'
    surely = normal(second) == "load" or normal(second) in _UNITS or _unit(second)[1]
    other = shown(first if surely else second)
    return f'{said}; if {other} tells made from missed say --map "{other}=made", else ={IGNORE}'


def _without_heading(
    table: Table, row: dict[int, Cell], below: list[dict[int, Cell]]
) -> list[CellProblem]:
    """The first cell of every column that holds something under no heading."""
    first: dict[int, Cell] = {}
    for cells in below:
        for at, cell in cells.items():
            if at not in row:
                first.setdefault(at, cell)
    said = "expected a heading above, found none; name the column or clear it"
    return [table.problem(cell, "heading", said) for _, cell in sorted(first.items())]


def _unit(heading: str) -> tuple[str, Units | None]:
    """A heading without its unit, and the unit.

    >>> _unit("Snatch (kg)"), _unit("body_mass_lb"), _unit("snatch")
    (('Snatch', 'kg'), ('body_mass', 'lb'), ('snatch', None))
    """
    found = _UNIT_TAIL.search(heading)
    if found is None:
        return heading, None
    word = (found[1] or found[2] or found[3]).lower()
    return heading[: found.start()], "kg" if word == "kg" else "lb"


# --- the club's own headings -----------------------------------------------------------


def read_mapping(folder: Path) -> dict[str, str]:
    """The headings that the club has named before.

    Raises:
        InputError: the mapping file cannot be used.
    """
    path = folder / MAPPING_FILE
    if not path.exists() and not path.is_symlink():
        return {}
    name = shown_path(path)
    document = read_document(path, name, _START)
    problems = list(document.problems)

    def say(message: str, *loc: str | int) -> None:
        problems.append(Problem(name, *document.places.spot(loc), "headings", message))

    value: dict[str, Any] = document.value
    headings = value.get("headings") or {}
    for key in value:
        if key != "headings":
            say(f"expected headings and nothing else, found {quoted(key)}", key)
    if not isinstance(headings, dict):
        say('expected lines such as "Front sqt": front_squat', "headings")
        headings = {}
    for heading, target in headings.items():
        if not isinstance(target, str):
            say(f"expected a lift, a column or {IGNORE} for {quoted(heading)}", "headings", heading)
    if problems:
        raise InputError(problems)
    return dict(headings)


def with_headings(text: str, added: Mapping[str, str]) -> str:
    """The mapping file with more headings at its end; `text` empty starts one."""
    if not text:
        text = (
            "# What the headings of your sheets mean: a lift, a column of profilegen, or ignore.\n"
            "headings:\n"
        )
    if not text.endswith("\n"):
        text += "\n"
    last = text.rstrip().rpartition("\n")[2]
    indent = last[: len(last) - len(last.lstrip())] or "  "
    return text + "".join(f"{indent}{as_yaml.quoted(key)}: {added[key]}\n" for key in added)
