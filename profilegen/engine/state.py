"""The lifter on the profile's day: what every question about today is answered from."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from profilegen.engine.arrays import Floats, Ints
from profilegen.engine.evidence import CLEAN_AND_JERK
from profilegen.engine.posterior import N_QUALITIES, Posterior, Tailed
from profilegen.engine.prior import NO_LIFT, Features
from profilegen.engine.profile import TOTAL


@dataclass(frozen=True, slots=True)
class State:
    """Moments and draws of (six qualities, every lift), worked out once.

    The moments go on with what lifts are made of besides: the level, the lean of build, and
    what the platform adds.
    """

    known: Tailed
    """The mixture of all D columns."""
    mean: Floats
    """float[D]: six qualities, the lifts in log kg, `level`, `build`, `platform`."""
    cov: Floats
    low: Floats
    """90 % of each column's mixture lie between this and `high`, float[D]."""
    high: Floats
    sample: Floats
    """Draws of the qualities and lifts, float[m, 6 + n lifts]."""
    clean_and_jerk: Floats
    """Draws, log kg."""
    total: Floats
    """Draws, log kg."""
    limiting: Floats
    """Draws of the six qualities, snatch, clean and jerk."""

    @classmethod
    def of(cls, posterior: Posterior) -> State:
        """Draw the state once; every number of the profile comes from the same draws."""
        features = posterior.state_features()
        drawn = len(features)
        known = posterior.tailed(features.joined(_besides(float(posterior.on.toordinal()))))
        mean, cov = known.moments()
        sample = columns(known, np.arange(drawn)).draws()
        snatch, clean, jerk = (posterior.index(lift) for lift in ("snatch", "clean", "jerk"))
        both = np.minimum(sample[:, clean], sample[:, jerk])
        total = np.logaddexp(sample[:, snatch], both)
        limiting = sample[:, [*range(N_QUALITIES), snatch, clean, jerk]]
        return cls(known, mean, cov, *known.middle90(), sample, both, total, limiting)

    @property
    def level(self) -> int:
        """Column of the level."""
        return len(self.mean) - 3

    @property
    def build(self) -> int:
        """Column of the lean of build."""
        return self.level + 1

    @property
    def platform(self) -> int:
        """Column of what the platform adds."""
        return self.level + 2

    def linear(self, weights: Floats) -> Tailed:
        """Linear combinations of the columns, weights float[k, D]."""
        known = self.known
        rest = weights @ known.rest @ weights.T
        return Tailed(weights @ known.mean, weights @ known.gain, rest, known.at, known.parts)

    def by_lift(self, posterior: Posterior) -> dict[str, Floats]:
        """Draws of every lift, log kg, from fast to slow; the clean and jerk after the jerk."""
        draws: dict[str, Floats] = {}
        for lift in posterior.prior.lift_ids:
            draws[lift] = self.sample[:, posterior.index(lift)]
            if lift == "jerk":
                draws[CLEAN_AND_JERK] = self.clean_and_jerk
        return draws | {TOTAL: self.total}


def _besides(day: float) -> Features:
    """Level, build and platform, each alone."""
    alone = np.eye(3)
    return Features(
        lift=np.full(3, NO_LIFT),
        level=alone[0],
        loadings=np.zeros((3, N_QUALITIES)),
        drift=np.zeros(3),
        day=np.full(3, day),
        form=np.zeros(3, dtype=np.int64),
        meet=alone[2],
        build=alone[1],
    )


def columns(known: Tailed, at: Ints) -> Tailed:
    """Some of the functionals, in that order."""
    rest = known.rest[at[:, None], at]
    return Tailed(known.mean[at], known.gain[at], rest, known.at, known.parts)
