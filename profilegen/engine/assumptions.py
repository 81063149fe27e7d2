"""What was taken for granted (assumptions) and what a coach should look at (warnings).

Each is a code with values; the report turns codes into sentences.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise
from math import expm1

import numpy as np

from profilegen.engine.evidence import CLEAN_AND_JERK, Row
from profilegen.engine.limits import Limits, chances_of_draws, limiting_features
from profilegen.engine.posterior import Z90, Posterior, Recall
from profilegen.engine.prior import build_lean
from profilegen.engine.profile import Assumption, EvidenceReading, Scaled
from profilegen.engine.reading import speed_line
from profilegen.engine.state import State
from profilegen.history.records import Athlete
from profilegen.norms.catalogue import Norms
from profilegen.units import DAYS_PER_YEAR

_STALE_DAYS = 180
"""When the page starts to say how old the latest row is; the numbers know it by their drift."""
_SURPRISING = 0.001
"""Chance of a row under which a mistake is looked for at all."""
_TYPO_GAP = 0.13
"""Log units: flags what is about 15 % off, a digit mistaken, but not an unusual lifter."""
_ROUGHLY = 3.0
"""For that the cases that weigh more than a twentieth of the best will do."""
_HANGS_ON_A_MISS = 0.15
"""Change of the verdict's chance without the one miss, from which the page says so."""
_YEAR_DAYS = 366
"""Within so many days two weighings say something of each other."""
_PLATFORM_SURE = 0.012
"""Log units, about 1 %: a smaller shift is not worth a sentence."""


def assumptions_of(
    posterior: Posterior, athlete: Athlete, readings: Sequence[EvidenceReading]
) -> tuple[Assumption, ...]:
    """Everything the engine assumed about this lifter's rows, in a fixed order."""
    found: list[Assumption] = []

    def say(code: str, **values: float | str) -> None:
        found.append(Assumption(code, values))

    if all(session.body_mass_kg is None for session in athlete.sessions):
        say("no_body_mass")
    if build_lean(athlete.build, posterior.norms) is not None:
        say("build")
    if athlete.age_on(posterior.on) < posterior.norms.constant("junior_until") and readings:
        year_ago = np.array([posterior.on.toordinal() - DAYS_PER_YEAR])
        gain = -float(posterior.prior.growth(year_ago)[0])
        say("junior_growth", percent_a_year=100.0 * expm1(gain))
    for row in readings:
        if row.kind == "before_meet":
            say(
                "before_meet",
                lift=row.lift,
                load_kg=row.load_kg,
                on=row.on.isoformat(),
                share=row.share or 1.0,
            )
    bounds = [row.entry for row in posterior.rows if row.kind == "bound" and row.entry]
    unsaid = sum(1 for entry in bounds if entry.in_reserve is None and not entry.effort_max)
    if unsaid:
        say("reps_without_reserve", rows=unsaid)
    if len(bounds) > unsaid:
        most = posterior.norms.constant("quick_reps_limit")
        say("long_quick_sets", rows=len(bounds) - unsaid, reps=most)
    unknown = sum(1 for r in readings if r.lift == CLEAN_AND_JERK and r.missed == "lift")
    if unknown:
        say("jerk_part_unknown", rows=unknown)
    idle = [r for r in readings if r.speed_m_s is not None and r.kind == "made" and not r.drew_line]
    light = sum(1 for r in idle if speed_line(posterior.norms, r.lift))
    if len(idle) > light:
        say("speed_as_made", rows=len(idle) - light)
    if light:
        say("speed_too_light", rows=light)
    chosen = [r for r in posterior.rows if r.says_how_much and r.log_sd is None]
    near = sum(1 for r in chosen if r.at != "training" or r.kind == "missed")
    if near:
        sd = posterior.norms.constant("limit_choice_sd")
        say("near_the_limit", rows=near, share=float(np.expm1(Z90 * sd)))
    if len(chosen) > near:
        say("training_loads", rows=len(chosen) - near)
    if posterior.pace != "steady":
        say(f"pace_{posterior.pace}")
    vague = sum(1 for r in readings if r.kind in ("told", "seen"))
    if vague:
        say("hearsay", rows=vague)
    return tuple(found)


def warnings_of(
    posterior: Posterior,
    state: State,
    limits: Limits,
    readings: Sequence[EvidenceReading],
    *,
    may_try_again: bool,
) -> tuple[Assumption, ...]:
    """What a coach should check before believing the verdict.

    may_try_again: whether a maximal clean and jerk may be proposed to this lifter.
    """
    found: list[Assumption] = []
    if not readings:
        return (Assumption("no_evidence", {}),)
    latest = max(readings, key=lambda row: row.on + timedelta(row.vague_days))
    days = int((posterior.on - latest.on).days - latest.vague_days)
    if days > _STALE_DAYS and latest.vague_days:
        found.append(Assumption("nothing_lately", {"around": day_told(latest)}))
    elif days > _STALE_DAYS:
        found.append(Assumption("no_evidence_lately", {"days": days}))
    if not posterior.converged:
        found.append(Assumption("not_converged", {"moved": posterior.moved}))
    found += [
        Assumption("left_out", _mistake(slip.row, slip.expected, slip.row.on.isoformat()))
        for slip in posterior.slips
    ]
    found += _typing_mistakes(posterior, readings)
    found += _single_misses(posterior, limits, readings, may_try_again)
    platform = _platform(posterior, state)
    if platform is not None:
        found.append(platform)
    return tuple(found)


def implausible(
    athlete: Athlete, scaled: Sequence[Scaled], norms: Norms, on: date
) -> tuple[Assumption, ...]:
    """What no lifter's file should hold: a record total (pounds for kilos?), a body mass that
    jumps."""
    found: list[Assumption] = []
    record = norms.constant(f"record_sinclair_{athlete.sex}")
    for one in scaled:
        if one.formula.startswith("Sinclair") and one.score > record:
            found.append(Assumption("beyond_records", {}))
    weighed = [s for s in athlete.sessions if s.body_mass_kg is not None and s.on <= on]
    for before, after in pairwise(weighed):
        young = athlete.age_on(before.on) < norms.constant("junior_until")
        most = norms.constant("body_mass_jump_junior" if young else "body_mass_jump")
        old, new = before.body_mass_kg or 0.0, after.body_mass_kg or 0.0
        if (after.on - before.on).days <= _YEAR_DAYS and abs(new / old - 1.0) > most:
            values: dict[str, float | str] = {
                "before_body_mass_kg": old,
                "body_mass_kg": new,
                "on": after.on.isoformat(),
                "line": after.line,
            }
            found.append(Assumption("body_mass_jump", values))
    return tuple(found)


def _typing_mistakes(posterior: Posterior, readings: Sequence[EvidenceReading]) -> list[Assumption]:
    """Made rows far above, and maximal rows far off, what everything else points to.

    Every surprising row is judged by the unsurprising ones of other lifts: one slipped digit
    drags its neighbours along, but they agree with the rest once it is left out.
    """
    rows = posterior.rows
    surprising = {
        number
        for number, reading in enumerate(readings)
        if reading.surprise is not None
        and reading.surprise <= _SURPRISING
        and reading.kind != "missed"
    }
    found = []
    for number, expected in sorted(_by_other_lifts(posterior, surprising).items()):
        row = rows[number]
        gap = row.terms[0].x - expected
        if abs(gap) > _TYPO_GAP:
            found.append(
                Assumption("typing_mistake", _mistake(row, expected, day_told(readings[number])))
            )
    return found


def _mistake(row: Row, expected: float, on: str) -> dict[str, float | str]:
    """A row that others contradict; expected in log kg, on as its day is told."""
    return {
        "lift": row.lift,
        "load_kg": row.load_kg,
        "on": on,
        "line": row.line,
        "percent_off": 100.0 * float(np.expm1(row.terms[0].x - expected)),
        "expected_kg": float(np.exp(expected)),
    }


def _by_other_lifts(posterior: Posterior, surprising: set[int]) -> dict[int, float]:
    """What the unsurprising rows of other lifts say of each surprising row's lift, log kg."""
    rows = posterior.rows
    expected: dict[int, float] = {}
    for lift in sorted({rows[number].lift for number in surprising}):
        mine = [number for number in sorted(surprising) if rows[number].lift == lift]
        index = posterior.prior.lift_ids.index("jerk" if lift == CLEAN_AND_JERK else lift)
        days = np.array([float(rows[number].on.toordinal()) for number in mine])
        features = posterior.prior.lift_features(np.full(len(mine), index), days)
        others = [r.lift != lift and n not in surprising for n, r in enumerate(rows)]
        mean, _ = Recall.of(posterior, features).given(np.array(others), _ROUGHLY).moments()
        expected |= dict(zip(mine, mean.tolist(), strict=True))
    return expected


def day_told(row: EvidenceReading) -> str:
    """The row's day as far as it was told: 2025-07-02, or 2025-07, or 2025."""
    return row.on.isoformat()[: {"day": 10, "month": 7, "year": 4}[row.told]]


def _single_misses(
    posterior: Posterior,
    limits: Limits,
    readings: Sequence[EvidenceReading],
    may_try_again: bool,
) -> list[Assumption]:
    """A verdict that hangs on one missed clean and jerk says so: it may be a fluke."""
    misses = [
        number
        for number, reading in enumerate(readings)
        if reading.lift == CLEAN_AND_JERK and reading.missed and reading.used
    ]
    if len(misses) != 1:
        return []
    limiter, chance = limits.ranked()[0]
    kept = np.ones(len(posterior.rows), dtype=bool)
    kept[misses[0]] = False
    recall = Recall.of(posterior, limiting_features(posterior))
    without = chances_of_draws(recall.given(kept).draws(), posterior)
    if abs(chance - without[limiter]) < _HANGS_ON_A_MISS:
        return []
    row = readings[misses[0]]
    values: dict[str, float | str] = {
        "load_kg": row.load_kg,
        "on": row.on.isoformat(),
        "chance": chance,
        "chance_without": without[limiter],
    }
    code = "single_clean_and_jerk_miss"
    return [Assumption(f"{code}_to_try" if may_try_again else code, values)]


def _platform(posterior: Posterior, state: State) -> Assumption | None:
    """How much more or less the lifter lifts on the platform, when that can be told."""
    if not any(row.at == "meet" for row in posterior.rows):
        return None
    shift = float(state.mean[state.platform])
    sd = float(np.sqrt(state.cov[state.platform, state.platform]))
    if abs(shift) < _PLATFORM_SURE or abs(shift) < 1.3 * sd:
        return None
    return Assumption("platform", {"percent": 100.0 * float(np.expm1(shift))})
