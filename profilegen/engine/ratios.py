"""Lifts set against each other, beside the usual range (norms/ratios_usual.yaml)."""

from __future__ import annotations

import numpy as np

from profilegen.engine.arrays import Floats
from profilegen.engine.evidence import CLEAN_AND_JERK
from profilegen.engine.posterior import Posterior
from profilegen.engine.profile import RatioReading, RatioVerdict

_SURE = 0.75
_FAIRLY = 0.5


def ratio_readings(sample: Floats, posterior: Posterior) -> tuple[RatioReading, ...]:
    """Every usual ratio with its 90 % interval, from draws of (qualities, lifts)."""

    def logs(lift: str) -> Floats:
        if lift == CLEAN_AND_JERK:
            return np.minimum(
                sample[:, posterior.index("clean")], sample[:, posterior.index("jerk")]
            )
        return sample[:, posterior.index(lift)]

    readings = []
    for usual in posterior.norms.usual_ratios:
        ratio = np.exp(logs(usual.numerator) - logs(usual.denominator))
        low, mid, high = np.quantile(ratio, (0.05, 0.5, 0.95))
        below = float((ratio < usual.usual_low).mean())
        above = float((ratio > usual.usual_high).mean())
        readings.append(
            RatioReading(
                numerator=usual.numerator,
                denominator=usual.denominator,
                value=float(mid),
                low=float(low),
                high=float(high),
                usual_low=usual.usual_low,
                usual_high=usual.usual_high,
                reading=_reading(below, above),
                chance_below=below,
                chance_above=above,
                source=usual.source,
            )
        )
    return tuple(readings)


def _reading(below: float, above: float) -> RatioVerdict:
    if below >= _SURE:
        return "below"
    if above >= _SURE:
        return "above"
    return "usual" if 1.0 - below - above >= _FAIRLY else "unclear"
