"""A first athlete file, for somebody new, and the club's folder for the very first.

The file passes `check` and says what else it can hold. What nobody has said is not made up: the
key stands there empty, and every command asks for it.
"""

from __future__ import annotations

import re
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import partial
from pathlib import Path

from profilegen.errors import InputError, OutputError, Problem
from profilegen.history.club import CLUB_FILE, read_club, read_club_and_lifts
from profilegen.history.load import name_problems, read_athlete
from profilegen.history.records import Sex
from profilegen.history.schema_files import ATHLETE_SCHEMA, SCHEMA_FOLDER, pointer_line
from profilegen.history.words import quoted
from profilegen.intake import as_yaml
from profilegen.intake.cells import CellError
from profilegen.intake.dates import DateCustoms, read_day
from profilegen.intake.new_files import write_new
from profilegen.intake.people import folded
from profilegen.intake.vocabulary import ENGLISH, Texts, vocabulary_in
from profilegen.norms.catalogue import Lift

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

_CLUB = """\
name: {name}
# units: lb                      # how loads are shown: kg | lb
# language: de                   # of the pages and sheets: en | de
# testing_weeks:
#   - {{start: {year}-11-16, end: {year}-11-22, called: Autumn {year}}}
"""


@dataclass(frozen=True, slots=True)
class Started:
    """A file that was written."""

    path: Path
    empty: tuple[str, ...]
    """Keys that the coach has yet to fill."""
    club_missing: bool


def start_athlete(
    folder: Path,
    name: str,
    lifts: Mapping[str, Lift],
    *,
    texts_in: Callable[[str], Texts],
    today: date,
    sex: Sex | None = None,
    born: str | None = None,
    id_: str | None = None,
    club: str | None = None,
) -> Started:
    """Write the file of a new lifter; it holds no more than was said.

    Args:
        folder: the athletes folder; need not be there when a club is started.
        name: of the lifter.
        lifts: the catalogue by lift id.
        texts_in: gives the texts of a language by its tag.
        today: nobody is born later.
        sex: when it is known.
        born: a day, as a cell of a sheet may hold it.
        id_: the file's name; made from the lifter's when left out.
        club: its name, when a club.yaml is to be started, too.

    Raises:
        InputError: a name or a date that no athlete file can hold.
        OutputError: there is such a file already, or the folder cannot be written.
    """
    club_text = _club_text(club, lifts, today) if club is not None else None
    known_club, known, _ = read_club_and_lifts(folder, lifts, today=today)
    language = known_club.language if known_club else ENGLISH
    birthday = _birthday(born, vocabulary_in(language, texts_in).dates)
    path = folder / f"{id_ or _free_id(folder, name)}.yaml"
    unsafe = [Problem("--id", 0, 0, "", problem.message) for problem in name_problems([path])]
    if unsafe or path.parent != folder:
        said = "--id", 0, 0, "", f"expected a name for a file, found {quoted(id_ or name)}"
        raise InputError(unsafe or [Problem(*said)])
    taken = next((f.name for f in _files(folder) if f.stem.lower() == path.stem.lower()), None)
    if taken:
        raise OutputError(
            f"{folder / taken} is there already and stays as it is; "
            "for another lifter of that name say --id"
        )
    text = partial(
        _text,
        name.strip(),
        units=known_club.units if known_club else "kg",
        today=today,
        with_schema=(folder / SCHEMA_FOLDER / ATHLETE_SCHEMA).is_file(),
    )
    anyone = sex or "F", birthday or date(2000, 1, 1)
    _check(text(*anyone), path, known, today)
    files = {folder / CLUB_FILE: club_text} if club_text is not None else {}
    files[path] = text(sex, birthday)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"{folder} cannot be written: {error.strerror}") from error
    write_new({file: content.encode() for file, content in files.items()})
    given = {"sex": sex, "born": birthday}
    missing = not (folder / CLUB_FILE).exists()
    return Started(path, tuple(key for key, value in given.items() if value is None), missing)


def _birthday(born: str | None, customs: DateCustoms) -> date | None:
    try:
        return None if born is None else read_day(born, None, customs, or_say="")
    except CellError as error:
        raise InputError([Problem("--born", 0, 0, "", str(error))]) from None


def _club_text(name: str, lifts: Mapping[str, Lift], today: date) -> str:
    """A first club.yaml; the loader must be content with it before it is written."""
    text = _CLUB.format(name=as_yaml.name(name.strip()), year=today.year)
    with tempfile.TemporaryDirectory() as temporary:
        try:
            (Path(temporary) / CLUB_FILE).write_text(text, encoding="utf-8")
            read_club(Path(temporary), lifts, today=today)
        except UnicodeEncodeError:
            said = f"expected a name that can be written, found {quoted(name)}"
            raise InputError([Problem("--club", 0, 0, "", said)]) from None
        except InputError as error:
            raise InputError(
                Problem("--club", 0, 0, problem.field, problem.message)
                for problem in error.problems
            ) from None
    return text


def _files(folder: Path) -> list[Path]:
    return list(folder.iterdir()) if folder.exists() else []


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
    taken = {path.stem.lower() for path in _files(folder)}
    return next(f"lifter-{n}" for n in range(1, len(taken) + 2) if f"lifter-{n}" not in taken)


def _text(
    name: str, sex: Sex | None, born: date | None, *, units: str, today: date, with_schema: bool
) -> str:
    lines = [pointer_line(ATHLETE_SCHEMA)] if with_schema else []
    lines += [
        "# One lifter. Lines that start with # are only examples: take the # away to use them.",
        f"name: {as_yaml.name(name)}",
        f"sex: {sex or ' '}" + " " * 24 + "# F | M: which norms and formulas apply",
        f"born: {born}" if born else f"born: {' ' * 24}# the date of birth, as 2004-03-18",
    ]
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
