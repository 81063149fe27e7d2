"""Values as a coach would write them in a YAML file, and as every reader takes them for the same.

What any reader might take for something else, or for a mark of YAML, stands in quotes.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

Values = Mapping[str, Any]
"""Keys and values of one entry."""

_WORD = re.compile(r"[a-z][a-z_]*\Z")
_NAME = re.compile(r"[^\W\d_](?:(?:[^\W_]|[ '’.-])*(?:[^\W_]|['’.-]))?\Z")
_READ_OTHERWISE = frozenset({"yes", "no", "on", "off", "y", "n", "true", "false", "null"})


def scalar(value: Any) -> str:
    """A number, a date, a truth value or text, for any place; one word needs no quotes.

    >>> scalar(84.0), scalar(84.5), scalar(True), scalar("jerk"), scalar("no: really")
    ('84', '84.5', 'true', 'jerk', '"no: really"')
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, int | float):
        return f"{value:.10g}"
    return _plain_or_quoted(str(value), _WORD)


def name(text: str) -> str:
    """Somebody's name, alone on its line; one of letters and what joins them needs no quotes.

    >>> name("Zoë O'Neil-Ode"), name("Ann #1"), name("No")
    ("Zoë O'Neil-Ode", '"Ann #1"', '"No"')
    """
    return _plain_or_quoted(text, _NAME)


def quoted(text: str) -> str:
    r"""Text in quotes, whatever it holds; nothing in it is invisible.

    >>> print(quoted('a "b"\t\u200b'))
    "a \"b\"\t\U0000200b"
    """
    return "".join(
        c if c.isprintable() else f"\\U{ord(c):08x}" for c in json.dumps(text, ensure_ascii=False)
    )


def flow(values: Values) -> str:
    """One entry between braces.

    >>> flow({"lift": "snatch", "kg": 84})
    '{lift: snatch, kg: 84}'
    """
    return "{" + ", ".join(f"{key}: {scalar(value)}" for key, value in values.items()) + "}"


def flow_list(entries: Sequence[Values]) -> str:
    """Entries between brackets."""
    return "[" + ", ".join(flow(values) for values in entries) + "]"


def _plain_or_quoted(text: str, plain: re.Pattern[str]) -> str:
    return text if plain.match(text) and text.casefold() not in _READ_OTHERWISE else quoted(text)
