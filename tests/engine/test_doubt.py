"""A miss that may have been too heavy or a fluke is read both ways, and weighed as it deserves.

Expected chances come from the exact sampler (exact.py), which shares no step with the engine.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtr

from profilegen.engine.posterior import Posterior
from profilegen.engine.terms import features_at
from tests.engine.exact import Target, sample
from tests.engine.handmade import NORMS, TODAY, as_written, lifter, made, maximal, missed, session


def readings(posterior: Posterior) -> list[float]:
    """Weight of each reading of the most doubtful miss; one number when no miss is doubtful."""
    fitted = posterior.fitted
    reading = fitted.frame.reading[fitted.cases]
    ways = range(len(fitted.frame.steps))
    return [float(fitted.parts.weight[reading == way].sum()) for way in ways]


def test_a_lone_miss_at_the_load_made_before_was_a_fluke_as_often_as_exact_sampling_says() -> None:
    before, after = session(made("clean", 100.0), days_ago=12), session(missed("clean", 101.0))
    posterior = as_written(lifter(before, after))
    heavy, fluke = readings(posterior)
    assert heavy + fluke == pytest.approx(1.0)

    row = next(row for row in posterior.rows if row.terms[0].kind == "missed")
    target = Target.of(posterior.prior, posterior.rows, NORMS, float(TODAY.toordinal()))
    asked = features_at(posterior.prior, [(row, "clean")])
    rng = np.random.default_rng(5)
    drawn = sample(target, asked, rng, chains=300, steps=400, burn_in=100)
    too_heavy = ndtr((row.terms[0].x - drawn.flat[:, 0]) / row.terms[0].sd)
    beta = row.terms[0].fluke
    exact = float((beta / (beta + (1.0 - beta) * too_heavy)).mean())
    assert fluke == pytest.approx(exact, abs=0.05)
    mean, cov = posterior.gaussian(asked)
    assert mean[0] == pytest.approx(drawn.mean[0], abs=0.1 * drawn.sd[0])
    assert np.sqrt(cov[0, 0]) == pytest.approx(drawn.sd[0], rel=0.05)


def test_several_misses_of_a_day_are_not_taken_apart() -> None:
    before = session(made("clean", 100.0), days_ago=12)
    after = session(*(missed("clean", 101.0) for _ in range(3)))
    posterior = as_written(lifter(before, after))
    assert len(readings(posterior)) == 1


def test_a_miss_far_over_a_known_best_leaves_no_doubt() -> None:
    before, after = session(maximal("clean", 100.0), days_ago=12), session(missed("clean", 106.0))
    posterior = as_written(lifter(before, after))
    assert len(readings(posterior)) == 1
