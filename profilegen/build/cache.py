"""Profiles of earlier builds, so that a new stylesheet needs no new inference.

One file per profile, named by the hash of everything the profile depends on, so an entry
is right or absent and never stale. Its lines are what the squad's directory, squad.json and
the squad pages say of the lifter, then the whole profile, all as JSON. The first two lines
of everyone also stand in one file, so that an edit of one lifter does not open a thousand.
The folder lies in the workshop, outside the site: it holds what a lifter may not have agreed
to publish, and is never published.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from pydantic_core import to_json

from profilegen.build.manifest import sha256
from profilegen.build.swap import explained
from profilegen.report.squad_parts import Entry
from profilegen.report.summary import Summary

STAMPS_NAME = "stamps.json"
BRIEFS_NAME = "briefs"
"""Of everyone in the site: key and first lines, so that a build need not open a file for each."""
Brief = tuple[bytes, bytes]
"""A lifter in the directory and in squad.json, as JSON."""
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
            with os.scandir(folder) as files:
                self._names = {file.name for file in files}
        self._before = _read_briefs(folder / BRIEFS_NAME)
        self._briefs = dict(self._before)

    def has(self, key: str) -> bool:
        """Whether a profile is kept under this key."""
        return _name(key) in self._names

    def brief(self, key: str) -> Brief:
        """The first lines of what is kept under this key."""
        if key not in self._briefs:
            with self._file(key).open("rb") as file:
                self._briefs[key] = file.readline().strip(), file.readline().strip()
        return self._briefs[key]

    def read(self, key: str, part: Literal["summary", "profile"]) -> bytes:
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
        self._names.add(_name(key))
        self._briefs[key] = entry.entry.strip(), entry.line.strip()

    def stamps(self) -> dict[str, list[int]]:
        """Size and time of every file of the last site; empty when unknown."""
        try:
            stamps = json.loads((self._folder / STAMPS_NAME).read_bytes())
        except (OSError, ValueError):
            return {}
        return stamps if isinstance(stamps, dict) else {}

    def finish(self, keys: Iterable[str], stamps: dict[str, list[int]]) -> None:
        """Keep what the next build asks for first, and nothing of anyone the site does not show.

        Args:
            keys: of every profile that the site shows.
            stamps: size and time of every file of the site.
        """
        wanted = set(keys)
        _replace(self._folder / STAMPS_NAME, to_json(stamps))
        briefs = {key: brief for key, brief in self._briefs.items() if key in wanted}
        if briefs != self._before:
            lines = (line for key, brief in briefs.items() for line in (key.encode(), *brief))
            whole = b"\n".join(lines)
            _replace(self._folder / BRIEFS_NAME, sha256(whole).encode() + b"\n" + whole)
        for name in self._names - {STAMPS_NAME, BRIEFS_NAME, *map(_name, wanted)}:
            with suppress(OSError):
                (self._folder / name).unlink()

    def _file(self, key: str) -> Path:
        return self._folder / _name(key)


def _name(key: str) -> str:
    return f"{key}.jsonl"


def _read_briefs(file: Path) -> dict[str, Brief]:
    """Of everyone in the last site; empty when unknown, or spoiled by a power cut."""
    try:
        said, _, whole = file.read_bytes().partition(b"\n")
    except OSError:
        return {}
    if said.decode(errors="replace") != sha256(whole):
        return {}
    lines = whole.split(b"\n") if whole else []
    keys = (key.decode() for key in lines[::3])
    return dict(zip(keys, zip(lines[1::3], lines[2::3], strict=True), strict=True))


@dataclass(frozen=True, slots=True)
class KeptLifters:
    """What squad pages say of lifters, from the cache."""

    cache: ProfileCache
    keys: Mapping[str, str]
    """Of the cache, by lifter."""

    def entry(self, lifter: str) -> Entry:
        """The lifter in the directory."""
        return Entry.from_json(self.cache.brief(self.keys[lifter])[0])

    def line(self, lifter: str) -> bytes:
        """The lifter in squad.json."""
        return self.cache.brief(self.keys[lifter])[1]

    def summary(self, lifter: str) -> Summary:
        """The lifter on a squad page."""
        return Summary.from_json(self.cache.read(self.keys[lifter], "summary"))


def _replace(target: Path, content: bytes) -> None:
    temporary = target.with_suffix(".tmp")
    with explained(target):
        temporary.write_bytes(content)
        temporary.replace(target)
