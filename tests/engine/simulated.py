"""Lifters whose truth is known: drawn from the model itself, rows made from their truth.

Used by the calibration tests: whatever the engine claims about such a lifter can be
compared with what was drawn.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import exp
from typing import NamedTuple

import numpy as np
from scipy.special import ndtr

from profilegen.engine.arrays import Floats
from profilegen.engine.evidence import CLEAN_AND_JERK, PARTS, Row, RowKind, Term
from profilegen.engine.posterior import N_QUALITIES
from profilegen.engine.prior import Features, Prior, prior_for
from profilegen.engine.terms import features_at
from profilegen.history.records import Athlete, Place, Session
from profilegen.norms.catalogue import Norms

TODAY = date(2026, 11, 21)
TESTED = (
    "snatch", "power_snatch", "clean", "power_clean", "jerk", "push_press", "front_squat",
    "back_squat", "snatch_deadlift", "clean_deadlift", "clean_pull", "overhead_squat",
)  # fmt: skip
HOW = ("max", "attempts", "reps", "bound", "single", "looked", "share")
HOW_CLEAN_AND_JERK = ("max", "attempts", "parts")


@dataclass(frozen=True)
class Simulated:
    prior: Prior
    rows: tuple[Row, ...]
    qualities: Floats
    """The six true qualities today."""
    capacity: dict[str, float]
    """True log kg today."""


class Planned(NamedTuple):
    """A row's day, place and lift, and how it comes about."""

    row: Row
    how: str

    @property
    def lifts(self) -> tuple[str, ...]:
        """The capacities it takes."""
        return PARTS if self.row.lift == CLEAN_AND_JERK else (self.row.lift,)


def athlete_of(rng: np.random.Generator) -> Athlete:
    sex = "F" if rng.random() < 0.5 else "M"
    mass = float(rng.uniform(52, 100) if sex == "M" else rng.uniform(45, 85))
    weighed = Session(on=TODAY, body_mass_kg=mass)
    return Athlete("x", "x", sex, born=date(2000, 1, 1), sessions=(weighed,))


def simulate(norms: Norms, rng: np.random.Generator, weeks: int = 2) -> Simulated:
    """One lifter: `weeks` testing weeks a quarter apart, mixed rows, perhaps a meet each."""
    prior = prior_for(athlete_of(rng), norms, TODAY)
    best = Planned(
        Row(TODAY - timedelta(days=200), "best", "snatch", 1.0, "told", (), form=-1), "told"
    )
    plan = [best, *_plan(rng, weeks)]
    places = list({_place(p.row, lift): (p.row, lift) for p in plan for lift in p.lifts}.values())
    today = float(TODAY.toordinal())
    n = len(prior.lift_ids)
    asked = features_at(prior, places).joined(prior.quality_features(today))
    asked = asked.joined(prior.lift_features(np.arange(n), np.full(n, today)))
    truth = draw_from_prior(prior, norms, asked, rng)
    at_place = {_place(row, lift): g for (row, lift), g in zip(places, truth, strict=False)}

    # The coach chooses loads from an old best he was told of and from what is usual, never
    # from the truth itself: what a row says must lie in the row.
    told_sd = norms.constant("told_sd")
    told = at_place[_place(best.row, "snatch")] + told_sd * rng.standard_normal()
    usual = dict(zip(prior.lift_ids, prior.log_share, strict=True))
    rows = [
        replace(
            best.row, load_kg=exp(told), terms=(Term("about", ("snatch",), float(told), told_sd),)
        )
    ]
    for planned in plan[1:]:
        makes = _Makes(planned, [at_place[_place(planned.row, p)] for p in planned.lifts])
        offset = usual[planned.lifts[0]] - usual["snatch"]
        guess = told + offset + 0.03 * rng.standard_normal()
        rows += makes.rows(norms, rng, guess)
    rows.sort(key=lambda r: (r.on, r.lift, r.load_kg, r.kind, repr(r.terms)))
    start = len(places)
    return Simulated(
        prior=prior,
        rows=tuple(rows),
        qualities=truth[start : start + N_QUALITIES],
        capacity=dict(zip(prior.lift_ids, truth[start + N_QUALITIES :], strict=True)),
    )


def _place(row: Row, lift: str) -> tuple[str, int, str]:
    return lift, row.form, row.at


def draw_from_prior(
    prior: Prior, norms: Norms, asked: Features, rng: np.random.Generator
) -> Floats:
    """Latents from the exact prior: heavy-tailed qualities first, the rest given them."""
    lasting = prior.quality_features(0.0, lasting=True)
    wide = prior.quality_lasting_var
    ratio = norms.constant("usual_quality_sd") / norms.constant("odd_quality_sd")
    odd = rng.random(N_QUALITIES) < norms.constant("odd_quality_share")
    s = rng.standard_normal(N_QUALITIES) * np.sqrt(wide) * np.where(odd, 1.0, ratio)
    cross = prior.cov(asked, lasting) / wide
    cov = prior.cov(asked, asked) - cross @ cross.T * wide
    values, vectors = np.linalg.eigh(cov)
    z = rng.standard_normal(len(values)) * np.sqrt(np.maximum(values, 0.0))
    drawn: Floats = prior.mean(asked) + cross @ s + vectors @ z
    return drawn


def _plan(rng: np.random.Generator, weeks: int) -> Iterator[Planned]:
    def planned(on: date, at: Place, lift: str, how: str) -> Planned:
        return Planned(Row(on, at, lift, 1.0, "made", (), form=on.toordinal()), how)

    for week in range(weeks):
        first = TODAY - timedelta(days=int(120 * week + rng.integers(0, 20)))
        lifts = rng.choice(TESTED, size=int(rng.integers(3, 10)), replace=False)
        for number, lift in enumerate(lifts.tolist()):
            on = first - timedelta(days=number % 2)
            yield planned(on, "testing", lift, str(rng.choice(HOW)))
        yield planned(first, "testing", CLEAN_AND_JERK, str(rng.choice(HOW_CLEAN_AND_JERK)))
        if rng.random() < 0.4:
            meet = first - timedelta(days=40)
            yield planned(meet, "meet", "snatch", "attempts")
            yield planned(meet, "meet", CLEAN_AND_JERK, str(rng.choice(HOW_CLEAN_AND_JERK)))


class _Makes:
    """Makes rows as the likelihood says they come about, from the day's true capacities."""

    def __init__(self, planned: Planned, capacity: Sequence[float]) -> None:
        self._row, self._how = planned
        self._lifts = planned.lifts
        self._capacity = capacity

    def rows(self, norms: Norms, rng: np.random.Generator, guess: float) -> list[Row]:
        """The rows of one lift on one day; `guess` is the log load the coach would try."""
        c = norms.constant
        reps_sd = c("reps_sd_base") + 2.0 * c("reps_sd_per_rep")
        single_sd = c("meet_single_sd" if self._row.at == "meet" else "max_single_sd")
        about: dict[str, tuple[RowKind, float]] = {
            "max": ("max", single_sd),
            "reps": ("reps", reps_sd),
            "looked": ("looked", c("looked_steady_sd") / c("looked_steady")),
            "share": ("share", c("share_guess_sd") / 0.8),
        }
        if self._how in about:
            return [self._about(*about[self._how], rng)]
        if self._how in ("single", "bound"):
            edge = c("made_edge_sd") if self._how == "single" else reps_sd
            return [self._attempt(guess - rng.uniform(0.0, 0.1), edge, norms, rng)]
        found = []
        x = guess - rng.uniform(0.0, 0.06)
        for _ in range(3):
            found.append(self._attempt(x, c("made_edge_sd"), norms, rng))
            if found[-1].kind == "made":
                x += rng.uniform(0.01, 0.04)
        return found

    def _about(self, kind: RowKind, sd: float, rng: np.random.Generator) -> Row:
        x = min(self._capacity) + sd * rng.standard_normal()
        name = "minimum" if len(self._lifts) == 2 else "about"
        return self._with(x, kind, Term(name, self._lifts, x, sd))  # type: ignore[arg-type]

    def _attempt(self, x: float, edge: float, norms: Norms, rng: np.random.Generator) -> Row:
        up = [rng.random() < ndtr((g - x) / edge) for g in self._capacity]
        if self._how == "parts":
            return self._by_parts(x, edge, up, norms, rng)
        fluke = norms.lifts[self._lifts[-1]].fluke_rate.value
        if all(up) and rng.random() > fluke:
            return self._with(x, "made", *(self._floor(lift, x, edge) for lift in self._lifts))
        name = "missed" if len(self._lifts) == 1 else "either"
        return self._with(x, "missed", Term(name, self._lifts, x, edge, fluke))  # type: ignore[arg-type]

    def _by_parts(
        self, x: float, edge: float, up: list[bool], norms: Norms, rng: np.random.Generator
    ) -> Row:
        """A clean and jerk whose missed part is written down; each part has its own flukes."""
        done: list[Term] = []
        for part, made in zip(PARTS, up, strict=True):
            fluke = norms.lifts[part].fluke_rate.value
            if not made or rng.random() < fluke:
                return self._with(x, "missed", *done, Term("missed", (part,), x, edge, fluke))
            done.append(self._floor(part, x, edge))
        return self._with(x, "made", *done)

    def _with(self, x: float, kind: RowKind, *terms: Term) -> Row:
        return replace(self._row, load_kg=exp(x), kind=kind, terms=terms)

    @staticmethod
    def _floor(lift: str, x: float, edge: float) -> Term:
        return Term("floor", (lift,), x, edge)
