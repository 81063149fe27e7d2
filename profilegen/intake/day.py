"""What a sheet says, as values: sets and body masses in the unit in which they were written."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from profilegen.history.records import Place, SetRecord, Units
from profilegen.intake.dates import DayOrder
from profilegen.intake.sheet import Cell, Table
from profilegen.intake.vocabulary import Vocabulary
from profilegen.units import lb_to_kg


@dataclass(frozen=True, slots=True)
class Measured:
    """A number in the unit in which it was written."""

    value: float
    unit: Units

    @property
    def kg(self) -> float:
        """In kilograms."""
        return lb_to_kg(self.value) if self.unit == "lb" else self.value


@dataclass(frozen=True, slots=True)
class SheetSet:
    """One set of the sheet; `record.load_kg` is `load` in kilograms."""

    record: SetRecord
    load: Measured
    cell: Cell
    table: Table


@dataclass(slots=True)
class Day:
    """All that the sheet says about one lifter on one day in one place."""

    lifter: str
    on: date
    at: Place
    sets: list[SheetSet] = field(default_factory=list)
    body_mass: Measured | None = None
    note: str | None = None
    row: tuple[Table, Cell] | None = None
    """Where the day was first met: the lifter's cell."""
    guessed: bool = False
    """Nobody said where: a session that the file has on that day tells."""


@dataclass(frozen=True, slots=True)
class Settings:
    """What holds for the whole sheet unless a cell says otherwise."""

    units: Units
    vocabulary: Vocabulary
    on: date | None = None
    at: Place | None = None
    day_order: DayOrder | None = None
