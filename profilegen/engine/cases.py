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

A miss was too heavy or a fluke, which are two bells of their own. Where that is open and matters
(doubt.py), the most doubtful miss makes two more cases of each.

Shapes: S cases, A active capacities, n sites; arrays lead with S. frame.py holds what stays
the same, case_sites.py the sites and one round of learning them.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from profilegen.engine.arrays import Bools, Floats, Ints
from profilegen.engine.case_sites import CaseSites, Learnt, Solved
from profilegen.engine.cavity import Components
from profilegen.engine.doubt import doubtful_miss
from profilegen.engine.frame import Base, Cases, Frame

MAX_ROUNDS = 100
TOLERANCE = 1e-4
"""Rounds stop when no lift moves by more than this (log units: 0.01 %)."""
_SWINGING_ROUNDS = 25
_CALM = 0.35
_CUTS = {0: 12.0, 2: 6.5}
"""After so many rounds, cases whose evidence is lower than the best by more than this in
logs are given up (the last: a weight of 1 in 650). With many capacities in play, as in a
ten-year diary, hardly anything hangs on which of the lesser cases holds: the cut shrinks."""
_COME_BACK = (3.0, 6.0)
"""Without some rows, cases that the Gaussian ones put within this of the best count again:
the first when most rows stay, the second when few do and the prior speaks."""


@dataclass(frozen=True, slots=True)
class Fitted:
    """The outcome: the cases that remained, their sites and what they say."""

    frame: Frame
    base: Base
    cases: Ints
    """Which cases remained (numbers as in `Frame.odd_case`)."""
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
    """Run all cases side by side until the sites rest; give up hopeless ones on the way.

    Then, where one miss leaves it open whether it was a fluke, each case becomes two.
    """
    base = Base.of(frame, kept)
    everyone = np.ones(len(frame.odd_case), dtype=bool)
    cases = base.likely(frame, _CUTS[0], everyone, np.zeros(0, dtype=np.int64))
    rested = _rested(frame, cases, CaseSites.none(frame, cases.which))
    doubt = doubtful_miss(frame, rested.solved, rested.sites, rested.weight)
    if doubt is not None:
        every, twice = len(frame.odd_case), np.tile(np.arange(len(rested.cases.which)), 2)
        frame = frame.doubted(*doubt)
        which = np.concatenate((rested.cases.which, every + rested.cases.which))
        cases = base.likely(frame, 0.0, np.zeros(2 * every, dtype=bool), which)
        rested = _rested(frame, cases, rested.sites.map(twice), rested.rounds)
    learnt = rested.learnt
    return Fitted(
        frame=frame,
        base=base,
        cases=rested.cases.which,
        sites=rested.sites,
        parts=rested.solved.asked(rested.cases.parts, rested.weight),
        step_log_z=learnt.step_log_z,
        pair_mean=learnt.pair_mean,
        pair_cov=learnt.pair_cov,
        rounds=rested.rounds,
        moved=rested.moved,
    )


@dataclass(frozen=True, slots=True)
class _Rested:
    """Where the rounds came to rest."""

    cases: Cases
    solved: Solved
    learnt: Learnt
    """From `solved`, without a further step."""
    weight: Floats
    rounds: int
    moved: float

    @property
    def sites(self) -> CaseSites:
        return self.learnt.sites


def _rested(frame: Frame, cases: Cases, sites: CaseSites, before: int = 0) -> _Rested:
    """Rounds from `sites` on until no lift moves; `before` rounds count as run already."""
    solved = Solved.of(frame, cases.parts, sites)
    evidence = cases.log_weight
    rounds, moved = 0, np.inf if len(frame.active) else 0.0
    while moved > TOLERANCE and rounds < MAX_ROUNDS:
        pace = 1.0 if rounds < _SWINGING_ROUNDS else _CALM
        learnt = Learnt.of(frame, solved, sites, cases.which, pace)
        if rounds + 1 in _CUTS:
            evidence = cases.log_weight + learnt.evidence(solved, cases.parts)
        sites = learnt.sites
        last, solved = solved, Solved.of(frame, cases.parts, sites)
        step = np.abs(solved.mean - last.mean) + np.abs(solved.sd - last.sd)
        moved = float((_weights(evidence)[:, None] * step).max())
        rounds += 1
        if rounds in _CUTS and len(cases.which) > 1:
            chosen = _best(evidence, _CUTS[rounds] * frame.patience)
            cases, sites, evidence = cases.some(chosen), sites.map(chosen), evidence[chosen]
            solved = Solved.of(frame, cases.parts, sites)
            moved = np.inf
    learnt = Learnt.of(frame, solved, sites, cases.which, 0.0)
    evidence = cases.log_weight
    if len(frame.active):
        evidence = evidence + learnt.evidence(solved, cases.parts)
    return _Rested(cases, solved, learnt, _weights(evidence), before + rounds, moved)


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
        kind = frame.kind[fitted.cases[heaviest_first]]
        stay = np.sort(heaviest_first[np.unique(kind, return_index=True)[1]])
        among = (frame.smaller == 0) & ~np.isin(frame.kind, kind)
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


def _best(evidence: Floats, cut: float) -> Ints:
    return np.flatnonzero(evidence > evidence.max() - cut)


def _weights(evidence: Floats) -> Floats:
    weight: Floats = np.exp(evidence - evidence.max())
    weight /= weight.sum()
    return weight
