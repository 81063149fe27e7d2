"""Which quality holds the lifter back, how many kilos lie behind it, and how sure that is.

For each draw of the posterior and each quality: raise that quality to where the lifter's
other five stand on average (never lower it) and see how far the total grows. The quality
with the most kilos limits in that draw, unless even those are under `min_kilos_share` of
the total: then the draw counts as even. Chances are shares of draws.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from profilegen.engine.arrays import Bools, Floats, Ints, quantiles
from profilegen.engine.lift_by_lift import LiftByLift
from profilegen.engine.posterior import N_QUALITIES, Posterior
from profilegen.engine.prior import Features
from profilegen.norms.catalogue import QUALITIES, Limiter, Quality

COMPETITION = ("snatch", "clean", "jerk")
EVEN: Literal["even"] = "even"


@dataclass(frozen=True, slots=True)
class Limits:
    """Chances and kilos by quality, from one set of draws."""

    chances: dict[Quality, float]
    chance_even: float
    kilos: dict[Quality, tuple[float, float, float]]
    """Mean, 5th and 95th percentile of the growth of the total, kg."""
    answer: Ints
    """The answer in each draw: index of the quality that limits, 6 for "even"; int[m]."""

    def ranked(self) -> list[tuple[Limiter, float]]:
        """All seven answers, likeliest first."""
        return ranked({EVEN: self.chance_even, **{q: self.chances[q] for q in QUALITIES}})


def ranked(chances: Mapping[Limiter, float]) -> list[tuple[Limiter, float]]:
    """All seven answers, likeliest first; ties keep the order of QUALITIES, "even" last."""
    order: tuple[Limiter, ...] = (*QUALITIES, EVEN)
    return sorted(((one, chances[one]) for one in order), key=lambda pair: -pair[1])


def kilos_behind(
    qualities: Floats, snatch: Floats, clean: Floats, jerk: Floats, loadings: Floats
) -> Floats:
    """Growth of the total, kg, if each quality stood where the others stand.

    qualities float[m, 6]; snatch, clean, jerk float[m] log kg; loadings float[3, 6] of the
    three lifts. Returns float[m, 6], never negative.
    """
    others = (qualities.sum(axis=1, keepdims=True) - qualities) / (N_QUALITIES - 1)
    lift = np.maximum(others - qualities, 0.0)
    grown_clean = clean[:, None] + lift * loadings[1]
    grown_jerk = jerk[:, None] + lift * loadings[2]
    now = np.exp(snatch) + np.exp(np.minimum(clean, jerk))
    grown = np.exp(snatch[:, None] + lift * loadings[0])
    grown += np.exp(np.minimum(grown_clean, grown_jerk))
    gain: Floats = grown - now[:, None]
    return gain


def limits_of_draws(sample: Floats, posterior: Posterior) -> Limits:
    """Chances and kilos from draws of (six qualities, snatch, clean, jerk), float[m, 9]."""
    gain, even = _gains(sample, posterior)
    low, high = quantiles(gain, (0.05, 0.95)).tolist()
    mean = gain.mean(axis=0).tolist()
    answer = _answers(gain, even)
    return Limits(
        chances=_chances(answer),
        chance_even=float(even.mean()),
        kilos={quality: (mean[i], low[i], high[i]) for i, quality in enumerate(QUALITIES)},
        answer=answer,
    )


def chances_of_draws(sample: Floats, posterior: Posterior) -> dict[Limiter, float]:
    """The chance of every quality, and of "even", to be what limits."""
    gain, even = _gains(sample, posterior)
    chances = _chances(_answers(gain, even))
    return {EVEN: float(even.mean()), **{quality: chances[quality] for quality in QUALITIES}}


def answer_of_draws(sample: Floats, posterior: Posterior) -> Ints:
    """The answer in each draw, as in `Limits.answer`."""
    return _answers(*_gains(sample, posterior))


def _gains(sample: Floats, posterior: Posterior) -> tuple[Floats, Bools]:
    lifts = [posterior.prior.lift_ids.index(lift) for lift in COMPETITION]
    loadings = posterior.prior.loadings[lifts]
    snatch, clean, jerk = sample[:, N_QUALITIES:].T
    gain = kilos_behind(sample[:, :N_QUALITIES], snatch, clean, jerk, loadings)
    total = np.exp(snatch) + np.exp(np.minimum(clean, jerk))
    return gain, gain.max(axis=1) < posterior.norms.constant("min_kilos_share") * total


def _answers(gain: Floats, even: Bools) -> Ints:
    return np.where(even, N_QUALITIES, gain.argmax(axis=1))


def _chances(answer: Ints) -> dict[Quality, float]:
    counts = np.bincount(answer, minlength=N_QUALITIES + 1) / len(answer)
    return {quality: float(counts[i]) for i, quality in enumerate(QUALITIES)}


def limiting_features(posterior: Posterior, day: float | None = None) -> Features:
    """The functionals that decide the limiter on a day: six qualities, snatch, clean, jerk."""
    needed = [posterior.index(lift) for lift in COMPETITION]
    return posterior.state_features(day).take(np.array([*range(N_QUALITIES), *needed]))


def limits_on(posterior: Posterior, day: float | None = None) -> Limits:
    """Limits on a day (default: the profile's), on draws of just what they need."""
    return limits_of_draws(posterior.sample(limiting_features(posterior, day)), posterior)


def rests_on(
    by_lift: LiftByLift, chances: Mapping[Quality, float], posterior: Posterior
) -> dict[Quality, list[tuple[str, float]]]:
    """Per quality, each lift and the chance that the quality limits without its evidence.

    by_lift: of `limiting_features`; chances: what they are with it.
    """
    draws = by_lift.without.draws()
    gain, even = _gains(draws.reshape(-1, draws.shape[2]), posterior)
    answer = _answers(gain, even).reshape(len(draws), -1)
    without = np.array([(answer == i).mean(axis=1) for i in range(N_QUALITIES)])
    now = np.array([chances[quality] for quality in QUALITIES])
    moved = np.clip(now[:, None] + without[:, 1:] - without[:, :1], 0.0, 1.0)
    return {
        quality: list(zip(by_lift.lifts, moved[i].tolist(), strict=True))
        for i, quality in enumerate(QUALITIES)
    }
