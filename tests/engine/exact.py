"""The exact posterior by sampling: slow, and without the engine's approximation.

The unknowns are the capacities that rows speak of, the lasting parts of the six qualities,
and which of the qualities are odd (far off). Two exact steps take turns:

- given which are odd, everything but floors, misses and clean and jerks is Gaussian, so
  elliptical slice sampling (Murray, Adams & MacKay 2010) moves the capacities and qualities
  under the likelihood of those rows, written here afresh from the method's table;
- given a quality, whether it is odd follows Bayes' rule.

Many independent chains run side by side, so that the spread between their means is an
honest Monte Carlo error.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from scipy.linalg import cho_factor, cho_solve
from scipy.special import log_ndtr, ndtr

from profilegen.engine.arrays import Bools, Floats, Ints
from profilegen.engine.evidence import Row, Term
from profilegen.engine.prior import Features, Prior
from profilegen.engine.terms import features_at
from profilegen.norms.catalogue import QUALITIES, Norms

N_QUALITIES = len(QUALITIES)
ODD = np.array(list(product((False, True), repeat=N_QUALITIES)))
"""Which qualities are odd, case by case: bool[64, 6]; the case's number is the binary one."""
_BINARY = 2 ** np.arange(N_QUALITIES)[::-1]


@dataclass(frozen=True)
class Tail:
    """A lasting quality is N(0, usual) or, with chance `share`, N(0, odd)."""

    share: float
    usual: float
    odd: float

    @classmethod
    def of(cls, prior: Prior, norms: Norms) -> Tail:
        odd = prior.quality_lasting_var
        ratio = norms.constant("usual_quality_sd") / norms.constant("odd_quality_sd")
        return cls(norms.constant("odd_quality_share"), odd * ratio**2, odd)

    def densities(self, q: Floats) -> tuple[Floats, Floats]:
        """Density of q and usual, and of q and odd."""
        usual = (1.0 - self.share) * _density(q, self.usual)
        return usual, self.share * _density(q, self.odd)

    def drawn_odd(self, q: Floats, rng: np.random.Generator) -> Bools:
        """Whether each quality is odd, drawn given its value."""
        usual, odd = self.densities(q)
        drawn: Bools = rng.random(q.shape) < odd / (usual + odd)
        return drawn


def _density(x: Floats, var: float) -> Floats:
    value: Floats = np.exp(-0.5 * x * x / var) / np.sqrt(2.0 * np.pi * var)
    return value


@dataclass(frozen=True)
class Target:
    """A lifter's posterior over d coordinates: capacities on days, then lasting qualities."""

    prior: Prior
    features: Features
    tail: Tail
    means: Floats
    """By case of odd qualities, with the Gaussian rows taken in: float[64, d]."""
    roots: Floats
    """Square roots of the covariances, float[64, d, d]."""
    about: tuple[Floats, Floats, Floats, Floats] | None
    """The Gaussian rows, in the same form as `terms`."""
    terms: dict[str, tuple[Floats, Floats, Floats, Floats]]
    """By kind: coordinates int[n, 1 or 2], x, sd, fluke as float[n, 1]."""

    @classmethod
    def of(cls, prior: Prior, rows: Sequence[Row], norms: Norms, today: float) -> Target:
        spots: dict[tuple[str, int, str], int] = {}
        places: list[tuple[Row, str]] = []
        found: dict[str, list[tuple[list[int], Term]]] = {}
        for row in rows:
            for term in row.terms:
                for lift in term.lifts:
                    if (lift, row.form, row.at) not in spots:
                        spots[lift, row.form, row.at] = len(places)
                        places.append((row, lift))
                where = [spots[lift, row.form, row.at] for lift in term.lifts]
                found.setdefault(term.kind, []).append((where, term))
        features = features_at(prior, places).joined(prior.quality_features(today, lasting=True))
        tail = Tail.of(prior, norms)
        columns = {kind: _columns(terms) for kind, terms in found.items()}
        about = columns.pop("about", None)
        mean, wide = prior.mean(features), prior.cov(features, features)
        loading = wide[:, -N_QUALITIES:] / tail.odd
        means, roots = [], []
        for odd in ODD:
            narrower = np.where(odd, 0.0, tail.odd - tail.usual)
            m, cov = _given(mean, wide - (loading * narrower) @ loading.T, about)
            means.append(m)
            values, vectors = np.linalg.eigh(0.5 * (cov + cov.T))
            roots.append(vectors * np.sqrt(np.maximum(values, 0.0)))
        return cls(prior, features, tail, np.array(means), np.array(roots), about, columns)

    def log_likelihood(self, f: Floats) -> Floats:
        """Log likelihood of the rows that are not Gaussian at float[d, chains]; float[chains]."""
        value = np.zeros(f.shape[1])
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

    def then(self, asked: Features) -> tuple[Floats, Floats, Floats]:
        """Given coordinates f, other functionals are N(shift + gain f, root root^T).

        The lasting qualities are among the coordinates, so that their tails do not matter.
        """
        prior = self.prior
        factor = cho_factor(prior.cov(self.features, self.features))
        cross = prior.cov(asked, self.features)
        gain = cho_solve(factor, cross.T).T
        cov = prior.cov(asked, asked) - gain @ cross.T
        values, vectors = np.linalg.eigh(0.5 * (cov + cov.T))
        root = vectors * np.sqrt(np.maximum(values, 0.0))
        return prior.mean(asked) - gain @ prior.mean(self.features), gain, root


def _columns(terms: list[tuple[list[int], Term]]) -> tuple[Floats, Floats, Floats, Floats]:
    where = np.array([where for where, _ in terms])
    numbers = ([getattr(term, name)] for name in ("x", "sd", "fluke") for _, term in terms)
    x, sd, fluke = np.array(list(numbers)).reshape(3, len(terms), 1)
    return where, x, sd, fluke


def _given(
    mean: Floats, cov: Floats, about: tuple[Floats, Floats, Floats, Floats] | None
) -> tuple[Floats, Floats]:
    """A Gaussian with the Gaussian rows taken in."""
    if about is None:
        return mean, cov
    where, x, sd, _ = about
    at = where[:, 0]
    gain = np.linalg.solve(cov[np.ix_(at, at)] + np.diag(sd[:, 0] ** 2), cov[at]).T
    return mean + gain @ (x[:, 0] - mean[at]), cov - gain @ cov[at]


def slice_sample(
    target: Target, rng: np.random.Generator, chains: int, steps: int, burn_in: int, thin: int = 1
) -> Floats:
    """Draws of the d coordinates, float[kept, d, chains]."""
    d = target.means.shape[1]
    case: Ints = (rng.random((chains, N_QUALITIES)) < target.tail.share) @ _BINARY

    def fresh() -> Floats:
        """A draw from each chain's Gaussian, less its mean; float[d, chains]."""
        drawn: Floats = np.einsum(
            "cij,jc->ic", target.roots[case], rng.standard_normal((d, chains))
        )
        return drawn

    at = target.means[case].T + fresh()
    kept = []
    for step in range(burn_in + steps):
        centre = target.means[case].T
        at = centre + _slice_step(target, centre, at - centre, fresh(), rng)
        case = target.tail.drawn_odd(at[-N_QUALITIES:].T, rng) @ _BINARY
        if step >= burn_in and (step - burn_in) % thin == 0:
            kept.append(at)
    return np.array(kept)


def _slice_step(
    target: Target, centre: Floats, f: Floats, other: Floats, rng: np.random.Generator
) -> Floats:
    """One step along the ellipse through `f` and `other`, every chain on its own."""
    f = f.copy()
    chains = f.shape[1]
    least = target.log_likelihood(centre + f) + np.log(rng.random(chains))
    angle = rng.uniform(0.0, 2.0 * np.pi, chains)
    low, high = angle - 2.0 * np.pi, angle.copy()
    active = np.arange(chains)
    while len(active):
        a = angle[active]
        proposal = f[:, active] * np.cos(a) + other[:, active] * np.sin(a)
        good = target.log_likelihood(centre[:, active] + proposal) > least[active]
        f[:, active[good]] = proposal[:, good]
        active, a = active[~good], a[~good]
        low[active] = np.where(a < 0.0, a, low[active])
        high[active] = np.where(a < 0.0, high[active], a)
        angle[active] = rng.uniform(low[active], high[active])
    return f


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
