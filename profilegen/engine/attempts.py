"""Six attempts under the rules of the platform, chosen by dynamic programming.

The rules (weightlifting, since 2005): snatch first, then clean and jerk; three attempts
each; whole kilos; after a good lift the bar rises by at least 1 kg, after a miss it may stay
or rise; the best good lift of each counts; without one in both there is no total.

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
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from profilegen.engine.arrays import Bools, Floats, Ints

HISTORIES = ("", "+", "-", "++", "+-", "-+", "--")
"""What came before each of the seven loads of a tree: + made, - missed."""
_NODES = len(HISTORIES)
_ROUNDS = 8
_COARSE = 10
"""Loads to start with on the way to single kilos."""

Reward = Callable[[Floats], Floats]
"""What totals (kg, above 0) are worth; no total is worth 0. Never falls with the total."""


@dataclass(frozen=True, slots=True)
class LiftDay:
    """One lift on the day: loads that may be put on the bar and the chance of each."""

    loads: Ints
    """Whole kilos, ascending, int[x]."""
    make: Floats
    """Chance of a good lift with each load for each capacity, float[x, g]."""
    after_made: Bools
    """after_made[x, y]: y may follow a good x; bool[x, x]."""
    after_miss: Bools

    @classmethod
    def of(
        cls, loads: Ints, make: Floats, *, most_step: float = np.inf, repeat_only: bool = False
    ) -> LiftDay:
        """Under the rules; `most_step` (share of the bar) and `repeat_only` make it tamer."""
        step = loads[None, :] - loads[:, None]
        tame = step <= np.maximum(most_step * loads[:, None], 1.0)
        return cls(
            loads, make, (step >= 1) & tame, (step == 0) if repeat_only else (step >= 0) & tame
        )

    def only(self, index: Ints) -> LiftDay:
        """The same day with some of the loads."""
        both = np.ix_(index, index)
        return LiftDay(
            self.loads[index], self.make[index], self.after_made[both], self.after_miss[both]
        )


@dataclass(frozen=True, slots=True)
class Day:
    """Both lifts and what is believed about their capacities together."""

    snatch: LiftDay
    clean_and_jerk: LiftDay
    belief: Floats
    """Chance of each pair of capacities, float[g snatch, g clean and jerk], sums to 1."""


@dataclass(frozen=True, slots=True)
class Tree:
    """Loads of one lift by what came before, in the order of HISTORIES; None: no attempt."""

    loads: tuple[int | None, ...]

    def after(self, history: str) -> int | None:
        """The load after such a history."""
        return self.loads[HISTORIES.index(history)]


@dataclass(frozen=True, slots=True)
class Choice:
    """Six attempts: the snatch's tree and, for each snatch result, the clean and jerk's."""

    snatch: Tree
    clean_and_jerk: dict[int, Tree]


def choose(day: Day, reward: Reward) -> Choice:
    """The attempts with the highest expected reward.

    Many loads are narrowed first: every other (or third ...) load is tried, then single
    kilos around what that chose.
    """
    steps = [max(1, -(-len(lift.loads) // _COARSE)) for lift in (day.snatch, day.clean_and_jerk)]
    if max(steps) == 1:
        return choose_among_all(day, reward)
    index = [np.arange(0, len(lift.loads), step) for lift, step in _with(day, steps)]
    rough = choose_among_all(_narrowed(day, index), reward)
    used = (
        {load for load in rough.snatch.loads if load is not None},
        {x for tree in rough.clean_and_jerk.values() for x in tree.loads if x is not None},
    )
    near = []
    for (lift, step), loads in zip(_with(day, steps), used, strict=True):
        gap = np.abs(lift.loads[:, None] - np.array(sorted(loads))[None, :]).min(axis=1)
        near.append(np.flatnonzero(gap < max(step, 2)))
    return choose_among_all(_narrowed(day, near), reward)


def _with(day: Day, steps: list[int]) -> list[tuple[LiftDay, int]]:
    return list(zip((day.snatch, day.clean_and_jerk), steps, strict=True))


def _narrowed(day: Day, index: list[Ints]) -> Day:
    return Day(day.snatch.only(index[0]), day.clean_and_jerk.only(index[1]), day.belief)


def choose_among_all(day: Day, reward: Reward) -> Choice:
    """The attempts with the highest expected reward among all the day's loads."""
    search = _Search.of(day, reward)
    plans = search.for_beliefs(search.neutral, np.arange(search.n))
    best: tuple[float, Ints, dict[int, Ints]] = (-np.inf, plans[0], {})
    for _ in range(_ROUNDS):
        tree = search.snatch_tree(plans)
        ended, left = search.grouped(tree)
        plans[ended] = search.for_beliefs(left, ended)
        value = search.value(plans[ended], left, ended)
        if value <= best[0] + _GAIN * abs(value):
            break
        best = value, tree, dict(zip(ended.tolist(), plans[ended], strict=True))
    return search.choice(best[1], best[2])


_GAIN = 1e-12
"""Share of the value that counts as no gain."""


@dataclass(frozen=True, slots=True)
class _Search:
    """A day with its rewards, passes added; trees are int[7], beliefs float[g clean and jerk]."""

    day: Day
    snatch: LiftDay
    jerk: LiftDay
    worth: Floats
    """Reward of each snatch result with each clean and jerk, float[n, x]."""
    neutral: Floats
    """Belief about the clean and jerk after a good snatch with each load alone."""
    n: int

    @classmethod
    def of(cls, day: Day, reward: Reward) -> _Search:
        n, m = len(day.snatch.loads), len(day.clean_and_jerk.loads)
        totals = day.snatch.loads[:, None] + day.clean_and_jerk.loads[None, :]
        worth = np.zeros((n, m + 1))
        worth[:, :m] = reward(totals.astype(np.float64))
        return cls(
            day,
            _with_pass(day.snatch),
            _with_pass(day.clean_and_jerk),
            worth,
            day.snatch.make @ day.belief,
            n,
        )

    def for_beliefs(self, left: Floats, ended: Ints) -> Ints:
        """The best clean and jerk after each snatch result and belief, int[b, 7]."""
        return _trees(self.jerk, left[:, None, :] * self.worth[ended][:, :, None])[0]

    def snatch_tree(self, plans: Ints) -> Ints:
        """The best snatches when plans[s] int[n, 7] follows result s; int[7]."""
        payoff = _payoffs(self.jerk, plans, self.worth)
        carried = np.zeros((1, self.n + 1, len(self.day.belief)))
        carried[0, : self.n] = payoff @ self.day.belief.T
        tree: Ints = _trees(self.snatch, carried)[0][0]
        return tree

    def endings(self, tree: Ints) -> tuple[Ints, Floats]:
        """Every way the snatch may end well: result int[b], belief left float[b, g]."""
        leaves = _leaves(self.snatch, tree)
        chance = np.array([chance for _, chance in leaves])
        return np.array([s for s, _ in leaves]), chance @ self.day.belief

    def grouped(self, tree: Ints) -> tuple[Ints, Floats]:
        """The same by result: results ascending, beliefs added up."""
        ended, left = self.endings(tree)
        results, which = np.unique(ended, return_inverse=True)
        added = np.zeros((len(results), left.shape[1]))
        np.add.at(added, which, left)
        return results, added

    def value(self, plans: Ints, left: Floats, ended: Ints) -> float:
        """Expected reward of one plan for each result."""
        return float((_payoffs(self.jerk, plans, self.worth[ended]) * left).sum())

    def choice(self, tree: Ints, plans: dict[int, Ints]) -> Choice:
        """As loads."""
        loads = self.day.snatch.loads
        return Choice(
            _as_tree(self.snatch, tree),
            {int(loads[s]): _as_tree(self.jerk, plan) for s, plan in plans.items()},
        )


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
    )


def _trees(lift: LiftDay, ended: Floats) -> tuple[Ints, Floats]:
    """The best trees (indices of loads) int[b, 7] and their values float[b] for b cases.

    ended float[b, x, g]: what ending with best load x is worth, belief included; ending
    without a good lift is worth nothing. Ties go to the lighter bar.
    """
    make, miss = lift.make, 1.0 - lift.make
    b, n, g = ended.shape
    good = (make * ended).transpose(0, 2, 1)

    def third(first: Floats, second: Floats, kept: Floats | None, allowed: Bools) -> _Thirds:
        """Best third load int[b, x1, x2] and its value after likelihoods float[x, g] each.

        `kept` float[b, x1 or 1, x2 or 1, g] is what the best so far is worth.
        """
        before = first[:, None, :] * second[None, :, :]
        gain = (before.reshape(n * n, g) @ good).reshape(b, n, n, n)
        if kept is not None:
            gain += ((before * kept).reshape(b, n * n, g) @ miss.T).reshape(b, n, n, n)
        gain = np.where(allowed, gain, -np.inf)
        return gain.argmax(axis=3), gain.max(axis=3)

    by_second, by_first = ended[:, None, :, :], ended[:, :, None, :]
    thirds = {
        "++": third(make, make, by_second, lift.after_made),
        "+-": third(make, miss, by_first, lift.after_miss),
        "-+": third(miss, make, by_second, lift.after_made),
        "--": third(miss, miss, None, lift.after_miss),
    }
    made = np.where(lift.after_made, thirds["++"][1] + thirds["+-"][1], -np.inf)
    missed = np.where(lift.after_miss, thirds["-+"][1] + thirds["--"][1], -np.inf)
    total = made.max(axis=2) + missed.max(axis=2)
    case = np.arange(b)
    first = total.argmax(axis=1)
    second = {"+": made.argmax(axis=2)[case, first], "-": missed.argmax(axis=2)[case, first]}
    last = [thirds[h][0][case, first, second[h[0]]] for h in HISTORIES[3:]]
    return np.column_stack((first, second["+"], second["-"], *last)), total[case, first]


_Thirds = tuple[Ints, Floats]


def _payoffs(lift: LiftDay, trees: Ints, worth: Floats) -> Floats:
    """Expected worth[b, x] of each tree for each capacity, float[b, g]; trees int[b, 7]."""
    found = np.zeros((len(trees), lift.make.shape[1]))
    case = np.arange(len(trees))
    for path in _PATHS:
        chance, best = _along(lift, trees, path)
        found += chance * np.where(best >= 0, worth[case, best], 0.0)[:, None]
    return found


_PATHS = tuple((a, b, c) for a in (True, False) for b in (True, False) for c in (True, False))


def _along(lift: LiftDay, trees: Ints, path: tuple[bool, bool, bool]) -> tuple[Floats, Ints]:
    """Likelihood float[k, g] of a path through each tree and the best load's index (-1: none)."""
    history = ""
    chance: Floats = np.ones((len(trees), lift.make.shape[1]))
    best = np.full(len(trees), -1)
    for good in path:
        x = trees[:, HISTORIES.index(history)]
        chance = chance * (lift.make[x] if good else 1.0 - lift.make[x])
        best = np.where(good, x, best)
        history += "+" if good else "-"
    return chance, best


def _leaves(lift: LiftDay, tree: Ints) -> list[tuple[int, Floats]]:
    """The ways to end with a good lift: index of the best load, likelihood float[g]."""
    passed = len(lift.loads) - 1
    leaves = []
    for path in _PATHS:
        chance, best = _along(lift, tree[None, :], path)
        if best[0] >= 0 and best[0] != passed:
            leaves.append((int(best[0]), chance[0]))
    return leaves


def _as_tree(lift: LiftDay, tree: Ints) -> Tree:
    passed = len(lift.loads) - 1
    return Tree(tuple(None if x == passed else int(lift.loads[x]) for x in tree.tolist()))


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a choice leads to."""

    totals: dict[int, float]
    """Chance of each total; 0 is no total."""
    snatch: dict[int, float]
    """Chance of each snatch result; 0 is none."""
    snatch_made: tuple[float | None, ...]
    """Chance that each attempt of the tree is good, given that it is taken."""
    clean_and_jerk_made: dict[int, tuple[float | None, ...]]

    def chance_of(self, total: float) -> float:
        """Chance of at least this total."""
        return sum(chance for kg, chance in self.totals.items() if kg and kg >= total)


def outcome_of(day: Day, choice: Choice) -> Outcome:
    """Follow a choice through every way the day may go, capacities included."""
    totals: dict[int, float] = {}
    snatches: dict[int, float] = {}
    left: dict[int, Floats] = {}
    for best, chance in _endings(day.snatch, choice.snatch):
        belief = chance @ day.belief
        snatches[best] = snatches.get(best, 0.0) + float(belief.sum())
        left[best] = left.get(best, 0.0) + belief
    for snatch, belief in left.items():
        if not snatch:
            totals[0] = totals.get(0, 0.0) + float(belief.sum())
            continue
        for best, chance in _endings(day.clean_and_jerk, choice.clean_and_jerk[snatch]):
            total = snatch + best if best else 0
            totals[total] = totals.get(total, 0.0) + float(chance @ belief)
    return Outcome(
        dict(sorted(totals.items())),
        dict(sorted(snatches.items())),
        _made(day.snatch, choice.snatch, day.belief.sum(axis=1)),
        {
            snatch: _made(day.clean_and_jerk, tree, left[snatch])
            for snatch, tree in choice.clean_and_jerk.items()
        },
    )


def _endings(lift: LiftDay, tree: Tree) -> list[tuple[int, Floats]]:
    """Best load (0: none) and likelihood float[g] of every way through a tree."""
    row = {int(load): i for i, load in enumerate(lift.loads)}
    found: list[tuple[int, Floats]] = []

    def walk(history: str, best: int, chance: Floats) -> None:
        load = tree.after(history) if len(history) < 3 else None
        if load is None:
            found.append((best, chance))
            return
        good = lift.make[row[load]]
        walk(history + "+", load, chance * good)
        walk(history + "-", best, chance * (1.0 - good))

    walk("", 0, np.ones(lift.make.shape[1]))
    return found


def _made(lift: LiftDay, tree: Tree, belief: Floats) -> tuple[float | None, ...]:
    row = {int(load): i for i, load in enumerate(lift.loads)}
    chances: list[float | None] = []
    for history, load in zip(HISTORIES, tree.loads, strict=True):
        if load is None:
            chances.append(None)
            continue
        seen = belief
        for depth, sign in enumerate(history):
            before = tree.after(history[:depth])
            good = lift.make[row[before]] if before is not None else np.zeros_like(belief)
            seen = seen * (good if sign == "+" else 1.0 - good)
        weight = float(seen.sum())
        chances.append(float(seen @ lift.make[row[load]]) / weight if weight > 0.0 else None)
    return tuple(chances)
