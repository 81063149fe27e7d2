"""Where a site is built and how it takes the old one's place, all or nothing.

Beside every site `NAME` lies a hidden folder `.NAME.profilegen`, the workshop::

    .NAME.profilegen/
        .gitignore  keeps all of this out of any repository
        lock        held by the running build; a second build says so and leaves
        building/   the site being built; whoever holds the lock may clear it
        old/        only where two folders cannot be exchanged in one step (not Linux)
        cache/      profiles of earlier builds (see cache.py), readable by the owner only

The new site is complete in `building/`, its manifest written last, before it is exchanged
with the old one. A build that is killed therefore leaves either the old or the new site
whole, and the next build clears what lies around. Files in the site that the program did
not write (a CNAME, a .git folder) are carried into the new site and never removed.
"""

from __future__ import annotations

import ctypes
import filecmp
import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from profilegen.build.manifest import MANIFEST_NAME, read_manifest
from profilegen.errors import OutputError

if sys.platform != "win32":
    import fcntl

_AT_FDCWD = -100
_RENAME_EXCHANGE = 2
"""From linux/fs.h, for renameat2(2)."""


@dataclass(frozen=True, slots=True)
class Workshop:
    """The hidden folder beside one site; exists only while its lock is held."""

    site: Path
    root: Path

    @property
    def building(self) -> Path:
        """Where the new site is put together."""
        return self.root / "building"

    @property
    def old(self) -> Path:
        """Where the old site waits for its removal when it could not be exchanged."""
        return self.root / "old"

    @property
    def cache(self) -> Path:
        """Profiles of earlier builds."""
        return self.root / "cache"


@contextmanager
def open_workshop(out_dir: Path) -> Iterator[Workshop]:
    """Lock the site at `out_dir`, mend what a killed build left, and give the workshop.

    Raises OutputError when the folder is not ours to replace, cannot be written beside, or
    another build is at work on it. On leaving, whatever is still in `building` is removed.
    """
    site = check_site(out_dir)
    shop = Workshop(site, site.parent / f".{site.name}.profilegen")
    with explained(site):
        shop.root.mkdir(mode=0o700, parents=True, exist_ok=True)
        _keep_out_of_git(shop.root)
        lock = os.open(shop.root / "lock", os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
    try:
        _take(lock, site)
        with explained(site):
            _recover(shop)
            _refuse_if_not_ours(site)  # again: now nobody else is at work on it
            shop.building.mkdir()
        yield shop
    finally:
        with suppress(OSError):
            shutil.rmtree(shop.building)
        os.close(lock)


def swap_in(shop: Workshop, *, durable: bool = True) -> None:
    """Put the finished site in `building` in the place of the old one and clear the old.

    The manifest must already be in `building`. Raises OutputError, with the old site
    untouched, when one of the user's own files stands where the new site needs its place.
    """
    with explained(shop.site):
        if shop.site.exists():
            _carry_foreign(shop.site, shop.building)
            shutil.copymode(shop.site, shop.building)
        if durable:
            _flush(shop.building)
        if not shop.site.exists():
            shop.building.rename(shop.site)
        elif not any(shop.site.iterdir()):
            shop.site.rmdir()
            shop.building.rename(shop.site)
        elif not _exchange(shop.building, shop.site):
            _replace_in_two_steps(shop)
        if durable:
            _flush(shop.site.parent)
        _retire(shop.building, shop.site)
        _retire(shop.old, shop.site)


@contextmanager
def explained(path: Path) -> Iterator[None]:
    """Turn the operating system's refusals into an OutputError that names the file."""
    try:
        yield
    except OSError as error:
        where = error.filename or str(path)
        raise OutputError(f"{where}: cannot write here: {error.strerror or error}") from error


def check_site(out_dir: Path) -> Path:
    """The real place of the site, or OutputError when it cannot be or is not a site of ours.

    Writes nothing, so that a long build can be refused before it starts.
    """
    with explained(out_dir):
        if out_dir.is_symlink() and not out_dir.exists():
            raise OutputError(f"{out_dir}: is a broken link to {out_dir.readlink()}")
        try:
            site = out_dir.resolve()
        except RuntimeError:
            raise OutputError(f"{out_dir}: leads through a link to itself") from None
        if site.exists() and not site.is_dir():
            raise OutputError(f"{out_dir}: is a file; name a folder for the site")
        if site == site.parent:
            raise OutputError(f"{out_dir}: is the root of the file system; name a folder in it")
        if Path.cwd().is_relative_to(site):
            raise OutputError(
                f"{out_dir}: you are inside this folder, and the build replaces it whole; "
                "go to another folder first, or name a new one"
            )
        _refuse_if_not_ours(site)
    return site


def _keep_out_of_git(root: Path) -> None:
    """The workshop holds profiles that nobody agreed to publish; no repository takes it in."""
    ignore = root / ".gitignore"
    if not ignore.exists():
        ignore.write_text("*\n")


def refuse_mixing(out_dir: Path, *, public: bool) -> None:
    """OutputError when a private copy would take the place of a public one, or the reverse:
    whoever uploads that folder would upload what nobody agreed to."""
    manifest = read_manifest(out_dir)
    if manifest is None or manifest.public == public:
        return
    there, here = ("public", "private") if manifest.public else ("private", "public")
    raise OutputError(
        f"{out_dir}: holds a {there} copy, which a {here} one must not replace; name another folder"
    )


def _refuse_if_not_ours(site: Path) -> None:
    if site.exists() and any(site.iterdir()) and read_manifest(site) is None:
        raise OutputError(
            f"{site}: not empty and not built by profilegen ({MANIFEST_NAME} is missing or "
            "damaged), so it is left alone; name a new or empty folder"
        )


def _take(lock: int, site: Path) -> None:
    """Take the lock, or say that another build has it. The system frees it at any death."""
    if sys.platform == "win32":
        import msvcrt

        try:
            msvcrt.locking(lock, msvcrt.LK_NBLCK, 1)
        except OSError as error:
            raise OutputError(f"{site}: another build is writing this site") from error
    else:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            raise OutputError(
                f"{site}: another build is writing this site; wait for it to finish"
            ) from error
        except OSError as error:
            raise OutputError(
                f"{site}: no file can be locked here ({error.strerror or error}), so two builds "
                "could spoil each other's work; name a folder on another disk"
            ) from error


def _recover(shop: Workshop) -> None:
    """Bring back a whole site after a build was killed, and clear what it left."""
    if not shop.site.exists():
        # Only the two-step swap can leave no site; finish it, or undo it.
        if shop.old.exists() and read_manifest(shop.building) is not None:
            shop.building.rename(shop.site)
        elif shop.old.exists():
            shop.old.rename(shop.site)
    _retire(shop.building, shop.site)
    _retire(shop.old, shop.site)


def _retire(tree: Path, site: Path) -> None:
    """Remove a site folder that is no longer needed, saving what is not ours in it."""
    if not tree.exists():
        return
    if site.exists():
        # A half-built tree has no manifest, and nothing in it but our own files.
        _carry_foreign(tree, site)
    shutil.rmtree(tree)


def _carry_foreign(old: Path, new: Path) -> None:
    """Give `new` every file of `old` that the program did not write.

    Hard links where the file system has them, so that no byte is copied and the file is
    never absent; both trees are on one file system.
    """
    manifest = read_manifest(old)
    if manifest is None:
        return
    ours = {*manifest.files, MANIFEST_NAME}
    for relative in _paths_in(old):
        if relative.endswith("/"):
            (new / relative).mkdir(parents=True, exist_ok=True)
        elif relative not in ours:
            _carry(old / relative, new / relative)


def _paths_in(root: Path) -> Iterator[str]:
    """Every file and link below a folder, with forward slashes; empty folders end in one."""
    folders = [""]
    while folders:
        inside = folders.pop()
        with os.scandir(f"{root}/{inside}") as entries:
            found = sorted((entry.name, entry.is_dir(follow_symlinks=False)) for entry in entries)
        if inside and not found:
            yield inside
        for name, is_folder in found:
            if is_folder:
                folders.append(f"{inside}{name}/")
            else:
                yield inside + name


def _carry(source: Path, target: Path) -> None:
    if not os.path.lexists(target):
        target.parent.mkdir(parents=True, exist_ok=True)
        _link(source, target)
    elif not _same_file(source, target):
        raise OutputError(
            f"{source}: the program did not write this file, but the new site needs its "
            "place; move it away and build again"
        )


def _same_file(one: Path, other: Path) -> bool:
    if os.path.samestat(one.lstat(), other.lstat()):
        return True
    if one.is_symlink() or other.is_symlink():
        return one.is_symlink() and other.is_symlink() and one.readlink() == other.readlink()
    return one.is_file() and other.is_file() and filecmp.cmp(one, other, shallow=False)


def _link(source: Path, target: Path) -> None:
    try:
        os.link(source, target, follow_symlinks=False)
    except (OSError, NotImplementedError):
        shutil.copy2(source, target, follow_symlinks=False)


def _exchange(one: Path, other: Path) -> bool:
    """Exchange two folders in one step. False where the system cannot."""
    if not sys.platform.startswith("linux"):
        return False
    renameat2 = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
    if renameat2 is None:
        return False
    paths = os.fsencode(one), os.fsencode(other)
    return bool(renameat2(_AT_FDCWD, paths[0], _AT_FDCWD, paths[1], _RENAME_EXCHANGE) == 0)


def _replace_in_two_steps(shop: Workshop) -> None:
    """For a moment there is no site; killed right then, the next build brings it back."""
    shop.site.rename(shop.old)
    try:
        shop.building.rename(shop.site)
    except OSError:
        shop.old.rename(shop.site)
        raise


def _flush(folder: Path) -> None:
    """Ask the system to write the folder's file system to disk, so that a power cut after
    the swap finds whole files. One call for all files; a build never waits per file."""
    if not sys.platform.startswith("linux"):
        return
    syncfs = getattr(ctypes.CDLL(None, use_errno=True), "syncfs", None)
    if syncfs is None:
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        syncfs(handle)
    finally:
        os.close(handle)
