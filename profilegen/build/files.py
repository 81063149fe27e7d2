"""Puts files into the site being built and remembers what was put there.

A large squad's site has tens of thousands of files and most builds change a few, so what is
done for every file here is done with plain strings and one look at the disk.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Protocol

from profilegen.build.manifest import MANIFEST_NAME, Manifest, sha256
from profilegen.build.swap import explained

Stamp = list[int]
"""Size in bytes and time of the last change in ns: what tells an edited file apart."""


class Writer(Protocol):
    """Takes the files of a site, each once."""

    files: dict[str, str]
    """SHA-256 by path, for the manifest."""
    stamps: dict[str, Stamp]
    """By path, for the next build."""
    changed: bool
    """Whether any file is not the old site's."""

    def write(self, path: str, content: bytes) -> None:
        """A new file at `path`, which has forward slashes and stays inside the site."""

    def keep(self, path: str) -> None:
        """The old site's file, which is `Untouched`."""


class SiteWriter:
    """Writes into one new folder, into which the old site's files come by hard links."""

    def __init__(self, building: Path, untouched: Untouched | None = None) -> None:
        self._root = str(building)
        self._untouched = untouched
        self._folders: set[str] = set()
        self.files: dict[str, str] = {}
        self.stamps: dict[str, Stamp] = {}
        self.changed = False

    def write(self, path: str, content: bytes) -> None:
        """See `Writer`."""
        target = self._new_place(path)
        file = Path(target)
        with explained(file):
            file.write_bytes(content)
            self.stamps[path] = stamp(file.stat())
        self.files[path] = sha256(content)
        self.changed = True

    def keep(self, path: str) -> None:
        """See `Writer`; a copy where the file system has no hard links."""
        if self._untouched is None:
            raise ValueError("there is no old site")
        # looked up before anything is linked: a copy into a link would write into the old site
        known = self._untouched.stamps[path]
        old, target = self._untouched.place(path), self._new_place(path)
        try:
            os.link(old, target)
            self.stamps[path] = known
        except OSError:
            file = Path(target)
            with explained(file):
                file.write_bytes(Path(old).read_bytes())
                self.stamps[path] = stamp(file.stat())
        self.files[path] = self._untouched.manifest.files[path]

    def _new_place(self, path: str) -> str:
        _check(path, self.files)
        target = f"{self._root}/{path}"
        folder = target.rpartition("/")[0]
        if folder not in self._folders:
            with explained(Path(folder)):
                Path(folder).mkdir(parents=True, exist_ok=True)
            self._folders.add(folder)
        return target


class SiteChanger:
    """Changes a site where it lies, one file after the other: for a preview's own folder.

    Killed in between it leaves a mixture, so no site that anybody else looks at is built so.
    """

    def __init__(self, untouched: Untouched) -> None:
        self._untouched = untouched
        self.files: dict[str, str] = {}
        self.stamps: dict[str, Stamp] = {}
        self.changed = False

    def write(self, path: str, content: bytes) -> None:
        """See `Writer`."""
        _check(path, self.files)
        target = Path(self._untouched.place(path))
        with explained(target):
            target.parent.mkdir(parents=True, exist_ok=True)
            replace_file(target, content)
            self.stamps[path] = stamp(target.stat())
        self.files[path] = sha256(content)
        self.changed = True

    def keep(self, path: str) -> None:
        """See `Writer`."""
        self.files[path] = self._untouched.manifest.files[path]
        self.stamps[path] = self._untouched.stamps[path]

    def finish(self, manifest: Manifest) -> None:
        """Remove what the old site had and the new one has not; the manifest comes last."""
        for path in self._untouched.manifest.files.keys() - self.files.keys():
            gone = Path(self._untouched.place(path))
            with explained(gone):
                gone.unlink(missing_ok=True)
            with suppress(OSError):  # unless something else lies in it
                gone.parent.rmdir()
        target = Path(self._untouched.place(MANIFEST_NAME))
        with explained(target):
            replace_file(target, manifest.to_bytes())


class Untouched:
    """Tells which files of the old site still hold what the program wrote.

    A file whose size and time are as they were after the last build is taken to be
    unchanged; any other is read and compared with the manifest.
    """

    def __init__(self, site: Path, manifest: Manifest, stamps: Mapping[str, Stamp]) -> None:
        self._site = str(site)
        self._known = stamps
        self._made_from: dict[str, list[str]] = {}
        for path, key in manifest.shared.items():
            self._made_from.setdefault(key, []).append(path)
        self.manifest = manifest
        self.stamps: dict[str, Stamp] = {}
        """Of the files found to be untouched."""

    def place(self, path: str) -> str:
        """Where a file of the old site lies."""
        return f"{self._site}/{path}"

    def all(self, paths: Iterable[str]) -> bool:
        """Whether every one of these files can be kept as it is."""
        return all(path in self.stamps or self._one(path) for path in paths)

    def made_from(self, key: str) -> list[str]:
        """The shared files that were made from this, if they are all as they were."""
        paths = self._made_from.get(key, [])
        return paths if self.all(paths) else []

    def _one(self, path: str) -> bool:
        expected = self.manifest.files.get(path)
        if expected is None:
            return False
        try:
            status = os.lstat(f"{self._site}/{path}")
            if not stat.S_ISREG(status.st_mode):
                return False
            found = stamp(status)
            if found != self._known.get(path):
                content = Path(self._site, path).read_bytes()
                if sha256(content) != expected:
                    return False
        except OSError:
            return False
        self.stamps[path] = found
        return True


def stamp(status: os.stat_result) -> Stamp:
    """A file's stamp."""
    return [status.st_size, status.st_mtime_ns]


def replace_file(target: Path, content: bytes) -> None:
    """New content for a file: whoever reads it meanwhile gets all of the old or of the new."""
    temporary = target.with_name(f".{target.name}.new")
    temporary.write_bytes(content)
    temporary.replace(target)


def _check(path: str, files: Mapping[str, str]) -> None:
    if path in files or path.startswith("/") or ".." in path.split("/"):
        raise ValueError(f"not a new file inside the site: {path!r}")
