"""Text as it may stand in a file: no control characters, nothing that hides or reorders."""

from __future__ import annotations

import re
import unicodedata
from urllib.parse import urlsplit

from profilegen.history.yaml_tree import Ambiguous

_WEB_ADDRESS = re.compile(r"https?://[^\s<>\"'`{}|\\^]+\Z", re.IGNORECASE)
_REORDERING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Characters that show text in another order than it is written."""


def one_line(value: object) -> object:
    """Text without line breaks, trimmed; ValueError where YAML may have meant something else."""
    if isinstance(value, str):
        _refuse(value, allowed="")
        return value.strip()
    return value


def several_lines(value: object) -> object:
    """Text that may hold line breaks and tabs."""
    if isinstance(value, str):
        _refuse(value, allowed="\n\t\r")
    return value


def web_address(value: object) -> object:
    """An http or https address; ValueError for anything else that is text."""
    if isinstance(value, str):
        if not _WEB_ADDRESS.match(value):
            raise ValueError("not a web address")
        if not urlsplit(value).hostname:  # raises ValueError itself for a bad host
            raise ValueError("no host")
    return value


def _refuse(text: str, *, allowed: str) -> None:
    if isinstance(text, Ambiguous):
        raise ValueError("may be read as something else")
    if text.isascii() and text.isprintable():
        return
    for character in text:
        kind = unicodedata.category(character)
        if character in _REORDERING or (
            kind in ("Cc", "Cs", "Co", "Zl", "Zp") and character not in allowed
        ):
            raise ValueError("a character nobody can see")
