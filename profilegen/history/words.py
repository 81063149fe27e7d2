"""The words of messages: what was found, what it may have been meant to be."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from contextlib import suppress
from datetime import date
from pathlib import Path

from profilegen.history.dates import period_from
from profilegen.history.yaml_tree import Ambiguous

_LONGEST_GUESSED = 60
_LONGEST_SHOWN = 60
_DECIMAL_COMMA = re.compile(r"\s*(-?[0-9]+),([0-9]+)\s*\Z")
_WITH_UNIT = re.compile(r"\s*-?[0-9.,]+\s*[a-zA-Z%/]+\s*\Z")
_DATE_SHAPE = re.compile(r"[0-9]{4}-[0-9]{2}(?:-[0-9]{2})?\Z")
_SPLIT = re.compile(r"[0-9]{1,4}[./-][0-9]{1,2}[./-][0-9]{1,4}\Z")
_NUMBER = re.compile(r"\s*-?[0-9]+(?:\.[0-9]+)?\s*\Z")


def nearest(word: str, known: Iterable[str], *, cutoff: float = 0.6) -> str:
    """`, did you mean "reps"?` when some known word is close, else nothing.

    >>> nearest("rep", ["reps", "kg"])
    ', did you mean "reps"?'
    """
    if len(word) > _LONGEST_GUESSED:
        return ""
    by_lower = {name.lower(): name for name in known}
    close = difflib.get_close_matches(word.lower(), by_lower, n=1, cutoff=cutoff)
    return f', did you mean "{by_lower[close[0]]}"?' if close else ""


def quoted(text: str) -> str:
    """Text as it can be shown on any terminal: quoted, shortened, nothing invisible.

    >>> print(quoted("a\\tb"))
    "a\\tb"
    """
    return f'"{shown(text)}"'


def shown(text: str) -> str:
    """Text shortened and with nothing invisible, without quotes.

    >>> shown("a" * 100) == "a" * 59 + "…"
    True
    """
    short = text if len(text) <= _LONGEST_SHOWN else text[: _LONGEST_SHOWN - 1] + "…"
    return _visible(short)


def shown_path(path: Path) -> str:
    """A path as it begins a message, whatever bytes its name holds."""
    return _visible(path.as_posix())


def _visible(text: str) -> str:
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else ascii(c)[1:-1] for c in text)


def found(value: object) -> str:
    """A value of a file in words.

    >>> found("five"), found(3.5), found(None), found([1]), found(Ambiguous("no", "false"))
    ('"five"', '3.5', 'nothing', 'a list', 'no, which YAML readers may take as false')
    """
    if value is None:
        return "nothing"
    if value is True or value is False:
        return "true" if value else "false"
    if isinstance(value, Ambiguous):
        return f"{value}, which YAML readers may take as {value.reading}"
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, date):
        return f"the date {value.isoformat()}"
    if isinstance(value, dict):
        return "a block of keys"
    if isinstance(value, list):
        return "a list"
    text = repr(value)
    return text if len(text) <= _LONGEST_SHOWN else text[: _LONGEST_SHOWN - 1] + "…"


def number_hint(value: object) -> str:
    """What to do about text that was meant as a number, if anything can be told.

    >>> number_hint("84,5"), number_hint("84 kg"), number_hint("84")
    ('; write a decimal point: 84.5', '; write the number alone', '; take the quotes away')
    """
    if not isinstance(value, str) or isinstance(value, Ambiguous):
        return ""
    comma = _DECIMAL_COMMA.match(value)
    if comma:
        return f"; write a decimal point: {comma[1]}.{comma[2]}"
    if _NUMBER.match(value):
        return "; take the quotes away"
    return "; write the number alone" if _WITH_UNIT.match(value) else ""


def date_hint(value: object) -> str:
    """What to do about a date that cannot be read.

    >>> date_hint("2025-02-30"), date_hint("12.10.2026"), date_hint("2025-02")
    ('; no calendar has that day', '; write year-month-day', '; the day itself is needed')
    """
    with suppress(ValueError):
        period_from(value)
        return "; the day itself is needed"
    if isinstance(value, str) and _DATE_SHAPE.match(value):
        return "; no calendar has that day"
    return "; write year-month-day" if isinstance(value, str) and _SPLIT.match(value) else ""


def text_hint(value: object) -> str:
    """What to do about text that YAML reads as something else."""
    return "" if type(value) is str or isinstance(value, list | dict) else "; put it in quotes"


def plain(number: float) -> str:
    """A bound as people write it.

    >>> plain(250.0), plain(0.05), plain(551.2)
    ('250', '0.05', '551.2')
    """
    return f"{number:g}"


def span(bounds: tuple[float, float]) -> str:
    """Two bounds as a phrase.

    >>> span((0.05, 4.0))
    'from 0.05 to 4'
    """
    return f"from {plain(bounds[0])} to {plain(bounds[1])}"
