"""What a club may call things in a sheet: columns, lifts, places, marks and months.

English is understood everywhere, a club's own language beside it. English stands in the code,
other languages in their files, where alternatives stand apart by |. The language of another
club is not read, but known well enough to say what a heading in it means.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Protocol, get_args

from profilegen.history.lift_names import normal
from profilegen.history.records import Place
from profilegen.history.schema import ClubFile
from profilegen.intake.dates import DateCustoms

ENGLISH = "en"
IGNORE = "ignore"

_COMMON: Mapping[str, str] = {
    "id": "id",
    "lifter_id": "id",
    "athlete_id": "id",
    "bodymass": "body_mass",
    "bodyweight": "body_mass",
    "bw": "body_mass",
    "bm": "body_mass",
    "#": IGNORE,
}
_PER_SET: Mapping[str, str] = {
    "kg": "load",
    "lb": "load",
    "lbs": "load",
    "load_kg": "load",
    "load_lb": "load",
    "rir": "in_reserve",
    "rpe": "rpe",
    "video": "video",
}
"""Headings that are understood in every language."""


class Texts(Protocol):
    """One language of the pages, as report/language.py has it."""

    @property
    def gettext(self) -> Callable[[str], str]:
        """A text in this language."""

    @property
    def pgettext(self) -> Callable[[str, str], str]:
        """A text of a context."""

    def month(self, number: int) -> str:
        """Name of a month, 1-12."""

    def short_month(self, number: int) -> str:
        """Short name of a month, 1-12."""


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Everything that a sheet is understood by."""

    spoken: Callable[[str], str]
    """A lift's name in the club's language, by its English name."""
    common: Mapping[str, str]
    """Columns of every sheet: role by heading (`normal`)."""
    per_set: Mapping[str, str]
    """Columns of a sheet with one row per set."""
    dates: DateCustoms
    places: Mapping[str, Place]
    """By the word that a cell holds, without capitals; so the next two."""
    marks: Mapping[str, str]
    """`yes`, `no`, `made` or `missed`."""
    avoid: frozenset[str]
    """What the blank sheet holds where a lifter avoids a lift."""
    elsewhere: Mapping[str, Vocabulary] = field(default_factory=dict)
    """Of the languages that are not read, by their tags."""


def vocabulary_in(language: str, texts_in: Callable[[str], Texts]) -> Vocabulary:
    """What a club of this language may write: English, and its own words."""
    english, own = (_words_of(texts_in(tag)) for tag in (ENGLISH, language))
    languages: tuple[str, ...] = get_args(ClubFile.model_fields["language"].annotation)
    return Vocabulary(
        spoken=own.spoken,
        common={**own.common, **english.common},
        per_set={**own.per_set, **english.per_set},
        dates=DateCustoms({**own.dates.months, **english.dates.months}, own.dates.dotted),
        places={**own.places, **english.places},
        marks={**own.marks, **english.marks},
        avoid=own.avoid | english.avoid,
        elsewhere={
            tag: _words_of(texts_in(tag)) for tag in languages if tag not in (ENGLISH, language)
        },
    )


def _words_of(texts: Texts) -> Vocabulary:
    """What one language alone has."""
    _ = texts.gettext
    common = {
        # for translators: names that a column of a sheet may have, apart by |; so the next ones
        "lifter": _("lifter | athlete | name | full name | lifter name | athlete name"),
        "date": _("date | on | day"),
        "at": _("at | place | where | occasion"),
        "body_mass": _("body mass | body weight"),
        "note": _("note | notes | remark | remarks | comment | comments"),
        IGNORE: _("ignore | care | sex | born | group | category | total | nr | no"),
    }
    per_set = {
        # for translators: columns of a sheet with one row per set; so the next ones
        "lift": _("lift | exercise | movement"),
        "load": _("load | result | attempt | attempts"),
        "reps": _("reps | repetitions"),
        "in_reserve": _("in reserve | reserve | reps in reserve"),
        "missed": _("missed | miss | failed"),
        "made": _("made | success | good lift"),
        "effort": _("effort | maximal effort"),
        "looked": _("looked | looked like"),
        "share": _("share | share of the maximum"),
        "speed_m_s": _("speed | bar speed | velocity"),
        "session_note": _("session note | session notes | day note"),
    }
    marks = {
        # for translators: what a cell may hold, apart by |; so the next ones
        "yes": _("yes | y | true"),
        "no": _("no | n | false"),
        "made": _("made | good | successful"),
        "missed": _("missed | miss | failed | no lift"),
    }
    places: dict[Place, str] = {
        "testing": _("testing"),
        "training": _("training"),
        "meet": _("meet"),
    }
    return Vocabulary(
        spoken=_,
        common={**_COMMON, **_roles(common)},
        per_set={**_PER_SET, **_roles(per_set)},
        dates=_customs(texts),
        places={word.casefold(): place for place, word in places.items()},
        marks={word.casefold(): mark for mark, words in marks.items() for word in _each(words)},
        avoid=frozenset({_("avoid").casefold()}),
    )


def _roles(columns: Mapping[str, str]) -> dict[str, str]:
    """Role by heading; a role's own name always means itself."""
    found = {normal(name): role for role, names in columns.items() for name in _each(names)}
    return {**found, **{role: role for role in columns}}


def _each(words: str) -> list[str]:
    return [word.strip() for word in words.split("|")]


def _customs(texts: Texts) -> DateCustoms:
    # for translators: dmy where a date with dots is day.month.year to everybody, else ask
    dotted = texts.pgettext("order of the numbers in a date with dots: dmy or ask", "ask")
    return DateCustoms(
        {
            name.rstrip(".").casefold(): number
            for number in range(1, 13)
            for name in (texts.month(number), texts.short_month(number))
        },
        "dmy" if dotted == "dmy" else None,
    )
