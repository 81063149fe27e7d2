"""The exact posterior by sampling: slow, and without the engine's approximation.

Elliptical slice sampling (Murray, Adams & MacKay 2010) over the capacities that the rows
speak of and the lasting parts of the six qualities. Rows that say "about this much" are
Gaussian and are taken into the Gaussian reference exactly; floors, misses, the minimum and
the heavy tails of the qualities are the likelihood, written here afresh from the method's
table. Many independent chains run side by side, so that the spread between their means is
an honest Monte Carlo error.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import cho_factor, cho_solve, cholesky
from scipy.special import log_ndtr, ndtr

from profilegen.engine.arrays import Floats
from profilegen.engine.evidence import Row, Term
from profilegen.engine.prior import Features, Prior
from profilegen.engine.terms import features_at
from profilegen.norms.catalogue import QUALITIES, Norms

N_QUALITIES = len(QUALITIES)


@dataclass(frozen=True)
class Target:
    """A lifter's posterior as Gaussian reference N(mean, root root^T) x likelihood.

    The d coordinates are capacities of lifts on days, then the six lasting qualities.
    """

    prior: Prior
    features: Features
    mean: Floats
    root: Floats
    terms: dict[str, tuple[Floats, Floats, Floats, Floats]]
    """By kind: coordinates int[n, 1 or 2], x, sd, fluke as float[n, 1]."""
    tail: tuple[float, float, float]
    """Share of odd qualities; variances of usual and odd lasting parts."""

    @classmethod
    def of(cls, prior: Prior, rows: Sequence[Row], norms: Norms, today: float) -> Target:
        share, usual, odd = _tail(prior, norms)
        # a reference as wide as the qualities are, not as wide as an odd one, mixes better
        prior = replace(prior, quality_lasting_var=(1.0 - share) * usual + share * odd)
        spots: dict[tuple[str, int, str], int] = {}
        places: list[tuple[Row, str]] = []
        found: dict[str, list[tuple[list[int], Term]]] = {
            kind: [] for kind in ("about", "floor", "missed", "minimum", "either")
        }
        for row in rows:
            for term in row.terms:
                for lift in term.lifts:
                    if (lift, row.form, row.at) not in spots:
                        spots[lift, row.form, row.at] = len(places)
                        places.append((row, lift))
                where = [spots[lift, row.form, row.at] for lift in term.lifts]
                found[term.kind].append((where, term))
        features = features_at(prior, places).joined(prior.quality_features(today, lasting=True))
        mean, cov = prior.mean(features), prior.cov(features, features)
        about = found.pop("about")
        if about:
            at = np.array([where[0] for where, _ in about])
            noise = np.diag([term.sd**2 for _, term in about])
            gain = np.linalg.solve(cov[np.ix_(at, at)] + noise, cov[at]).T
            mean = mean + gain @ (np.array([term.x for _, term in about]) - mean[at])
            cov = cov - gain @ cov[at]
        return cls(
            prior,
            features,
            mean,
            cholesky(0.5 * (cov + cov.T) + 1e-13 * np.eye(len(mean)), lower=True),
            {kind: _columns(terms) for kind, terms in found.items() if terms},
            (share, usual, odd),
        )

    def log_likelihood(self, f: Floats) -> Floats:
        """Log of everything but the Gaussian reference, at float[d, chains]; float[chains]."""
        value = self._log_tails(f[-N_QUALITIES:])
        for kind, (where, x, sd, fluke) in self.terms.items():
            if kind == "floor":
                value += log_ndtr((f[where[:, 0]] - x) / sd).sum(axis=0)
            elif kind == "missed":
                not_made = ndtr((x - f[where[:, 0]]) / sd)
                value += np.log(fluke + (1.0 - fluke) * not_made).sum(axis=0)
            elif kind == "minimum":
                z = (x - np.minimum(f[where[:, 0]], f[where[:, 1]])) / sd
                value -= 0.5 * (z * z).sum(axis=0)
            else:
                both = ndtr((f[where[:, 0]] - x) / sd) * ndtr((f[where[:, 1]] - x) / sd)
                value += np.log(1.0 - (1.0 - fluke) * both).sum(axis=0)
        return value

    def _log_tails(self, q: Floats) -> Floats:
        """Log of the heavy-tailed mixture over the reference, summed over qualities."""
        share, usual, odd = self.tail
        reference = self.prior.quality_lasting_var
        value = -np.log(_density(q, reference))
        value += np.log((1.0 - share) * _density(q, usual) + share * _density(q, odd))
        total: Floats = value.sum(axis=0)
        return total

    def then(self, asked: Features) -> tuple[Floats, Floats, Floats]:
        """Given coordinates f, other functionals are N(shift + gain f, root root^T)."""
        prior = self.prior
        factor = cho_factor(prior.cov(self.features, self.features))
        cross = prior.cov(asked, self.features)
        gain = cho_solve(factor, cross.T).T
        cov = prior.cov(asked, asked) - gain @ cross.T
        values, vectors = np.linalg.eigh(0.5 * (cov + cov.T))
        root = vectors * np.sqrt(np.maximum(values, 0.0))
        return prior.mean(asked) - gain @ prior.mean(self.features), gain, root


def _tail(prior: Prior, norms: Norms) -> tuple[float, float, float]:
    usual, odd = norms.constant("usual_quality_sd"), norms.constant("odd_quality_sd")
    wide = prior.quality_lasting_var
    return norms.constant("odd_quality_share"), wide * (usual / odd) ** 2, wide


def _density(x: Floats, var: float) -> Floats:
    value: Floats = np.exp(-0.5 * x * x / var) / np.sqrt(2.0 * np.pi * var)
    return value


def _columns(terms: list[tuple[list[int], Term]]) -> tuple[Floats, Floats, Floats, Floats]:
    where = np.array([where for where, _ in terms])
    numbers = ([getattr(term, name)] for name in ("x", "sd", "fluke") for _, term in terms)
    x, sd, fluke = np.array(list(numbers)).reshape(3, len(terms), 1)
    return where, x, sd, fluke


def slice_sample(
    target: Target, rng: np.random.Generator, chains: int, steps: int, burn_in: int, thin: int = 1
) -> Floats:
    """Draws of the d coordinates, float[kept, d, chains]."""
    d = len(target.mean)
    centre = target.mean[:, None]
    f = target.root @ rng.standard_normal((d, chains))
    level = target.log_likelihood(centre + f)
    kept = []
    for step in range(burn_in + steps):
        other = target.root @ rng.standard_normal((d, chains))
        least = level + np.log(rng.random(chains))
        angle = rng.uniform(0.0, 2.0 * np.pi, chains)
        low, high = angle - 2.0 * np.pi, angle.copy()
        active = np.arange(chains)
        while len(active):
            a = angle[active]
            proposal = f[:, active] * np.cos(a) + other[:, active] * np.sin(a)
            there = target.log_likelihood(centre + proposal)
            good = there > least[active]
            done = active[good]
            f[:, done], level[done] = proposal[:, good], there[good]
            active = active[~good]
            a = angle[active]
            low[active] = np.where(a < 0.0, a, low[active])
            high[active] = np.where(a < 0.0, high[active], a)
            angle[active] = rng.uniform(low[active], high[active])
        if step >= burn_in and (step - burn_in) % thin == 0:
            kept.append(centre + f)
    return np.array(kept)


@dataclass(frozen=True)
class Sampled:
    """Draws of asked-for functionals with their Monte Carlo errors."""

    draws: Floats
    """float[kept, asked, chains]."""

    @property
    def mean(self) -> Floats:
        return self.draws.mean(axis=(0, 2))

    @property
    def sd(self) -> Floats:
        return self.draws.std(axis=(0, 2))

    @property
    def mean_error(self) -> Floats:
        """Standard error of `mean` from the spread between independent chains."""
        means = self.draws.mean(axis=0)
        error: Floats = means.std(axis=1, ddof=1) / np.sqrt(means.shape[1])
        return error

    @property
    def sd_error(self) -> Floats:
        """Standard error of `sd`, by the delta method on the chains' second moments."""
        centred = self.draws - self.mean[None, :, None]
        second = (centred**2).mean(axis=0)
        error: Floats = second.std(axis=1, ddof=1) / np.sqrt(second.shape[1]) / (2.0 * self.sd)
        return error

    @property
    def flat(self) -> Floats:
        """All draws, float[kept x chains, asked]."""
        return np.moveaxis(self.draws, 1, 2).reshape(-1, self.draws.shape[1])


def sample(
    target: Target, asked: Features, rng: np.random.Generator,
    *, chains: int, steps: int, burn_in: int, thin: int = 1,
) -> Sampled:  # fmt: skip
    """Draws of any functionals from the exact posterior."""
    f = slice_sample(target, rng, chains, steps, burn_in, thin)
    shift, gain, root = target.then(asked)
    noise = root @ rng.standard_normal((len(f), root.shape[1], chains))
    return Sampled(shift[None, :, None] + gain @ f + noise)
