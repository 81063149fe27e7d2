"""Profiles of earlier builds, so that a new stylesheet needs no new inference.

One file per profile, named by the hash of everything the profile depends on, so an entry
is right or absent and never stale. Its lines are what the squad's directory, squad.json and
the squad pages say of the lifter, then the whole profile, all as JSON. The folder lies in
the workshop, outside the site: it holds what a lifter may not have agreed to publish, and is
never published.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from profilegen.build.swap import explained
from profilegen.report.squad_parts import Entry
from profilegen.report.summary import Summary

STAMPS_NAME = "stamps.json"
PARTS = ("entry", "line", "summary", "profile")


@dataclass(frozen=True, slots=True)
class CachedProfile:
    """What is kept of one lifter, as JSON on one line each, what all squad pages need first."""

    entry: bytes
    line: bytes
    summary: bytes
    profile: bytes


class ProfileCache:
    """Reads and writes the cache. Losing it costs time, never correctness."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        with explained(folder):
            folder.mkdir(mode=0o700, exist_ok=True)

    def has(self, key: str) -> bool:
        """Whether a profile is kept under this key."""
        return self._file(key).is_file()

    def read(self, key: str, part: Literal["entry", "line", "summary", "profile"]) -> bytes:
        """One line of what is kept under this key, without reading those behind it."""
        with self._file(key).open("rb") as file:
            for name in PARTS:
                line = file.readline()
                if name == part:
                    break
        return line

    def keep(self, key: str, entry: CachedProfile) -> None:
        """Keep a profile; a killed build leaves the whole entry or none."""
        _replace(self._file(key), b"".join(getattr(entry, part).strip() + b"\n" for part in PARTS))

    def stamps(self) -> dict[str, list[int]]:
        """Size and time of every file of the last site; empty when unknown."""
        try:
            stamps = json.loads((self._folder / STAMPS_NAME).read_bytes())
        except (OSError, ValueError):
            return {}
        return stamps if isinstance(stamps, dict) else {}

    def keep_stamps(self, stamps: dict[str, list[int]]) -> None:
        """Remember size and time of every file of the site."""
        _replace(self._folder / STAMPS_NAME, json.dumps(stamps).encode())

    def forget_all_but(self, keys: Iterable[str]) -> None:
        """Remove every profile that the current site does not show."""
        wanted = {STAMPS_NAME, *(self._file(key).name for key in keys)}
        for file in self._folder.iterdir():
            if file.name not in wanted:
                with suppress(OSError):
                    file.unlink()

    def _file(self, key: str) -> Path:
        return self._folder / f"{key}.jsonl"


@dataclass(frozen=True, slots=True)
class KeptLifters:
    """What squad pages say of lifters, from the cache."""

    cache: ProfileCache
    keys: Mapping[str, str]
    """Of the cache, by lifter."""

    def entry(self, lifter: str) -> Entry:
        """The lifter in the directory."""
        return Entry.from_json(self.cache.read(self.keys[lifter], "entry"))

    def line(self, lifter: str) -> bytes:
        """The lifter in squad.json."""
        return self.cache.read(self.keys[lifter], "line")

    def summary(self, lifter: str) -> Summary:
        """The lifter on a squad page."""
        return Summary.from_json(self.cache.read(self.keys[lifter], "summary"))


def _replace(target: Path, content: bytes) -> None:
    temporary = target.with_suffix(".tmp")
    with explained(target):
        temporary.write_bytes(content)
        temporary.replace(target)
