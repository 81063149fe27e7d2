"""The CSV of rivals: results of others in the same competition, always in kg."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Literal

from profilegen.errors import InputError, Problem
from profilegen.history import plausible
from profilegen.history.dates import day_from
from profilegen.history.lift_names import normal
from profilegen.history.problems import limited
from profilegen.history.reading import read_text
from profilegen.history.records import Rival
from profilegen.history.words import nearest, number_hint, quoted, span

MAX_ROWS = 200_000
"""Rows in one CSV."""

_HEADINGS = {
    "sex": ("sex",),
    "category": ("category", "class"),
    "body_mass_kg": ("body_mass_kg", "body_mass", "bodyweight", "body_weight"),
    "snatch_kg": ("snatch_kg", "snatch"),
    "clean_and_jerk_kg": ("clean_and_jerk_kg", "clean_and_jerk", "c_and_j"),
    "date": ("date", "on"),
}
_OPTIONAL = "date"
_NUMBER = re.compile(r"[0-9]{1,4}(?:\.[0-9]{1,6})?\Z")
_LONGEST_CATEGORY = 60


def read_rivals(path: Path, shown: str, *, today: date) -> tuple[Rival, ...]:
    """Read the field, in the file's order.

    In messages the second number is the column's place in the row, counted from 1.

    Raises:
        InputError: with every problem, by row and column.
    """
    return _Table(read_text(path, shown), shown, today).rivals()


class _Table:
    """One CSV while it is read."""

    def __init__(self, text: str, shown: str, today: date) -> None:
        self._shown = shown
        self._today = today
        first_line = text.split("\n", 1)[0]
        delimiter = ";" if ";" in first_line else ","
        self._decimal_comma = delimiter == ";"
        self._reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
        self._problems: list[Problem] = []
        self._columns: dict[str, int] = {}

    def rivals(self) -> tuple[Rival, ...]:
        """All rows, or every problem."""
        rivals: list[Rival] = []
        try:
            for row in self._rows():
                before = len(self._problems)
                rival = self._rival(row)
                if rival is not None and len(self._problems) == before:
                    rivals.append(rival)
        except csv.Error as error:
            self._add(self._reader.line_num, 1, "", f"this is not CSV: {error}")
        if self._problems:
            raise InputError(limited(self._problems))
        return tuple(rivals)

    def _rows(self) -> Iterator[list[str]]:
        header = next(self._reader, None)
        if header is None:
            self._add(1, 1, "", f"the file is empty; start with {','.join(_HEADINGS)}")
            return
        self._find_columns(header)
        if self._problems:
            return
        for count, row in enumerate(self._reader, start=1):
            if count > MAX_ROWS:
                self._add(self._reader.line_num, 1, "", f"the limit is {MAX_ROWS:,} rows")
                return
            if any(cell.strip() for cell in row):
                yield row

    def _find_columns(self, header: list[str]) -> None:
        spare: dict[str, int] = {}
        names = {name: column for column, known in _HEADINGS.items() for name in known}
        for index, heading in enumerate(header):
            column = names.get(normal(heading))
            if column is None:
                spare[normal(heading)] = index
            elif column in self._columns:
                self._add(1, index + 1, column, "this column is here twice; keep one of them")
            else:
                self._columns[column] = index
        for column in _HEADINGS:
            if column in self._columns:
                continue
            close = nearest(column, spare)
            if column != _OPTIONAL:
                near = f"; {quoted(close.split(chr(34))[1])} is close" if close else ""
                self._add(1, 1, column, f"missing column; expected the heading {column}{near}")

    def _rival(self, row: list[str]) -> Rival | None:
        sex = self._sex(row)
        category = self._cell(row, "category")
        if not category or len(category) > _LONGEST_CATEGORY or not category.isprintable():
            said = f"expected text of 1 to {_LONGEST_CATEGORY} characters, found {quoted(category)}"
            self._say("category", said)
        body_mass = self._number(row, "body_mass_kg", plausible.BODY_MASS_RANGE_KG)
        snatch = self._number(row, "snatch_kg", plausible.load_range_kg("snatch"))
        clean_and_jerk = self._number(
            row, "clean_and_jerk_kg", plausible.load_range_kg("clean_and_jerk")
        )
        on = self._date(row)
        if sex is None or body_mass is None or snatch is None or clean_and_jerk is None:
            return None
        return Rival(
            sex=sex,
            category=category,
            body_mass_kg=body_mass,
            snatch_kg=snatch,
            clean_and_jerk_kg=clean_and_jerk,
            on=on,
        )

    def _sex(self, row: list[str]) -> Literal["F", "M"] | None:
        cell = self._cell(row, "sex")
        if cell == "F" or cell == "f":
            return "F"
        if cell == "M" or cell == "m":
            return "M"
        self._say("sex", f"expected F or M, found {quoted(cell)}")
        return None

    def _number(self, row: list[str], column: str, bounds: tuple[float, float]) -> float | None:
        cell = self._cell(row, column)
        text = cell.replace(",", ".") if self._decimal_comma else cell
        value = float(text) if _NUMBER.match(text) else math.nan
        if bounds[0] <= value <= bounds[1]:
            return value
        hint = "" if not math.isnan(value) else number_hint(cell)
        if cell in ("", "-", "0"):
            hint = "; leave out lifters without a total"
        self._say(column, f"expected a number {span(bounds)}, found {quoted(cell)}{hint}")
        return None

    def _date(self, row: list[str]) -> date | None:
        if _OPTIONAL not in self._columns:
            return None
        cell = self._cell(row, _OPTIONAL)
        if not cell:
            return None
        try:
            day = day_from(cell)
        except ValueError:
            self._say(_OPTIONAL, f"expected a date like 2025-11-03, found {quoted(cell)}")
            return None
        if day > self._today:
            said = f"expected a day up to today ({self._today}), found {day}"
            self._say(_OPTIONAL, said)
        return day

    def _cell(self, row: list[str], column: str) -> str:
        index = self._columns[column]
        return row[index].strip() if index < len(row) else ""

    def _say(self, column: str, message: str) -> None:
        self._add(self._reader.line_num, self._columns[column] + 1, column, message)

    def _add(self, line: int, column: int, field: str, message: str) -> None:
        self._problems.append(Problem(self._shown, line, column, field, message))
