"""The heavy tails of the qualities, and mixtures of Gaussians."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from scipy.special import ndtr, ndtri

from profilegen.engine.arrays import Floats, inverse
from profilegen.engine.prior import Prior
from profilegen.norms.catalogue import QUALITIES, Norms

_STEPS = 12
_CLOSE = 1e-7
"""Of a normal score: far less than any digit that is shown."""
_LEAST_SHARE = 1e-12
USUAL = np.array(list(product((1.0, 0.0), repeat=len(QUALITIES))))
"""Which qualities are usual, case by case: float[64, 6]."""


@dataclass(frozen=True, slots=True)
class Components:
    """A mixture of `n` Gaussians over d numbers."""

    weight: Floats
    """float[n], sums to 1."""
    mean: Floats
    """float[n, d]."""
    cov: Floats
    """float[n, d, d]."""

    def moments(self) -> tuple[Floats, Floats]:
        """Mean float[d] and covariance float[d, d] of the mixture."""
        mean: Floats = self.weight @ self.mean
        away = self.mean - mean
        cov: Floats = np.einsum("n,nij->ij", self.weight, self.cov)
        cov += np.einsum("n,ni,nj->ij", self.weight, away, away)
        return mean, cov


def mixed_quantiles(weight: Floats, mean: Floats, sd: Floats, share: float) -> Floats:
    """The quantile of d mixtures of n Gaussians each, float[d].

    weight float[n], sums to 1; mean, sd float[n, d]. Newton's method on the normal score of the
    mixture's distribution, which for one Gaussian is a straight line; a bracket keeps it from
    running away between two bells.
    """
    z = ndtri(share)
    low, high = (mean + z * sd).min(axis=0), (mean + z * sd).max(axis=0)
    middle = weight @ mean
    spread = np.sqrt(weight @ (sd * sd + (mean - middle) ** 2))
    at = np.clip(middle + z * spread, low, high)
    for _ in range(_STEPS):
        away = (at - mean) / sd
        score = ndtri(np.clip(weight @ ndtr(away), _LEAST_SHARE, 1.0 - _LEAST_SHARE))
        if np.abs(score - z).max(initial=0.0) < _CLOSE:
            break
        low, high = np.where(score < z, at, low), np.where(score < z, high, at)
        density = weight @ (np.exp(-0.5 * away * away) / sd)
        step = at - (score - z) * np.exp(-0.5 * score * score) / np.maximum(density, 1e-300)
        at = np.where((step >= low) & (step <= high), step, 0.5 * (low + high))
    return np.asarray(at, dtype=np.float64)


@dataclass(frozen=True, slots=True)
class HeavyTail:
    """Each quality is usual, N(0, var_usual), or with chance share_odd odd, N(0, var_odd).

    The process gives each lasting quality the wide variance, so "usual" is one more Gaussian
    factor at 0 with precision 1 / var_usual - 1 / var_odd. Which of the six are odd leaves
    64 cases; all are kept, so that this part of the model is exact.
    """

    share_odd: float
    var_usual: float
    var_odd: float

    @classmethod
    def of(cls, prior: Prior, norms: Norms) -> HeavyTail:
        """The mixture that the norms give this prior's qualities."""
        odd = prior.quality_lasting_var
        ratio = norms.constant("usual_quality_sd") / norms.constant("odd_quality_sd")
        return cls(norms.constant("odd_quality_share"), odd * ratio**2, odd)

    def weighed(self, precision: Floats, h: Floats) -> tuple[Floats, Components]:
        """Log weights float[64] (up to one constant) and the 64 cases themselves.

        The rest knows the qualities as N(P^-1 h, P^-1); precision float[6, 6], h float[6].
        Each case multiplies that by its factors; its weight is the integral, by the usual
        formula for a product of Gaussians.
        """
        added = (1.0 / self.var_usual - 1.0 / self.var_odd) * USUAL
        case = precision + added[:, :, None] * np.eye(len(h))
        cov = inverse(case)
        mean: Floats = cov @ h
        log_usual = np.log1p(-self.share_odd) + 0.5 * np.log(self.var_odd / self.var_usual)
        n_usual = USUAL.sum(axis=1)
        log_weight: Floats = n_usual * log_usual + (len(h) - n_usual) * np.log(self.share_odd)
        log_weight += 0.5 * (mean @ h - np.linalg.slogdet(case)[1])
        weight: Floats = np.exp(log_weight - log_weight.max())
        return log_weight, Components(weight / weight.sum(), mean, cov)

    def components(self, precision: Floats, h: Floats) -> Components:
        """The 64 cases with their weights; see `weighed`."""
        return self.weighed(precision, h)[1]
