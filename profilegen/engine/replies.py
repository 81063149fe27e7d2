"""Values that answer a coach's questions and set a lifter beside others: parts of a Profile.

Log differences are natural logs (0.05 is about 5 %), loads kilograms, intervals central
90 % intervals, chances 0-1. Nothing here is rounded.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from profilegen.norms.catalogue import Quality

Yardstick = Literal["norm", "field", "squad"]
"""What a lift is compared with: what is usual for this sex and body mass, the mean of the
rivals, or the mean of the squad, each moved to this lifter's body mass."""

Cause = Quality | Literal["level", "own", "build"]
"""A part of a lift's difference: overall strength, one quality, something peculiar to this
lifter in this lift, or the stated proportions."""

Held = Quality | Literal["own"]
Where = Literal["below", "usual", "above", "unclear"]
ClaimVerdict = Literal["supported", "leaning", "either", "doubtful", "contradicted"]
"""Chance of the claim at least .75, .55, .45, .25, or less: 8, 6, 5, 3 chances in ten, rounded as
they are shown, so that one chance is never given two answers."""

Scope = Literal["class", "near", "sex"]
"""Which rivals: the lifter's own class; all within 10 % of the body mass; all of the sex."""


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a difference. The parts' `log` add up to the whole, and so do `kilos`."""

    cause: Cause
    log: float
    low: float
    high: float
    kilos: float
    kilos_low: float
    kilos_high: float


@dataclass(frozen=True, slots=True)
class Split:
    """A lift minus what is usual, split without remainder."""

    against: Yardstick
    lift: str
    others: int
    """How many lifters the yardstick is the mean of; 0 for the norm."""
    actual_kg: float
    usual_kg: float
    difference: float
    """log(actual / usual)."""
    low: float
    high: float
    parts: tuple[Part, ...]
    """Level, the six qualities, own, and build where proportions are stated."""


@dataclass(frozen=True, slots=True)
class Standing:
    """How far a lift is from a yardstick, log units."""

    against: Yardstick
    difference: float
    low: float
    high: float
    where: Where


@dataclass(frozen=True, slots=True)
class ParentReading:
    """A lift as a share of the lift it derives from, and where that one stands."""

    parent: str
    value: float
    low: float
    high: float
    usual: float
    usual_low: float
    usual_high: float
    reading: Where
    standings: tuple[Standing, ...]
    """Where the parent stands, one per split."""


@dataclass(frozen=True, slots=True)
class WhyReply:
    """Why a lift is as good, or as poor, as it is."""

    lift: str
    through: str | None
    """For a clean and jerk: the part that stops it, which was split in its place."""
    chance_through: float
    splits: tuple[Split, ...]
    """Against the norm, then against the field and the squad where there is one."""
    parent: ParentReading
    field_size: int
    field_under: int
    """Rivals whose best snatch or clean and jerk is no more than this lift."""
    tried: bool = True
    """False: no row is of this lift, so it is all worked out from the others."""
    kind: Literal["why"] = "why"


@dataclass(frozen=True, slots=True)
class HeldBy:
    """Kilos the lift would gain if one part stood where it usually stands.

    A quality: where the lifter's other five stand. Own: this lift's peculiarity at zero.
    """

    part: Held
    kilos: float
    low: float
    high: float
    chance: float
    """Chance that this part has the most kilos, and more than `min_kilos_share`."""


@dataclass(frozen=True, slots=True)
class HoldsReply:
    """What stops a lift."""

    lift: str
    estimate_kg: float
    held: tuple[HeldBy, ...]
    """Every quality the lift draws on, and own where it was tried; most kilos first."""
    chance_even: float
    stops: Literal["clean", "jerk"] | None
    """For a clean and jerk: the part that is likelier the smaller one."""
    chance_stops: float
    tried: bool = True
    """False: no row is of this lift; what is peculiar to it is not known and not in `held`."""
    kind: Literal["holds"] = "holds"


@dataclass(frozen=True, slots=True)
class Without:
    """The chance of a claim with one lift's evidence left out."""

    lift: str
    chance: float


@dataclass(frozen=True, slots=True)
class Turning:
    """The least surprising worth of one lift that would bring a claim to an even chance."""

    lift: str
    load_kg: float
    expected_kg: float
    chance: float
    """Chance that a test would come out there or further away."""


@dataclass(frozen=True, slots=True)
class ClaimReply:
    """Whether a hypothesis about a quality is supported."""

    quality: Quality
    direction: Literal["high", "low"]
    threshold: float
    """Standard deviations from usual beyond which a quality counts as high or low."""
    chance: float
    chance_near: float
    chance_opposite: float
    verdict: ClaimVerdict
    without: tuple[Without, ...]
    """Lifts whose evidence moves the chance most, most first."""
    turning: Turning | None
    """None when no plausible result of one lift would turn it."""
    learnt: bool = True
    """False: the evidence moved no chance by a twentieth; this is true of anyone."""
    kind: Literal["claim"] = "claim"


Reply: TypeAlias = WhyReply | HoldsReply | ClaimReply


@dataclass(frozen=True, slots=True)
class Match:
    """How many rivals could match one lift of this lifter today."""

    lift: str
    expected: float
    low: int
    high: int


@dataclass(frozen=True, slots=True)
class Company:
    """The lifter beside the field, from fast and light to slow and heavy."""

    scope: Scope
    category: str | None
    """The field's own name of the class, for scope "class"."""
    rivals: int
    matches: tuple[Match, ...]


@dataclass(frozen=True, slots=True)
class MarkReading:
    """One lift beside a record or standard of the lifter's class."""

    called: str
    up_to_kg: float | None
    lift: str
    mark_kg: float
    share: float
    """Estimate over mark."""
    low: float
    high: float
    chance: float
    """Chance that the lift is worth the mark today."""
