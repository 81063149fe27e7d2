"""The questions in a lifter's file, answered in the order in which they were asked."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from profilegen.engine.arrays import Floats
from profilegen.engine.avoided import avoiding_alike
from profilegen.engine.claim import claim
from profilegen.engine.company import rivals_near
from profilegen.engine.explain import Deviation, asked_lifts, holds, parts_of, why
from profilegen.engine.field import FieldModel, Results
from profilegen.engine.lift_by_lift import LiftByLift
from profilegen.engine.posterior import Posterior
from profilegen.engine.prior import body_mass_near, build_lean
from profilegen.engine.replies import Reply, Yardstick
from profilegen.engine.state import State
from profilegen.history.records import Athlete, Club, Question


def replies_of(
    posterior: Posterior,
    athlete: Athlete,
    club: Club,
    model: FieldModel,
    state: State,
    by_lift: LiftByLift,
) -> tuple[Reply, ...]:
    """One reply per question. by_lift: of `limiting_features`."""
    mass_kg = body_mass_near(athlete, posterior.on)
    shunning = avoiding_alike(athlete, club, posterior.norms.alike)
    _, _, rivals = rivals_near(athlete.sex, mass_kg, club.field, posterior.norms)
    results = Results.of(rivals)
    lean = build_lean(athlete.build, posterior.norms) or 0.0
    shifts = posterior.prior.build_side * lean * posterior.norms.constant("build_shift")

    def reply(question: Question) -> Reply:
        if question.kind == "claim" and question.quality is not None:
            high = question.direction == "high"
            return claim(posterior, shunning, question.quality, high, state, by_lift)
        if question.lift is None:
            raise ValueError(f"line {question.line}: a question without a lift or a quality")
        if question.kind == "holds":
            return holds(posterior, state, question.lift)
        yardsticks: dict[Yardstick, Mapping[str, Deviation]] = {}
        if len(results):
            asked = asked_lifts(posterior.norms, question.lift)
            yardsticks["field"] = {lift: mean_rival(model, results, lift) for lift in asked}
        kilos = (results.snatch_kg, results.clean_and_jerk_kg)
        return why(posterior, state, question.lift, shifts, yardsticks, kilos)

    return tuple(reply(question) for question in athlete.questions)


def mean_rival(model: FieldModel, results: Results, lift: str) -> Deviation:
    """The mean of the rivals in one lift, each seen from the norm of sex and body mass."""
    parts = parts_of(model.prior, lift, model.day)
    mean, var = model.deviations(results, parts.joined(model.lifts([lift])))
    n = len(results)
    average: Floats = mean.mean(axis=0)
    spread: Floats = np.sum(var, axis=0) / n**2
    return Deviation(average[:-1], spread[:-1], float(average[-1]), float(spread[-1]), n)
