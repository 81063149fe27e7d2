"""Simulation-based calibration (Talts, Betancourt, Simpson, Vehtari & Gelman 2018).

Draw a lifter from the model, make rows from the truth, fit, and note where the truth lies
among draws of the posterior: over many lifters those ranks must be uniform, 90 % intervals
must hold the truth 90 % of the time, and what is given a chance of 0.7 must be true 7 times
in 10.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.stats import chi2

from profilegen.engine.arrays import Floats
from profilegen.engine.inference import fit_rows
from profilegen.engine.limits import chances_of_draws, limiting_features
from profilegen.norms.catalogue import QUALITIES, Norms
from tests.engine.simulated import TODAY, simulate

BINS = 20


@dataclass(frozen=True)
class Calibration:
    """Results over n lifters and k quantities (six qualities, then every lift)."""

    names: tuple[str, ...]
    ranks: Floats
    """Share of posterior draws under the truth, float[n, k]."""
    inside: Floats
    """Whether the 90 % interval holds the truth, float[n, k]."""
    chances: Floats
    """Stated chance of each of the seven answers, float[n, 7]."""
    answers: Floats
    """1 for the true answer, float[n, 7]."""

    def coverage(self) -> Floats:
        """Share of lifters whose 90 % interval holds the truth, float[k]."""
        share: Floats = self.inside.mean(axis=0)
        return share

    def flatness(self) -> Floats:
        """Chi-square p-value of each quantity's rank histogram, float[k]."""
        n, k = self.ranks.shape
        counts = np.array([np.histogram(self.ranks[:, i], BINS, (0, 1))[0] for i in range(k)])
        statistic = ((counts - n / BINS) ** 2).sum(axis=1) * BINS / n
        p: Floats = chi2.sf(statistic, BINS - 1)
        return p

    def reliability(self, bins: int = 10) -> list[tuple[float, float, int]]:
        """(mean stated chance, hit rate, how many) in equal bins of the stated chance."""
        stated, true = self.chances.ravel(), self.answers.ravel()
        which = np.minimum((stated * bins).astype(int), bins - 1)
        return [
            (float(stated[which == b].mean()), float(true[which == b].mean()), int(count))
            for b, count in enumerate(np.bincount(which, minlength=bins))
            if count
        ]

    def calibration_error(self) -> float:
        """Mean absolute gap between stated chance and hit rate, weighted by how many."""
        table = self.reliability()
        total = sum(count for _, _, count in table)
        return sum(abs(stated - hit) * count for stated, hit, count in table) / total

    def first_is_right(self) -> float:
        """Share of lifters whose likeliest answer is the true one."""
        return float((self.chances.argmax(axis=1) == self.answers.argmax(axis=1)).mean())


def calibrate(norms: Norms, lifters: int, seed: int) -> Calibration:
    """Simulate, fit and compare; lifters get 1 to 4 testing weeks of mixed rows."""
    ranks, inside, chances, answers = [], [], [], []
    for number in range(lifters):
        rng = np.random.default_rng((seed, number))
        lifter = simulate(norms, rng, weeks=int(rng.integers(1, 5)))
        posterior = fit_rows(lifter.prior, lifter.rows, norms, TODAY)
        asked = posterior.state_features()
        truth = np.concatenate((lifter.qualities, [*lifter.capacity.values()]))
        ranks.append((posterior.sample(asked) < truth).mean(axis=0))
        low, high = posterior.tailed(asked).middle90()
        inside.append((low <= truth) & (truth <= high))
        drawn = posterior.sample(limiting_features(posterior))
        told = chances_of_draws(drawn, posterior)
        true = [*lifter.qualities, *(lifter.capacity[c] for c in ("snatch", "clean", "jerk"))]
        right = chances_of_draws(np.array([true]), posterior)
        chances.append([told[a] for a in (*QUALITIES, "even")])
        answers.append([right[a] for a in (*QUALITIES, "even")])
    names = (*QUALITIES, *lifter.prior.lift_ids)
    return Calibration(
        names, np.array(ranks), np.array(inside, dtype=float), np.array(chances), np.array(answers)
    )
