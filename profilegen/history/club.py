"""club.yaml → `Club`, with its rivals, its own lifts and its logo."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from functools import partial
from pathlib import Path, PurePosixPath

from profilegen.errors import InputError, Problem
from profilegen.history.club_sense import club_findings
from profilegen.history.lift_names import LiftNames
from profilegen.history.problems import Finding, placed, unreadable
from profilegen.history.reading import read_document, validate
from profilegen.history.records import Club, Mark, OwnLift, Rival, TestingWeek
from profilegen.history.rivals import read_rivals
from profilegen.history.schema import ClubFile
from profilegen.history.words import quoted, shown_path
from profilegen.history.yaml_tree import Document
from profilegen.norms.catalogue import Figure, Lift

CLUB_FILE = "club.yaml"
LOGO_TYPES: Mapping[str, str] = {
    ".png": "image/png",
    ".svg": "image/svg+xml",
    ".jpg": "image/jpeg",
    ".jpeg": "image/jpeg",
    ".webp": "image/webp",
}
"""Media type by the end of the file's name, whatever its capitals."""
MAX_LOGO_BYTES = 100_000
_START = '"name: Example Weightlifting Club"'


def read_club(folder: Path, lifts: Mapping[str, Lift], *, today: date) -> Club:
    """Read club.yaml of `folder` and the files it names.

    Args:
        folder: where club.yaml is.
        lifts: the catalogue by lift id, without the club's own lifts.
        today: results of rivals are not later.

    Raises:
        InputError: with every problem of these files; a missing club.yaml is one.
    """
    club, _, problems = read_club_and_lifts(folder, lifts, today=today)
    if problems or club is None:
        raise InputError(problems)
    return club


def read_club_and_lifts(
    folder: Path, lifts: Mapping[str, Lift], *, today: date
) -> tuple[Club | None, Mapping[str, Lift], list[Problem]]:
    """The club if it has no mistake, all lifts its athletes may write, and the problems.

    The lifts hold the club's own ones as far as they can be read, so that a mistake in
    club.yaml does not turn every set of an own lift into one.
    """
    path = folder / CLUB_FILE
    shown = shown_path(path)
    if not path.exists() and not path.is_symlink():
        said = f"not found; start one that holds {_START}"
        if (folder / "club.yml").exists():
            said = "not found; rename club.yml to club.yaml"
        if not folder.is_dir():
            return None, lifts, []  # told once, when the athlete files are looked for
        return None, lifts, [unreadable(shown, said)]
    try:
        document = read_document(path, shown, _START)
    except InputError as error:
        return None, lifts, list(error.problems)
    written, problems = validate(document, ClubFile, shown, partial(club_findings, lifts=lifts))
    known = _with_own_lifts(document, lifts)
    rivals, more = _rivals(document, folder, shown, today)
    problems += more
    problems += _logo_problems(document, folder, shown)
    if problems or written is None:
        return None, known, problems
    return _club(written, document, LiftNames(known), rivals), known, []


def _club(
    written: ClubFile, document: Document, names: LiftNames, rivals: tuple[Rival, ...]
) -> Club:
    places = document.places
    return Club(
        name=written.name,
        units=written.units,
        language=written.language,
        testing_weeks=tuple(
            sorted(
                (
                    TestingWeek(start=week.start, end=week.end, called=week.called)
                    for week in written.testing_weeks
                ),
                key=lambda week: week.start,
            )
        ),
        own_lifts=tuple(
            OwnLift(
                id=own.id,
                name=own.name,
                parent=names.find(own.parent) or own.parent,
                share=own.share,
                line=places.line("own_lifts", index),
            )
            for index, own in enumerate(written.own_lifts)
        ),
        marks=tuple(
            Mark(**mark.model_dump(), line=places.line("marks", index))
            for index, mark in enumerate(written.marks)
        ),
        field=rivals,
        accent=written.look.accent.lower() if written.look.accent else None,
        logo=written.look.logo,
        test_cost=tuple(
            sorted((names.find(word) or word, cost) for word, cost in written.test_cost.items())
        ),
        indexed=written.publish.index,
        path=CLUB_FILE,
    )


def _with_own_lifts(document: Document, lifts: Mapping[str, Lift]) -> Mapping[str, Lift]:
    """The catalogue with every own lift whose id can be read."""
    own_lifts = document.value.get("own_lifts")
    if not isinstance(own_lifts, list):
        return lifts
    names = LiftNames(lifts)
    known = dict(lifts)
    for own in own_lifts:
        if not isinstance(own, dict):
            continue
        id_, parent, name = own.get("id"), own.get("parent"), own.get("name")
        if isinstance(id_, str) and id_ not in known:
            found = names.find(parent) if isinstance(parent, str) else None
            model = lifts.get(found or "") or _UNKNOWN_PARENT
            known[id_] = replace(
                model, id=id_, name=name if isinstance(name, str) else id_, aliases=()
            )
    return known


_NOTHING = Figure(1.0, "common practice")
_UNKNOWN_PARENT = Lift(
    id="",
    name="",
    order=0,
    family="",
    share=_NOTHING,
    own_sd=_NOTHING,
    loadings={},
    rep_kind="strength",
    fluke_rate=_NOTHING,
    test_cost=_NOTHING,
)
"""Stands in while checking, when the parent of an own lift is itself a mistake."""


def _rivals(
    document: Document, folder: Path, shown: str, today: date
) -> tuple[tuple[Rival, ...], list[Problem]]:
    name = document.value.get("field")
    if not isinstance(name, str) or not name:
        return (), []
    wrong = _wrong_path(folder, name, (".csv",))
    if wrong:
        return (), placed([Finding(("field",), wrong)], document, shown)
    path = folder / name
    try:
        return read_rivals(path, shown_path(path), today=today), []
    except InputError as error:
        return (), list(error.problems)


def _logo_problems(document: Document, folder: Path, shown: str) -> list[Problem]:
    look = document.value.get("look")
    name = look.get("logo") if isinstance(look, dict) else None
    if not isinstance(name, str) or not name:
        return []
    wrong = _wrong_path(folder, name, tuple(LOGO_TYPES)) or _wrong_logo(folder / name, name)
    return placed([Finding(("look", "logo"), wrong)], document, shown) if wrong else []


def _wrong_logo(path: Path, name: str) -> str:
    """Why a picture that is there cannot be shown; empty when it can."""
    try:
        with path.open("rb") as stream:
            size = len(stream.read(MAX_LOGO_BYTES + 1))
    except OSError as error:
        return f"{quoted(name)} cannot be read: {error.strerror or 'unknown reason'}"
    if size <= MAX_LOGO_BYTES:
        return ""
    return f"{quoted(name)} is larger than {MAX_LOGO_BYTES // 1_000} kB, the limit for a logo"


def _wrong_path(folder: Path, name: str, endings: tuple[str, ...]) -> str:
    """Why a file named in club.yaml cannot be used; empty when it can."""
    if not name.lower().endswith(endings):
        return f"expected a file that ends in {' or '.join(endings)}, found {quoted(name)}"
    parts = PurePosixPath(name)
    outside = f"expected a file inside the athletes folder, found {quoted(name)}"
    if parts.is_absolute() or ".." in parts.parts or "\\" in name or ":" in name or "\0" in name:
        return outside
    try:
        path = folder / name
        if not path.resolve().is_relative_to(folder.resolve()):
            return outside
        return "" if path.is_file() else f"there is no file {quoted(name)} in the athletes folder"
    except (OSError, RuntimeError, ValueError):
        return f"{quoted(name)} cannot be read"
