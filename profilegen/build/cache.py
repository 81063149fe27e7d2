"""Profiles of earlier builds, so that a new stylesheet needs no new inference.

One file per profile, named by the hash of everything the profile depends on, so an entry
is right or absent and never stale. The first line is the lifter's summary for the squad
pages, the second the whole profile, both as JSON. The folder lies in the workshop, outside
the site: it holds what a lifter may not have agreed to publish, and is never published.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from profilegen.build.swap import explained

STAMPS_NAME = "stamps.json"


@dataclass(frozen=True, slots=True)
class CachedProfile:
    """What is kept of one lifter, as JSON on one line each."""

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

    def summary(self, key: str) -> bytes:
        """The summary kept under this key, without reading the profile behind it."""
        with self._file(key).open("rb") as file:
            return file.readline()

    def profile(self, key: str) -> bytes:
        """The profile kept under this key."""
        with self._file(key).open("rb") as file:
            file.readline()
            return file.read()

    def keep(self, key: str, entry: CachedProfile) -> None:
        """Keep a profile; a killed build leaves the whole entry or none."""
        _replace(self._file(key), entry.summary.strip() + b"\n" + entry.profile.strip() + b"\n")

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


def _replace(target: Path, content: bytes) -> None:
    temporary = target.with_suffix(".tmp")
    with explained(target):
        temporary.write_bytes(content)
        temporary.replace(target)
