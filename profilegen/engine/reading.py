"""What every row the coach wrote was taken to mean, and how much it surprised the model."""

from __future__ import annotations

import numpy as np
from scipy.special import ndtr

from profilegen.engine.arrays import Floats
from profilegen.engine.evidence import Row
from profilegen.engine.inference import pair_cavity
from profilegen.engine.posterior import Z90, Posterior
from profilegen.engine.profile import EvidenceReading
from profilegen.engine.sites import either_missed_moments, minimum_of_two, step_moments


def read_rows(posterior: Posterior) -> tuple[EvidenceReading, ...]:
    """One reading per row, in the order of days."""
    surprise = surprises(posterior)
    return tuple(
        _reading(row, bool(used), surprise.get(number))
        for number, (row, used) in enumerate(zip(posterior.rows, posterior.used, strict=True))
    )


def _reading(row: Row, used: bool, surprise: float | None) -> EvidenceReading:
    entry = row.entry
    says = row.log_sd is not None
    mid = row.terms[0].x
    half = Z90 * (row.log_sd or 0.0)
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
        says_kg=float(np.exp(mid)) if says else None,
        says_low_kg=float(np.exp(mid - half)) if says else None,
        says_high_kg=float(np.exp(mid + half)) if says else None,
        used=used,
        surprise=surprise,
        note=entry.note if entry else None,
        line=row.line,
        video=entry.video if entry else None,
    )


def surprises(posterior: Posterior) -> dict[int, float]:
    """Posterior predictive tail probability of each used row given all the others.

    For a row that says "about this much" the two-sided tail; for a floor or a miss the chance
    of the event itself. A row with two terms gets the smaller. The others are summed up by
    the cavity of the row's own site (Rasmussen & Williams 2006, eq. 3.56).
    """
    terms, sites, solved = posterior.terms, posterior.sites, posterior.solved
    var, mu = solved.var, solved.mu
    found: dict[int, float] = {}

    def note(rows: np.ndarray[tuple[int], np.dtype[np.int64]], chances: Floats) -> None:
        for row, chance in zip(rows.tolist(), chances.tolist(), strict=True):
            found[row] = min(found.get(row, 1.0), min(max(chance, 0.0), 1.0))

    about = terms.about
    mean, cavity_var = _without(var[about.point], mu[about.point], sites.about_t, sites.about_h)
    z = (about.x - mean) / np.sqrt(cavity_var + about.sd**2)
    note(about.row, 2.0 * ndtr(-np.abs(z)))

    step = terms.step
    mean, cavity_var = _without(var[step.point], mu[step.point], sites.step_t, sites.step_h)
    log_z, _, _ = step_moments(mean, cavity_var, step.x, step.sd, step.sign, step.fluke)
    note(step.row, np.exp(log_z))

    pair, n = terms.pair, terms.pair.n_minimum
    if len(pair.x):
        mean, cov, _, _, _ = pair_cavity(terms, solved, sites)
        low, low_var = minimum_of_two(
            mean[:n, 0], cov[:n, 0, 0], mean[:n, 1], cov[:n, 1, 1], cov[:n, 0, 1]
        )
        z = (pair.x[:n] - low) / np.sqrt(low_var + pair.sd[:n] ** 2)
        note(pair.row[:n], 2.0 * ndtr(-np.abs(z)))
        log_z, _, _ = either_missed_moments(
            mean[n:], cov[n:], pair.x[n:], pair.sd[n:], pair.fluke[n:]
        )
        note(pair.row[n:], np.exp(log_z))
    return found


def _without(var: Floats, mean: Floats, t: Floats, h: Floats) -> tuple[Floats, Floats]:
    """Mean and variance with a row's own site taken out."""
    precision = np.maximum(1.0 / var - t, 1e-9)
    return (mean / var - h) / precision, 1.0 / precision
