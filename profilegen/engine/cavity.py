"""One-dimensional expectation propagation: cavities, damped sites, and heavy tails."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from profilegen.engine.prior import Floats, Prior
from profilegen.engine.sites import odd_moments
from profilegen.engine.terms import Bools
from profilegen.norms.catalogue import Norms

DAMPING = 0.8
_TAIL_ROUNDS = 12
_TAIL_TOLERANCE = 1e-3


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
        aim_t = 1.0 / var - self.t
        aim_h = mean / var - self.h
        ok = self.ok & np.isfinite(aim_t) & np.isfinite(aim_h) & (var > 0.0)
        new_t = np.where(ok, site_t + DAMPING * (aim_t - site_t), site_t)
        new_h = np.where(ok, site_h + DAMPING * (aim_h - site_h), site_h)
        return new_t, new_h


@dataclass(frozen=True, slots=True)
class HeavyTail:
    """The mixture each quality follows, in variances of its lasting part."""

    share_odd: float
    var_usual: float
    var_odd: float

    @classmethod
    def of(cls, prior: Prior, norms: Norms) -> HeavyTail:
        """The mixture that the norms give this prior's qualities."""
        odd = prior.quality_lasting_var
        ratio = norms.constant("usual_quality_sd") / norms.constant("odd_quality_sd")
        return cls(norms.constant("odd_quality_share"), odd * ratio**2, odd)

    def moments(self, mean: Floats, var: Floats) -> tuple[Floats, Floats]:
        """Mean and variance of cavities times the tail factor (`sites.odd_moments`)."""
        _, new_mean, new_var = odd_moments(mean, var, self.share_odd, self.var_usual, self.var_odd)
        return new_mean, new_var

    def sites(self, mean: Floats, cov: Floats) -> tuple[Floats, Floats]:
        """Sites t, h float[6] of the tails for qualities known as N(mean, cov) without them.

        A small expectation propagation of its own, for answers about other rows than the
        fitted ones.
        """
        n = len(mean)
        t, h = np.zeros(n), np.zeros(n)
        now_mean, now_var = mean, cov.diagonal()
        for _ in range(_TAIL_ROUNDS):
            cavity = Cavity.of(now_var, now_mean, t, h)
            t, h = cavity.learnt(t, h, *self.moments(cavity.mean, cavity.var))
            gain = np.linalg.solve(np.eye(n) + t[:, None] * cov, np.eye(n))
            before = now_mean
            now_mean = mean + cov @ (gain @ (h - t * mean))
            now_var = np.einsum("ij,ji->i", cov, gain)
            if np.abs(now_mean - before).max() < _TAIL_TOLERANCE:
                break
        return t, h
