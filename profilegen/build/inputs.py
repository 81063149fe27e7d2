"""Everything a build reads, checked before anything is written.

Athlete files that a build of the same program and club has read before are known to be
good by their hash and are not parsed again. Of all others every problem is collected, while
their contents are kept packed, and only up to a limit: memory does not grow with the squad.
"""

from __future__ import annotations

import pickle
import zlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import partial
from io import BytesIO
from pathlib import Path

from profilegen.build.jobs import Crew
from profilegen.build.logo import logo_bytes
from profilegen.build.manifest import LifterEntry, Manifest, sha256, sha256_of_parts
from profilegen.build.program import program_sha256
from profilegen.errors import InputError, Problem
from profilegen.history import plausible
from profilegen.history.club import read_club_and_lifts
from profilegen.history.load import athlete_paths, read_athlete
from profilegen.history.reading import read_bytes
from profilegen.history.records import Athlete, Club, Session, SetRecord
from profilegen.history.words import shown_path
from profilegen.norms.catalogue import Lift, load_norms

MOST_PACKED_BYTES = 64_000_000
"""Of parsed athletes kept until their turn, some 30,000 lifters of 100 rows; the files of
any others are read once more."""


@dataclass(frozen=True, slots=True)
class Source:
    """One athlete file that has no mistake."""

    id: str
    path: Path
    sha256: str
    last_session_on: date | None
    packed: bytes | None = field(default=None, repr=False)
    """What is in it, as `pack` packs it; None when it is known or there was no room."""


@dataclass(frozen=True, slots=True)
class Inputs:
    """A squad that has no mistake in any file."""

    club: Club
    lifts: Mapping[str, Lift]
    """All that may be written, the club's own included."""
    today: date
    program_sha256: str
    club_sha256: str
    sources: tuple[Source, ...]
    """By id."""

    @property
    def latest_session_on(self) -> date | None:
        """The latest session of anyone."""
        days = [source.last_session_on for source in self.sources if source.last_session_on]
        return max(days) if days else None

    def athletes(self) -> Iterator[Athlete]:
        """Everyone by id, one at a time."""
        return (self.athlete(source) for source in self.sources)

    def athlete(self, source: Source) -> Athlete:
        """What is in one file. InputError when it has changed since it was checked."""
        if source.packed is not None:
            return unpack(source.packed)
        return read_athlete(source.path, self.lifts, today=self.today, written=reread(source))


def pack(athlete: Athlete) -> bytes:
    """An athlete as a few bytes (some 20 a row), to be kept or sent to another process."""
    packed = BytesIO()
    packer = pickle.Pickler(packed, pickle.HIGHEST_PROTOCOL)
    packer.dispatch_table = {SetRecord: _by_values, Session: _by_values}
    packer.dump(athlete)
    return zlib.compress(packed.getbuffer(), level=1)


def _by_values(record: SetRecord | Session) -> tuple[type, tuple[object, ...]]:
    """How to make a record again, for pickle: what dataclasses with slots do themselves looks
    up their fields each time, which takes twice as long for a diary of a hundred rows."""
    return type(record), tuple([getattr(record, name) for name in record.__match_args__])


def unpack(packed: bytes) -> Athlete:
    """The athlete that `pack` packed; for bytes of this very build only."""
    athlete = pickle.loads(zlib.decompress(packed))
    if not isinstance(athlete, Athlete):
        raise TypeError("not a packed athlete")
    return athlete


def reread(source: Source) -> bytes:
    """The very bytes that were checked; InputError when someone has saved others since."""
    shown = shown_path(source.path)
    written = read_bytes(source.path, shown)
    if sha256(written) != source.sha256:
        said = "was saved while the site was being built; build again"
        raise InputError([Problem(shown, 0, 0, "", said)])
    return written


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
    club, lifts, problems = read_club_and_lifts(folder, load_norms().lifts, today=today)
    paths, bad_names = athlete_paths(folder)
    problems += bad_names
    program, club_hash = program_sha256(), _club_sha256(club, folder) if club else ""
    known: Mapping[str, LifterEntry] = {}
    if before and (before.program_sha256, before.club_sha256) == (program, club_hash):
        known = before.lifters
    sources = [_known(path, known[path.stem]) for path in paths if _is_known(path, known)]
    unchanged = {source.path for source in sources}
    new = [path for path in paths if path not in unchanged]
    packed_bytes = 0
    for answer in crew.stream(partial(_parse, lifts, today), _contents(new, problems), len(new)):
        if isinstance(answer, Source):
            packed_bytes += len(answer.packed or b"")
            room = packed_bytes <= MOST_PACKED_BYTES
            sources.append(answer if room else replace(answer, packed=None))
        else:
            problems += answer
    if problems or club is None:
        raise InputError(problems)
    by_id = tuple(sorted(sources, key=lambda one: one.id))
    return Inputs(club, lifts, today, program, club_hash, by_id)


def check_ages(
    inputs: Inputs,
    sources: Iterable[Source],
    on: date,
    *,
    asked: bool,
    before: Manifest | None = None,
) -> None:
    """InputError naming every lifter who was too young to lift on the day of the profiles.

    A day that nobody asked for, the squad's latest session, may lie a little before a child's
    first: then it is enough to be born. The files were checked for today, and those of the
    build `before` for its day.
    """
    if on >= inputs.today:
        return
    youngest = plausible.AGE_RANGE[0] if asked else 0
    known: Mapping[str, LifterEntry] = {}
    if before and before.program_sha256 == inputs.program_sha256 and before.on <= on.isoformat():
        known = before.lifters
    problems = []
    for source in sources:
        entry = known.get(source.id)
        if entry and entry.source_sha256 == source.sha256:
            continue
        athlete = inputs.athlete(source)
        if athlete.age_on(on) < youngest:
            said = (
                f"expected an age from {youngest} on {on}, the day the profiles are for, "
                f"found a birth on {athlete.born}; give a later day with --on"
            )
            problems.append(Problem(shown_path(source.path), 0, 0, "born", said))
    if problems:
        raise InputError(problems)


def _is_known(path: Path, known: Mapping[str, LifterEntry]) -> bool:
    """Whether an earlier build read this very content. A file that is not there to be read
    is not: whoever parses it says what is wrong with it."""
    entry = known.get(path.stem)
    if entry is None:
        return False
    try:
        return sha256(read_bytes(path, "")) == entry.source_sha256
    except InputError:
        return False


def _known(path: Path, entry: LifterEntry) -> Source:
    day = entry.last_session_on
    last = date.fromisoformat(day) if day else None
    return Source(path.stem, path, entry.source_sha256, last)


def _contents(paths: Sequence[Path], problems: list[Problem]) -> Iterator[tuple[Path, bytes]]:
    """Each file and its bytes, read when its turn comes: whoever parses them may sit on
    another machine. Files that cannot be read go to `problems`."""
    for path in paths:
        try:
            yield path, read_bytes(path, shown_path(path))
        except InputError as error:
            problems += error.problems


def _parse(
    lifts: Mapping[str, Lift], today: date, files: Sequence[tuple[Path, bytes]]
) -> list[Source | tuple[Problem, ...]]:
    """Runs in a worker: each file's content, or its problems."""
    answers: list[Source | tuple[Problem, ...]] = []
    for path, written in files:
        try:
            athlete = read_athlete(path, lifts, today=today, written=written)
        except InputError as error:
            answers.append(error.problems)
        else:
            day = athlete.last_session_on
            answers.append(Source(athlete.id, path, sha256(written), day, pack(athlete)))
    return answers


def _club_sha256(club: Club, folder: Path) -> str:
    """Of all that club.yaml and the files it names say; comments in them do not count."""
    return sha256_of_parts([repr(club), logo_bytes(folder, club)])
