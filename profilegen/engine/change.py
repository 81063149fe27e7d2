"""What rose or fell since the last testing week, beyond the noise of a test."""

from __future__ import annotations

from typing import Literal

import numpy as np

from profilegen.engine.arrays import Floats
from profilegen.engine.draws import points_by_case, roots
from profilegen.engine.evidence import CLEAN_AND_JERK
from profilegen.engine.limits import COMPETITION, chances_of_draws, ranked
from profilegen.engine.posterior import N_QUALITIES, Z90, Posterior
from profilegen.engine.profile import Change, LiftChange
from profilegen.engine.sites import minimum_of_two
from profilegen.engine.state import columns
from profilegen.history.records import Club, TestingWeek

_DRAWS = 1024
"""Enough for the spread of a change to a hundredth."""


def change_since(posterior: Posterior, club: Club) -> Change | None:
    """From this lifter's last testing week to today.

    A week that ended just now (up to `current_week_days` ago) is today itself: then changes
    count from the week before it. Both days come from one posterior: what is known now about
    then. None when there is no such week with rows of this lifter.
    """
    week = _earlier_week(posterior, club)
    if week is None:
        return None
    now, then = float(posterior.on.toordinal()), float(week.end.toordinal())
    prior = posterior.prior
    ids = prior.lift_ids
    tested = [lift for lift in ids if any(row.lift == lift for row in posterior.rows)]
    lifts = [lift for lift in ids if lift in {*tested, *COMPETITION}]
    index = np.array([ids.index(lift) for lift in lifts])
    n = len(lifts)
    features = prior.quality_features(then)
    for day in (then, now):
        features = features.joined(prior.lift_features(index, np.full(n, day)))
    known = posterior.tailed(features)
    limiting = [*range(N_QUALITIES), *(N_QUALITIES + lifts.index(lift) for lift in COMPETITION)]
    chances = chances_of_draws(columns(known, np.array(limiting)).draws(), posterior)
    mean, cov = known.moments()
    mean, cov = mean[N_QUALITIES:], cov[N_QUALITIES:, N_QUALITIES:]
    diff = mean[n:] - mean[:n]
    var = np.diag(cov)[n:] + np.diag(cov)[:n] - 2.0 * np.diag(cov[n:, :n])
    same = posterior.norms.constant("same_share")
    changes = [
        _change(lift, mean[i], mean[n + i], diff[i], var[i], same)
        for i, lift in enumerate(lifts)
        if lift in tested
    ]
    if any(row.lift == CLEAN_AND_JERK for row in posterior.rows):
        changes.append(_clean_and_jerk(mean, cov, lifts, same))
    limiter, chance = ranked(chances)[0]
    return Change(
        since=week.end,
        called=week.called,
        lifts=tuple(changes),
        limiter_then=limiter,
        chance_then=chance,
    )


def _earlier_week(posterior: Posterior, club: Club) -> TestingWeek | None:
    """The last testing week with rows of this lifter that did not end just now."""
    days = {row.on for row in posterior.rows}
    held = [
        week
        for week in sorted(club.testing_weeks, key=lambda w: w.start)
        if week.end <= posterior.on and any(week.start <= day <= week.end for day in days)
    ]
    just_now = posterior.norms.constant("current_week_days")
    current = held and (posterior.on - held[-1].end).days <= just_now
    earlier = held[:-1] if current else held
    return earlier[-1] if earlier else None


def _change(lift: str, then: float, now: float, diff: float, var: float, same: float) -> LiftChange:
    """What can be said of one lift; `same`: the share within which a change is the test's error."""
    then_kg, now_kg = float(np.exp(then)), float(np.exp(now))
    half = Z90 * float(np.sqrt(max(var, 0.0)))
    low, high = diff - half, diff + half
    verdict: Literal["rose", "fell", "same", "unclear"]
    if low > 0.0:
        verdict = "rose"
    elif high < 0.0:
        verdict = "fell"
    elif low >= -same and high <= same:
        verdict = "same"
    else:
        verdict = "unclear"
    return LiftChange(
        lift=lift,
        then_kg=then_kg,
        now_kg=now_kg,
        change_kg=now_kg - then_kg,
        low_kg=then_kg * float(np.expm1(low)),
        high_kg=then_kg * float(np.expm1(high)),
        verdict=verdict,
    )


def _clean_and_jerk(mean: Floats, cov: Floats, lifts: list[str], same: float) -> LiftChange:
    """The change of min(clean, jerk): each day's minimum by Clark's moments, the spread of their
    difference, for which there is no closed form, from draws."""
    n = len(lifts)
    c, j = lifts.index("clean"), lifts.index("jerk")
    at = np.array([0, n])  # then, now
    means, _ = minimum_of_two(
        mean[c + at], cov[c + at, c + at], mean[j + at], cov[j + at, j + at], cov[c + at, j + at]
    )
    parts = np.concatenate((c + at, j + at))
    _, normal, _ = points_by_case(_DRAWS, len(parts))
    (root,) = roots(cov[np.ix_(parts, parts)][None])
    lesser = np.minimum(*np.split(mean[parts] + normal @ root.T, 2, axis=1))
    var = float((lesser[:, 1] - lesser[:, 0]).var())
    then, now = means.tolist()
    return _change(CLEAN_AND_JERK, then, now, now - then, var, same)
