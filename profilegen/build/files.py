"""Puts files into the site being built and remembers what was put there."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path, PurePosixPath

from profilegen.build.manifest import Manifest, sha256
from profilegen.build.swap import explained


class SiteWriter:
    """Writes into one new folder; `files` gives each path's SHA-256, for the manifest."""

    def __init__(self, building: Path) -> None:
        self._root = building
        self._folders: set[Path] = set()
        self.files: dict[str, str] = {}

    def write(self, path: str, content: bytes) -> None:
        """A new file at `path`, which has forward slashes and stays inside the site."""
        target = self._new_place(path)
        with explained(target):
            target.write_bytes(content)
        self.files[path] = sha256(content)

    def keep(self, path: str, old: Manifest, old_site: Path) -> None:
        """The old site's file, by a hard link where the file system has them."""
        target = self._new_place(path)
        with explained(target):
            try:
                os.link(old_site / path, target)
            except (OSError, NotImplementedError):
                target.write_bytes((old_site / path).read_bytes())
        self.files[path] = old.files[path]

    def _new_place(self, path: str) -> Path:
        if path in self.files or PurePosixPath(path).is_absolute() or ".." in path.split("/"):
            raise ValueError(f"not a new file inside the site: {path!r}")
        target = self._root / path
        if target.parent not in self._folders:
            with explained(target):
                target.parent.mkdir(parents=True, exist_ok=True)
            self._folders.add(target.parent)
        return target


class Untouched:
    """Tells which files of the old site still hold what the program wrote.

    A file whose size and time are as they were after the last build is taken to be
    unchanged; any other is read and compared with the manifest.
    """

    def __init__(self, site: Path, manifest: Manifest, stamps: dict[str, list[int]]) -> None:
        self._site = site
        self._manifest = manifest
        self._stamps = stamps

    def all(self, paths: Iterable[str]) -> bool:
        """Whether every one of these files can be kept as it is."""
        return all(self._one(path) for path in paths)

    def made_from(self, key: str) -> list[str]:
        """The shared files that were made from this, if they are all as they were."""
        paths = [path for path, made_from in self._manifest.shared.items() if made_from == key]
        return paths if self.all(paths) else []

    def _one(self, path: str) -> bool:
        expected = self._manifest.files.get(path)
        file = self._site / path
        if expected is None or file.is_symlink():
            return False
        try:
            if stamp(file) == self._stamps.get(path):
                return True
            return sha256(file.read_bytes()) == expected
        except OSError:
            return False


def stamp(file: Path) -> list[int]:
    """Size in bytes and time of the last change in ns: what tells an edited file apart."""
    status = file.stat()
    return [status.st_size, status.st_mtime_ns]
