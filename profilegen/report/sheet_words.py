"""The words of the blank testing-week sheet, to fill in and to print.

The intake understands every heading of it (`intake/vocabulary.py`, tests/intake/test_blank.py);
how results are written is the same in every language.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from profilegen.history.records import Units
from profilegen.report.language import words_in


@dataclass(frozen=True, slots=True)
class SheetWords:
    """Everything on the sheet but the names of lifters and lifts."""

    language: str
    title: str
    day: str
    loads: str
    private: str
    grammar: str
    table: str
    id: str
    lifter: str
    date: str
    at: str
    body_mass: str
    notes: str
    care: str
    places: tuple[str, ...]
    """Where a set may have been done."""
    avoid: str
    junior: str
    """Beside lifters under 18."""
    caution: str
    attempts: str
    """Above `grammar`, where results are typed."""
    under_18: str
    """Above `junior_grammar`."""
    junior_grammar: str
    no_date: str
    """What is typed under `date` is none."""
    no_body_mass: str
    """The same under `body_mass`; holds {low}, {high} and {units}."""


class Sheet(Protocol):
    """What the words depend on; intake/blank.py makes it."""

    @property
    def club(self) -> str:
        """The club's name."""

    @property
    def language(self) -> str:
        """The club's language."""

    @property
    def units(self) -> Units:
        """In which loads are written down."""


def sheet_words(sheet: Sheet) -> SheetWords:
    """The words in the club's language."""
    words = words_in(sheet.language)
    _ = words._
    return SheetWords(
        language=words.language,
        title=_("Testing week: {club}").format(club=sheet.club),
        day=_("Date:"),
        loads=_("All loads in {units}.").format(units=sheet.units),
        private=_("Private: for the coach."),
        grammar=_(
            "84 87x 87  |  x missed, xj jerk missed  |  100x3 reps  |  100x3@1 one left  |  "
            "90! all out"
        ),
        table=_("Sheet"),
        id=words.pgettext("column of the sheet", "Id"),
        lifter=_("Lifter"),
        date=words.pgettext("column of the sheet", "Date"),
        at=words.pgettext("column of the sheet", "At"),
        body_mass=_("Body mass"),
        notes=_("Notes"),
        care=words.pgettext("column of the sheet", "Care"),
        places=(_("testing"), _("training"), _("meet")),
        avoid=_("avoid"),
        junior=_("under 18: no maximal singles"),
        caution=_(
            "Heavy singles can hurt: warm up, know how to miss, and stop where it hurts. Pain is "
            "for a licensed professional. The rules of the federation come first."
        ),
        attempts=_("Attempts"),
        under_18=_("Under 18"),
        junior_grammar=_("Sets with repetitions left, such as 60x3@2. No maximal singles."),
        no_date=_("A date, such as 2026-11-17."),
        no_body_mass=_("A body mass from {low} to {high} {units}."),
    )
