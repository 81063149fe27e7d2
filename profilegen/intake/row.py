"""One row of a sheet → sets, body mass and note of a day; every cell that cannot be read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from profilegen.engine.avoided import avoided_lifts
from profilegen.history import plausible
from profilegen.history.lift_names import CLEAN_AND_JERK
from profilegen.history.records import Athlete, Place, SetRecord
from profilegen.history.words import nearest, plain, quoted, span
from profilegen.intake.cells import NOTHING, Attempt, CellError, read_attempts
from profilegen.intake.dates import read_day
from profilegen.intake.day import Day, Measured, SheetSet
from profilegen.intake.headings import Column, Headings
from profilegen.intake.reader import Reader
from profilegen.intake.set_words import SET_WORDS, remark
from profilegen.intake.sheet import Cell, Table
from profilegen.intake.vocabulary import IGNORE
from profilegen.norms.catalogue import load_norms
from profilegen.units import kg_to_lb


class Row:
    """One row while it is read."""

    def __init__(
        self,
        reader: Reader,
        table: Table,
        headings: Headings,
        cells: Mapping[int, Cell],
        dated: bool,
    ) -> None:
        self._reader = reader
        self._table = table
        self._headings = headings
        self._cells = {
            column.number: cells[column.number]
            for column in headings.columns
            if column.role != IGNORE and column.number in cells
        }
        self._dated = dated
        self._vocabulary = reader.settings.vocabulary

    def read(self) -> None:
        """Put what the row says into its day; tell of every cell that cannot be read."""
        if not self._cells:
            return
        athlete, who = self._athlete()
        on = self._day(athlete)
        at = self._at(on)
        sets = self._sets(athlete)
        body_mass = self._body_mass()
        note = self._remark("note") if not self._headings.per_set else self._remark("session_note")
        if athlete is None or on is None or at is None:
            return
        if not (sets or body_mass or note):
            return
        day = self._reader.day(athlete.id, on, at, (self._table, who))
        day.guessed = self._reader.settings.at is None and self._at_role("at")[1] is None
        day.sets += sets
        self._put_body_mass(day, body_mass)
        if note and note not in (day.note or "").split("; "):
            day.note = f"{day.note}; {note}" if day.note else note

    # Who, when, where ---------------------------------------------------------------

    def _athlete(self) -> tuple[Athlete | None, Cell]:
        any_cell = next(iter(self._cells.values()))
        found_by: list[tuple[Athlete, Cell]] = []
        failed = False
        for role in ("id", "lifter"):
            column, cell = self._at_role(role)
            if column is None or cell is None:
                continue
            try:
                word = self._text(cell)
                if role == "id":
                    found_by.append((self._reader.with_id(word), cell))
                else:
                    known = found_by[0][0] if found_by else None
                    found_by.append((self._reader.called(word, known), cell))
            except CellError as error:
                failed = True
                self._say(cell, column.heading, str(error))
        if not found_by:
            only_for_everyone = all(
                column.role in ("date", "at")
                for column in self._headings.columns
                if column.number in self._cells
            )
            if not failed and not only_for_everyone:
                column = self._headings.one("lifter") or self._headings.one("id")
                number = column.number if column else 1
                said = "expected a lifter, found nothing"
                problem = self._table.problem_at(any_cell.row, number, "lifter", said)
                self._reader.problems.append(problem)
            return None, any_cell
        (athlete, cell), *others = found_by
        for other, other_cell in others:
            if other is not athlete:
                said = f"the id is {quoted(athlete.id)}, the name is that of {quoted(other.id)}"
                self._say(other_cell, "lifter", said)
                return None, cell
        return (None if failed else athlete), cell

    def _day(self, athlete: Athlete | None) -> date | None:
        column, cell = self._at_role("date")
        try:
            if column is None or cell is None:
                day = self._reader.settings.on
                if day is not None:
                    return day
                if self._dated and athlete is not None and self._has_results():
                    raise CellError("expected a date, found nothing; fill it in or say --on")
                return None
            self._whole(cell)
            order = self._reader.settings.day_order
            day = read_day(cell.value, order, self._vocabulary.dates)
            self._reader.check_day(day, athlete)
        except CellError as error:
            date_column = column or self._headings.one("date")
            number = date_column.number if date_column else 1
            row = next(iter(self._cells.values())).row
            self._reader.problems.append(self._table.problem_at(row, number, "date", str(error)))
            return None
        return day

    def _has_results(self) -> bool:
        idle = ("id", "lifter", "date", "at")
        return any(
            column.role not in idle and not (cell.text in NOTHING or self._says_avoid(cell))
            for column in self._headings.columns
            if (cell := self._cells.get(column.number)) is not None
        )

    def _says_avoid(self, cell: Cell) -> bool:
        return cell.text.casefold() in self._vocabulary.avoid

    def _at(self, on: date | None) -> Place | None:
        column, cell = self._at_role("at")
        if column is None or cell is None:
            return self._reader.place_on(on) if on else None
        place = self._vocabulary.places.get(cell.text.casefold())
        if place is None:
            said = f"expected testing, training or meet, found {quoted(cell.text)}"
            self._say(cell, "at", said + nearest(cell.text, self._vocabulary.places))
        return place

    # Results ------------------------------------------------------------------------

    def _sets(self, athlete: Athlete | None) -> list[SheetSet]:
        if self._headings.per_set:
            return self._one_set()
        sets: list[SheetSet] = []
        for column in self._headings.columns:
            cell = self._cells.get(column.number)
            if column.role != "results" or column.lift is None or cell is None:
                continue
            try:
                if self._says_avoid(cell):
                    self._check_avoided(athlete, column.lift)
                    continue
                sets += [
                    self._set(attempt, column.lift, column, cell)
                    for attempt in read_attempts(self._attempt_text(cell))
                ]
            except CellError as error:
                self._say(cell, column.lift, str(error))
        return sets

    def _check_avoided(self, athlete: Athlete | None, lift: str) -> None:
        if athlete is None:
            return
        if lift not in avoided_lifts(athlete, self._reader.club, load_norms().alike):
            raise CellError(
                f"{athlete.id} has no {lift} under avoid; write it there, or clear this"
            )

    def _set(self, attempt: Attempt, lift: str, column: Column, cell: Cell) -> SheetSet:
        load = Measured(attempt.load, attempt.unit or column.unit or self._reader.settings.units)
        low, high = self._reader.names.load_range_kg(lift)
        if not low <= load.kg <= high:
            bounds = (
                (low, high) if load.unit == "kg" else (round(kg_to_lb(low)), round(kg_to_lb(high)))
            )
            raise CellError(
                f"expected a load {span(bounds)} {load.unit} for {lift.replace('_', ' ')}, "
                f"found {plain(load.value)}"
            )
        if attempt.missed in ("clean", "jerk") and lift != CLEAN_AND_JERK:
            raise CellError(
                f"{attempt.missed} can only be missed in a clean and jerk; "
                f"write {plain(load.value)}x"
            )
        record = SetRecord(
            lift=lift,
            load_kg=load.kg,
            reps=attempt.reps,
            in_reserve=attempt.in_reserve,
            missed=attempt.missed,
            effort_max=attempt.effort_max,
            line=cell.row,
        )
        return SheetSet(record, load, cell, self._table)

    def _one_set(self) -> list[SheetSet]:
        """The set of a row of a sheet with one row per set."""
        lift_column, lift_cell = self._at_role("lift")
        column, cell = self._at_role("load")
        if lift_cell is None and cell is None:
            return []
        lift: str | None = None
        if lift_column is not None and lift_cell is not None:
            lift = self._reader.names.find(lift_cell.text)
            if lift is None:
                self._say(lift_cell, "lift", self._reader.names.unknown(lift_cell.text))
        elif cell is not None:
            self._say(cell, "load", "a load without a lift")
        words = self._words()
        if column is None or cell is None:
            if lift_cell is not None and column is not None:
                self._say(lift_cell, "load", "a lift without a load")
            return []
        try:
            attempts = read_attempts(self._attempt_text(cell))
            if len(attempts) != 1:
                raise CellError(f"expected one load, found {quoted(cell.text)}")
            if lift is None or words is None:
                return []
            attempt = self._with_words(attempts[0], words)
            one = self._set(attempt, lift, column, cell)
        except CellError as error:
            self._say(cell, lift or "load", str(error))
            return []
        own = {
            key: words[key]
            for key in ("looked", "share", "speed_m_s", "video", "note")
            if key in words
        }
        if attempt.missed and (own.keys() & {"looked", "share"}):
            self._say(cell, lift, "a missed set takes no word about effort: the miss says it")
            return []
        if attempt.effort_max and (own.keys() & {"looked", "share"}):
            self._say(cell, lift, "effort max already says how hard it was: leave the rest out")
            return []
        return [replace(one, record=replace(one.record, **own))]

    def _with_words(self, attempt: Attempt, words: Mapping[str, Any]) -> Attempt:
        """The attempt with what other columns say; CellError where they say otherwise."""
        said = {
            key: words[key]
            for key in ("reps", "in_reserve", "missed", "effort_max")
            if key in words
        }
        if said.get("missed") == "made":
            said["missed"] = None
            if attempt.missed:
                raise CellError("the cell and the column missed say different things")
        for key, value in said.items():
            own = getattr(attempt, key)
            if own not in (value, getattr(Attempt(0), key)):
                raise CellError(f"the cell and the column {key} say different things")
        both = replace(attempt, **said)
        if both.missed and (both.effort_max or both.in_reserve is not None):
            raise CellError("a missed set takes no word about effort: the miss says it")
        if both.effort_max and both.in_reserve:
            raise CellError(f"effort max says nothing was left, this says {both.in_reserve:g} more")
        return both

    def _words(self) -> dict[str, Any] | None:
        """What the columns beside the load say; None when one of them cannot be read."""
        words: dict[str, Any] = {}
        sound = True
        for role, word in SET_WORDS.items():
            column, cell = self._at_role(role)
            if column is None or cell is None:
                continue
            try:
                text = self._text(cell)
                value = word.read(text, self._vocabulary.marks.get(text.casefold(), ""))
                if value is not None and words.get(word.key, value) != value:
                    raise CellError("another column of this row says otherwise")
            except CellError as error:
                sound = False
                self._say(cell, role, str(error))
                continue
            if value is not None:
                words[word.key] = value
        return words if sound else None

    # Body mass and notes ------------------------------------------------------------

    def _body_mass(self) -> Measured | None:
        column, cell = self._at_role("body_mass")
        if column is None or cell is None or cell.text in NOTHING:
            return None
        try:
            attempts = read_attempts(self._attempt_text(cell))
            if len(attempts) != 1 or attempts[0] != Attempt(attempts[0].load, attempts[0].unit):
                raise CellError(f"expected a body mass, found {quoted(cell.text)}")
            unit = attempts[0].unit or column.unit or self._reader.settings.units
            mass = Measured(attempts[0].load, unit)
            low, high = plausible.BODY_MASS_RANGE_KG
            if not low <= mass.kg <= high:
                bounds = (
                    (low, high) if unit == "kg" else (round(kg_to_lb(low)), round(kg_to_lb(high)))
                )
                raise CellError(f"expected a body mass {span(bounds)} {unit}, found {cell.text}")
        except CellError as error:
            said = str(error)
            if "attempts such as" in said:
                said = f"expected a body mass, found {quoted(cell.text)}"
            self._say(cell, "body mass", said)
            return None
        return mass

    def _put_body_mass(self, day: Day, mass: Measured | None) -> None:
        if mass is None:
            return
        if day.body_mass is not None and abs(day.body_mass.kg - mass.kg) > 0.06:
            _, cell = self._at_role("body_mass")
            if cell is not None:
                said = f"{day.lifter} has another body mass on {day.on} in this sheet: "
                said += f"{plain(day.body_mass.value)}; keep one of them"
                self._say(cell, "body mass", said)
            return
        day.body_mass = mass

    def _remark(self, role: str) -> str | None:
        column, cell = self._at_role(role)
        if column is None or cell is None:
            return None
        try:
            return remark(self._text(cell))
        except CellError as error:
            self._say(cell, "note", str(error))
            return None

    # Cells --------------------------------------------------------------------------

    def _at_role(self, role: str) -> tuple[Column | None, Cell | None]:
        column = self._headings.one(role)
        return column, self._cells.get(column.number) if column else None

    def _text(self, cell: Cell) -> str:
        self._whole(cell)
        return cell.text

    def _whole(self, cell: Cell) -> None:
        if cell.broken:
            raise CellError(f"found {cell.broken}")

    def _attempt_text(self, cell: Cell) -> str:
        self._whole(cell)
        if cell.struck:
            raise CellError(
                f"{quoted(cell.text)} is struck out: write {cell.text}x for a miss, "
                "or take the line through it away"
            )
        if isinstance(cell.value, bool | date):
            hint = "; give the column the format text" if isinstance(cell.value, date) else ""
            what = "the date " if isinstance(cell.value, date) else ""
            raise CellError(f"expected attempts such as 84 87x, found {what}{cell.text}{hint}")
        return cell.text

    def _say(self, cell: Cell, field_name: str, message: str) -> None:
        self._reader.problems.append(self._table.problem(cell, field_name, message))
