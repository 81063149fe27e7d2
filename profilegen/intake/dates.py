"""Days as sheets hold them: a date of the spreadsheet, ISO, day and month with a year, or with
the month's name as the pages print it.

Nobody is trusted to know which number is the month. `17/11/2026` can be read in one way only;
`3/4/2026` needs a word about the order; `3.4.2026` needs one unless the club's language has but
one way to write that (`DateCustoms.dotted`). A year of two digits is one of this century, where
it is known to stand last: where the order is known, or the month has a name.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Literal

from profilegen.history.dates import day_from
from profilegen.history.words import quoted
from profilegen.intake.cells import CellError

DayOrder = Literal["dmy", "mdy"]
"""Which comes first in 3/4/2026; ISO dates need no word about it."""

_SPLIT = re.compile(r"([0-9]{1,2})([./-])\s*([0-9]{1,2})\2\s*([0-9]{4}|[0-9]{2})\.?\Z")
_YEAR_FIRST = re.compile(r"([0-9]{4})([./])([0-9]{2})\2([0-9]{2})\Z")
_MONTH = r"([^\W\d_]{3,})\.?"
_DAY_FIRST = re.compile(rf"([0-9]{{1,2}})\.?[\s-]*{_MONTH},?[\s-]*([0-9]{{4}}|[0-9]{{2}})\Z")
_MONTH_FIRST = re.compile(rf"{_MONTH}[\s-]*([0-9]{{1,2}}),?[\s-]+([0-9]{{4}})\Z")
_CENTURY = 2000
_TIME = re.compile(r"[T ]00:00(?::00(?:\.0+)?)?\Z")

OR_SAY = ", or say --dates dmy or --dates mdy"


@dataclass(frozen=True, slots=True)
class DateCustoms:
    """How a language writes dates."""

    months: Mapping[str, int] = field(default_factory=dict)
    """1-12 by names in full and short, without capitals and dots."""
    dotted: DayOrder | None = None
    """The order in a date with dots, where there is but one."""

    def month(self, word: str) -> int | None:
        """The month of a name, which may be cut short (`Sept`); None when it is none."""
        word = word.casefold()
        named = {n for name, n in self.months.items() if name == word}
        named = named or {n for name, n in self.months.items() if name.startswith(word)}
        return named.pop() if len(named) == 1 else None


_NO_CUSTOMS = DateCustoms()


def read_day(
    value: object,
    order: DayOrder | None = None,
    customs: DateCustoms = _NO_CUSTOMS,
    *,
    or_say: str = OR_SAY,
) -> date:
    """The day in a cell.

    Args:
        value: what the cell holds.
        order: what comes first, day or month, when somebody has said so.
        customs: of the club's language.
        or_say: what else to do about a day that can be read in two ways.

    >>> read_day("17/11/2026"), read_day("2026-11-17")
    (datetime.date(2026, 11, 17), datetime.date(2026, 11, 17))
    >>> read_day("17 Nov 2026", customs=DateCustoms({"november": 11}))
    datetime.date(2026, 11, 17)

    Raises:
        CellError: no day, or one of which nobody can tell the month.
    """
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    text = _YEAR_FIRST.sub(r"\1-\3-\4", _TIME.sub("", str(value).strip()))
    named = _named(text, customs)
    if named is not None:
        return named
    parts = _SPLIT.match(text)
    if parts is None:
        try:
            return day_from(text)
        except ValueError:
            hint = ""
            if isinstance(value, int | float):
                hint = "; give the column the format of a date"
            raise CellError(
                f"expected a date like 2026-11-17 or 17 November 2026, found {quoted(text)}{hint}"
            ) from None
    if order is None and parts[2] == ".":
        order = customs.dotted
    first, second, year = int(parts[1]), int(parts[3]), _year(parts[4], order, text)
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
        raise CellError(f"{quoted(text)} can be {one} or {other}: write year-month-day{or_say}")
    return next(iter(readings.values()))


def _named(text: str, customs: DateCustoms) -> date | None:
    """A day whose month stands there as a word."""
    if parts := _DAY_FIRST.match(text):
        day, month, year = int(parts[1]), customs.month(parts[2]), int(parts[3])
    elif parts := _MONTH_FIRST.match(text):
        day, month, year = int(parts[2]), customs.month(parts[1]), int(parts[3])
    else:
        return None
    if month is None:
        return None
    found = _day(year if year >= 100 else _CENTURY + year, month, day)
    if found is None:
        raise CellError(f"expected a date, found {quoted(text)}; no calendar has that day")
    return found


def _year(digits: str, order: DayOrder | None, text: str) -> int:
    """The year; of two digits only where it is known to stand last."""
    if len(digits) > 2:
        return int(digits)
    if order is None:
        raise CellError(
            f"expected a year of four digits, found {quoted(text)}; write year-month-day"
        )
    return _CENTURY + int(digits)


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None
