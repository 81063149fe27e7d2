"""Sites by case: the Gaussian stand-ins of floors, misses and clean and jerks, what each case
becomes with them, and one round of learning them.

Shapes as in cases.py: arrays lead with the case.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from profilegen.engine.arrays import Bools, Floats, Ints, solve
from profilegen.engine.cavity import Components
from profilegen.engine.frame import Frame
from profilegen.engine.pair_sites import LearntPairs
from profilegen.engine.sites import steps_moments

_DAMPING = 0.95
_NARROW = 1e4
_FAR = 0.5
"""What stands in for a cavity that is none: its precision, and how far from its row it may lie."""
_WIDEN = 0.4
"""How much of the precision of all the rest one site may take away."""


@dataclass(frozen=True, slots=True)
class CaseSites:
    """Gaussian stand-ins of the rows, by case: natural parameters and normalisers.

    step_t, step_h, step_c float[S, n]; pair_t float[S, n, 2, 2], pair_h float[S, n, 2],
    pair_c float[S, n]. `c` is the log of what the site leaves out: the row's own Z over the
    Gaussian's (Rasmussen & Williams 2006, eq. 3.65).
    """

    step_t: Floats
    step_h: Floats
    step_c: Floats
    pair_t: Floats
    pair_h: Floats
    pair_c: Floats
    about_t: Floats
    """What a maximal clean and jerk says of the smaller: precision on (clean, jerk),
    float[S, n, 2]; 0 for other pairs."""

    @classmethod
    def none(cls, frame: Frame, chosen: Ints) -> CaseSites:
        """Before anything is learnt, for the cases at `chosen`."""
        cases, pair = len(chosen), frame.terms.pair
        steps, pairs = (cases, len(frame.step_at)), (cases, len(frame.pair_at))
        about_t = np.zeros((*pairs, 2))
        maximal = np.arange(pair.n_minimum)
        precision = pair.sd[: pair.n_minimum] ** -2.0
        about_t[np.arange(cases)[:, None], maximal, frame.smaller[chosen][:, None]] = precision
        return cls(
            np.zeros(steps),
            np.zeros(steps),
            np.zeros(steps),
            np.zeros((*pairs, 2, 2)),
            np.zeros((*pairs, 2)),
            np.zeros(pairs),
            about_t,
        )

    def map(self, change: Ints) -> CaseSites:
        """The sites of the cases at `change`."""
        return CaseSites(*(getattr(self, name)[change] for name in self.__slots__))

    def with_cases(self, later: Sequence[tuple[Ints, CaseSites]]) -> CaseSites:
        """With some cases as they were found later."""
        return CaseSites(*(_placed(self, name, later) for name in self.__slots__))

    def log_normaliser(self) -> Floats:
        """The sum of all `c`, float[S]."""
        total: Floats = self.step_c.sum(axis=1) + self.pair_c.sum(axis=1)
        return total

    def pooled(self, weight: Floats) -> CaseSites:
        """Weighted means over the cases of each of W equal lots; weight float[W, S / W]."""
        values = (
            (n, getattr(self, n).reshape(*weight.shape, *getattr(self, n).shape[1:]))
            for n in self.__slots__
        )
        return CaseSites(**{n: np.einsum("ws,ws...->w...", weight, value) for n, value in values})

    def averaged(self, weight: Floats, start: CaseSites) -> CaseSites:
        """Weighted means over the cases, weight float[G, S], for the G cases of `start`, which
        learnt nothing."""
        names = [name for name in self.__slots__ if name != "about_t"]
        means = {name: np.tensordot(weight, getattr(self, name), axes=1) for name in names}
        return replace(start, **means)

    def times(self, steps: Bools, pairs: Bools) -> CaseSites:
        """Only the sites marked; the others silenced.

        A site that widens (a miss that was likely a fluke) was held in check by the others, so
        it is silenced as well: it had next to nothing to say.
        """
        steps = steps & (self.step_t >= 0.0)
        return CaseSites(
            self.step_t * steps,
            self.step_h * steps,
            self.step_c * steps,
            self.pair_t * pairs[:, None, None],
            self.pair_h * pairs[:, None],
            self.pair_c * pairs,
            self.about_t * pairs[:, None],
        )


@dataclass(frozen=True, slots=True)
class Solved:
    """Each case's Gaussian over the active capacities once its sites are in."""

    t: Floats
    """Site precisions summed over the capacities, float[S, A, A]."""
    h: Floats
    alpha: Floats
    """What the sites pull at each capacity: h - T mean."""
    mean: Floats
    """float[S, A]."""
    cov: Floats
    """float[S, A, A]."""

    @classmethod
    def of(cls, frame: Frame, parts: Components, sites: CaseSites) -> Solved:
        """Solve every case; `parts` are the asked points before the sites."""
        t, h = summed(frame, sites)
        m, k = _active(parts, t)
        cov = solve(_system(k, t), k)
        cov = 0.5 * (cov + cov.transpose(0, 2, 1))
        # posterior mean m + C (h - T m), in matrix products, which are quick for small matrices
        mean = m + _times(cov, h - _times(t, m))
        return cls(t, h, h - _times(t, mean), mean, cov)

    def some(self, cases: Ints) -> Solved:
        """The cases at `cases`."""
        return Solved(*(getattr(self, name)[cases] for name in self.__slots__))

    def with_cases(self, later: Sequence[tuple[Ints, Solved]]) -> Solved:
        """With some cases as they were found later."""
        return Solved(*(_placed(self, name, later) for name in self.__slots__))

    @property
    def sd(self) -> Floats:
        """Sds, float[S, A']; rounds far from the answer may leave a variance below 0."""
        sd: Floats = np.sqrt(np.maximum(np.einsum("sii->si", self.cov), 0.0))
        return sd

    def log_integral(self, parts: Components) -> Floats:
        """Log of the integral of prior times sites, up to the sites' normalisers; float[S]."""
        m, k = _active(parts, self.t)
        right = self.h - _times(self.t, m)
        value: Floats = -0.5 * np.linalg.slogdet(_system(k, self.t))[1]
        value += 0.5 * (right * _times(self.cov, right)).sum(axis=1)
        value += (self.h * m).sum(axis=1) - 0.5 * (m * _times(self.t, m)).sum(axis=1)
        return value

    def asked(self, parts: Components, weight: Floats, shift: Floats, curve: Floats) -> Components:
        """The asked points with the sites in, and with what those leave out (remainder.py):
        the mean moved by the covariance times `shift`, which grows by itself times `curve` times
        itself."""
        size = self.t.shape[1]
        # of the asked points only the last six are not among the active ones, solved already
        cross = parts.cov[:, size:, :size]
        taken = cross @ self.t
        stays = cross - taken @ self.cov
        gain = np.concatenate((self.cov, stays), axis=1)
        mean = parts.mean + _times(parts.cov[:, :, :size], self.alpha) + _times(gain, shift)
        cov = (gain @ curve) @ gain.transpose(0, 2, 1)
        cov[:, :size, :size] += self.cov
        cov[:, size:, :size] += stays
        cov[:, :size, size:] += stays.transpose(0, 2, 1)
        cov[:, size:, size:] += parts.cov[:, size:, size:] - taken @ stays.transpose(0, 2, 1)
        return Components(weight, mean, 0.5 * (cov + cov.transpose(0, 2, 1)))


def _active(parts: Components, t: Floats) -> tuple[Floats, Floats]:
    """Mean and covariance of the active capacities, the first of the asked points; T is theirs."""
    size = t.shape[1]
    return parts.mean[:, :size], parts.cov[:, :size, :size]


def _placed(whole: object, name: str, later: Sequence[tuple[Ints, object]]) -> Floats:
    """An array of `whole` with the later ones' put at their places of the first axis."""
    array: Floats = getattr(whole, name)
    if later:
        array = array.copy()
    for at, part in later:
        array[at] = getattr(part, name)
    return array


def _system(k: Floats, t: Floats) -> Floats:
    """I + K T."""
    system = k @ t
    system[:, np.arange(k.shape[1]), np.arange(k.shape[1])] += 1.0
    return system


def _times(matrices: Floats, vectors: Floats) -> Floats:
    """float[S, i, j] times float[S, j], float[S, i]."""
    product: Floats = (matrices @ vectors[..., None])[..., 0]
    return product


def summed(frame: Frame, sites: CaseSites) -> tuple[Floats, Floats]:
    """Precision float[S, A, A] and precision x mean float[S, A] of all sites of each case."""
    size = len(frame.active)
    pair_t = sites.pair_t + sites.about_t[..., None] * np.eye(2)
    pair_h = sites.pair_h + sites.about_t * frame.terms.pair.x[:, None]
    at, pair = frame.step_at, frame.pair_at
    t_at = np.concatenate((at * (size + 1), (pair[:, :, None] * size + pair[:, None, :]).ravel()))
    h_at = np.concatenate((at, pair.ravel()))
    t = _added(t_at, size * size, sites.step_t, pair_t)
    return t.reshape(len(t), size, size), _added(h_at, size, sites.step_h, pair_h)


def _added(where: Ints, size: int, steps: Floats, pairs: Floats) -> Floats:
    """Sums by place, float[S, size], of values float[S, ...] of which several may go to one."""
    cases = len(steps)
    values = np.concatenate((steps, pairs.reshape(cases, pairs[0].size if cases else 0)), axis=1)
    places = size * np.arange(cases)[:, None] + where
    summed = np.bincount(places.ravel(), values.ravel(), cases * size)
    return np.asarray(summed, dtype=np.float64).reshape(cases, size)


@dataclass(frozen=True, slots=True)
class Learnt:
    """One round: the sites after a step, with normalisers, and the cavities' answers."""

    sites: CaseSites
    step_mean: Floats
    """What all else says of the step sites' capacities, float[S, n]."""
    step_var: Floats
    step_log_z: Floats
    pair_mean: Floats
    pair_cov: Floats
    gap: Floats
    """By how much a site alone would move its capacity's mean and sd, at most; float[S]."""

    @classmethod
    def of(cls, frame: Frame, solved: Solved, sites: CaseSites, alive: Ints, pace: float) -> Learnt:
        """Take each site out, see its moments, and move it towards them by `pace`."""
        at, step = frame.step_at, frame.terms.step
        var = np.einsum("sii->si", solved.cov)[:, at]
        mu = solved.mean[:, at]
        proper = var > 0.0
        var = np.where(proper, var, 1.0)
        t, h = 1.0 / var - sites.step_t, mu / var - sites.step_h
        ok = (t > 0.0) & proper
        # a cavity that is none is taken as narrow, at the mean (but not so far from its row that
        # the nodes could not reach)
        near = np.clip(mu, step.x[:, 0] - _FAR, step.x[:, 0] + _FAR)
        t, h = np.where(ok, t, _NARROW), np.where(ok, h, _NARROW * near)
        log_z, mean, new_var = _as_read(frame, alive, h / t, 1.0 / t)
        ok &= new_var > 1e-12
        # a miss that was likely a fluke asks for a precision below 0: it may widen the rest, but
        # not make it improper; and once sites swing none may
        widen = _WIDEN if pace == 1.0 else 0.0
        aim_t = np.maximum(1.0 / np.where(ok, new_var, 1.0) - t, -widen * t)
        aim_h = mean * (t + aim_t) - h
        ok &= np.isfinite(aim_t) & np.isfinite(aim_h)
        step_t = sites.step_t + np.where(ok, pace * _DAMPING * (aim_t - sites.step_t), 0.0)
        step_h = sites.step_h + np.where(ok, pace * _DAMPING * (aim_h - sites.step_h), 0.0)
        # in a case where sites together widened too far, those begin anew
        anew = ~ok.all(axis=1, keepdims=True) & (sites.step_t < 0.0) & (pace > 0.0)
        step_t, step_h = np.where(anew, 0.0, step_t), np.where(anew, 0.0, step_h)
        step_c = log_z + 0.5 * (h * h / t - np.log(t)) - 0.5 * (mu * mu / var + np.log(var))
        # a site without a cavity: what its row says at the mean, over what the site says there
        plain = log_z + (0.5 * sites.step_t * mu - sites.step_h) * mu
        aim_sd = np.where(ok, t + aim_t, 1.0) ** -0.5
        off = np.abs(mean - mu) + np.abs(aim_sd - np.sqrt(var))
        off = np.where(anew, _FAR, np.where(ok, off, 0.0))
        pairs = LearntPairs.of(
            frame, solved.mean, solved.cov, sites.pair_t, sites.pair_h, alive, pace
        )
        return cls(
            CaseSites(
                step_t,
                step_h,
                np.where(ok, step_c, plain),
                pairs.t,
                pairs.h,
                pairs.c,
                sites.about_t,
            ),
            h / t,
            1.0 / t,
            log_z,
            pairs.mean,
            pairs.cov,
            np.maximum(off.max(axis=1, initial=0.0), pairs.off.max(axis=1, initial=0.0)),
        )

    def some(self, cases: Ints) -> Learnt:
        """The cases at `cases`."""
        parts = (getattr(self, name)[cases] for name in self.__slots__[1:])
        return Learnt(self.sites.map(cases), *parts)

    def with_cases(self, later: Sequence[tuple[Ints, Learnt]]) -> Learnt:
        """With some cases as they were found later."""
        sites = self.sites.with_cases([(cases, one.sites) for cases, one in later])
        return Learnt(sites, *(_placed(self, name, later) for name in self.__slots__[1:]))


def _as_read(frame: Frame, alive: Ints, mean: Floats, var: Floats) -> tuple[Floats, Floats, Floats]:
    """Moments of the step sites, as the reading of each case has them; all float[S, n]."""
    found = np.empty((3, *mean.shape))
    for number, step in enumerate(frame.steps):
        mine = frame.reading[alive] == number
        found[:, mine] = steps_moments(mean[mine], var[mine], step)
    return found[0], found[1], found[2]
