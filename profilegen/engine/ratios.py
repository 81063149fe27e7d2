"""Lifts set against each other, beside the usual range (norms/ratios_usual.yaml)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from profilegen.engine.arrays import Floats, quantiles
from profilegen.engine.evidence import CLEAN_AND_JERK
from profilegen.engine.posterior import N_QUALITIES, Posterior
from profilegen.engine.profile import RatioReading, RatioVerdict
from profilegen.norms.catalogue import UsualRatio

_SURE = 0.75
_FAIRLY = 0.5


def ratio_readings(sample: Floats, posterior: Posterior) -> tuple[RatioReading, ...]:
    """Every usual ratio with its 90 % interval, from draws of (qualities, lifts)."""
    ids, every = posterior.prior.lift_ids, posterior.norms.usual_ratios
    both = np.minimum(sample[:, posterior.index("clean")], sample[:, posterior.index("jerk")])
    logs = np.column_stack((sample[:, N_QUALITIES:], both))
    column = {lift: i for i, lift in enumerate((*ids, CLEAN_AND_JERK))}
    over, under = ([column[lift] for lift in lifts] for lifts in _sides(every))
    ratio = np.exp(logs[:, over] - logs[:, under])
    below = (ratio < [usual.usual_low for usual in every]).mean(axis=0).tolist()
    above = (ratio > [usual.usual_high for usual in every]).mean(axis=0).tolist()
    low, mid, high = quantiles(ratio, (0.05, 0.5, 0.95)).tolist()
    return tuple(
        RatioReading(
            numerator=usual.numerator,
            denominator=usual.denominator,
            value=mid[i],
            low=low[i],
            high=high[i],
            usual_low=usual.usual_low,
            usual_high=usual.usual_high,
            reading=_reading(below[i], above[i]),
            chance_below=below[i],
            chance_above=above[i],
            source=usual.source,
        )
        for i, usual in enumerate(every)
    )


def _sides(ratios: Sequence[UsualRatio]) -> tuple[list[str], list[str]]:
    return [one.numerator for one in ratios], [one.denominator for one in ratios]


def _reading(below: float, above: float) -> RatioVerdict:
    if below >= _SURE:
        return "below"
    if above >= _SURE:
        return "above"
    return "usual" if 1.0 - below - above >= _FAIRLY else "unclear"
