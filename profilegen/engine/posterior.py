"""What is known after the evidence: a frozen Gaussian over everything one may ask about.

With sites (S, h) on the N capacities the rows speak of, any other functional z with prior
mean m_z and covariances C (to the N) and C_zz has, given the evidence,

    mean  m_z + C alpha,   alpha = (I + S K)^-1 (h - S m)
    cov   C_zz - C W C^T,  W = (I + S K)^-1 S

(Rasmussen & Williams 2006, eqs. 2.25-2.26 with Gaussian sites.) `Recall` answers from part
of the evidence without a new fit: that is how "what does the verdict rest on" is told.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache

import numpy as np
from scipy.special import ndtri
from scipy.stats import qmc

from profilegen.engine.cavity import HeavyTail
from profilegen.engine.evidence import Row
from profilegen.engine.prior import Features, Floats, Ints, Prior
from profilegen.engine.terms import Bools, Sites, Stacked
from profilegen.norms.catalogue import QUALITIES, Norms

Z90 = 1.6448536269514722
"""95th percentile of the standard normal: half the width of a central 90 % interval."""
DRAWS = 2048
N_QUALITIES = len(QUALITIES)


@dataclass(frozen=True, slots=True)
class Solved:
    """The linear algebra for one set of sites."""

    inverse: Floats
    """(I + S K)^-1, float[N, N]."""
    alpha: Floats
    mu: Floats
    """Posterior means of the N capacities."""
    var: Floats
    """Their posterior variances."""
    pair_cov: Floats
    """Posterior covariance of each (clean, jerk) pair of rows, float[n_pair, 2, 2]."""

    @classmethod
    def of(cls, k: Floats, m: Floats, terms: Stacked, sites: Sites) -> Solved:
        """Solve for the sites given prior covariance k and mean m."""
        diagonal, between, h = sites.summed(terms)
        p = terms.pair.points
        system = _times(diagonal, between, p, k)
        system.flat[:: len(m) + 1] += 1.0
        inverse: Floats = np.linalg.inv(system)
        alpha = inverse @ (h - _times(diagonal, between, p, m[:, None])[:, 0])
        var = np.einsum("ij,ji->i", k, inverse)
        pair_cov = np.einsum("nia,anj->nij", k[p], inverse[:, p])
        return cls(inverse, alpha, m + k @ alpha, var, pair_cov)


def _times(diagonal: Floats, between: Floats, pairs: Ints, x: Floats) -> Floats:
    """S x for the block-sparse S: a diagonal and one number between each pair."""
    product: Floats = diagonal[:, None] * x
    if len(pairs):
        np.add.at(product, pairs[:, 0], between[:, None] * x[pairs[:, 1]])
        np.add.at(product, pairs[:, 1], between[:, None] * x[pairs[:, 0]])
    return product


@dataclass(frozen=True, slots=True)
class Posterior:
    """One lifter's posterior; build it with `inference.fit`."""

    prior: Prior
    norms: Norms
    on: date
    rows: tuple[Row, ...]
    used: Bools
    """Which rows took part; the rest said nothing new."""
    terms: Stacked
    k: Floats
    m: Floats
    sites: Sites
    solved: Solved
    rounds: int
    moved: float
    """Largest change of a mean in the last round, log units."""
    converged: bool

    def gaussian(self, f: Features) -> tuple[Floats, Floats]:
        """Posterior mean float[m] and covariance float[m, m] of any functionals."""
        cross = self.prior.cov(f, self.terms.features)
        mean = self.prior.mean(f) + cross @ self.solved.alpha
        cov = self.prior.cov(f, f) - cross @ self.weigh(cross.T)
        return mean, 0.5 * (cov + cov.T)

    def weigh(self, x: Floats) -> Floats:
        """W x = (I + S K)^-1 S x for float[N, m]."""
        diagonal, between, _ = self.sites.summed(self.terms)
        product: Floats = self.solved.inverse @ _times(diagonal, between, self.terms.pair.points, x)
        return product

    def marginal(self, f: Features) -> tuple[Floats, Floats]:
        """Posterior means and variances only, float[m] each."""
        cross = self.prior.cov(f, self.terms.features)
        mean = self.prior.mean(f) + cross @ self.solved.alpha
        prior_var = self.prior.variance(f)
        var = prior_var - np.einsum("ij,ji->i", cross, self.weigh(cross.T))
        return mean, np.maximum(var, 1e-12)

    def state(self, day: float | None = None) -> tuple[Floats, Floats]:
        """Mean and covariance of (six qualities, every lift) on a day, form left out."""
        return self.gaussian(self.state_features(day))

    def state_features(self, day: float | None = None) -> Features:
        """The functionals behind `state`: six qualities, then the lifts in catalogue order."""
        when = float(self.on.toordinal()) if day is None else day
        n = len(self.prior.lift_ids)
        lifts = self.prior.lift_features(np.arange(n), np.full(n, when))
        return self.prior.quality_features(when).joined(lifts)

    def index(self, lift: str) -> int:
        """Column of a lift in `state` and in draws of it."""
        return N_QUALITIES + self.prior.lift_ids.index(lift)


@dataclass(frozen=True, slots=True)
class Recall:
    """Answers about some functionals from part of the evidence, without fitting again.

    The sites of the rows that stay are kept as they were learnt; rows left out are taken
    down, and the heavy tails of the qualities are learnt anew (six numbers).
    """

    posterior: Posterior
    cross: Floats
    mean: Floats
    cov: Floats

    @classmethod
    def of(cls, posterior: Posterior, f: Features) -> Recall:
        """Prepare for functionals `f`; their prior is worked out once."""
        prior, features = posterior.prior, posterior.terms.features
        both = f.joined(features.take(posterior.terms.odd_point))
        return cls(posterior, prior.cov(both, features), prior.mean(both), prior.cov(both, both))

    def given(self, kept: Bools) -> tuple[Floats, Floats]:
        """Mean float[m] and covariance float[m, m] from the rows marked in `kept`."""
        post = self.posterior
        terms = post.terms
        sites = post.sites.of_rows(terms, kept)
        nothing = np.zeros(N_QUALITIES)
        sites = replace(sites, odd_t=nothing, odd_h=nothing)
        diagonal, between, h = sites.summed(terms)
        system = _times(diagonal, between, terms.pair.points, post.k)
        system.flat[:: len(h) + 1] += 1.0
        asked = np.column_stack((post.m, self.cross.T))
        right = _times(diagonal, between, terms.pair.points, asked)
        right[:, 0] = h - right[:, 0]
        solved = np.linalg.solve(system, right)
        mean = self.mean + self.cross @ solved[:, 0]
        cov = self.cov - self.cross @ solved[:, 1:]
        tail = HeavyTail.of(post.prior, post.norms)
        n = len(mean) - N_QUALITIES
        t, tail_h = tail.sites(mean[n:], cov[n:, n:])
        gain = np.linalg.inv(np.eye(N_QUALITIES) + t[:, None] * cov[n:, n:])
        mean = mean + cov[:, n:] @ (gain @ (tail_h - t * mean[n:]))
        cov = cov - cov[:, n:] @ (gain @ (t[:, None] * cov[n:, :]))
        return mean[:n], 0.5 * (cov + cov.T)[:n, :n]

    def without(self, lift: str) -> tuple[Floats, Floats]:
        """With the rows of one lift left out."""
        return self.given(np.array([row.lift != lift for row in self.posterior.rows], dtype=bool))

    def only(self, lift: str) -> tuple[Floats, Floats]:
        """With nothing but the rows of one lift."""
        return self.given(np.array([row.lift == lift for row in self.posterior.rows], dtype=bool))


def draws(mean: Floats, cov: Floats) -> Floats:
    """DRAWS quasi-random draws from a Gaussian, float[DRAWS, d]; the same every run.

    Scrambled Sobol points (fixed seed) go along the principal axes, largest first, where
    their first coordinates are most even.
    """
    values, vectors = np.linalg.eigh(cov)
    order = np.argsort(values)[::-1]
    scaled = vectors[:, order] * np.sqrt(np.maximum(values[order], 0.0))
    # eigh leaves the sign of an axis open; fix it so that builds agree
    largest = np.abs(scaled).argmax(axis=0)
    scaled = scaled * np.where(scaled[largest, np.arange(len(largest))] < 0.0, -1.0, 1.0)
    sample: Floats = mean + _normals(len(mean)) @ scaled.T
    return sample


@lru_cache(maxsize=8)
def _normals(dimension: int) -> Floats:
    points = qmc.Sobol(dimension, scramble=True, seed=20261).random(DRAWS)
    normals: Floats = ndtri(np.clip(points, 1e-12, 1.0 - 1e-12))
    normals.flags.writeable = False
    return normals
