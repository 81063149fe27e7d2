"""What the squad pages need of one lifter: small, frozen, written to the build's cache.

Squad pages are made from summaries alone, so that changing one lifter rebuilds one report
and the squad pages, and nothing holds all profiles at once.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from typing import Literal, Protocol

from pydantic import TypeAdapter

from profilegen.engine.profile import (
    CLEAN_AND_JERK,
    TOTAL,
    Basis,
    Change,
    Confidence,
    Known,
    NextTests,
    Profile,
)
from profilegen.history.records import Athlete, Club, Sex, Sharing
from profilegen.norms.catalogue import Quality
from profilegen.report.links import report_path

MOST_TESTS = 16
"""Tests of one lifter that a squad's choice may be made of."""
WIDEST = 1.35
"""The high end of an interval over the low one, from which on its middle says nothing alone: a
snatch between 60 and 81 kg is still some 70, one between 31 and 85 is nothing to load a bar by."""
MAIN_LIFTS: tuple[str, ...] = ("snatch", CLEAN_AND_JERK, TOTAL)


@dataclass(frozen=True, slots=True)
class LiftSummary:
    """One lift: what it is worth with its 90 % interval."""

    lift: str
    estimate_kg: float
    low_kg: float
    high_kg: float
    basis: Basis


@dataclass(frozen=True, slots=True)
class QualitySummary:
    """One quality: score in standard deviations, kilos behind it, chance that it limits."""

    quality: Quality
    score: float
    kilos: float
    chance: float


@dataclass(frozen=True, slots=True)
class WeekTotal:
    """The total as it stood at the end of one testing week."""

    called: str
    on: date
    total_kg: float
    low_kg: float
    high_kg: float


@dataclass(frozen=True, slots=True)
class ChangeSummary:
    """One main lift since the last testing week."""

    lift: str
    then_kg: float
    now_kg: float
    verdict: Literal["rose", "fell", "same", "unclear"]
    then_low_kg: float | None = None
    then_high_kg: float | None = None
    """The interval then; None where the lift's course is not known."""
    seen: bool = True
    """Tested since; what moved without a test follows from the other lifts."""


@dataclass(frozen=True, slots=True)
class ScaledSummary:
    """A total scaled for body mass."""

    formula: str
    score: float
    low: float
    high: float
    in_range: bool


@dataclass(frozen=True, slots=True)
class BodyClass:
    """A body-mass class of the club's own list of marks."""

    limit_kg: float
    above: bool = False
    """Whether the class begins at the limit instead of ending there."""

    @property
    def order(self) -> float:
        """To sort classes by."""
        return self.limit_kg + (0.5 if self.above else 0.0)


@dataclass(frozen=True, slots=True)
class Summary:
    """One lifter in the squad."""

    id: str
    name: str
    sex: Sex
    age: int | None
    junior: bool
    group: str | None
    body_mass_kg: float | None
    category: BodyClass | None
    on: date
    limiter: Quality | Literal["even"]
    chance: float
    confidence: Confidence
    known: Known
    kilos: float
    second: Quality | Literal["even"] | None
    second_chance: float
    chance_even: float
    lifts: tuple[LiftSummary, ...]
    """The main lifts, as far as they are known."""
    scaled: tuple[ScaledSummary, ...]
    qualities: tuple[QualitySummary, ...]
    weeks: tuple[WeekTotal, ...]
    """The total over the club's testing weeks, as far as this lifter was there."""
    since: str | None
    """Name of the testing week the changes count from."""
    changes: tuple[ChangeSummary, ...]
    href: str
    """The report, relative to the site's root."""
    sharing: Sharing
    limiter_then: Quality | Literal["even"] | None = None
    chance_then: float = 0.0
    """What came first at the testing week before, if there was one."""
    since_on: date | None = None
    """Last day of that week: names of testing weeks may come twice, their days cannot."""
    tests: NextTests | None = None
    """What tests would tell, as far as the squad's choice of tests needs it."""

    @property
    def category_order(self) -> float:
        """To sort by class: 0 when there is none to tell."""
        return self.category.order if self.category else 0.0

    def lift(self, lift: str) -> LiftSummary | None:
        """One main lift."""
        return next((one for one in self.lifts if one.lift == lift), None)

    @property
    def level_known(self) -> bool:
        """Whether it is known about how strong the lifter is, if not where."""
        total = self.lift(TOTAL)
        return self.known != "nothing" and total is not None and says_something(self.known, total)

    def to_json(self) -> bytes:
        """The summary as JSON; `from_json` gives the same value back."""
        # whole numbers where a float may stand are fine, and come back as floats
        return _summaries().dump_json(self, warnings=False)

    @classmethod
    def from_json(cls, text: bytes) -> Summary:
        """A summary written by `to_json`."""
        return _summaries().validate_json(text)


class Interval(Protocol):
    """What says how wide it is."""

    @property
    def low_kg(self) -> float:
        """The low end."""

    @property
    def high_kg(self) -> float:
        """The high end."""


def says_something(known: Known, lift: Interval) -> bool:
    """Whether a lift's middle may stand without its interval."""
    return known == "enough" or (known == "little" and lift.high_kg <= WIDEST * lift.low_kg)


@cache
def _summaries() -> TypeAdapter[Summary]:
    """Summaries to and from JSON, every digit kept."""
    return TypeAdapter(Summary)


def summarise(profile: Profile, athlete: Athlete, club: Club) -> Summary:
    """What the squad pages need of one profile."""
    verdict = profile.verdict
    before = profile.change if verdict.known == "enough" else None
    seen = seen_since(profile, profile.change) if profile.change else frozenset()
    return Summary(
        id=athlete.id,
        name=athlete.name,
        sex=athlete.sex,
        age=profile.athlete.age,
        junior=profile.athlete.junior,
        group=athlete.group,
        body_mass_kg=profile.athlete.body_mass_kg,
        category=_category(profile, club),
        on=profile.on,
        limiter=verdict.limiter,
        chance=verdict.chance,
        confidence=verdict.confidence,
        known=verdict.known,
        kilos=verdict.kilos,
        second=verdict.second,
        second_chance=verdict.second_chance,
        chance_even=profile.chance_even,
        lifts=tuple(
            LiftSummary(key, one.estimate_kg, one.low_kg, one.high_kg, one.basis)
            for key in MAIN_LIFTS
            if (one := profile.lifts.get(key)) is not None
        ),
        scaled=tuple(
            ScaledSummary(one.formula, one.score, one.low, one.high, one.in_range)
            for one in profile.scaled
        ),
        qualities=tuple(
            QualitySummary(key, one.score, one.kilos, one.chance_limiting)
            for key, one in profile.qualities.items()
        ),
        weeks=_week_totals(profile, athlete, club),
        since=profile.change.called if profile.change else None,
        changes=tuple(
            ChangeSummary(
                one.lift,
                one.then_kg,
                one.now_kg,
                one.verdict,
                *_interval_then(profile, one.lift),
                one.lift in seen,
            )
            for one in (profile.change.lifts if profile.change else ())
            if one.lift in MAIN_LIFTS
        ),
        href=report_path(athlete.id),
        sharing=athlete.sharing,
        tests=_telling(profile.next_tests),
        limiter_then=before.limiter_then if before else None,
        chance_then=before.chance_then if before else 0.0,
        since_on=profile.change.since if profile.change else None,
    )


def seen_since(profile: Profile, change: Change) -> frozenset[str]:
    """The lifts that were tested, or did better than ever, since the day the changes count from.

    A clean and jerk shows a clean and a jerk.
    """
    seen = {
        lift.lift
        for lift in profile.lifts.values()
        for day in (lift.last_tested, lift.best_made_on)
        if day is not None and day > change.since
    }
    return frozenset(seen | ({"clean", "jerk"} if CLEAN_AND_JERK in seen else set()))


def _interval_then(profile: Profile, lift: str) -> tuple[float | None, float | None]:
    """A lift's interval on the last day of its course up to the day that changes count from."""
    change, track = profile.change, profile.tracks.get(lift)
    before = (
        [i for i, day in enumerate(track.days) if day <= change.since] if change and track else []
    )
    if not before or track is None:
        return None, None
    return track.low_kg[before[-1]], track.high_kg[before[-1]]


def _telling(tests: NextTests | None) -> NextTests | None:
    """The lifts that tell most: the rest would only fill the squad's memory."""
    return None if tests is None else replace(tests, values=tests.values[:MOST_TESTS])


def _category(profile: Profile, club: Club) -> BodyClass | None:
    """The lightest class of the club's marks that the lifter's body mass fits into."""
    mass_kg, sex = profile.athlete.body_mass_kg, profile.athlete.sex
    limits = sorted({m.up_to_kg for m in club.marks if m.sex == sex and m.up_to_kg is not None})
    if mass_kg is None or not limits:
        return None
    for limit in limits:
        if mass_kg <= limit:
            return BodyClass(limit)
    if any(m.sex == sex and m.up_to_kg is None for m in club.marks):
        return BodyClass(limits[-1], above=True)
    return None


def _week_totals(profile: Profile, athlete: Athlete, club: Club) -> tuple[WeekTotal, ...]:
    track = profile.tracks.get(TOTAL)
    if track is None or not track.days:
        return ()
    tested = sorted({session.on for session in athlete.sessions if session.at == "testing"})
    totals = []
    for week in sorted(club.testing_weeks, key=lambda week: week.end):
        if not any(week.start <= day <= week.end for day in tested):
            continue
        until = [i for i, day in enumerate(track.days) if day <= week.end]
        if until:
            i = until[-1]
            totals.append(
                WeekTotal(
                    week.called,
                    week.end,
                    track.estimate_kg[i],
                    track.low_kg[i],
                    track.high_kg[i],
                )
            )
    return tuple(totals)
