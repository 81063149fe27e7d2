"""How long one lifter takes, beside the floor of the linear algebra it cannot do without.

    python -m tests.bench.engine_time

Takes a demo lifter's latest 60 rows and prints medians in ms, one thread. The floor is one
Cholesky factorisation and one solve against as many right-hand sides as there are unknowns
(every round needs all posterior variances), at the size and as often as the fit needed.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from statistics import median

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

import numpy as np  # noqa: E402
from scipy.linalg import cho_factor, cho_solve  # noqa: E402

from profilegen.engine.assess import assess  # noqa: E402
from profilegen.engine.inference import fit  # noqa: E402
from profilegen.engine.limits import limits_of_draws  # noqa: E402
from profilegen.engine.ratios import ratio_readings  # noqa: E402
from profilegen.engine.reading import read_rows  # noqa: E402
from profilegen.engine.state import State  # noqa: E402
from profilegen.engine.track import tracks_of  # noqa: E402
from profilegen.history.load import load_squad, read_athlete  # noqa: E402
from profilegen.history.records import Athlete  # noqa: E402
from profilegen.norms.catalogue import load_norms, with_own_lifts  # noqa: E402
from profilegen.render import Renderer  # noqa: E402
from profilegen.report.compose import report_page  # noqa: E402
from profilegen.report.contract import profile_json  # noqa: E402
from tests.squads import DEMO, TODAY  # noqa: E402

ROWS = 60
LIFTER = "amara"
RUNS = 15


def milliseconds(work: Callable[[], object]) -> float:
    """Median over RUNS runs, after one to warm up."""
    work()
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return 1000 * median(times)


def with_latest_rows(athlete: Athlete, rows: int) -> Athlete:
    """The same lifter with only the latest `rows` sets and no hearsay."""
    kept, left = [], rows
    for session in reversed(athlete.sessions):
        sets = session.sets[-left:] if left else ()
        left -= len(sets)
        if sets:
            kept.append(replace(session, sets=sets))
    return replace(athlete, sessions=tuple(reversed(kept)), bests=())


def floor(size: int, rounds: int) -> Callable[[], None]:
    """The linear algebra alone: `rounds` factorisations and solves of a size x size system."""
    random = np.random.default_rng(20261012)
    root = random.normal(size=(size, size))
    system = root @ root.T / size + np.eye(size)
    right = np.eye(size)

    def run() -> None:
        for _ in range(rounds):
            cho_solve(cho_factor(system, check_finite=False), right, check_finite=False)

    return run


def main() -> None:
    """Print the table."""
    squad = load_squad(DEMO, load_norms().lifts, today=TODAY)
    club = squad.club
    norms = with_own_lifts(load_norms(), club.own_lifts)
    whole = next(athlete for athlete in squad.athletes if athlete.id == LIFTER)
    athlete = with_latest_rows(whole, ROWS)
    rows = sum(len(session.sets) for session in athlete.sessions)
    on = squad.latest_session_on or TODAY
    posterior = fit(athlete, norms, on)
    fitted = posterior.fitted
    size, cases = len(fitted.frame.active), len(fitted.cases)
    profile = assess(posterior, athlete, club)
    renderer = Renderer()

    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder, DEMO.joinpath(f"{LIFTER}.yaml").name)
        file.write_bytes(DEMO.joinpath(f"{LIFTER}.yaml").read_bytes())
        reading = milliseconds(lambda: read_athlete(file, norms.lifts, today=TODAY))
    written = sum(len(session.sets) for session in whole.sessions)

    least = milliseconds(floor(size, fitted.solves))
    fitting = milliseconds(lambda: fit(athlete, norms, on))
    assessing = milliseconds(lambda: assess(posterior, athlete, club))
    written_lifts = sorted({row.lift for row in posterior.rows})

    def answer() -> None:
        state = State.of(posterior)
        limits_of_draws(state.limiting, posterior)
        ratio_readings(state.sample, posterior)
        tracks_of(posterior, written_lifts)
        read_rows(posterior, athlete)

    answering = milliseconds(answer)
    composing = milliseconds(lambda: report_page(profile, athlete, club, norms))
    page = report_page(profile, athlete, club, norms)
    rendering = milliseconds(lambda: renderer.report(page))
    numbers = milliseconds(lambda: profile_json(profile))

    engine = fitting + assessing
    lines = (
        (f"read the file ({written} rows)", reading),
        (f"fit ({rows} rows, {cases} cases x {size}, {fitted.solves} solves)", fitting),
        ("lifts, ratios, qualities, limiter, tracks, evidence", answering),
        ("fit and these answers", fitting + answering),
        ("read off everything (rests on, pointers, tests, meets)", assessing),
        ("engine in all", engine),
        ("compose the coach's report", composing),
        ("render it", rendering),
        ("profile.json", numbers),
        ("everything", reading + engine + composing + rendering + numbers),
    )
    print(f"{'floor: Cholesky and solve, same sizes, as often':<56}{least:8.1f} ms")
    for what, took in lines:
        print(f"{what:<56}{took:8.1f} ms{took / least:8.1f} x the floor")
    print(f"Python {sys.version.split()[0]}, NumPy {np.__version__}, one thread")


if __name__ == "__main__":
    main()
