"""Messages, progress and exit codes, the same for every command.

Exit codes: 0 done, 2 the user's input or output folder cannot be used as it is (every
problem on standard error, one a line), 1 a bug (Python's traceback shows).
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NoReturn

import typer

from profilegen.errors import InputError, OutputError

Progress = Callable[[int, int], None]

USER_ERROR = 2


def squad_folder(given: Path | None, *, or_demo: bool = False) -> Path:
    """The squad's folder: the one given, or ./athletes.

    Args:
        given: what the command was told.
        or_demo: a checkout's own demo squad will do, too. Never for a command that writes into
            the folder.

    An intake that was cut short in it is finished first, so that no command ever sees half.
    """
    from profilegen.build.places import demo_squad
    from profilegen.intake.journal import recover

    folder = Path("athletes") if given is None else given
    if given is None and not folder.is_dir():
        demo = demo_squad() if or_demo else None
        if demo is None:
            fail("no folder `athletes` here; name the folder that holds the athlete files")
        typer.echo("No folder `athletes` here: this is the demo squad of profilegen.", err=True)
        folder = demo
    try:
        there = folder.is_dir()
        unfinished = recover(folder) if there else ()
    except OSError as error:
        fail(f"{folder}: cannot be read: {error.strerror or 'unknown reason'}")
    if not there:
        fail(f"{folder}: no such folder; name the folder that holds the athlete files")
    for name in unfinished:
        said = f"{name}: edited after an intake was cut short; run that intake once more"
        typer.echo(printable(said), err=True)
    return folder


@contextmanager
def user_errors() -> Iterator[None]:
    """Print what the user has to mend, one problem a line, and leave with code 2."""
    try:
        yield
    except InputError as error:
        for problem in error.problems:
            typer.echo(printable(str(problem)), err=True)
        fail(f"{count(len(error.problems), 'problem')}; nothing was written.")
    except OutputError as error:
        fail(str(error))


def fail(message: str) -> NoReturn:
    """Say why nothing more can be done, and leave with code 2."""
    typer.echo(printable(message), err=True)
    raise typer.Exit(USER_ERROR)


@contextmanager
def progress_bar() -> Iterator[Progress]:
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


def count(number: int, noun: str) -> str:
    """A number with its noun.

    >>> count(1, "profile"), count(14, "profile")
    ('1 profile', '14 profiles')
    """
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def printable(text: str) -> str:
    r"""One line that cannot command a terminal, whatever the user's files contain.

    >>> printable("Zoë\x1b[2J\nRex")
    'Zoë\\x1b[2J\\nRex'
    """
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)
