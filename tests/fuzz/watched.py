"""Sees every file that Python opens for writing, creates, moves or removes, wherever it is."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import zip_longest
from pathlib import Path
from typing import Any

_WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_APPEND | os.O_TRUNC
_MOVES = {
    "os.rename", "os.remove", "os.rmdir", "os.mkdir", "os.link", "os.symlink", "os.truncate",
    "os.chmod", "os.chown", "os.utime", "shutil.rmtree", "shutil.move", "shutil.copyfile",
}  # fmt: skip
_FORBIDDEN = {"os.system", "os.exec", "os.posix_spawn", "subprocess.Popen", "socket.connect"}


class Watch:
    """What was touched while watching."""

    def __init__(self) -> None:
        self.on = False
        self.touched: set[Path] = set()
        self.forbidden: list[str] = []

    def outside(self, *allowed: Path) -> list[Path]:
        """What was touched and lies in none of these folders."""
        roots = [root.resolve() for root in allowed]
        return sorted(
            path for path in self.touched if not any(path.is_relative_to(root) for root in roots)
        )

    def hook(self, event: str, arguments: tuple[Any, ...]) -> None:
        """An audit hook (PEP 578)."""
        if not self.on:
            return
        if event == "open":
            path, mode, flags = arguments
            writes = (isinstance(mode, str) and set(mode) & set("wax+")) or (
                isinstance(flags, int) and flags & _WRITES
            )
            if writes and isinstance(path, str | bytes | os.PathLike):
                self._touch(path)
        elif event in _MOVES:
            self._touch_all([one for one in arguments[:2] if not isinstance(one, int)], arguments)
        elif event in _FORBIDDEN:
            self.forbidden.append(event)

    def _touch_all(self, paths: list[Any], arguments: tuple[Any, ...]) -> None:
        """Each path of a move and the open folder that it is meant from, if there is one."""
        folders = [one for one in arguments[len(paths) :] if isinstance(one, int)][-len(paths) :]
        for path, folder in zip_longest(paths, folders, fillvalue=-1):
            if isinstance(path, str | bytes | os.PathLike):
                self._touch(path, folder)

    def _touch(self, path: Any, folder: int = -1) -> None:
        start = Path(f"/proc/self/fd/{folder}").readlink() if folder >= 0 else Path.cwd()
        whole = os.path.normpath(start / os.fsdecode(path))
        if not whole.startswith(("/proc/", "/dev/")):
            self.touched.add(Path(whole))


_WATCH = Watch()
_HOOKED: list[bool] = []


@contextmanager
def watched() -> Iterator[Watch]:
    """From here on every touch is remembered. A hook cannot be removed, so there is one."""
    if not _HOOKED:
        sys.addaudithook(_WATCH.hook)
        _HOOKED.append(True)
    _WATCH.touched, _WATCH.forbidden = set(), []
    _WATCH.on = True
    try:
        yield _WATCH
    finally:
        _WATCH.on = False
