"""A first athlete file, for somebody new: passes `check`, and says what else it can hold."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from profilegen.errors import InputError, OutputError, Problem
from profilegen.history.club import read_club_and_lifts
from profilegen.history.load import name_problems, read_athlete
from profilegen.history.records import Sex
from profilegen.history.schema_files import ATHLETE_SCHEMA, SCHEMA_FOLDER, pointer_line
from profilegen.history.words import quoted
from profilegen.intake import as_yaml
from profilegen.intake.new_files import write_new
from profilegen.intake.people import folded
from profilegen.norms.catalogue import Lift

PLACEHOLDER_AGE = 15
"""Years: whose birth date is not known yet counts as a junior, so that nothing unsuitable is
advised and nothing published until somebody has written the true one."""

_LONGEST_ID = 60
_NOT_IN_ID = re.compile(r"[^a-z0-9]+")

_REST = """\
{units}# group: seniors               # training group in the club

# What the lifter agreed to show. Without this block everything stays private.
# sharing:
#   report: open                  # open | locked | off
#   squad: name                   # name | initials | off
#   body_mass: shown              # shown | hidden
#   guardian_consent: {last_year}-01-10  # under 18: the day a guardian agreed

# Proportions move squat against pull a little: short | average | long.
# build: {{thighs: average, torso: average}}

# Lifts that are never tested and never proposed; they are inferred instead.
# avoid:
#   - {{lift: back_squat, since: 2025-02-01, why: low back}}

# Meets, past and coming.
# meets:
#   - {{on: {next_year}-05-09, called: Spring Cup}}

# Hearsay and old bests, with no set to point at. source: told | seen | recorded
# bests:
#   - {{lift: snatch, {unit}: {snatch}, around: {last_year}, source: told}}

# Sets, day by day. at: testing | training | meet
# sessions:
#   - on: {last_year}-11-03
#     at: testing
#     {body_mass_key}: {body_mass}
#     sets:
#       - {{lift: snatch, {unit}: {snatch}}}                        # made
#       - {{lift: snatch, {unit}: {more}, missed: true}}
#       - {{lift: front_squat, {unit}: {squat}, reps: 3, in_reserve: 1}}
#       - {{lift: power_snatch, {unit}: {power}, effort: max}}      # nothing left

# Text for the page, in Markdown.
# notes: |
#   Moves well.

# What the page should answer.
# questions:
#   - {{holds: clean}}
"""


@dataclass(frozen=True, slots=True)
class Started:
    """A file that was written."""

    path: Path
    placeholders: tuple[str, ...]
    """Keys that hold something only because the file needs them."""
    club_missing: bool


def start_athlete(
    folder: Path,
    name: str,
    lifts: Mapping[str, Lift],
    *,
    today: date,
    sex: Sex | None = None,
    born: date | None = None,
    id_: str | None = None,
) -> Started:
    """Write the file of a new lifter; it holds no more than was said.

    Raises:
        InputError: a name or a date that no athlete file can hold.
        OutputError: there is such a file already, or the folder cannot be written.
    """
    club, known, _ = read_club_and_lifts(folder, lifts, today=today)
    path = folder / f"{id_ or _free_id(folder, name)}.yaml"
    unsafe = [Problem("--id", 0, 0, "", problem.message) for problem in name_problems([path])]
    if unsafe or path.parent != folder:
        said = "--id", 0, 0, "", f"expected a name for a file, found {quoted(id_ or name)}"
        raise InputError(unsafe or [Problem(*said)])
    taken = next((f.name for f in folder.iterdir() if f.stem.lower() == path.stem.lower()), None)
    if taken:
        raise OutputError(
            f"{folder / taken} is there already and stays as it is; "
            "for another lifter of that name say --id"
        )
    text = _text(
        name.strip(),
        sex,
        born,
        units=club.units if club else "kg",
        today=today,
        with_schema=(folder / SCHEMA_FOLDER / ATHLETE_SCHEMA).is_file(),
    )
    _check(text, path, known, today)
    write_new({path: text.encode()})
    given = {"sex": sex, "born": born}
    missing = not (folder / "club.yaml").exists()
    return Started(path, tuple(key for key, value in given.items() if value is None), missing)


def id_from(name: str) -> str:
    """A safe file name from a name; empty when no letter of it can be kept.

    >>> id_from("Søren Halvgård"), id_from("大谷")
    ('soren-halvgard', '')
    """
    return _NOT_IN_ID.sub("-", folded(name)).strip("-")[:_LONGEST_ID].strip("-")


def _free_id(folder: Path, name: str) -> str:
    id_ = id_from(name)
    if id_:
        return id_
    taken = {path.stem.lower() for path in folder.iterdir()}
    return next(f"lifter-{n}" for n in range(1, len(taken) + 2) if f"lifter-{n}" not in taken)


def _text(
    name: str, sex: Sex | None, born: date | None, *, units: str, today: date, with_schema: bool
) -> str:
    change = "PLACEHOLDER: write the true one"
    lines = [pointer_line(ATHLETE_SCHEMA)] if with_schema else []
    lines += [
        "# One lifter. Lines that start with # are only examples: take the # away to use them.",
        f"name: {as_yaml.name(name)}",
        f"sex: {sex or 'F'}"
        + (" " * 24 + "# F | M: which norms and formulas apply" if sex else ""),
        f"born: {born or today.replace(year=today.year - PLACEHOLDER_AGE, month=1, day=1)}",
    ]
    if sex is None:
        lines[-2] += f"   # F | M. {change}"
    if born is None:
        lines[-1] += f"   # {change}; until then a junior"
    kg = {"snatch": 70, "more": 73, "squat": 95, "power": 60, "body_mass": 63.4}
    lb = {"snatch": 155, "more": 160, "squat": 210, "power": 132, "body_mass": 140}
    rest = _REST.format(
        units="units: lb\n" if units == "lb" else "",
        unit=units,
        body_mass_key=f"body_mass_{units}",
        last_year=today.year - 1,
        next_year=today.year + 1,
        **(lb if units == "lb" else kg),
    )
    return "\n".join(lines) + "\n" + rest


def _check(text: str, path: Path, lifts: Mapping[str, Lift], today: date) -> None:
    """The loader must be content before the file is written."""
    with tempfile.TemporaryDirectory() as temporary:
        draft = Path(temporary) / "draft.yaml"
        try:
            draft.write_text(text, encoding="utf-8")
        except UnicodeEncodeError:
            said = f"expected a name that can be written, found {quoted(path.stem)}"
            raise InputError([Problem("NAME", 0, 0, "", said)]) from None
        try:
            read_athlete(draft, lifts, today=today, shown_as="NAME")
        except InputError as error:
            raise InputError(
                Problem("", 0, 0, problem.field, problem.message) for problem in error.problems
            ) from None
