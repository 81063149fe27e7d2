"""What the schema of club.yaml cannot see: weeks that overlap, lifts and marks that cannot be.

Works on the values as written, like athlete_sense.py and for the same reason.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from datetime import date

from profilegen.history import plausible
from profilegen.history.lift_names import CLEAN_AND_JERK, TWO_LIFTS, LiftNames
from profilegen.history.problems import Finding
from profilegen.history.words import found, plain, quoted
from profilegen.history.written import Written, day_or_none, entries
from profilegen.history.yaml_tree import Loc
from profilegen.norms.catalogue import Lift


def club_findings(data: Written, lifts: Mapping[str, Lift]) -> Iterator[Finding]:
    """Everything in club.yaml that cannot be."""
    yield from _testing_weeks(data)
    names = LiftNames(lifts)
    yield from _own_lifts(data, names, lifts)
    for loc, mark in entries(data, "marks"):
        yield from _mark(mark, loc, names)
    yield from _test_costs(data, names)


def _test_costs(data: Written, names: LiftNames) -> Iterator[Finding]:
    costs = data.get("test_cost")
    if not isinstance(costs, dict):
        return
    ids = (entry.get("id") for _, entry in entries(data, "own_lifts"))
    own = {id_ for id_ in ids if isinstance(id_, str)}
    seen: dict[str, str] = {}
    for word in costs:
        lift = word if word in own else names.find(word)
        if lift is None or lift == CLEAN_AND_JERK:
            said = TWO_LIFTS if lift else names.unknown(word)
            yield Finding(("test_cost", word), said, at_key=True)
            continue
        other = seen.setdefault(lift, word)
        if other != word:
            said = f"this lift has a cost already, as {quoted(other)}; keep one of them"
            yield Finding(("test_cost", word), said, at_key=True)


def _testing_weeks(data: Written) -> Iterator[Finding]:
    known: list[tuple[date, date, str]] = []
    for loc, week in entries(data, "testing_weeks"):
        start, end = day_or_none(week.get("start")), day_or_none(week.get("end"))
        if start is None or end is None:
            continue
        if end < start:
            yield Finding((*loc, "end"), f"expected a day not before {start}, found {end}")
            continue
        if (end - start).days >= plausible.LONGEST_TESTING_WEEK_DAYS:
            limit = plausible.LONGEST_TESTING_WEEK_DAYS
            yield Finding(
                (*loc, "end"), f"expected at most {limit} days after {start}, found {end}"
            )
        for other_start, other_end, called in known:
            if start <= other_end and other_start <= end:
                yield Finding(
                    (*loc, "start"),
                    f"this testing week shares days with {quoted(called)} "
                    f"({other_start} to {other_end}); keep one of them",
                )
                break
        known.append((start, end, str(week.get("called", ""))))


def _own_lifts(data: Written, names: LiftNames, lifts: Mapping[str, Lift]) -> Iterator[Finding]:
    seen: set[str] = set()
    another = "; choose another id"
    for loc, own in entries(data, "own_lifts"):
        id_, parent = own.get("id"), own.get("parent")
        if isinstance(id_, str):
            if id_ in lifts or id_ in (CLEAN_AND_JERK, "total"):
                yield Finding((*loc, "id"), f"{quoted(id_)} is in the catalogue already{another}")
            elif names.find(id_) is not None:
                yield Finding(
                    (*loc, "id"),
                    f"{quoted(id_)} already means {names.find(id_)}{another}",
                )
            elif id_ in seen:
                yield Finding((*loc, "id"), f"two own lifts are called {quoted(id_)}{another}")
            seen.add(id_)
        if isinstance(parent, str):
            known = names.find(parent)
            if known is None:
                yield Finding((*loc, "parent"), names.unknown(parent))
            elif known == CLEAN_AND_JERK:
                yield Finding((*loc, "parent"), TWO_LIFTS)


def _mark(mark: Written, loc: Loc, names: LiftNames) -> Iterator[Finding]:
    ranges = {
        "up_to_kg": plausible.BODY_MASS_RANGE_KG,
        "snatch_kg": names.load_range_kg("snatch"),
        "clean_and_jerk_kg": names.load_range_kg(CLEAN_AND_JERK),
        "total_kg": plausible.TOTAL_RANGE_KG,
    }
    for key, (low, high) in ranges.items():
        value = mark.get(key)
        if (
            isinstance(value, int | float)
            and not isinstance(value, bool)
            and math.isfinite(value)
            and not low <= value <= high
        ):
            yield Finding(
                (*loc, key), f"expected {plain(low)} to {plain(high)} kg, found {found(value)}"
            )
    if not any(key in mark for key in ("snatch_kg", "clean_and_jerk_kg", "total_kg")):
        yield Finding(loc, "a mark needs snatch_kg, clean_and_jerk_kg or total_kg")
