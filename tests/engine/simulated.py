"""Lifters whose truth is known: drawn from the model itself, rows made from their truth.

Used by the calibration tests: whatever the engine claims about such a lifter can be
compared with what was drawn.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import exp

import numpy as np

from profilegen.engine.evidence import PARTS, Row, Term
from profilegen.engine.posterior import N_QUALITIES
from profilegen.engine.prior import Features, Floats, Prior, prior_for
from profilegen.engine.terms import features_at
from profilegen.history.records import Athlete, Session
from profilegen.norms.catalogue import Norms

TODAY = date(2026, 11, 21)
TESTED = (
    "snatch", "power_snatch", "clean", "power_clean", "jerk", "push_press", "front_squat",
    "back_squat", "snatch_deadlift", "clean_deadlift", "clean_pull", "overhead_squat",
)  # fmt: skip


@dataclass(frozen=True)
class Simulated:
    prior: Prior
    rows: tuple[Row, ...]
    qualities: Floats
    """The six true qualities today."""
    capacity: dict[str, float]
    """True log kg today."""


def athlete_of(rng: np.random.Generator) -> Athlete:
    sex = "F" if rng.random() < 0.5 else "M"
    mass = float(rng.uniform(52, 100) if sex == "M" else rng.uniform(45, 85))
    return Athlete(
        id="x", name="x", sex=sex, born=date(2000, 1, 1),
        sessions=(Session(on=TODAY, body_mass_kg=mass),),
    )  # fmt: skip


def simulate(norms: Norms, rng: np.random.Generator, weeks: int = 2) -> Simulated:
    """One lifter: `weeks` testing weeks a quarter apart, mixed rows, a few stray singles."""
    prior = prior_for(athlete_of(rng), norms, TODAY)
    best = Row(TODAY - timedelta(days=200), "best", "snatch", 1.0, "told", (), form=-1)
    plan = [(best, "snatch", "told"), *_plan(prior, rng, weeks)]
    places = [(row, lift) for row, lift, _ in plan]
    n = len(prior.lift_ids)
    today = float(TODAY.toordinal())
    asked = features_at(prior, places).joined(prior.quality_features(today))
    asked = asked.joined(prior.lift_features(np.arange(n), np.full(n, today)))
    truth = _draw(prior, norms, asked, rng)
    at_place = {
        (lift, row.form, row.at): g for (row, lift), g in zip(places, truth, strict=False)
    }
    # The coach chooses loads from an old best he was told of and from what is usual, never
    # from the truth itself: what a row says must lie in the row.
    told = at_place["snatch", -1, "best"] + norms.constant("told_sd") * rng.standard_normal()
    term = Term("about", ("snatch",), float(told), norms.constant("told_sd"))
    rows: list[Row] = [replace(best, load_kg=exp(told), terms=(term,))]
    usual = dict(zip(prior.lift_ids, prior.log_share, strict=True))
    for row, lift, how in plan:
        if row is places[0][0]:
            continue
        parts = PARTS if row.lift == "clean_and_jerk" else (lift,)
        g = [at_place[part, row.form, row.at] for part in parts]
        guess = told + usual[lift] - usual["snatch"] + 0.03 * rng.standard_normal()
        rows += _made_up(row, parts, g, how, norms, rng, guess)
    rows.sort(key=lambda r: (r.on, r.lift, r.load_kg, r.kind, repr(r.terms)))
    start = len(places)
    return Simulated(
        prior=prior,
        rows=tuple(rows),
        qualities=truth[start : start + N_QUALITIES],
        capacity=dict(zip(prior.lift_ids, truth[start + N_QUALITIES :], strict=True)),
    )


def _draw(prior: Prior, norms: Norms, asked: Features, rng: np.random.Generator) -> Floats:
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


def _plan(prior: Prior, rng: np.random.Generator, weeks: int) -> list[tuple[Row, str, str]]:
    """(a row's day and lift, one capacity it needs, how it comes about)."""
    plan: list[tuple[Row, str, str]] = []

    def add(on: date, at: str, lift: str, how: str) -> None:
        row = Row(on, at, lift, 1.0, "made", (), form=on.toordinal())  # type: ignore[arg-type]
        for part in PARTS if lift == "clean_and_jerk" else (lift,):
            plan.append((row, part, how if part in (lift, PARTS[0]) else "same row"))

    for week in range(weeks):
        first = TODAY - timedelta(days=int(120 * week + rng.integers(0, 20)))
        lifts = rng.choice(TESTED, size=int(rng.integers(3, 10)), replace=False)
        for number, lift in enumerate(lifts.tolist()):
            on = first + timedelta(days=number % 2)
            how = rng.choice(["max", "attempts", "reps", "single", "looked"])
            add(on, "testing", lift, str(how))
        add(first, "testing", "clean_and_jerk", str(rng.choice(["max", "attempts", "parts"])))
        if rng.random() < 0.4:
            meet = first - timedelta(days=40)
            add(meet, "meet", "snatch", "attempts")
            add(meet, "meet", "clean_and_jerk", str(rng.choice(["attempts", "parts", "max"])))
    return plan


def _made_up(
    row: Row, parts: tuple[str, ...], g: list[float], how: str, norms: Norms,
    rng: np.random.Generator, guess: float,
) -> list[Row]:  # fmt: skip
    """Rows as the likelihood says they come about, given the true capacity of the day."""
    if how == "same row":
        return []
    c = norms.constant
    edge = c("made_edge_sd")
    low = min(g)
    fluke = norms.lifts[parts[-1]].fluke_rate.value

    def with_terms(load: float, kind: str, *terms: Term) -> Row:
        return replace(row, load_kg=exp(load), kind=kind, terms=terms)  # type: ignore[arg-type]

    def about(sd: float, kind: str) -> Row:
        x = low + sd * rng.standard_normal()
        name = "minimum" if len(parts) == 2 else "about"
        return with_terms(x, kind, Term(name, parts, x, sd))

    if how == "max":
        return [about(c("meet_single_sd" if row.at == "meet" else "max_single_sd"), "max")]
    if how == "reps":
        return [about(c("reps_sd_base") + 2 * c("reps_sd_per_rep"), "reps")]
    if how == "looked":
        return [about(c("looked_steady_sd") / c("looked_steady"), "looked")]
    x = guess - rng.uniform(0.0, 0.1 if how == "single" else 0.06)
    found = []
    for _ in range(1 if how == "single" else 3):
        part_made = [rng.random() < _cdf((v - x) / edge) for v in g]
        if how == "parts":
            found.append(_by_parts(with_terms, part_made, x, edge, norms, rng))
        elif all(part_made) and rng.random() > fluke:
            found.append(with_terms(x, "made", *(Term("floor", (p,), x, edge) for p in parts)))
        else:
            name = "missed" if len(parts) == 1 else "either"
            found.append(with_terms(x, "missed", Term(name, parts, x, edge, fluke)))
        if found[-1].kind == "made":
            x += rng.uniform(0.01, 0.04)
    return found


def _by_parts(with_terms, part_made, x, edge, norms, rng):  # type: ignore[no-untyped-def]
    """A clean and jerk whose missed part is written down; each part has its own flukes."""
    done: list[Term] = []
    for part, made in zip(PARTS, part_made, strict=True):
        fluke = norms.lifts[part].fluke_rate.value
        if not made or rng.random() < fluke:
            return with_terms(x, "missed", *done, Term("missed", (part,), x, edge, fluke))
        done.append(Term("floor", (part,), x, edge))
    return with_terms(x, "made", *done)


def _cdf(z: float) -> float:
    from math import erf, sqrt

    return 0.5 * (1.0 + erf(z / sqrt(2.0)))
