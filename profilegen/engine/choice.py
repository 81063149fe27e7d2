"""What the choice of a load says, where nobody wrote how near the limit it was.

A made set alone is only a floor: a lifter who snatched 35 might snatch 90. But nobody's heaviest
of half a year is that light, and at a meet or in a testing week loads are chosen to be near the
limit, as they were where one was missed. So the heaviest load of a lift, made or missed, says
besides about how much the lift is:

- at a meet or in testing, where no row of the lift within half a year says how much;
- in training, where no row of any lift within a year does. Else the level is known, and light
  sets of other lifts are just light.

One row carries it per lift and day or half-year: that ten sessions were easy says no more than
that one was.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import log

import numpy as np

from profilegen.engine.evidence import CLEAN_AND_JERK, PARTS, Row, Term
from profilegen.norms.catalogue import Norms

_HALF_YEAR_DAYS = 183


@dataclass(frozen=True, slots=True)
class _Reading:
    """How a chosen load is read: a share of capacity, and the sd of that in logs."""

    share: float
    sd: float


def with_choices(rows: Sequence[Row], norms: Norms) -> tuple[Row, ...]:
    """The rows, with what choosing the heaviest of them says, where nothing else does."""
    near = _Reading(norms.constant("limit_choice_share"), norms.constant("limit_choice_sd"))
    far = _Reading(norms.constant("training_choice_share"), norms.constant("training_choice_sd"))
    found = list(rows)
    for numbers in _on_purpose(rows):
        _choose(found, numbers, near)
    for numbers in _in_training(found):
        heaviest = _heaviest(found, numbers)
        _choose(found, numbers, near if found[heaviest].kind == "missed" else far)
    return tuple(found)


def _on_purpose(rows: Sequence[Row]) -> Iterable[list[int]]:
    """Singles of one lift on one day at a meet or in testing, when nothing tells of that lift."""
    told: dict[str, list[int]] = {}
    for row in rows:
        for lift in _tells_of(row):
            told.setdefault(lift, []).append(row.on.toordinal())
    by_day: dict[tuple[int, str], list[int]] = {}
    for number, row in enumerate(rows):
        single = row.entry is not None and row.entry.reps == 1
        if row.at in ("meet", "testing") and single and row.kind != "before_meet":
            day = row.on.toordinal()
            if all(abs(day - other) > _HALF_YEAR_DAYS for other in told.get(row.lift, ())):
                by_day.setdefault((day, row.lift), []).append(number)
    return by_day.values()


def _tells_of(row: Row) -> set[str]:
    """Lifts that the row says how much of: a clean and jerk tells of its parts, and they of it."""
    if not row.says_how_much:
        return set()
    whole = {CLEAN_AND_JERK, *PARTS}
    return whole if row.lift in whole else {row.lift}


def _in_training(rows: Sequence[Row]) -> Iterable[list[int]]:
    """Rows of one lift in one half-year, counted back from the last row, when nothing tells."""
    told = np.array([row.on.toordinal() for row in rows if row.says_how_much])
    latest = max((row.on.toordinal() for row in rows), default=0)
    by_half: dict[tuple[int, str], list[int]] = {}
    for number, row in enumerate(rows):
        day = row.on.toordinal()
        untold = not (np.abs(told - day) <= 2 * _HALF_YEAR_DAYS).any()
        if untold and row.entry is not None and row.kind != "before_meet":
            by_half.setdefault(((latest - day) // _HALF_YEAR_DAYS, row.lift), []).append(number)
    return by_half.values()


def _heaviest(rows: Sequence[Row], numbers: Sequence[int]) -> int:
    """The heaviest of some rows, repetitions counted; of equals the first."""
    return max(numbers, key=lambda n: (rows[n].terms[0].x, -n))


def _choose(rows: list[Row], numbers: Sequence[int], reading: _Reading) -> None:
    """Give the heaviest of the rows its second meaning."""
    heaviest = _heaviest(rows, numbers)
    row = rows[heaviest]
    x = row.terms[0].x - log(reading.share)
    both = row.lift == CLEAN_AND_JERK
    term = Term("minimum" if both else "about", PARTS if both else (row.lift,), x, reading.sd)
    rows[heaviest] = replace(row, terms=(*row.terms, term))
