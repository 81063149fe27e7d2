"""Expectation propagation case by case: which qualities are odd decides what rows mean.

A clean that is low while all else is high means one thing if the turnover is odd and
another if it is usual; one Gaussian cannot hold both. So each of the 64 cases of usual and
odd qualities gets sites of its own, all at once, and is weighted by its evidence (Minka
2001, eq. 20; Rasmussen & Williams 2006, eq. 3.65). Within a case everything but floors,
misses and whole clean and jerks is Gaussian and is taken in beforehand, so that only the
capacities which those rows speak of (`active`) take part in the rounds.

A maximal clean and jerk says that the smaller of clean and jerk is about so much. Which one
is the smaller makes two more cases of each (on all days alike: the two hardly change places):
within a case it is a Gaussian row on the smaller and a cut at c = j.

Shapes: S cases, A active capacities, n sites; arrays lead with S.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from profilegen.engine.arrays import Bools, Floats, Ints, inverse
from profilegen.engine.cavity import USUAL, Components, HeavyTail
from profilegen.engine.sites import either_missed_moments, order_moments, steps_moments
from profilegen.engine.terms import Stacked
from profilegen.norms.catalogue import QUALITIES

N_QUALITIES = len(QUALITIES)
MAX_ROUNDS = 100
TOLERANCE = 2e-5
"""Rounds stop when no lift moves by more than this (log units: 0.002 %)."""
_DAMPING = 0.95
_PAIR_DAMPING = 0.8
"""Several attempts of a day share one clean and jerk; larger steps would swing past."""
_SWINGING_ROUNDS = 25
_CALM = 0.35
_WIDEN = 0.4
"""How much of the precision of all the rest one site may take away."""
_CUTS = {0: 12.0, 2: 7.0, 4: 4.5}
"""After so many rounds, cases whose evidence is lower than the best by more than this in
logs are given up (the last: a weight of 1 in 90). With many capacities in play, as in a
ten-year diary, hardly anything hangs on which of the lesser cases holds: the cut shrinks."""


_COME_BACK = (3.0, 6.0)
"""Without some rows, cases that the Gaussian ones put within this of the best count again:
the first when most rows stay, the second when few do and the prior speaks."""


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

    @classmethod
    def of(cls, terms: Stacked, k: Floats, m: Floats, tail: HeavyTail) -> Frame:
        """Lay out the terms; k float[N, N] and m float[N] are the prior of the N points."""
        active = np.unique(np.concatenate((terms.step.point, terms.pair.points.ravel())))
        ways = 2 if terms.pair.n_minimum else 1
        odd_cases = len(USUAL)
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
        )

    @property
    def asked(self) -> Ints:
        """Points that every answer goes through: the active ones, then the six qualities."""
        last = np.arange(len(self.terms) - N_QUALITIES, len(self.terms))
        return np.concatenate((self.active, last))


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

    def likely(self, frame: Frame, cut: float, among: Bools, always: Ints) -> Cases:
        """The cases of `among` within `cut` of the best in logs, after those in `always`."""
        last = slice(len(self.mean) - N_QUALITIES, None)
        precision = inverse(self.cov[last, last])
        precision = 0.5 * (precision + precision.T)
        log_weight, lasting = frame.tail.weighed(precision, precision @ self.mean[last])
        log_weight = log_weight[frame.odd_case]
        near = among & (log_weight > log_weight.max() - cut * _patience(frame))
        near[always] = False
        others = np.flatnonzero(near)
        chosen = np.concatenate((always, others))
        lasting = _some(lasting, frame.odd_case[chosen])
        gain = self.cov[:, last] @ precision
        rest = self.cov - gain @ self.cov[last]
        mean = self.mean + (lasting.mean - self.mean[last]) @ gain.T
        cov = rest + gain @ lasting.cov @ gain.T
        return Cases(chosen, log_weight[chosen], Components(lasting.weight, mean, cov))


@dataclass(frozen=True, slots=True)
class Cases:
    """Some of the cases before floors, misses and clean and jerks are taken in."""

    which: Ints
    log_weight: Floats
    parts: Components
    """The asked points in each."""

    def some(self, chosen: Ints) -> Cases:
        """Those at `chosen`."""
        return Cases(self.which[chosen], self.log_weight[chosen], _some(self.parts, chosen))


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

    def averaged(self, weight: Floats, start: CaseSites) -> CaseSites:
        """The cases' weighted mean for as many cases as `start` has, which learnt nothing."""
        names = [name for name in self.__slots__ if name != "about_t"]
        means = {name: np.tensordot(weight, getattr(self, name), axes=1) for name in names}
        same = {name: np.broadcast_to(m, getattr(start, name).shape) for name, m in means.items()}
        return replace(start, **same)

    def joined(self, other: CaseSites) -> CaseSites:
        """These cases followed by the other's."""
        pairs = ((getattr(self, n), getattr(other, n)) for n in self.__slots__)
        return CaseSites(*(np.concatenate(pair) for pair in pairs))

    def times(self, steps: Bools, pairs: Bools) -> CaseSites:
        """Only the sites marked; the others silenced."""
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
    """Each case's Gaussian once its sites are in, over A' of the active capacities."""

    places: Ints
    """Which of the active capacities, int[A']; sites on the others are silent."""
    t: Floats
    """Site precisions summed over the capacities, float[S, A', A']."""
    h: Floats
    inverted: Floats
    """(I + T K)^-1, float[S, A', A']."""
    alpha: Floats
    mean: Floats
    """float[S, A']."""
    cov: Floats
    """float[S, A', A']."""

    @classmethod
    def of(
        cls, frame: Frame, parts: Components, sites: CaseSites, places: Ints | None = None
    ) -> Solved:
        """Solve every case; `parts` are the asked points before the sites."""
        t, h = _summed(frame, sites)
        if places is None:
            places = np.arange(len(frame.active))
        else:
            t, h = t[:, places[:, None], places], h[:, places]
        k, m = parts.cov[:, places[:, None], places], parts.mean[:, places]
        system = t @ k
        system[:, np.arange(len(places)), np.arange(len(places))] += 1.0
        inverted = inverse(system)
        alpha = np.einsum("sij,sj->si", inverted, h - np.einsum("sij,sj->si", t, m))
        cov = k @ inverted
        mean = m + np.einsum("sij,sj->si", k, alpha)
        return cls(places, t, h, inverted, alpha, mean, 0.5 * (cov + cov.transpose(0, 2, 1)))

    def log_integral(self, parts: Components) -> Floats:
        """Log of the integral of prior times sites, up to the sites' normalisers; float[S]."""
        m = parts.mean[:, self.places]
        right = self.h - np.einsum("sij,sj->si", self.t, m)
        # of (I + T K)^-1, whose determinant is that of the system turned over
        log_det = -np.linalg.slogdet(self.inverted)[1]
        value: Floats = -0.5 * log_det
        value += 0.5 * np.einsum("si,sij,sj->s", right, self.cov, right)
        value += np.einsum("si,si->s", self.h, m)
        value -= 0.5 * np.einsum("si,sij,sj->s", m, self.t, m)
        return value

    def asked(self, parts: Components, weight: Floats) -> Components:
        """The asked points with the sites in."""
        cross = parts.cov[:, :, self.places]
        mean = parts.mean + np.einsum("sij,sj->si", cross, self.alpha)
        cov = parts.cov - cross @ (self.inverted @ self.t) @ cross.transpose(0, 2, 1)
        return Components(weight, mean, 0.5 * (cov + cov.transpose(0, 2, 1)))


def _summed(frame: Frame, sites: CaseSites) -> tuple[Floats, Floats]:
    """Precision float[S, A, A] and precision x mean float[S, A] of all sites of each case."""
    cases, size = len(sites.step_t), len(frame.active)
    t, h = np.zeros((cases, size, size)), np.zeros((cases, size))
    at, pair = frame.step_at, frame.pair_at
    every = slice(None)
    _add(t, (every, at, at), sites.step_t)
    _add(h, (every, at), sites.step_h)
    for i in (0, 1):
        _add(h, (every, pair[:, i]), sites.pair_h[:, :, i])
        _add(h, (every, pair[:, i]), sites.about_t[:, :, i] * frame.terms.pair.x)
        _add(t, (every, pair[:, i], pair[:, i]), sites.about_t[:, :, i])
        for j in (0, 1):
            _add(t, (every, pair[:, i], pair[:, j]), sites.pair_t[:, :, i, j])
    return t, h


def _add(into: Floats, where: tuple[slice | Ints, ...], values: Floats) -> None:
    """Add where several values may go to one place."""
    np.add.at(into, where, values)  # type: ignore[arg-type]  # NumPy's stubs know no slices here


@dataclass(frozen=True, slots=True)
class Fitted:
    """The outcome: the cases that remained, their sites and what they say."""

    frame: Frame
    base: Base
    cases: Ints
    """Which of the 64 remained, heaviest evidence not first but in order."""
    sites: CaseSites
    parts: Components
    """The asked points, case by case, weighted by evidence."""
    step_log_z: Floats
    """Chance of each step site's terms given all other rows, log, float[S, n]."""
    pair_mean: Floats
    """What the other rows say of each pair, float[S, n, 2]."""
    pair_cov: Floats
    rounds: int
    moved: float
    recalled: dict[bytes, tuple[Base, Components]] = field(
        default_factory=dict, repr=False, compare=False
    )
    """What parts of the rows say, once worked out: several questions leave out the same lift."""


def fit_cases(frame: Frame, kept: Bools) -> Fitted:
    """Run all cases side by side until the sites rest; give up hopeless ones on the way."""
    base = Base.of(frame, kept)
    everyone = np.ones(len(frame.odd_case), dtype=bool)
    cases = base.likely(frame, _CUTS[0], everyone, np.zeros(0, dtype=np.int64))
    sites = CaseSites.none(frame, cases.which)
    solved = Solved.of(frame, cases.parts, sites)
    evidence = cases.log_weight
    rounds, moved = 0, np.inf if len(frame.active) else 0.0
    while moved > TOLERANCE and rounds < MAX_ROUNDS:
        pace = 1.0 if rounds < _SWINGING_ROUNDS else _CALM
        learnt = _Learnt.of(frame, solved, sites, cases.which, pace)
        if rounds + 1 in _CUTS:
            evidence = cases.log_weight + learnt.evidence(solved, cases.parts)
        sites = learnt.sites
        before, solved = solved, Solved.of(frame, cases.parts, sites)
        step = np.abs(solved.mean - before.mean) + np.abs(_sd(solved) - _sd(before))
        moved = float((_weights(evidence)[:, None] * step).max())
        rounds += 1
        if rounds in _CUTS and len(cases.which) > 1:
            chosen = _best(evidence, _CUTS[rounds] * _patience(frame))
            cases, sites, evidence = cases.some(chosen), sites.map(chosen), evidence[chosen]
            solved = Solved.of(frame, cases.parts, sites)
            moved = np.inf
    learnt = _Learnt.of(frame, solved, sites, cases.which, 0.0)
    evidence = cases.log_weight
    if len(frame.active):
        evidence = evidence + learnt.evidence(solved, cases.parts)
    return Fitted(
        frame=frame,
        base=base,
        cases=cases.which,
        sites=learnt.sites,
        parts=solved.asked(cases.parts, _weights(evidence)),
        step_log_z=learnt.step_log_z,
        pair_mean=learnt.pair_mean,
        pair_cov=learnt.pair_cov,
        rounds=rounds,
        moved=moved,
    )


def without_fitting(fitted: Fitted, kept: Bools) -> tuple[Base, Components]:
    """What the rows (by number) in `kept` say with the sites as they were learnt.

    Without some rows, cases may count that had been given up: those that the Gaussian rows in
    `kept` speak for come back, with the other cases' sites averaged.
    """
    if kept.all():
        return fitted.base, fitted.parts
    key = kept.tobytes()
    if key not in fitted.recalled:
        fitted.recalled[key] = _without_fitting(fitted, kept)
    return fitted.recalled[key]


def _without_fitting(fitted: Fitted, kept: Bools) -> tuple[Base, Components]:
    frame, pair = fitted.frame, fitted.frame.terms.pair
    base = Base.of(frame, kept)
    among, stay = np.ones(len(frame.odd_case), dtype=bool), np.arange(len(fitted.cases))
    if not kept[pair.row[: pair.n_minimum]].any():
        # without a maximal clean and jerk it is all one which of the two is the smaller
        heaviest_first = np.argsort(-fitted.parts.weight, kind="stable")
        odd_case = frame.odd_case[fitted.cases[heaviest_first]]
        stay = np.sort(heaviest_first[np.unique(odd_case, return_index=True)[1]])
        among = (frame.smaller == 0) & ~np.isin(frame.odd_case, odd_case)
    cut = _COME_BACK[int(2 * kept.sum() < len(kept))]
    cases = base.likely(frame, cut, among, fitted.cases[stay])
    back = CaseSites.none(frame, cases.which[len(stay) :])
    sites = fitted.sites.map(stay).joined(fitted.sites.averaged(fitted.parts.weight, back))
    steps: Bools = np.all(kept[frame.terms.step.row] | ~frame.terms.step.there, axis=1)
    pairs = kept[pair.row]
    sites = sites.times(steps, pairs)
    spoken = np.union1d(frame.step_at[steps], frame.pair_at[pairs])
    solved = Solved.of(frame, cases.parts, sites, spoken)
    evidence = cases.log_weight + solved.log_integral(cases.parts)
    evidence = evidence + sites.step_c.sum(axis=1) + sites.pair_c.sum(axis=1)
    return base, solved.asked(cases.parts, _weights(evidence))


@dataclass(frozen=True, slots=True)
class _Learnt:
    """One round: the sites after a step, with normalisers, and the cavities' answers."""

    sites: CaseSites
    step_log_z: Floats
    pair_mean: Floats
    pair_cov: Floats

    @classmethod
    def of(
        cls, frame: Frame, solved: Solved, sites: CaseSites, alive: Ints, pace: float
    ) -> _Learnt:
        """Take each site out, see its moments, and move it towards them by `pace`."""
        at, step = frame.step_at, frame.terms.step
        var = np.einsum("sii->si", solved.cov)[:, at]
        mu = solved.mean[:, at]
        t, h = 1.0 / var - sites.step_t, mu / var - sites.step_h
        ok = (t > 0.0) & (var > 0.0)
        t, h = np.where(ok, t, 1.0), np.where(ok, h, 0.0)
        log_z, mean, new_var = steps_moments(
            h / t, 1.0 / t, step.x, step.sd, step.sign, step.fluke, step.there
        )
        # a miss that was likely a fluke asks for a precision below 0: it may widen the rest, but
        # not make it improper
        ok &= new_var > 1e-12
        aim_t = np.maximum(1.0 / np.where(ok, new_var, 1.0) - t, -_WIDEN * t)
        aim_h = mean * (t + aim_t) - h
        ok &= np.isfinite(aim_t) & np.isfinite(aim_h)
        step_t = sites.step_t + np.where(ok, pace * _DAMPING * (aim_t - sites.step_t), 0.0)
        step_h = sites.step_h + np.where(ok, pace * _DAMPING * (aim_h - sites.step_h), 0.0)
        step_c = log_z + 0.5 * (h * h / t - np.log(t)) - 0.5 * (mu * mu / var + np.log(var))
        pair_t, pair_h, pair_c, pair_mean, pair_cov = _learnt_pairs(
            frame, solved, sites, alive, pace
        )
        return cls(
            CaseSites(
                step_t, step_h, np.where(ok, step_c, 0.0), pair_t, pair_h, pair_c, sites.about_t
            ),
            log_z,
            pair_mean,
            pair_cov,
        )

    def evidence(self, solved: Solved, parts: Components) -> Floats:
        """Log evidence of every case, up to one constant, for the sites `solved` holds."""
        value: Floats = solved.log_integral(parts)
        value += self.sites.step_c.sum(axis=1) + self.sites.pair_c.sum(axis=1)
        return value


def _learnt_pairs(
    frame: Frame, solved: Solved, sites: CaseSites, alive: Ints, pace: float
) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    pair, at = frame.terms.pair, frame.pair_at
    cases, n, k = len(sites.pair_t), len(at), frame.terms.pair.n_minimum
    if not n:
        nothing = np.zeros((cases, 0, 2))
        return sites.pair_t, sites.pair_h, sites.pair_c, nothing, sites.pair_t
    marginal = solved.cov[:, at[:, :, None], at[:, None, :]]
    mu = solved.mean[:, at]
    precision = inverse_2x2(marginal)
    t = precision - sites.pair_t
    h = np.einsum("snij,snj->sni", precision, mu) - sites.pair_h
    ok = (_det(t) > 0.0) & (t[..., 0, 0] > 0.0)
    t = np.where(ok[..., None, None], t, np.eye(2))
    h = np.where(ok[..., None], h, 0.0)
    cov = inverse_2x2(t)
    mean = np.einsum("snij,snj->sni", cov, h)
    log_z, new_mean, new_cov = np.zeros((cases, n)), np.empty_like(mean), np.empty_like(cov)
    sign = np.repeat(1.0 - 2.0 * frame.smaller[alive], k)
    x, sd, fluke = (np.tile(a[k:], cases) for a in (pair.x, pair.sd, pair.fluke))
    for part, moments, told in (
        (slice(0, k), order_moments, (sign,)),
        (slice(k, n), either_missed_moments, (x, sd, fluke)),
    ):
        if not len(told[0]):
            continue
        found = moments(mean[:, part].reshape(-1, 2), cov[:, part].reshape(-1, 2, 2), *told)
        log_z[:, part] = found[0].reshape(cases, -1)
        new_mean[:, part] = found[1].reshape(cases, -1, 2)
        new_cov[:, part] = found[2].reshape(cases, -1, 2, 2)
    aim_t = _proper_2x2(inverse_2x2(new_cov) - t)
    aim_h = np.einsum("snij,snj->sni", t + aim_t, new_mean) - h
    ok &= np.isfinite(aim_t).all(axis=(2, 3)) & np.isfinite(aim_h).all(axis=2)
    pace *= _PAIR_DAMPING
    pair_t = sites.pair_t + np.where(ok[..., None, None], pace * (aim_t - sites.pair_t), 0.0)
    pair_h = sites.pair_h + np.where(ok[..., None], pace * (aim_h - sites.pair_h), 0.0)
    c = log_z + 0.5 * (np.einsum("sni,sni->sn", h, mean) - np.log(np.abs(_det(t))))
    c -= 0.5 * np.einsum("sni,snij,snj->sn", mu, precision, mu)
    c -= 0.5 * np.log(np.maximum(_det(marginal), 1e-300))
    return pair_t, pair_h, np.where(ok, c, 0.0), mean, cov


def _det(a: Floats) -> Floats:
    value: Floats = a[..., 0, 0] * a[..., 1, 1] - a[..., 0, 1] * a[..., 1, 0]
    return value


def inverse_2x2(a: Floats) -> Floats:
    """Inverses of float[..., 2, 2]."""
    turned = np.empty_like(a)
    turned[..., 0, 0], turned[..., 1, 1] = a[..., 1, 1], a[..., 0, 0]
    turned[..., 0, 1], turned[..., 1, 0] = -a[..., 0, 1], -a[..., 1, 0]
    inverted: Floats = turned / _det(a)[..., None, None]
    return inverted


def _proper_2x2(a: Floats) -> Floats:
    """Symmetric float[..., 2, 2] with eigenvalues below 0 raised to 0.

    Unlike a miss, a clean and jerk shares its two capacities with other days' ones: sites that
    widen would swing.
    """
    values, vectors = np.linalg.eigh(a)
    proper: Floats = (vectors * np.maximum(values, 0.0)[..., None, :]) @ vectors.swapaxes(-1, -2)
    return proper


def _sd(solved: Solved) -> Floats:
    """Sds of the active capacities; rounds far from the answer may leave a variance below 0."""
    sd: Floats = np.sqrt(np.maximum(np.einsum("sii->si", solved.cov), 0.0))
    return sd


def _patience(frame: Frame) -> float:
    """1 up to 50 active capacities, down to 0.3 from 150 on: see _CUTS."""
    return float(np.interp(len(frame.active), (50.0, 150.0), (1.0, 0.3)))


def _best(evidence: Floats, cut: float) -> Ints:
    return np.flatnonzero(evidence > evidence.max() - cut)


def _some(parts: Components, chosen: Ints) -> Components:
    return Components(parts.weight[chosen], parts.mean[chosen], parts.cov[chosen])


def _weights(evidence: Floats) -> Floats:
    weight: Floats = np.exp(evidence - evidence.max())
    weight /= weight.sum()
    return weight
