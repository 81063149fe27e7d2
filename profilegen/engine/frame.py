"""What the rounds of cases.py stand on: the layout of the terms, the Gaussian rows taken in,
and the cases before floors, misses and clean and jerks speak.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from profilegen.engine.arrays import Bools, Floats, Ints, inverse
from profilegen.engine.cavity import USUAL, Components, HeavyTail
from profilegen.engine.terms import Stacked, StepTerms
from profilegen.norms.catalogue import QUALITIES

N_QUALITIES = len(QUALITIES)
N_ODD = len(USUAL)
"""Cases of usual and odd qualities."""


@dataclass(frozen=True, slots=True)
class Frame:
    """What stays the same whatever the sites: the terms, the prior of their capacities, and
    where the active ones and the six lasting qualities stand."""

    terms: Stacked
    k: Floats
    m: Floats
    tail: HeavyTail
    active: Ints
    """Points that steps and pairs speak of, ascending, int[A]."""
    step_at: Ints
    """Each step site's place in `active`."""
    pair_at: Ints
    """Each pair's places in `active`, int[n, 2]."""
    odd_case: Ints
    """Which of the 64 cases of usual and odd qualities each case belongs to."""
    smaller: Ints
    """Which is the smaller in each case: 0 the clean, 1 the jerk."""
    steps: tuple[StepTerms, ...]
    """Floors and misses as each reading of the most doubtful miss has them; at first one."""
    reading: Ints
    """Which of these holds in each case."""
    log_share: Floats
    """Log of the chance of each case's reading before the evidence."""

    @classmethod
    def of(cls, terms: Stacked, k: Floats, m: Floats, tail: HeavyTail) -> Frame:
        """Lay out the terms; k float[N, N] and m float[N] are the prior of the N points."""
        active = np.unique(np.concatenate((terms.step.point, terms.pair.points.ravel())))
        ways = 2 if terms.pair.n_minimum else 1
        odd_cases = N_ODD
        return cls(
            terms=terms,
            k=k,
            m=m,
            tail=tail,
            active=active,
            step_at=np.searchsorted(active, terms.step.point),
            pair_at=np.searchsorted(active, terms.pair.points),
            odd_case=np.tile(np.arange(odd_cases), ways),
            smaller=np.repeat(np.arange(ways), odd_cases),
            steps=(terms.step,),
            reading=np.zeros(ways * odd_cases, dtype=np.int64),
            log_share=np.zeros(ways * odd_cases),
        )

    def doubted(self, site: int, term: int) -> Frame:
        """Every case twice: once this miss was too heavy, once it was a fluke."""
        step, at = self.terms.step, (np.array([site]), np.array([term]))
        fluke, cases = float(step.fluke[site, term]), len(self.odd_case)
        return replace(
            self,
            odd_case=np.tile(self.odd_case, 2),
            smaller=np.tile(self.smaller, 2),
            steps=tuple(step.settled(*at, flukes=flukes) for flukes in (False, True)),
            reading=np.repeat([0, 1], cases),
            log_share=np.repeat(np.log([1.0 - fluke, fluke]), cases),
        )

    @property
    def firsts(self) -> Ints:
        """The first case of each way to read clean and jerks and the doubtful miss."""
        return np.arange(0, len(self.odd_case), N_ODD)

    @property
    def asked(self) -> Ints:
        """Points that every answer goes through: the active ones, then the six qualities."""
        last = np.arange(len(self.terms) - N_QUALITIES, len(self.terms))
        return np.concatenate((self.active, last))

    @property
    def patience(self) -> float:
        """1 up to 50 active capacities, down to 0.3 from 150 on: used with the cuts of cases.py."""
        return float(np.interp(len(self.active), (50.0, 150.0), (1.0, 0.3)))


@dataclass(frozen=True, slots=True)
class Base:
    """The Gaussian rows taken in: what is known of the `asked` points before the others."""

    about: Ints
    """Which of the Gaussian rows take part."""
    inverted: Floats
    """(K + noise)^-1 of those rows."""
    weights: Floats
    """That times (what they say - prior mean)."""
    mean: Floats
    cov: Floats

    @classmethod
    def of(cls, frame: Frame, kept: Bools) -> Base:
        """From the Gaussian rows of rows (by number) in `kept`."""
        about = frame.terms.about
        chosen = np.flatnonzero(kept[about.row])
        point, asked = about.point[chosen], frame.asked
        noise = np.diag(about.sd[chosen] ** 2)
        inverted = inverse(frame.k[np.ix_(point, point)] + noise)
        cross = frame.k[np.ix_(asked, point)]
        weights = inverted @ (about.x[chosen] - frame.m[point])
        cov = frame.k[np.ix_(asked, asked)] - cross @ inverted @ cross.T
        return cls(chosen, inverted, weights, frame.m[asked] + cross @ weights, 0.5 * (cov + cov.T))

    def lasting(self) -> Lasting:
        """The asked points as they hang on the six lasting qualities, the last of them."""
        last = slice(len(self.mean) - N_QUALITIES, None)
        precision = inverse(self.cov[last, last])
        precision = 0.5 * (precision + precision.T)
        gain = self.cov[:, last] @ precision
        return Lasting(self.mean[last], precision, gain, self.cov - gain @ self.cov[last])

    def likely(self, frame: Frame, cut: float, among: Bools, always: Ints) -> Cases:
        """The cases of `among` within `cut` of the best in logs, after those in `always`."""
        about = self.lasting()
        log_weight, lasting = frame.tail.weighed(about.precision, about.precision @ about.mean)
        log_weight = log_weight[frame.odd_case] + frame.log_share
        near = among & (log_weight > log_weight.max() - cut * frame.patience)
        near[always] = False
        others = np.flatnonzero(near)
        chosen = np.concatenate((always, others))
        lasting = some(lasting, frame.odd_case[chosen])
        mean = self.mean + (lasting.mean - about.mean) @ about.gain.T
        cov = about.rest + about.gain @ lasting.cov @ about.gain.T
        return Cases(chosen, log_weight[chosen], Components(lasting.weight, mean, cov))


@dataclass(frozen=True, slots=True)
class Lasting:
    """What is known of the lasting qualities, and of the asked points given them."""

    mean: Floats
    """float[6]."""
    precision: Floats
    gain: Floats
    """Change of the asked points with them, float[N, 6]."""
    rest: Floats
    """Covariance of the asked points given them, float[N, N]."""


@dataclass(frozen=True, slots=True)
class Cases:
    """Some of the cases before floors, misses and clean and jerks are taken in."""

    which: Ints
    log_weight: Floats
    parts: Components
    """The asked points in each."""

    def some(self, chosen: Ints) -> Cases:
        """Those at `chosen`."""
        return Cases(self.which[chosen], self.log_weight[chosen], some(self.parts, chosen))


def some(parts: Components, chosen: Ints) -> Components:
    """Some of the Gaussians of a mixture, weights as they were."""
    return Components(parts.weight[chosen], parts.mean[chosen], parts.cov[chosen])
