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

Cases are Gaussian up to what their sites leave out, which is made good at the end (remainder.py).

Shapes: S cases, A active capacities, n sites; arrays lead with S. frame.py holds what stays
the same, opening.py learns one set of sites for all cases to start from and tells which cases
are hopeless, case_sites.py has the sites and one round of learning them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from profilegen.engine.arrays import Bools, Floats, Ints
from profilegen.engine.case_sites import CaseSites, Learnt, Solved
from profilegen.engine.cavity import Components
from profilegen.engine.doubt import doubtful_miss
from profilegen.engine.frame import Base, Cases, Frame, some
from profilegen.engine.opening import Opening
from profilegen.engine.remainder import Remainder

MAX_ROUNDS = 100
TOLERANCE = 2e-5
"""A case rests when no lift in it moves by more than this (log units: 0.002 %) over its weight."""
_LEAST_WEIGHT = 0.03
"""Taken of every case for that, as long as nobody knows what it will weigh."""
_NO_WEIGHT = 1e-12
_SWINGING_ROUNDS = 25
_CALM = 0.35
_FIRST_CUT = 12.0
"""Cases whose evidence with shared sites is lower than the best by more than this in logs are not
looked at."""
CUT = 6.5
"""After the opening the same with all evidence, a weight of 1 in 650. With many capacities
in play, as in a ten-year diary, hardly anything hangs on which of the lesser cases holds: the
cut shrinks."""


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
    solves: int
    """How many times a case was solved by itself: what the fit's time hangs on."""
    moved: float


def fit_cases(frame: Frame, kept: Bools) -> Fitted:
    """Run all cases side by side until the sites rest.

    After an opening round that all share hopeless cases are given up, and where one miss leaves
    it open whether it was a fluke, each case becomes two.
    """
    base = Base.of(frame, kept)
    nobody = np.zeros(len(frame.odd_case), dtype=bool)
    if not len(frame.active):
        cases = base.likely(frame, _FIRST_CUT, ~nobody, np.zeros(0, dtype=np.int64))
        sites = CaseSites.none(frame, cases.which)
        solved = Solved.of(frame, cases.parts, sites)
        learnt = Learnt.of(frame, solved, sites, cases.which, 1.0)
        return _rested(frame, base, cases, sites, solved, learnt, cases.log_weight)
    opening = Opening.of(frame, base, _FIRST_CUT * frame.patience)
    sites, solved = opening.sites, opening.solved
    learnt = Learnt.of(frame, solved, sites, opening.which, 1.0)
    evidence = opening.log_weight + learnt.sites.log_normaliser()
    chosen = np.flatnonzero(evidence > evidence.max() - CUT * frame.patience)
    doubt = doubtful_miss(frame, learnt, _weights(evidence))
    which, evidence = opening.which[chosen], evidence[chosen]
    sites, solved, learnt = sites.map(chosen), solved.some(chosen), learnt.some(chosen)
    if doubt is not None:
        which = np.concatenate((which, which + len(frame.odd_case)))
        frame, nobody = frame.doubted(*doubt), np.tile(nobody, 2)
        evidence = np.tile(evidence, 2) + frame.log_share[which]
        twice = np.tile(np.arange(len(chosen)), 2)
        sites, solved = sites.map(twice), solved.some(twice)
        learnt = Learnt.of(frame, solved, sites, which, 1.0)
    cases = base.likely(frame, 0.0, nobody, which)
    return _rested(frame, base, cases, sites, solved, learnt, evidence)


def _rested(
    frame: Frame, base: Base, cases: Cases, sites: CaseSites, solved: Solved, learnt: Learnt,
    evidence: Floats,
) -> Fitted:  # fmt: skip
    """Rounds until no lift moves, from `sites` on, which make `solved` and then teach `learnt`;
    evidence float[S] as far as it is known. A case that hardly moves, for what it weighs, rests
    while others go on."""
    weight, rounds, solves = np.maximum(_weights(evidence), _LEAST_WEIGHT), 0, 0
    moved = weight * learnt.gap
    busy = going = np.flatnonzero(moved > TOLERANCE)
    step, found = learnt, []
    while len(busy) and rounds < MAX_ROUNDS:
        rounds, solves = rounds + 1, solves + len(busy)
        own = step.sites.map(going)
        now = Solved.of(frame, some(cases.parts, busy), own)
        pace = 1.0 if rounds < _SWINGING_ROUNDS else _CALM
        step = Learnt.of(frame, now, own, cases.which[busy], pace)
        found.append((busy, own, now, step))
        moved[busy] = weight[busy] * step.gap
        going = np.flatnonzero(moved[busy] > TOLERANCE)
        busy = busy[going]
    sites = sites.with_cases([(at, own) for at, own, _, _ in found])
    solved = solved.with_cases([(at, now) for at, _, now, _ in found])
    learnt = learnt.with_cases([(at, step) for at, _, _, step in found])
    sites = replace(sites, step_c=learnt.sites.step_c, pair_c=learnt.sites.pair_c)
    evidence = _evidence(cases, solved, sites)
    everything = (np.ones(len(places), dtype=bool) for places in (frame.step_at, frame.pair_at))
    return Fitted(
        frame=frame,
        base=base,
        cases=cases.which,
        sites=sites,
        parts=_known(frame, cases, solved, sites, evidence, *everything),
        step_log_z=learnt.step_log_z,
        pair_mean=learnt.pair_mean,
        pair_cov=learnt.pair_cov,
        rounds=rounds,
        solves=solves,
        moved=float(moved.max(initial=0.0)),
    )


def without_fitting(fitted: Fitted, kept: Bools, cut: float = CUT) -> tuple[Base, Components]:
    """What the rows (by number) in `kept` say with the sites as they were learnt.

    Without some rows cases may count that had been given up. So all come back, and share the
    sites of those that were fitted, averaged apart for each way to read clean and jerks and the
    doubtful miss. Cases whose evidence is lower than the best by more than `cut` in logs are left
    out.
    """
    if kept.all():
        return fitted.base, fitted.parts
    frame, pair = fitted.frame, fitted.frame.terms.pair
    base, weight = Base.of(frame, kept), fitted.parts.weight
    first = frame.firsts
    alike = frame.reading[first][:, None] == frame.reading[fitted.cases]
    counts = np.ones(len(first), dtype=bool)
    if kept[pair.row[: pair.n_minimum]].any():
        alike &= frame.smaller[first][:, None] == frame.smaller[fitted.cases]
    else:
        # without a maximal clean and jerk it is all one which of the two is the smaller
        counts = frame.smaller[first] == 0
    share = np.where(alike.any(axis=1, keepdims=True), alike, True) * np.maximum(weight, _NO_WEIGHT)
    share /= share.sum(axis=1, keepdims=True)
    steps: Bools = np.all(kept[frame.terms.step.row] | ~frame.terms.step.there, axis=1)
    pairs = kept[pair.row]
    sites = fitted.sites.averaged(share, CaseSites.none(frame, first)).times(steps, pairs)
    opening = Opening.sharing(frame, base, sites, CUT, counts)
    evidence = opening.log_weight + opening.sites.log_normaliser()
    near = np.flatnonzero(evidence > evidence.max() - cut)
    nobody = np.zeros(len(frame.odd_case), dtype=bool)
    cases = base.likely(frame, 0.0, nobody, opening.which[near])
    solved, sites = opening.solved.some(near), opening.sites.map(near)
    return base, _known(frame, cases, solved, sites, evidence[near], steps, pairs)


def _known(
    frame: Frame, cases: Cases, solved: Solved, sites: CaseSites, evidence: Floats,
    steps: Bools, pairs: Bools,
) -> Components:  # fmt: skip
    """The asked points, with what the marked sites say and what they leave out."""
    left_out = Remainder.of(frame, solved, sites, cases.which, steps, pairs)
    weight = _weights(evidence + left_out.log_z)
    return solved.asked(cases.parts, weight, left_out.shift, left_out.curve)


def _evidence(cases: Cases, solved: Solved, sites: CaseSites) -> Floats:
    """Log evidence of every case, up to one constant."""
    return cases.log_weight + solved.log_integral(cases.parts) + sites.log_normaliser()


def _weights(evidence: Floats) -> Floats:
    weight: Floats = np.exp(evidence - evidence.max())
    weight /= weight.sum()
    return weight
