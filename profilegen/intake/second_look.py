"""What of a sheet deserves a second look before the coach agrees: nothing of it is refused.

A load that could be lifted by somebody, on a day that was, passes every check, and is still
most likely a slip when it is far from all that this lifter has done, or when one row of a
testing week lies in another year. Where the lines are drawn is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from statistics import median

from profilegen.history.lift_names import CLEAN_AND_JERK
from profilegen.history.records import Athlete
from profilegen.history.words import plain
from profilegen.intake.day import Day, SheetSet
from profilegen.intake.sheet import CellProblem
from profilegen.norms.catalogue import Lift
from profilegen.units import kg_to_lb

FAR = 2.0
"""Times more or less than the heaviest of the same lift."""

FAR_FROM_OTHERS = 3.0
"""Times more or less than the other lifts let expect, where the lift itself was never done."""

LOST_DIGIT = 6.0
"""Times less than the heaviest of the same lift is no warm-up, but 18 for 108."""

FEW_WEEKS = timedelta(days=28)
"""Between days of one sheet."""


@dataclass(frozen=True, slots=True)
class Added:
    """One day of one lifter, as far as it is new."""

    athlete: Athlete
    day: Day
    sets: tuple[SheetSet, ...]


def second_look(added: Sequence[Added], lifts: Mapping[str, Lift]) -> list[CellProblem]:
    """What looks odd, by cell.

    Args:
        added: all that goes into the files.
        lifts: the catalogue by lift id, the club's own included.
    """
    return sorted({*_odd_days([one.day for one in added]), *_odd_loads(added, lifts)})


def _odd_loads(added: Sequence[Added], lifts: Mapping[str, Lift]) -> Iterator[CellProblem]:
    by_lifter: dict[str, list[Added]] = {}
    for new_day in added:
        by_lifter.setdefault(new_day.athlete.id, []).append(new_day)
    for days in by_lifter.values():
        before = _heaviest_kg(days[0].athlete)
        new: dict[str, float] = {}
        for record in (one.record for day in days for one in day.sets):
            new[record.lift] = max(new.get(record.lift, 0.0), record.load_kg)
        for day in days:
            telling = {id(one) for one in _telling(day.sets)}
            for one in day.sets:
                lift = one.record.lift
                if id(one) not in telling:
                    most = before.get(lift, new[lift])
                    if one.record.load_kg * LOST_DIGIT <= most:
                        yield from _against(one, most, FAR, "most of this lift so far")
                elif lift in before:
                    yield from _against(one, before[lift], FAR, "most of this lift so far")
                elif (usual := _usual_kg(lift, before or new, lifts)) is not None:
                    yield from _against(one, usual, FAR_FROM_OTHERS, "usual beside the other lifts")


def _heaviest_kg(athlete: Athlete) -> dict[str, float]:
    """The heaviest load that the file holds of each lift."""
    heaviest: dict[str, float] = {}
    loads = [(one.lift, one.load_kg) for session in athlete.sessions for one in session.sets]
    for lift, load_kg in [*loads, *((best.lift, best.load_kg) for best in athlete.bests)]:
        heaviest[lift] = max(heaviest.get(lift, 0.0), load_kg)
    return heaviest


def _telling(sets: Sequence[SheetSet]) -> Iterator[SheetSet]:
    """The heaviest set of each lift, and those that say that no more was possible: a light
    warm-up before a heavy set is nothing odd."""
    heaviest: dict[str, SheetSet] = {}
    for one in sets:
        best = heaviest.get(one.record.lift)
        if best is None or one.record.load_kg > best.record.load_kg:
            heaviest[one.record.lift] = one
        if one.record.missed or one.record.effort_max:
            yield one
    yield from heaviest.values()


def _usual_kg(lift: str, known_kg: Mapping[str, float], lifts: Mapping[str, Lift]) -> float | None:
    """What the other lifts let expect, by the usual shares of the norms."""
    expected = [load / _share(other, lifts) for other, load in known_kg.items() if other != lift]
    return median(expected) * _share(lift, lifts) if expected else None


def _share(lift: str, lifts: Mapping[str, Lift]) -> float:
    return lifts["clean" if lift == CLEAN_AND_JERK else lift].share.value


def _against(one: SheetSet, usual_kg: float, far: float, what: str) -> Iterator[CellProblem]:
    load_kg = one.record.load_kg
    if usual_kg / far <= load_kg <= usual_kg * far:
        return
    usual = kg_to_lb(usual_kg) if one.load.unit == "lb" else usual_kg
    said = f"{plain(one.load.value)} {one.load.unit}, where {plain(round(usual))} is {what}"
    yield one.table.problem(one.cell, one.record.lift, said)


def _odd_days(days: Sequence[Day]) -> Iterator[CellProblem]:
    """Days well before those on which most of the sheet was done."""
    groups: list[list[Day]] = []
    last: date | None = None
    for day in sorted(days, key=lambda one: one.on):
        if last is None or day.on - last > FEW_WEEKS:
            groups.append([])
        groups[-1].append(day)
        last = day.on
    most = max(map(len, groups), default=0)
    main = next((group for group in reversed(groups) if len(group) == most), [])
    for group, after in pairwise(groups):
        if group is main:
            return
        for day in group:
            if day.row is not None:
                table, cell = day.row
                weeks = (after[0].on - day.on).days // 7
                said = f"{day.on} is {weeks} weeks before the next day of this sheet; "
                yield table.problem(cell, "date", f"{said}it goes in as {day.at}")
