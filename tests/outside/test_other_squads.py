"""The right limiter on squads of another model than the engine's, and how sure it says it is.

The other model is written in tests/bench/limiter.py: plain ratios, lift noise, one quality that
takes 8-12 % off the lifts it governs, or none; ten lifts tested, clean and jerk to a maximum.
The bench prints more lifters: python -m tests.bench.limiter.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from profilegen.norms.catalogue import QUALITIES
from tests.bench.limiter import ALONE, CARRIED, TESTED, Score, beside_the_best, other_lifter, score

LIFTERS = 500
SQUADS = {"weakness alone": ALONE, "weakness carried over": CARRIED}


@cache
def scored(squad: str) -> Score:
    return score(SQUADS[squad], LIFTERS)


@pytest.mark.parametrize("squad", SQUADS)
def test_the_first_answer_is_right_for_85_lifters_in_100(squad: str) -> None:
    assert scored(squad).accuracy > 0.85


@pytest.mark.parametrize("squad", SQUADS)
def test_stated_chances_are_within_five_points_of_the_hits(squad: str) -> None:
    result = scored(squad)
    assert result.mean_stated == pytest.approx(result.accuracy, abs=0.05)


@pytest.mark.parametrize("kind", [*QUALITIES, "even"])
@pytest.mark.parametrize("squad", SQUADS)
def test_no_weakness_is_overlooked_in_more_than_three_lifters_of_ten(squad: str, kind: str) -> None:
    """`even` counts as one: a lifter without a weakness must be told that there is none."""
    assert scored(squad).found[kind] >= 0.70  # type: ignore[index]


@pytest.mark.parametrize("squad", SQUADS)
def test_sure_answers_are_right_more_often_than_unsure_ones(squad: str) -> None:
    """Of answers stated at 0.8 or more ("clear") at least nine in ten are right; the others
    fewer."""
    result = scored(squad)
    right = np.array(result.weak) == np.array(result.answer)
    clear = np.array(result.stated) >= 0.8
    assert right[clear].mean() >= 0.9
    assert right[~clear].mean() < right[clear].mean()


def test_the_best_possible_answer_is_hardly_better() -> None:
    """Lifters of the engine's own model: long exact sampling knows each answer's true chance;
    the engine's first answers deserve within 2 points as much as the best ones."""
    result = beside_the_best(12, steps=400, burn_in=150)
    assert 0.3 < result.best_deserved <= 1.0
    assert result.best_deserved - result.deserved < 0.02


def test_the_other_squads_are_what_they_say() -> None:
    """A tenth off what the quality governs, ten lifts, every kind of weakness about as often."""
    seen = [other_lifter(np.random.default_rng(seed), ALONE) for seed in range(700)]
    counts = {kind: sum(weak == kind for _, weak in seen) for kind in (*QUALITIES, "even")}
    assert all(70 < count < 130 for count in counts.values())
    for athlete, _ in seen:
        assert tuple(entry.lift for entry in athlete.sessions[0].sets) == TESTED

    def squat_over_clean(kind: str) -> float:
        loads = [
            {entry.lift: entry.load_kg for entry in athlete.sessions[0].sets}
            for athlete, weak in seen
            if weak == kind
        ]
        return float(np.mean([one["front_squat"] / one["clean"] for one in loads]))

    assert squat_over_clean("legs") / squat_over_clean("even") == pytest.approx(0.90, abs=0.015)
