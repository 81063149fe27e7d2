"""Moments of a Gaussian times one row of evidence, against published formulas and quadrature."""

from __future__ import annotations

from collections.abc import Callable
from math import erfc, exp, pi, sqrt

import numpy as np
import pytest
from scipy.integrate import dblquad, quad
from scipy.special import ndtr
from scipy.stats import multivariate_normal, norm, truncnorm

from profilegen.engine.arrays import Floats
from profilegen.engine.sites import (
    bivariate_cdf,
    cut_moments,
    either_missed_moments,
    minimum_of_two,
    step_moments,
)

RNG_SEED = 20261121
ROOT_2PI = sqrt(2.0 * pi)


def array(*values: float) -> Floats:
    return np.array(values, dtype=float)


def by_quadrature(factor: Callable[[float], float], mean: float, sd: float) -> Floats:
    """log Z, mean, variance of N(g; mean, sd^2) factor(g), by adaptive quadrature."""

    def moment(power: int) -> float:
        value, _ = quad(
            lambda z: exp(-0.5 * z * z) / ROOT_2PI * factor(mean + sd * z) * z**power,
            -12.0, 12.0, epsabs=1e-13, epsrel=1e-11, limit=400, points=(-2.0, 0.0, 2.0),
        )  # fmt: skip
        return value

    z, first, second = moment(0), moment(1), moment(2)
    return array(np.log(z), mean + sd * first / z, sd**2 * (second / z - (first / z) ** 2))


def pairs(rng: np.random.Generator, n: int) -> tuple[Floats, Floats]:
    """Cavities of clean and jerk as they occur: a few percent wide, positively correlated."""
    sd = rng.uniform(0.02, 0.08, (n, 2))
    rho = rng.uniform(-0.3, 0.95, n)
    cov = np.empty((n, 2, 2))
    cov[:, 0, 0], cov[:, 1, 1] = sd[:, 0] ** 2, sd[:, 1] ** 2
    cov[:, 0, 1] = cov[:, 1, 0] = rho * sd[:, 0] * sd[:, 1]
    return 4.6 + rng.normal(0.0, 0.05, (n, 2)), cov


def on_half_planes(
    factor: Callable[[Floats, Floats], Floats], mean: Floats, cov: Floats
) -> tuple[float, Floats, Floats]:
    """log Z, mean, covariance of N((c, j); mean, cov) factor(c, j) by Gauss-Legendre.

    Over (smaller, gap) on either side of c = j, so that a kink there does no harm.
    """
    reach = 9.0 * float(np.sqrt(np.diag(cov).max()))
    centre = float(mean.min())
    nodes, weights = np.polynomial.legendre.leggauss(260)
    small = centre + reach * nodes
    gap = (np.abs(mean[0] - mean[1]) + reach) * (nodes + 1.0) / 2.0
    area = np.outer(weights * reach, weights * (np.abs(mean[0] - mean[1]) + reach) / 2.0)
    least, most = small[:, None] + 0.0 * gap, small[:, None] + gap
    points = np.concatenate([np.stack((least, most), -1), np.stack((most, least), -1)])
    mass = np.concatenate([area, area]) * multivariate_normal(mean, cov).pdf(points)
    mass = mass * factor(points[..., 0], points[..., 1])
    z = mass.sum()
    m = np.einsum("ab,abi->i", mass, points) / z
    d = points - m
    return float(np.log(z)), m, np.einsum("ab,abi,abj->ij", mass, d, d) / z


def test_a_made_single_gives_the_probit_moments_of_the_textbook() -> None:
    """Rasmussen & Williams 2006, eq. 3.58, with y = 1 and a unit probit (from memory)."""
    mu, var = array(-1.3, 0.0, 0.7, 2.5), array(0.3, 1.0, 4.0, 0.05)
    z = mu / np.sqrt(1.0 + var)
    n, phi = norm.pdf(z), norm.cdf(z)
    mean = mu + var * n / (phi * np.sqrt(1.0 + var))
    variance = var - var**2 * n / ((1.0 + var) * phi) * (z + n / phi)
    zero, one = np.zeros(4), np.ones(4)
    got = step_moments(mu, var, zero, one, one, zero)
    np.testing.assert_allclose(got, (np.log(phi), mean, variance), rtol=1e-12)


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("fluke", [0.0, 0.02, 0.16])
def test_made_and_missed_sets_have_the_moments_quadrature_finds(sign: float, fluke: float) -> None:
    rng = np.random.default_rng(RNG_SEED)
    n = 8
    mean, sd = 4.6 + rng.normal(0.0, 0.05, n), rng.uniform(0.02, 0.1, n)
    x, s = 4.6 + rng.normal(0.0, 0.05, n), rng.uniform(0.01, 0.03, n)
    got = step_moments(mean, sd**2, x, s, np.full(n, sign), np.full(n, fluke))
    for i in range(n):

        def says(g: float, i: int = i) -> float:
            made = 0.5 * erfc(-sign * (g - x[i]) / (s[i] * sqrt(2.0)))
            return fluke + (1.0 - fluke) * made

        expected = by_quadrature(says, mean[i], sd[i])
        np.testing.assert_allclose([part[i] for part in got], expected, rtol=1e-7, atol=1e-9)


def test_a_floor_far_above_everything_known_still_gives_finite_moments() -> None:
    """60 sds up, Phi underflows; its logarithm must not. The tail hugs the floor from below."""
    log_z, mean, var = step_moments(
        array(0.0), array(1.0), array(60.0), array(1e-3), array(1.0), array(0.0)
    )
    # P(Z > 60): log = -60^2 / 2 - log(60 sqrt(2 pi)) to first order (Mills' ratio)
    assert log_z[0] == pytest.approx(-1800.0 - np.log(60.0 * np.sqrt(2 * np.pi)), abs=5e-3)
    # mean of the cut normal: x + 1 / x; variance 1 / x^2, to first order
    assert mean[0] == pytest.approx(60.0 + 1.0 / 60.0, abs=1e-3)
    assert var[0] == pytest.approx(1.0 / 3600.0, rel=0.01)


def test_the_lesser_of_two_standard_normals_is_the_textbook_order_statistic() -> None:
    """Mean -1 / sqrt(pi), variance 1 - 1 / pi (any table of normal order statistics, n = 2)."""
    zero, one = array(0.0), array(1.0)
    mean, var = minimum_of_two(zero, one, zero, one, zero)
    assert mean[0] == pytest.approx(-1.0 / np.sqrt(np.pi), abs=1e-14)
    assert var[0] == pytest.approx(1.0 - 1.0 / np.pi, abs=1e-14)


def test_the_minimum_follows_clarks_formulas_for_the_greatest() -> None:
    """Clark 1961, eqs. 2-3, as printed for the greatest: min(A, B) = -max(-A, -B)."""
    mean, cov = pairs(np.random.default_rng(RNG_SEED), 50)
    m1, m2 = -mean[:, 0], -mean[:, 1]
    v1, v2, r = cov[:, 0, 0], cov[:, 1, 1], cov[:, 0, 1]
    a = np.sqrt(v1 + v2 - 2.0 * r)
    alpha = (m1 - m2) / a
    up, down, dense = norm.cdf(alpha), norm.cdf(-alpha), norm.pdf(alpha)
    nu1 = m1 * up + m2 * down + a * dense
    nu2 = (m1**2 + v1) * up + (m2**2 + v2) * down + (m1 + m2) * a * dense
    got_mean, got_var = minimum_of_two(mean[:, 0], v1, mean[:, 1], v2, r)
    np.testing.assert_allclose(got_mean, -nu1, rtol=1e-12)
    np.testing.assert_allclose(got_var, nu2 - nu1**2, rtol=1e-8)


def test_the_minimum_agrees_with_double_integration() -> None:
    mean, cov = array(4.60, 4.57), np.array([[0.0025, 0.0012], [0.0012, 0.0036]])
    joint = multivariate_normal(mean, cov)

    def moment(power: int) -> float:
        value = 0.0
        for low, high in ((4.0, lambda c: c), (lambda c: c, 5.2)):
            part, _ = dblquad(
                lambda j, c: (min(c, j) - 4.6) ** power * joint.pdf((c, j)),
                4.15, 5.05, low, high, epsabs=1e-9, epsrel=1e-8,
            )  # fmt: skip
            value += part
        return value

    first, second = moment(1), moment(2)
    got_mean, got_var = minimum_of_two(mean[:1], cov[:1, 0], mean[1:], cov[1:, 1], cov[:1, 1])
    assert got_mean[0] == pytest.approx(4.6 + first, abs=1e-8)
    assert got_var[0] == pytest.approx(second - first**2, rel=1e-5)


def test_the_minimum_agrees_with_monte_carlo() -> None:
    rng = np.random.default_rng(RNG_SEED)
    mean, cov = pairs(rng, 5)
    got_mean, got_var = minimum_of_two(
        mean[:, 0], cov[:, 0, 0], mean[:, 1], cov[:, 1, 1], cov[:, 0, 1]
    )
    n = 200_000
    for i in range(5):
        lesser = rng.multivariate_normal(mean[i], cov[i], size=n).min(axis=1)
        error = lesser.std() / np.sqrt(n)
        assert abs(lesser.mean() - got_mean[i]) < 4.0 * error
        assert lesser.var() == pytest.approx(got_var[i], rel=4.0 * np.sqrt(2.0 / n))


def test_which_of_clean_and_jerk_is_the_smaller_cuts_their_difference() -> None:
    """Expected: SciPy's truncated normal."""
    rng = np.random.default_rng(RNG_SEED)
    mean, sd = rng.normal(0.0, 0.05, 12), rng.uniform(0.01, 0.08, 12)
    sign = np.tile([1.0, -1.0], 6)
    log_z, new_mean, new_var = cut_moments(mean, sd**2, sign)
    low = np.where(sign > 0.0, -mean / sd, -np.inf)
    high = np.where(sign > 0.0, np.inf, -mean / sd)
    expected_mean, expected_var = truncnorm.stats(low, high, loc=mean, scale=sd, moments="mv")
    np.testing.assert_allclose(log_z, np.log(ndtr(sign * mean / sd)), rtol=1e-9)
    np.testing.assert_allclose(new_mean, expected_mean, rtol=1e-8)
    np.testing.assert_allclose(new_var, expected_var, rtol=1e-6)


def test_a_cut_far_out_in_the_tail_stays_a_variance() -> None:
    _, mean, var = cut_moments(array(-3.0), array(1e-6), array(1.0))
    assert 0.0 < mean[0] < 1e-3
    assert 0.0 < var[0] < 1e-6


def test_a_missed_clean_and_jerk_of_unknown_part_has_the_moments_quadrature_finds() -> None:
    rng = np.random.default_rng(RNG_SEED)
    mean, cov = pairs(rng, 5)
    x, s = mean.min(axis=1) + rng.normal(0.0, 0.03, 5), np.full(5, 0.012)
    fluke = rng.uniform(0.0, 0.2, 5)
    log_z, new_mean, new_cov = either_missed_moments(mean, cov, x, s, fluke)
    for i in range(5):

        def says(c: Floats, j: Floats, i: int = i) -> Floats:
            both = ndtr((c - x[i]) / s[i]) * ndtr((j - x[i]) / s[i])
            value: Floats = 1.0 - (1.0 - fluke[i]) * both
            return value

        expected = on_half_planes(says, mean[i], cov[i])
        assert log_z[i] == pytest.approx(expected[0], abs=1e-7)
        np.testing.assert_allclose(new_mean[i], expected[1], atol=1e-8)
        np.testing.assert_allclose(new_cov[i], expected[2], rtol=1e-5, atol=1e-9)


def test_both_parts_at_once_agrees_with_scipys_bivariate_normal() -> None:
    rng = np.random.default_rng(RNG_SEED)
    h, k = rng.normal(0.0, 1.5, 40), rng.normal(0.0, 1.5, 40)
    rho = rng.uniform(-0.98, 0.98, 40)
    h[:3], k[2:5] = 0.0, 0.0
    expected = [
        multivariate_normal.cdf([a, b], cov=[[1.0, r], [r, 1.0]], abseps=1e-10)
        for a, b, r in zip(h, k, rho, strict=True)
    ]
    np.testing.assert_allclose(bivariate_cdf(h, k, rho), expected, atol=2e-7)


def test_both_parts_even_is_sheppards_quarter_circle() -> None:
    """P(X < 0, Y < 0) = 1/4 + arcsin(rho) / (2 pi) (Sheppard 1899)."""
    rho = np.linspace(-0.999, 0.999, 41)
    zero = np.zeros_like(rho)
    expected = 0.25 + np.arcsin(rho) / (2.0 * np.pi)
    np.testing.assert_allclose(bivariate_cdf(zero, zero, rho), expected, atol=1e-9)
