"""Checks raw YAML values of the norm files and collects everything that is wrong with them."""

from __future__ import annotations

import math
from collections.abc import Collection
from typing import Any

PRACTICE = "common practice"
"""What stands in place of a source where the trade knows a number and no study gives it."""


class Checker:
    """Hands raw values back with their type assured; `problems` grows with each that is wrong."""

    def __init__(self, sources: Collection[str]) -> None:
        self.sources = sources
        self.problems: list[str] = []

    def complain(self, where: str, what: str) -> None:
        """Note one problem at one place."""
        self.problems.append(f"{where}: {what}")

    def mapping(self, raw: Any, where: str, keys: set[str] | None = None) -> dict[Any, Any]:
        """`raw` as a mapping; with `keys`, exactly these (a trailing "?" makes one optional)."""
        if not isinstance(raw, dict):
            self.complain(where, f"expected keys and values, got {raw!r}")
            return {}
        if keys is not None:
            for key in sorted(str(key) for key in raw.keys() - {key.rstrip("?") for key in keys}):
                self.complain(where, f"unknown key {key}")
            for key in sorted(key for key in keys if key not in raw and not key.endswith("?")):
                self.complain(where, f"{key} is missing")
        return raw

    def rows(self, raw: Any, where: str, keys: set[str]) -> list[dict[Any, Any]]:
        """`raw` as a list of mappings with `keys`; rows that do not fit are left out."""
        if not isinstance(raw, list):
            self.complain(where, "expected a list")
            return []
        rows = []
        for number, row in enumerate(raw, start=1):
            before = len(self.problems)
            name = row.get("id", number) if isinstance(row, dict) else number
            checked = self.mapping(row, f"{where}: {name}", keys)
            if len(self.problems) == before:
                rows.append(checked)
        return rows

    def number(self, raw: Any, where: str, low: float = -math.inf, high: float = math.inf) -> float:
        """`raw` as a finite number within low..high."""
        if isinstance(raw, bool) or not isinstance(raw, int | float) or not math.isfinite(raw):
            self.complain(where, f"expected a number, got {raw!r}")
            return math.nan
        if not low <= raw <= high:
            self.complain(where, f"{raw} is not within {low:g} and {high:g}")
        return float(raw)

    def whole(self, raw: Any, where: str, low: int, high: int) -> int:
        """`raw` as a whole number within low..high; `low` where it is none."""
        value = self.number(raw, where, low, high)
        if math.isfinite(value) and value != int(value):
            self.complain(where, f"expected a whole number, got {raw!r}")
        return int(value) if math.isfinite(value) else low

    def text(self, raw: Any, where: str) -> str:
        """`raw` as a text that says something."""
        if not isinstance(raw, str) or not raw.strip():
            self.complain(where, f"expected text, got {raw!r}")
            return ""
        return raw

    def source(self, raw: Any, where: str) -> str:
        """`raw` as the key of a source, or "common practice"."""
        if raw is None:
            self.complain(where, "a number without a source")
        elif raw != PRACTICE and raw not in self.sources:
            self.complain(where, f"unknown source {raw}")
        return str(raw)
