"""Each lift's estimate over the whole history, for the charts over time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from profilegen.engine.arrays import Floats
from profilegen.engine.evidence import CLEAN_AND_JERK
from profilegen.engine.posterior import Z90, Posterior
from profilegen.engine.profile import TOTAL, LiftEstimate, Track
from profilegen.engine.sites import minimum_of_two
from profilegen.units import DAYS_PER_YEAR

_MOST_DAYS = 40
_LONGEST_YEARS = 4
_PARTS = ("snatch", "clean", "jerk")


def tracks_of(posterior: Posterior, written: Sequence[str]) -> dict[str, Track]:
    """Tracks of every lift someone wrote a row on, of clean and jerk, and of the total."""
    days = track_days(posterior)
    ids = posterior.prior.lift_ids
    lifts = [lift for lift in ids if lift in set(written) | set(_PARTS)]
    snatch, clean, jerk = (lifts.index(lift) for lift in _PARTS)
    pairs = ((clean, jerk), (snatch, clean), (snatch, jerk))
    mean, var, (parts, *with_snatch) = _same_day(
        posterior, [ids.index(lift) for lift in lifts], pairs, days
    )
    tracks = {
        lift: _track(lift, days, mean[i], var[i]) for i, lift in enumerate(lifts) if lift in written
    }
    both, both_var = minimum_of_two(mean[clean], var[clean], mean[jerk], var[jerk], parts)
    tracks[CLEAN_AND_JERK] = _track(CLEAN_AND_JERK, days, both, both_var)
    shared = 0.5 * (with_snatch[0] + with_snatch[1])
    tracks[TOTAL] = _total(days, mean[snatch], var[snatch], shared, both, both_var)
    return tracks


def ending_in(today: Mapping[str, LiftEstimate], tracks: Mapping[str, Track]) -> dict[str, Track]:
    """The tracks, whose last day says what the profile says of that day.

    A track takes each day for one bell, which puts an interval's end up to a few hundred grams
    elsewhere; on the profile's own day a reader would see two numbers for one thing.
    """

    def ended(track: Track) -> Track:
        now = today[track.lift]
        return replace(
            track,
            estimate_kg=(*track.estimate_kg[:-1], now.estimate_kg),
            low_kg=(*track.low_kg[:-1], now.low_kg),
            high_kg=(*track.high_kg[:-1], now.high_kg),
        )

    return {lift: ended(track) for lift, track in tracks.items()}


def _total(
    days: tuple[date, ...],
    snatch: Floats,
    var: Floats,
    shared: Floats,
    both: Floats,
    both_var: Floats,
) -> Track:
    """Sum of snatch and clean and jerk by the delta method in logs."""
    share = 1.0 / (1.0 + np.exp(both - snatch))
    of_total = share**2 * var + (1.0 - share) ** 2 * both_var + 2.0 * share * (1.0 - share) * shared
    return _track(TOTAL, days, np.logaddexp(snatch, both), of_total)


def track_days(posterior: Posterior) -> tuple[date, ...]:
    """At most 40 days, the first and last rows' days and the profile's own among them."""
    last = posterior.on
    first = max(
        min((row.on for row in posterior.rows), default=last),
        date.fromordinal(max(last.toordinal() - round(_LONGEST_YEARS * DAYS_PER_YEAR), 1)),
    )
    span = last.toordinal() - first.toordinal()
    steps = min(_MOST_DAYS, span // 7 + 1)
    ordinals = {first.toordinal() + round(span * i / max(steps - 1, 1)) for i in range(steps)}
    return tuple(date.fromordinal(o) for o in sorted(ordinals | {last.toordinal()}))


def _same_day(
    posterior: Posterior,
    lifts: Sequence[int],
    pairs: Sequence[tuple[int, int]],
    days: tuple[date, ...],
) -> tuple[Floats, Floats, list[Floats]]:
    """Means and variances float[n, m] of n lifts on m days, and covariances of pairs of them."""
    n, m = len(lifts), len(days)
    ordinals = np.array([float(day.toordinal()) for day in days])
    prior = posterior.prior
    features = prior.lift_features(lift=np.repeat(lifts, m), day=np.tile(ordinals, n))
    mean, left, right = posterior.reduced(features)
    var = prior.variance(features) - np.einsum("xa,xa->x", left, right)
    left, right = left.reshape(n, m, -1), right.reshape(n, m, -1)
    # one day's prior covariance between lifts is the same every day but for the level's drift
    one_day = prior.lift_features(np.array(lifts), np.full(n, ordinals[-1]))
    steady = prior.cov(one_day, one_day) - prior.drift_sd(ordinals[-1:]) ** 2
    drift = prior.drift_sd(ordinals) ** 2
    shared = [
        steady[i, j]
        + drift
        - 0.5 * np.einsum("xa,xa->x", left[i], right[j])
        - 0.5 * np.einsum("xa,xa->x", left[j], right[i])
        for i, j in pairs
    ]
    return mean.reshape(n, m), var.reshape(n, m), shared


def _track(lift: str, days: tuple[date, ...], mean: Floats, var: Floats) -> Track:
    half = Z90 * np.sqrt(np.maximum(var, 0.0))
    return Track(
        lift=lift,
        days=days,
        estimate_kg=tuple(np.exp(mean).tolist()),
        low_kg=tuple(np.exp(mean - half).tolist()),
        high_kg=tuple(np.exp(mean + half).tolist()),
    )
