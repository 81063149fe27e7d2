"""What the program wrote into a site, and from what: the file `.profilegen.json`.

The manifest marks a folder as ours, names every file that may be replaced or removed, and
lets the next build keep what has not changed. It is the same bytes for the same input.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields
from functools import lru_cache
from pathlib import Path
from typing import Any

from pydantic_core import to_json

MANIFEST_NAME = ".profilegen.json"
MANIFEST_SCHEMA = 1

_NO_STEPS = frozenset({"", ".", ".."})
_SHA256 = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class LifterEntry:
    """What one lifter's pages were made from."""

    source_sha256: str
    """Of the athlete file, byte for byte."""
    profile_key: str
    """Of everything the profile depends on: file, club, program, day. Names it in the cache."""
    last_session_on: str | None
    """ISO date; lets the next build know the squad's latest day without reading the file."""


@dataclass(frozen=True, slots=True)
class Manifest:
    """Everything the next build needs to know about this one."""

    program_sha256: str
    """Of the package's own code and norms, and the versions of what it computes with."""
    club_sha256: str
    """Of club.yaml, the field CSV and the logo it names."""
    templates_sha256: str
    on: str
    """ISO date the profiles are for."""
    lifters: Mapping[str, LifterEntry] = field(default_factory=dict)
    files: Mapping[str, str] = field(default_factory=dict)
    """SHA-256 by path inside the site, with forward slashes; the manifest itself left out."""
    shared: Mapping[str, str] = field(default_factory=dict)
    """For each page of more than one lifter, or of none: hash of what it was made from."""
    public: bool = False
    """Whether this is a public copy. Its manifest names no lifter and holds no hash of a file
    that is not public itself."""

    def to_bytes(self) -> bytes:
        """The file's content."""
        own = {each.name: getattr(self, each.name) for each in fields(self)}
        own |= {name: dict(sorted(own[name].items())) for name in ("lifters", "files", "shared")}
        return to_json({"made_by": "profilegen", "schema": MANIFEST_SCHEMA, **own}) + b"\n"


def read_manifest(site: Path) -> Manifest | None:
    """The manifest of the site in a folder; None when there is none that we could have written.

    A manifest names files that will be removed, so a damaged or doctored one (paths that
    leave the folder, wrong types) counts as none.
    """
    try:
        return _parsed((site / MANIFEST_NAME).read_bytes())
    except OSError:
        return None


@lru_cache(maxsize=2)
def _parsed(raw: bytes) -> Manifest | None:
    """Remembered by content: a build asks for the same manifest at several places."""
    try:
        return _checked(json.loads(raw))
    except (ValueError, RecursionError):
        return None


def _checked(body: Any) -> Manifest | None:
    try:
        if body.pop("made_by") != "profilegen" or body.pop("schema") != MANIFEST_SCHEMA:
            return None
        lifters = {str(k): LifterEntry(**v) for k, v in body.pop("lifters").items()}
        manifest = Manifest(lifters=lifters, **body)
        hashes = [*manifest.files.values(), *manifest.shared.values()]
        hashes += [entry.profile_key for entry in lifters.values()]
        if not all(isinstance(h, str) and _SHA256.fullmatch(h) for h in hashes):
            return None
        if not all(_stays_inside(path) for path in manifest.files):
            return None
    except (AttributeError, KeyError, TypeError):
        return None
    return manifest


def _stays_inside(path: str) -> bool:
    steps = path.split("/")
    return "\\" not in path and "\0" not in path and _NO_STEPS.isdisjoint(steps)


def sha256(data: bytes) -> str:
    """Hex SHA-256 of some bytes."""
    return hashlib.sha256(data).hexdigest()


def sha256_of_parts(parts: Iterable[bytes | str]) -> str:
    """Hex SHA-256 of several parts, each with its length, so that borders count.

    >>> sha256_of_parts(["ab", "c"]) == sha256_of_parts(["a", "bc"])
    False
    """
    total = hashlib.sha256()
    for part in parts:
        data = part.encode() if isinstance(part, str) else part
        total.update(len(data).to_bytes(8, "little"))
        total.update(data)
    return total.hexdigest()


def sha256_of_tree(root: Path, *, suffixes: tuple[str, ...] | None = None) -> str:
    """Hex SHA-256 of every file below a folder, names included.

    `suffixes` limits it to files that end so; caches of compiled code never count.
    """
    files = sorted(
        (p.relative_to(root).as_posix(), p)
        for p in root.rglob("*")
        if p.is_file()
        and "__pycache__" not in p.parts
        and (suffixes is None or p.suffix in suffixes)
    )
    return sha256_of_parts(part for name, path in files for part in (name, path.read_bytes()))
