"""Values as they stand in a file, read with care: anything of the wrong type is passed over."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from profilegen.history.dates import Period, period_from
from profilegen.history.yaml_tree import Loc

Written = dict[str, Any]
"""A mapping as it stands in the file."""


def entries(data: Written, key: str, at: Loc = ()) -> Iterator[tuple[Loc, Written]]:
    """The mappings of the list under `key`, each with its place."""
    entries = data.get(key)
    if isinstance(entries, list):
        for index, entry in enumerate(entries):
            if isinstance(entry, dict):
                yield (*at, key, index), entry


def period_or_none(value: Any) -> Period | None:
    """A day, month or year, if it is one."""
    try:
        return period_from(value)
    except ValueError:
        return None


def day_or_none(value: Any) -> date | None:
    """A single day, if it is one."""
    period = period_or_none(value)
    return period.first if period and period.first == period.last else None


def shown_period(period: Period) -> str:
    """A day, or the first and last day of a longer period."""
    if period.first == period.last:
        return period.first.isoformat()
    return f"{period.first} to {period.last}"
