"""The words of the blank testing-week sheet to print; how results are written is the same in
every language, because the program reads them back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from profilegen.history.records import Units
from profilegen.report.language import words_in


@dataclass(frozen=True, slots=True)
class SheetWords:
    """Everything on the sheet but the lifters' names."""

    language: str
    title: str
    day: str
    loads: str
    private: str
    grammar: str
    table: str
    lifter: str
    body_mass: str
    lifts: tuple[str, ...]
    """One for each column of results."""
    notes: str
    avoid: str
    junior: str
    """Beside lifters under 18."""
    caution: str


class Column(Protocol):
    """A lift to be tested."""

    @property
    def heading(self) -> str:
        """The lift's name as the catalogue has it."""


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

    @property
    def tests(self) -> Sequence[Column]:
        """The columns of results."""


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
        lifter=_("Lifter"),
        body_mass=_("Body mass"),
        lifts=tuple(_(test.heading) for test in sheet.tests),
        notes=_("Notes"),
        avoid=_("avoid"),
        junior=_("under 18: no maximal singles"),
        caution=_(
            "Heavy singles can hurt: warm up, know how to miss, and stop where it hurts. Pain is "
            "for a licensed professional. The rules of the federation come first."
        ),
    )
