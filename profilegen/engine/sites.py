"""Moments of a Gaussian times one piece of evidence, in closed form and vectorised.

Expectation propagation asks, for each row of evidence, for the mean and covariance of
(what the other rows say) x (what this row says). Three kinds of row occur; each function
takes the cavity of `n` rows and returns their moments:

    made, missed          a + b Phi(d (g - x) / s)                      one capacity
    the smaller           [c < j] or [j < c]                            clean and jerk
    missed, part unknown  1 - (1 - beta) Phi((c - x)/s) Phi((j - x)/s)  clean and jerk

Sources: Rasmussen & Williams 2006, eq. 3.58 (probit moments); Clark 1961 (a minimum of two
Gaussians); Owen 1956 (bivariate normal orthant through the T function).
"""

from __future__ import annotations

import numpy as np
from scipy.special import log_ndtr, ndtr, owens_t

from profilegen.engine.arrays import Floats
from profilegen.engine.terms import StepTerms

_LOG_ROOT_2PI = 0.5 * np.log(2.0 * np.pi)


_LEAST_KEPT = 1e-8
"""Of a variance that is cut, where rounding would leave none."""


def density(z: Floats) -> Floats:
    """Standard normal density."""
    value: Floats = np.exp(-0.5 * z * z - _LOG_ROOT_2PI)
    return value


def hazard(z: Floats) -> Floats:
    """phi(z) / Phi(z), stable far into the lower tail."""
    value: Floats = np.exp(-0.5 * z * z - _LOG_ROOT_2PI - log_ndtr(z))
    return value


def step_moments(
    mean: Floats, var: Floats, x: Floats, s: Floats, sign: Floats, floor: Floats
) -> tuple[Floats, Floats, Floats]:
    """N(g; mean, var) x [floor + (1 - floor) Phi(sign (g - x) / s)].

    A made set has sign +1 and floor 0; a miss has sign -1 and floor beta, the rate of misses
    that are not about capacity. Returns log Z, mean, variance, each float[n].
    """
    sigma = np.sqrt(var + s * s)
    z = sign * (mean - x) / sigma
    # a floor of 0 needs the logarithm far into the tail; any other floor keeps Z away from 0
    sure = floor <= 0.0
    log_phi = log_ndtr(z)
    log_z = np.where(
        sure, log_phi, np.log(np.where(sure, 1.0, floor + (1.0 - floor) * np.exp(log_phi)))
    )
    ratio = (1.0 - floor) * np.exp(-0.5 * z * z - _LOG_ROOT_2PI - log_z)
    slope = sign * ratio / sigma
    curve = -z * ratio / (sigma * sigma)
    return log_z, mean + var * slope, var + var * var * (curve - slope * slope)


_REACH_SDS = 4.8
_EDGE_SDS = 3.0
_SPACING = 1.2
"""Between nodes, in sds of the narrowest thing integrated. For a Gaussian the trapezoidal rule
over even nodes is off by 2 exp(-2 pi^2 / spacing^2) (Trefethen & Weideman 2014, section 2):
2e-6."""
_MOST_NODES = 400


def steps_moments(mean: Floats, var: Floats, step: StepTerms) -> tuple[Floats, Floats, Floats]:
    """All that each of `n` sites says of its capacity, in `S` cases; mean, var float[S, n].

    One term has a closed form; products of several go by the trapezoidal rule.
    Returns log Z, mean, variance, each float[S, n].
    """
    first = (np.arange(len(step.x)), step.there.argmax(axis=1))
    log_z, new_mean, new_var = step_moments(
        mean, var, step.x[first], step.sd[first], step.sign[first], step.fluke[first]
    )
    nothing = ~step.there.any(axis=1)
    if nothing.any():
        log_z[:, nothing] = 0.0
        new_mean[:, nothing], new_var[:, nothing] = mean[:, nothing], var[:, nothing]
    several = np.flatnonzero(step.there.sum(axis=1) > 1)
    if len(several) and len(mean):
        found = _several_steps_moments(mean[:, several], var[:, several], step.some(several))
        # where the nodes see nothing (rows that contradict each other badly) one term speaks
        for value, better in zip((log_z, new_mean, new_var), found, strict=True):
            value[:, several] = np.where(np.isfinite(found[0]), better, value[:, several])
    return log_z, new_mean, new_var


def _several_steps_moments(
    mean: Floats, var: Floats, step: StepTerms
) -> tuple[Floats, Floats, Floats]:
    """As `steps_moments`, by quadrature; log Z is -inf where no node sees anything.

    All cases share a capacity's nodes, so that its terms are worked out once for all of them
    and the moments are matrix products.
    """
    root = np.sqrt(var)
    low = np.minimum(
        (mean - _REACH_SDS * root).min(axis=0),
        np.where(step.there, step.x - _EDGE_SDS * step.sd, np.inf).min(axis=1),
    )
    high = np.maximum(
        (mean + _REACH_SDS * root).max(axis=0),
        np.where(step.there, step.x + _EDGE_SDS * step.sd, -np.inf).max(axis=1),
    )
    centre, away = even_nodes(low, high, root.min(axis=0), step.sharpest())
    said = chances_at(step, centre, away) * (away[:, 1:2] - away[:, :1])
    moment = said[:, :, None] * away[:, :, None] ** np.arange(3)
    z = (away - (mean - centre)[:, :, None]) / root[:, :, None]
    bell = np.exp(-0.5 * z * z - _LOG_ROOT_2PI)
    total, first, second = np.moveaxis(np.matmul(bell.transpose(1, 0, 2), moment), 2, 0)
    total, first, second = total.T / root, first.T / root, second.T / root
    seen = total > 1e-200
    total = np.where(seen, total, 1.0)
    new_mean = first / total
    return (
        np.where(seen, np.log(total), -np.inf),
        centre + new_mean,
        second / total - new_mean * new_mean,
    )


def even_nodes(low: Floats, high: Floats, bell: Floats, sharpest: Floats) -> tuple[Floats, Floats]:
    """Nodes from `low` to `high` for a bell of that sd times steps of that sd, all float[n].

    Returns their centre float[n] and the nodes less the centre float[n, nodes].
    """
    narrowest = (bell**-2.0 + sharpest**-2.0) ** -0.5
    nodes = int(np.clip(((high - low) / (_SPACING * narrowest)).max() + 2.0, 16.0, _MOST_NODES))
    width = (high - low) / (nodes - 1)
    return 0.5 * (low + high), width[:, None] * (np.arange(nodes) - 0.5 * (nodes - 1))


def chances_at(step: StepTerms, centre: Floats, away: Floats) -> Floats:
    """Chance of all terms of a site together at each node of `even_nodes`, float[n, nodes]."""
    over = (step.sign / step.sd)[:, :, None] * (
        away[:, None] + (centre[:, None] - step.x)[:, :, None]
    )
    chance = step.fluke[:, :, None] + (1.0 - step.fluke)[:, :, None] * ndtr(over)
    together: Floats = np.where(step.there[:, :, None], chance, 1.0).prod(axis=1)
    return together


def cut_moments(mean: Floats, var: Floats, sign: Floats) -> tuple[Floats, Floats, Floats]:
    """N(g; mean, var) x [sign g > 0]: a Gaussian cut at 0; sign +1 or -1.

    Returns log Z, mean, variance; all of one shape.
    """
    sd = np.sqrt(var)
    z = sign * mean / sd
    h = hazard(z)
    kept = np.maximum(1.0 - h * (h + z), _LEAST_KEPT)
    return log_ndtr(z), mean + sign * sd * h, var * kept


def either_missed_moments(
    mean: Floats, cov: Floats, x: Floats, s: Floats, floor: Floats
) -> tuple[Floats, Floats, Floats]:
    """N((c, j); mean, cov) x [1 - (1 - floor) Phi((c - x)/s) Phi((j - x)/s)].

    A missed clean and jerk when nobody wrote which part. mean float[n, 2], cov float[n, 2, 2],
    the others float[n]. Returns log Z float[n], mean, covariance.
    """
    sc = np.sqrt(cov[:, 0, 0] + s * s)
    sj = np.sqrt(cov[:, 1, 1] + s * s)
    h = (mean[:, 0] - x) / sc
    k = (mean[:, 1] - x) / sj
    rho = np.clip(cov[:, 0, 1] / (sc * sj), -0.999999, 0.999999)
    root = np.sqrt(1.0 - rho * rho)
    both = bivariate_cdf(h, k, rho)
    d_h = density(h) * ndtr((k - rho * h) / root)
    d_k = density(k) * ndtr((h - rho * k) / root)
    joint = density(h) * density((k - rho * h) / root) / root
    scale = -(1.0 - floor)
    z = np.maximum(1.0 + scale * both, 1e-300)
    grad = np.stack((d_h / sc, d_k / sj), axis=1) * (scale / z)[:, None]
    hess = np.empty_like(cov)
    hess[:, 0, 0] = (-h * d_h - rho * joint) / (sc * sc)
    hess[:, 1, 1] = (-k * d_k - rho * joint) / (sj * sj)
    hess[:, 0, 1] = hess[:, 1, 0] = joint / (sc * sj)
    hess *= (scale / z)[:, None, None]
    curve = hess - grad[:, :, None] * grad[:, None, :]
    new_mean = mean + np.einsum("nij,nj->ni", cov, grad)
    return np.log(z), new_mean, cov + cov @ curve @ cov


def bivariate_cdf(h: Floats, k: Floats, rho: Floats) -> Floats:
    """P(X < h, Y < k) for standard normals with correlation rho (Owen 1956, eq. 2.1)."""
    h = np.where(np.abs(h) < 1e-12, 1e-12, h)
    k = np.where(np.abs(k) < 1e-12, 1e-12, k)
    root = np.sqrt(1.0 - rho * rho)
    t_h = owens_t(h, (k - rho * h) / (h * root))
    t_k = owens_t(k, (h - rho * k) / (k * root))
    opposite = np.where(h * k > 0.0, 0.0, 0.5)
    cdf: Floats = np.clip(0.5 * (ndtr(h) + ndtr(k)) - t_h - t_k - opposite, 0.0, 1.0)
    return cdf


def minimum_of_two(
    mean_a: Floats, var_a: Floats, mean_b: Floats, var_b: Floats, cov: Floats
) -> tuple[Floats, Floats]:
    """Mean and variance of min(A, B) for jointly Gaussian A and B.

    Clark 1961, "The greatest of a finite set of random variables", eqs. 2-3, with signs
    turned for the minimum.
    """
    spread = np.sqrt(np.maximum(var_a + var_b - 2.0 * cov, 1e-18))
    alpha = (mean_b - mean_a) / spread
    cdf, pdf = ndtr(alpha), density(alpha)
    first = mean_a * cdf + mean_b * (1.0 - cdf) - spread * pdf
    second = (
        (var_a + mean_a**2) * cdf
        + (var_b + mean_b**2) * (1.0 - cdf)
        - (mean_a + mean_b) * spread * pdf
    )
    return first, second - first * first
