"""The verdict: what limits, how sure that is, and whether enough is known to say anything.

A chance alone does not make a finding. Before any evidence six chances in ten say that
nothing in particular limits, because most lifters are even: a lifter nobody knows would
"most likely have an even profile". So two things are asked of the evidence first.

1. Enough lifts. What limits is a comparison of lifts, and two are compared with each other
   only: a snatch that is low for the clean may be a poor snatch or a good clean. So at least
   LEAST_LIFTS lifts need a row of late (`recent_days`) that says about how much they are
   (`TELLING_KINDS`; a made set only says "at least"). Lifts much alike (norms/alike.yaml)
   count once, for they do not tell one quality from another, and so does a clean and jerk
   beside its halves. One lift, or three kinds of squat, says how strong the lifter is, not
   where.
2. For an even profile, more than is true of anyone: its chance must have risen by EVEN_RISE
   over what it is before any evidence, so that the page says seven in ten where it would say
   six of somebody nobody knows. A named quality needs no such rule: none starts above one in
   ten.

Without the first nothing is known, or too little, and without either the answer is open.
"""

from __future__ import annotations

from collections.abc import Mapping
from collections.abc import Set as AbstractSet

from profilegen.engine.evidence import CLEAN_AND_JERK, PARTS
from profilegen.engine.inference import fit_rows
from profilegen.engine.limits import Limits, limits_on
from profilegen.engine.posterior import Posterior
from profilegen.engine.profile import TOTAL, Basis, Confidence, Known, Verdict
from profilegen.norms.alike import Alike

TELLING_KINDS = frozenset(
    {"max", "reps", "looked", "share", "speed", "told", "seen", "recorded", "missed"}
)
"""Rows that say about how much a lift is, and not only "at least"."""
HEARSAY = frozenset({"told", "seen"})
LEAST_LIFTS = 3
EVEN_RISE = 0.05
"""Half a step of the chances in ten that the pages speak in."""
_CONFIDENCE: tuple[tuple[float, Confidence], ...] = (
    (0.8, "clear"),
    (0.6, "likely"),
    (0.4, "leaning"),
    (0.0, "open"),
)


def verdict_of(
    posterior: Posterior,
    limits: Limits,
    bases: Mapping[str, Basis],
    parents: Mapping[str, str],
) -> Verdict:
    """Which quality limits, and how sure that is.

    bases: how each lift is known; parents: see `avoided.parents_of`.
    """
    (first, chance), (second, second_chance), *_ = limits.ranked()
    known = known_enough(posterior, bases, parents)
    confidence = next(name for least, name in _CONFIDENCE if chance >= least)
    if known != "enough" or (
        first == "even" and confidence != "open" and chance < even_beforehand(posterior) + EVEN_RISE
    ):
        confidence = "open"
    return Verdict(
        limiter=first,
        chance=chance,
        confidence=confidence,
        kilos=0.0 if first == "even" else limits.kilos[first][0],
        second=second,
        second_chance=second_chance,
        known=known,
    )


def known_enough(
    posterior: Posterior, bases: Mapping[str, Basis], parents: Mapping[str, str]
) -> Known:
    """Whether there are rows at all, and whether enough lifts are told about."""
    if not posterior.rows:
        return "nothing"
    told = {lift for lift, basis in bases.items() if basis == "tested"}
    return "enough" if kinds(told, parents, posterior.norms.alike) >= LEAST_LIFTS else "little"


def kinds(lifts: AbstractSet[str], parents: Mapping[str, str], alike: Alike) -> int:
    """How many kinds of lift these are; a clean and jerk is one where neither half is there."""
    groups = alike.groups
    found = {groups[parents.get(lift, lift)] for lift in lifts - {CLEAN_AND_JERK, TOTAL}}
    whole = CLEAN_AND_JERK in lifts and not found & {groups[half] for half in PARTS}
    return len(found) + whole


def even_beforehand(posterior: Posterior) -> float:
    """The chance that nothing limits, of a lifter like this of whom nobody wrote anything."""
    return limits_on(fit_rows(posterior.prior, (), posterior.norms, posterior.on)).chance_even
