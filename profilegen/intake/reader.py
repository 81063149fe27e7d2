"""One sheet file against one squad: who and when can be meant, and what was found so far."""

from __future__ import annotations

from datetime import date

from profilegen.history.lift_names import LiftNames
from profilegen.history.records import Athlete, Place, Squad
from profilegen.intake.cells import CellError
from profilegen.intake.day import Day, Settings
from profilegen.intake.people import People
from profilegen.intake.sheet import Cell, CellProblem, Table


class Reader:
    """What a row needs to know; collects days and problems."""

    def __init__(self, squad: Squad, names: LiftNames, settings: Settings, today: date) -> None:
        self.problems: list[CellProblem] = []
        self.days: dict[tuple[str, date, Place], Day] = {}
        self._athletes = {athlete.id: athlete for athlete in squad.athletes}
        self._people = People(squad.athletes)
        self.club = squad.club
        self.names = names
        self.settings = settings
        self._today = today

    def with_id(self, word: str) -> Athlete:
        """Whose id `word` is; CellError for nobody and for more than one."""
        return self._athletes[self._people.with_id(word)]

    def called(self, word: str, known: Athlete | None) -> Athlete:
        """Whom `word` names, where the row's id means `known`; CellError as above."""
        return self._athletes[self._people.called(word, known.id if known else None)]

    def place_on(self, day: date) -> Place:
        """Where a set was done when nobody says: a testing week means testing."""
        if self.settings.at:
            return self.settings.at
        tested = any(week.start <= day <= week.end for week in self.club.testing_weeks)
        return "testing" if tested else "training"

    def day(self, lifter: str, on: date, at: Place, row: tuple[Table, Cell]) -> Day:
        """The day that a row belongs to."""
        return self.days.setdefault((lifter, on, at), Day(lifter, on, at, row=row))

    def check_day(self, day: date, athlete: Athlete | None) -> None:
        """Not after today, not before the lifter was born."""
        if day > self._today:
            raise CellError(f"expected a day up to today ({self._today}), found {day}")
        if athlete is not None and day < athlete.born:
            raise CellError(f"{day} is before the lifter was born ({athlete.born})")
