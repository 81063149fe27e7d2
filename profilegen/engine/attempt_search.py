"""The best six attempts, by dynamic programming.

What is not known is the day's capacity, so attempts hang together: a good opener says that
it is a good day. Let g be the capacity of the day for one lift on a grid of G values,
make[x, g] the chance of a good lift with load x, and V(x, g) what it is worth to end with
best load x (with the belief about g in it). A lift's three attempts are then a tree of seven
loads, found backwards exactly: what came before enters through its likelihood

    L(g) = prod over attempts of make or (1 - make),
    third attempt:  max over x3 of  sum_g L(g) [make(x3, g) V(x3, g) + (1 - make) V(best, g)].

The two lifts meet in the total. The clean and jerk may be planned by the snatch result s, and
V(s, g) is that plan's payoff carried over by the joint belief. Plans and snatch are found in
turns: the best snatch for the plans; then, for each result it may end with, the best plan for
the belief left by all the ways that lead there; until nothing gains. Each turn is exact and
none loses, and starting from the belief that each result alone would leave, tests find no
better choice by trying all of them.

Many loads are narrowed: first every fourth kilo or so is tried, then at each node of each tree
the loads two steps around the last choice, the step being halved down to single kilos.

Shapes: A aims, b trees, n loads and "no attempt" as the last, w loads to choose from at a
node. Trees are int[..., 7], indices of loads in the order of HISTORIES.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from profilegen.engine.arrays import Bools, Floats, Ints
from profilegen.engine.attempts import (
    HISTORIES,
    LAST_GOOD,
    Choice,
    Day,
    LiftDay,
    Tree,
    followed,
)

Reward = Callable[[Floats], Floats]
"""What totals (kg, above 0) are worth; no total is worth 0. Never falls with the total."""

_ROUNDS = 8
_COARSE = 10
"""Loads to start with on the way to single kilos."""
_NEAR = np.arange(-2, 3)
"""Steps around a load that are tried next."""
_GAIN = 1e-12
"""Share of the value that counts as no gain."""
_BEFORE = np.array([0, 0, 0, 1, 1, 2, 2])
"""The node that leads to each node."""
_SECOND_AFTER = np.array([0, 1])[:, None, None]
_THIRD_AFTER = np.array([0, 1, 0, 1])[:, None, None]
"""Whether a good lift (0) or a miss (1) leads to each second and third attempt."""


def choose(day: Day, rewards: Sequence[Reward]) -> list[Choice]:
    """The attempts with the highest expected reward, for each reward."""
    most = max(len(day.snatch.loads), len(day.clean_and_jerk.loads))
    step = 1
    while most > _COARSE * step:
        step *= 2
    search = _Search.of(day, rewards)
    spot = search.start(step)
    while step > 1:
        step //= 2
        spot = search.closer(spot, step)
    return search.settled(spot)


def choose_among_all(day: Day, rewards: Sequence[Reward]) -> list[Choice]:
    """The same by trying every load at every node."""
    search = _Search.of(day, rewards)
    return search.settled(search.start(1))


@dataclass(frozen=True, slots=True)
class _Spot:
    """Where the search stands."""

    step: int
    whole: bool
    """Whether every load at this step is open at every node, not only those near the trees."""
    snatch: Ints
    """int[A, 7]."""
    plans: Ints
    """The clean and jerk after each snatch result, int[A, n, 7]."""
    solved: Bools
    """Whether that was found at this step, bool[A, n]."""

    def filled(self) -> _Spot:
        """With the plans of the next lighter results (or the first) where none were found."""
        aims, n = self.solved.shape
        lighter = np.maximum.accumulate(np.where(self.solved, np.arange(n), -1), axis=1)
        nearest = np.where(lighter < 0, self.solved.argmax(axis=1)[:, None], lighter)
        return replace(self, plans=self.plans[np.arange(aims)[:, None], nearest])


@dataclass(frozen=True, slots=True)
class _Search:
    """A day with its rewards, "no attempt" added to the loads."""

    day: Day
    snatch: LiftDay
    jerk: LiftDay
    worth: Floats
    """Reward of each snatch result with each clean and jerk, float[A, n, x]."""

    @classmethod
    def of(cls, day: Day, rewards: Sequence[Reward]) -> _Search:
        n, m = len(day.snatch.loads), len(day.clean_and_jerk.loads)
        totals = (day.snatch.loads[:, None] + day.clean_and_jerk.loads).astype(np.float64)
        worth = np.zeros((len(rewards), n, m + 1))
        worth[:, :, :m] = [reward(totals) for reward in rewards]
        return cls(day, _with_pass(day.snatch), _with_pass(day.clean_and_jerk), worth)

    def start(self, step: int) -> _Spot:
        """Try every load at this step."""
        aims, n, _ = self.worth.shape
        nowhere = np.zeros((aims, len(HISTORIES)), dtype=np.int64)
        blank = np.zeros((aims, n, len(HISTORIES)), dtype=np.int64)
        return self._moved(_Spot(step, True, nowhere, blank, np.zeros((aims, n), dtype=bool)))

    def closer(self, spot: _Spot, step: int) -> _Spot:
        """Try the loads a smaller step around what was chosen."""
        nothing = np.zeros_like(spot.solved)
        return self._moved(replace(spot, step=step, whole=False, solved=nothing))

    def settled(self, spot: _Spot) -> list[Choice]:
        """Snatch and plans in turns, for the beliefs that the snatch leaves, until none gains."""
        aims = len(self.worth)
        best = np.full(aims, -np.inf)
        choices = [Choice(Tree(()), {})] * aims
        for _ in range(_ROUNDS):
            aim, ended, left = self._endings(spot.snatch)
            spot = self._planned(spot, aim, ended, left)
            trees = spot.plans[aim, ended]
            paid = (_payoffs(self.jerk, trees, self.worth[aim, ended]) * left).sum(axis=1)
            value = np.bincount(aim, paid, minlength=aims)
            gained = value > best + _GAIN * np.abs(value)
            if not gained.any():
                break
            for a in np.flatnonzero(gained).tolist():
                own = aim == a
                choices[a] = self._choice(spot.snatch[a], ended[own], trees[own])
            best = np.maximum(best, value)
            spot = self._moved(spot)
        return choices

    def _moved(self, spot: _Spot) -> _Spot:
        """The best snatches for the plans; results that were not in question before get one."""
        aims, n, _ = self.worth.shape
        open_ = self._open(self.snatch, spot, spot.snatch)
        each = np.arange(aims)[:, None, None]
        ending = np.zeros((aims, n + 1), dtype=bool)
        ending[each, open_] = True
        aim, ended = np.nonzero(ending[:, :n])
        new = ~spot.solved[aim, ended]
        if new.any():
            alone = self.day.snatch.make[ended[new]] @ self.day.belief
            spot = self._planned(spot, aim[new], ended[new], alone)
        payoff = _payoffs(self.jerk, spot.plans[aim, ended], self.worth[aim, ended])
        carried = np.zeros((aims, n + 1, len(self.day.belief)))
        carried[aim, ended] = payoff @ self.day.belief.T
        return replace(spot.filled(), snatch=_trees(self.snatch, open_, carried[each, open_]))

    def _planned(self, spot: _Spot, aim: Ints, ended: Ints, left: Floats) -> _Spot:
        """With the best clean and jerks after snatch results and for beliefs float[b, g]."""
        open_ = self._open(self.jerk, spot, spot.plans[aim, ended])
        reward = self.worth[aim[:, None, None], ended[:, None, None], open_]
        plans, solved = spot.plans.copy(), spot.solved.copy()
        plans[aim, ended] = _trees(self.jerk, open_, reward[..., None] * left[:, None, None, :])
        solved[aim, ended] = True
        return replace(spot, plans=plans, solved=solved)

    def _open(self, lift: LiftDay, spot: _Spot, trees: Ints) -> Ints:
        """The loads to choose from at each node, "no attempt" last, int[b, 7, w]."""
        passed = len(lift.loads) - 1
        if spot.whole:
            loads = np.append(np.arange(0, passed, spot.step), passed)
            return np.broadcast_to(loads, (*trees.shape, len(loads)))
        # no attempt may only mean that the next load was a step too far
        centre = np.where(trees == passed, trees[:, _BEFORE] + 1, trees)
        near = np.clip(centre[..., None] + spot.step * _NEAR, 0, passed - 1)
        return np.concatenate((near, np.full((*trees.shape, 1), passed)), axis=2)

    def _endings(self, snatch: Ints) -> tuple[Ints, Ints, Floats]:
        """Every result the snatches may end with: aim, result int[b], belief left float[b, g]."""
        aims, n, _ = self.worth.shape
        chance, best = _ways(self.snatch, snatch)
        ends = (best >= 0) & (best < n)
        aim = np.broadcast_to(np.arange(aims)[:, None], best.shape)[ends]
        keys, which = np.unique(aim * n + best[ends], return_inverse=True)
        likelihood = np.zeros((len(keys), chance.shape[2]))
        np.add.at(likelihood, which, chance[ends])
        return keys // n, keys % n, likelihood @ self.day.belief

    def _choice(self, snatch: Ints, ended: Ints, plans: Ints) -> Choice:
        """As loads."""
        loads = self.day.snatch.loads[ended].tolist()
        trees = {s: _as_tree(self.jerk, plan) for s, plan in zip(loads, plans, strict=True)}
        return Choice(_as_tree(self.snatch, snatch), trees)


def _with_pass(lift: LiftDay) -> LiftDay:
    """The day with one more "load", last: no attempt, never good, nothing after it."""
    n = len(lift.loads)

    def widened(allowed: Bools) -> Bools:
        wide = np.zeros((n + 1, n + 1), dtype=bool)
        wide[:n, :n] = allowed
        wide[:, n] = True
        return wide

    return LiftDay(
        np.append(lift.loads, 0),
        np.vstack((lift.make, np.zeros_like(lift.make[:1]))),
        widened(lift.after_made),
        widened(lift.after_miss),
        np.append(lift.opens, True),
    )


def _trees(lift: LiftDay, open_: Ints, ended: Floats) -> Ints:
    """The best trees int[b, 7] of the loads open at each node, int[b, 7, w].

    ended float[b, 7, w, g]: what ending with each of them as the best load is worth, belief
    included; ending without a good lift is worth nothing. Ties go to the lighter bar.
    """
    b, _, w, g = ended.shape
    good = lift.make[open_]
    miss = 1.0 - good
    # the four thirds at once, in the order ++, +-, -+, --: what two attempts leave, then that
    # times what is kept if the third is missed, which hangs on one of the two alone
    first, second = np.empty((b, 4, w, 2 * g)), np.empty((b, 4, w, 2 * g))
    first[:, :2, :, :g], first[:, 2:, :, :g] = good[:, :1], miss[:, :1]
    second[:, ::2, :, :g], second[:, 1::2, :, :g] = good[:, 1:3], miss[:, 1:3]
    first[..., g:], second[..., g:] = first[..., :g], second[..., :g]
    second[:, ::2, :, g:] *= ended[:, 1:3]
    first[:, 1, :, g:] *= ended[:, 0]
    first[:, 3, :, g:] = 0.0
    before = (first[:, :, :, None, :] * second[:, :, None, :, :]).reshape(b, 4, w * w, 2 * g)
    last = np.concatenate((good[:, 3:] * ended[:, 3:], miss[:, 3:]), axis=3)
    value = (last @ before.swapaxes(2, 3)).reshape(b, 4, w, w, w)

    # rows: after a good lift, after a miss
    allowed = np.stack((lift.after_made, lift.after_miss))
    seconds = open_[:, [1, 1, 2, 2], None, :]
    may_follow = allowed[_THIRD_AFTER, seconds, open_[:, 3:, :, None]]
    value = np.where(may_follow[:, :, :, None], value, -np.inf)
    third, value = value.argmax(axis=2), value.max(axis=2)
    both = value[:, ::2] + value[:, 1::2]
    may_follow = allowed[_SECOND_AFTER, open_[:, :1, :, None], open_[:, 1:3, None, :]]
    both = np.where(may_follow, both, -np.inf)
    total = np.where(lift.opens[open_[:, 0]], both.max(axis=3).sum(axis=1), -np.inf)
    case = np.arange(b)[:, None]
    one = total.argmax(axis=1)[:, None]
    two = both.argmax(axis=3)[case, [0, 1], one]
    three = third[case, np.arange(4), one, two[:, [0, 0, 1, 1]]]
    chosen = np.concatenate((one, two, three), axis=1)
    trees: Ints = open_[case, np.arange(len(HISTORIES)), chosen]
    return trees


def _ways(lift: LiftDay, trees: Ints) -> tuple[Floats, Ints]:
    """Likelihood float[b, 8, g] of every way through each tree, and its best load (-1: none)."""
    best = np.full((len(trees), len(LAST_GOOD)), -1)
    best[:, :-1] = trees[:, LAST_GOOD[:-1]]
    return followed(lift.make[trees])[1], best


def _payoffs(lift: LiftDay, trees: Ints, worth: Floats) -> Floats:
    """Expected worth[b, x] of each tree for each capacity, float[b, g]."""
    chance, best = _ways(lift, trees)
    paid = np.take_along_axis(worth, best[:, :-1], axis=1)
    return np.asarray((paid[:, None] @ chance[:, :-1])[:, 0], dtype=np.float64)


def _as_tree(lift: LiftDay, tree: Ints) -> Tree:
    passed = len(lift.loads) - 1
    return Tree(tuple(None if x == passed else int(lift.loads[x]) for x in tree.tolist()))
