"""What if: the posterior's own linear map, small enough to live in a page.

Two questions, two answers.

*If lift i were worth x.* That is news, so everything follows by conditioning. For a joint
Gaussian of the qualities and lifts (Rasmussen & Williams 2006, eq. A.6),

    E[c_j | c_i = x] = m_j + gain_ij (x - m_i),    gain_ij = C_ij / C_ii,

and each draw d moves in the same way, d_j + gain_ij (x - d_i), which gives draws of the
conditional (Matheron's rule; Journel & Huijbregts 1978).

*If training moved quality k by s standard deviations.* That is a change, not news: the other
qualities stay, and each lift moves by its loading, c_j + lambda_jk s.

The total and the limiter are read off FEW draws. A handful of draws is no good at stating
where things stand today, so the profile's own numbers anchor them: the total moves by what
the draws' total moves, and each draw counts as much as its answer's chance today asks for.
What none of the draws answers keeps its chance: the draws cannot say where it would go. So with
nothing moved everything is as the profile has it.
templates/assets/whatif.js does the same; tests/browser/ holds the two together.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from profilegen.engine.arrays import Floats, Ints
from profilegen.engine.limits import COMPETITION, kilos_behind
from profilegen.engine.posterior import N_QUALITIES, Posterior
from profilegen.engine.profile import WhatIf

FEW = 64
"""Draws in the page: the first of the profile's quasi-random draws, which cover it evenly."""
MOST_LIFTS = 9
_ANSWERS = N_QUALITIES + 1


def what_if_of(
    posterior: Posterior,
    moments: tuple[Floats, Floats],
    sample: Floats,
    total_kg: float,
    chances: Sequence[float],
    written: Sequence[str],
) -> WhatIf:
    """The map for the competition lifts and those the coach wrote most about.

    moments: mean float[6 + n lifts] and covariance of the state; sample float[m, 6 + n] draws
    of it; chances of the six qualities and of even; written: lift of each row of evidence.
    """
    counts = {lift: list(written).count(lift) for lift in posterior.prior.lift_ids}
    often = sorted(counts, key=lambda lift: (lift not in COMPETITION, -counts[lift]))
    chosen = {lift for lift in often[:MOST_LIFTS] if counts[lift] or lift in COMPETITION}
    lifts = tuple(lift for lift in posterior.prior.lift_ids if lift in chosen)
    rows = [posterior.prior.lift_ids.index(lift) for lift in lifts]
    at = np.array([*range(N_QUALITIES), *(N_QUALITIES + row for row in rows)])
    mean, cov = moments[0][at], moments[1][np.ix_(at, at)]
    gain = cov[:, N_QUALITIES:] / np.diag(cov)[N_QUALITIES:]
    return WhatIf(
        lifts=lifts,
        mean=tuple(mean.tolist()),
        sd=tuple(np.sqrt(np.diag(cov)).tolist()),
        gain=tuple(map(tuple, gain.T.tolist())),
        loadings=tuple(map(tuple, posterior.prior.loadings[rows].tolist())),
        draws=tuple(map(tuple, sample[:FEW, at].tolist())),
        total_kg=total_kg,
        chances=tuple(float(chance) for chance in chances),
        min_kilos_share=posterior.norms.constant("min_kilos_share"),
    )


@dataclass(frozen=True, slots=True)
class Moved:
    """Where everything stands after a move."""

    qualities: tuple[float, ...]
    lifts_kg: tuple[float, ...]
    total_kg: float
    chances: tuple[float, ...]
    """Of the six qualities, and of even."""


def moved(
    what_if: WhatIf,
    held: tuple[str, float] | None = None,
    shifts: Mapping[int, float] | None = None,
) -> Moved:
    """`held` (lift, kg) is what the page shows for it; `shifts` by quality (0-5), in sds."""
    mean, draws = np.array(what_if.mean), np.array(what_if.draws)
    shift = np.zeros(N_QUALITIES)
    for quality, by in (shifts or {}).items():
        shift[quality] = by
    step = np.concatenate((shift, np.array(what_if.loadings) @ shift))
    start = draws
    if held is not None:
        i = what_if.lifts.index(held[0])
        column = N_QUALITIES + i
        gain = np.array(what_if.gain[i])
        value = np.log(held[1]) - step[column]
        mean = mean + gain * (value - mean[column])
        draws = draws + np.outer(value - draws[:, column], gain)
    mean, draws = mean + step, draws + step
    before, total_before = _answers(what_if, start)
    after, total_after = _answers(what_if, draws)
    weight, unseen = _weights(what_if, before)
    chances = unseen + np.bincount(after, weights=weight, minlength=_ANSWERS)
    return Moved(
        tuple(mean[:N_QUALITIES].tolist()),
        tuple(np.exp(mean[N_QUALITIES:]).tolist()),
        what_if.total_kg + float(total_after.mean() - total_before.mean()),
        tuple(chances.tolist()),
    )


def _answers(what_if: WhatIf, draws: Floats) -> tuple[Ints, Floats]:
    """The limiting answer 0-6 and the total in kg of each draw."""
    at = [what_if.lifts.index(lift) for lift in COMPETITION]
    snatch, clean, jerk = (draws[:, N_QUALITIES + i] for i in at)
    loadings = np.array(what_if.loadings)[at]
    gain = kilos_behind(draws[:, :N_QUALITIES], snatch, clean, jerk, loadings)
    total = np.exp(snatch) + np.exp(np.minimum(clean, jerk))
    even = gain.max(axis=1) < what_if.min_kilos_share * total
    return np.where(even, N_QUALITIES, gain.argmax(axis=1)), total


def _weights(what_if: WhatIf, answer: Ints) -> tuple[Floats, Floats]:
    """Weights that give the draws of today the profile's own chances, and the chances that are
    left of answers without a draw, float[7]."""
    count = np.bincount(answer, minlength=_ANSWERS)
    chance = np.array(what_if.chances, dtype=np.float64)
    return chance[answer] / count[answer], np.where(count == 0, chance, 0.0)
