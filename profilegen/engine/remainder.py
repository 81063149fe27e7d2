"""What the Gaussian sites leave out of a case, to second order.

A case is exactly q(x) times one factor F per place: what the rows say there over what their
sites say there. Expectation propagation chooses the sites so that no single factor changes q's
mean or covariance; that several factors on nearly the same capacity do so together is left out,
and makes spreads too small. Here each factor is written in Hermite polynomials of its place,
F = sum of a_l He_l(z) / l!, and their product is taken to the second order (Opper, Paquet &
Winther 2013, "Perturbative corrections for approximate inference in Gaussian latent variable
models", JMLR 14). As <He_k(y) He_l(z)> is l! r^l for k = l and 0 otherwise, r being the
correlation of two places, everything is a short sum over l. Factors of first order count as
well, so that sites need not have come to rest.

Places are the capacities of floors and misses, all rows on one together, and jerk - clean where
one of the two is known to be the smaller. A clean and jerk missed in a part that nobody wrote
speaks of two numbers at once and stays with its site.

Shapes: S cases, P places, A active capacities; arrays lead with S.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import factorial

import numpy as np
from scipy.special import log_ndtr

from profilegen.engine.arrays import Bools, Floats, Ints
from profilegen.engine.case_sites import CaseSites, Solved
from profilegen.engine.frame import Frame
from profilegen.engine.sites import chances_at, even_nodes

_DEGREE = 6
"""Polynomials taken; with 12 no answer on the lifters of tests/bench/exact.py moves by a third of
the sampler's own error."""
_REACH_SDS = 6.0
_LEAST_SD = 1e-6
_LEAST_TOLD = 0.02
"""Places with smaller coefficients move nothing: with 0.06 the same answers come out, with none
each fit takes a tenth longer."""
_LEAST_TOGETHER = 0.3
_LARGEST_ALONE = 0.5
_LARGEST_TERM = 10.0
"""Of a polynomial's share in a factor: an exponential tail has 6, beyond are rounding errors (far
out in a tail the moments cancel)."""
_LARGEST = 0.8
"""A correction of a covariance stays below this share of it, or the series says nothing."""


@dataclass(frozen=True, slots=True)
class Remainder:
    """By how much each case changes."""

    log_z: Floats
    """What is to be added to the log evidence, float[S]."""
    shift: Floats
    """The mean moves by the covariance times this, float[S, A]."""
    curve: Floats
    """The covariance grows by itself times this times itself, float[S, A', A]."""

    @classmethod
    def of(
        cls, frame: Frame, solved: Solved, sites: CaseSites, cases: Ints, steps: Bools, pairs: Bools
    ) -> Remainder:
        """For the cases numbered `cases`, with the step and pair sites marked alone."""
        maximal = np.flatnonzero(pairs[: frame.terms.pair.n_minimum])
        places = _capacities(frame, solved, sites, cases, np.flatnonzero(steps))
        if len(maximal):
            places = places.joined(_orders(frame, solved, sites, cases, maximal))
        return places.together(solved)


@dataclass(frozen=True, slots=True)
class _Places:
    """The factors of P places."""

    a: Floats
    """Their coefficients up to the degree, float[L + 1, S, P]."""
    sd: Floats
    """Spread of the place under q, float[S, P]."""
    along: Floats
    """The place as a sum of capacities, float[P, A]."""

    @classmethod
    def small(cls, a: Floats, sd: Floats, along: Floats, known: Bools) -> _Places:
        """From raw coefficients, where `known` bool[S, P]. A factor that alone would move its
        place by half an sd is no remainder of a site that fits: it is left out."""
        with np.errstate(all="ignore"):
            alone = np.abs(a[1:3] / a[0]).max(axis=0)
            terms = (np.abs(a[3:] / a[0]) / _root_factorials(3, len(a))).max(axis=0)
        small = known & np.isfinite(a).all(axis=0) & (a[0] > 0.0) & (alone < _LARGEST_ALONE)
        small &= terms < _LARGEST_TERM
        return cls(np.where(small, a, np.eye(len(a))[0][:, None, None]), sd, along)

    def joined(self, other: _Places) -> _Places:
        """These places followed by the other's."""
        return _Places(
            np.concatenate((self.a, other.a), axis=2),
            np.concatenate((self.sd, other.sd), axis=1),
            np.concatenate((self.along, other.along)),
        )

    def together(self, solved: Solved) -> Remainder:
        """First and second order of the factors' product."""
        log_z = np.log(self.a[0]).sum(axis=1)
        return self.telling().multiplied(solved, log_z)

    def telling(self) -> _Places:
        """Those with a coefficient that matters, scaled to factors whose mean is 1."""
        a = self.a / self.a[0]
        size = np.abs(a[1:]) / _root_factorials(1, len(a))
        tells = size.max(axis=(0, 1)) > _LEAST_TOLD
        return _Places(a[:, :, tells], self.sd[:, tells], self.along[tells])

    def multiplied(self, solved: Solved, log_z: Floats) -> Remainder:
        """The product, for factors whose mean is 1; log_z float[S] is what was taken out."""
        a = self.a
        cov = self.along @ solved.cov @ self.along.T
        r = cov / (self.sd[:, :, None] * self.sd[:, None, :])
        at = np.arange(len(self.along))
        np.clip(r, -1.0, 1.0, out=r)
        r[:, at, at] = 0.0
        both, slope, own = np.zeros_like(self.sd), a[1], a[2]
        cross = a[1][:, :, None] * a[1][:, None, :]
        r_k, more = np.ones_like(r), np.empty_like(r)
        for k in range(1, _DEGREE):
            r_k *= r
            others = (r_k @ a[k][..., None])[..., 0] / factorial(k)
            both = both + a[k] * others
            slope = slope + a[k + 1] * others
            if k < _DEGREE - 1:
                own = own + a[k + 2] * others
            b = a[k + 1] / np.sqrt(factorial(k))
            np.multiply(b[:, :, None], b[:, None, :], out=more)
            more *= r_k
            cross += more
        total = np.maximum(1.0 + 0.5 * both.sum(axis=1), _LEAST_TOGETHER)[:, None]
        slope = slope / total
        cross[:, at, at] = own
        curve = cross / total[..., None] - slope[:, :, None] * slope[:, None, :]
        r[:, at, at] = 1.0
        widths = np.sqrt(((curve @ r) ** 2).sum(axis=(1, 2)))
        curve *= np.minimum(1.0, _LARGEST / np.maximum(widths, 1e-12))[:, None, None]
        curve /= self.sd[:, :, None] * self.sd[:, None, :]
        return Remainder(
            log_z + np.log(total[:, 0]),
            (slope / self.sd) @ self.along,
            self.along.T @ curve @ self.along,
        )


def _capacities(
    frame: Frame, solved: Solved, sites: CaseSites, cases: Ints, steps: Ints
) -> _Places:
    """The factors of floors and misses: all that the sites at `steps` say of one capacity."""
    order = steps[np.argsort(frame.step_at[steps], kind="stable")]
    at, starts, which = np.unique(frame.step_at[order], return_index=True, return_inverse=True)
    along = np.eye(len(frame.active))[at]
    mean, sd = solved.mean[:, at], np.maximum(solved.sd[:, at], _LEAST_SD)
    if not len(at):
        return _Places(np.ones((_DEGREE + 1, *mean.shape)), sd, along)
    sharpest = np.minimum.reduceat(frame.terms.step.sharpest()[order], starts)
    low, high = (mean - _REACH_SDS * sd).min(axis=0), (mean + _REACH_SDS * sd).max(axis=0)
    centre, away = even_nodes(low, high, sd.min(axis=0), sharpest)
    t, h, c = (
        np.add.reduceat(value[:, order], starts, axis=1)
        for value in (sites.step_t, sites.step_h, sites.step_c)
    )
    gap = centre - mean
    bend = 0.5 * (t - sd**-2.0)
    tilt = t * centre - h - gap * sd**-2.0
    level = (0.5 * t * centre - h) * centre - c - 0.5 * (gap / sd) ** 2 - np.log(sd)
    powers = away[:, :, None] ** np.arange(_DEGREE + 1)
    weighed = np.stack((level, tilt, bend), axis=-1).swapaxes(0, 1) @ powers[..., :3].swapaxes(1, 2)
    powers *= ((away[:, 1] - away[:, 0]) / np.sqrt(2.0 * np.pi))[:, None, None]
    weighed = np.exp(np.minimum(weighed, 50.0))
    moments = np.empty((len(at), len(cases), _DEGREE + 1))
    for number, read in enumerate(frame.steps):
        mine = frame.reading[cases] == number
        if mine.any():
            said = chances_at(read.some(order), centre[which], away[which])
            said = np.multiply.reduceat(said, starts)
            moments[:, mine] = weighed[:, mine] @ (powers * said[..., None])
    a = _hermite(np.moveaxis(moments, (0, 1), (2, 1)), 1.0 / sd, gap / sd)
    # a place that nothing else holds has no factor to speak of
    return _Places.small(a, sd, along, (sd > _LEAST_SD) & (sd**-2.0 > t))


def _orders(frame: Frame, solved: Solved, sites: CaseSites, cases: Ints, maximal: Ints) -> _Places:
    """The factors of "the clean (or the jerk) is the smaller": a cut of g = jerk - clean at 0.

    Moments of a cut Gaussian by parts: M_k = m M_(k-1) + (k-1) v M_(k-2) + v e^(k-1) density(e).
    """
    clean, jerk = frame.pair_at[maximal].T
    row = np.arange(len(maximal))
    along = np.zeros((len(maximal), len(frame.active)))
    along[row, jerk], along[row, clean] = 1.0, -1.0
    mean = solved.mean @ along.T
    sd = np.sqrt(np.einsum("pi,sij,pj->sp", along, solved.cov, along).clip(_LEAST_SD**2))
    # what all else says of z = (g - mean) / sd
    t, h = sites.pair_t[:, maximal, 1, 1], sites.pair_h[:, maximal, 1]
    precision = 1.0 - t * sd * sd
    known = precision > 1e-6
    v = 1.0 / np.where(known, precision, 1.0)
    m = v * (t * mean - h) * sd
    sign = (1.0 - 2.0 * frame.smaller[cases])[:, None]
    edge = -mean / sd
    over = (edge - m) / np.sqrt(v)
    # over the chance of the right side, so that the 0th moment is 1
    log_density = -0.5 * over * over - 0.5 * np.log(2.0 * np.pi * v) - log_ndtr(-sign * over)
    density = sign * np.exp(np.minimum(log_density, 50.0))
    moments = [np.ones_like(m), m + v * density]
    for k in range(2, _DEGREE + 1):
        edge_k = edge ** (k - 1) * density
        moments.append(m * moments[k - 1] + v * ((k - 1) * moments[k - 2] + edge_k))
    a = _hermite(np.stack(moments), np.ones_like(m), np.zeros_like(m))
    return _Places.small(a, sd, along, known)


def _root_factorials(first: int, end: int) -> Floats:
    """Square roots of k!, to divide coefficients of He_k by, float[end - first, 1, 1]."""
    return np.sqrt([[[float(factorial(k))]] for k in range(first, end)])


def _hermite(moments: Floats, scale: Floats, offset: Floats) -> Floats:
    """<He_l(scale x + offset)> from <x^l>, both float[L + 1, S, P].

    He_(l+1)(z) = z He_l(z) - l He_(l-1)(z), carried along with each power of x.
    """
    found, before, now = [moments[0]], np.zeros_like(moments), moments
    for k in range(len(moments) - 1):
        after = scale * now[1:] + offset * now[:-1] - k * before[: len(now) - 1]
        before, now = now, after
        found.append(now[0])
    return np.stack(found)
