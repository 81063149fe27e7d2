"""The engine's answer about one lifter: frozen, plain, complete. `profile.json` is this.

Every load is in kilograms, every interval is a central 90 % interval, every chance lies
in 0-1. Nothing here is rounded: pages round in report/format.py, data in report/contract.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from profilegen.engine.replies import Company, MarkReading, Reply
from profilegen.history.records import Place
from profilegen.norms.catalogue import Limiter, Quality

Basis = Literal["tested", "bounded", "inferred"]
"""tested: a maximal set, several reps, a miss or a best says about how much; bounded: only
made sets (a floor); inferred: nobody tried it, the other lifts imply it."""

RatioVerdict = Literal["below", "usual", "above", "unclear"]
Confidence = Literal["clear", "likely", "leaning", "open"]
"""How sure the limiter is: chance >= .8, >= .6, >= .4, or less; open, too, where too little is
known, and where an even profile is hardly likelier than of anyone (engine/verdict.py)."""

Known = Literal["nothing", "little", "enough"]
"""Whether a verdict may rest on the evidence: no rows, too few lifts told about, or enough."""

_HALF_A_QUARTER = 45.0
"""Days: a period is a day, a month or a year, and half of it falls on either side of this."""

TOTAL = "total"
CLEAN_AND_JERK = "clean_and_jerk"


@dataclass(frozen=True, slots=True)
class LiftEstimate:
    """What one lift is worth on the profile's day."""

    lift: str
    estimate_kg: float
    """Median."""
    low_kg: float
    high_kg: float
    basis: Basis
    avoided: bool
    """On the lifter's own list; see `Profile.not_proposed`."""
    best_made_kg: float | None
    best_made_on: date | None
    last_tested: date | None
    """The last day with a set that says about how much; what was told or has no day is no test."""
    body_mass_multiple: float
    usual_kg: float | None
    """What is usual for a lifter of this one's own level; None for the total."""
    relative: float | None
    """log(estimate / usual): above 0 means strong for this lifter."""
    relative_low: float | None
    relative_high: float | None


@dataclass(frozen=True, slots=True)
class RatioReading:
    """Two lifts set against each other, beside the usual range."""

    numerator: str
    denominator: str
    value: float
    low: float
    high: float
    usual_low: float
    usual_high: float
    reading: RatioVerdict
    chance_below: float
    """Chance that the true ratio lies under the usual range."""
    chance_above: float
    source: str


@dataclass(frozen=True, slots=True)
class RestsOn:
    """The chance that a quality limits, with one lift's evidence left out."""

    lift: str
    chance_without: float


@dataclass(frozen=True, slots=True)
class QualityReading:
    """One of the six qualities. Score 0 is usual, 1 is one standard deviation better."""

    quality: Quality
    score: float
    low: float
    high: float
    kilos: float
    """Mean growth of the total if this quality stood where the lifter's others stand."""
    kilos_low: float
    kilos_high: float
    chance_limiting: float
    rests_on: tuple[RestsOn, ...] = ()


@dataclass(frozen=True, slots=True)
class Pointer:
    """What one lift alone would lead one to expect of the clean or the snatch."""

    lift: str
    target: Literal["clean", "snatch"]
    expected_kg: float
    low_kg: float
    high_kg: float


@dataclass(frozen=True, slots=True)
class EvidenceReading:
    """One row the coach wrote and what it was taken to mean."""

    on: date
    at: Place | Literal["best"]
    lift: str
    load_kg: float
    kind: Literal[
        "made",
        "max",
        "reps",
        "bound",
        "missed",
        "looked",
        "share",
        "speed",
        "told",
        "seen",
        "recorded",
        "before_meet",
    ]
    """Decides the mark in charts: made/bound are floors, max/reps/... say about how much."""
    reps: int
    in_reserve: float | None
    missed: Literal["lift", "clean", "jerk"] | None
    speed_m_s: float | None
    share: float | None
    """load / capacity that the row was read as, where it was read as a share."""
    says_kg: float | None
    """Capacity the row alone points at; None where it only bounds (then load_kg bounds)."""
    says_low_kg: float | None
    says_high_kg: float | None
    used: bool
    """False: says nothing that heavier rows nearby do not say, so it was dropped; what it may
    have done for another row says `drew_line`."""
    surprise: float | None
    """Posterior predictive tail probability; small means the model did not expect it."""
    note: str | None
    line: int
    video: str | None = None
    vague_days: float = 0.0
    """Half the length of the period that `on` is the middle of: 15 for a month, 183 for a year."""
    drew_line: bool = False
    """A lighter set that drew the line of load and speed on which the day's heaviest is read."""

    @property
    def told(self) -> Literal["day", "month", "year"]:
        """How exactly the time of the row was told."""
        if not self.vague_days:
            return "day"
        return "month" if self.vague_days < _HALF_A_QUARTER else "year"


@dataclass(frozen=True, slots=True)
class Track:
    """One lift's estimate over time; equal-length tuples, days ascending."""

    lift: str
    days: tuple[date, ...]
    estimate_kg: tuple[float, ...]
    low_kg: tuple[float, ...]
    high_kg: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Assumption:
    """Something the engine took for granted: `code` picks the sentence, `values` fill it.

    A day is written 2025-07-02; where only its month or year was told, 2025-07 or 2025.

    Codes: no_body_mass, before_meet, reps_without_reserve, long_quick_sets, jerk_part_unknown,
    junior_growth, single_clean_and_jerk_miss, no_evidence_lately, speed_as_made, build,
    platform, ...
    """

    code: str
    values: Mapping[str, float | str]


@dataclass(frozen=True, slots=True)
class LiftChange:
    """One lift then and now; `verdict` uses the noise of a test."""

    lift: str
    then_kg: float
    now_kg: float
    change_kg: float
    low_kg: float
    high_kg: float
    verdict: Literal["rose", "fell", "same", "unclear"]


@dataclass(frozen=True, slots=True)
class Change:
    """Since the last testing week."""

    since: date
    called: str
    lifts: tuple[LiftChange, ...]
    limiter_then: Limiter
    chance_then: float


@dataclass(frozen=True, slots=True)
class NextTest:
    """What one test would tell about the limiting answer, and what it would cost."""

    lift: str
    bits: float
    """Expected drop in the entropy of the answer."""
    cost: float
    """Fatigue, a maximal snatch being 1."""
    reps: int
    in_reserve: int
    """1 and 0 for a maximal single."""
    expected_kg: float
    """Load to expect for that set."""
    first_time: bool
    """Nobody wrote down a set of this lift yet."""


@dataclass(frozen=True, slots=True)
class TwoTests:
    """What two tests would tell together."""

    first: str
    second: str
    bits: float


@dataclass(frozen=True, slots=True)
class NextTests:
    """What to test next."""

    entropy_bits: float
    """How open the limiting answer is now: 0 settled, 2.8 all seven alike."""
    meet_near: date | None
    """A meet too near for any maximal test; nothing is proposed then."""
    values: tuple[NextTest, ...]
    """Every lift that may be tested, most telling first; none of `avoided` is in it."""
    pairs: tuple[TwoTests, ...]
    """Of the most telling lifts."""
    best: tuple[str, ...]
    """The three that tell most together at a bearable cost; fewer where no more may be tested."""
    avoided: tuple[str, ...] = ()
    """Lifts not proposed: to be avoided, or much alike."""
    best_bits: float = 0.0
    """What the best three tell together."""


MainLift = Literal["snatch", "clean_and_jerk"]
Aim = Literal["expected", "target", "safe"]
"""expected: the highest expected total; target: the highest chance of the target total; safe:
the highest chance of any total."""


@dataclass(frozen=True, slots=True)
class LoadChance:
    """Chance of a good lift with one load on the day of a meet, before anything is lifted."""

    lift: MainLift
    kg: int
    chance: float


@dataclass(frozen=True, slots=True)
class LiftAttempts:
    """Three attempts of one lift as a tree; tuples of seven in the order of HISTORIES.

    `attempts.HISTORIES` says what came before each: nothing, +, -, ++, +-, -+, -- (+ good,
    - missed). Loads in whole kilos; None: no further attempt.
    """

    lift: MainLift
    after_snatch_kg: int | None
    """The snatch result this clean and jerk is for."""
    chance_of_case: float
    """Chance of that snatch result; 1 for the snatch."""
    loads_kg: tuple[int | None, ...]
    chances: tuple[float | None, ...]
    """Chance that the attempt is good, given that it comes to it."""


@dataclass(frozen=True, slots=True)
class MeetPlan:
    """Six attempts for one aim and what they lead to."""

    aim: Aim
    snatch: LiftAttempts
    clean_and_jerk: tuple[LiftAttempts, ...]
    """One tree for each snatch result, likeliest result first."""
    expected_total_kg: float
    """Mean total, when there is one."""
    low_kg: float
    high_kg: float
    chance_of_total: float
    planned_total_kg: float
    """Both second attempts good, after good openers."""
    chance_of_planned: float
    """Chance of at least that."""
    chance_of_target: float | None


@dataclass(frozen=True, slots=True)
class WarmUpLoad:
    """One set in the warm-up room; the load is not yet in whole kilos."""

    load_kg: float
    reps: int


@dataclass(frozen=True, slots=True)
class WarmUp:
    """Sets on the way to one opener; the empty bar comes first."""

    lift: MainLift
    opener_kg: int
    bar_kg: float
    sets: tuple[WarmUpLoad, ...]


@dataclass(frozen=True, slots=True)
class MeetDay:
    """One meet ahead."""

    on: date
    called: str
    target_total_kg: float | None
    junior: bool
    """Under 18 on the profile's day or the meet's: one careful plan, no chances of loads."""
    avoided: bool
    """Snatch, clean or jerk, or what is much alike, is to be avoided: no plan."""
    chances: tuple[LoadChance, ...]
    plans: tuple[MeetPlan, ...]
    """None where a lift is to be avoided, or where nothing is known of the lifter."""
    warm_up: tuple[WarmUp, ...]
    """To the openers of the first plan."""
    opener_rule_kg: float
    """The openers together may lie at most this far under the entry total."""
    lightest_bar_kg: int
    """The lightest load there is on the platform: bar and collars."""
    too_light: tuple[MainLift, ...] = ()
    """Lifts in which that is more than may be planned: no plan."""


@dataclass(frozen=True, slots=True)
class WhatIf:
    """The posterior as a linear map, for the sliders of the page; see engine/what_if.py.

    Columns are the six qualities (standard deviations), then `lifts` (log kg).
    """

    lifts: tuple[str, ...]
    mean: tuple[float, ...]
    sd: tuple[float, ...]
    gain: tuple[tuple[float, ...], ...]
    """By lift: how every column moves when that lift moves by 1."""
    loadings: tuple[tuple[float, ...], ...]
    """By lift: how it moves with each quality."""
    draws: tuple[tuple[float, ...], ...]
    total_kg: float
    chances: tuple[float, ...]
    """Of the six qualities, and of even, today."""
    min_kilos_share: float


@dataclass(frozen=True, slots=True)
class Scaled:
    """A total scaled for body mass by a published formula."""

    formula: str
    """Name with cycle, e.g. "Sinclair 2017-2020"."""
    score: float
    low: float
    high: float
    source: str
    in_range: bool


@dataclass(frozen=True, slots=True)
class Diagnostics:
    """How the computation went; shown to the coach, never hidden."""

    iterations: int
    converged: bool
    rows_written: int
    rows_used: int
    largest_change: float
    """Largest change of a posterior mean in the last iteration, in log units."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """Which quality limits (or "even") and how sure that is."""

    limiter: Limiter
    chance: float
    confidence: Confidence
    kilos: float
    second: Limiter | None
    second_chance: float
    known: Known
    """Without "enough" the rest of this is what is usual, not what was found."""


@dataclass(frozen=True, slots=True)
class Person:
    """Who the profile is about."""

    id: str
    name: str
    sex: Literal["F", "M"]
    age: int | None
    """Completed years; None where a public copy does not tell."""
    body_mass_kg: float | None
    """Latest measured; None when nobody weighed the lifter (then the norm was used)."""
    group: str | None
    junior: bool
    """Under 18 on the profile's day."""


@dataclass(frozen=True, slots=True)
class Profile:
    """Everything computed about one lifter on one day."""

    athlete: Person
    on: date
    lifts: Mapping[str, LiftEstimate]
    """Catalogue lifts (club's own included) in order from fast to slow, then
    clean_and_jerk and total."""
    ratios: tuple[RatioReading, ...]
    qualities: Mapping[Quality, QualityReading]
    chance_even: float
    verdict: Verdict
    evidence: tuple[EvidenceReading, ...]
    tracks: Mapping[str, Track]
    assumptions: tuple[Assumption, ...]
    warnings: tuple[Assumption, ...]
    scaled: tuple[Scaled, ...]
    diagnostics: Diagnostics
    pointers: tuple[Pointer, ...] = ()
    change: Change | None = None
    next_tests: NextTests | None = None
    replies: tuple[Reply, ...] = ()
    """Answers to the questions of the lifter's file, in their order."""
    company: Company | None = None
    """None where the club keeps no list of rivals, or none of this sex."""
    marks: tuple[MarkReading, ...] = ()
    meets: tuple[MeetDay, ...] = ()
    what_if: WhatIf | None = None
    not_proposed: tuple[str, ...] = ()
    """Lifts to avoid and all that is much alike (engine/avoided.py): no text proposes them."""
