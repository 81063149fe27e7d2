"""What all other lifts' rows say without each lift, and what each lift's rows say alone.

Every row's site belongs to one lift. A Gaussian times, or over, the sites of one lift is again
a Gaussian, by one small solve (Rasmussen & Williams 2006, eqs. 3.53-3.56 for one site): from
all rows each lift's are taken out, to the prior each lift's are added, all in one batch and
without fitting anew.

One set of sites serves all cases of usual and odd qualities: the fit's, averaged over its cases
(apart for the two ways in which clean and jerk can be ordered). So the 64 cases are a matter of
the six lasting qualities alone, and each quality in turn makes two of every case. Shared sites
misplace where things stand, but hardly how far they move: a difference is to be taken from the
mixture with nothing left out, which stands on the same sites and the same draws.

Shapes: E mixtures, each of W ways times 64 cases; D outputs.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from profilegen.engine.arrays import Bools, Floats, Ints, solve
from profilegen.engine.cases import Fitted
from profilegen.engine.cavity import HeavyTail
from profilegen.engine.draws import points_by_case, roots
from profilegen.engine.evidence import CLEAN_AND_JERK
from profilegen.engine.posterior import N_QUALITIES, Posterior
from profilegen.engine.prior import Features

_DRAWS = 256
_SQUARE = (N_QUALITIES, N_QUALITIES)
_NO_WEIGHT = 1e-6
"""A way in which clean and jerk are ordered that weighs no more is left out."""


@dataclass(frozen=True, slots=True)
class Mixtures:
    """E mixtures of Gaussians over the same D outputs, for E choices of rows."""

    weight: Floats
    """float[E, C], each row sums to 1."""
    lasting_cov: Floats
    """Covariance of the six lasting qualities case by case, float[E, W, 64, 6, 6]."""
    mean: Floats
    """Of the outputs, float[E, C, D]."""
    gain: Floats
    """Change of the outputs with the lasting qualities, float[E, W, D, 6]."""
    rest: Floats
    """Covariance of the outputs given them, float[E, W, D, D]."""

    def chances_above(self, output: int, threshold: float, sign: float) -> Floats:
        """Chance in each mixture that sign x an output exceeds the threshold, float[E]."""
        gain = self.gain[:, :, output]
        var = np.einsum("ewi,ewcij,ewj->ewc", gain, self.lasting_cov, gain)
        sd = np.sqrt(var + self.rest[:, :, output, output, None]).reshape(self.weight.shape)
        chance = ndtr((sign * self.mean[:, :, output] - threshold) / sd)
        return np.asarray((self.weight * chance).sum(axis=1), dtype=np.float64)

    def moments(self) -> tuple[Floats, Floats]:
        """Mean float[E, D] and covariance float[E, D, D] of each mixture."""
        mean = np.einsum("ec,ecd->ed", self.weight, self.mean)
        away = self.mean - mean[:, None]
        cov = (self.weight[:, :, None] * away).transpose(0, 2, 1) @ away
        weight = self.weight.reshape(self.lasting_cov.shape[:3])
        lasting = np.einsum("ewc,ewcij->ewij", weight, self.lasting_cov)
        within = self.gain @ lasting @ self.gain.transpose(0, 1, 3, 2)
        within += weight.sum(axis=2)[:, :, None, None] * self.rest
        return mean, cov + within.sum(axis=1)

    def draws(self, n: int = _DRAWS) -> Floats:
        """`n` (a power of two) joint draws of each mixture, float[E, n, D], all on one set of
        quasi-random points: what differs between mixtures is no accident of the draws."""
        pick, normal, _ = points_by_case(n, self.mean.shape[2])
        upto = np.cumsum(self.weight, axis=1)
        ends = np.searchsorted(pick, np.minimum(upto / upto[:, -1:], 1.0))
        ends[:, -1] = n
        starts = np.concatenate((np.zeros_like(ends[:, :1]), ends[:, :-1]), axis=1)
        entry, case = np.nonzero(ends > starts)
        way, number = np.divmod(case, self.lasting_cov.shape[2])
        gain = self.gain[entry, way]
        lasting = self.lasting_cov[entry, way, number]
        root = roots(gain @ lasting @ gain.swapaxes(1, 2) + self.rest[entry, way])
        first, last = starts[entry, case].tolist(), ends[entry, case].tolist()
        sample = np.empty((len(self.weight), n, self.mean.shape[2]))
        for k, (e, mean) in enumerate(zip(entry.tolist(), self.mean[entry, case], strict=True)):
            sample[e, first[k] : last[k]] = mean + normal[first[k] : last[k]] @ root[k].T
        return sample


@dataclass(frozen=True, slots=True)
class LiftByLift:
    """Some functionals as all rows, all but one lift's, and one lift's alone put them."""

    lifts: tuple[str, ...]
    """Every lift with rows."""
    without: Mixtures
    """First with nothing left out, then without each of `lifts`."""
    only: Mixtures
    """First of no rows at all, then of each of `lifts` alone."""

    @classmethod
    def of(cls, posterior: Posterior, f: Features) -> LiftByLift:
        """For functionals `f` and every lift with rows."""
        fitted = posterior.fitted
        lifts = tuple(sorted({row.lift for row in posterior.rows}))
        number = {lift: 1 + i for i, lift in enumerate(lifts)}
        owner = np.array([number[row.lift] for row in posterior.rows], dtype=np.int64)
        sites = _Sites.of(fitted, owner)
        prior = _Gaussians.prior(posterior, f)
        full = prior.times(*sites.together(), prior.every)
        asked = prior.every[len(fitted.frame.terms) - N_QUALITIES :]
        each = sites.by_owner(1 + len(lifts))
        both = np.array([False, *(lift == CLEAN_AND_JERK for lift in lifts)])
        tail = fitted.frame.tail
        return cls(
            lifts,
            _mixtures(sites.settled(full.over(*each, asked), ~both), tail),
            _mixtures(sites.settled(prior.times(*each, asked), both), tail),
        )


@dataclass(frozen=True, slots=True)
class _Gaussians:
    """For each of W ways E Gaussians over M numbers: the points of the rows, the six lasting
    qualities, the outputs."""

    log_weight: Floats
    """float[W, E]."""
    mean: Floats
    """float[W, E, M]."""
    cov: Floats
    """float[W, E, M, M]."""

    @classmethod
    def prior(cls, posterior: Posterior, f: Features) -> _Gaussians:
        """The one Gaussian before any row, the lasting qualities being odd."""
        prior, frame = posterior.prior, posterior.fitted.frame
        cross = prior.cov(f, frame.terms.features)
        cov = np.block([[frame.k, cross.T], [cross, prior.cov(f, f)]])
        mean = np.concatenate((frame.m, prior.mean(f)))
        return cls(np.zeros((1, 1)), mean[None, None], cov[None, None])

    @property
    def every(self) -> Ints:
        """All M places."""
        return np.arange(self.mean.shape[2])

    def over(self, at: Ints, t: Floats, h: Floats, c: Floats, asked: Ints) -> _Gaussians:
        """With the sites taken out; see `times`."""
        return self.times(at, -t, -h, -c, asked)

    def times(self, at: Ints, t: Floats, h: Floats, c: Floats, asked: Ints) -> _Gaussians:
        """The one Gaussian of each way times E lots of sites, at the places `asked`.

        Lot e is exp(c + h'x - x't x / 2) of the numbers x at `at[e]`: at int[E, I],
        t float[W, E, I, I], h float[W, E, I], c float[W, E].
        """
        mean, cov = self.mean[:, 0], self.cov[:, 0]
        inner, cross = cov[:, at[:, :, None], at[:, None, :]], cov[:, at[:, :, None], asked]
        centre = mean[:, at]
        away = h - np.einsum("weij,wej->wei", t, centre)
        system = np.eye(at.shape[1]) + t @ inner
        moved = solve(system, np.concatenate((t @ cross, away[..., None]), axis=3))
        back = cross.transpose(0, 1, 3, 2) @ moved
        new_cov = cov[:, None, asked[:, None], asked] - back[..., :-1]
        log_weight = self.log_weight + c
        if len(t) > 1:
            # only ways are weighed against each other
            log_weight += 0.5 * np.einsum("wei,weij,wej->we", away, inner, moved[..., -1])
            log_weight += np.einsum("wei,wei->we", 0.5 * (h + away), centre)
            log_weight -= 0.5 * np.linalg.slogdet(system)[1]
        return _Gaussians(
            log_weight,
            mean[:, None, asked] + back[..., -1],
            0.5 * (new_cov + new_cov.swapaxes(2, 3)),
        )


@dataclass(frozen=True, slots=True)
class _Sites:
    """The sites of all rows, shared by the cases of each of W ways; K entries.

    An entry says exp(h x_i - t x_i x_j / 2); those of two points count twice, once for each order.
    """

    owner: Ints
    """Whose rows, int[K]."""
    i: Ints
    j: Ints
    t: Floats
    """float[W, K]."""
    h: Floats
    """float[W, K]."""
    c: Floats
    """float[W, K]."""
    points: int
    heavier: int
    """Which way weighs more."""

    @classmethod
    def of(cls, fitted: Fitted, owner: Ints) -> _Sites:
        """From the fit; owner int[rows]."""
        frame, learnt = fitted.frame, fitted.sites
        about, step, pair = frame.terms.about, frame.terms.step, frame.terms.pair
        way = frame.smaller[fitted.cases]
        weight = np.array([(way == w) * fitted.parts.weight for w in np.unique(way)])
        of_way = weight.sum(axis=1)
        weight = weight[of_way > _NO_WEIGHT]
        weight /= weight.sum(axis=1, keepdims=True)
        shape = (len(weight), len(about.x))
        # a site that widens was held in check by others that may be gone
        step_t = weight @ learnt.step_t
        narrows = step_t >= 0.0
        pair_t = np.einsum("ws,snij->wnij", weight, learnt.pair_t)
        about_t = np.einsum("ws,sni->wni", weight, learnt.about_t)
        pair_t = pair_t + about_t[..., None] * np.eye(2)
        pair_h = np.einsum("ws,sni->wni", weight, learnt.pair_h) + about_t * pair.x[:, None]
        pair_c = weight @ learnt.pair_c
        zero = np.zeros_like(pair_c)
        clean, jerk = pair.points.T
        return cls(
            owner[np.concatenate((about.row, step.row[:, 0], *[pair.row] * 4))],
            np.concatenate((about.point, step.point, clean, jerk, clean, jerk)),
            np.concatenate((about.point, step.point, clean, jerk, jerk, clean)),
            np.concatenate(
                (
                    np.broadcast_to(about.sd**-2.0, shape),
                    step_t * narrows,
                    *(pair_t[:, :, i, j] for i, j in ((0, 0), (1, 1), (0, 1), (1, 0))),
                ),
                axis=1,
            ),
            np.concatenate(
                (
                    np.broadcast_to(about.x * about.sd**-2.0, shape),
                    (weight @ learnt.step_h) * narrows,
                    *(pair_h[:, :, i] for i in (0, 1)),
                    zero,
                    zero,
                ),
                axis=1,
            ),
            np.concatenate(
                (np.zeros(shape), (weight @ learnt.step_c) * narrows, pair_c, zero, zero, zero),
                axis=1,
            ),
            len(frame.terms) - N_QUALITIES,
            int(of_way[of_way > _NO_WEIGHT].argmax()),
        )

    def together(self) -> tuple[Ints, Floats, Floats, Floats]:
        """All of them as one lot, in the form of `_Gaussians.times`."""
        nobody = np.zeros_like(self.owner)
        at = np.arange(self.points)
        return at[None], *self._gathered(nobody, self.i, self.j, (1, self.points))

    def by_owner(self, owners: int) -> tuple[Ints, Floats, Floats, Floats]:
        """One lot per owner; lots of fewer points are filled up with nothing said of point 0."""
        keys, where = np.unique(self.owner * self.points + self.i, return_inverse=True)
        whose, point = np.divmod(keys, self.points)
        first = np.searchsorted(whose, np.arange(owners))
        place = np.arange(len(keys)) - first[whose]
        at = np.zeros((owners, int(place.max(initial=0)) + 1), dtype=np.int64)
        at[whose, place] = point
        other = np.searchsorted(keys, self.owner * self.points + self.j)
        return at, *self._gathered(self.owner, place[where], place[other], at.shape)

    def _gathered(
        self, lot: Ints, i: Ints, j: Ints, shape: tuple[int, int]
    ) -> tuple[Floats, Floats, Floats]:
        lots, size = shape
        t = _added((lot * size + i) * size + j, self.t, lots * size * size)
        h = _added(lot * size + i, self.h, lots * size)
        c = _added(lot, self.c, lots)
        ways = len(self.t)
        return t.reshape(ways, lots, size, size), h.reshape(ways, lots, size), c

    def settled(self, lots: _Gaussians, with_both: Bools) -> _Gaussians:
        """Where no maximal clean and jerk is kept it is all one which part is the smaller."""
        heavier = np.arange(len(lots.log_weight)) == self.heavier
        log_weight = np.where(with_both | heavier[:, None], lots.log_weight, -np.inf)
        return _Gaussians(log_weight, lots.mean, lots.cov)


def _added(where: Ints, values: Floats, size: int) -> Floats:
    """Sums of the values that go to each place, float[W, size]."""
    return np.array([np.bincount(where, each, minlength=size) for each in values])


def _mixtures(lots: _Gaussians, tail: HeavyTail) -> Mixtures:
    """Take the odd and the usual qualities apart, one after the other; each doubles the cases."""
    ways, n, size = lots.mean.shape
    q, z = slice(0, N_QUALITIES), slice(N_QUALITIES, None)
    mean, cov = lots.mean.swapaxes(0, 1), lots.cov.swapaxes(0, 1)
    # numbers of one kind side by side (cases, then mixtures and ways last): 6 alone would be slow
    v = np.ascontiguousarray(np.moveaxis(cov[:, :, q, q].reshape(-1, *_SQUARE), 0, -1))[:, :, None]
    m = np.ascontiguousarray(mean[:, :, q].reshape(-1, N_QUALITIES).T)[:, None]
    log_weight = lots.log_weight.T.reshape(1, -1)
    added = 1.0 / tail.var_usual - 1.0 / tail.var_odd
    log_usual = np.log1p(-tail.share_odd) + 0.5 * np.log(tail.var_odd / tail.var_usual)
    log_odd = np.log(tail.share_odd)
    for k in range(N_QUALITIES):
        wider = 1.0 + added * v[k, k]
        shrunk = added / wider * v[k]
        usual = log_weight + log_usual - 0.5 * (np.log(wider) + added / wider * m[k] ** 2)
        log_weight = np.concatenate((usual, log_weight + log_odd))
        m = np.concatenate((m - shrunk * m[k], m), axis=1)
        v = np.concatenate((v - shrunk[:, None] * v[k], v), axis=2)
    gain = solve(cov[:, :, q, q], cov[:, :, q, z]).swapaxes(2, 3)
    rest = cov[:, :, z, z] - gain @ cov[:, :, q, z]
    m, v = m.T.reshape(n, ways, -1, N_QUALITIES), v.transpose(3, 2, 0, 1)
    out = mean[:, :, None, z] + (m - mean[:, :, None, q]) @ gain.swapaxes(2, 3)
    log_weight = log_weight.T.reshape(n, -1)
    weight = np.exp(log_weight - log_weight.max(axis=1, keepdims=True))
    return Mixtures(
        weight / weight.sum(axis=1, keepdims=True),
        v.reshape(n, ways, -1, *_SQUARE),
        out.reshape(n, -1, size - N_QUALITIES),
        gain,
        rest,
    )
