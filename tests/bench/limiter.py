"""How often the first answer about the limiter is right, and how sure it says it is.

    python -m tests.bench.limiter [lifters]

Squads of another model than the engine's, written here from plain ratios; then squads of the
engine's own model, where its answer is set beside the best possible one, long exact sampling.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np

from profilegen.engine.inference import fit, fit_rows
from profilegen.engine.limits import chances_of_draws, limiting_features, limits_on
from profilegen.history.records import Athlete, Session, SetRecord, Sex
from profilegen.norms.catalogue import QUALITIES, Limiter, Norms, load_norms
from tests.engine import exact, simulated

NORMS = load_norms()
ON = date(2026, 11, 21)

USUAL = {
    "snatch": 0.80, "power_snatch": 0.68, "clean": 1.0, "power_clean": 0.885, "jerk": 1.0,
    "push_press": 0.80, "front_squat": 1.14, "back_squat": 1.31, "snatch_deadlift": 1.03,
    "clean_deadlift": 1.25,
}  # fmt: skip
"""Shares of the clean. Snatch, front and back squat: published or a coach's table (snatch 0.80
and back squat 1.31 of the clean and jerk, clean and jerk 0.85-0.92 of the front squat; power
snatch 0.85 of the snatch; push press 0.75-0.85 of the jerk). The others: common practice."""

TESTED = (
    "snatch", "power_snatch", "clean", "power_clean", "clean_and_jerk", "push_press",
    "front_squat", "back_squat", "snatch_deadlift", "clean_deadlift",
)  # fmt: skip

KINDS: tuple[Limiter, ...] = (*QUALITIES, "even")
Weakness = Mapping[str, float]
ALONE: Mapping[str, Weakness] = {
    "legs": {"front_squat": 1, "back_squat": 1},
    "pull": {"snatch_deadlift": 1, "clean_deadlift": 1},
    "speed": {"power_snatch": 1, "power_clean": 1},
    "snatch_turnover": {"snatch": 1},
    "clean_turnover": {"clean": 1},
    "overhead": {"jerk": 1, "push_press": 1},
}
"""Lifts that a quality governs, as a coach would name them; the weakness is seen there."""
CARRIED: Mapping[str, Weakness] = {
    "legs": {**ALONE["legs"], "clean": 0.3, "jerk": 0.2, "snatch": 0.15},
    "pull": {**ALONE["pull"], "power_clean": 0.4, "clean": 0.3, "snatch": 0.25,
             "power_snatch": 0.25},
    "speed": {**ALONE["speed"], "snatch": 0.6, "clean": 0.4, "jerk": 0.4, "push_press": 0.4},
    "snatch_turnover": ALONE["snatch_turnover"],
    "clean_turnover": ALONE["clean_turnover"],
    "overhead": {**ALONE["overhead"], "snatch": 0.2},
}  # fmt: skip
"""The same, and part of the weakness carries over to the lifts that need it too."""

LIFT_SD = 0.025
"""Log sd by which a lifter's lift differs from the usual share for no reason."""
FORM_SD, SINGLE_SD = 0.015, 0.015


def other_lifter(
    rng: np.random.Generator, governed: Mapping[str, Weakness]
) -> tuple[Athlete, Limiter]:
    """Someone with one weak quality, or none, who tested ten lifts to a maximum in a day."""
    weak = KINDS[rng.integers(len(KINDS))]
    taken = rng.uniform(0.08, 0.12)
    woman = bool(rng.random() < 0.5)
    clean_kg = rng.uniform(55.0, 110.0) if woman else rng.uniform(80.0, 170.0)
    kg = {}
    for lift, share in USUAL.items():
        usual = clean_kg * share * (0.98 if woman and "snatch" in lift[:12] else 1.0)
        weakened = 1.0 - taken * governed.get(weak, {}).get(lift, 0.0)
        kg[lift] = usual * weakened * np.exp(LIFT_SD * rng.standard_normal())
    kg["clean_and_jerk"] = min(kg["clean"], kg["jerk"])
    form = FORM_SD * rng.standard_normal()
    sets = tuple(
        SetRecord(
            lift,
            float(round(kg[lift] * np.exp(form + SINGLE_SD * rng.standard_normal()))),
            effort_max=True,
        )
        for lift in TESTED
    )
    session = Session(ON, "testing", 63.0 if woman else 80.0, sets)
    sex: Sex = "F" if woman else "M"
    return Athlete("x", "x", sex, date(2000, 1, 1), sessions=(session,)), weak


@dataclass(frozen=True)
class Score:
    """One row per lifter: what was weak, what was answered, how sure the answer was."""

    weak: tuple[Limiter, ...]
    answer: tuple[Limiter, ...]
    stated: tuple[float, ...]

    @property
    def accuracy(self) -> float:
        return float(np.mean([w == a for w, a in zip(self.weak, self.answer, strict=True)]))

    @property
    def mean_stated(self) -> float:
        return float(np.mean(self.stated))

    @property
    def found(self) -> dict[Limiter, float]:
        """By weakness ("even" included), the share of its lifters who were told so."""
        pairs = list(zip(self.weak, self.answer, strict=True))
        return {k: float(np.mean([a == k for w, a in pairs if w == k])) for k in KINDS}


def score(governed: Mapping[str, Weakness], lifters: int, norms: Norms = NORMS) -> Score:
    """Ask the engine about many other lifters."""
    rows = []
    for seed in range(lifters):
        athlete, weak = other_lifter(np.random.default_rng(seed), governed)
        answer, chance = limits_on(fit(athlete, norms, ON)).ranked()[0]
        rows.append((weak, answer, chance))
    weak_ones, answers, stated = zip(*rows, strict=True)
    return Score(weak_ones, answers, stated)


@dataclass(frozen=True)
class BesideTheBest:
    """The engine's first answers and the best possible ones on lifters of its own model."""

    hits: float
    """Share of the engine's first answers that were true."""
    best_hits: float
    """The same for the answer that exact sampling puts first."""
    deserved: float
    """Mean exact chance of the engine's first answer: its accuracy without the luck."""
    best_deserved: float
    """Mean exact chance of the exact first answer: nobody can do better."""
    stated: float


def beside_the_best(
    lifters: int, *, chains: int = 64, steps: int = 600, burn_in: int = 200,
    told: Callable[[str], object] = lambda line: None,
) -> BesideTheBest:  # fmt: skip
    """Compare on lifters drawn from the engine's model with mixed evidence."""
    today = float(simulated.TODAY.toordinal())
    rows = []
    for seed in range(lifters):
        rng = np.random.default_rng(9000 + seed)
        lifter = simulated.simulate(NORMS, rng)
        posterior = fit_rows(lifter.prior, lifter.rows, NORMS, simulated.TODAY)
        answer, chance = limits_on(posterior).ranked()[0]
        target = exact.Target.of(lifter.prior, lifter.rows, NORMS, today)
        asked = limiting_features(posterior)
        draws = exact.sample(target, asked, rng, chains=chains, steps=steps, burn_in=burn_in,
                             thin=5)  # fmt: skip
        true_chance = chances_of_draws(draws.flat, posterior)
        best = max(true_chance, key=true_chance.__getitem__)
        capacity = [lifter.capacity[lift] for lift in ("snatch", "clean", "jerk")]
        truth_now = chances_of_draws(np.array([[*lifter.qualities, *capacity]]), posterior)
        truth = max(truth_now, key=truth_now.__getitem__)
        rows.append(
            (answer == truth, best == truth, true_chance[answer], true_chance[best], chance)
        )
        told(f"{seed:4d} truth {truth:15} engine {answer:15} {chance:.2f}  exact {best:15} "
             f"{true_chance[best]:.2f}")  # fmt: skip
    return BesideTheBest(*np.mean(rows, axis=0).tolist())


def main() -> None:
    """Print both comparisons."""
    lifters = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    for name, governed in (("weakness alone", ALONE), ("weakness carried over", CARRIED)):
        other = score(governed, lifters)
        found = ", ".join(f"{k} {v:.2f}" for k, v in other.found.items())
        print(
            f"{lifters} other lifters, {name}: right {other.accuracy:.3f}, "
            f"stated {other.mean_stated:.3f}; found: {found}"
        )
    own = beside_the_best(max(lifters // 10, 1), told=print)
    print(
        f"{max(lifters // 10, 1)} lifters of the engine's own model: right {own.hits:.3f} "
        f"(exact sampling {own.best_hits:.3f}); deserved {own.deserved:.4f} "
        f"(best possible {own.best_deserved:.4f}); stated {own.stated:.3f}"
    )


if __name__ == "__main__":
    main()
