"""What a sheet says: each lifter's sets, body mass and note of each day, or every bad cell."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from profilegen.errors import InputError
from profilegen.history.lift_names import LiftNames
from profilegen.history.records import Squad
from profilegen.intake.day import Day, Settings
from profilegen.intake.headings import Headings, Meanings
from profilegen.intake.reader import Reader
from profilegen.intake.row import Row
from profilegen.intake.sheet import CellProblem, Table

MAX_PROBLEMS = 200
"""Problems told of one sheet."""


@dataclass(frozen=True, slots=True)
class Results:
    """A sheet without a mistake."""

    days: tuple[Day, ...]
    """By lifter, then day, then place."""
    skipped_sheets: tuple[str, ...]
    """Sheets of the file without a column of lifters."""


def read_results(
    tables: list[Table],
    squad: Squad,
    names: LiftNames,
    meanings: Meanings,
    settings: Settings,
    *,
    today: date,
) -> Results:
    """Read every sheet.

    Raises:
        InputError: with every cell that cannot be read, told by sheet, row and column.
    """
    reader = Reader(squad, names, settings, today)
    skipped: list[str] = []
    for table in tables:
        row = meanings.heading_row(table)
        if row is None:
            skipped.append(table.place.rstrip(":!"))
            continue
        headings, problems = meanings.headings(table, row)
        reader.problems += problems
        _read_table(reader, table, headings)
    if len(skipped) == len(tables):
        said = "expected a heading lifter, name or id in one of the first rows"
        reader.problems.append(tables[0].problem_at(1, 1, "heading", said))
    if reader.problems:
        raise InputError(_first(reader.problems))
    days = sorted(reader.days.values(), key=lambda day: (day.lifter, day.on, day.at))
    return Results(tuple(day for day in days if _says_something(day)), tuple(skipped))


def _says_something(day: Day) -> bool:
    return bool(day.sets or day.body_mass or day.note)


def _first(problems: list[CellProblem]) -> list[CellProblem]:
    if len(problems) <= MAX_PROBLEMS:
        return problems
    kept = sorted(set(problems))[:MAX_PROBLEMS]
    last = kept[-1]
    said = f"more than {MAX_PROBLEMS} problems; mend these first"
    return [*kept, CellProblem(last.path, last.line + 1, 1, "", said)]


def _read_table(reader: Reader, table: Table, headings: Headings) -> None:
    """All rows of one sheet."""
    dated = reader.settings.on is not None or headings.one("date") is not None
    if not dated and "date" not in headings.suggested:
        said = "no column date: say --on with the day of this sheet"
        reader.problems.append(table.problem_at(headings.row, 1, "date", said))
    for cells in table.rows:
        if next(iter(cells.values())).row > headings.row:
            Row(reader, table, headings, cells, dated).read()
