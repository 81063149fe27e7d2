"""The commands that bring results and lifters in: intake, sheet, new, schema."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

import typer

from profilegen.terminal import count, fail, printable, progress_bar, squad_folder, user_errors

MOST_ODD = 40
"""Lines of what deserves a second look; nobody reads more before agreeing."""


class UnitsOption(StrEnum):
    """What loads are in."""

    kg = "kg"
    lb = "lb"


class PlaceOption(StrEnum):
    """Where sets were done."""

    testing = "testing"
    training = "training"
    meet = "meet"


class DayOrderOption(StrEnum):
    """What comes first in a date with slashes."""

    dmy = "dmy"
    mdy = "mdy"


class SexOption(StrEnum):
    """Which norms apply."""

    F = "F"
    M = "M"


AthletesOption = Annotated[
    Path | None,
    typer.Option(
        "--athletes",
        metavar="DIR",
        help="Folder with the athlete files and club.yaml. Left out: ./athletes.",
        show_default=False,
    ),
]


def _day_option(name: str, text: str) -> Any:
    """A day is read as in a sheet, once the club and its language are known."""
    return typer.Option(name, metavar="DATE", help=text, show_default=False)


def intake(
    sheet: Annotated[Path, typer.Argument(metavar="SHEET", help="CSV or XLSX with the results.")],
    athletes: AthletesOption = None,
    yes: Annotated[bool, typer.Option("--yes", help="Write without asking.")] = False,
    on: Annotated[
        str | None, _day_option("--on", "Day of the rows without a date, as 2026-11-17.")
    ] = None,
    at: Annotated[
        PlaceOption | None,
        typer.Option(
            "--at", help="Left out: testing in a testing week of the club, else training."
        ),
    ] = None,
    units: Annotated[
        UnitsOption | None,
        typer.Option("--units", help="Of numbers without a unit. Left out: the club's unit."),
    ] = None,
    dates: Annotated[
        DayOrderOption | None,
        typer.Option("--dates", help="What comes first in dates such as 3/4/2026."),
    ] = None,
    headings: Annotated[
        list[str] | None,
        typer.Option(
            "--map",
            metavar="HEADING=LIFT",
            help="What a heading means: a lift, a column, or ignore. Remembered in the "
            "athletes folder, in .intake.yaml. May be given several times.",
            show_default=False,
        ),
    ] = None,
) -> None:
    """Add the results of a sheet to the athlete files: shows what it will add, and asks."""
    with user_errors():
        from profilegen.intake.journal import replace_all
        from profilegen.intake.plan import Wishes, plan_intake
        from profilegen.norms.catalogue import load_norms
        from profilegen.report.language import words_in

        folder = squad_folder(athletes)
        plan = plan_intake(
            sheet,
            folder,
            load_norms().lifts,
            Wishes(
                units.value if units else None,
                on,
                at.value if at else None,
                dates.value if dates else None,
                tuple(_pairs(headings or ())),
            ),
            texts_in=words_in,
            today=date.today(),
        )
        for change in plan.changes:
            for line in change.diff():
                typer.echo(printable(line))
        for note in plan.notes:
            typer.echo(printable(note))
        if plan.second_look:
            typer.echo("Worth a second look before you agree:")
        for odd in plan.second_look[:MOST_ODD]:
            typer.echo(printable(f"  {odd}"))
        if len(plan.second_look) > MOST_ODD:
            typer.echo(f"  and {len(plan.second_look) - MOST_ODD} more like these")
        if not plan.replacements:
            typer.echo("Nothing to add.")
            return
        what = f"{count(plan.added_sets, 'set')} for {count(len(plan.changes), 'lifter')}"
        if not (yes or _agreed(what)):
            typer.echo("Nothing was written.")
            return
        replace_all(folder, plan.replacements)
        typer.echo(printable(f"Added {what} in {folder}."))


def _pairs(headings: Iterable[str]) -> Iterable[tuple[str, str]]:
    for written in headings:
        heading, equals, target = written.rpartition("=")
        if not (equals and heading.strip() and target.strip()):
            fail(f'--map "{written}": expected HEADING=LIFT, such as --map "Front sqt=front_squat"')
        yield heading.strip(), target.strip()


def _agreed(what: str) -> bool:
    try:
        return typer.confirm(f"Add {what}?")
    except typer.Abort:
        fail("nobody to ask: nothing was written; say --yes to write without asking")


def sheet(
    athletes: AthletesOption = None,
    out: Annotated[
        Path,
        typer.Option("--out", metavar="FILE.xlsx", help="The sheet; the page lies beside it."),
    ] = Path("testing-week.xlsx"),
    tests: Annotated[
        str | None,
        typer.Option(
            "--tests",
            metavar="LIFT,LIFT,...",
            help="Left out: snatch, clean and jerk, front squat, and what the squad page "
            "proposes; back squat where nobody has a result yet.",
            show_default=False,
        ),
    ] = None,
) -> None:
    """Write the blank sheet of a testing week, to fill in, and a page to print."""
    with user_errors(), progress_bar() as progress:
        from profilegen.history.load import load_squad
        from profilegen.intake.blank import blank_sheet, telling_tests, xlsx_bytes
        from profilegen.intake.new_files import write_new
        from profilegen.norms.catalogue import load_norms, with_own_lifts
        from profilegen.render import printable_sheet
        from profilegen.report.language import words_in
        from profilegen.report.sheet_words import sheet_words

        page = out.with_suffix(".html")
        if out.suffix.lower() != ".xlsx":
            fail(f"{out}: expected a name that ends in .xlsx")
        for path in (out, page):
            try:
                taken = path.exists()
            except OSError as error:
                fail(f"{path} cannot be written: {error.strerror or 'unknown reason'}")
            if taken:
                fail(f"{path} is there already and may hold results; name another with --out")
        words = [word.strip() for word in (tests or "").split(",") if word.strip()]
        if tests is not None and not words:
            fail('--tests: expected lifts, such as --tests "snatch, front squat", found none')
        squad = load_squad(squad_folder(athletes), load_norms().lifts, today=date.today())
        norms = with_own_lifts(load_norms(), squad.club.own_lifts)
        latest = squad.latest_session_on or date.today()
        wanted = words or telling_tests(squad, norms, on=latest, progress=progress)
        spoken = words_in(squad.club.language).gettext
        blank = blank_sheet(squad, norms, wanted, spoken=spoken, today=date.today())
        content = xlsx_bytes(blank, sheet_words(blank))
        write_new({out: content, page: printable_sheet(blank).encode()})
    lifts = ", ".join(test.lift for test in blank.tests)
    typer.echo(printable(f"{out} for {count(len(blank.lines), 'lifter')}: {lifts}."))
    typer.echo(printable(f"{page} is the same to print. Both are private."))


def new(
    name: Annotated[str, typer.Argument(metavar="NAME", help='Full name, such as "Ann Example".')],
    athletes: AthletesOption = None,
    sex: Annotated[
        SexOption | None,
        typer.Option("--sex", case_sensitive=False, help="Which norms apply."),
    ] = None,
    born: Annotated[str | None, _day_option("--born", "Date of birth, as 2004-03-18.")] = None,
    id_: Annotated[
        str | None,
        typer.Option(
            "--id",
            metavar="ID",
            help="Name of the file and the pages. Left out: made from the name.",
            show_default=False,
        ),
    ] = None,
    club: Annotated[
        str | None,
        typer.Option(
            "--club",
            metavar="CLUB",
            help="The club's name, where there is no club.yaml yet: starts it, and the folder. "
            "Left out: asks.",
            show_default=False,
        ),
    ] = None,
) -> None:
    """Start the file of a lifter, and the club's folder for the first; overwrites nothing."""
    with user_errors():
        from profilegen.history.club import CLUB_FILE
        from profilegen.intake.new import start_athlete
        from profilegen.norms.catalogue import load_norms
        from profilegen.report.language import words_in

        folder = Path("athletes") if athletes is None else athletes
        try:
            there = folder.exists()
        except OSError as error:
            fail(f"{folder}: cannot be read: {error.strerror or 'unknown reason'}")
        to_start = _club_to_start(folder, club)
        if there:
            folder = squad_folder(folder)
        started = start_athlete(
            folder,
            name,
            load_norms().lifts,
            texts_in=words_in,
            today=date.today(),
            sex=sex.value if sex else None,
            born=born,
            id_=id_,
            club=to_start,
        )
    if to_start:
        typer.echo(printable(f"Started {folder / CLUB_FILE}: {to_start}."))
    typer.echo(printable(f"Started {started.path}."))
    if started.empty:
        keys = " and ".join(started.empty)
        said = f"nothing stands under {keys} yet; until it does, every other command asks for it"
        typer.echo(printable(f"{started.path}: {said}"), err=True)
    if started.club_missing:
        typer.echo(printable(f"{folder}: club.yaml is missing; start it with name: Your Club"))


def _club_to_start(folder: Path, said: str | None) -> str | None:
    """The name of the club that is to be started; None when there is one, or nobody wants it."""
    from profilegen.history.club import CLUB_FILE

    if (folder / CLUB_FILE).exists():
        if said is not None:
            fail(f"{folder / CLUB_FILE} is there already and stays as it is; leave --club out")
        return None
    if said is not None:
        return said
    try:
        question = f"No club.yaml in {folder} yet. Name of the club to start (empty: none)"
        asked = typer.prompt(printable(question), default="", show_default=False).strip()
    except typer.Abort:
        if sys.stdin.isatty():
            fail("nothing was written")
        asked = ""
    if not asked and not folder.exists():
        fail(f'{folder}: no such folder; say --club "Your Club" to start it with its club.yaml')
    return asked or None


def schema(
    athletes: AthletesOption = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            metavar="DIR",
            help="Folder for athlete.json and club.json. Left out: .schema in the athletes folder.",
            show_default=False,
        ),
    ] = None,
) -> None:
    """Write JSON Schemas of the athlete and club files, for editors that help while you type."""
    with user_errors():
        from profilegen.history.club import read_club_and_lifts
        from profilegen.history.json_schema import schema_files
        from profilegen.history.schema_files import SCHEMA_FOLDER
        from profilegen.norms.catalogue import load_norms

        folder = squad_folder(athletes)
        _, lifts, _ = read_club_and_lifts(folder, load_norms().lifts, today=date.today())
        target = out or folder / SCHEMA_FOLDER
        for name, text in schema_files(lifts).items():
            try:
                target.mkdir(parents=True, exist_ok=True)
                (target / name).write_text(text, encoding="utf-8", newline="\n")
            except OSError as error:
                fail(f"{target / name} cannot be written: {error.strerror}")
            typer.echo(printable(f"{target / name}"))
