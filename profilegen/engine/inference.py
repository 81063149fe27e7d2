"""Expectation propagation: prior + evidence -> Posterior.

Each non-Gaussian term is replaced by the Gaussian that gives the right mean and variance
when everything else is Gaussian too (Minka 2001; Rasmussen & Williams 2006, ch. 3.6). With
K the prior covariance of the N capacities that rows speak of, m its mean, and the sites'
natural parameters collected in the precision S (N x N, block-sparse) and the vector h,

    Sigma = K (I + S K)^-1          mu = m + Sigma (h - S m)

All sites are updated at once, damped; nothing loops over rows. A site whose cavity is not a
proper Gaussian waits for the next round. If the means still move after MAX_ROUNDS, the
posterior says so (`converged`), and the page shows it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from profilegen.engine.arrays import Bools, Floats, inverse
from profilegen.engine.cavity import DAMPING, Cavity, HeavyTail
from profilegen.engine.evidence import Row, rows_of
from profilegen.engine.posterior import Posterior, Solved
from profilegen.engine.prior import Prior, prior_for
from profilegen.engine.sites import (
    either_missed_moments,
    minimum_moments,
    step_moments,
)
from profilegen.engine.terms import Sites, Stacked, features_at, stack
from profilegen.history.records import Athlete
from profilegen.norms.catalogue import Norms

MAX_ROUNDS = 100
TOLERANCE = 1e-5
"""Rounds stop when no lift moves by more than this (log units: a thousandth of 1 %)."""
_QUALITY_EFFECT = 0.05
"""What a standard deviation of a quality can move a lift by, to weigh its movements."""
_SWINGING_ROUNDS = 25
_CALM_PACE = 0.35
_PAIR_DAMPING = 0.5
"""Several attempts of a day share one clean and jerk; larger steps would swing past."""
_WORTHLESS_Z = 3.5
"""A floor this many sds under what the rest says moves no mean by 1e-3 of an sd (hazard at
3.5), which is less than a hundredth of a kilo."""
_DOUBTFUL_Z = 4.5
"""When some floors must come back, those nearly needed come too, so that one refit is enough."""
_SCREEN_GAP = 0.08
_SCREEN_DAYS = 45


def fit(athlete: Athlete, norms: Norms, on: date) -> Posterior:
    """What the evidence up to `on` says about the lifter."""
    return fit_rows(prior_for(athlete, norms, on), rows_of(athlete, norms, on), norms, on)


def fit_rows(prior: Prior, rows: Sequence[Row], norms: Norms, on: date) -> Posterior:
    """Infer from `rows`; floors that say nothing beyond heavier rows nearby are set aside.

    The rows set aside are checked against the result: one that would have mattered after
    all comes back and the fit is repeated, so that dropping changes no printed number.
    """
    used = screen(rows)
    while True:
        posterior = propagate(prior, rows, used, norms, on)
        needed = _needed(posterior)
        if not needed.any():
            return posterior
        used = used | needed


def screen(rows: Sequence[Row]) -> Bools:
    """Rows to start with: all but floors 8 % under another row of the lift within 45 days."""
    used = np.ones(len(rows), dtype=bool)
    by_lift: dict[str, list[int]] = {}
    for index, row in enumerate(rows):
        if row.kind != "missed":
            by_lift.setdefault(row.lift, []).append(index)
    for says in by_lift.values():
        day = np.array([rows[i].on.toordinal() for i in says])
        x = np.array([rows[i].terms[0].x for i in says])
        near = np.abs(day[:, None] - day[None, :]) <= _SCREEN_DAYS
        heaviest_near = np.where(near, x[None, :], -np.inf).max(axis=1)
        for i, heaviest in zip(says, heaviest_near, strict=True):
            floor = rows[i].floor_x
            used[i] = floor is None or floor > heaviest - _SCREEN_GAP
    return used


def _needed(posterior: Posterior) -> Bools:
    """Dropped rows whose floor is not safely under the posterior."""
    rows = posterior.rows
    needed = np.zeros(len(rows), dtype=bool)
    pairs = [(i, term) for i in np.flatnonzero(~posterior.used) for term in rows[i].terms]
    if not pairs:
        return needed
    mean, var = posterior.marginal(
        features_at(posterior.prior, [(rows[i], term.lifts[0]) for i, term in pairs])
    )
    x = np.array([term.x for _, term in pairs])
    sd = np.array([term.sd for _, term in pairs])
    z = (mean - x) / np.sqrt(var + sd * sd)
    if (z < _WORTHLESS_Z).any():
        needed[[i for (i, _), c in zip(pairs, z < _DOUBTFUL_Z, strict=True) if c]] = True
    return needed


def propagate(prior: Prior, rows: Sequence[Row], used: Bools, norms: Norms, on: date) -> Posterior:
    """Expectation propagation over the rows marked in `used`."""
    terms = stack(prior, rows, used, float(on.toordinal()))
    k, m = prior.cov(terms.features, terms.features), prior.mean(terms.features)
    tail = HeavyTail.of(prior, norms)
    sites = Sites.start(terms)
    solved = Solved.of(k, m, terms, sites)
    effect = np.ones(len(terms))
    effect[terms.lasting] = _QUALITY_EFFECT
    moved, rounds = np.inf, 0
    while moved > TOLERANCE and rounds < MAX_ROUNDS:
        aim = _updated(sites, terms, solved, tail)
        # sites that still swing after many rounds share one clean and jerk: calm them
        sites = aim if rounds < _SWINGING_ROUNDS else sites.towards(aim, _CALM_PACE)
        before, solved = solved, Solved.of(k, m, terms, sites)
        # spreads count as well: without rows nothing moves but the width of the heavy tails
        by = np.abs(solved.mu - before.mu) + np.abs(_sd(solved) - _sd(before))
        moved = float((by * effect).max())
        rounds += 1
    return Posterior(
        prior=prior,
        norms=norms,
        on=on,
        rows=tuple(rows),
        used=used,
        terms=terms,
        k=k,
        m=m,
        sites=sites,
        solved=solved,
        rounds=rounds,
        moved=moved,
        converged=moved <= TOLERANCE,
    )


def _sd(solved: Solved) -> Floats:
    """Posterior sds; rounds far from the answer may leave a variance below 0."""
    sd: Floats = np.sqrt(np.maximum(solved.var, 0.0))
    return sd


def _updated(sites: Sites, terms: Stacked, solved: Solved, tail: HeavyTail) -> Sites:
    """One damped round: every site moves towards matching its own moments."""
    mu, var = solved.mu, solved.var
    step = terms.step
    cavity = Cavity.of(var[step.point], mu[step.point], sites.step_t, sites.step_h)
    _, mean, new_var = step_moments(cavity.mean, cavity.var, step.x, step.sd, step.sign, step.fluke)
    step_t, step_h = cavity.learnt(sites.step_t, sites.step_h, mean, new_var)

    tail_t, tail_h = _updated_tail(sites, solved, tail)
    pair_t, pair_h = _updated_pairs(sites, terms, solved)
    return replace(
        sites,
        step_t=step_t,
        step_h=step_h,
        tail_t=tail_t,
        tail_h=tail_h,
        pair_t=pair_t,
        pair_h=pair_h,
    )


def _updated_tail(sites: Sites, solved: Solved, tail: HeavyTail) -> tuple[Floats, Floats]:
    """One site for the heavy tails of all six qualities, moved towards the exact mixture."""
    t, h = solved.tail_cavity(sites)
    mean, cov = tail.components(t, h).moments()
    precision = inverse(cov)
    new_t = sites.tail_t + DAMPING * (precision - t - sites.tail_t)
    new_h = sites.tail_h + DAMPING * (precision @ mean - h - sites.tail_h)
    return new_t, new_h


def _updated_pairs(sites: Sites, terms: Stacked, solved: Solved) -> tuple[Floats, Floats]:
    pair = terms.pair
    if not len(pair.x):
        return sites.pair_t, sites.pair_h
    mean, cov, t, h, ok = pair_cavity(terms, solved, sites)
    n = pair.n_minimum
    parts = (
        minimum_moments(mean[:n], cov[:n], pair.x[:n], pair.sd[:n] ** 2),
        either_missed_moments(mean[n:], cov[n:], pair.x[n:], pair.sd[n:], pair.fluke[n:]),
    )
    new_mean = np.concatenate([part[1] for part in parts])
    precision = inverse_2x2(np.concatenate([part[2] for part in parts]))
    aim_t = proper_2x2(precision - t)
    aim_h = np.einsum("nij,nj->ni", t + aim_t, new_mean) - h
    ok &= np.isfinite(aim_t).all(axis=(1, 2)) & np.isfinite(aim_h).all(axis=1)
    new_t = np.where(
        ok[:, None, None], sites.pair_t + _PAIR_DAMPING * (aim_t - sites.pair_t), sites.pair_t
    )
    new_h = np.where(
        ok[:, None], sites.pair_h + _PAIR_DAMPING * (aim_h - sites.pair_h), sites.pair_h
    )
    return new_t, new_h


def pair_cavity(
    terms: Stacked, solved: Solved, sites: Sites
) -> tuple[Floats, Floats, Floats, Floats, Bools]:
    """Mean, covariance, precision, precision x mean of each pair without its own site.

    The last array says which cavities are proper Gaussians; the others hold placeholders.
    """
    precision = inverse_2x2(solved.pair_cov)
    t = precision - sites.pair_t
    h = np.einsum("nij,nj->ni", precision, solved.mu[terms.pair.points]) - sites.pair_h
    det = t[:, 0, 0] * t[:, 1, 1] - t[:, 0, 1] ** 2
    ok = (det > 0.0) & (t[:, 0, 0] > 0.0)
    t = np.where(ok[:, None, None], t, np.eye(2))
    cov = inverse_2x2(t)
    return np.einsum("nij,nj->ni", cov, h), cov, t, h, ok


def proper_2x2(a: Floats) -> Floats:
    """Symmetric float[n, 2, 2] with eigenvalues below 0 raised to 0."""
    values, vectors = np.linalg.eigh(a)
    raised: Floats = (vectors * np.maximum(values, 0.0)[:, None, :]) @ vectors.transpose(0, 2, 1)
    return raised


def inverse_2x2(a: Floats) -> Floats:
    """Inverses of float[n, 2, 2]."""
    det = a[:, 0, 0] * a[:, 1, 1] - a[:, 0, 1] * a[:, 1, 0]
    turned = np.empty_like(a)
    turned[:, 0, 0], turned[:, 1, 1] = a[:, 1, 1], a[:, 0, 0]
    turned[:, 0, 1], turned[:, 1, 0] = -a[:, 0, 1], -a[:, 1, 0]
    return turned / det[:, None, None]
