"""How long a whole site takes, where the time goes, and how much memory; beside a floor.

    python -m tests.bench.site [--lifters 1000] [--stages 50] [--growth 100,300]
                               [--notebook 3] [--generators] [--exact 3]

Prints, for invented lifters of 100 rows each:

- a cold build on one and on two processes, ms per lifter, and the ratio to the floor: the
  same files parsed as YAML, as many Cholesky factorisations and solves of the same sizes as
  the engine's rounds needed, a plain Jinja page of the same size, and the same bytes written;
- the stages of one lifter's way, as processor time;
- a build with nothing changed, after one edit by the command's own code, and after one edit
  in a preview's folder;
- peak memory and cost per lifter for several squad sizes;
- on request, a notebook executed per lifter (nbclient and ipykernel must be installed),
  general-purpose generators (generators.py) and exact sampling of some lifters (exact.py).
"""

from __future__ import annotations

import argparse
import gc
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

import numpy as np  # noqa: E402
import yaml  # noqa: E402
from jinja2 import Environment  # noqa: E402
from scipy.linalg import cho_factor, cho_solve  # noqa: E402

from profilegen.build.inputs import pack, unpack  # noqa: E402
from profilegen.build.jobs import RARELY  # noqa: E402
from profilegen.build.lifters import READINGS  # noqa: E402
from profilegen.build.manifest import read_manifest  # noqa: E402
from profilegen.build.site import build_site  # noqa: E402
from profilegen.engine.assess import assess  # noqa: E402
from profilegen.engine.inference import fit  # noqa: E402
from profilegen.history.club import read_club  # noqa: E402
from profilegen.history.load import read_athlete  # noqa: E402
from profilegen.norms.catalogue import load_norms  # noqa: E402
from profilegen.render import Renderer, plotted  # noqa: E402
from profilegen.report.chapters import report_parts  # noqa: E402
from profilegen.report.compose import report_page  # noqa: E402
from profilegen.report.contract import profile_json  # noqa: E402
from profilegen.report.summary import summarise  # noqa: E402
from tests.bench.large_squad import LAST_DAY, write_squad  # noqa: E402
from tests.squads import TODAY  # noqa: E402

CELLS = 8
TABLE = """<!doctype html><title>{{ name }}</title><table>
{% for row in rows %}<tr>{% for cell in row %}<td>{{ cell }}</td>{% endfor %}</tr>
{% endfor %}</table>"""
"""The floor's page: a table of as many cells as make a page of the same size."""


def main() -> None:
    """Print the report."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--lifters", type=int, default=1000)
    parser.add_argument("--stages", type=int, default=50)
    parser.add_argument("--growth", default="100,300")
    parser.add_argument("--notebook", type=int, default=0)
    parser.add_argument("--generators", action="store_true")
    parser.add_argument("--exact", type=int, default=0)
    parser.add_argument("--one-size", type=int, help=argparse.SUPPRESS)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        box = Path(folder)
        if given.one_size:
            _print_one_size(box, given.one_size)
            return
        print(f"{given.lifters} lifters of 100 rows; {os.cpu_count()} processors; "
              f"load {os.getloadavg()[0]:.1f} at the start")  # fmt: skip
        squad = box / "athletes"
        write_squad(squad, given.lifters)
        floor = floor_ms(squad, min(given.stages, given.lifters), box)
        cold = cold_builds(squad, box, given.lifters)
        print(
            f"{'ms a lifter':<22}{'clock':>8}{'processor':>11}{'x floor':>9}  (of processor time)"
        )
        for jobs, (clock, processor) in cold.items():
            name = f"cold, {jobs} process{'es' * (jobs > 1)}"
            if jobs == 1:
                print(f"{name:<22}{clock:8.1f}{processor:11.1f}{processor / floor:9.1f}")
            else:  # the system counts no processor time of a worker's for its build
                print(f"{name:<22}{clock:8.1f}")
        print(f"{'floor':<22}{'':>8}{floor:11.1f}{1:9.1f}")
        stages(squad, min(given.stages, given.lifters))
        edits(squad, box)
        growth([int(size) for size in given.growth.split(",")])
        if given.notebook:
            notebooks(squad, given.notebook, box)
    if given.generators:
        beside("generators", "--mkdocs", "--pelican", "--eleventy")
    if given.exact:
        beside("exact", str(given.exact))


def beside(name: str, *arguments: str) -> None:
    """Another measurement, in the same run; what it says of its own bounds is on its lines."""
    sys.stdout.flush()
    subprocess.run([sys.executable, "-m", f"tests.bench.{name}", *arguments], check=False)


def timed(work: Callable[[], object]) -> float:
    """Seconds by the clock."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def processor_s(work: Callable[[], object]) -> float:
    """Seconds of processor time of this process: a busy machine matters less."""
    start = time.process_time()
    work()
    return time.process_time() - start


def cold_builds(squad: Path, box: Path, lifters: int) -> dict[int, tuple[float, float]]:
    """ms per lifter by the clock and of all processors, by number of processes: the command in
    a new process, start and all."""
    found = {}
    for jobs in (1, 2):
        command = [sys.executable, "-m", "profilegen", "build", str(squad), "--jobs", str(jobs)]
        command += ["--out", str(box / f"site-{jobs}"), "--on", LAST_DAY.isoformat()]
        run = lambda command=command: subprocess.run(command, check=True, capture_output=True)  # noqa: E731
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        clock = timed(run)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        processor = after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime
        found[jobs] = 1000 * clock / lifters, 1000 * processor / lifters
    return found


def floor_ms(squad: Path, lifters: int, box: Path) -> float:
    """What no program that does this job can do without, ms per lifter, one process."""
    norms, on = load_norms(), LAST_DAY
    club = read_club(squad, norms.lifts, today=TODAY)
    renderer, template = Renderer(), Environment(autoescape=True).from_string(TABLE)
    files = sorted(squad.glob("lifter-*.yaml"))[:lifters]
    total = 0.0
    for file in files:
        athlete = read_athlete(file, norms.lifts, today=TODAY)
        posterior = fit(athlete, norms, on)
        profile = assess(posterior, athlete, club)
        sizes = []
        for reading in READINGS:
            page = report_page(profile, athlete, club, norms, reading=reading)
            for path, part in report_parts(page, athlete.id, reading).items():
                sizes += [len(content) for _, content in renderer.files(part, path)]
        total += processor_s(lambda: yaml.load(file.read_bytes(), Loader=yaml.CSafeLoader))  # noqa: B023
        size = len(posterior.fitted.frame.active)
        system, right = np.eye(size) + 0.5, np.eye(size)
        solves = range(posterior.fitted.solves)
        total += processor_s(lambda: [cho_solve(cho_factor(system), right) for _ in solves])  # noqa: B023
        cells = [[f"{number:9.1f}"] * CELLS for number in range(sum(sizes) // (CELLS * 18))]
        total += processor_s(lambda: template.render(name=athlete.name, rows=cells))  # noqa: B023
        blank = [b"x" * size for size in sizes]
        total += processor_s(lambda: _write_all(box / "floor" / athlete.id, blank))  # noqa: B023
    return 1000 * total / len(files)


def _write_all(folder: Path, contents: list[bytes]) -> None:
    folder.mkdir(parents=True)
    for number, content in enumerate(contents):
        (folder / str(number)).write_bytes(content)


def stages(squad: Path, lifters: int) -> None:
    """Where one lifter's time goes: medians of processor time, so a busy machine matters less."""
    norms, on = load_norms(), LAST_DAY
    club, renderer = read_club(squad, norms.lifts, today=TODAY), Renderer()
    usually = gc.get_threshold()
    gc.set_threshold(*RARELY)  # as in a build
    took: dict[str, list[float]] = {}

    def note(name: str, work: Callable[[], object]) -> object:
        start = time.process_time()
        answer = work()
        took.setdefault(name, []).append(time.process_time() - start)
        return answer

    for file in sorted(squad.glob("lifter-*.yaml"))[:lifters]:
        athlete = note("read the file", lambda: read_athlete(file, norms.lifts, today=TODAY))  # noqa: B023
        posterior = note("fit", lambda: fit(athlete, norms, on))  # type: ignore[arg-type]  # noqa: B023
        profile = note("read off", lambda: assess(posterior, athlete, club))  # type: ignore[arg-type]  # noqa: B023
        note("pack and unpack", lambda: unpack(pack(athlete)))  # type: ignore[arg-type]  # noqa: B023
        for reading in READINGS:
            page = note(
                f"compose, {reading}'s",
                lambda: report_page(profile, athlete, club, norms, reading=reading),  # type: ignore[arg-type]  # noqa: B023
            )
            parts = report_parts(page, athlete.id, reading)  # type: ignore[arg-type, attr-defined]
            # the renderer remembers what was drawn last, so templates come without drawing
            note(f"draw, {reading}'s", lambda: [plotted(part) for part in parts.values()])  # noqa: B023
            note(
                f"templates, {reading}'s",
                lambda: [renderer.files(part, path) for path, part in parts.items()],  # noqa: B023
            )
        note("profile.json", lambda: profile_json(profile))  # type: ignore[arg-type]  # noqa: B023
        note("summary", lambda: summarise(profile, athlete, club).to_json())  # type: ignore[arg-type]  # noqa: B023
    gc.set_threshold(*usually)
    for name, values in took.items():
        print(f"  {name:<28}{1000 * median(values):7.1f} ms")
    print(f"  {'everything':<28}{1000 * sum(map(median, took.values())):7.1f} ms")


def edits(squad: Path, box: Path) -> None:
    """Builds after the first, in a process that has been there before, as a preview's has."""
    file = sorted(squad.glob("lifter-*.yaml"))[0]

    def build(site: str, **options: bool) -> None:
        build_site(squad, box / site, today=TODAY, on=LAST_DAY, jobs=1, **options)

    def edited(number: int) -> None:
        text = file.read_text("utf-8").partition("# edit")[0]
        file.write_text(f"{text}# edit {number}\n", encoding="utf-8")

    for site, name, options in (
        ("site-1", "the command's way", {}),
        ("site-2", "a preview's way", {"throwaway": True}),
    ):
        nothing, one, used = [], [], []
        build(site, **options)
        for number in range(5):
            nothing.append(timed(lambda: build(site, **options)))  # noqa: B023
            edited(number)
            start = time.process_time()
            one.append(timed(lambda: build(site, **options)))  # noqa: B023
            used.append(time.process_time() - start)
        print(
            f"{name}: nothing changed {1000 * median(nothing):.0f} ms, "
            f"one edit {1000 * median(one):.0f} ms ({1000 * median(used):.0f} of processor time)"
        )
    command = [sys.executable, "-m", "profilegen", "build", str(squad), "--out"]
    command += [str(box / "site-1"), "--on", LAST_DAY.isoformat()]
    edited(99)
    took = timed(lambda: subprocess.run(command, check=True, capture_output=True))
    print(f"the command itself after one edit, start and all: {1000 * took:.0f} ms")
    assert read_manifest(box / "site-1") is not None


def growth(sizes: list[int]) -> None:
    """Peak memory and cost per lifter by squad size, each in a process of its own."""
    for size in sizes:
        command = [sys.executable, "-m", "tests.bench.site", "--one-size", str(size)]
        print(subprocess.run(command, check=True, capture_output=True, text=True).stdout, end="")


def _print_one_size(box: Path, lifters: int) -> None:
    write_squad(box / "athletes", lifters)
    clock, processor = time.perf_counter(), time.process_time()
    build_site(box / "athletes", box / "site", today=TODAY, on=LAST_DAY, jobs=1)
    clock, processor = time.perf_counter() - clock, time.process_time() - processor
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{lifters:>6} lifters: {1000 * processor / lifters:.1f} ms of processor time a lifter, "
        f"{1000 * clock / lifters:.1f} by the clock, peak {peak:.0f} MB"
    )


def notebooks(squad: Path, lifters: int, box: Path) -> None:
    """The same report by a notebook executed per lifter: start a kernel, import, run, export."""
    import nbclient
    import nbformat

    took = []
    for file in sorted(squad.glob("lifter-*.yaml"))[:lifters]:
        one = box / "one" / file.stem
        one.mkdir(parents=True)
        (one / file.name).write_bytes(file.read_bytes())
        (one / "club.yaml").write_bytes((squad / "club.yaml").read_bytes())
        code = (
            "from pathlib import Path\nfrom datetime import date\n"
            "from profilegen.build.site import build_site\n"
            f"build_site(Path({str(one)!r}), Path({str(one / 'site')!r}), jobs=1,\n"
            f"           today=date.fromisoformat({TODAY.isoformat()!r}))"
        )
        notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(code)])
        took.append(timed(nbclient.NotebookClient(notebook, timeout=120).execute))
    print(f"a notebook per lifter: {1000 * median(took):.0f} ms a lifter ({lifters} run)")


if __name__ == "__main__":
    main()
