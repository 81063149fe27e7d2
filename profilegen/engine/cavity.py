"""Cavities, damped sites, and the heavy tails of the qualities."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np

from profilegen.engine.arrays import Bools, Floats, inverse
from profilegen.engine.prior import Prior
from profilegen.norms.catalogue import QUALITIES, Norms

DAMPING = 0.8
_USUAL = np.array(list(product((1.0, 0.0), repeat=len(QUALITIES))))
"""Which qualities are usual, case by case: float[64, 6]."""


@dataclass(frozen=True, slots=True)
class Cavity:
    """What everything but one site says, for n sites; only `ok` ones may learn."""

    t: Floats
    h: Floats
    ok: Bools

    @classmethod
    def of(cls, var: Floats, mean: Floats, site_t: Floats, site_h: Floats) -> Cavity:
        """Take each site out of the marginal it sits in; all float[n]."""
        t = 1.0 / var - site_t
        h = mean / var - site_h
        ok = t > 0.0
        return cls(np.where(ok, t, 1.0), np.where(ok, h, 0.0), ok)

    @property
    def var(self) -> Floats:
        """Cavity variances."""
        return 1.0 / self.t

    @property
    def mean(self) -> Floats:
        """Cavity means."""
        return self.h / self.t

    def learnt(
        self, site_t: Floats, site_h: Floats, mean: Floats, var: Floats
    ) -> tuple[Floats, Floats]:
        """The sites moved, damped, towards giving `mean` and `var`."""
        # a miss that was likely a fluke asks for a precision below 0: it may not make the rest
        # improper, so it keeps the mean and gives up the width
        aim_t = np.maximum(1.0 / var - self.t, 0.0)
        aim_h = mean * (self.t + aim_t) - self.h
        ok = self.ok & np.isfinite(aim_t) & np.isfinite(aim_h) & (var > 0.0)
        new_t = np.where(ok, site_t + DAMPING * (aim_t - site_t), site_t)
        new_h = np.where(ok, site_h + DAMPING * (aim_h - site_h), site_h)
        return new_t, new_h


@dataclass(frozen=True, slots=True)
class Components:
    """A mixture of `n` Gaussians over the six lasting qualities."""

    weight: Floats
    """float[n], sums to 1."""
    mean: Floats
    """float[n, 6]."""
    cov: Floats
    """float[n, 6, 6]."""

    def moments(self) -> tuple[Floats, Floats]:
        """Mean float[6] and covariance float[6, 6] of the mixture."""
        mean: Floats = self.weight @ self.mean
        away = self.mean - mean
        cov: Floats = np.einsum("n,nij->ij", self.weight, self.cov)
        cov += np.einsum("n,ni,nj->ij", self.weight, away, away)
        return mean, cov


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

    def components(self, precision: Floats, h: Floats) -> Components:
        """The 64 cases for qualities that all the rest knows as N(P^-1 h, P^-1).

        precision float[6, 6], h float[6]. Each case multiplies the rest by its factors; its
        weight is the integral, by the usual formula for a product of Gaussians.
        """
        added = (1.0 / self.var_usual - 1.0 / self.var_odd) * _USUAL
        case = precision + added[:, :, None] * np.eye(len(h))
        cov = inverse(case)
        mean: Floats = cov @ h
        log_usual = np.log1p(-self.share_odd) + 0.5 * np.log(self.var_odd / self.var_usual)
        n_usual = _USUAL.sum(axis=1)
        log_weight = n_usual * log_usual + (len(h) - n_usual) * np.log(self.share_odd)
        log_weight += 0.5 * (mean @ h - np.linalg.slogdet(case)[1])
        weight: Floats = np.exp(log_weight - log_weight.max())
        return Components(weight / weight.sum(), mean, cov)
