"""Each lift's estimate over the whole history, for the charts over time."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np

from profilegen.engine.arrays import Floats
from profilegen.engine.evidence import CLEAN_AND_JERK
from profilegen.engine.posterior import Z90, Posterior
from profilegen.engine.profile import TOTAL, Track
from profilegen.engine.sites import minimum_of_two

_MOST_DAYS = 40
_LONGEST_YEARS = 4
_PARTS = ("snatch", "clean", "jerk")


def tracks_of(posterior: Posterior, written: Sequence[str]) -> dict[str, Track]:
    """Tracks of every lift someone wrote a row on, of clean and jerk, and of the total."""
    days = track_days(posterior)
    ids = posterior.prior.lift_ids
    lifts = [lift for lift in ids if lift in set(written) | set(_PARTS)]
    mean, cov = _same_day(posterior, [ids.index(lift) for lift in lifts], days)
    tracks = {}
    for i, lift in enumerate(lifts):
        if lift in written:
            tracks[lift] = _track(lift, days, mean[i], cov[i, i])
    snatch, clean, jerk = (lifts.index(lift) for lift in _PARTS)
    both, both_var = minimum_of_two(
        mean[clean], cov[clean, clean], mean[jerk], cov[jerk, jerk], cov[clean, jerk]
    )
    tracks[CLEAN_AND_JERK] = _track(CLEAN_AND_JERK, days, both, both_var)
    tracks[TOTAL] = _total(days, mean[snatch], cov, snatch, (clean, jerk), both, both_var)
    return tracks


def _total(
    days: tuple[date, ...],
    snatch: Floats,
    cov: Floats,
    s: int,
    parts: tuple[int, int],
    both: Floats,
    both_var: Floats,
) -> Track:
    """Sum of snatch and clean and jerk by the delta method in logs."""
    share = 1.0 / (1.0 + np.exp(both - snatch))
    with_snatch = 0.5 * (cov[s, parts[0]] + cov[s, parts[1]])
    var = share**2 * cov[s, s] + (1.0 - share) ** 2 * both_var
    var = var + 2.0 * share * (1.0 - share) * with_snatch
    return _track(TOTAL, days, np.logaddexp(snatch, both), var)


def track_days(posterior: Posterior) -> tuple[date, ...]:
    """At most 40 days, the first and last rows' days and the profile's own among them."""
    last = posterior.on
    first = max(
        min((row.on for row in posterior.rows), default=last),
        date.fromordinal(max(last.toordinal() - round(_LONGEST_YEARS * 365.25), 1)),
    )
    span = last.toordinal() - first.toordinal()
    steps = min(_MOST_DAYS, span // 7 + 1)
    ordinals = {first.toordinal() + round(span * i / max(steps - 1, 1)) for i in range(steps)}
    return tuple(date.fromordinal(o) for o in sorted(ordinals | {last.toordinal()}))


def _same_day(
    posterior: Posterior, lifts: Sequence[int], days: tuple[date, ...]
) -> tuple[Floats, Floats]:
    """Means float[n, m] and same-day covariances float[n, n, m] of n lifts on m days."""
    n, m = len(lifts), len(days)
    ordinals = np.array([float(day.toordinal()) for day in days])
    prior = posterior.prior
    features = prior.lift_features(lift=np.repeat(lifts, m), day=np.tile(ordinals, n))
    mean, left, right = posterior.reduced(features)
    mean = mean.reshape(n, m)
    # one day's prior covariance between lifts is the same every day but for the level's drift
    one_day = prior.lift_features(np.array(lifts), np.full(n, ordinals[-1]))
    steady = prior.cov(one_day, one_day) - prior.drift_sd(ordinals[-1:]) ** 2
    cov = steady[:, :, None] + prior.drift_sd(ordinals) ** 2
    taken = np.einsum("iab,jab->ija", left.reshape(n, m, -1), right.reshape(n, m, -1))
    cov = cov - 0.5 * (taken + taken.transpose(1, 0, 2))
    return mean, cov


def _track(lift: str, days: tuple[date, ...], mean: Floats, var: Floats) -> Track:
    half = Z90 * np.sqrt(np.maximum(var, 0.0))
    return Track(
        lift=lift,
        days=days,
        estimate_kg=tuple(np.exp(mean).tolist()),
        low_kg=tuple(np.exp(mean - half).tolist()),
        high_kg=tuple(np.exp(mean + half).tolist()),
    )
