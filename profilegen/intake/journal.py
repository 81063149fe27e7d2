"""Several files replaced, all or none, however the program ends.

`replace_all` writes every new file beside the old one, then a journal that names them all,
and only then renames. Until the journal is in place nothing has changed; from then on
everything will: whoever comes next, and calls `recover`, finishes the renames. Every step
is forced to disk before the next, so a power cut is a kill like any other.

In the folder of the athletes, all hidden and passed over by the loader::

    .intake-journal.json    which files are being replaced, with SHA-256 of old and new
    .ann.yaml.intake-new    what ann.yaml is about to hold

A lock on the folder itself keeps two writers apart; the system frees it however they end.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from profilegen.errors import OutputError

if sys.platform != "win32":
    import fcntl

JOURNAL = ".intake-journal.json"
_NEW = re.compile(r"\.[^/\\]+\.intake-new\Z")
_NAME = re.compile(r"[^/\\\0]{1,200}\Z")
_SHA = re.compile(r"[0-9a-f]{64}\Z")
_ABSENT = "absent"
"""Stands for the hash of a file that is not there."""


@dataclass(frozen=True, slots=True)
class Replacement:
    """One file of the folder: what it holds now (None: it is not there) and what it shall hold."""

    name: str
    old: bytes | None
    new: bytes


def replace_all(folder: Path, replacements: Sequence[Replacement]) -> None:
    """Replace all files or none.

    Raises:
        OutputError: a file is not what it was when the change was planned, or the folder
            cannot be written; nothing has changed.
    """
    if not replacements:
        return
    with _locked(folder), _explained(folder):
        _finish(folder)
        for change in replacements:
            _check(folder, change)
        try:
            for change in replacements:
                _write(folder / _new_name(change.name), change.new, like=folder / change.name)
            journal = [
                {"name": change.name, "old": _sha(change.old), "new": _sha(change.new)}
                for change in replacements
            ]
            draft = folder / _new_name(JOURNAL)
            _write(draft, json.dumps({"version": 1, "files": journal}).encode())
            _sync_folder(folder)
            draft.replace(folder / JOURNAL)
        except OSError:
            _clear(folder)
            raise
        _sync_folder(folder)
        _finish(folder)


def recover(folder: Path) -> tuple[str, ...]:
    """Finish what a killed `replace_all` began; quick when there is nothing to do.

    Returns the names of files that somebody edited in between: they stay as they are, and
    the rows meant for them come with the next intake of the same sheet.

    Raises:
        OutputError: there is something to finish, and the folder cannot be written.
    """
    if not (folder / JOURNAL).exists():
        return ()
    with _locked(folder), _explained(folder):
        return _finish(folder)


def _finish(folder: Path) -> tuple[str, ...]:
    """Rename what the journal names, then clear away; with no journal, clear away."""
    journal = folder / JOURNAL
    edited: list[str] = []
    try:
        files = _read_journal(journal)
    except FileNotFoundError:
        _clear(folder)
        return ()
    for name, (old, new) in files.items():
        target, fresh = folder / name, folder / _new_name(name)
        if _sha_of_file(target) == old and _sha_of_file(fresh) == new:
            fresh.replace(target)
        elif _sha_of_file(target) != new:
            edited.append(name)
    _sync_folder(folder)
    journal.unlink()
    _sync_folder(folder)
    _clear(folder)
    return tuple(edited)


def _read_journal(journal: Path) -> Mapping[str, tuple[str, str]]:
    """Old and new hash by file name."""
    raw = journal.read_bytes()
    try:
        entries = json.loads(raw)["files"]
        files = {entry["name"]: (entry["old"], entry["new"]) for entry in entries}
        sound = all(
            _NAME.match(name)
            and name not in (".", "..")
            and all(sha == _ABSENT or _SHA.match(sha) for sha in shas)
            for name, shas in files.items()
        )
    except (ValueError, KeyError, TypeError, AttributeError):
        sound = False
    if not sound:
        raise OutputError(
            f"{journal.name} is not what intake writes; look at it, remove it, and try again"
        )
    return files


def _check(folder: Path, change: Replacement) -> None:
    target = folder / change.name
    if target.is_symlink():
        raise OutputError(f"{change.name} is a link; intake writes into plain files only")
    if _sha_of_file(target) != _sha(change.old):
        raise OutputError(f"{change.name} was edited in the meantime; run the same command again")


def _new_name(name: str) -> str:
    return f".{name}.intake-new"


def _sha(content: bytes | None) -> str:
    return _ABSENT if content is None else hashlib.sha256(content).hexdigest()


def _sha_of_file(path: Path) -> str:
    try:
        return _sha(path.read_bytes())
    except FileNotFoundError:
        return _ABSENT


def _write(path: Path, content: bytes, like: Path | None = None) -> None:
    """A new file, on disk when this returns; with the permissions of `like` if that exists."""
    path.unlink(missing_ok=True)
    with path.open("xb") as stream:
        stream.write(content)
        stream.flush()
        if like is not None:
            with suppress(FileNotFoundError, NotImplementedError):
                path.chmod(like.stat().st_mode & 0o7777)
        os.fsync(stream.fileno())


def _clear(folder: Path) -> None:
    """Remove new files that no journal names."""
    for path in sorted(folder.iterdir()):
        if _NEW.match(path.name):
            path.unlink(missing_ok=True)


def _sync_folder(folder: Path) -> None:
    if sys.platform == "win32":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        with suppress(OSError):  # some file systems have no way to do this
            os.fsync(handle)
    finally:
        os.close(handle)


@contextmanager
def _locked(folder: Path) -> Iterator[None]:
    """Alone in this folder: a second writer waits, which takes a moment only."""
    if sys.platform == "win32":
        yield
        return
    with _explained(folder):
        handle = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
    try:
        with suppress(OSError):  # a file system without locks
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


@contextmanager
def _explained(folder: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        name = Path(error.filename).name if error.filename else folder.name
        reason = error.strerror or "unknown reason"
        raise OutputError(f"{folder}: {name} cannot be written: {reason}") from error
