"""From rows to a posterior: which rows take part, and the fit itself (see cases.py).

Floors and misses that say nothing beyond the other rows are set aside before the fit and checked
after it, so that a ten-year diary need not carry every warm-up along.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from profilegen.engine.arrays import Bools, Floats
from profilegen.engine.cases import TOLERANCE, fit_cases
from profilegen.engine.cavity import HeavyTail
from profilegen.engine.evidence import Row, rows_of
from profilegen.engine.first_look import FirstLook
from profilegen.engine.frame import Frame
from profilegen.engine.posterior import Posterior
from profilegen.engine.prior import Prior, prior_for
from profilegen.engine.terms import features_at, stack
from profilegen.history.records import Athlete
from profilegen.norms.catalogue import Norms

_CLEAR_DAYS = (0.0, 365.0, 1461.0)
_CLEAR_Z = (3.5, 2.5, 1.5)
"""From so many days before the profile on (between them by interpolation), a floor this many
sds under what the rest says (or a miss as far above) says nothing new. At 3.5 sds it moves no
mean by 1e-3 of an sd (hazard of the normal), less than a hundredth of a kilo. Older rows reach
today only through what lasts: a year's drift lets through a third, four years' a fiftieth."""
_MARGIN = 1.0
"""Rows are set aside before the fit only with this to spare."""
_LEEWAY = 0.5
"""After it they come back only if they lack this: at 3 sds a floor moves a mean by 0.005 sd."""


def fit(athlete: Athlete, norms: Norms, on: date) -> Posterior:
    """What the evidence up to `on` says about the lifter."""
    look = FirstLook.at(prior_for(athlete, norms, on), rows_of(athlete, norms, on), norms)
    found = fit_rows(look.prior, look.rows, norms, on)
    return replace(found, pace=look.pace, slips=look.slips)


def fit_rows(prior: Prior, rows: Sequence[Row], norms: Norms, on: date) -> Posterior:
    """Infer from `rows`; floors and misses that say nothing beyond the others are set aside.

    The rows set aside are checked against the result: one that would have mattered after
    all comes back and the fit is repeated, so that dropping changes no printed number.
    """
    used = screen(prior, rows, norms, on)
    while True:
        posterior = propagate(prior, rows, used, norms, on)
        spare = _spare(posterior, ~used)
        if not (spare < -_LEEWAY).any():
            return posterior
        used = used | (spare < _MARGIN)


def screen(prior: Prior, rows: Sequence[Row], norms: Norms, on: date) -> Bools:
    """Rows to start with: those that say about how much, and whatever they leave in doubt."""
    says = np.array([any(t.kind in ("about", "minimum") for t in row.terms) for row in rows], bool)
    gaussian = np.array([all(t.kind == "about" for t in row.terms) for row in rows], bool)
    known = propagate(prior, rows, gaussian, norms, on)
    return says | (_spare(known, ~says) < _MARGIN)


def _spare(posterior: Posterior, which: Bools) -> Floats:
    """By how many sds a row is clearer than it need be to be set aside, float[rows].

    A floor is clear when it is far under what is known, a miss when it is far over; a row is
    as clear as the least clear of its terms. Infinite for rows outside `which`.
    """
    spare = np.full(len(posterior.rows), np.inf)
    terms = [
        (number, term, lift)
        for number in np.flatnonzero(which).tolist()
        for term in posterior.rows[number].terms
        for lift in term.lifts
    ]
    if terms:
        places = [(posterior.rows[number], lift) for number, _, lift in terms]
        mean, var = posterior.marginal(features_at(posterior.prior, places))
        x = np.array([term.x for _, term, _ in terms])
        sd = np.array([term.sd for _, term, _ in terms])
        side = np.array([1.0 if term.kind == "floor" else -1.0 for _, term, _ in terms])
        z = side * (mean - x) / np.sqrt(var + sd * sd)
        age = posterior.on.toordinal() - np.array([row.on.toordinal() for row, _ in places])
        need = np.interp(age, _CLEAR_DAYS, _CLEAR_Z)
        np.minimum.at(spare, [number for number, _, _ in terms], z - need)
    return spare


def propagate(prior: Prior, rows: Sequence[Row], used: Bools, norms: Norms, on: date) -> Posterior:
    """Expectation propagation over the rows marked in `used`."""
    terms = stack(prior, rows, used, float(on.toordinal()))
    k, m = prior.cov(terms.features, terms.features), prior.mean(terms.features)
    frame = Frame.of(terms, k, m, HeavyTail.of(prior, norms))
    fitted = fit_cases(frame, np.ones(len(rows), dtype=bool))
    return Posterior(
        prior=prior,
        norms=norms,
        on=on,
        rows=tuple(rows),
        used=used,
        fitted=fitted,
        converged=fitted.moved <= TOLERANCE,
    )
