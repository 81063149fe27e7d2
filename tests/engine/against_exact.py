"""One lifter's engine answers beside long exact sampling of the same rows."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median
from time import perf_counter

import numpy as np

from profilegen.engine.arrays import Floats
from profilegen.engine.inference import fit_rows
from profilegen.engine.limits import chances_of_draws, limiting_features, limits_on
from profilegen.norms.catalogue import QUALITIES, Norms
from tests.engine.exact import Target, sample
from tests.engine.simulated import TODAY, Simulated

MEAN_WITHIN = 0.1
"""Posterior means agree to this many posterior sds."""
SD_WITHIN = 0.05
CHANCE_WITHIN = 0.03
SPEED_UP = 500.0
_FITS = 5


@dataclass(frozen=True)
class Comparison:
    """Differences engine - exact over the six qualities and every lift, and over answers."""

    names: tuple[str, ...]
    mean_off: Floats
    """In exact posterior sds."""
    mean_error: Floats
    """Monte Carlo error of the same."""
    sd_off: Floats
    """Engine sd / exact sd - 1."""
    sd_error: Floats
    chance_off: dict[str, float]
    chance_error: float
    engine_s: float
    exact_s: float
    rows: int

    def worst_mean(self) -> tuple[str, float]:
        i = int(np.abs(self.mean_off).argmax())
        return self.names[i], float(self.mean_off[i])

    def worst_sd(self) -> tuple[str, float]:
        i = int(np.abs(self.sd_off).argmax())
        return self.names[i], float(self.sd_off[i])

    def worst_chance(self) -> tuple[str, float]:
        return max(self.chance_off.items(), key=lambda pair: abs(pair[1]))

    def misses(self, errors: float = 2.0) -> list[str]:
        """What lies outside the tolerances by more than so many Monte Carlo errors."""
        means = np.abs(self.mean_off) - MEAN_WITHIN > errors * self.mean_error
        sds = np.abs(self.sd_off) - SD_WITHIN > errors * self.sd_error
        chances = [
            f"chance of {name} off by {off:+.3f}"
            for name, off in self.chance_off.items()
            if abs(off) - CHANCE_WITHIN > errors * self.chance_error
        ]
        return [
            *(f"mean of {self.names[i]} {self.mean_off[i]:+.2f} sd" for i in np.flatnonzero(means)),
            *(f"sd of {self.names[i]} {self.sd_off[i]:+.1%}" for i in np.flatnonzero(sds)),
            *chances,
        ]


def compare(
    lifter: Simulated, norms: Norms, rng: np.random.Generator,
    *, chains: int, steps: int, burn_in: int, thin: int = 2,
) -> Comparison:  # fmt: skip
    """Fit the lifter both ways; the engine's time is the median of a few fits."""
    today = float(TODAY.toordinal())
    times = []
    for _ in range(_FITS):
        start = perf_counter()
        posterior = fit_rows(lifter.prior, lifter.rows, norms, TODAY)
        asked = posterior.state_features()
        mean, cov = posterior.gaussian(asked)
        limits = limits_on(posterior)
        times.append(perf_counter() - start)
    engine_s = median(times)

    start = perf_counter()
    target = Target.of(lifter.prior, lifter.rows, norms, today)
    both = asked.joined(limiting_features(posterior))
    drawn = sample(target, both, rng, chains=chains, steps=steps, burn_in=burn_in, thin=thin)
    n = len(asked)
    exact = chances_of_draws(drawn.flat[:, n:], posterior)
    exact_s = perf_counter() - start

    # Monte Carlo error of a chance near one half, from groups of independent chains
    groups = np.array_split(np.arange(chains), 8)
    by_group = [
        chances_of_draws(np.moveaxis(drawn.draws[:, n:][:, :, g], 1, 2).reshape(-1, 9), posterior)
        for g in groups
    ]
    spread = [np.std([g[name] for g in by_group], ddof=1) for name in exact]
    engine = {**limits.chances, "even": limits.chance_even}
    sd = drawn.sd[:n]
    return Comparison(
        names=(*QUALITIES, *lifter.prior.lift_ids),
        mean_off=(mean - drawn.mean[:n]) / sd,
        mean_error=drawn.mean_error[:n] / sd,
        sd_off=np.sqrt(np.diag(cov)) / sd - 1.0,
        sd_error=drawn.sd_error[:n] / sd,
        chance_off={name: engine[name] - exact[name] for name in exact},  # type: ignore[index]
        chance_error=float(max(spread)) / np.sqrt(len(groups)),
        engine_s=engine_s,
        exact_s=exact_s,
        rows=len(lifter.rows),
    )
