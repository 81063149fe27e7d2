"""The command line: arguments, progress, messages, exit codes; the only module that prints.

Exit codes: 0 done, 2 the user's input or output folder cannot be used as it is (every
problem on standard error, one a line), 1 a bug (Python's traceback shows).

The stages are imported when a command runs, so that `--help` answers at once.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from typing import Annotated, NoReturn

import typer

import profilegen
from profilegen.errors import InputError, OutputError

Progress = Callable[[int, int], None]

USER_ERROR = 2

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Turns lifters' histories into a static site of strength-profile reports.",
)

AthletesDir = Annotated[
    Path | None,
    typer.Argument(
        metavar="[ATHLETES_DIR]",
        help="Folder with one YAML file per lifter and club.yaml. Left out: ./athletes, or "
        "the demo squad when profilegen runs from its own source folder.",
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
    athletes_dir: AthletesDir = None,
    out: Annotated[
        Path, typer.Option("--out", metavar="SITE_DIR", help="Folder the site is written to.")
    ] = Path("site"),
    on: OnDay = None,
    jobs: Jobs = None,
    single_file: SingleFile = False,
) -> None:
    """Build the site: squad page, a report per lifter, methods page."""
    started = time.perf_counter()
    with _user_errors(), _progress() as progress:
        from profilegen.build.site import build_site

        result = build_site(
            _athletes_dir(athletes_dir),
            out,
            on=on.date() if on else None,
            today=_today(on),
            jobs=jobs,
            progress=progress,
            one_file=single_file,
        )
    seconds = time.perf_counter() - started
    profiles = _count(result.lifters, "profile")
    unchanged = f", {result.unchanged} unchanged" if result.unchanged else ""
    typer.echo(
        _printable(
            f"{profiles} in {out} ({seconds:.1f} s{unchanged}). "
            f"Open {out / result.open_first} in a browser."
        )
    )


@app.command()
def check(athletes_dir: AthletesDir = None) -> None:
    """Read every file and report every problem; write nothing."""
    with _user_errors():
        from profilegen.history.load import load_squad
        from profilegen.norms.catalogue import load_norms

        squad = load_squad(_athletes_dir(athletes_dir), load_norms().lifts, today=date.today())
    typer.echo(f"{_count(len(squad.athletes), 'athlete file')} checked, no problems.")


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
    with _user_errors(), _progress() as progress:
        from profilegen.publish.site import publish_site

        result = publish_site(
            _athletes_dir(athletes_dir),
            out,
            on=on.date() if on else None,
            today=_today(on),
            jobs=jobs,
            progress=progress,
            one_file=single_file,
        )
    typer.echo(
        _printable(
            f"{result.on_squad_page} of {_count(result.lifters, 'lifter')} on the squad page, "
            f"{result.open} open and {result.locked} locked reports in {out}; "
            f"{result.left_out} left out. Why: {result.record}"
        )
    )


@app.command()
def keys(athletes_dir: AthletesDir = None) -> None:
    """Make a passphrase for every locked report that has none yet, in keys.yaml."""
    with _user_errors():
        from profilegen.history.load import load_squad
        from profilegen.norms.catalogue import load_norms
        from profilegen.publish.keys import KEYS_FILE, add_keys, entropy_bits

        folder = _athletes_dir(athletes_dir)
        squad = load_squad(folder, load_norms().lifts, today=date.today())
        new = add_keys(folder, (a.id for a in squad.athletes if a.sharing.report == "locked"))
    typer.echo(
        _printable(
            f"{_count(len(new), 'new passphrase')} of {entropy_bits():.0f} bits in "
            f"{folder / KEYS_FILE}; the others stay as they are. Keep this file private."
        )
    )


@app.command()
def preview(
    athletes_dir: AthletesDir = None,
    port: Annotated[
        int,
        typer.Option("--port", min=0, max=65535, help="Port on this machine; 0: any free one."),
    ] = 8000,
) -> None:
    """Show the site while you type: rebuilt and reloaded at every save, on this machine only."""
    with _user_errors():
        from profilegen.preview import serve

        serve(
            _athletes_dir(athletes_dir),
            port=port,
            today=date.today,
            say=lambda text: typer.echo(_printable(text)),
        )


def _athletes_dir(given: Path | None) -> Path:
    """The folder to read: the one given, ./athletes, or a checkout's own demo squad."""
    from profilegen.build.places import demo_squad

    if given is not None:
        if not given.is_dir():
            _fail(f"{given}: no such folder; name the folder that holds the athlete files")
        return given
    here = Path("athletes")
    if here.is_dir():
        return here
    demo = demo_squad()
    if demo is None:
        _fail("no folder `athletes` here; name the folder that holds the athlete files")
    return demo


@contextmanager
def _user_errors() -> Iterator[None]:
    """Print what the user has to mend, one problem a line, and leave with code 2."""
    try:
        yield
    except InputError as error:
        for problem in error.problems:
            typer.echo(_printable(str(problem)), err=True)
        _fail(f"{_count(len(error.problems), 'problem')}; nothing was written.")
    except OutputError as error:
        _fail(str(error))


def _fail(message: str) -> NoReturn:
    typer.echo(_printable(message), err=True)
    raise typer.Exit(USER_ERROR)


@contextmanager
def _progress() -> Iterator[Progress]:
    """A progress bar on a terminal, nothing anywhere else."""
    if not sys.stderr.isatty():
        yield lambda done, total: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    columns = TextColumn("Profiles"), BarColumn(), MofNCompleteColumn()
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=None)
        yield lambda done, total: bar.update(task, completed=done, total=total)


def _count(number: int, noun: str) -> str:
    """
    >>> _count(1, "profile"), _count(14, "profile")
    ('1 profile', '14 profiles')
    """
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _printable(text: str) -> str:
    r"""One line that cannot command a terminal, whatever the user's files contain.

    >>> _printable("Zoë\x1b[2J\nRex")
    'Zoë\\x1b[2J\\nRex'
    """
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)
