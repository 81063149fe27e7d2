"""What the schema of an athlete file cannot see: absurd numbers and dates, contradictions.

Works on the values as written, whether or not the rest of the file is sound, so that one
mistake never hides another: anything of the wrong type is left to the schema's complaint.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date, timedelta

from profilegen.history import plausible
from profilegen.history.dates import Period
from profilegen.history.lift_names import CLEAN_AND_JERK, TWO_LIFTS, LiftNames
from profilegen.history.problems import Finding
from profilegen.history.words import found, plain
from profilegen.history.written import Written, day_or_none, entries, period_or_none, shown_period
from profilegen.history.yaml_tree import Loc
from profilegen.units import kg_to_lb, lb_to_kg


def athlete_findings(data: Written, names: LiftNames, today: date) -> Iterator[Finding]:
    """Everything in an athlete file that cannot be."""
    born = day_or_none(data.get("born"))
    if born is not None:
        yield from _age(born, today)
    units = data.get("units", "kg")
    check = _Checks(names, today, born, units if units in ("kg", "lb") else None)
    for loc, session in entries(data, "sessions"):
        yield from check.session(session, loc)
    for loc, best in entries(data, "bests"):
        yield from check.lift(best, loc)
        yield from check.load(best, loc)
        yield from check.past(best, loc, "around")
    for loc, meet in entries(data, "meets"):
        yield from check.meet(meet, loc)
        yield from check.target(meet, loc, data)
    yield from check.avoided(data)
    yield from check.build(data)
    sharing = data.get("sharing")
    if isinstance(sharing, dict):
        yield from check.past(sharing, ("sharing",), "guardian_consent")
    for loc, question in entries(data, "questions"):
        yield from check.question(question, loc)


def _age(born: date, today: date) -> Iterator[Finding]:
    low, high = plausible.AGE_RANGE
    if born > today:
        yield Finding(("born",), f"expected a day in the past, found {born}")
        return
    age = today.year - born.year - ((today.month, today.day) < (born.month, born.day))
    if not low <= age <= high:
        yield Finding(
            ("born",),
            f"expected an age from {low} to {high}, found {born}, which is {age} years ago",
        )


_A_YEAR = timedelta(days=366)
_ANY_NUMBER = 1e6


def _number(value: object) -> float | None:
    """A number that can be compared; None for anything else."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if -_ANY_NUMBER < value < _ANY_NUMBER else None


class _Checks:
    """The checks that need to know the lifts, today, the birth date and the file's unit."""

    def __init__(self, names: LiftNames, today: date, born: date | None, units: str | None) -> None:
        self._names = names
        self._today = today
        self._born = born
        self._units = units

    def session(self, session: Written, loc: Loc) -> Iterator[Finding]:
        """One session with its sets."""
        yield from self.past(session, loc, "on")
        yield from self._measured(
            session,
            loc,
            ("body_mass_kg", "body_mass_lb"),
            plausible.BODY_MASS_RANGE_KG,
            "a body mass",
        )
        has_mass = "body_mass_kg" in session or "body_mass_lb" in session
        if not (session.get("sets") or has_mass or "note" in session):
            yield Finding((*loc, "sets"), "missing; a session needs sets, a body mass or a note")
        for set_loc, entry in entries(session, "sets", loc):
            yield from self.lift(entry, set_loc)
            yield from self.load(entry, set_loc)
            if len(entry) > 2:
                yield from self._reserve(entry, set_loc)
                yield from self._contradictions(entry, set_loc)

    def lift(self, entry: Written, loc: Loc, key: str = "lift") -> Iterator[Finding]:
        """The lift is one that is known."""
        word = entry.get(key)
        if isinstance(word, str) and self._names.find(word) is None:
            yield Finding((*loc, key), self._names.unknown(word))

    def load(self, entry: Written, loc: Loc) -> Iterator[Finding]:
        """The load is there, in the file's unit, and can be lifted."""
        word = entry.get("lift")
        lift = self._names.find(word) if isinstance(word, str) else None
        tail = f" for {lift.replace('_', ' ')}" if lift else ""
        yield from self._measured(
            entry, loc, ("kg", "lb"), self._names.load_range_kg(lift), "a load", tail, required=True
        )

    def _measured(
        self,
        entry: Written,
        loc: Loc,
        keys: tuple[str, str],
        range_kg: tuple[float, float],
        what: str,
        tail: str = "",
        *,
        required: bool = False,
    ) -> Iterator[Finding]:
        """One quantity that is written under `keys[0]` in kg files, `keys[1]` in lb files."""
        units = self._units or ("lb" if keys[1] in entry else "kg")
        wanted, other = keys if units == "kg" else keys[::-1]
        if other in entry and self._units is not None:
            yield Finding(
                (*loc, other),
                f'this file is in {units}, so the key is "{wanted}"'
                + ("; a file in lb says units: lb" if units == "kg" else ""),
                at_key=True,
            )
        if wanted not in entry:
            if required and other not in entry:
                yield Finding((*loc, wanted), f"missing; expected {what} in {units}")
            return
        value = entry[wanted]
        if isinstance(value, bool) or not isinstance(value, int | float):
            return
        low, high = range_kg
        written_low, written_high = low, high
        value_kg = float(value) if abs(value) < 1e9 else math.copysign(math.inf, value)
        if units == "lb":
            value_kg = lb_to_kg(value_kg)
            written_low, written_high = round(kg_to_lb(low)), round(kg_to_lb(high))
        if not low <= value_kg <= high and not (isinstance(value, float) and math.isinf(value)):
            bounds = f"from {plain(written_low)} to {plain(written_high)} {units}"
            yield Finding((*loc, wanted), f"expected {what} {bounds}{tail}, found {found(value)}")

    def _reserve(self, entry: Written, loc: Loc) -> Iterator[Finding]:
        """More left than anyone can tell is most likely an effort on the scale to ten."""
        left, most = _number(entry.get("in_reserve")), plausible.MOST_IN_RESERVE
        if left is not None and most < left <= 10 and left * 2 % 1 == 0:
            yield Finding(
                (*loc, "in_reserve"),
                f"expected at most {plain(most)} repetitions left, found {plain(left)}; an RPE "
                f"of {plain(left)} is written in_reserve: {plain(10 - left)}, a set with more "
                "left looked: easy",
            )

    def _contradictions(self, entry: Written, loc: Loc) -> Iterator[Finding]:
        """Words about one set that cannot all be true."""
        missed = entry.get("missed", False)
        if type(missed) is int:
            yield Finding((*loc, "missed"), f"expected true, clean or jerk, found {missed}")
        part = missed if missed in ("clean", "jerk") else None
        word = entry.get("lift")
        if part and isinstance(word, str):
            lift = self._names.find(word)
            if lift not in (None, CLEAN_AND_JERK):
                yield Finding(
                    (*loc, "missed"),
                    f"{part} can only be missed in a clean_and_jerk; for {lift} write true",
                )
        if missed is True or part:
            for key in ("effort", "in_reserve", "looked", "share"):
                if key in entry:
                    yield Finding(
                        (*loc, key),
                        "a missed set takes no word about effort: the miss says it; leave this out",
                        at_key=True,
                    )
            return
        if entry.get("effort") != "max":
            return
        reserve = entry.get("in_reserve")
        if isinstance(reserve, int | float) and reserve > 0:
            yield Finding(
                (*loc, "in_reserve"), f"effort: max says nothing was left, this says {reserve} more"
            )
        for key in ("looked", "share"):
            if key in entry:
                yield Finding(
                    (*loc, key),
                    f"effort: max already says how hard it was; leave {key} out",
                    at_key=True,
                )

    def past(self, entry: Written, loc: Loc, key: str) -> Iterator[Finding]:
        """The day or period under `key` begins in the lifter's life and not after today."""
        period = period_or_none(entry.get(key))
        if period is None:
            return
        if period.first > self._today:
            yield Finding(
                (*loc, key),
                f"expected a day up to today ({self._today}), found {shown_period(period)}",
            )
        yield from self._after_birth(period, (*loc, key))

    def _after_birth(self, period: Period, loc: Loc) -> Iterator[Finding]:
        born = self._born
        if born is not None and born <= self._today and period.last < born:
            yield Finding(loc, f"{shown_period(period)} is before the lifter was born ({born})")

    def meet(self, meet: Written, loc: Loc) -> Iterator[Finding]:
        """One meet: may lie ahead, though not in another age."""
        period = period_or_none(meet.get("on"))
        if period is not None:
            years = plausible.MEET_YEARS_AHEAD
            if period.first - self._today > timedelta(days=years * 366):
                yield Finding(
                    (*loc, "on"),
                    f"expected a day at most {years} years ahead, found {period.first}",
                )
            yield from self._after_birth(period, (*loc, "on"))
        keys = ("target_total_kg", "target_total_lb")
        yield from self._measured(meet, loc, keys, plausible.TARGET_TOTAL_RANGE_KG, "a total")

    def target(self, meet: Written, loc: Loc, data: Written) -> Iterator[Finding]:
        """A total is more than either of its lifts was within the year before."""
        key = f"target_total_{self._units}"
        wanted, period = _number(meet.get(key)), period_or_none(meet.get("on"))
        if wanted is None or period is None:
            return
        load, lift, on = max(self._made_before(period.first, data), default=(0.0, "", None))
        least = plausible.TARGET_TOTAL_RANGE_KG[0]
        told_already = wanted < (least if self._units == "kg" else kg_to_lb(least))
        if wanted <= load and not told_already:
            yield Finding(
                (*loc, key),
                f"expected a total above the {lift.replace('_', ' ')} of {plain(load)} "
                f"{self._units} on {on}, found {plain(wanted)}",
            )

    def _made_before(self, day: date, data: Written) -> Iterator[tuple[float, str, date]]:
        """Loads of the two lifts that count, made within the year before a day."""
        for _, session in entries(data, "sessions"):
            on = day_or_none(session.get("on"))
            if on is None or not timedelta(0) <= day - on <= _A_YEAR:
                continue
            for _, entry in entries(session, "sets"):
                lift, load = self._names.find(str(entry.get("lift"))), None
                if lift in ("snatch", CLEAN_AND_JERK) and entry.get("missed", False) is False:
                    load = _number(entry.get(self._units or ""))
                if lift is not None and load is not None:
                    yield load, lift, on

    def avoided(self, data: Written) -> Iterator[Finding]:
        """The lifts to avoid: known, once each."""
        seen: dict[str, int] = {}
        for loc, entry in entries(data, "avoid"):
            yield from self._single_lift(entry, loc, "lift")
            yield from self.past(entry, loc, "since")
            word = entry.get("lift")
            lift = self._names.find(word) if isinstance(word, str) else None
            if lift in seen:
                yield Finding((*loc, "lift"), f"{lift} is avoided twice; keep one entry")
            elif lift is not None:
                seen[lift] = 1

    def _single_lift(self, entry: Written, loc: Loc, key: str) -> Iterator[Finding]:
        """A lift of its own: clean and jerk is two."""
        word = entry.get(key)
        if isinstance(word, str) and self._names.find(word) == CLEAN_AND_JERK:
            yield Finding((*loc, key), TWO_LIFTS)
        else:
            yield from self.lift(entry, loc, key)

    def build(self, data: Written) -> Iterator[Finding]:
        """Words or a measurement, not both."""
        build = data.get("build")
        if isinstance(build, dict) and "sitting_height_ratio" in build:
            for key in ("thighs", "torso"):
                if key in build:
                    yield Finding(
                        ("build", key),
                        "the measured sitting_height_ratio says it already; keep one of the two",
                        at_key=True,
                    )

    def question(self, question: Written, loc: Loc) -> Iterator[Finding]:
        """One entry asks exactly one question."""
        asked = [key for key in ("why", "holds", "claim") if key in question]
        if not asked:
            yield Finding(loc, "expected one of why, holds or claim")
        for key in asked[1:]:
            yield Finding(
                (*loc, key), f"one question an entry: {asked[0]} is asked already", at_key=True
            )
        for key in ("why", "holds"):
            yield from self.lift(question, loc, key)
