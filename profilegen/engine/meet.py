"""The next meet: the chance of every load on the day, and six attempts.

A good lift with load x happens when the capacity of the day carries it and nothing else goes
wrong,

    P(good | g) = (1 - beta) Phi((g - log x) / e),      g = c(day) + form + platform + u,

with c the lift's capacity on the meet's day, the form all lifts of the day share, what the
platform adds to this lifter, u ~ N(0, u_sd^2) of that lift that day, e the edge between a good
lift and a miss, and beta the rate of misses that are not about capacity (once for a clean and
jerk). u_sd^2 + e^2 is the constant meet_single_sd squared. For the clean and jerk g is the
lesser of clean and jerk, whose edges blur independently (Clark 1961).

Snatch and clean and jerk are carried together on a grid, so that a good opener says what it
says about the rest of the day; `attempts` chooses from there. Three aims:

    expected  the highest expected total, no total counting 0
    target    the highest chance of the target total, then the expected total
    safe      the highest chance of any total, then the expected total

An opener is likelier good than not by a margin, and nothing above what was made lately; the bar
rises in steps that are usual. A target that is out of reach has no plan. beta fades with how
light the load is.

Under 18 there is one plan, the safe one, with loads well under what to expect, small steps,
and the same load again after a miss. A lift to avoid, or a part of one, means no plan; so does
a platform whose lightest bar is more than may be planned in one of the lifts (`too_light`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from functools import partial
from math import ceil
from typing import Literal

import numpy as np
from scipy.special import ndtr

from profilegen.engine.arrays import Floats, Ints
from profilegen.engine.attempt_search import Reward, choose
from profilegen.engine.attempts import Choice, Day, LiftDay, outcome_of
from profilegen.engine.posterior import Posterior
from profilegen.engine.profile import (
    Aim,
    LiftAttempts,
    LoadChance,
    MainLift,
    MeetDay,
    MeetPlan,
    WarmUp,
    WarmUpLoad,
)
from profilegen.engine.sites import minimum_of_two
from profilegen.history.records import Athlete, PlannedMeet

GRID = 24
"""Points of each lift's capacity grid."""
_DRAWS = 512
"""With this grid enough to say the chance of a load to 0.0025."""
MOST_MEETS = 3
"""Meets ahead that are worked out; what comes later will look different by then."""
_LIFTS = ("snatch", "clean", "jerk")
CJ: Literal["clean_and_jerk"] = "clean_and_jerk"
_REACH = 4.2
"""Half width of a capacity grid in standard deviations: after two misses the far tail speaks."""
_RANGE = 0.9
_LIGHTEST_REACH, _HEAVIEST_REACH = 3.0, 2.3
"""Loads in question, in standard deviations under and over the middle of the day."""
_LIGHTEST_SHARE = 0.5
"""What was made lately counts as an opener down to this share of the middle of the day."""
_TARGET_REST = 1e-4
"""Under "target" a kilo of expected total counts as this much chance: it only breaks ties."""
_SAFE_TOTALS = 20.0
"""Under "safe" a whole total of expectation counts as a twentieth of a chance."""


def meets_ahead(posterior: Posterior, athlete: Athlete) -> tuple[MeetDay, ...]:
    """The lifter's next meets, soonest first, each with its plans."""
    ahead = sorted((m for m in athlete.meets if m.on >= posterior.on), key=lambda m: m.on)
    return tuple(meet_day(posterior, athlete, meet) for meet in ahead[:MOST_MEETS])


def meet_day(posterior: Posterior, athlete: Athlete, meet: PlannedMeet) -> MeetDay:
    """One meet: chances of loads, plans, warm-ups."""
    shunned = {avoid.lift for avoid in athlete.avoid} & {*_LIFTS, CJ}
    junior = athlete.age_on(meet.on) < posterior.norms.constant("junior_until")
    junior = junior or athlete.age_on(posterior.on) < posterior.norms.constant("junior_until")
    rule = posterior.norms.constant("opener_rule_kg")
    target = None if junior else meet.target_total_kg
    c = posterior.norms.constant
    least = ceil(c(f"bar_kg_{athlete.sex}") + c("collars_kg"))
    no_plan = MeetDay(meet.on, meet.called, target, junior, False, (), (), (), rule, least)
    if shunned:
        return replace(no_plan, avoided=True)
    lifts = capacities(posterior, meet)
    cap = c("junior_attempt_share") if junior else None
    light = too_light(lifts, least, cap)
    if light:
        return replace(no_plan, too_light=light)
    grids = (_Grid.of(lifts[0]), _Grid.of(lifts[1]))
    made = [_made_lately(posterior, name) for name in ("snatch", CJ)]
    days = [
        _lift_day(grid, lift, least, cap, posterior, best)
        for grid, lift, best in zip(grids, lifts, made, strict=True)
    ]
    belief = _belief(grids, lifts)
    chance = c("opener_least_chance")
    day = Day(
        _openers(days[0], belief.sum(axis=1), chance, made[0]),
        _openers(days[1], belief.sum(axis=0), chance, made[1]),
        belief,
    )
    aims: tuple[Aim, ...] = ("safe",) if junior else _aims(target)
    plans = _in_reach(plans_for(day, aims, target), c("least_target_chance"))
    return replace(
        no_plan,
        chances=() if junior else _chances(day),
        plans=plans,
        warm_up=_warm_ups(posterior, plans[0], athlete),
    )


def _aims(target: float | None) -> tuple[Aim, ...]:
    return ("expected", "safe") if target is None else ("expected", "target", "safe")


def _in_reach(plans: Sequence[MeetPlan], least: float) -> tuple[MeetPlan, ...]:
    """Without the plan for a target that hardly anything reaches."""
    return tuple(p for p in plans if p.aim != "target" or (p.chance_of_target or 0.0) >= least)


def _made_lately(posterior: Posterior, lift: str) -> float | None:
    """The heaviest made load of the lift of late, kg; None where nothing was made."""
    first = posterior.on - timedelta(days=int(posterior.norms.constant("opener_made_days")))
    made = [
        row.load_kg
        for row in posterior.rows
        if row.lift == lift and row.entry and row.kind != "missed" and row.on >= first
    ]
    return max(made, default=None)


def _openers(lift: LiftDay, belief: Floats, chance: float, made_kg: float | None) -> LiftDay:
    """With openers that a coach would choose from."""
    opens = lift.make @ belief >= chance
    if made_kg is not None:
        opens &= lift.loads <= made_kg
    return lift.opening_with(opens)


@dataclass(frozen=True, slots=True)
class LiftOnTheDay:
    """Draws of the capacity of one lift on the day, and how sharply it decides."""

    centre: Floats
    """log kg, day form and platform included, float[m]."""
    own_sd: float
    """Sd of what is peculiar to this lift that day."""
    edge: float
    fluke: float

    @property
    def middle(self) -> float:
        """Mean capacity, log kg."""
        return float(self.centre.mean())

    @property
    def sd(self) -> float:
        """Sd of the capacity of the day, log units."""
        return float(np.hypot(self.centre.std(), self.own_sd))


def capacities(posterior: Posterior, meet: PlannedMeet) -> tuple[LiftOnTheDay, LiftOnTheDay]:
    """Snatch and clean and jerk on the day of the meet, from joint draws."""
    norms, prior = posterior.norms, posterior.prior
    day = meet.on.toordinal()
    index = np.array([prior.lift_ids.index(lift) for lift in _LIFTS])
    n = len(_LIFTS)
    features = prior.lift_features(index, np.full(n, float(day)), np.full(n, day), meet=np.ones(n))
    snatch, clean, jerk = posterior.tailed(features).draws(_DRAWS).T
    edge = norms.constant("made_edge_sd")
    own_sd = float(np.sqrt(max(norms.constant("meet_single_sd") ** 2 - edge**2, 0.0)))
    blur = np.full(len(clean), edge**2)
    both, _ = minimum_of_two(clean, blur, jerk, blur, np.zeros(len(clean)))
    fluke = {lift: norms.lifts[lift].fluke_rate.value for lift in _LIFTS}
    return (
        LiftOnTheDay(snatch, own_sd, edge, fluke["snatch"]),
        LiftOnTheDay(both, own_sd, edge, fluke["jerk"]),
    )


def too_light(
    lifts: tuple[LiftOnTheDay, LiftOnTheDay], least_kg: float, cap: float | None
) -> tuple[MainLift, ...]:
    """The lifts in which the lightest bar of the platform is more than may be planned.

    Under 18 that is the cap, a share of what to expect on the day; for others what to expect
    itself: beyond it the lightest bar is sooner missed than made.
    """
    names: tuple[MainLift, ...] = ("snatch", CJ)
    share = 1.0 if cap is None else cap
    return tuple(
        name
        for name, lift in zip(names, lifts, strict=True)
        if share * np.exp(lift.middle) < least_kg
    )


@dataclass(frozen=True, slots=True)
class _Grid:
    """Equal cells of log capacity; the outer ones take the tails."""

    centre: Floats
    width: float

    @classmethod
    def of(cls, lift: LiftOnTheDay) -> _Grid:
        reach = _REACH * lift.sd
        width = 2.0 * reach / GRID
        centre = lift.middle - reach + (np.arange(GRID) + 0.5) * width
        return cls(np.asarray(centre, dtype=np.float64), width)

    def mass(self, lift: LiftOnTheDay) -> Floats:
        """Chance of each cell given each draw, float[m, g]."""
        edges = self.centre[:-1] + 0.5 * self.width
        upto = ndtr((edges[None, :] - lift.centre[:, None]) / lift.own_sd)
        return np.diff(upto, axis=1, prepend=0.0, append=1.0)


def _belief(grids: tuple[_Grid, _Grid], lifts: tuple[LiftOnTheDay, LiftOnTheDay]) -> Floats:
    snatch, both = (grid.mass(lift) for grid, lift in zip(grids, lifts, strict=True))
    belief: Floats = snatch.T @ both
    return belief / len(snatch)


def _lift_day(
    grid: _Grid, lift: LiftOnTheDay, least_kg: int, cap: float | None, posterior: Posterior,
    made_kg: float | None,
) -> LiftDay:  # fmt: skip
    """The loads in question, down to what was made lately, and the chance of each for each
    capacity.

    There is at least one as long as the lift is not `too_light`.
    """
    c = posterior.norms.constant
    highest = np.exp(lift.middle + _HEAVIEST_REACH * lift.sd)
    if cap is not None:
        highest = np.exp(lift.middle) * cap
    lowest = np.exp(lift.middle - _LIGHTEST_REACH * lift.sd)
    known = max(made_kg or np.inf, np.exp(lift.middle) * _LIGHTEST_SHARE)
    low = max(int(np.floor(min(lowest, highest, known))), least_kg)
    loads: Ints = np.arange(low, int(np.floor(highest)) + 1)
    # a cell's capacities lie spread over its width: that blurs the edge a little more
    edge = np.sqrt(lift.edge**2 + grid.width**2 / 12.0)
    over = grid.centre[None, :] - np.log(loads)[:, None]
    fluke = lift.fluke * np.exp(-np.maximum(over, 0.0) / c("fluke_fades_log"))
    make = (1.0 - fluke) * ndtr(over / edge)
    if cap is None:
        return LiftDay.of(loads, make, most_step=c("attempt_step"))
    return LiftDay.of(loads, make, most_step=c("junior_attempt_step"), repeat_only=True)


def _chances(day: Day) -> tuple[LoadChance, ...]:
    """The chance of every load in question before anything is lifted."""
    snatch = day.snatch.make @ day.belief.sum(axis=1)
    both = day.clean_and_jerk.make @ day.belief.sum(axis=0)
    return (
        *map(partial(LoadChance, "snatch"), day.snatch.loads.tolist(), snatch.tolist()),
        *map(partial(LoadChance, CJ), day.clean_and_jerk.loads.tolist(), both.tolist()),
    )


def reward_for(aim: Aim, day: Day, target_kg: float | None) -> Reward:
    """What totals are worth under an aim."""
    if aim == "target" and target_kg is not None:
        return lambda total: (total >= target_kg) + _TARGET_REST * total
    if aim == "safe":
        usual = float(np.median(day.snatch.loads) + np.median(day.clean_and_jerk.loads))
        return lambda total: 1.0 + total / (_SAFE_TOTALS * usual)
    return lambda total: total


def plans_for(day: Day, aims: Sequence[Aim], target_kg: float | None) -> tuple[MeetPlan, ...]:
    """Six attempts for each aim, and what they lead to."""
    choices = choose(day, [reward_for(aim, day, target_kg) for aim in aims])
    return tuple(_plan(day, *one, target_kg) for one in zip(aims, choices, strict=True))


def _plan(day: Day, aim: Aim, choice: Choice, target_kg: float | None) -> MeetPlan:
    outcome = outcome_of(day, choice)
    totals = np.array([t for t in outcome.totals if t], dtype=float)
    chance = np.array([p for t, p in outcome.totals.items() if t])
    some = float(chance.sum())
    low, high = _shortest(totals, chance / some)
    planned = _planned_total(choice)
    results = sorted(
        (s for s in choice.clean_and_jerk), key=lambda s: (-outcome.snatch.get(s, 0.0), s)
    )
    return MeetPlan(
        aim=aim,
        snatch=LiftAttempts("snatch", None, 1.0, choice.snatch.loads, outcome.snatch_made),
        clean_and_jerk=tuple(
            LiftAttempts(
                CJ,
                s,
                outcome.snatch[s],
                choice.clean_and_jerk[s].loads,
                outcome.clean_and_jerk_made[s],
            )
            for s in results
        ),
        expected_total_kg=float(totals @ chance) / some,
        low_kg=low,
        high_kg=high,
        chance_of_total=some,
        planned_total_kg=planned,
        chance_of_planned=outcome.chance_of(planned),
        chance_of_target=None if target_kg is None else outcome.chance_of(target_kg),
    )


def _shortest(totals: Floats, chance: Floats) -> tuple[float, float]:
    """The shortest range of totals that holds at least nine tenths of the chances."""
    before = np.concatenate(([0.0], np.cumsum(chance)))
    ranges = []
    for i, low in enumerate(totals.tolist()):
        j = int(np.searchsorted(before, before[i] + _RANGE - 1e-12))
        if j < len(before):
            ranges.append((float(totals[j - 1]) - low, low, float(totals[j - 1])))
    _, low, high = min(ranges)
    return low, high


def _planned_total(choice: Choice) -> float:
    """The total when both second attempts are good after good openers (or the openers')."""
    snatch = _second(choice.snatch.loads)
    return float(snatch + _second(choice.clean_and_jerk[snatch].loads))


def _second(loads: Sequence[int | None]) -> int:
    first, second = loads[0], loads[1]
    if first is None:
        raise ValueError("a plan without an opener")
    return first if second is None else second


def _warm_ups(posterior: Posterior, plan: MeetPlan, athlete: Athlete) -> tuple[WarmUp, ...]:
    """Sets on the way to a plan's openers: the likeliest clean and jerk opener counts."""
    bar_kg = posterior.norms.constant(f"bar_kg_{athlete.sex}")
    found = []
    for attempts in (plan.snatch, plan.clean_and_jerk[0]):
        opener = attempts.loads_kg[0]
        if opener is None:
            continue
        sets = (WarmUpLoad(one.share.value * opener, one.reps) for one in posterior.norms.warm_up)
        heavier = tuple(one for one in sets if one.load_kg >= bar_kg + 1.0)
        found.append(WarmUp(attempts.lift, opener, bar_kg, heavier))
    return tuple(found)
