"""What is known after the evidence: a frozen Gaussian over everything one may ask about.

With sites (S, h) on the N capacities the rows speak of, any other functional z with prior
mean m_z and covariances C (to the N) and C_zz has, given the evidence,

    mean  m_z + C alpha,   alpha = (I + S K)^-1 (h - S m)
    cov   C_zz - C W C^T,  W = (I + S K)^-1 S

(Rasmussen & Williams 2006, eqs. 2.25-2.26 with Gaussian sites.) `Recall` answers from part
of the evidence without a new fit: that is how "what does the verdict rest on" is told.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import numpy as np
from scipy.special import ndtri
from scipy.stats import qmc

from profilegen.engine.arrays import Bools, Floats, Ints, inverse, solve
from profilegen.engine.cavity import Components, HeavyTail
from profilegen.engine.evidence import Row
from profilegen.engine.prior import Features, Prior
from profilegen.engine.terms import Sites, Stacked
from profilegen.norms.catalogue import QUALITIES, Norms

Z90 = 1.6448536269514722
"""95th percentile of the standard normal: half the width of a central 90 % interval."""
DRAWS = 2048
FEWER_DRAWS = 512
"""Enough to say how a chance changes without one lift's evidence (about 0.01)."""
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
    lasting_cov: Floats
    """Posterior covariance of the six lasting qualities, float[6, 6]."""

    @classmethod
    def of(cls, k: Floats, m: Floats, terms: Stacked, sites: Sites) -> Solved:
        """Solve for the sites given prior covariance k and mean m."""
        system, right = sites.system(terms, k, m)
        inverted = inverse(system)
        alpha = inverted @ right
        p, last = terms.pair.points, terms.lasting
        return cls(
            inverse=inverted,
            alpha=alpha,
            mu=m + k @ alpha,
            var=np.einsum("ij,ji->i", k, inverted),
            pair_cov=np.einsum("nia,anj->nij", k[p], inverted[:, p]),
            lasting_cov=k[last] @ inverted[:, last],
        )

    def tail_cavity(self, sites: Sites) -> tuple[Floats, Floats]:
        """Precision and precision x mean of the six lasting qualities without their tails."""
        precision = inverse(0.5 * (self.lasting_cov + self.lasting_cov.T))
        mean = self.mu[len(self.mu) - N_QUALITIES :]
        return precision - sites.tail_t, precision @ mean - sites.tail_h


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
        product: Floats = self.solved.inverse @ self.sites.times(self.terms, x)
        return product

    def sample(self, f: Features) -> Floats:
        """DRAWS quasi-random joint draws of any functionals, heavy tails exact."""
        n = len(f)
        mean, cov = self.gaussian(f.joined(self.terms.features.take(self.lasting)))
        tail = HeavyTail.of(self.prior, self.norms)
        parts = tail.components(*self.solved.tail_cavity(self.sites))
        return Tailed.of(mean, cov, n, parts).draws()

    @property
    def lasting(self) -> Ints:
        """Index of the lasting qualities among the N functionals."""
        size = len(self.terms)
        return np.arange(size - N_QUALITIES, size)

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
class Tailed:
    """Functionals z that are Gaussian given the lasting qualities, which are a mixture."""

    mean: Floats
    """Mean of z at `at`, float[d]."""
    gain: Floats
    """Change of z with the lasting qualities, float[d, 6]."""
    rest: Floats
    """Covariance of z given them, float[d, d]."""
    at: Floats
    parts: Components

    @classmethod
    def of(cls, mean: Floats, cov: Floats, n: int, parts: Components) -> Tailed:
        """From a joint Gaussian of (z, six lasting qualities), z the first `n`."""
        gain = solve(cov[n:, n:], cov[n:, :n]).T
        rest = cov[:n, :n] - gain @ cov[n:, :n]
        return cls(mean[:n], gain, 0.5 * (rest + rest.T), mean[n:], parts)

    def moments(self) -> tuple[Floats, Floats]:
        """Mean float[d] and covariance float[d, d] of z."""
        mean, cov = self.parts.moments()
        return self.mean + self.gain @ (mean - self.at), self.rest + self.gain @ cov @ self.gain.T

    def draws(self, n: int = DRAWS) -> Floats:
        """`n` (a power of two) quasi-random draws of z, float[n, d]; the same every run.

        Scrambled Sobol points (fixed seed): the first coordinate picks the case, six draw the
        lasting qualities, the others go along the principal axes of the rest, largest first,
        where the first coordinates are most even.
        """
        points = _sobol(1 + N_QUALITIES + len(self.mean))[:n]
        case = np.searchsorted(np.cumsum(self.parts.weight), points[:, 0], side="right")
        case = np.minimum(case, len(self.parts.weight) - 1)
        roots = np.linalg.cholesky(self.parts.cov)
        normals = points[:, 1 : 1 + N_QUALITIES]
        lasting = self.parts.mean[case] + np.einsum("mij,mj->mi", roots[case], normals)
        sample: Floats = self.mean + (lasting - self.at) @ self.gain.T
        sample += points[:, 1 + N_QUALITIES :] @ _principal_root(self.rest).T
        return sample


def _principal_root(cov: Floats) -> Floats:
    """A square root of cov with the widest axis first and signs that do not vary."""
    values, vectors = np.linalg.eigh(cov)
    order = np.argsort(values)[::-1]
    root: Floats = vectors[:, order] * np.sqrt(np.maximum(values[order], 0.0))
    largest = np.abs(root).argmax(axis=0)
    root *= np.where(root[largest, np.arange(len(largest))] < 0.0, -1.0, 1.0)
    return root


@lru_cache(maxsize=8)
def _sobol(dimension: int) -> Floats:
    """One uniform and `dimension` - 1 normal columns, float[DRAWS, dimension]."""
    points: Floats = qmc.Sobol(dimension, scramble=True, seed=20261).random(DRAWS)
    points[:, 1:] = ndtri(np.clip(points[:, 1:], 1e-12, 1.0 - 1e-12))
    points.flags.writeable = False
    return points


@dataclass(frozen=True, slots=True)
class Recall:
    """Answers about some functionals from part of the evidence, without fitting again.

    The sites of the rows that stay are kept as they were learnt, rows left out are taken
    down; the heavy tails are exact for whatever stays.
    """

    posterior: Posterior
    n: int
    cross: Floats
    mean: Floats
    cov: Floats

    @classmethod
    def of(cls, posterior: Posterior, f: Features) -> Recall:
        """Prepare for functionals `f`; their prior is worked out once."""
        prior, features = posterior.prior, posterior.terms.features
        both = f.joined(features.take(posterior.lasting))
        cross, cov = prior.cov(both, features), prior.cov(both, both)
        return cls(posterior, len(f), cross, prior.mean(both), cov)

    def given(self, kept: Bools) -> Tailed:
        """What the rows marked in `kept` say."""
        post = self.posterior
        sites = post.sites.of_rows(post.terms, kept)
        spoken_of = sites.spoken_of(post.terms)
        system, right = sites.system(post.terms, post.k, post.m)
        asked = np.column_stack((right, sites.times(post.terms, self.cross.T)))
        # where no row speaks, the system's row is that of the identity and its right side 0
        solved = np.zeros_like(asked)
        solved[spoken_of] = solve(system[np.ix_(spoken_of, spoken_of)], asked[spoken_of])
        mean = self.mean + self.cross @ solved[:, 0]
        cov = self.cov - self.cross @ solved[:, 1:]
        precision = inverse(cov[self.n :, self.n :])
        tail = HeavyTail.of(post.prior, post.norms)
        parts = tail.components(0.5 * (precision + precision.T), precision @ mean[self.n :])
        return Tailed.of(mean, cov, self.n, parts)

    def without(self, lift: str) -> Tailed:
        """With the rows of one lift left out."""
        return self.given(np.array([row.lift != lift for row in self.posterior.rows], dtype=bool))

    def only(self, lift: str) -> Tailed:
        """With nothing but the rows of one lift."""
        return self.given(np.array([row.lift == lift for row in self.posterior.rows], dtype=bool))
