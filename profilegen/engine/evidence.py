"""What each row a coach wrote says about capacity: the likelihoods of the model.

A row becomes one or two `Term`s. A term is a function of the capacity of one lift on one
day (with that day's form), or of two for a clean and jerk, which is min(clean, jerk):

    floor    made at least this much               Phi((g - x) / s)
    about    about this much                       N(x; g, s^2)
    missed   not this much, flukes aside           beta + (1 - beta) Phi((x - g) / s)
    minimum  clean and jerk about this much        N(x; min(c, j), s^2)
    either   clean and jerk missed, part unknown   see sites.either_missed_moments

x is log kg after the row's own correction (repetitions, reserve, looks, bar speed).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import exp, log
from typing import Literal

from profilegen.engine.speed import one_load, own_line
from profilegen.history.records import Athlete, Best, Place, Session, SetRecord
from profilegen.norms.catalogue import Figure, Lift, Norms

TermKind = Literal["floor", "about", "missed", "minimum", "either"]
RowKind = Literal[
    "made",
    "max",
    "reps",
    "bound",
    "missed",
    "looked",
    "share",
    "speed",
    "told",
    "seen",
    "recorded",
    "before_meet",
]

CLEAN_AND_JERK = "clean_and_jerk"
PARTS = ("clean", "jerk")
_FLUKE_LIFT = {CLEAN_AND_JERK: "jerk"}


@dataclass(frozen=True, slots=True)
class Term:
    """One likelihood factor. `lifts` has two ids for "minimum" and "either"."""

    kind: TermKind
    lifts: tuple[str, ...]
    x: float
    sd: float
    fluke: float = 0.0


@dataclass(frozen=True, slots=True)
class Row:
    """One row as written and what it was taken to mean."""

    on: date
    at: Place | Literal["best"]
    lift: str
    load_kg: float
    kind: RowKind
    terms: tuple[Term, ...]
    share: float | None = None
    """load / capacity it was read as; None where the load itself is the statement."""
    log_sd: float | None = None
    """Sd of what the row says, in logs; None for floors and misses."""
    entry: SetRecord | None = None
    line: int = 0
    form: int = 0
    """Names the day's form: the day's ordinal, or a negative number of a best's own."""

    @property
    def says_how_much(self) -> Term | None:
        """What the row says of how much a lift is, if it does."""
        return next((term for term in self.terms if term.kind in ("about", "minimum")), None)


def rows_of(athlete: Athlete, norms: Norms, on: date) -> tuple[Row, ...]:
    """Every row written up to `on`, read; in the order of days, then of the file's lines.

    Rows later than `on` are left out, so that a profile of an earlier day rests on what had
    been lifted by then. Only a body mass may be of later, see `prior.body_mass_near`.
    """
    reader = _Reader(norms, _meet_days(athlete))
    rows = [row for session in athlete.sessions if session.on <= on for row in reader.sets(session)]
    bests = sorted((b for best in athlete.bests for b in _until(best, on)), key=_best_key)
    rows += [reader.best(best, -1 - number) for number, best in enumerate(bests)]
    return tuple(sorted(rows, key=_row_key))


def _until(best: Best, on: date) -> Iterator[Best]:
    """The best with the part of its period that is not after `on`; nothing if none is."""
    half = timedelta(days=best.vague_days)
    if best.around + half <= on:
        yield best
    elif best.around - half <= on:
        first = best.around - half
        half = (on - first) / 2
        yield replace(best, around=first + half, vague_days=half / timedelta(days=1))


def _best_key(best: Best) -> tuple[date, str, float, str]:
    return best.around, best.lift, best.load_kg, best.source


def _row_key(row: Row) -> tuple[date, str, float, str, str, str]:
    # by content, not by line, so that the order of entry changes nothing
    return row.on, row.lift, row.load_kg, row.kind, repr(row.terms), row.at


def _meet_days(athlete: Athlete) -> frozenset[date]:
    held = {session.on for session in athlete.sessions if session.at == "meet"}
    return frozenset(held | {meet.on for meet in athlete.meets})


class _Reader:
    """Reads rows with one set of norms; `meets` are the days the lifter competes."""

    def __init__(self, norms: Norms, meets: frozenset[date]) -> None:
        self._norms = norms
        self._meets = meets
        self._c = {name: figure.value for name, figure in norms.constants.items()}

    def sets(self, session: Session) -> Iterator[Row]:
        tapering = session.at != "meet" and self._meet_follows(session.on)
        lines = self._own_lines(session)
        for entry in session.sets:
            row = lines.get(entry) or self._read(entry, session, tapering)
            yield replace(
                row,
                on=session.on,
                at=session.at,
                entry=entry,
                line=entry.line,
                form=session.on.toordinal(),
            )

    def best(self, best: Best, form: int) -> Row:
        c = self._c
        drift = c["level_drift_sd"] * (best.vague_days / c["drift_length_days"]) ** 0.5
        sd = (c[f"{best.source}_sd"] ** 2 + drift**2) ** 0.5
        term = _about(best.lift, log(best.load_kg), sd)
        return Row(
            best.around,
            "best",
            best.lift,
            best.load_kg,
            best.source,
            (term,),
            1.0,
            sd,
            line=best.line,
            form=form,
        )

    def _meet_follows(self, on: date) -> bool:
        days = range(1, int(self._c["before_meet_days"]) + 1)
        return any(on + timedelta(days=d) in self._meets for d in days)

    def _read(self, entry: SetRecord, session: Session, tapering: bool) -> Row:
        """The row's meaning; the strongest statement the coach made wins."""
        if entry.missed:
            return self._missed(entry)
        if entry.effort_max or entry.in_reserve is not None:
            return self._counted(entry, session)
        if entry.looked:
            share, sd = self._c[f"looked_{entry.looked}"], self._c[f"looked_{entry.looked}_sd"]
            share *= self._rep_share(entry.reps)
            return self._as_share(entry, "looked", share, sd / share)
        if entry.share is not None:
            return self._as_share(
                entry, "share", entry.share, self._c["share_guess_sd"] / entry.share
            )
        line = self._speed_line(entry)
        speed = one_load(entry.speed_m_s, line) if line and entry.speed_m_s else None
        if speed is not None:
            return self._as_share(entry, "speed", *speed)
        if tapering and entry.reps == 1:
            share = self._c["before_meet_share"]
            sd = self._c["before_meet_share_sd"] / share
            return self._floor(entry, "before_meet", share, sd)
        if entry.reps == 1:
            return self._floor(entry, "made", 1.0, self._c["made_edge_sd"])
        reps = self._reps_that_tell(entry.lift, entry.reps)
        return self._floor(entry, "bound", self._rep_share(reps), self._rep_sd(reps))

    def _counted(self, entry: SetRecord, session: Session) -> Row:
        """Repetitions with a known reserve; `effort: max` is a reserve of none."""
        possible = entry.reps + (0.0 if entry.effort_max else (entry.in_reserve or 0.0))
        if possible <= 1:
            single = "meet_single_sd" if session.at == "meet" else "max_single_sd"
            return self._as_share(entry, "max", 1.0, self._c[single])
        told = self._reps_that_tell(entry.lift, possible)
        share, sd = self._rep_share(told), self._rep_sd(possible)
        if told < possible:
            # technique, not local fatigue, ends long sets of the quick lifts: only a floor
            return self._floor(entry, "bound", share, sd)
        return self._as_share(entry, "reps", share, sd)

    def _missed(self, entry: SetRecord) -> Row:
        x = log(entry.load_kg / self._rep_share(entry.reps))
        edge = self._c["made_edge_sd"]

        def miss(lift: str) -> Term:
            return Term("missed", (lift,), x, edge, self._fluke(lift))

        terms: tuple[Term, ...]
        if entry.lift != CLEAN_AND_JERK:
            terms = (miss(entry.lift),)
        elif entry.missed == "clean":
            terms = (miss("clean"),)
        elif entry.missed == "jerk":
            terms = (Term("floor", ("clean",), x, edge), miss("jerk"))
        else:
            terms = (Term("either", PARTS, x, edge, self._fluke(CLEAN_AND_JERK)),)
        return _row(entry, "missed", terms)

    def _floor(self, entry: SetRecord, kind: RowKind, share: float, sd: float) -> Row:
        x = log(entry.load_kg / share)
        lifts = PARTS if entry.lift == CLEAN_AND_JERK else (entry.lift,)
        terms = tuple(Term("floor", (lift,), x, sd) for lift in lifts)
        return _row(entry, kind, terms, share if share != 1.0 else None)

    def _as_share(self, entry: SetRecord, kind: RowKind, share: float, sd: float) -> Row:
        term = _about(entry.lift, log(entry.load_kg / share), sd)
        return replace(_row(entry, kind, (term,), share), log_sd=sd)

    def _fluke(self, lift: str) -> float:
        return self._norms.lifts[_FLUKE_LIFT.get(lift, lift)].fluke_rate.value

    def _reps_that_tell(self, lift: str, reps: float) -> float:
        quick = self._norm(lift).rep_kind == "quick"
        return min(reps, self._c["quick_reps_limit"]) if quick else reps

    def _norm(self, lift: str) -> Lift:
        return self._norms.lifts["jerk" if lift == CLEAN_AND_JERK else lift]

    def _rep_share(self, reps: float) -> float:
        """Share of the maximum for `reps` to failure, halves interpolated."""
        chart = self._norms.rep_chart
        low = min(int(reps), max(chart))
        high = min(low + 1, max(chart))
        part = reps - int(reps)
        return chart[low].value * (1.0 - part) + chart[high].value * part

    def _rep_sd(self, reps: float) -> float:
        return self._c["reps_sd_base"] + self._c["reps_sd_per_rep"] * (reps - 1.0)

    def _speed_line(self, entry: SetRecord) -> Mapping[str, Figure] | None:
        """The lift's load-speed line, when the entry is a made set with a bar speed."""
        if entry.speed_m_s is None or entry.missed or _says_more_than_speed(entry):
            return None
        return self._norms.speed.get(self._norm(entry.lift).bar_speed)

    def _own_lines(self, session: Session) -> dict[SetRecord, Row]:
        """The day's own load-speed lines, each on the heaviest of the sets that draw it."""
        by_lift: dict[str, list[SetRecord]] = {}
        for entry in session.sets:
            if self._speed_line(entry):
                by_lift.setdefault(entry.lift, []).append(entry)
        rows = {}
        for entries in by_lift.values():
            # by content, so that sums do not depend on the order of entry
            entries.sort(key=lambda e: (e.load_kg, e.speed_m_s or 0.0))
            line = self._speed_line(entries[0])
            found = own_line(entries, line) if line else None
            if found:
                x, sd = found
                *lighter, heaviest = entries
                share = heaviest.load_kg / exp(x)
                rows.update(
                    {e: self._floor(e, "made", 1.0, self._c["made_edge_sd"]) for e in lighter}
                )
                rows[heaviest] = self._as_share(heaviest, "speed", share, sd)
        return rows


def _says_more_than_speed(entry: SetRecord) -> bool:
    told = (entry.effort_max, entry.in_reserve is not None, entry.looked, entry.share is not None)
    return any(told)


def _about(lift: str, x: float, sd: float) -> Term:
    if lift == CLEAN_AND_JERK:
        return Term("minimum", PARTS, x, sd)
    return Term("about", (lift,), x, sd)


def _row(
    entry: SetRecord, kind: RowKind, terms: tuple[Term, ...], share: float | None = None
) -> Row:
    return Row(
        on=date.min,
        at="training",
        lift=entry.lift,
        load_kg=entry.load_kg,
        kind=kind,
        terms=terms,
        share=share,
    )
