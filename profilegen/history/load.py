"""Files → records: one athlete, or a whole folder, or every problem there is.

`read_athlete` depends on its arguments alone and both they and its answer can be pickled,
so a build may spread a squad over processes; `load_squad` is the plain way.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date
from functools import partial
from pathlib import Path

from profilegen.errors import InputError, Problem
from profilegen.history.club import CLUB_FILE, read_club_and_lifts
from profilegen.history.lift_names import LiftNames
from profilegen.history.problems import unreadable
from profilegen.history.reading import read_document, validate
from profilegen.history.records import (
    Athlete,
    Avoid,
    Best,
    Build,
    Missed,
    PlannedMeet,
    Question,
    Session,
    SetRecord,
    Sharing,
    Squad,
)
from profilegen.history.schema import (
    AthleteFile,
    BestEntry,
    QuestionEntry,
    SessionEntry,
    SetEntry,
    SharingEntry,
)
from profilegen.history.sense import athlete_findings
from profilegen.history.words import quoted
from profilegen.history.yaml_tree import Places
from profilegen.norms.catalogue import Lift
from profilegen.units import lb_to_kg

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
        return [], [unreadable(folder.as_posix(), reason)]
    paths = [
        folder / name
        for name in names
        if name.lower().endswith(_ENDINGS)
        and not name.startswith(".")
        and name not in (CLUB_FILE, "keys.yaml")
    ]
    if not paths:
        said = f"no athlete files (*.yaml); the first could start with {_START}"
        return [], [unreadable(folder.as_posix(), said)]
    return paths, list(_name_problems(paths))


def _name_problems(paths: Iterable[Path]) -> Iterable[Problem]:
    """Ids that are no safe file names, or that only some file systems tell apart."""
    seen: dict[str, Path] = {}
    for path in paths:
        shown, id_ = path.as_posix(), path.stem
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
            said = f"two files for one lifter: {other.name} and {path.name}; rename or remove one"
            yield unreadable(shown, said)


def _suggested(id_: str) -> str:
    """A safe name like the one given.

    >>> _suggested("Åsa Øst"), _suggested("...")
    ('sa-st', 'lifter')
    """
    return re.sub(r"[^a-z0-9_]+", "-", id_.lower()).strip("-")[:80] or "lifter"


def read_athlete(
    path: Path, lifts: Mapping[str, Lift], *, today: date, shown_as: str | None = None
) -> Athlete:
    """Read one athlete file.

    Args:
        path: the file; its stem becomes the id.
        lifts: every lift that may be written, by id, the club's own included.
        today: nothing but meets may be later; ages are counted to this day.
        shown_as: the path in messages, when it is not `path`.

    Raises:
        InputError: with every problem of the file.
    """
    shown = shown_as or path.as_posix()
    names = LiftNames(lifts)
    document = read_document(path, shown, _START)
    written, problems = validate(
        document, AthleteFile, shown, partial(athlete_findings, names=names, today=today)
    )
    if problems or written is None:
        raise InputError(problems)
    return _Records(names, today, written, document.places).athlete(path)


class _Records:
    """A file without a mistake, as records."""

    def __init__(self, names: LiftNames, today: date, written: AthleteFile, places: Places) -> None:
        self._names = names
        self._today = today
        self._written = written
        self._places = places

    def athlete(self, path: Path) -> Athlete:
        """The whole file."""
        written = self._written
        sessions = [
            self._session(entry, places)
            for entry, places in zip(written.sessions, self._children("sessions"), strict=True)
        ]
        return Athlete(
            id=path.stem,
            name=written.name,
            sex=written.sex,
            born=written.born,
            units=written.units,
            group=written.group,
            build=Build(**written.build.model_dump()),
            avoid=tuple(
                Avoid(
                    lift=self._lift(entry.lift),
                    since=entry.since.first if entry.since else None,
                    why=entry.why,
                    line=places.line(),
                )
                for entry, places in zip(written.avoid, self._children("avoid"), strict=True)
            ),
            sharing=_sharing(written.sharing),
            meets=tuple(
                PlannedMeet(
                    on=entry.on,
                    called=entry.called,
                    target_total_kg=_in_kg(entry.target_total_kg, entry.target_total_lb),
                    line=places.line(),
                )
                for entry, places in zip(written.meets, self._children("meets"), strict=True)
            ),
            bests=tuple(
                self._best(entry, places.line())
                for entry, places in zip(written.bests, self._children("bests"), strict=True)
            ),
            sessions=tuple(sorted(sessions, key=lambda session: session.on)),
            notes=written.notes,
            questions=tuple(
                self._question(entry, places.line())
                for entry, places in zip(
                    written.questions, self._children("questions"), strict=True
                )
            ),
            path=path.name,
        )

    def _children(self, key: str) -> list[Places]:
        """The places of the entries under a top key, in order."""
        return _entries_of(self._places, key)

    def _session(self, entry: SessionEntry, places: Places) -> Session:
        set_places = _entries_of(places, "sets")
        return Session(
            on=entry.on,
            at=entry.at,
            body_mass_kg=_in_kg(entry.body_mass_kg, entry.body_mass_lb),
            sets=tuple(
                self._set(written, place.start.line + 1)
                for written, place in zip(entry.sets, set_places, strict=True)
            ),
            note=entry.note,
            line=places.line(),
        )

    def _set(self, entry: SetEntry, line: int) -> SetRecord:
        missed: Missed | None = "lift" if entry.missed is True else entry.missed or None
        return SetRecord(
            lift=self._lift(entry.lift),
            load_kg=_load_kg(entry),
            reps=entry.reps,
            in_reserve=entry.in_reserve,
            missed=missed,
            effort_max=entry.effort == "max",
            looked=entry.looked,
            share=entry.share,
            speed_m_s=entry.speed_m_s,
            video=entry.video,
            note=entry.note,
            line=line,
        )

    def _best(self, entry: BestEntry, line: int) -> Best:
        period = entry.around.until(self._today)
        return Best(
            lift=self._lift(entry.lift),
            load_kg=_load_kg(entry),
            around=period.middle,
            vague_days=period.half_days,
            source=entry.source,
            line=line,
        )

    def _question(self, entry: QuestionEntry, line: int) -> Question:
        if entry.claim is not None:
            ((quality, direction),) = entry.claim.items()
            return Question(kind="claim", quality=quality, direction=direction, line=line)
        if entry.why is not None:
            return Question(kind="why", lift=self._lift(entry.why), line=line)
        return Question(kind="holds", lift=self._lift(entry.holds or ""), line=line)

    def _lift(self, word: str) -> str:
        lift = self._names.find(word)
        if lift is None:  # checked before: a bug, not a user's mistake
            raise LookupError(word)
        return lift


def _entries_of(places: Places, key: str) -> list[Places]:
    here = places.values.get(key)
    return list(here.values.values()) if isinstance(here, Places) else []


def _sharing(written: SharingEntry | None) -> Sharing:
    if written is None:
        return Sharing()
    return Sharing(
        report=written.report,
        squad=written.squad,
        body_mass=written.body_mass,
        guardian_consent_on=written.guardian_consent,
        stated=True,
    )


def _in_kg(kg: float | None, lb: float | None) -> float | None:
    return lb_to_kg(lb) if lb is not None else kg


def _load_kg(entry: SetEntry | BestEntry) -> float:
    load_kg = _in_kg(entry.kg, entry.lb)
    if load_kg is None:  # checked before: a bug, not a user's mistake
        raise LookupError("a set without a load")
    return load_kg
