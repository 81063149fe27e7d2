"""Testing one lift at a time until it is settled what limits a lifter whose truth is known.

Each lifter is drawn from the model. A coach has seen a meet (snatch, clean and jerk) and then
tests one lift after another, either in the fixed order of the club's sheet or each time the
lift that is expected to tell most, until one answer has a chance over 0.8.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from math import exp

import numpy as np

from profilegen.engine.arrays import Bools, Floats
from profilegen.engine.evidence import CLEAN_AND_JERK, PARTS, Row, Term
from profilegen.engine.inference import fit_rows
from profilegen.engine.limits import COMPETITION, answer_of_draws, limits_of_draws
from profilegen.engine.next_test import next_tests
from profilegen.engine.posterior import N_QUALITIES, Posterior
from profilegen.engine.prior import Prior, prior_for
from profilegen.engine.state import State
from profilegen.history.records import Athlete, Club, Place
from profilegen.norms.catalogue import QUALITIES, Norms
from tests.engine.simulated import TODAY, athlete_of, draw_from_prior

SETTLED = 0.8
MOST_TESTS = 12
"""Four testing weeks of three."""
CLUB = Club(name="Testers")
SHEET = (
    "snatch", CLEAN_AND_JERK, "clean", "jerk", "power_snatch", "power_clean", "front_squat",
    "back_squat", "snatch_pull", "clean_pull", "push_press", "overhead_squat",
)  # fmt: skip
"""The fixed order: the usual sheet, competition lifts first, then fast to slow; then again."""


@dataclass(frozen=True)
class Subject:
    """A lifter whose capacities, and whose form and error in every test, are decided."""

    athlete: Athlete
    prior: Prior
    capacity: dict[str, float]
    """log kg."""
    truth: Floats
    """Six qualities, snatch, clean, jerk."""
    luck: Floats
    """Form plus error of the n-th test, of the meet first, log units."""

    def shows(self, norms: Norms, lift: str, number: int) -> Row:
        """The n-th test (0: the meet, 40 days ago) if it is one of this lift."""
        at: Place = "testing" if number else "meet"
        on = TODAY - timedelta(days=3 if number else 40)
        lifts = PARTS if lift == CLEAN_AND_JERK else (lift,)
        x = min(self.capacity[part] for part in lifts) + float(self.luck[number])
        sd = norms.constant("max_single_sd")
        term = Term("minimum" if len(lifts) == 2 else "about", lifts, x, sd)
        # every test has a form of its own
        return Row(on, at, lift, exp(x), "max", (term,), form=on.toordinal() * 100 + number)


def subject(norms: Norms, rng: np.random.Generator) -> Subject:
    """Draw a lifter."""
    athlete = athlete_of(rng)
    prior = prior_for(athlete, norms, TODAY)
    n = len(prior.lift_ids)
    day = float(TODAY.toordinal() - 3)
    asked = prior.quality_features(day).joined(prior.lift_features(np.arange(n), np.full(n, day)))
    state = draw_from_prior(prior, norms, asked, rng)
    capacity = dict(zip(prior.lift_ids, state[N_QUALITIES:].tolist(), strict=True))
    limiting = np.array([*state[:N_QUALITIES], *(capacity[lift] for lift in COMPETITION)])
    sd = np.hypot(norms.constant("day_form_sd"), norms.constant("max_single_sd"))
    return Subject(athlete, prior, capacity, limiting, sd * rng.standard_normal(MOST_TESTS + 1))


Choose = Callable[[Posterior, Sequence[str]], str]
"""Posterior and lifts tested so far -> lift to test next."""


def in_order(posterior: Posterior, tested: Sequence[str]) -> str:
    """The next lift of the sheet."""
    return SHEET[len(tested) % len(SHEET)]


def most_telling(athlete: Athlete) -> Choose:
    """The lift whose test is expected to tell most."""

    def choose(posterior: Posterior, tested: Sequence[str]) -> str:
        state = State.of(posterior)
        answer = answer_of_draws(state.limiting, posterior)
        return next_tests(posterior, state.sample, answer, athlete, CLUB).values[0].lift

    return choose


@dataclass(frozen=True)
class Course:
    """How the testing of many lifters went."""

    tests: Floats
    """Tests taken, float[lifters]."""
    done: Bools
    """Whether an answer was settled by then."""
    hit: Bools
    """Whether the answer that came first was the true one."""

    def settled(self, tests: int) -> float:
        """Share of lifters settled after at most so many tests."""
        return float((self.done & (self.tests <= tests)).mean())

    @property
    def per_settled(self) -> float:
        """Tests spent, on everyone, for each lifter settled."""
        return float(self.tests.sum()) / max(int(self.done.sum()), 1)

    @property
    def right(self) -> float:
        """Share of settled answers that are true."""
        return float(self.hit[self.done].mean()) if self.done.any() else 0.0


def compared(norms: Norms, lifters: int, seed: int) -> tuple[Course, Course]:
    """The same lifters tested by the sheet, and by what tells most."""
    rng = np.random.default_rng(seed)
    found: list[list[tuple[int, bool, bool]]] = [[], []]
    for _ in range(lifters):
        one = subject(norms, rng)
        for course, choose in zip(found, (in_order, most_telling(one.athlete)), strict=True):
            course.append(until_settled(one, norms, choose))
    return tuple(Course(*map(np.array, zip(*course, strict=True))) for course in found)  # type: ignore[return-value]


def until_settled(one: Subject, norms: Norms, choose: Choose) -> tuple[int, bool, bool]:
    """Tests until an answer has a chance over 0.8, at most MOST_TESTS; whether it has; is true."""
    rows = [one.shows(norms, lift, 0) for lift in ("snatch", CLEAN_AND_JERK)]
    tested: list[str] = []
    while True:
        posterior = fit_rows(one.prior, sorted(rows, key=_order), norms, TODAY)
        answer, chance = limits_of_draws(State.of(posterior).limiting, posterior).ranked()[0]
        if chance > SETTLED or len(tested) >= MOST_TESTS:
            truth = int(answer_of_draws(one.truth[None, :], posterior)[0])
            return len(tested), chance > SETTLED, answer == (*QUALITIES, "even")[truth]
        tested.append(choose(posterior, tested))
        rows.append(one.shows(norms, tested[-1], len(tested)))


def _order(row: Row) -> tuple[object, ...]:
    return row.on, row.lift, row.load_kg, row.at
