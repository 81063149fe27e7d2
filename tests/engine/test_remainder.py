"""What Gaussian sites leave out of a case is made good.

Expected numbers come from plain sums over a fine grid of two capacities, which share no step with
expectation propagation.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtr
from scipy.stats import multivariate_normal

from profilegen.engine.cases import Fitted
from profilegen.engine.inference import fit
from profilegen.history.records import SetRecord
from tests.engine.handmade import NORMS, TODAY, lifter, made, missed, session

FLOORS = (made("clean", 104.0), made("clean", 106.0), made("clean", 108.0))
MISS = missed("clean", 107.0)


def summed(fitted: Fitted, case: int) -> tuple[np.ndarray, np.ndarray, float]:
    """Mean, covariance and log integral of two capacities in a case, over a grid."""
    frame = fitted.frame
    assert len(frame.active) == 2
    before = fitted.base.likely(frame, 0.0, np.zeros(len(frame.odd_case), bool), fitted.cases)
    mean, cov = before.parts.mean[case, :2], before.parts.cov[case, :2, :2]
    axes = (mean + np.sqrt(np.diag(cov)) * np.linspace(-6.0, 6.0, 501)[:, None]).T
    grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 2)
    weight = multivariate_normal(mean, cov).pdf(grid)
    step = frame.steps[frame.reading[fitted.cases[case]]]
    for site, term in zip(*np.nonzero(step.there), strict=True):
        away = grid[:, frame.step_at[site]] - step.x[site, term]
        beta = step.fluke[site, term]
        weight *= beta + (1.0 - beta) * ndtr(step.sign[site, term] * away / step.sd[site, term])
    total = weight.sum()
    middle = weight @ grid / total
    away = grid - middle
    spread = (weight[:, None] * away).T @ away / total
    cell = np.prod([axis[1] - axis[0] for axis in axes])
    return middle, spread, float(before.log_weight[case] + np.log(total * cell))


DAYS = {
    "floors on two days": (FLOORS[:2], FLOORS[1:]),
    "a floor on one day, a miss on the next": (FLOORS[:1], (MISS,)),
    "a miss below a later floor": ((MISS,), FLOORS[2:]),
    "misses on two days": ((MISS, MISS), (MISS,)),
}


@pytest.mark.parametrize(("first", "second"), DAYS.values(), ids=DAYS.keys())
def test_two_days_that_speak_of_nearly_the_same_are_as_sure_together_as_a_plain_sum_says(
    first: tuple[SetRecord, ...], second: tuple[SetRecord, ...]
) -> None:
    days = (session(*first, days_ago=12), session(*second, days_ago=10))
    fitted = fit(lifter(*days), NORMS, TODAY).fitted
    log_z = []
    for case in range(len(fitted.cases)):
        mean, cov, log_integral = summed(fitted, case)
        log_z.append(log_integral)
        sd = np.sqrt(np.diag(cov))
        assert fitted.parts.mean[case, :2] == pytest.approx(mean, abs=0.04 * sd.min())
        assert np.sqrt(np.diag(fitted.parts.cov[case])[:2]) == pytest.approx(sd, rel=0.025)
    weight = np.exp(log_z - np.max(log_z))
    assert fitted.parts.weight == pytest.approx(weight / weight.sum(), abs=2e-4)
