"""Lifters written by hand in a line or two, for tests that state what must hold."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from profilegen.engine.evidence import Row, rows_of
from profilegen.engine.inference import fit_rows
from profilegen.engine.posterior import Posterior
from profilegen.engine.prior import prior_for
from profilegen.history.records import Athlete, Best, Club, Place, Session, SetRecord
from profilegen.norms.catalogue import Figure, Norms, load_norms

TODAY = date(2026, 11, 21)
NORMS = load_norms()
CLUB = Club(name="Testers")


def ago(days: int) -> date:
    return TODAY - timedelta(days=days)


def made(lift: str, kg: float, reps: int = 1, **said: Any) -> SetRecord:
    return SetRecord(lift, kg, reps, **said)


def maximal(lift: str, kg: float, reps: int = 1) -> SetRecord:
    return SetRecord(lift, kg, reps, effort_max=True)


def missed(lift: str, kg: float, part: str = "lift") -> SetRecord:
    return SetRecord(lift, kg, missed=part)  # type: ignore[arg-type]


def session(*sets: SetRecord, days_ago: int = 10, at: Place = "testing") -> Session:
    return Session(on=ago(days_ago), at=at, body_mass_kg=80.0, sets=sets)


def lifter(*sessions: Session, bests: tuple[Best, ...] = (), **known: Any) -> Athlete:
    """A man of 80 kg born in 1998 unless said otherwise; sessions in any order."""
    about = {"id": "ann", "name": "Ann Example", "sex": "M", "born": date(1998, 5, 1)} | known
    in_order = tuple(sorted(sessions, key=lambda s: s.on))
    return Athlete(**about, sessions=in_order, bests=bests)


def rows(*sets: SetRecord, at: Place = "testing", **known: Any) -> tuple[Row, ...]:
    """The rows of one day's sets, in the engine's order."""
    return rows_of(lifter(session(*sets, at=at), **known), NORMS, TODAY)


def row(entry: SetRecord, at: Place = "testing", **known: Any) -> Row:
    """The one row of one set."""
    (only,) = rows(entry, at=at, **known)
    return only


def with_constants(norms: Norms, **values: float) -> Norms:
    """The norms with some constants set to other values, for tests."""
    changed = {name: Figure(value, "set by a test") for name, value in values.items()}
    return replace(norms, constants={**norms.constants, **changed})


def as_written(athlete: Athlete) -> Posterior:
    """Every row as what it says itself: nothing read into the choice of a load, none left out."""
    return fit_rows(prior_for(athlete, NORMS, TODAY), rows_of(athlete, NORMS, TODAY), NORMS, TODAY)


def usual_lifter(*more: Session, clean_kg: float = 100.0, days_ago: int = 10) -> Athlete:
    """Nine maximal lifts at the usual share of the clean, and what else is given."""
    usual = (
        "snatch", "power_snatch", "clean", "power_clean", "jerk", "push_press", "front_squat",
        "back_squat", "snatch_deadlift",
    )  # fmt: skip
    sets = [maximal(lift, clean_kg * NORMS.lifts[lift].share.value) for lift in usual]
    return lifter(session(*sets, days_ago=days_ago), *more)
