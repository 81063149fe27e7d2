"""What is known after the evidence: a frozen mixture over everything one may ask about.

`cases.fit_cases` leaves a mixture of Gaussians over the `asked` points: the capacities that
floors, misses and clean and jerks speak of, and the six lasting qualities. Any other
functional z is Gaussian given those and the Gaussian rows, with the same gain in every case,
so answers need one small solve (Rasmussen & Williams 2006, eqs. 2.25-2.26). `Recall` answers
from part of the evidence without a new fit: that is how "what does the verdict rest on" is
told.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from profilegen.engine.arrays import Bools, Floats, solve
from profilegen.engine.cases import CUT, Fitted, without_fitting
from profilegen.engine.cavity import Components, mixed_quantiles
from profilegen.engine.draws import points_by_case, roots
from profilegen.engine.evidence import Row
from profilegen.engine.first_look import Pace, Slip
from profilegen.engine.frame import Base, Frame
from profilegen.engine.prior import Features, Prior
from profilegen.norms.catalogue import QUALITIES, Norms

Z90 = 1.6448536269514722
"""95th percentile of the standard normal: half the width of a central 90 % interval."""
DRAWS = 2048
N_QUALITIES = len(QUALITIES)
_NO_WEIGHT = 1e-5
"""Cases that weigh less move no percentile that is asked."""
_LEAST_VAR = 1e-12


@dataclass(frozen=True, slots=True)
class Posterior:
    """One lifter's posterior; build it with `inference.fit`."""

    prior: Prior
    norms: Norms
    on: date
    rows: tuple[Row, ...]
    used: Bools
    """Which rows took part; the rest said nothing new."""
    fitted: Fitted
    converged: bool
    pace: Pace = "steady"
    slips: tuple[Slip, ...] = ()
    """Rows left out as slips of the pen; not among `rows`."""

    @property
    def rounds(self) -> int:
        """How many rounds the inference took."""
        return self.fitted.rounds

    @property
    def moved(self) -> float:
        """Largest change of a lift in the last round, log units."""
        return self.fitted.moved

    def tailed(self, f: Features) -> Tailed:
        """Any functionals, Gaussian given the asked points, which are a mixture."""
        return Recall.of(self, f).tailed(self.fitted.base, self.fitted.parts)

    def gaussian(self, f: Features) -> tuple[Floats, Floats]:
        """Posterior mean float[m] and covariance float[m, m] of any functionals."""
        return self.tailed(f).moments()

    def sample(self, f: Features) -> Floats:
        """DRAWS quasi-random joint draws of any functionals."""
        return self.tailed(f).draws()

    def marginal(self, f: Features) -> tuple[Floats, Floats]:
        """Posterior means and variances only, float[m] each."""
        mean, left, right = self.reduced(f)
        var = self.prior.variance(f) - np.einsum("ij,ij->i", left, right)
        return mean, np.maximum(var, _LEAST_VAR)

    def reduced(self, f: Features) -> tuple[Floats, Floats, Floats]:
        """Posterior mean float[m], and what the evidence takes off the prior covariance:
        between functionals i and j the product of row i of the second and row j of the third.
        """
        fitted = self.fitted
        reach = _Reach.of(self, f, fitted.base)
        mean, cov = fitted.parts.moments()
        left = np.concatenate((reach.weight, reach.gain, -reach.gain @ cov), axis=1)
        right = np.concatenate((reach.to_about, reach.to_asked, reach.gain), axis=1)
        return reach.mean + reach.gain @ (mean - fitted.base.mean), left, right

    def state(self, day: float | None = None) -> tuple[Floats, Floats]:
        """Mean and covariance of (six qualities, every lift) on a day, form left out."""
        return self.gaussian(self.state_features(day))

    def state_features(self, day: float | None = None) -> Features:
        """The functionals behind `state`: six qualities, then the lifts in catalogue order."""
        when = float(self.on.toordinal()) if day is None else day
        n = len(self.prior.lift_ids)
        lifts = self.prior.lift_features(np.arange(n), np.full(n, when))
        return self.prior.quality_features(when).joined(lifts)

    def index(self, lift: str) -> int:
        """Column of a lift in `state` and in draws of it."""
        return N_QUALITIES + self.prior.lift_ids.index(lift)


@dataclass(frozen=True, slots=True)
class Tailed:
    """Functionals z that are Gaussian given some points, which are a mixture."""

    mean: Floats
    """Mean of z when the points are at `at`, float[d]."""
    gain: Floats
    """Change of z with the points, float[d, a]."""
    rest: Floats
    """Covariance of z given them, float[d, d]."""
    at: Floats
    parts: Components

    def moments(self) -> tuple[Floats, Floats]:
        """Mean float[d] and covariance float[d, d] of z."""
        mean, cov = self.parts.moments()
        both = self.rest + self.gain @ cov @ self.gain.T
        return self.mean + self.gain @ (mean - self.at), 0.5 * (both + both.T)

    def middle90(self) -> tuple[Floats, Floats]:
        """Between which 90 % of each functional's mixture lies, float[d] each.

        Mixtures have heavier tails than one Gaussian of the same sd, whose 5th and 95th
        percentiles would lie too far out.
        """
        parts = self.parts
        counts = np.flatnonzero(parts.weight > _NO_WEIGHT)
        mean = self.mean + (parts.mean[counts] - self.at) @ self.gain.T
        var = np.diag(self.rest) + ((self.gain @ parts.cov[counts]) * self.gain).sum(axis=2)
        weight = parts.weight[counts] / parts.weight[counts].sum()
        sd = np.sqrt(np.maximum(var, _LEAST_VAR))
        low, high = (mixed_quantiles(weight, mean, sd, share) for share in (0.05, 0.95))
        return low, high

    def draws(self, n: int = DRAWS) -> Floats:
        """`n` (a power of two) quasi-random draws of z, float[n, d]; the same every run.

        Scrambled Sobol points (fixed seed): the first coordinate picks the case, the others
        draw z, the first functionals from the first coordinates, which are most even.
        """
        pick, normal, place = points_by_case(n, len(self.mean))
        upto = np.cumsum(self.parts.weight)
        ends = np.searchsorted(pick, upto / upto[-1])
        ends[-1] = n
        starts = np.concatenate(([0], ends[:-1]))
        mean = self.mean + (self.parts.mean - self.at) @ self.gain.T
        drawn = np.flatnonzero(ends > starts)
        root = roots(self.rest + self.gain @ self.parts.cov[drawn] @ self.gain.T)
        sample = np.empty((n, len(self.mean)))
        # the draws of a case together: gathering a root for each draw would cost more
        for case, of_case in zip(drawn.tolist(), root, strict=True):
            mine = slice(starts[case], ends[case])
            sample[place[mine]] = mean[case] + normal[mine] @ of_case.T
        return sample


@dataclass(frozen=True, slots=True)
class _Reach:
    """How some functionals depend on the Gaussian rows and on the asked points."""

    mean: Floats
    """Given the Gaussian rows alone, float[m]."""
    weight: Floats
    """Gain on the Gaussian rows, float[m, n_about]."""
    to_about: Floats
    """Prior covariance with them."""
    gain: Floats
    """Gain on the asked points once the Gaussian rows are in, float[m, a]."""
    to_asked: Floats
    """Covariance with them given the Gaussian rows."""

    @classmethod
    def of(cls, posterior: Posterior, f: Features, base: Base) -> _Reach:
        """One solve over the Gaussian rows, one over the asked points."""
        prior, frame = posterior.prior, posterior.fitted.frame
        cross = prior.cov(f, frame.terms.features)
        return cls.from_prior(prior.mean(f), cross, frame, base)

    @classmethod
    def from_prior(cls, mean: Floats, cross: Floats, frame: Frame, base: Base) -> _Reach:
        """From the prior mean float[m] and covariance with all points float[m, N]."""
        point, asked = frame.terms.about.point[base.about], frame.asked
        to_about = cross[:, point]
        weight = to_about @ base.inverted
        to_asked = cross[:, asked] - weight @ frame.k[np.ix_(point, asked)]
        gain = solve(base.cov + 1e-12 * np.eye(len(asked)), to_asked.T).T
        return cls(mean + to_about @ base.weights, weight, to_about, gain, to_asked)


@dataclass(frozen=True, slots=True)
class Recall:
    """Answers about some functionals from part of the evidence, without fitting again.

    The sites of the rows that stay are kept as they were learnt, case by case, rows left out
    are taken down, and the cases are weighted anew.
    """

    posterior: Posterior
    mean: Floats
    cross: Floats
    cov: Floats

    @classmethod
    def of(cls, posterior: Posterior, f: Features) -> Recall:
        """Prepare for functionals `f`; their prior is worked out once."""
        prior, features = posterior.prior, posterior.fitted.frame.terms.features
        return cls(posterior, prior.mean(f), prior.cov(f, features), prior.cov(f, f))

    def tailed(self, base: Base, parts: Components) -> Tailed:
        """The functionals for what the Gaussian rows and the asked points are known as."""
        reach = _Reach.from_prior(self.mean, self.cross, self.posterior.fitted.frame, base)
        rest = self.cov - reach.weight @ reach.to_about.T - reach.gain @ reach.to_asked.T
        return Tailed(reach.mean, reach.gain, 0.5 * (rest + rest.T), base.mean, parts)

    def given(self, kept: Bools, cut: float = CUT) -> Tailed:
        """What the rows marked in `kept` say; see `without_fitting`."""
        return self.tailed(*without_fitting(self.posterior.fitted, kept, cut))
