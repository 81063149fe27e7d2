"""Days as sheets hold them: a date of the spreadsheet, ISO, or day and month with a year."""

from __future__ import annotations

import re
from datetime import date, datetime
from typing import Literal

from profilegen.history.dates import day_from
from profilegen.history.words import quoted
from profilegen.intake.cells import CellError

DayOrder = Literal["dmy", "mdy"]
"""Which comes first in 3/4/2026; ISO dates need no word about it."""

_SPLIT = re.compile(r"([0-9]{1,2})([./-])\s*([0-9]{1,2})\2\s*([0-9]{4}|[0-9]{2})\.?\Z")
_YEAR_FIRST = re.compile(r"([0-9]{4})([./])([0-9]{2})\2([0-9]{2})\Z")
_TIME = re.compile(r"[T ]00:00(?::00(?:\.0+)?)?\Z")


def read_day(value: object, order: DayOrder | None = None) -> date:
    """The day in a cell.

    >>> read_day("17/11/2026"), read_day("2026-11-17")
    (datetime.date(2026, 11, 17), datetime.date(2026, 11, 17))

    Raises:
        CellError: no day, or one of which nobody can tell the month.
    """
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    text = _YEAR_FIRST.sub(r"\1-\3-\4", _TIME.sub("", str(value).strip()))
    parts = _SPLIT.match(text)
    if parts is None:
        try:
            return day_from(text)
        except ValueError:
            hint = ""
            if isinstance(value, int | float):
                hint = "; give the column the format of a date"
            raise CellError(
                f"expected a date like 2026-11-17, found {quoted(text)}{hint}"
            ) from None
    first, second, year = int(parts[1]), int(parts[3]), int(parts[4])
    if year < 100:
        raise CellError(
            f"expected a year of four digits, found {quoted(text)}; write year-month-day"
        )
    readings = {
        key: day
        for key, (day_number, month) in {"dmy": (first, second), "mdy": (second, first)}.items()
        if (day := _day(year, month, day_number)) is not None
    }
    if order is not None and order in readings:
        return readings[order]
    if order is not None or not readings:
        said = "day, month and year" if order == "dmy" else "month, day and year"
        said = f" ({said})" if order else ""
        raise CellError(f"expected a date{said}, found {quoted(text)}; no calendar has that day")
    if len(set(readings.values())) > 1:
        one, other = readings["dmy"], readings["mdy"]
        raise CellError(
            f"{quoted(text)} can be {one} or {other}: write year-month-day, "
            "or say --dates dmy or --dates mdy"
        )
    return next(iter(readings.values()))


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None
