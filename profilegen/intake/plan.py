"""What a sheet adds to which file, worked out and checked before anything is written."""

from __future__ import annotations

import difflib
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from profilegen.errors import InputError, OutputError, Problem
from profilegen.history.club import read_club_and_lifts
from profilegen.history.lift_names import LiftNames
from profilegen.history.load import load_squad, read_athlete
from profilegen.history.records import Athlete, Place, Session, SetRecord, Units
from profilegen.history.words import plain, shown_path
from profilegen.history.written import day_or_none
from profilegen.history.yaml_tree import read_tree
from profilegen.intake.as_yaml import Values
from profilegen.intake.cells import CellError
from profilegen.intake.dates import DayOrder, read_day
from profilegen.intake.day import Day, Measured, Settings, SheetSet
from profilegen.intake.headings import MAPPING_FILE, Meanings, read_mapping, with_headings
from profilegen.intake.insert import CannotInsertError, NewRows, with_rows
from profilegen.intake.journal import Replacement
from profilegen.intake.results import read_results
from profilegen.intake.second_look import Added, second_look
from profilegen.intake.sheet import CellProblem, read_tables
from profilegen.intake.vocabulary import Texts, Vocabulary, vocabulary_in
from profilegen.norms.catalogue import Lift
from profilegen.units import kg_to_lb

_SAME_LOAD_KG = 0.06
"""Loads this near are one: a quarter pound is more, rounding to a hundredth is less."""
_BOM = b"\xef\xbb\xbf"


@dataclass(frozen=True, slots=True)
class Change:
    """One athlete file, before and after."""

    name: str
    old: bytes
    new: bytes
    added_sets: int

    def diff(self) -> list[str]:
        """A unified diff, without line ends."""
        old, new = (_text(content)[1].splitlines() for content in (self.old, self.new))
        return list(difflib.unified_diff(old, new, self.name, self.name, lineterm="", n=2))


@dataclass(frozen=True, slots=True)
class Plan:
    """All that one sheet adds."""

    changes: tuple[Change, ...]
    notes: tuple[str, ...]
    """What the coach should know, a line each."""
    second_look: tuple[str, ...]
    """What looks odd and is added all the same, a line each."""
    mapping: Replacement | None
    """The file of the club's own headings, when it changes."""

    @property
    def replacements(self) -> list[Replacement]:
        """What is to be written."""
        files = [Replacement(change.name, change.old, change.new) for change in self.changes]
        return [*files, self.mapping] if self.mapping else files

    @property
    def added_sets(self) -> int:
        """Sets in all files."""
        return sum(change.added_sets for change in self.changes)


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the coach said beside the sheet; None: not said."""

    units: Units | None = None
    on: str | None = None
    """A day, as a cell may hold it."""
    at: Place | None = None
    day_order: DayOrder | None = None
    headings: tuple[tuple[str, str], ...] = ()
    """Heading and what it means, to be remembered."""


def plan_intake(
    sheet: Path,
    folder: Path,
    lifts: Mapping[str, Lift],
    wishes: Wishes,
    *,
    texts_in: Callable[[str], Texts],
    today: date,
) -> Plan:
    """Read a sheet against a squad.

    Args:
        sheet: CSV or XLSX.
        folder: the athletes folder.
        lifts: the catalogue by lift id.
        wishes: what holds where no cell says otherwise.
        texts_in: gives the texts of a language by its tag.
        today: no result is later.

    Raises:
        InputError: with every problem of the athlete files, or else of the sheet.
        OutputError: a file into which no row can be put safely.
    """
    squad = load_squad(folder, lifts, today=today)
    _, known, _ = read_club_and_lifts(folder, lifts, today=today)
    vocabulary = vocabulary_in(squad.club.language, texts_in)
    names = LiftNames(known, vocabulary.spoken)
    mapping = read_mapping(folder)
    meanings, added = _meanings(vocabulary, known, mapping, wishes)
    settings = Settings(
        wishes.units or squad.club.units,
        vocabulary,
        _day(wishes, vocabulary),
        wishes.at,
        wishes.day_order,
    )
    results = read_results(read_tables(sheet), squad, names, meanings, settings, today=today)
    notes = [f"{place}: no column of lifters, skipped" for place in results.skipped_sheets]
    by_lifter: dict[str, list[Day]] = {}
    for day in results.days:
        by_lifter.setdefault(day.lifter, []).append(day)
    changes: list[Change] = []
    added_days: list[Added] = []
    problems: list[Problem] = []
    for athlete in squad.athletes:
        if athlete.id not in by_lifter:
            continue
        file = _File(folder / athlete.path, athlete)
        rows = [row for day in by_lifter[athlete.id] if (row := file.new_rows(day))]
        problems += file.problems
        notes += file.notes
        added_days += file.added
        if rows and not file.problems:
            changes.append(file.changed(rows, known, today))
    if problems:
        raise InputError(problems)
    odd = tuple(str(one) for one in second_look(added_days, known))
    return Plan(tuple(changes), tuple(notes), odd, _mapping_file(folder, mapping, added))


def _day(wishes: Wishes, vocabulary: Vocabulary) -> date | None:
    try:
        order, customs = wishes.day_order, vocabulary.dates
        return None if wishes.on is None else read_day(wishes.on, order, customs)
    except CellError as error:
        raise InputError([Problem("--on", 0, 0, "", str(error))]) from None


def _meanings(
    vocabulary: Vocabulary, lifts: Mapping[str, Lift], mapping: Mapping[str, str], wishes: Wishes
) -> tuple[Meanings, dict[str, str]]:
    """How headings are read, and what there is to remember."""
    known = Meanings(vocabulary, lifts, {})
    problems: list[Problem] = []
    added: dict[str, str] = {}
    for where, pairs in ((MAPPING_FILE, mapping.items()), ("--map", wishes.headings)):
        for heading, target in pairs:
            try:
                meant = known.check(heading, target)
            except CellError as error:
                problems.append(Problem(where, 0, 0, "headings", str(error)))
                continue
            if where == "--map" and mapping.get(heading) != meant:
                added[heading] = meant
    if problems:
        raise InputError(problems)
    return Meanings(vocabulary, lifts, {**mapping, **added}), added


def _mapping_file(
    folder: Path, mapping: Mapping[str, str], added: Mapping[str, str]
) -> Replacement | None:
    if not added:
        return None
    path = folder / MAPPING_FILE
    old = path.read_bytes() if path.exists() else None
    bom, text = _text(old or b"")
    new = with_headings(text, added)
    told = read_tree(new, "")
    if told.problems or told.value != {"headings": {**mapping, **added}}:
        raise OutputError(f"{shown_path(path)}: write the headings of --map into it by hand")
    return Replacement(MAPPING_FILE, old, bom + new.encode())


class _File:
    """One athlete's file against what the sheet says."""

    def __init__(self, path: Path, athlete: Athlete) -> None:
        self.problems: list[CellProblem] = []
        self.notes: list[str] = []
        self.added: list[Added] = []
        self._path = path
        self._athlete = athlete
        self._raw = path.read_bytes()
        self._bom, self._content = _text(self._raw)
        self._sessions = _sessions(self._content, athlete)

    def new_rows(self, day: Day) -> NewRows | None:
        """What of a day is not in the file yet."""
        same_day = [(at, session) for at, session in self._sessions.items() if session.on == day.on]
        if day.guessed and same_day and all(session.at != day.at for _, session in same_day):
            day = replace(day, at=same_day[-1][1].at)
        here = [(at, session) for at, session in same_day if session.at == day.at]
        elsewhere = [session for _, session in same_day if session.at != day.at]
        there = [record for _, session in here for record in session.sets]
        new = _not_yet(day.sets, there)
        if new and elsewhere and not here:
            other = [record for session in elsewhere for record in session.sets]
            if not _not_yet(day.sets, other):
                self._note(day, f"all sets stand in the file already, as {elsewhere[0].at}")
                return None
        self._tell_differences(day, there)
        body_mass = self._body_mass(day, [session for _, session in here])
        note = self._new_note(day, [session for _, session in here])
        if not (new or body_mass is not None or note is not None):
            if day.sets:
                self._note(day, "all sets stand in the file already")
            return None
        if len(new) < len(day.sets):
            self._note(day, f"{len(day.sets) - len(new)} of {len(day.sets)} sets stand already")
        self.added.append(Added(self._athlete, day, tuple(new)))
        return NewRows(
            on=day.on,
            at=day.at,
            session=here[-1][0] if here else None,
            sets=tuple(self._values(one) for one in new),
            body_mass=body_mass,
            note=note,
        )

    def changed(self, rows: Sequence[NewRows], lifts: Mapping[str, Lift], today: date) -> Change:
        """The file with the rows, read again as a whole by the loader."""
        try:
            text = with_rows(self._content, rows, self._athlete.units)
        except CannotInsertError:
            raise OutputError(
                f"{shown_path(self._path)}: written in a way that leaves no safe place for new "
                "rows; give it a list `sessions:` with one session per dash"
            ) from None
        new = self._bom + text.encode()
        with tempfile.TemporaryDirectory() as temporary:
            draft = Path(temporary) / self._path.name
            draft.write_bytes(new)
            read_athlete(draft, lifts, today=today, shown_as=shown_path(self._path))
        return Change(self._path.name, self._raw, new, sum(len(row.sets) for row in rows))

    def _values(self, one: SheetSet) -> Values:
        record, units = one.record, self._athlete.units
        values: dict[str, Any] = {"lift": record.lift, units: _in_unit(one.load, units)}
        if record.reps != 1:
            values["reps"] = record.reps
        if record.in_reserve is not None:
            values["in_reserve"] = _short(record.in_reserve)
        if record.missed:
            values["missed"] = True if record.missed == "lift" else record.missed
        if record.effort_max:
            values["effort"] = "max"
        for key in ("looked", "share", "speed_m_s", "video", "note"):
            value = getattr(record, key)
            if value is not None:
                values[key] = value
        return values

    def _body_mass(self, day: Day, here: Sequence[Session]) -> float | None:
        """The body mass to add, in the file's unit."""
        if day.body_mass is None:
            return None
        for session in here:
            if session.body_mass_kg is None:
                continue
            if abs(session.body_mass_kg - day.body_mass.kg) > _SAME_LOAD_KG:
                said = (
                    f"expected the body mass of {self._path.name}:{session.line} "
                    f"({plain(round(session.body_mass_kg, 2))} kg), "
                    f"found {plain(round(day.body_mass.kg, 2))} kg; mend one of them"
                )
                self._problem(day, "body mass", said)
            return None
        return _in_unit(day.body_mass, self._athlete.units)

    def _new_note(self, day: Day, here: Sequence[Session]) -> str | None:
        if day.note is None or any(day.note in (session.note or "") for session in here):
            return None
        noted = next((session for session in here[-1:] if session.note), None)
        if noted is not None:
            said = (
                f"{self._path.name}:{noted.line} has another note on this day; "
                "put both into one there, and clear this"
            )
            self._problem(day, "note", said)
            return None
        return day.note

    def _tell_differences(self, day: Day, there: Sequence[SetRecord]) -> None:
        """Sets that stand in the file with less said about them than in the sheet."""
        for one, record in _matched(day.sets, there):
            if not _says_no_more(one.record, record):
                self._note(
                    day,
                    f"{record.lift} {plain(round(one.load.value, 2))}: the sheet says more or "
                    f"other than {self._path.name}:{record.line}, which stays as it is",
                )

    def _note(self, day: Day, message: str) -> None:
        self.notes.append(f"{self._path.name}: {day.on} {day.at}: {message}")

    def _problem(self, day: Day, field: str, message: str) -> None:
        if day.row is not None:
            table, cell = day.row
            self.problems.append(table.problem(cell, field, message))


# --- what is there already -------------------------------------------------------------


def _sessions(text: str, athlete: Athlete) -> dict[int, Session]:
    """The athlete's sessions by their place in the file's list, in its order.

    The loader has put them in the order of their days, those of one day as they were written.
    """
    written = read_tree(text, "").value.get("sessions") or []
    days = [day_or_none(entry["on"]) for entry in written]
    by_day = sorted(range(len(days)), key=lambda index: days[index] or date.min)
    if [days[index] for index in by_day] != [session.on for session in athlete.sessions]:
        raise OutputError(f"{athlete.path} was edited in the meantime; run the same command again")
    return dict(sorted(zip(by_day, athlete.sessions, strict=True)))


def _matched(
    sets: Sequence[SheetSet], there: Sequence[SetRecord]
) -> list[tuple[SheetSet, SetRecord]]:
    """Each set of the sheet with the set of the file that it is, each at most once.

    A set is the same when lift, load, repetitions and whether it was made are; first those
    that agree in every word, so that what a coach added by hand later is recognised too.
    """
    left: dict[tuple[str, int, bool], list[SetRecord]] = {}
    for record in there:
        left.setdefault(_key(record), []).append(record)
    pairs: list[tuple[SheetSet, SetRecord]] = []
    open_sets = list(sets)
    for fits in (_says_the_same, _says_no_more, _same_load):
        remaining: list[SheetSet] = []
        for one in open_sets:
            group = left.get(_key(one.record), [])
            match = next(
                (r for r in group if _same_load(one.record, r) and fits(one.record, r)), None
            )
            if match is None:
                remaining.append(one)
            else:
                group.remove(match)
                pairs.append((one, match))
        open_sets = remaining
    return pairs


def _not_yet(sets: Sequence[SheetSet], there: Sequence[SetRecord]) -> list[SheetSet]:
    """The sets that the file does not hold, in the sheet's order."""
    known = {id(one) for one, _ in _matched(sets, there)}
    return [one for one in sets if id(one) not in known]


def _key(record: SetRecord) -> tuple[str, int, bool]:
    return record.lift, record.reps, record.missed is not None


def _same_load(one: SetRecord, other: SetRecord) -> bool:
    return abs(one.load_kg - other.load_kg) <= _SAME_LOAD_KG


_WORDS = ("in_reserve", "missed", "effort_max", "looked", "share", "speed_m_s", "video", "note")


def _says_the_same(one: SetRecord, other: SetRecord) -> bool:
    return all(getattr(one, word) == getattr(other, word) for word in _WORDS)


def _says_no_more(sheet: SetRecord, file: SetRecord) -> bool:
    """Whatever the sheet says, the file says too."""
    return all(
        value == getattr(file, word)
        or value in (None, False)
        or (value == "lift" and file.missed is not None)
        for word in _WORDS
        for value in (getattr(sheet, word),)
    )


def _in_unit(measured: Measured, units: Units) -> float:
    """In the file's unit; converted numbers to a hundredth."""
    if measured.unit == units:
        return _short(measured.value)
    return _short(round(measured.kg if units == "kg" else kg_to_lb(measured.value), 2))


def _short(value: float) -> float:
    """A whole number as one, so that it is written without a point."""
    return int(value) if value == int(value) else value


def _text(raw: bytes) -> tuple[bytes, str]:
    """The byte order mark, if there is one, and the text."""
    bom = _BOM if raw.startswith(_BOM) else b""
    return bom, raw[len(bom) :].decode("utf-8")
