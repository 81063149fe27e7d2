"""What every row the coach wrote was taken to mean, and how much it surprised the model."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import exp

import numpy as np
from scipy.special import ndtr

from profilegen.engine.arrays import Floats, inverse
from profilegen.engine.evidence import CLEAN_AND_JERK, Row
from profilegen.engine.posterior import Z90, Posterior
from profilegen.engine.profile import EvidenceReading
from profilegen.engine.sites import either_missed_moments, minimum_of_two
from profilegen.engine.speed import own_line
from profilegen.history.records import Athlete
from profilegen.norms.catalogue import Figure, Norms


def read_rows(posterior: Posterior, athlete: Athlete) -> tuple[EvidenceReading, ...]:
    """One reading per row, in the order of days."""
    surprise = surprises(posterior)
    vague, lines = (
        vague_days(posterior.rows, athlete),
        line_drawers(posterior.rows, posterior.norms),
    )
    return tuple(
        _reading(row, bool(used), surprise.get(number), vague.get(number, 0.0), number in lines)
        for number, (row, used) in enumerate(zip(posterior.rows, posterior.used, strict=True))
    )


def vague_days(rows: Sequence[Row], athlete: Athlete) -> dict[int, float]:
    """By row of a best told with no day: half the period that was told, in days.

    A row has the middle of what of the period had passed, so it is found by its words.
    """
    told: dict[tuple[object, ...], float] = {
        (best.line, best.lift, best.load_kg, best.source): best.vague_days
        for best in athlete.bests
        if best.vague_days
    }
    found = {}
    for number, row in enumerate(rows):
        half = told.get((row.line, row.lift, row.load_kg, row.kind)) if row.at == "best" else None
        if half is not None:
            found[number] = half
    return found


def line_drawers(rows: Sequence[Row], norms: Norms) -> frozenset[int]:
    """Lighter sets with a bar speed that drew the line on which the day's heaviest is read."""
    by_lift: dict[tuple[object, ...], list[int]] = {}
    for number, row in enumerate(rows):
        if row.entry is not None and row.entry.speed_m_s is not None:
            by_lift.setdefault((row.on, row.at, row.lift), []).append(number)
    found: set[int] = set()
    for (_on, _at, lift), numbers in by_lift.items():
        line = speed_line(norms, str(lift))
        drawn = [number for number in numbers if rows[number].kind in ("speed", "made")]
        entries = [entry for number in drawn if (entry := rows[number].entry) is not None]
        lighter = {number for number in drawn if rows[number].kind == "made"}
        if line and len(lighter) < len(drawn) and own_line(entries, line):
            found |= lighter
    return frozenset(found)


def speed_line(norms: Norms, lift: str) -> Mapping[str, Figure] | None:
    """The lift's relation of load and speed, where one is published."""
    known = norms.lifts.get("jerk" if lift == CLEAN_AND_JERK else lift)
    return None if known is None else norms.speed.get(known.bar_speed)


def _reading(
    row: Row, used: bool, surprise: float | None, vague: float, drew_line: bool
) -> EvidenceReading:
    entry = row.entry
    told = row.says_how_much
    mid, half = (told.x, Z90 * told.sd) if told else (0.0, 0.0)
    return EvidenceReading(
        on=row.on,
        at=row.at,
        lift=row.lift,
        load_kg=row.load_kg,
        kind=row.kind,
        reps=entry.reps if entry else 1,
        in_reserve=entry.in_reserve if entry else None,
        missed=entry.missed if entry else None,
        speed_m_s=entry.speed_m_s if entry else None,
        share=row.share,
        says_kg=exp(mid) if told else None,
        says_low_kg=exp(mid - half) if told else None,
        says_high_kg=exp(mid + half) if told else None,
        used=used,
        surprise=surprise,
        note=entry.note if entry else None,
        line=row.line,
        video=entry.video if entry else None,
        vague_days=vague,
        drew_line=drew_line,
    )


def surprises(posterior: Posterior) -> dict[int, float]:
    """Posterior predictive tail probability of each used row given all the others.

    For a row that says "about this much" the two-sided tail; for a floor or a miss the chance
    of the event itself, or of all that the lift's rows say of that day. A row with two terms
    gets the smaller. The others are summed up by the cavity of the row's own site, case by
    case (Rasmussen & Williams 2006, eq. 3.56).
    """
    fitted = posterior.fitted
    terms, weight = fitted.frame.terms, fitted.parts.weight
    found: dict[int, float] = {}

    def note(row: int, chance: float) -> None:
        found[row] = min(found.get(row, 1.0), min(max(chance, 0.0), 1.0))

    about = terms.about
    if len(about.x):
        mean, var = posterior.marginal(terms.features.take(about.point))
        mean, var = _without(var, mean, about.sd**-2.0, about.x * about.sd**-2.0)
        z = (about.x - mean) / np.sqrt(var + about.sd**2)
        for row, chance in zip(about.row.tolist(), 2.0 * ndtr(-np.abs(z)), strict=True):
            note(row, float(chance))

    # given all others a case weighs what it weighs with the row, over the row's chance in it
    step = terms.step
    chances = 1.0 / (weight @ np.exp(np.minimum(-fitted.step_log_z, 600.0)))
    for site, chance in enumerate(chances.tolist()):
        for row in step.row[site, step.there[site]].tolist():
            note(row, chance)

    pair, n = terms.pair, terms.pair.n_minimum
    mean, cov = fitted.pair_mean, fitted.pair_cov
    for i in range(n):
        # the pair without the cut is there; what the row said of the smaller goes as well
        own = fitted.sites.about_t[:, i]
        precision = inverse(cov[:, i])
        h = np.einsum("sij,sj->si", precision, mean[:, i]) - own * pair.x[i]
        rest = inverse(precision - own[:, :, None] * np.eye(2))
        centre = np.einsum("sij,sj->si", rest, h)
        low, low_var = minimum_of_two(
            centre[:, 0], rest[:, 0, 0], centre[:, 1], rest[:, 1, 1], rest[:, 0, 1]
        )
        z = (pair.x[i] - low) / np.sqrt(np.maximum(low_var, 0.0) + pair.sd[i] ** 2)
        note(int(pair.row[i]), float(weight @ (2.0 * ndtr(-np.abs(z)))))
    for i in range(n, len(pair.x)):
        every = np.ones(len(weight))
        log_z, _, _ = either_missed_moments(
            mean[:, i], cov[:, i], pair.x[i] * every, pair.sd[i] * every, pair.fluke[i] * every
        )
        note(int(pair.row[i]), float(1.0 / (weight @ np.exp(np.minimum(-log_z, 600.0)))))
    return found


def _without(var: Floats, mean: Floats, t: Floats, h: Floats) -> tuple[Floats, Floats]:
    """Mean and variance with a row's own site taken out."""
    precision = np.maximum(1.0 / var - t, 1e-9)
    return (mean / var - h) / precision, 1.0 / precision
