"""One language of the pages: a thin, frozen wrapper around gettext.

English is the language of the source, so it needs no catalog. Message ids are marked with
`_`, `ngettext` and `pgettext`, which is what Babel's extractor looks for.
"""

from __future__ import annotations

import gettext
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path

LOCALES = Path(__file__).parent.parent / "locales"
DOMAIN = "profilegen"
MOST_REMEMBERED = 4096
"""Texts of one language; the catalogs have some 1,500."""


@dataclass(frozen=True, slots=True, eq=False)
class Words:
    """Texts in one language. `language` is a BCP 47 tag, as in `<html lang>`.

    There is one for each language (`words_in`), told from others by identity, so that what is
    remembered per language is found quickly.
    """

    language: str
    gettext: Callable[[str], str]
    ngettext: Callable[[str, str, int], str]
    pgettext: Callable[[str, str], str]

    @property
    def _(self) -> Callable[[str], str]:
        """Gives the message in this language."""
        return self.gettext

    @property
    def decimal_mark(self) -> str:
        """What stands between whole and tenths.

        >>> words_in("en").decimal_mark
        '.'
        """
        return self.pgettext("decimal mark", ".")

    @property
    def thousands_mark(self) -> str:
        """What stands between thousands.

        >>> words_in("en").thousands_mark
        ','
        """
        return self.pgettext("thousands mark", ",")

    def within(self, name: str) -> str:
        """A name or heading as it stands within a sentence: in English with a small letter.

        >>> words_in("en").within("Clean and jerk")
        'clean and jerk'
        """
        how = self.pgettext("first letter of a name within a sentence: lower or kept", "lower")
        return name if how == "kept" else name[:1].lower() + name[1:]

    def month(self, number: int) -> str:
        """Name of a month, 1-12.

        >>> words_in("en").month(10)
        'October'
        """
        return _months(self)[number - 1]

    def short_month(self, number: int) -> str:
        """Short name of a month, 1-12, for tables.

        >>> words_in("en").short_month(9)
        'Sep'
        """
        return _short_months(self)[number - 1]


@cache
def _months(words: Words) -> tuple[str, ...]:
    """January to December."""
    return (
        words.pgettext("month", "January"),
        words.pgettext("month", "February"),
        words.pgettext("month", "March"),
        words.pgettext("month", "April"),
        words.pgettext("month", "May"),
        words.pgettext("month", "June"),
        words.pgettext("month", "July"),
        words.pgettext("month", "August"),
        words.pgettext("month", "September"),
        words.pgettext("month", "October"),
        words.pgettext("month", "November"),
        words.pgettext("month", "December"),
    )


@cache
def _short_months(words: Words) -> tuple[str, ...]:
    """Jan to Dec."""
    return (
        words.pgettext("short month", "Jan"),
        words.pgettext("short month", "Feb"),
        words.pgettext("short month", "Mar"),
        words.pgettext("short month", "Apr"),
        words.pgettext("short month", "May"),
        words.pgettext("short month", "Jun"),
        words.pgettext("short month", "Jul"),
        words.pgettext("short month", "Aug"),
        words.pgettext("short month", "Sep"),
        words.pgettext("short month", "Oct"),
        words.pgettext("short month", "Nov"),
        words.pgettext("short month", "Dec"),
    )


@cache
def words_in(language: str) -> Words:
    """The texts in `language`; a language without a catalog falls back to English.

    >>> words_in("en")._("Squad")
    'Squad'
    >>> words_in("xx").language
    'en'
    """
    catalog: gettext.NullTranslations
    try:
        catalog = gettext.translation(DOMAIN, LOCALES, [language])
    except FileNotFoundError:
        language, catalog = "en", gettext.NullTranslations()
    # a report looks up some 5,000 messages, most of them again with the next lifter
    remembered = lru_cache(maxsize=MOST_REMEMBERED)
    gettext_, pgettext = remembered(catalog.gettext), remembered(catalog.pgettext)
    return Words(language, gettext_, catalog.ngettext, pgettext)
