"""The heavy tails of the qualities: most lifters near the usual, a few far off."""

from __future__ import annotations

from math import exp, pi, sqrt

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.stats import multivariate_normal, norm

from profilegen.engine.arrays import Floats
from profilegen.engine.cavity import HeavyTail, mixed_quantiles
from profilegen.engine.prior import prior_for
from profilegen.norms.catalogue import QUALITIES
from tests.engine.handmade import NORMS, TODAY, lifter, with_constants

TAIL = HeavyTail(share_odd=0.2, var_usual=0.5, var_odd=3.5)
N = len(QUALITIES)


def density(q: float, var: float) -> float:
    return exp(-0.5 * q * q / var) / sqrt(2.0 * pi * var)


def mixture_over_wide(q: float, tail: HeavyTail = TAIL) -> float:
    """What turns the process's wide Gaussian into the mixture a quality follows."""
    usual = (1.0 - tail.share_odd) * density(q, tail.var_usual)
    return (usual + tail.share_odd * density(q, tail.var_odd)) / density(q, tail.var_odd)


def known(mean: Floats, cov: Floats, tail: HeavyTail = TAIL) -> tuple[Floats, Floats]:
    """Moments of qualities known as N(mean, cov) once their tails are taken in."""
    precision = np.linalg.inv(cov)
    return tail.components(precision, precision @ mean).moments()


def test_a_quality_nobody_tested_has_the_mixtures_variance() -> None:
    """Prior only: variance (1 - w) v1 + w v2, mean 0, no quality tied to another."""
    mean, cov = known(np.zeros(N), TAIL.var_odd * np.eye(N))
    np.testing.assert_allclose(mean, 0.0, atol=1e-12)
    np.testing.assert_allclose(cov, np.eye(N) * (0.8 * 0.5 + 0.2 * 3.5), atol=1e-12)


def test_independent_qualities_have_the_moments_quadrature_finds() -> None:
    rng = np.random.default_rng(1)
    centre, sd = rng.normal(0.0, 1.5, N), rng.uniform(0.2, 1.8, N)
    mean, cov = known(centre, np.diag(sd**2))
    for i in range(N):

        def moment(power: int, i: int = i) -> float:
            value, _ = quad(
                lambda u: density(u, 1.0) * mixture_over_wide(centre[i] + sd[i] * u) * u**power,
                -10.0, 10.0, epsabs=1e-12, limit=200, points=(0.0,),
            )  # fmt: skip
            return value

        z, first, second = moment(0), moment(1), moment(2)
        assert mean[i] == pytest.approx(centre[i] + sd[i] * first / z, abs=1e-8)
        assert cov[i, i] == pytest.approx(sd[i] ** 2 * (second / z - (first / z) ** 2), rel=1e-7)


def test_correlated_qualities_have_the_moments_importance_sampling_finds() -> None:
    rng = np.random.default_rng(2)
    root = 0.5 * rng.standard_normal((N, N))
    centre, spread = rng.normal(0.0, 1.0, N), root @ root.T + 0.3 * np.eye(N)
    mean, cov = known(centre, spread)
    sample = multivariate_normal(centre, spread).rvs(400_000, random_state=rng)
    weight = np.prod(
        0.2 + 0.8 * sqrt(3.5 / 0.5) * np.exp(0.5 * sample**2 * (1 / 3.5 - 1 / 0.5)), axis=1
    )
    weight /= weight.sum()
    np.testing.assert_allclose(mean, weight @ sample, atol=0.01)
    away = sample - weight @ sample
    np.testing.assert_allclose(cov, away.T @ (away * weight[:, None]), atol=0.02)


def test_the_weights_of_the_cases_are_the_chances_of_being_odd() -> None:
    """A quality known exactly is odd by Bayes' rule; the other five stay at their prior share."""
    precision = np.eye(N) / TAIL.var_odd
    precision[0, 0] = 1e8
    parts = TAIL.components(precision, precision @ np.array([3.0, *np.zeros(N - 1)]))
    odd = TAIL.share_odd * density(3.0, TAIL.var_odd)
    usual = (1.0 - TAIL.share_odd) * density(3.0, TAIL.var_usual)
    widest = np.array([np.diag(c)[1] for c in parts.cov])
    # usual cases are narrower: read which case is which off the first quality's shrinkage
    shrunk = parts.mean[:, 0] < 3.0 - 1e-9
    assert parts.weight[~shrunk].sum() == pytest.approx(odd / (odd + usual), abs=1e-6)
    assert parts.weight[widest > 3.0].sum() == pytest.approx(TAIL.share_odd, abs=1e-6)


def test_equal_usual_and_odd_spreads_leave_a_plain_gaussian() -> None:
    norms = with_constants(NORMS, usual_quality_sd=1.3, odd_quality_sd=1.3)
    tail = HeavyTail.of(prior_for(lifter(), norms, TODAY), norms)
    rng = np.random.default_rng(3)
    root = rng.standard_normal((N, N))
    centre, spread = rng.normal(0.0, 1.0, N), root @ root.T + np.eye(N)
    mean, cov = known(centre, spread, tail)
    np.testing.assert_allclose(mean, centre, atol=1e-10)
    np.testing.assert_allclose(cov, spread, atol=1e-10)


def test_far_off_evidence_is_believed_more_than_a_bell_curve_would() -> None:
    """A clean 10 % under everything that points to it is not a freak: tails do not pull it back."""
    far, near = np.full(N, 4.0), np.full(N, 0.5)
    pulled_far = 1.0 - known(far, 0.3 * np.eye(N))[0][0] / 4.0
    pulled_near = 1.0 - known(near, 0.3 * np.eye(N))[0][0] / 0.5
    assert pulled_far < 0.05 < pulled_near


@pytest.mark.parametrize("share", [0.05, 0.5, 0.95])
def test_percentiles_of_a_mixture_are_where_its_distribution_says(share: float) -> None:
    """Expected: Brent's method on the sum of SciPy's normal distributions. The last column has two
    bells far apart, the one before it one bell."""
    weight = np.array([0.55, 0.3, 0.15])
    mean = np.array([[0.0, 4.6, 1.0, 0.0], [0.5, 4.7, 1.0, 0.1], [-2.0, 4.5, 1.0, 9.0]])
    sd = np.array([[1.0, 0.02, 0.3, 0.2], [0.5, 0.05, 0.3, 0.1], [0.2, 0.03, 0.3, 0.2]])
    found = mixed_quantiles(weight, mean, sd, share)
    for i in range(4):
        columns = mean[:, i], sd[:, i]
        over = lambda x, m=columns[0], s=columns[1]: weight @ norm.cdf((x - m) / s) - share  # noqa: E731
        expected = brentq(over, -20.0, 20.0, xtol=1e-13)
        assert found[i] == pytest.approx(expected, abs=1e-6 * columns[1].max())
