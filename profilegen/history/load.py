"""Files → records: one athlete, or a whole folder, or every problem there is.

`read_athlete` depends on its arguments alone and both they and its answer can be pickled,
so a build may spread a squad over processes; `load_squad` is the plain way.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from functools import partial
from pathlib import Path

from profilegen.errors import InputError, Problem
from profilegen.history.athlete_records import athlete_from
from profilegen.history.athlete_sense import athlete_findings
from profilegen.history.club import CLUB_FILE, read_club_and_lifts
from profilegen.history.lift_names import LiftNames
from profilegen.history.problems import unreadable
from profilegen.history.reading import document_of, read_bytes, text_of, validate
from profilegen.history.records import Athlete, Squad
from profilegen.history.schema import AthleteFile
from profilegen.history.words import quoted, shown_path
from profilegen.norms.catalogue import Lift

_ENDINGS = (".yaml", ".yml")
_START = '"name: Ann Example"'
_ID = re.compile(r"[A-Za-z0-9_-]{1,80}\Z")
_NOT_ATHLETES = ("club", "keys")
"""Files of the club that may stand in the same folder."""
_RESERVED = frozenset(
    ["con", "prn", "aux", "nul"]
    + [f"{port}{digit}" for port in ("com", "lpt") for digit in range(10)]
)
"""Names that Windows keeps for devices, whatever the ending."""


def load_squad(folder: Path, lifts: Mapping[str, Lift], *, today: date) -> Squad:
    """Read club.yaml, its rivals and every athlete file of `folder`.

    Args:
        folder: where the files are; its name as given begins every path in messages.
        lifts: the catalogue by lift id; the club's own lifts are added to it.
        today: nothing but meets may be later.

    Raises:
        InputError: with every problem of every file.
    """
    club, known, problems = read_club_and_lifts(folder, lifts, today=today)
    paths, bad_names = athlete_paths(folder)
    problems += bad_names
    athletes: list[Athlete] = []
    for path in paths:
        try:
            athletes.append(read_athlete(path, known, today=today))
        except InputError as error:
            problems += error.problems
    if problems or club is None:
        raise InputError(problems)
    return Squad(club=club, athletes=tuple(sorted(athletes, key=lambda athlete: athlete.id)))


def athlete_paths(folder: Path) -> tuple[list[Path], list[Problem]]:
    """The athlete files of a folder by name, and what is wrong with their names.

    A file whose name cannot be used is in both lists: its contents are still worth checking.
    """
    try:
        names = sorted(entry.name for entry in folder.iterdir())
    except OSError as error:
        reason = {FileNotFoundError: "not found", NotADirectoryError: "not a folder"}.get(
            type(error), error.strerror or "cannot be read"
        )
        return [], [unreadable(shown_path(folder), reason)]
    paths = [
        folder / name
        for name in names
        if name.lower().endswith(_ENDINGS)
        and not name.startswith(".")
        and name not in (CLUB_FILE, "keys.yaml")
    ]
    if not paths:
        said = f"no athlete files (*.yaml); the first could start with {_START}"
        return [], [unreadable(shown_path(folder), said)]
    return paths, list(name_problems(paths))


def name_problems(paths: Iterable[Path]) -> Iterator[Problem]:
    """Ids that are no safe file names, or that only some file systems tell apart."""
    seen: dict[str, Path] = {}
    for path in paths:
        shown, id_ = shown_path(path), path.stem
        if not _ID.match(id_):
            said = (
                f"the file name is the lifter's id: 1 to 80 letters (a-z), digits, - and _, "
                f"found {quoted(id_)}; rename it, for example to {_suggested(id_)}.yaml"
            )
            yield unreadable(shown, said)
        elif id_.lower() in _RESERVED:
            said = f"Windows keeps the name {quoted(id_)} for a device; rename it"
            yield unreadable(shown, said)
        elif id_.lower() in _NOT_ATHLETES:
            said = f"the name {quoted(id_)} is kept for the club's own files; rename it"
            yield unreadable(shown, said)
        other = seen.setdefault(id_.lower(), path)
        if other is not path:
            said = (
                f"two files for one lifter, {quoted(other.name)} and {quoted(path.name)}; "
                "rename or remove one"
            )
            yield unreadable(shown, said)


def _suggested(id_: str) -> str:
    """A safe name like the one given.

    >>> _suggested("Åsa Øst"), _suggested("...")
    ('sa-st', 'lifter')
    """
    return re.sub(r"[^a-z0-9_]+", "-", id_.lower()).strip("-")[:80] or "lifter"


def read_athlete(
    path: Path,
    lifts: Mapping[str, Lift],
    *,
    today: date,
    shown_as: str | None = None,
    written: bytes | None = None,
) -> Athlete:
    """Read one athlete file.

    Args:
        path: the file; its stem becomes the id.
        lifts: every lift that may be written, by id, the club's own included.
        today: nothing but meets may be later; ages are counted to this day.
        shown_as: the path in messages, when it is not `path`.
        written: what is in the file, when it has been read already, perhaps elsewhere.

    Raises:
        InputError: with every problem of the file.
    """
    shown = shown_as or shown_path(path)
    names = LiftNames(lifts)
    raw = read_bytes(path, shown) if written is None else written
    document = document_of(text_of(raw, shown), shown, _START)
    valid, problems = validate(
        document, AthleteFile, shown, partial(athlete_findings, names=names, today=today)
    )
    if problems or valid is None:
        raise InputError(problems)
    return athlete_from(valid, document.places, names, id_=path.stem, file=path.name)
