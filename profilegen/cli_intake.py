"""The commands that bring results and lifters in: intake, sheet, new, schema."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from profilegen.terminal import count, fail, printable, squad_folder, user_errors


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


def _day_option(name: str, text: str) -> typer.models.OptionInfo:
    option = typer.Option(name, metavar="DATE", formats=["%Y-%m-%d"], help=text, show_default=False)
    assert isinstance(option, typer.models.OptionInfo)
    return option


def intake(
    sheet: Annotated[Path, typer.Argument(metavar="SHEET", help="CSV or XLSX with the results.")],
    athletes: AthletesOption = None,
    yes: Annotated[bool, typer.Option("--yes", help="Write without asking.")] = False,
    on: Annotated[
        datetime | None, _day_option("--on", "Day of the rows without a date, as 2026-11-17.")
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

        folder = squad_folder(athletes)
        plan = plan_intake(
            sheet,
            folder,
            load_norms().lifts,
            Wishes(
                units.value if units else None,
                on.date() if on else None,
                at.value if at else None,
                dates.value if dates else None,
                tuple(_pairs(headings or ())),
            ),
            today=date.today(),
        )
        for change in plan.changes:
            for line in change.diff():
                typer.echo(printable(line))
        for note in plan.notes:
            typer.echo(printable(note))
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
