"""Is a coach's hypothesis about a quality supported, and what would overturn it?

A quality counts as high (low) when it lies more than half a standard deviation above (below)
the usual: that moves the lift that draws on it most by about 2 %, as much as the form of a
day does, so nearer than that a coach could not see it either. Chances come from the exact
mixture of usual and odd qualities (cavity.HeavyTail), never from draws, so that "what would a
result of x kg make of it" can be answered for any x in closed form.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp

import numpy as np
from scipy.special import ndtr

from profilegen.engine.arrays import Floats
from profilegen.engine.inference import fit_rows
from profilegen.engine.lift_by_lift import LiftByLift
from profilegen.engine.limits import COMPETITION
from profilegen.engine.posterior import Posterior, Tailed
from profilegen.engine.replies import ClaimReply, ClaimVerdict, Turning, Without
from profilegen.engine.state import State
from profilegen.history.records import Athlete
from profilegen.norms.catalogue import QUALITIES, Quality

THRESHOLD = 0.5
_VERDICTS: tuple[tuple[float, ClaimVerdict], ...] = (
    (0.75, "supported"),
    (0.55, "leaning"),
    (0.45, "either"),
    (0.25, "doubtful"),
    (0.0, "contradicted"),
)
_LEARNT = 0.05
_WITHOUT = 3
_EVEN_CHANCE = 0.5
_PLAUSIBLE_SDS = 3.0
"""A result further than this many sds from the expected one turns nothing: it would sooner
be a typing mistake."""
_STEPS = 61


def claim(
    posterior: Posterior,
    athlete: Athlete,
    quality: Quality,
    high: bool,
    state: State,
    by_lift: LiftByLift,
) -> ClaimReply:
    """The chances of a claim, the evidence it rests on and the result that would turn it.

    athlete: whose `avoid` holds every lift not to be proposed; by_lift: of
    `limiting_features`, whose first six are the qualities.
    """
    sign = 1.0 if high else -1.0
    lifts = _candidates(posterior, athlete, by_lift.lifts)
    number = QUALITIES.index(quality)

    itself = _Pair.of(state.known, number, number)
    chance, opposite = (itself.chance_above(THRESHOLD, side) for side in (sign, -sign))
    before = _beforehand(posterior, number)
    moved_by = (abs(chance - before), abs(opposite - before), abs(chance + opposite - 2 * before))
    left = by_lift.without.chances_above(number, THRESHOLD, sign)
    moved = np.clip(chance + left[1:] - left[0], 0.0, 1.0).tolist()
    without = [Without(*one) for one in zip(by_lift.lifts, moved, strict=True)]
    without.sort(key=lambda one: (-abs(one.chance - chance), one.lift))
    return ClaimReply(
        quality=quality,
        direction="high" if high else "low",
        threshold=THRESHOLD,
        chance=chance,
        chance_near=max(1.0 - chance - opposite, 0.0),
        chance_opposite=opposite,
        verdict=verdict_on(chance),
        without=tuple(without[:_WITHOUT]),
        turning=_turning(posterior, state, number, lifts, sign),
        learnt=max(moved_by) >= _LEARNT,
    )


def verdict_on(chance: float) -> ClaimVerdict:
    """What a chance says of a claim."""
    return next(name for least, name in _VERDICTS if chance >= least)


def _beforehand(posterior: Posterior, number: int) -> float:
    """The chance of a high quality before any evidence, which is that of a low one."""
    nobody = fit_rows(posterior.prior, (), posterior.norms, posterior.on)
    known = nobody.tailed(posterior.prior.quality_features(float(posterior.on.toordinal())))
    return _Pair.of(known, number, number).chance_above(THRESHOLD, 1.0)


def _candidates(posterior: Posterior, athlete: Athlete, written: Sequence[str]) -> list[str]:
    """Lifts this lifter does and may do, in catalogue order."""
    avoided = {one.lift for one in athlete.avoid}
    done = {*written, *COMPETITION} - avoided
    return [lift for lift in posterior.prior.lift_ids if lift in done]


def _turning(
    posterior: Posterior,
    state: State,
    quality: int,
    lifts: Sequence[str],
    sign: float,
) -> Turning | None:
    """The lift and load that bring the claim to an even chance with the least surprise.

    A result is one maximal single: the capacity with the form of a day and the noise of a
    test. For each lift the results up to three sds away are gone through.
    """
    constant = posterior.norms.constant
    noise = constant("day_form_sd") ** 2 + constant("max_single_sd") ** 2
    if not lifts:
        return None
    steps = np.linspace(-_PLAUSIBLE_SDS, _PLAUSIBLE_SDS, _STEPS)
    at = np.array([posterior.index(lift) for lift in lifts])
    expected, sd = state.mean[at], np.sqrt(state.cov[at, at] + noise)
    results = expected[:, None] + sd[:, None] * steps
    chances = np.array(
        [
            _Pair.of(state.known, quality, i).chance_given(y, noise, THRESHOLD, sign)
            for i, y in zip(at.tolist(), results, strict=True)
        ]
    )
    lift, k = np.nonzero(np.diff(chances >= _EVEN_CHANCE, axis=1))
    if not len(lift):
        return None
    # linear between two neighbouring steps
    part = (_EVEN_CHANCE - chances[lift, k]) / (chances[lift, k + 1] - chances[lift, k])
    z = steps[k] + (steps[k + 1] - steps[k]) * part
    nearest = int(np.abs(z).argmin())
    i, away = int(lift[nearest]), float(z[nearest])
    load, usual = exp(expected[i] + sd[i] * away), exp(expected[i])
    return Turning(lifts[i], load, usual, float(ndtr(-abs(away))))


@dataclass(frozen=True, slots=True)
class _Pair:
    """A quality and a lift as a mixture of `n` two-dimensional Gaussians."""

    weight: Floats
    mean: Floats
    """float[n, 2]."""
    cov: Floats
    """float[n, 2, 2]."""

    @classmethod
    def of(cls, tailed: Tailed, quality: int, lift: int) -> _Pair:
        both = [quality, lift]
        parts, gain = tailed.parts, tailed.gain[both]
        return cls(
            weight=parts.weight,
            mean=tailed.mean[both] + (parts.mean - tailed.at) @ gain.T,
            cov=tailed.rest[np.ix_(both, both)] + gain @ parts.cov @ gain.T,
        )

    def chance_above(self, threshold: float, sign: float) -> float:
        """Chance that sign x quality exceeds the threshold."""
        sd = np.sqrt(self.cov[:, 0, 0])
        return float(self.weight @ ndtr((sign * self.mean[:, 0] - threshold) / sd))

    def chance_given(self, y: Floats, noise: float, threshold: float, sign: float) -> Floats:
        """The same after the lift was seen to be worth y (log kg, float[m]): float[m]."""
        var = self.cov[:, 1, 1] + noise
        away = y[:, None] - self.mean[:, 1]
        fit = -0.5 * (away**2 / var + np.log(var)) + np.log(np.maximum(self.weight, 1e-300))
        fit = np.exp(fit - fit.max(axis=1, keepdims=True))
        gain = self.cov[:, 0, 1] / var
        mean = self.mean[:, 0] + gain * away
        sd = np.sqrt(self.cov[:, 0, 0] - gain * self.cov[:, 0, 1])
        chances = ndtr((sign * mean - threshold) / sd)
        given: Floats = (fit * chances).sum(axis=1) / fit.sum(axis=1)
        return given
