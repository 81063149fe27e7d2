"""Each maximal result of the demo diaries, predicted from the rest; beside fixed-ratio tables.

    python -m tests.bench.leave_one_out [results of each lifter]

Left out is the lift on that day (warm-ups and misses of it too), or, stricter, every row the
lifter has of that lift. The rivals know the same other results and the same usual shares as the
norms; they are what coaches do with a ratio table:

    main lift    the nearest day's snatch or clean and jerk x usual ratio
    same day     mean of what all other maximal results of the day imply; else the nearest day's
    every lift   mean of what each other lift's nearest maximal result implies
    own last     the nearest other maximal result of the lift itself; else as "every lift"
"""

from __future__ import annotations

import math
import sys
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import exp, log
from pathlib import Path

import numpy as np

from profilegen.engine.evidence import CLEAN_AND_JERK, PARTS, Row, rows_of
from profilegen.engine.inference import fit_rows
from profilegen.engine.posterior import Posterior
from profilegen.engine.prior import Prior, prior_for
from profilegen.engine.sites import minimum_of_two
from profilegen.engine.terms import features_at
from profilegen.history.load import load_squad
from profilegen.norms.catalogue import Norms, load_norms, with_own_lifts
from tests.squads import DEMO, TODAY

CLEAN_TO_BOTH = 1.02
"""Usual clean : clean and jerk, as the norms have it (jerk)."""


@dataclass(frozen=True)
class Guess:
    """One maximal result and what everyone said it would be, kg."""

    who: str
    row: Row
    engine: float
    tables: dict[str, float]


def share(lift: str, norms: Norms) -> float:
    return 1.0 / CLEAN_TO_BOTH if lift == CLEAN_AND_JERK else norms.lifts[lift].share.value


def nearest(row: Row, others: Sequence[Row]) -> list[Row]:
    """Maximal results of the day nearest to the row's."""
    least = min(abs((o.on - row.on).days) for o in others)
    return [o for o in others if abs((o.on - row.on).days) == least]


def implied(row: Row, others: Sequence[Row], norms: Norms) -> float:
    """Mean of what the others imply through the usual shares, kg."""
    logs = [log(o.load_kg * share(row.lift, norms) / share(o.lift, norms)) for o in others]
    return exp(float(np.mean(logs)))


def by_main_lift(row: Row, known: Sequence[Row], norms: Norms) -> float:
    main = [o for o in known if o.lift in ("snatch", CLEAN_AND_JERK) and o.lift != row.lift]
    return implied(row, nearest(row, main or known), norms)


def by_same_day(row: Row, known: Sequence[Row], norms: Norms) -> float:
    others = [o for o in known if o.lift != row.lift]
    return implied(row, nearest(row, others or known), norms)


def by_every_lift(row: Row, known: Sequence[Row], norms: Norms) -> float:
    by_lift: dict[str, list[Row]] = defaultdict(list)
    for o in known:
        if o.lift != row.lift:
            by_lift[o.lift].append(o)
    said = [o for rows in by_lift.values() for o in nearest(row, rows)[:1]]
    return implied(row, said or known, norms)


def by_own_last(row: Row, known: Sequence[Row], norms: Norms) -> float:
    own = [o for o in known if o.lift == row.lift]
    return nearest(row, own)[0].load_kg if own else by_every_lift(row, known, norms)


Table = Callable[[Row, Sequence[Row], Norms], float]
TABLES: dict[str, Table] = {
    "main lift": by_main_lift,
    "same day": by_same_day,
    "every lift": by_every_lift,
    "own last": by_own_last,
}
RATIO_TABLES = ("main lift", "same day", "every lift")


def by_engine(row: Row, kept: Sequence[Row], prior: Prior, norms: Norms) -> float:
    """Posterior median of the lift on the row's day, with that day's form and place."""
    posterior: Posterior = fit_rows(prior, kept, norms, TODAY)
    lifts = PARTS if row.lift == CLEAN_AND_JERK else (row.lift,)
    mean, cov = posterior.gaussian(features_at(prior, [(row, lift) for lift in lifts]))
    if len(lifts) == 1:
        return exp(float(mean[0]))
    both, _ = minimum_of_two(mean[0], cov[0, 0], mean[1], cov[1, 1], cov[0, 1])
    return exp(float(both))


def guesses(
    *, whole_lift: bool, most_each: int, longest_diary: int = 1_000_000, folder: Path = DEMO
) -> list[Guess]:
    """Predict maximal results of the demo squad, at most so many of each lifter, evenly spread.

    Diaries of more rows than `longest_diary` are left to slower runs.
    """
    squad = load_squad(folder, load_norms().lifts, today=TODAY)
    norms = with_own_lifts(load_norms(), squad.club.own_lifts)
    found = []
    for athlete in squad.athletes:
        rows = rows_of(athlete, norms, TODAY)
        prior = prior_for(athlete, norms, TODAY)
        maximal = [row for row in rows if row.kind == "max"]
        if len(rows) > longest_diary:
            continue
        for row in maximal[:: max(1, math.ceil(len(maximal) / most_each))]:
            kept = [r for r in rows if r.lift != row.lift or (r.on != row.on and not whole_lift)]
            known = [r for r in kept if r.kind == "max"]
            if known:
                tables = {name: table(row, known, norms) for name, table in TABLES.items()}
                found.append(Guess(athlete.id, row, by_engine(row, kept, prior, norms), tables))
    return found


def errors(found: Sequence[Guess]) -> dict[str, float]:
    """Mean absolute error of everyone, % of the result."""
    result = {
        "engine": np.mean([abs(g.engine / g.row.load_kg - 1.0) for g in found]),
        **{
            name: np.mean([abs(g.tables[name] / g.row.load_kg - 1.0) for g in found])
            for name in TABLES
        },
    }
    return {name: 100.0 * float(error) for name, error in result.items()}


def main() -> None:
    """Print everyone's errors side by side; an argument says how many results of each lifter."""
    most_each = int(sys.argv[1]) if len(sys.argv) > 1 else 25
    for whole_lift, title in ((False, "the lift on that day left out"), (True, "the whole lift")):
        found = guesses(whole_lift=whole_lift, most_each=most_each)
        print(f"{len(found)} maximal results, {title}: mean absolute error, %")
        all_errors = errors(found)
        best = min(all_errors[name] for name in RATIO_TABLES)
        for name, error in all_errors.items():
            print(f"    {name:12} {error:5.2f}   {error / best - 1.0:+.0%} against the best table")
        for who in sorted({g.who for g in found}):
            own = errors([g for g in found if g.who == who])
            print(f"        {who:8} " + "  ".join(f"{n} {e:.2f}" for n, e in own.items()))


if __name__ == "__main__":
    main()
