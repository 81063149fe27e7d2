"""A validated athlete file → the frozen records that the engine reads."""

from __future__ import annotations

from profilegen.history.lift_names import LiftNames
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
)
from profilegen.history.schema import (
    AthleteFile,
    BestEntry,
    QuestionEntry,
    SessionEntry,
    SetEntry,
    SharingEntry,
)
from profilegen.history.yaml_tree import Places
from profilegen.units import lb_to_kg


def athlete_from(
    written: AthleteFile, places: Places, names: LiftNames, *, id_: str, file: str
) -> Athlete:
    """The records of a file in which no mistake was found: kg, lift ids, days, lines."""
    return _Records(names, written, places).athlete(id_, file)


class _Records:
    """One file while it is turned into records."""

    def __init__(self, names: LiftNames, written: AthleteFile, places: Places) -> None:
        self._names = names
        self._written = written
        self._places = places

    def athlete(self, id_: str, file: str) -> Athlete:
        written = self._written
        sessions = [
            self._session(entry, places)
            for entry, places in zip(written.sessions, self._children("sessions"), strict=True)
        ]
        return Athlete(
            id=id_,
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
            path=file,
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
        period = entry.around
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
