"""Where an axis is ticked: one choice for the drawn and the plotted chart alike."""

from __future__ import annotations

import math
from datetime import date, timedelta
from functools import lru_cache

from profilegen.report.chart import Axis
from profilegen.report.drawing.frame import fit
from profilegen.report.format import tick_day, tick_label, tick_month, tick_year

TICK_ROOM = 90
"""Units that a tick's label may take."""


def nice_step(span: float, most: int) -> float:
    """The smallest of 1, 2, 5 times a power of ten that gives at most `most` steps.

    >>> nice_step(60, 6), nice_step(0.7, 4)
    (10.0, 0.2)
    """
    power = 10.0 ** math.floor(math.log10(span / most))
    for factor in (1, 2, 5):
        if span / (factor * power) <= most + 1e-9:
            return factor * power
    return 10 * power


@lru_cache(maxsize=256)
def value_ticks(axis: Axis, most: int) -> tuple[tuple[float, str], ...]:
    """The axis' own ticks as far as they lie on it, or at most `most` + 1 round ones.

    Remembered for a while: each chart asks four times, drawn and plotted in two widths.

    >>> value_ticks(Axis("kg", 78, 101), 3)
    ((80.0, '80'), (90.0, '90'), (100.0, '100'))
    """
    if axis.ticks:
        return tuple(
            (value, fit(label, TICK_ROOM))
            for value, label in axis.ticks
            if axis.low <= value <= axis.high
        )
    span = axis.high - axis.low
    if not span > 0:
        return ((axis.low, tick_label(axis.low, 0, axis.decimal_mark)),)
    step = nice_step(span, most)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    first = math.ceil(axis.low / step - 1e-9)
    last = math.floor(axis.high / step + 1e-9)
    values = [round(i * step, decimals + 2) for i in range(first, last + 1)]
    return tuple((value, tick_label(value, decimals, axis.decimal_mark)) for value in values)


MONTH_STEPS = (1, 2, 3, 6, 12, 24, 60, 120)


@lru_cache(maxsize=256)
def date_ticks(
    first: date, last: date, most: int, months: tuple[str, ...], day_month: str = "{day} {month}"
) -> tuple[tuple[date, str], ...]:
    """At most about `most` ticks on firsts of months (on days, within two months).

    The first tick and every January carry the year.

    >>> from profilegen.report.chart import ENGLISH
    >>> date_ticks(date(2025, 9, 20), date(2026, 6, 1), 4, ENGLISH.months)
    ((datetime.date(2025, 10, 1), 'Oct 2025'), (datetime.date(2026, 1, 1), 'Jan 2026'), \
(datetime.date(2026, 4, 1), 'Apr'))
    """
    if (last - first).days <= 62:
        step_days = max(1, math.ceil((last - first).days / most))
        days = [first + timedelta(days=i) for i in range(0, (last - first).days + 1, step_days)]
        return tuple((day, tick_day(day, months, day_month)) for day in days)
    span = (last.year - first.year) * 12 + last.month - first.month
    step = next((s for s in MONTH_STEPS if span / s <= most), MONTH_STEPS[-1])
    start = first.year * 12 + first.month - 1
    start = math.ceil((start + (first.day > 1)) / step) * step
    ticks: list[tuple[date, str]] = []
    for number in range(start, last.year * 12 + last.month, step):
        day = date(number // 12, number % 12 + 1, 1)
        if step >= 12:
            ticks.append((day, tick_year(day)))
        else:
            ticks.append((day, tick_month(day, months, year=not ticks or day.month == 1)))
    return tuple(ticks)
