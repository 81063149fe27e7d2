"""All ways to choose attempts, tried one by one: slow, and right by being plain."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

import numpy as np

from profilegen.engine.attempt_search import Reward
from profilegen.engine.attempts import HISTORIES, Day, LiftDay, Tree


def every_tree(lift: LiftDay) -> Iterator[Tree]:
    """Every tree of three attempts the rules allow."""
    loads = [int(load) for load in lift.loads]
    row = {load: i for i, load in enumerate(loads)}

    def after(load: int | None, good: bool) -> list[int | None]:
        if load is None:
            return [None]
        allowed = (lift.after_made if good else lift.after_miss)[row[load]]
        return [*(one for one, may in zip(loads, allowed, strict=True) if may), None]

    for first in loads:
        for made, missed in product(after(first, True), after(first, False)):
            thirds = (
                after(made, True), after(made, False), after(missed, True), after(missed, False)
            )  # fmt: skip
            for last in product(*thirds):
                yield Tree((first, made, missed, *last))


def ways(lift: LiftDay, tree: Tree) -> Iterator[tuple[int, np.ndarray]]:
    """Best load (0: none) and its likelihood for each capacity, way by way."""
    row = {int(load): i for i, load in enumerate(lift.loads)}
    for path in product("+-", repeat=3):
        best, chance, history = 0, np.ones(lift.make.shape[1]), ""
        for sign in path:
            load = tree.loads[HISTORIES.index(history)]
            if load is None:
                # an attempt not taken: only "missed" goes on, so that no way counts twice
                chance = chance * (sign == "-")
            else:
                good = lift.make[row[load]]
                chance = chance * (good if sign == "+" else 1.0 - good)
                best = load if sign == "+" else best
            history += sign
        if chance.any():
            yield best, chance


def worth_of_best(day: Day, reward: Reward) -> float:
    """The highest expected reward of any choice whatever."""
    jerk_trees = list(every_tree(day.clean_and_jerk))
    results = {
        snatch: np.array(
            [
                sum(
                    chance * float(reward(np.array([float(snatch + best)]))[0])
                    for best, chance in ways(day.clean_and_jerk, tree)
                    if best
                )
                for tree in jerk_trees
            ]
        )
        for snatch in (int(load) for load in day.snatch.loads)
    }
    top = 0.0
    for tree in every_tree(day.snatch):
        left: dict[int, np.ndarray] = {}
        for best, chance in ways(day.snatch, tree):
            if best:
                left[best] = left.get(best, 0.0) + chance @ day.belief
        value = sum(float((results[s] @ belief).max()) for s, belief in left.items())
        top = max(top, value)
    return top
