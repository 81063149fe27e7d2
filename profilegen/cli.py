"""The command line: arguments and what is said when a command is done.

The commands that bring results in are in `cli_intake.py`; messages, progress and exit codes
in `terminal.py`. Nothing else in the package prints.

The stages are imported when a command runs, so that `--help` answers at once.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from typing import Annotated

import typer

import profilegen
from profilegen.cli_intake import intake, new, schema, sheet
from profilegen.terminal import (
    count,
    printable,
    progress_bar,
    squad_folder,
    user_errors,
)

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Turns lifters' histories into a static site of strength-profile reports.",
)

_SQUAD = "Folder with one YAML file per lifter and club.yaml. Left out: ./athletes"
AthletesDir = Annotated[
    Path | None, typer.Argument(metavar="[ATHLETES_DIR]", help=f"{_SQUAD}.", show_default=False)
]
AthletesOrDemo = Annotated[
    Path | None,
    typer.Argument(
        metavar="[ATHLETES_DIR]",
        help=f"{_SQUAD}, or where there is none the demo squad, if profilegen is run from its "
        "source code.",
        show_default=False,
    ),
]

OnDay = Annotated[
    datetime | None,
    typer.Option(
        "--on",
        metavar="DATE",
        formats=["%Y-%m-%d"],
        help="Day the profiles are for, as 2026-10-12. Left out: the latest session.",
        show_default=False,
    ),
]
Jobs = Annotated[
    int | None,
    typer.Option(
        "--jobs",
        metavar="N",
        min=1,
        help="Processes to share the work. Left out: one per processor.",
        show_default=False,
    ),
]
SingleFile = Annotated[
    bool,
    typer.Option(
        "--single-file",
        help="Write each report once more, as one file that needs no other, to send by mail.",
    ),
]
Parquet = Annotated[
    bool,
    typer.Option(
        "--parquet",
        help="Write the squad's numbers as squad.parquet, too, for analysis. Needs "
        "`pip install 'profilegen[table]'`.",
    ),
]
Cluster = Annotated[
    str | None,
    typer.Option(
        "--cluster",
        metavar="ADDRESS",
        help="Share the work among the machines of a Dask cluster of your own, as "
        "tcp://host:8786, or `local`. Needs `pip install 'profilegen[cluster]'`.",
        show_default=False,
    ),
]


def main() -> None:
    """Entry point of the `profilegen` command."""
    # One profile is too small to gain from threads inside the linear algebra; processes
    # share the work instead. Must be set before NumPy is imported.
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")
    for stream in (sys.stdout, sys.stderr):
        # A name outside the terminal's character set must not stop a finished build.
        stream.reconfigure(errors="backslashreplace")  # type: ignore[union-attr]
    app()


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"profilegen {profilegen.__version__}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool,
        typer.Option("--version", help="Show the version and leave.", callback=_version),
    ] = False,
) -> None:
    pass


def _today(on: datetime | None) -> date:
    """What counts as the future: later than the clock, and later than the day asked for."""
    return max(date.today(), on.date()) if on else date.today()


@app.command()
def build(
    athletes_dir: AthletesOrDemo = None,
    out: Annotated[
        Path, typer.Option("--out", metavar="SITE_DIR", help="Folder the site is written to.")
    ] = Path("site"),
    on: OnDay = None,
    jobs: Jobs = None,
    single_file: SingleFile = False,
    cluster: Cluster = None,
    parquet: Parquet = False,
) -> None:
    """Build the site: squad page, a report per lifter, methods page."""
    started = time.perf_counter()
    with user_errors(), progress_bar() as progress, _executor(cluster, jobs) as (executor, width):
        from profilegen.build.site import build_site

        result = build_site(
            squad_folder(athletes_dir, or_demo=True),
            out,
            on=on.date() if on else None,
            today=_today(on),
            jobs=width,
            executor=executor,
            parquet=parquet,
            progress=progress,
            one_file=single_file,
        )
    seconds = time.perf_counter() - started
    profiles = count(result.lifters, "profile")
    unchanged = f", {result.unchanged} unchanged" if result.unchanged else ""
    typer.echo(
        printable(
            f"{profiles} in {out} ({seconds:.1f} s{unchanged}). "
            f"Open {out / result.open_first} in a browser."
        )
    )


@contextmanager
def _executor(
    cluster: str | None, jobs: int | None
) -> Iterator[tuple[Executor | None, int | None]]:
    """The cluster asked for and how much it does at once; without one what --jobs says."""
    if cluster is None:
        yield None, jobs
        return
    from profilegen.build.cluster import cluster_executor

    with cluster_executor(cluster, jobs) as executor:
        yield executor, executor.workers


@app.command()
def check(athletes_dir: AthletesOrDemo = None) -> None:
    """Read every file and report every problem; write nothing."""
    with user_errors():
        from profilegen.build.inputs import read_inputs
        from profilegen.build.jobs import Crew

        with Crew(None, None) as crew:
            folder = squad_folder(athletes_dir, or_demo=True)
            inputs = read_inputs(folder, today=date.today(), before=None, crew=crew)
    typer.echo(f"{count(len(inputs.sources), 'athlete file')} checked, no problems.")


@app.command()
def publish(
    out: Annotated[
        Path,
        typer.Option(
            "--out",
            metavar="PUBLIC_DIR",
            help="Folder the public copy is written to; upload this one and no other.",
        ),
    ],
    athletes_dir: AthletesDir = None,
    on: OnDay = None,
    jobs: Jobs = None,
    single_file: SingleFile = False,
) -> None:
    """Write the copy that may leave the house: what each lifter's `sharing` allows, no more."""
    with user_errors(), progress_bar() as progress:
        from profilegen.publish.site import publish_site

        result = publish_site(
            squad_folder(athletes_dir),
            out,
            on=on.date() if on else None,
            today=_today(on),
            jobs=jobs,
            progress=progress,
            one_file=single_file,
        )
    typer.echo(
        printable(
            f"{result.on_squad_page} of {count(result.lifters, 'lifter')} on the squad page, "
            f"{result.open} open and {result.locked} locked reports in {out}; "
            f"{result.left_out} left out. Why: {result.record}"
        )
    )


@app.command()
def keys(athletes_dir: AthletesDir = None) -> None:
    """Make a passphrase for every locked report that has none yet, in keys.yaml."""
    with user_errors():
        from profilegen.build.inputs import read_inputs
        from profilegen.build.jobs import Crew
        from profilegen.publish.keys import KEYS_FILE, add_keys, entropy_bits

        folder = squad_folder(athletes_dir)
        with Crew(None, None) as crew:
            inputs = read_inputs(folder, today=date.today(), before=None, crew=crew)
            locked = (a.id for a in inputs.athletes() if a.sharing.report == "locked")
            new = add_keys(folder, locked)
    typer.echo(
        printable(
            f"{count(len(new), 'new passphrase')} of {entropy_bits():.0f} bits in "
            f"{folder / KEYS_FILE}; the others stay as they are. Keep this file private."
        )
    )


@app.command()
def preview(
    athletes_dir: AthletesOrDemo = None,
    port: Annotated[
        int,
        typer.Option("--port", min=0, max=65535, help="Port on this machine; 0: any free one."),
    ] = 8000,
) -> None:
    """Show the site while you type: rebuilt and reloaded at every save, on this machine only."""
    with user_errors():
        from profilegen.preview import serve

        serve(
            squad_folder(athletes_dir, or_demo=True),
            port=port,
            today=date.today,
            say=lambda text: typer.echo(printable(text)),
        )


for _command in (intake, sheet, new, schema):
    app.command()(_command)
