"""Attempts under the rules of the platform, and what a choice of them leads to.

The rules (weightlifting, since 2005): snatch first, then clean and jerk; three attempts
each; whole kilos; after a good lift the bar rises by at least 1 kg, after a miss it may stay
or rise; the best good lift of each counts; without one in both there is no total.

attempt_search.py finds the best choice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from profilegen.engine.arrays import Bools, Floats, Ints

HISTORIES = ("", "+", "-", "++", "+-", "-+", "--")
"""What came before each of the seven loads of a tree: + made, - missed."""
LAST_GOOD = (3, 1, 4, 0, 5, 2, 6, None)
"""The node of the last good lift on each of the eight ways +++, ++-, +-+ ... ---."""


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
    opens: Bools
    """Which may come first, bool[x]; always the lightest."""

    @classmethod
    def of(
        cls, loads: Ints, make: Floats, *, most_step: float = np.inf, repeat_only: bool = False
    ) -> LiftDay:
        """Under the rules; `most_step` (share of the bar) and `repeat_only` make it tamer."""
        step = loads[None, :] - loads[:, None]
        tame = step <= np.maximum(most_step * loads[:, None], 1.0)
        after_miss = (step == 0) if repeat_only else (step >= 0) & tame
        return cls(loads, make, (step >= 1) & tame, after_miss, np.ones(len(loads), dtype=bool))

    def opening_with(self, opens: Bools) -> LiftDay:
        """With these openers only; the lightest load is always one."""
        return replace(self, opens=opens | (np.arange(len(self.loads)) == 0))


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
    (reach,), (ways,) = followed(_good(day.snatch, [choice.snatch]))
    before = day.belief.sum(axis=1)
    left: dict[int, Floats] = {}
    for load, belief in zip(_bests(choice.snatch), ways @ day.belief, strict=True):
        if load is not None:
            left[load] = left.get(load, 0.0) + belief
    snatches = {load: float(belief.sum()) for load, belief in left.items()}
    totals = {0: snatches.get(0, 0.0)}

    results = [load for load in choice.clean_and_jerk if load in left]
    trees = [choice.clean_and_jerk[load] for load in results]
    beliefs = np.array([left[load] for load in results]).reshape(len(results), -1)
    reaches, all_ways = followed(_good(day.clean_and_jerk, trees))
    chances = (all_ways @ beliefs[:, :, None])[:, :, 0].tolist()
    for snatch, tree, chance in zip(results, trees, chances, strict=True):
        for best, way in zip(_bests(tree), chance, strict=True):
            if best is not None:
                total = snatch + best if best else 0
                totals[total] = totals.get(total, 0.0) + way
    return Outcome(
        dict(sorted(totals.items())),
        dict(sorted(snatches.items())),
        _made(day.snatch, choice.snatch, reach * before),
        {
            snatch: _made(day.clean_and_jerk, tree, reach * belief)
            for snatch, tree, reach, belief in zip(results, trees, reaches, beliefs, strict=True)
        },
    )


def followed(good: Floats) -> tuple[Floats, Floats]:
    """Likelihood of coming to each node and of every way through a tree.

    good float[b, 7, g]: chance of a good lift at each node. Returns float[b, 7, g] and
    float[b, 8, g], the ways in the order +++, ++-, +-+ ... ---.
    """
    miss = 1.0 - good
    reach, ways = np.ones_like(good), np.empty((len(good), 8, good.shape[2]))
    reach[:, 1], reach[:, 2] = good[:, 0], miss[:, 0]
    reach[:, 3::2], reach[:, 4::2] = reach[:, 1:3] * good[:, 1:3], reach[:, 1:3] * miss[:, 1:3]
    ways[:, ::2], ways[:, 1::2] = reach[:, 3:] * good[:, 3:], reach[:, 3:] * miss[:, 3:]
    return reach, ways


def _good(lift: LiftDay, trees: Sequence[Tree]) -> Floats:
    """Chance of a good lift at each node, 0 where there is no attempt, float[b, 7, g]."""
    row = {load: i for i, load in enumerate(lift.loads.tolist())}
    make = np.vstack((lift.make, np.zeros_like(lift.make[:1])))
    at = [[-1 if load is None else row[load] for load in tree.loads] for tree in trees]
    return make[np.array(at, dtype=np.int64).reshape(len(trees), len(HISTORIES))]


def _bests(tree: Tree) -> list[int | None]:
    """The best load of each way, 0 where none is good; None: not a way, an attempt is missing."""
    return [0 if node is None else tree.loads[node] for node in LAST_GOOD]


def _made(lift: LiftDay, tree: Tree, seen: Floats) -> tuple[float | None, ...]:
    """Chance of each attempt given that it comes to it; seen float[7, g], belief included."""
    weight = seen.sum(axis=1)
    made = (seen * _good(lift, [tree])[0]).sum(axis=1)
    return tuple(
        None if load is None or not w else m / w
        for load, w, m in zip(tree.loads, weight.tolist(), made.tolist(), strict=True)
    )
