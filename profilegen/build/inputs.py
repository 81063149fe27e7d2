"""Everything a build reads, checked before anything is written.

Athlete files that a build of the same program and club has read before are known to be
good by their hash and are not parsed again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from pathlib import Path

from profilegen.build.jobs import Crew
from profilegen.build.manifest import LifterEntry, Manifest, sha256, sha256_of_parts
from profilegen.build.program import program_sha256
from profilegen.errors import InputError, Problem
from profilegen.history.club import read_club_and_lifts
from profilegen.history.load import athlete_paths, load_squad, read_athlete
from profilegen.history.reading import MAX_BYTES
from profilegen.history.records import Athlete, Club
from profilegen.norms.catalogue import Lift, load_norms


@dataclass(frozen=True, slots=True)
class Source:
    """One athlete file."""

    id: str
    path: Path
    sha256: str
    last_session_on: date | None
    athlete: Athlete | None
    """What is in it; None when it is known and was not parsed again."""


@dataclass(frozen=True, slots=True)
class Inputs:
    """A squad that has no mistake in any file."""

    club: Club
    program_sha256: str
    club_sha256: str
    sources: tuple[Source, ...]
    """By id."""

    @property
    def latest_session_on(self) -> date | None:
        """The latest session of anyone."""
        days = [source.last_session_on for source in self.sources if source.last_session_on]
        return max(days) if days else None


def read_inputs(folder: Path, *, today: date, before: Manifest | None, crew: Crew) -> Inputs:
    """Read and check a squad's folder.

    Args:
        folder: athlete files, club.yaml and what it names.
        today: nothing but meets may be later.
        before: the manifest of the last build, if there is one.
        crew: who shares the parsing.

    Raises:
        InputError: with every problem of every file.
    """
    catalogue = load_norms().lifts
    club, lifts, problems = read_club_and_lifts(folder, catalogue, today=today)
    paths, bad_names = athlete_paths(folder)
    if club is None or problems or bad_names:
        load_squad(folder, catalogue, today=today)
        raise AssertionError("the club's or the folder's problems were not found again")
    program, club_hash = program_sha256(), _club_sha256(club, folder)
    known: Mapping[str, LifterEntry] = {}
    if before and (before.program_sha256, before.club_sha256) == (program, club_hash):
        known = before.lifters
    sources = [_known(path, known[path.stem]) for path in paths if _is_known(path, known)]
    unchanged = {source.path for source in sources}
    new = [path for path in paths if path not in unchanged]
    for answer in crew.stream(partial(_read_batch, lifts, today), new, len(new)):
        if isinstance(answer, Source):
            sources.append(answer)
        else:
            problems += answer
    if problems:
        raise InputError(problems)
    return Inputs(club, program, club_hash, tuple(sorted(sources, key=lambda one: one.id)))


def _is_known(path: Path, known: Mapping[str, LifterEntry]) -> bool:
    """Whether an earlier build read this very content. A file that is not there to be read
    is not: whoever parses it says what is wrong with it."""
    entry = known.get(path.stem)
    return entry is not None and path.is_file() and _sha256(path) == entry.source_sha256


def _known(path: Path, entry: LifterEntry) -> Source:
    day = entry.last_session_on
    last = date.fromisoformat(day) if day else None
    return Source(path.stem, path, entry.source_sha256, last, None)


def _read_batch(
    lifts: Mapping[str, Lift], today: date, paths: Sequence[Path]
) -> list[Source | tuple[Problem, ...]]:
    """Runs in a worker: each file's content, or its problems."""
    answers: list[Source | tuple[Problem, ...]] = []
    for path in paths:
        try:
            answers.append(_read(path, lifts, today))
        except InputError as error:
            answers.append(error.problems)
    return answers


def _read(path: Path, lifts: Mapping[str, Lift], today: date) -> Source:
    """A file and the hash of what was read, also when it is saved at this very moment."""
    while True:
        before = _sha256(path)
        athlete = read_athlete(path, lifts, today=today)
        if before and _sha256(path) == before:
            return Source(athlete.id, path, before, athlete.last_session_on, athlete)


def _sha256(path: Path) -> str:
    """Of a regular file of sensible size; empty for anything else."""
    try:
        if path.is_file() and path.stat().st_size <= MAX_BYTES:
            return sha256(path.read_bytes())
    except OSError:
        pass
    return ""


def _club_sha256(club: Club, folder: Path) -> str:
    """Of all that club.yaml and the files it names say; comments in them do not count."""
    logo = (folder / club.logo).read_bytes() if club.logo else b""
    return sha256_of_parts([repr(club), logo])
