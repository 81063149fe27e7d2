"""Cases that share their sites are known without solving each by itself.

Expected numbers come from NumPy and SciPy by the textbook formula, case by case.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from profilegen.engine.cases import Fitted
from profilegen.engine.inference import fit
from profilegen.engine.opening import Opening
from profilegen.history.records import SetRecord
from tests.engine.handmade import NORMS, TODAY, lifter, made, maximal, missed, session

WEEKS: dict[str, tuple[SetRecord, ...]] = {
    "floors and misses": (
        made("snatch", 80.0),
        missed("snatch", 84.0),
        made("clean", 104.0),
        maximal("front_squat", 125.0),
    ),
    "a maximal clean and jerk": (
        maximal("clean_and_jerk", 102.0),
        missed("clean_and_jerk", 105.0, "jerk"),
        made("power_clean", 92.0),
    ),
}


def fitted(week: str) -> Fitted:
    before = session(made("clean", 100.0), maximal("snatch", 80.0), days_ago=60)
    return fit(lifter(before, session(*WEEKS[week])), NORMS, TODAY).fitted


@pytest.mark.parametrize("week", WEEKS)
def test_every_case_stands_where_it_would_if_it_were_solved_by_itself(week: str) -> None:
    found = fitted(week)
    frame, base = found.frame, found.base
    assert len(frame.steps) == 1, "no miss may be doubtful here: that would double the cases"
    opening = Opening.of(frame, base, 12.0)
    assert len(opening.which) > 20
    nobody = np.zeros(len(frame.odd_case), dtype=bool)
    cases = base.likely(frame, 0.0, nobody, opening.which)
    size, sites = len(frame.active), opening.solved
    log_z = []
    for case in range(len(opening.which)):
        # a Gaussian times exp(h'x - x'Tx / 2): Rasmussen & Williams 2006, eq. A.7
        m, k = cases.parts.mean[case, :size], cases.parts.cov[case, :size, :size]
        t, h = sites.t[case], sites.h[case]
        cov = np.linalg.inv(np.linalg.inv(k) + t)
        mean = cov @ (np.linalg.solve(k, m) + h)
        np.testing.assert_allclose(sites.cov[case], cov, atol=1e-8)
        np.testing.assert_allclose(sites.mean[case], mean, atol=1e-6)
        # the integral, from the value of prior, sites and outcome at one point
        site = h @ mean - 0.5 * mean @ t @ mean
        log_z.append(
            multivariate_normal(m, k).logpdf(mean)
            + site
            - multivariate_normal(mean, cov).logpdf(mean)
        )
    between = opening.log_weight - (cases.log_weight + log_z)
    np.testing.assert_allclose(between, between[0], atol=1e-5)


def test_the_clean_or_the_jerk_can_be_the_smaller() -> None:
    found = fitted("a maximal clean and jerk")
    assert set(found.frame.smaller[found.cases].tolist()) == {0, 1}
