"""Posterior -> Profile: everything a page says about one lifter, computed once.

`profile_of` is the engine's front door: one call from a history to a `Profile`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Literal, get_args

import numpy as np

from profilegen.engine.arrays import Floats, quantiles
from profilegen.engine.assumptions import assumptions_of, implausible, warnings_of
from profilegen.engine.avoided import avoided_lifts, avoiding_alike, parents_of
from profilegen.engine.change import change_since
from profilegen.engine.company import company, marks_beside
from profilegen.engine.evidence import CLEAN_AND_JERK, Row
from profilegen.engine.field import FieldModel
from profilegen.engine.inference import fit
from profilegen.engine.lift_by_lift import LiftByLift
from profilegen.engine.limits import (
    COMPETITION,
    Limits,
    limiting_features,
    limits_of_draws,
    rests_on,
)
from profilegen.engine.meet import meets_ahead
from profilegen.engine.next_test import next_tests
from profilegen.engine.posterior import N_QUALITIES, Z90, Posterior
from profilegen.engine.prior import body_mass_near
from profilegen.engine.profile import (
    TOTAL,
    Basis,
    Diagnostics,
    EvidenceReading,
    LiftEstimate,
    MeetDay,
    Person,
    Pointer,
    Profile,
    QualityReading,
    RestsOn,
    Scaled,
)
from profilegen.engine.questions import replies_of
from profilegen.engine.ratios import ratio_readings
from profilegen.engine.reading import read_rows
from profilegen.engine.standards import scaled_totals
from profilegen.engine.state import State
from profilegen.engine.track import ending_in, tracks_of
from profilegen.engine.verdict import HEARSAY, TELLING_KINDS, verdict_of
from profilegen.engine.what_if import what_if_of
from profilegen.history.records import Athlete, Club
from profilegen.norms.catalogue import QUALITIES, Norms, Quality

_RESTS_ON = 3
"""Lifts that a quality is said to rest on: as many as a sentence bears."""


def profile_of(athlete: Athlete, norms: Norms, on: date, club: Club) -> Profile:
    """Fit the lifter's history up to `on` and read everything off. Pure and deterministic."""
    return assess(fit(athlete, norms, on), athlete, club)


def assess(posterior: Posterior, athlete: Athlete, club: Club) -> Profile:
    """Read a lifter's profile off a posterior."""
    norms, on = posterior.norms, posterior.on
    state = State.of(posterior)
    limits = limits_of_draws(state.limiting, posterior)
    not_proposed = tuple(sorted(avoided_lifts(athlete, club, norms.alike)))
    junior = athlete.age_on(on) < norms.constant("junior_until")
    bases = _bases(posterior)
    readings = read_rows(posterior, athlete)
    lifts = _lift_estimates(posterior, state, athlete, bases, readings)
    by_lift = LiftByLift.of(posterior, limiting_features(posterior))
    written = by_lift.lifts
    mass_kg = body_mass_near(athlete, on)
    model = FieldModel.of(norms, on)
    scaled = _scaled(athlete, lifts[TOTAL], mass_kg)
    return Profile(
        athlete=Person(
            id=athlete.id,
            name=athlete.name,
            sex=athlete.sex,
            age=athlete.age_on(on),
            body_mass_kg=mass_kg,
            group=athlete.group,
            junior=junior,
        ),
        on=on,
        lifts=lifts,
        ratios=ratio_readings(state.sample, posterior),
        qualities=_qualities(posterior, state, limits, by_lift),
        chance_even=limits.chance_even,
        verdict=verdict_of(posterior, limits, bases, parents_of(club)),
        evidence=readings,
        tracks=ending_in(lifts, tracks_of(posterior, written)),
        assumptions=assumptions_of(posterior, athlete, readings),
        warnings=(
            *implausible(athlete, scaled, norms, on),
            *warnings_of(
                posterior,
                state,
                limits,
                readings,
                may_try_again=not junior and CLEAN_AND_JERK not in not_proposed,
            ),
        ),
        scaled=scaled,
        diagnostics=Diagnostics(
            iterations=posterior.rounds,
            converged=posterior.converged,
            rows_written=len(posterior.rows),
            rows_used=sum(row.used or row.drew_line for row in readings),
            largest_change=posterior.moved,
        ),
        pointers=_pointers(posterior, by_lift),
        change=change_since(posterior, club),
        next_tests=next_tests(posterior, state.sample, limits.answer, athlete, club),
        meets=_meets(posterior, avoiding_alike(athlete, club, norms.alike)),
        what_if=what_if_of(
            posterior,
            (state.mean, state.cov),
            state.sample,
            lifts[TOTAL].estimate_kg,
            [*limits.chances.values(), limits.chance_even],
            [row.lift for row in posterior.rows],
        ),
        replies=replies_of(posterior, athlete, club, model, state, by_lift),
        company=company(state.by_lift(posterior), athlete.sex, mass_kg, club.field, model),
        marks=marks_beside(state.by_lift(posterior), athlete.sex, mass_kg, club.marks),
        not_proposed=not_proposed,
    )


def _lift_estimates(
    posterior: Posterior,
    state: State,
    athlete: Athlete,
    bases: Mapping[str, Basis],
    readings: Sequence[EvidenceReading],
) -> dict[str, LiftEstimate]:
    ids = posterior.prior.lift_ids
    centre = state.mean[N_QUALITIES : state.level]
    # what is left of a lift without the level are the qualities and what is peculiar to it
    relative = centre - state.mean[state.level] - posterior.prior.log_share
    without_level = np.eye(len(state.mean))[N_QUALITIES : state.level]
    without_level[:, state.level] = -1.0
    relative_low, relative_high = (
        end - posterior.prior.log_share for end in state.linear(without_level).middle90()
    )
    logs = {
        lift: (centre[i], state.low[N_QUALITIES + i], state.high[N_QUALITIES + i])
        for i, lift in enumerate(ids)
    }
    logs[CLEAN_AND_JERK] = _quantiles(state.clean_and_jerk)
    logs[TOTAL] = _quantiles(state.total)
    mass_kg = body_mass_near(athlete, posterior.on)
    mass_kg = mass_kg or posterior.norms.constant(f"reference_kg_{athlete.sex}")
    avoided = {a.lift for a in athlete.avoid}
    made, tested = _best_made(posterior.rows), _last_tested(readings)
    estimates = {}
    for lift, (mid, low, high) in logs.items():
        i = ids.index(lift) if lift in ids else None
        best = made.get(lift)
        estimates[lift] = LiftEstimate(
            lift=lift,
            estimate_kg=float(np.exp(mid)),
            low_kg=float(np.exp(low)),
            high_kg=float(np.exp(high)),
            basis=bases[lift],
            avoided=lift in avoided,
            best_made_kg=best.load_kg if best else None,
            best_made_on=best.on if best else None,
            last_tested=tested.get(lift),
            body_mass_multiple=float(np.exp(mid)) / mass_kg,
            usual_kg=None if i is None else float(np.exp(centre[i] - relative[i])),
            relative=None if i is None else float(relative[i]),
            relative_low=None if i is None else float(relative_low[i]),
            relative_high=None if i is None else float(relative_high[i]),
        )
    return estimates


def _quantiles(sample: Floats) -> tuple[float, float, float]:
    low, mid, high = quantiles(sample, (0.05, 0.5, 0.95)).tolist()
    return mid, low, high


def _best_made(rows: tuple[Row, ...]) -> dict[str, Row]:
    """The heaviest made single or set of each lift; the first day it was made."""
    best: dict[str, Row] = {}
    for row in rows:
        if row.entry is None or row.kind == "missed":
            continue
        if row.lift not in best or row.load_kg > best[row.lift].load_kg:
            best[row.lift] = row
    return best


def _last_tested(rows: Sequence[EvidenceReading]) -> dict[str, date]:
    """The last day of a result that says about how much a lift is; hearsay is no test."""
    days: dict[str, date] = {}
    for row in rows:
        if row.kind in TELLING_KINDS - HEARSAY and not row.vague_days:
            days[row.lift] = max(row.on, days.get(row.lift, row.on))
    return days


def _bases(posterior: Posterior) -> dict[str, Basis]:
    """Whether recent rows say about how much (tested), only a floor (bounded), or nothing."""
    recent_days = posterior.norms.constant("recent_days")
    recent = [r for r in posterior.rows if (posterior.on - r.on).days <= recent_days]
    written = {row.lift for row in recent}
    told = {lift for row in recent if row.kind in TELLING_KINDS for lift in _told_about(row)}
    if CLEAN_AND_JERK in written:
        written |= {"clean", "jerk"}

    def basis(lift: str) -> Basis:
        return "tested" if lift in told else "bounded" if lift in written else "inferred"

    bases = {lift: basis(lift) for lift in (*posterior.prior.lift_ids, CLEAN_AND_JERK)}
    of_total = (bases["snatch"], bases[CLEAN_AND_JERK])
    return bases | {TOTAL: max(of_total, key=get_args(Basis).index)}


def _told_about(row: Row) -> set[str]:
    """Lifts a telling row pins down: a clean and jerk pins its parts only by a miss."""
    if row.lift != CLEAN_AND_JERK:
        return {row.lift}
    parts = {t.lifts[0] for t in row.terms if t.kind == "missed"}
    return {CLEAN_AND_JERK, *parts}


def _qualities(
    posterior: Posterior, state: State, limits: Limits, by_lift: LiftByLift
) -> dict[Quality, QualityReading]:
    without = rests_on(by_lift, limits.chances, posterior)
    readings: dict[Quality, QualityReading] = {}
    for i, quality in enumerate(QUALITIES):
        chance = limits.chances[quality]
        telling = sorted(without[quality], key=lambda pair: (-abs(pair[1] - chance), pair[0]))
        kilos, low, high = limits.kilos[quality]
        readings[quality] = QualityReading(
            quality=quality,
            score=float(state.mean[i]),
            low=float(state.low[i]),
            high=float(state.high[i]),
            kilos=kilos,
            kilos_low=low,
            kilos_high=high,
            chance_limiting=chance,
            rests_on=tuple(RestsOn(lift, c) for lift, c in telling[:_RESTS_ON]),
        )
    return readings


def _pointers(posterior: Posterior, by_lift: LiftByLift) -> tuple[Pointer, ...]:
    """What each tested lift alone would lead one to expect of the clean and the snatch."""
    targets: tuple[Literal["clean", "snatch"], ...] = ("clean", "snatch")
    told = {row.lift for row in posterior.rows if row.kind in TELLING_KINDS}
    mean, cov = by_lift.only.moments()
    at = [N_QUALITIES + COMPETITION.index(target) for target in targets]
    centre, half = mean[1:, at], Z90 * np.sqrt(cov[1:, at, at])
    kilos = np.exp(np.stack((centre, centre - half, centre + half), axis=2)).tolist()
    pointers = [
        Pointer(lift, target, *kilos[i][k])
        for i, lift in enumerate(by_lift.lifts)
        for k, target in enumerate(targets)
        if lift in told and target != lift
    ]
    order = {lift: i for i, lift in enumerate((*posterior.prior.lift_ids, CLEAN_AND_JERK))}
    return tuple(sorted(pointers, key=lambda p: (p.target, order[p.lift])))


def _meets(posterior: Posterior, athlete: Athlete) -> tuple[MeetDay, ...]:
    """The meets ahead; without a single row there is nobody to plan attempts for."""
    ahead = meets_ahead(posterior, athlete)
    if posterior.rows:
        return ahead
    return tuple(replace(one, chances=(), plans=(), warm_up=()) for one in ahead)


def _scaled(athlete: Athlete, total: LiftEstimate, mass_kg: float | None) -> tuple[Scaled, ...]:
    if mass_kg is None:
        return ()
    kg, low_kg, high_kg = total.estimate_kg, total.low_kg, total.high_kg
    return scaled_totals(athlete.sex, mass_kg, total_kg=kg, low_kg=low_kg, high_kg=high_kg)
