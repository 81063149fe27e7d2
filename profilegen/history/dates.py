"""Dates as coaches write them: a day, a month, a year."""

from __future__ import annotations

import calendar
import re
from dataclasses import dataclass
from datetime import date, timedelta

_VAGUE = re.compile(r"([0-9]{4})(?:-([0-9]{2})(?:-([0-9]{2}))?)?\Z")


@dataclass(frozen=True, slots=True)
class Period:
    """All days from `first` to `last`, both included."""

    first: date
    last: date

    @property
    def middle(self) -> date:
        """The day in the middle, the earlier of two."""
        return self.first + (self.last - self.first) // 2

    @property
    def half_days(self) -> float:
        """Half the length in days; 0 for a single day.

        >>> Period(date(2025, 11, 1), date(2025, 11, 30)).half_days
        15.0
        """
        days = (self.last - self.first) // timedelta(days=1)
        return (days + 1) / 2 if days else 0.0


def day_from(value: object) -> date:
    """A day, written plainly or in quotes; ValueError for anything else.

    >>> day_from("2025-11-03")
    datetime.date(2025, 11, 3)
    """
    period = period_from(value)
    if period.first != period.last:
        raise ValueError("not a day")
    return period.first


def period_from(value: object) -> Period:
    """A day, a month or a year; ValueError for anything else.

    >>> period_from("2024-02").last
    datetime.date(2024, 2, 29)
    >>> period_from(2025).middle
    datetime.date(2025, 7, 2)
    """
    if isinstance(value, date):
        return Period(value, value)
    if isinstance(value, int) and not isinstance(value, bool):
        value = str(value)
    parts = _VAGUE.match(value) if isinstance(value, str) else None
    if parts is None:
        raise ValueError("not a date")
    year = int(parts[1])
    if parts[3]:
        day = date(year, int(parts[2]), int(parts[3]))
        return Period(day, day)
    if parts[2]:
        month = int(parts[2])
        if not (1 <= month <= 12 and year >= 1):
            raise ValueError("not a month")
        return Period(date(year, month, 1), date(year, month, calendar.monthrange(year, month)[1]))
    return Period(date(year, 1, 1), date(year, 12, 31))
