"""The blank sheet for a testing week: who, which lifts, and what not to ask of whom.

One value, `BlankSheet`, makes both the XLSX file that `intake` reads back and the page to
print. Both hold names and what lifters avoid: they are for the coach.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Protocol

from profilegen.engine.assess import profile_of
from profilegen.engine.avoided import avoided_lifts
from profilegen.engine.next_test import best_set
from profilegen.engine.profile import CLEAN_AND_JERK, NextTests
from profilegen.errors import InputError, Problem
from profilegen.history import plausible
from profilegen.history.lift_names import LiftNames
from profilegen.history.records import Athlete, Squad, Units
from profilegen.history.words import plain
from profilegen.norms.catalogue import Norms
from profilegen.units import kg_to_lb

ALWAYS = ("snatch", CLEAN_AND_JERK, "front_squat")
"""Tests of every testing week; what tells most about the squad is added to them."""

PLAIN = (*ALWAYS, "back_squat")
"""Tests of a squad of which nothing is known yet: what every coach tests first (common
practice). With no results every lift tells the same, and what would come first is chance."""

_SPARE_ROWS = 5
_MOMENT = (1980, 1, 1, 0, 0, 0)
"""The earliest time a ZIP file can hold; no clock in anything that is written."""


@dataclass(frozen=True, slots=True)
class Test:
    """One column of the sheet."""

    lift: str
    heading: str
    """In the club's language."""


@dataclass(frozen=True, slots=True)
class Line:
    """One lifter of the sheet."""

    id: str
    name: str
    junior: bool
    avoids: tuple[bool, ...]
    """For each test."""


@dataclass(frozen=True, slots=True)
class BlankSheet:
    """A testing week before it is lifted."""

    club: str
    language: str
    units: Units
    tests: tuple[Test, ...]
    lines: tuple[Line, ...]


class Words(Protocol):
    """What stands on the sheet in the club's language; report/sheet_words.py has it."""

    @property
    def id(self) -> str:
        """Heading of the ids."""

    @property
    def lifter(self) -> str:
        """Heading of the names."""

    @property
    def date(self) -> str:
        """Heading of the days."""

    @property
    def at(self) -> str:
        """Heading of the places."""

    @property
    def body_mass(self) -> str:
        """Heading of the body masses."""

    @property
    def notes(self) -> str:
        """Heading of the notes."""

    @property
    def care(self) -> str:
        """Heading of what to mind."""

    @property
    def places(self) -> tuple[str, ...]:
        """Where a set may have been done."""

    @property
    def avoid(self) -> str:
        """In the cell of a lift that is not for the lifter."""

    @property
    def junior(self) -> str:
        """Beside lifters under 18."""

    @property
    def attempts(self) -> str:
        """Title of the next."""

    @property
    def grammar(self) -> str:
        """How results are typed."""

    @property
    def under_18(self) -> str:
        """Title of the next."""

    @property
    def junior_grammar(self) -> str:
        """How results of juniors are typed."""

    @property
    def no_date(self) -> str:
        """What is wrong with a day."""

    @property
    def no_body_mass(self) -> str:
        """What is wrong with a body mass; holds {low}, {high} and {units}."""


def blank_sheet(
    squad: Squad,
    norms: Norms,
    tests: Sequence[str],
    *,
    spoken: Callable[[str], str],
    today: date,
) -> BlankSheet:
    """The sheet of a squad for some lifts, by any of their names.

    Args:
        squad: everyone gets a row.
        norms: with the club's own lifts.
        tests: the lifts.
        spoken: gives a lift's name in the club's language.
        today: who is under 18.

    Raises:
        InputError: a test that is no lift.
    """
    names = LiftNames(norms.lifts, spoken)
    lifts: list[str] = []
    problems: list[Problem] = []
    for word in tests:
        lift = names.find(word)
        if lift is None:
            problems.append(Problem("--tests", 0, 0, "", names.unknown(word)))
        elif lift not in lifts:
            lifts.append(lift)
    if problems:
        raise InputError(problems)
    junior_until = norms.constant("junior_until")
    lines = [
        Line(
            athlete.id,
            athlete.name,
            athlete.age_on(today) < junior_until,
            tuple(lift in avoided_lifts(athlete, squad.club, norms.alike) for lift in lifts),
        )
        for athlete in squad.athletes
    ]
    return BlankSheet(
        club=squad.club.name,
        language=squad.club.language,
        units=squad.club.units,
        tests=tuple(Test(lift, _heading(lift, norms, names, spoken)) for lift in lifts),
        lines=tuple(sorted(lines, key=lambda line: (line.name.casefold(), line.id))),
    )


def telling_tests(
    squad: Squad, norms: Norms, *, on: date, progress: Callable[[int, int], None]
) -> tuple[str, ...]:
    """What to test by default: `ALWAYS`, and the lifts that tell most about the squad.

    The second part is what the squad page proposes for the next testing week, from each
    lifter's profile on the day `on` (engine/next_test.py). Lifters without any result have no
    say in it; where nobody has one, the plain lifts are tested. A lift that everybody avoids
    is not proposed.
    """
    proposed: list[NextTests] = []
    known = [athlete for athlete in squad.athletes if _has_results(athlete, on)]
    for done, athlete in enumerate(known, start=1):
        tests = profile_of(athlete, norms, on, squad.club).next_tests
        if tests is not None and tests.meet_near is None:
            proposed.append(tests)
        progress(done, len(known))
    wanted = (*ALWAYS, *best_set(proposed, norms)) if known else PLAIN
    avoided = [avoided_lifts(athlete, squad.club, norms.alike) for athlete in squad.athletes]
    return tuple(
        lift for lift in dict.fromkeys(wanted) if not all(lift in lifts for lifts in avoided)
    )


def _has_results(athlete: Athlete, on: date) -> bool:
    """Whether anything says what this lifter can lift."""
    sets = (session for session in athlete.sessions if session.on <= on and session.sets)
    return any(sets) or any(best.around <= on for best in athlete.bests)


def _heading(lift: str, norms: Norms, names: LiftNames, spoken: Callable[[str], str]) -> str:
    """The lift's name, if that is understood when it comes back, else its id."""
    name = "Clean and jerk" if lift == CLEAN_AND_JERK else norms.lifts[lift].name
    return next((one for one in (spoken(name), name) if names.find(one) == lift), lift)


# --- XLSX ------------------------------------------------------------------------------


def xlsx_bytes(sheet: BlankSheet, words: Words) -> bytes:
    """The sheet as an XLSX file, the same bytes for the same squad."""
    from openpyxl import Workbook
    from openpyxl.styles import Alignment, Font, PatternFill
    from openpyxl.utils import get_column_letter

    book = Workbook()
    page: Any = book.active
    page.title = "Testing"
    mass = f"{words.body_mass} ({sheet.units})"
    before = [words.id, words.lifter, words.date, words.at, mass]
    headings = [*before, *(f"{test.heading} ({sheet.units})" for test in sheet.tests)]
    headings += [words.notes, words.care]
    first_test, last_row = len(before) + 1, 1 + len(sheet.lines) + _SPARE_ROWS
    grey = PatternFill("solid", fgColor="FFD9D9D9")
    for column, heading in enumerate(headings, start=1):
        cell = _put(page, 1, column, heading)
        cell.font = Font(bold=True)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        width = 12 if column < first_test else 18
        page.column_dimensions[get_column_letter(column)].width = width
    page.column_dimensions["B"].width = 26
    page.column_dimensions[get_column_letter(len(headings))].width = 30
    for row, line in enumerate(sheet.lines, start=2):
        _put(page, row, 1, line.id)
        _put(page, row, 2, line.name)
        for column, avoids in enumerate(line.avoids, start=first_test):
            if avoids:
                cell = _put(page, row, column, words.avoid)
                cell.font = Font(strike=True, color="FF5A5A5A")
                cell.fill = grey
        if line.junior:
            _put(page, row, len(headings), words.junior)
    for row in range(2, last_row + 1):
        page.cell(row, 3).number_format = "yyyy-mm-dd"
        for column in range(first_test, len(headings)):
            page.cell(row, column).number_format = "@"  # else 3/4 becomes the third of April
    page.freeze_panes = "C2"
    page.print_title_rows = "1:1"
    page.page_setup.orientation = "landscape"
    page.page_setup.fitToHeight = 0
    page.sheet_properties.pageSetUpPr.fitToPage = True
    _lifters_page(book, sheet)
    _validations(page, sheet, words, first_test, last_row)
    raw = io.BytesIO()
    book.save(raw)
    return _without_clock(raw.getvalue())


def _put(page: Any, row: int, column: int, text: str) -> Any:
    """Text as text: a name that starts with = must not become a formula."""
    cell = page.cell(row, column, text)
    cell.data_type = "s"
    return cell


def _lifters_page(book: Any, sheet: BlankSheet) -> None:
    """The hidden page that the drop-downs read from."""
    hidden = book.create_sheet("Lists")
    hidden.sheet_state = "hidden"
    for row, line in enumerate(sheet.lines, start=1):
        _put(hidden, row, 1, line.id)
        _put(hidden, row, 2, line.name)


def _validations(
    page: Any, sheet: BlankSheet, words: Words, first_test: int, last_row: int
) -> None:
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    def add(where: str, **rules: Any) -> None:
        rule = DataValidation(allow_blank=True, showErrorMessage=True, **rules)
        rule.showInputMessage = "prompt" in rules
        for cells in where.split():
            rule.add(cells)
        page.add_data_validation(rule)

    low, high = plausible.BODY_MASS_RANGE_KG
    if sheet.units == "lb":
        low, high = round(kg_to_lb(low)), round(kg_to_lb(high))
    count = len(sheet.lines)
    for column in ("A", "B"):
        source = f"Lists!${column}$1:${column}${count}"
        add(f"{column}2:{column}{last_row}", type="list", formula1=source)
    add(
        f"C2:C{last_row}",
        type="date",
        operator="greaterThan",
        formula1="36526",
        error=words.no_date,
    )
    places = ",".join(words.places)
    add(f"D2:D{last_row}", type="list", formula1=f'"{places}"')
    add(
        f"E2:E{last_row}",
        type="decimal",
        operator="between",
        formula1=plain(low),
        formula2=plain(high),
        error=words.no_body_mass.format(low=plain(low), high=plain(high), units=sheet.units),
    )
    if not sheet.tests:
        return
    letters = get_column_letter(first_test), get_column_letter(first_test + len(sheet.tests) - 1)
    juniors = [row for row, line in enumerate(sheet.lines, start=2) if line.junior]
    adults = [row for row in range(2, last_row + 1) if row not in juniors]
    for rows, title, prompt in (
        (adults, words.attempts, words.grammar),
        (juniors, words.under_18, words.junior_grammar),
    ):
        if rows:
            where = " ".join(f"{letters[0]}{row}:{letters[1]}{row}" for row in rows)
            add(where, type=None, promptTitle=title, prompt=prompt)


_MODIFIED = re.compile(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*(<)")


def _without_clock(raw: bytes) -> bytes:
    """The same file with one fixed time wherever the library has put the present."""
    fixed = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(raw)) as old,
        zipfile.ZipFile(fixed, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for part in old.infolist():
            content = old.read(part)
            if part.filename == "docProps/core.xml":
                content = _MODIFIED.sub(rb"\g<1>1980-01-01T00:00:00Z\2", content)
            entry = zipfile.ZipInfo(part.filename, _MOMENT)
            entry.compress_type = zipfile.ZIP_DEFLATED
            new.writestr(entry, content)
    return fixed.getvalue()
