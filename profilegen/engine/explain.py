"""Why a lift is what it is, and what stops it.

The model is linear in logarithms, so the difference between a lift and what is usual is a
sum without remainder or order: level + six qualities (lambda_ik q_k) + the lift's own
peculiarity (epsilon_i) + stated proportions. Each part is a linear functional of the
posterior, so its interval comes from the same joint Gaussian as the whole.

Kilos are given to the parts in proportion to their logs. With the logarithmic mean
L(a, b) = (a - b) / (log a - log b) the parts' kilos L x log add up to a - b exactly
(Vartia 1976, "Ideal log-change index numbers", Scandinavian Journal of Statistics 3).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import exp, log
from typing import Literal

import numpy as np
from scipy.special import ndtr

from profilegen.engine.arrays import Floats, diagonal, quantiles
from profilegen.engine.evidence import CLEAN_AND_JERK, PARTS
from profilegen.engine.posterior import N_QUALITIES, Z90, Posterior
from profilegen.engine.prior import NO_LIFT, Features, Prior
from profilegen.engine.replies import (
    Cause,
    Held,
    HeldBy,
    HoldsReply,
    ParentReading,
    Part,
    Split,
    Standing,
    Where,
    WhyReply,
    Yardstick,
)
from profilegen.engine.sites import density
from profilegen.engine.state import State
from profilegen.norms.catalogue import QUALITIES, Norms

CAUSES: tuple[Cause, ...] = ("level", *QUALITIES, "own", "build")
_SURE = 0.75
_FAIRLY = 0.5
_MOST = 2.0 / 3.0
_SAME = 0.03
"""A lift within 3 % of a yardstick is where one would expect it (two steps of a bar)."""
_PARENT_OF_FAMILY = {
    "snatch": "snatch",
    "clean": "clean",
    "jerk": "jerk",
    "press": "jerk",
    "squat": "clean",
    "overhead": "snatch",
}
_PARENT_OF_FULL = {"snatch": "clean", "clean": "front_squat", "jerk": "clean"}


@dataclass(frozen=True, slots=True)
class Deviation:
    """The parts of one lift minus the norm: a lifter's, or the mean of several.

    mean and var float[9] in the order of CAUSES; whole_mean and whole_var are of their sum,
    which the parts' variances alone do not give.
    """

    mean: Floats
    var: Floats
    whole_mean: float
    whole_var: float
    others: int = 0

    @classmethod
    def mean_of(cls, each: Sequence[Deviation]) -> Deviation:
        """The mean lifter of several whose posteriors are independent."""
        n = len(each)
        return cls(
            mean=np.mean([one.mean for one in each], axis=0),
            var=np.sum([one.var for one in each], axis=0) / n**2,
            whole_mean=float(np.mean([one.whole_mean for one in each])),
            whole_var=float(np.sum([one.whole_var for one in each])) / n**2,
            others=n,
        )


def parts_of(prior: Prior, lift: str, day: float) -> Features:
    """The nine causes of one lift on a day, in the order of CAUSES; they sum to the lift."""
    index = prior.lift_ids.index(lift)
    n = len(CAUSES)
    own, level, build = CAUSES.index("own"), CAUSES.index("level"), CAUSES.index("build")
    loadings = np.zeros((n, N_QUALITIES))
    loadings[1 : 1 + N_QUALITIES] = np.diag(prior.loadings[index])
    lifts = np.full(n, NO_LIFT)
    lifts[own] = index
    weights = np.zeros((2, n))
    weights[0, level], weights[1, build] = 1.0, prior.build_side[index]
    return Features(
        lift=lifts,
        level=weights[0],
        loadings=loadings,
        drift=np.ones(n),
        day=np.full(n, day),
        form=np.zeros(n, dtype=np.int64),
        meet=np.zeros(n),
        build=weights[1],
    )


def deviation(posterior: Posterior, state: State, lift: str, build_shift: float) -> Deviation:
    """A lifter's lift minus the norm of sex and body mass.

    build_shift is what stated proportions move the prior mean of this lift by (log units):
    it belongs to the lifter, not to the norm.
    """
    prior, day = posterior.prior, float(posterior.on.toordinal())
    index = prior.lift_ids.index(lift)
    weights = np.zeros((len(CAUSES), len(state.mean)))
    level, own, build = (CAUSES.index(cause) for cause in ("level", "own", "build"))
    weights[level, state.level] = 1.0
    weights[build, state.build] = prior.build_side[index]
    weights[1 : 1 + N_QUALITIES, :N_QUALITIES] = np.diag(prior.loadings[index])
    # what is peculiar to the lift is what the other causes leave of it
    weights[own] = -weights.sum(axis=0)
    weights[own, posterior.index(lift)] = 1.0
    away = weights @ state.mean - prior.mean(parts_of(prior, lift, day))
    cov = weights @ state.cov @ weights.T
    away[build] += build_shift
    return Deviation(away, diagonal(cov), float(away.sum()), float(cov.sum()))


def split(
    mine: Deviation,
    yardstick: Deviation | None,
    *,
    lift: str,
    against: Yardstick,
    norm_kg: float,
    with_build: bool,
) -> Split:
    """A lifter's deviation from a yardstick (None: from the norm itself), in logs and kilos."""
    mean, var = mine.mean, mine.var
    whole, whole_var = mine.whole_mean, mine.whole_var
    usual_kg, others = norm_kg, 0
    if yardstick is not None:
        mean, var = mean - yardstick.mean, var + yardstick.var
        whole, whole_var = whole - yardstick.whole_mean, whole_var + yardstick.whole_var
        usual_kg, others = norm_kg * exp(yardstick.whole_mean), yardstick.others
    actual_kg = norm_kg * exp(mine.whole_mean)
    kilos = logarithmic_mean(actual_kg, usual_kg)
    half = Z90 * np.sqrt(np.maximum(var, 0.0))
    whole_half = Z90 * max(whole_var, 0.0) ** 0.5
    return Split(
        against=against,
        lift=lift,
        others=others,
        actual_kg=actual_kg,
        usual_kg=usual_kg,
        difference=whole,
        low=whole - whole_half,
        high=whole + whole_half,
        parts=tuple(
            Part(cause, m, m - h, m + h, kilos * m, kilos * (m - h), kilos * (m + h))
            for cause, m, h in zip(CAUSES, mean.tolist(), half.tolist(), strict=True)
            if with_build or cause != "build"
        ),
    )


def logarithmic_mean(a: float, b: float) -> float:
    """(a - b) / (log a - log b), and a where both are equal (Vartia 1976).

    >>> round(logarithmic_mean(110.0, 100.0) * log(1.1), 9)
    10.0
    """
    gap = log(a / b)
    # the difference quotient loses its digits long before the series loses any
    return (a - b) / gap if abs(gap) > 1e-4 else b * (1.0 + gap / 2.0 + gap * gap / 6.0)


def why(
    posterior: Posterior,
    state: State,
    lift: str,
    build_shifts: Floats,
    yardsticks: Mapping[Yardstick, Mapping[str, Deviation]],
    results: tuple[Floats, Floats],
) -> WhyReply:
    """Split one lift against the norm and every other yardstick.

    build_shifts float[n] by lift; yardsticks: by lift, every lift of `asked_lifts`; results:
    the rivals' snatches and clean and jerks, kg.
    """
    through, chance = (None, 1.0) if lift != CLEAN_AND_JERK else limiting_part(posterior, state)
    base = through or lift
    parent = parent_of(posterior.norms, base)
    splits = _splits(posterior, state, base, build_shifts, yardsticks)
    against = _splits(posterior, state, parent, build_shifts, yardsticks)
    snatches, clean_and_jerks = results
    quick = base == "snatch" or posterior.norms.lifts[base].family == "snatch"
    return WhyReply(
        lift=lift,
        through=through,
        chance_through=chance,
        splits=splits,
        parent=_parent_reading(posterior, state, base, parent, against),
        field_size=len(snatches),
        field_under=int(((snatches if quick else clean_and_jerks) <= splits[0].actual_kg).sum()),
        tried=was_tried(posterior, lift),
    )


def was_tried(posterior: Posterior, lift: str) -> bool:
    """Whether any row is of this lift; a clean and jerk is of its halves too, and they of it."""
    rows = {row.lift for row in posterior.rows}
    if lift == CLEAN_AND_JERK:
        return lift in rows or rows.issuperset(PARTS)
    return lift in rows or (lift in PARTS and CLEAN_AND_JERK in rows)


def asked_lifts(norms: Norms, lift: str) -> tuple[str, ...]:
    """Every lift whose yardsticks `why` needs."""
    bases = PARTS if lift == CLEAN_AND_JERK else (lift,)
    return tuple(dict.fromkeys((*bases, *(parent_of(norms, base) for base in bases))))


def parent_of(norms: Norms, lift: str) -> str:
    """The lift that another derives from, or is best set beside.

    Power, hang and other forms: the full lift. Presses: the jerk. Squats: the clean. Pulls
    and deadlifts: the snatch for the snatch grip, else the clean. The snatch and the jerk:
    the clean; the clean: the front squat.
    """
    if lift in _PARENT_OF_FULL:
        return _PARENT_OF_FULL[lift]
    grip = "snatch" if lift.startswith("snatch") else "clean"
    return _PARENT_OF_FAMILY.get(norms.lifts[lift].family, grip)


def limiting_part(posterior: Posterior, state: State) -> tuple[Literal["clean", "jerk"], float]:
    """Which part of the clean and jerk is likelier the smaller one, and how likely."""
    clean, jerk = (posterior.index(part) for part in PARTS)
    chance = float((state.sample[:, jerk] < state.sample[:, clean]).mean())
    return ("jerk", chance) if chance >= 0.5 else ("clean", 1.0 - chance)


def _splits(
    posterior: Posterior,
    state: State,
    lift: str,
    build_shifts: Floats,
    yardsticks: Mapping[Yardstick, Mapping[str, Deviation]],
) -> tuple[Split, ...]:
    prior = posterior.prior
    index = prior.lift_ids.index(lift)
    shift = float(build_shifts[index])
    mine = deviation(posterior, state, lift, shift)
    today = np.array([float(posterior.on.toordinal())])
    usual = float(prior.mean(prior.lift_features(np.array([index]), today))[0]) - shift
    rulers: list[tuple[Yardstick, Deviation | None]] = [("norm", None)]
    rulers += [(name, by_lift[lift]) for name, by_lift in yardsticks.items()]
    return tuple(
        split(
            mine,
            ruler,
            lift=lift,
            against=name,
            norm_kg=exp(usual),
            with_build=bool(prior.build_side[index]),
        )
        for name, ruler in rulers
    )


def _parent_reading(
    posterior: Posterior, state: State, lift: str, parent: str, against: tuple[Split, ...]
) -> ParentReading:
    prior = posterior.prior
    i, j = prior.lift_ids.index(lift), prior.lift_ids.index(parent)
    at = N_QUALITIES + np.array([i, j])
    mean, cov = state.mean[at], state.cov[np.ix_(at, at)]
    gap = float(mean[0] - mean[1])
    sd = float(max(cov[0, 0] + cov[1, 1] - 2.0 * cov[0, 1], 1e-12)) ** 0.5
    usual = float(prior.log_share[i] - prior.log_share[j])
    low, high = _usual_range(posterior, lift, parent, usual)
    below = float(ndtr((low - gap) / sd))
    above = float(ndtr((gap - high) / sd))
    return ParentReading(
        parent=parent,
        value=exp(gap),
        low=exp(gap - Z90 * sd),
        high=exp(gap + Z90 * sd),
        usual=exp(usual),
        usual_low=exp(low),
        usual_high=exp(high),
        reading=_where(below, above),
        standings=tuple(_standing(one) for one in against),
    )


def _usual_range(posterior: Posterior, lift: str, parent: str, usual: float) -> tuple[float, float]:
    """Log range of the ratio: the published one, else where two thirds of lifters lie."""
    for known in posterior.norms.usual_ratios:
        if (known.numerator, known.denominator) == (lift, parent):
            return log(known.usual_low), log(known.usual_high)
        if (known.numerator, known.denominator) == (parent, lift):
            return -log(known.usual_high), -log(known.usual_low)
    half = _usual_spread(posterior, lift, parent)
    return usual - half, usual + half


def _usual_spread(posterior: Posterior, lift: str, parent: str) -> float:
    """How far two thirds of all lifters lie from the usual log ratio, by the prior itself."""
    prior, constant = posterior.prior, posterior.norms.constant
    i, j = prior.lift_ids.index(lift), prior.lift_ids.index(parent)
    odd = prior.quality_lasting_var
    usual = odd * (constant("usual_quality_sd") / constant("odd_quality_sd")) ** 2
    is_odd = np.array(list(product((0.0, 1.0), repeat=N_QUALITIES)))
    share = constant("odd_quality_share")
    weight = np.prod(np.where(is_odd == 1.0, share, 1.0 - share), axis=1)
    quality_var = usual + (odd - usual) * is_odd + prior.quality_drift_var
    var = prior.own_var[i] + prior.own_var[j]
    var = var + quality_var @ (prior.loadings[i] - prior.loadings[j]) ** 2
    sd = np.sqrt(var)

    # Newton's steps: within `half` lies ever more, but ever more slowly, so from 0 none overshoots
    half, step = 0.0, 1.0
    while step > 1e-12:
        missing = _MOST - float(weight @ (2.0 * ndtr(half / sd) - 1.0))
        step = missing / float(weight @ (2.0 * density(half / sd) / sd))
        half += step
    return half


def _standing(one: Split) -> Standing:
    sd = max((one.high - one.low) / (2.0 * Z90), 1e-9)
    below = float(ndtr((-_SAME - one.difference) / sd))
    above = float(ndtr((one.difference - _SAME) / sd))
    return Standing(one.against, one.difference, one.low, one.high, _where(below, above))


def _where(below: float, above: float) -> Where:
    if below >= _SURE:
        return "below"
    if above >= _SURE:
        return "above"
    return "usual" if 1.0 - below - above >= _FAIRLY else "unclear"


def holds(posterior: Posterior, state: State, lift: str) -> HoldsReply:
    """What stops one lift: the kilos behind each quality and behind the lift's own part.

    Of a lift that nobody tried the own part is left out: what is believed of it is how far any
    lifter's goes its own way, which says nothing of this one's.
    """
    prior = posterior.prior
    bases = PARTS if lift == CLEAN_AND_JERK else (lift,)
    index = np.array([prior.lift_ids.index(base) for base in bases])
    n = len(bases)
    # qualities and lifts as they are, then what is peculiar to each of those lifts
    weights = np.zeros((N_QUALITIES + 2 * n, len(state.mean)))
    weights[:N_QUALITIES, :N_QUALITIES] = np.eye(N_QUALITIES)
    own = slice(N_QUALITIES + n, None)
    weights[own, :N_QUALITIES] = -prior.loadings[index]
    weights[own, state.level], weights[own, state.build] = -1.0, -prior.build_side[index]
    for row in (slice(N_QUALITIES, N_QUALITIES + n), own):
        weights[row, N_QUALITIES + index] += np.eye(n)
    draws = state.linear(weights).draws()
    qualities = draws[:, :N_QUALITIES]
    lifts = draws[:, N_QUALITIES : N_QUALITIES + n]
    peculiar = draws[:, N_QUALITIES + n :] - prior.log_share[index]
    gain = _gains_of_one(qualities, lifts, peculiar, prior.loadings[index])
    tried = was_tried(posterior, lift)
    if not tried:
        gain = gain[:, :N_QUALITIES]

    now = np.exp(lifts.min(axis=1))
    even = gain.max(axis=1) < posterior.norms.constant("min_kilos_share") * now
    chances = np.bincount(gain.argmax(axis=1)[~even], minlength=gain.shape[1]) / len(gain)
    low, high = quantiles(gain, (0.05, 0.95))
    names: tuple[Held, ...] = (*QUALITIES, "own") if tried else QUALITIES
    drawn_on = [*(prior.loadings[index] != 0.0).any(axis=0), True]
    held = [
        HeldBy(name, *(float(v[k]) for v in (gain.mean(axis=0), low, high, chances)))
        for k, name in enumerate(names)
        if drawn_on[k]
    ]
    chance = float((lifts[:, -1] < lifts[:, 0]).mean())
    stops: Literal["clean", "jerk"] | None = None
    if n == 2:
        stops = "jerk" if chance >= 0.5 else "clean"
    return HoldsReply(
        lift=lift,
        estimate_kg=float(np.median(now))
        if n == 2
        else float(np.exp(state.mean[N_QUALITIES + index[0]])),
        held=tuple(sorted(held, key=lambda one: -one.kilos)),
        chance_even=float(even.mean()),
        stops=stops,
        chance_stops=max(chance, 1.0 - chance) if stops else 1.0,
        tried=tried,
    )


def _gains_of_one(qualities: Floats, lifts: Floats, own: Floats, loadings: Floats) -> Floats:
    """Kilos gained, float[m, 7]: each quality raised to the mean of the others, then own to 0.

    lifts and own float[m, n], loadings float[n, 6]; with two lifts the smaller one counts.
    """
    others = (qualities.sum(axis=1, keepdims=True) - qualities) / (N_QUALITIES - 1)
    rise = np.maximum(others - qualities, 0.0)
    grown = lifts[:, :, None] + rise[:, None, :] * loadings
    with_own = lifts + np.maximum(-own, 0.0)
    grown = np.concatenate((grown, with_own[:, :, None]), axis=2)
    gain: Floats = np.exp(grown.min(axis=1)) - np.exp(lifts.min(axis=1))[:, None]
    return gain
