"""Profiles of earlier builds, so that a new stylesheet needs no new inference.

One file per profile, named by the hash of everything the profile depends on, so an entry is
never stale. Its lines are what the squad's directory, squad.json and the squad pages say of the
lifter, then the whole profile, all as JSON; before them stands the SHA-256 of each. A line that
does not agree with it (a power cut, a bad disk) counts as absent, as does a file that has gone.
The first two of everyone also stand in one file, so that an edit of one lifter does not open a
thousand.
The folder lies in the workshop, outside the site: it holds what a lifter may not have agreed
to publish, and is never published.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, get_args

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
Part = Literal["entry", "line", "summary", "profile"]
PARTS: tuple[Part, ...] = get_args(Part)


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
        """Whether a profile is kept under this key; what is in it is looked at by `read`."""
        return _name(key) in self._names

    def read(self, key: str, part: Part) -> bytes | None:
        """One line of what is kept under this key; None when that is not what was written.

        What stands behind it is not read. The first two lines of everyone are known already.
        """
        if part not in _FIRST:
            return self._read(key, (part,))[part]
        if key not in self._briefs:
            found = self._read(key, _FIRST)
            entry, line = found["entry"], found["line"]
            if entry is None or line is None:
                return None
            self._briefs[key] = entry, line
        return self._briefs[key][_FIRST.index(part)]

    def keep(self, key: str, made: CachedProfile) -> None:
        """Keep a profile; a killed build leaves the whole entry or none."""
        lines = [getattr(made, part).strip() for part in PARTS]
        sums = " ".join(map(sha256, lines)).encode()
        _replace(self._file(key), b"".join(line + b"\n" for line in (sums, *lines)))
        self._names.add(_name(key))
        self._briefs[key] = lines[0], lines[1]

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

    def _read(self, key: str, wanted: tuple[Part, ...]) -> dict[Part, bytes | None]:
        """Some lines of an entry, each None when it is not what was written."""
        found: dict[Part, bytes | None] = dict.fromkeys(wanted)
        with suppress(OSError), self._file(key).open("rb") as file:
            sums = dict(zip(PARTS, file.readline().decode(errors="replace").split(), strict=False))
            for part in PARTS[: PARTS.index(wanted[-1]) + 1]:
                line = file.readline().removesuffix(b"\n")
                if part in wanted and sha256(line) == sums.get(part):
                    found[part] = line
        return found


_FIRST: tuple[Part, Part] = ("entry", "line")


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
    make_again: Callable[[str], CachedProfile]
    """By lifter: what the cache had and has lost."""

    def entry(self, lifter: str) -> Entry:
        """The lifter in the directory."""
        return Entry.from_json(self._part(lifter, "entry"))

    def line(self, lifter: str) -> bytes:
        """The lifter in squad.json."""
        return self._part(lifter, "line")

    def summary(self, lifter: str) -> Summary:
        """The lifter on a squad page."""
        return Summary.from_json(self._part(lifter, "summary"))

    def _part(self, lifter: str, part: Part) -> bytes:
        found = self.cache.read(self.keys[lifter], part)
        if found is not None:
            return found
        made = self.make_again(lifter)
        self.cache.keep(self.keys[lifter], made)
        again: bytes = getattr(made, part).strip()
        return again


def _replace(target: Path, content: bytes) -> None:
    temporary = target.with_suffix(".tmp")
    with explained(target):
        temporary.write_bytes(content)
        temporary.replace(target)
