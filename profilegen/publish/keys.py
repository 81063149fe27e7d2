"""Passphrases for locked reports: `keys.yaml` in the athletes folder.

::

    secret: 6f0c…                      # 64 hex digits; hides file names of public pages
    lifters:
      kofi: {passphrase: acorn maple …, salt: 9a41…}   # salt: 32 hex digits

The file is the only place where a passphrase stands. It is readable by its owner alone,
`.gitignore` leaves it out, and what stands in it is never changed by the program: a lifter
keeps the passphrase until somebody edits the file.
"""

from __future__ import annotations

import hmac
import math
import os
import re
import secrets
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from profilegen.build.swap import explained
from profilegen.errors import InputError, OutputError, Problem
from profilegen.history.problems import Finding
from profilegen.history.reading import read_document, validate
from profilegen.history.words import shown_path
from profilegen.publish.lock import SALT_BYTES, as_typed

KEYS_FILE = "keys.yaml"
WORDS_IN_A_PASSPHRASE = 6
SHORTEST_PASSPHRASE = 20
"""Characters of a passphrase that somebody made up; what is made here is longer."""
_LINE_END = re.compile(rb"\r\n|\n|\r")
_LIFTERS = re.compile(rb"(?:\A(?:\xef\xbb\xbf)?|[\r\n])lifters:")
NAME_DIGITS = 20
"""Hex digits of a public page's name: 80 bits."""

_START = '"secret: …"; better remove the file and run `profilegen keys`'
_HEADER = """\
# Passphrases of locked reports, made by `profilegen keys`. Give each lifter their own, by word of
# mouth or on paper, and show this file to nobody: no repository, no mail, no shared folder.
# A passphrase may be changed here (at least {shortest} characters); copies of the site published
# before can still be opened with the old one.
"""


@dataclass(frozen=True, slots=True)
class LifterKey:
    """What locks one lifter's report."""

    passphrase: str = field(repr=False)
    salt: bytes


@dataclass(frozen=True, slots=True)
class KeyRing:
    """Everything in keys.yaml; empty when there is no such file."""

    secret: bytes = field(default=b"", repr=False)
    lifters: Mapping[str, LifterKey] = field(default_factory=dict)

    def page_name(self, lifter_id: str) -> str:
        """A name for public pages that says nothing about the lifter, the same every time.

        HMAC-SHA-256 with the club's secret: a plain hash could be undone by hashing every
        first name there is.
        """
        return hmac.digest(self.secret, lifter_id.encode(), "sha256").hex()[:NAME_DIGITS]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class _KeyEntry(_Strict):
    passphrase: Annotated[str, Field(description="a passphrase, in quotes if it is a number")]
    salt: Annotated[
        str,
        Field(
            pattern=rf"^[0-9a-f]{{{2 * SALT_BYTES}}}$",
            description=f"{2 * SALT_BYTES} hexadecimal digits in quotes",
        ),
    ]


class _KeysFile(_Strict):
    secret: Annotated[
        str, Field(pattern="^[0-9a-f]{64}$", description="64 hexadecimal digits in quotes")
    ]
    lifters: Annotated[dict[str, _KeyEntry], Field(description="a block of lifters")] = {}


def read_keys(squad_dir: Path) -> KeyRing:
    """The keys of a squad's folder; InputError with every problem of the file."""
    path = squad_dir / KEYS_FILE
    return _read(path) if path.exists() else KeyRing()


def _read(path: Path) -> KeyRing:
    shown = shown_path(path)
    try:
        document = read_document(path, shown, _START)
        written, problems = validate(document, _KeysFile, shown, _findings)
        if problems or written is None:
            raise InputError(problems)
    except InputError as error:
        raise InputError(map(_discreet, error.problems)) from None
    return KeyRing(
        bytes.fromhex(written.secret),
        {
            lifter: LifterKey(entry.passphrase, bytes.fromhex(entry.salt))
            for lifter, entry in written.lifters.items()
        },
    )


_FOUND = re.compile(r", found (?!nothing\Z).*", re.DOTALL)
_MARK = re.compile(r" \([*&][^)]*\)")
_ID = re.compile(r"[A-Za-z0-9_-]+\Z")


def _discreet(problem: Problem) -> Problem:
    """The problem without anything that may be a passphrase, a salt or the secret, or a part."""
    said = _FOUND.sub(", found something else, which is not repeated here", problem.message)
    keys = problem.field.split(".")
    field = problem.field if all(map(_ID.match, keys)) else keys[0] * bool(_ID.match(keys[0]))
    return replace(problem, field=field, message=_MARK.sub("", said))


def _findings(data: dict[str, Any]) -> Iterator[Finding]:
    """Passphrases that are too easy; they are never repeated in a message."""
    lifters = data.get("lifters")
    for lifter, entry in lifters.items() if isinstance(lifters, dict) else ():
        phrase = entry.get("passphrase") if isinstance(entry, dict) else None
        if not isinstance(phrase, str):
            continue
        at = ("lifters", lifter, "passphrase")
        if not (phrase.isascii() and phrase.isprintable()):
            yield Finding(at, "a passphrase is made of letters (a-z), digits, spaces and signs")
        elif len(as_typed(phrase)) < SHORTEST_PASSPHRASE:
            yield Finding(
                at,
                f"too short to be safe: at least {SHORTEST_PASSPHRASE} characters, or remove the "
                "line and run `profilegen keys`",
            )


def add_keys(squad_dir: Path, lifter_ids: Iterable[str]) -> tuple[str, ...]:
    """Make the keys that are missing and leave the others as they are.

    Returns the ids of lifters who have got a passphrase just now.
    """
    path = squad_dir / KEYS_FILE
    ring = read_keys(squad_dir)
    new = tuple(sorted(set(lifter_ids) - set(ring.lifters)))
    if path.exists():
        with explained(path):
            path.chmod(0o600)
            old = path.read_bytes()
        if not new:
            return ()
    else:
        head = _HEADER.format(shortest=SHORTEST_PASSPHRASE)
        old = f'{head}secret: "{secrets.token_hex(32)}"\nlifters:\n'.encode()
    _replace(path, _with_lifters(old, new, first=not ring.lifters), ring, new)
    return new


def _with_lifters(old: bytes, new: Iterable[str], *, first: bool) -> bytes:
    """The file with more lifters at its end; `first`: it has none yet."""
    found = _LINE_END.search(old)
    end = found[0] if found else b"\n"
    lines = ["lifters:"] if first and not _LIFTERS.search(old) else []
    for lifter in new:
        salt = secrets.token_hex(SALT_BYTES)
        lines.append(f'  "{lifter}": {{passphrase: {new_passphrase()}, salt: "{salt}"}}')
    start = b"" if old.endswith((b"\n", b"\r")) else end
    return old + start + b"".join(line.encode() + end for line in lines)


def _replace(path: Path, content: bytes, before: KeyRing, new: tuple[str, ...]) -> None:
    """Write the file whole or not at all, after making sure that nothing in it got lost."""
    beside = path.with_name(f".{KEYS_FILE}.new")
    with explained(path):
        beside.unlink(missing_ok=True)
        with os.fdopen(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
    try:
        try:
            after = _read(beside)
        except InputError:
            after = KeyRing()
        kept = all(after.lifters.get(lifter) == key for lifter, key in before.lifters.items())
        same_secret = before.secret in (b"", after.secret)
        if not (kept and same_secret and set(new) <= set(after.lifters)):
            raise OutputError(f"{path}: cannot be added to; move the block `lifters` to the end")
        with explained(path):
            beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


@cache
def words() -> tuple[str, ...]:
    """Common short English words that sound and are spelt differently from each other."""
    text = files("profilegen.publish").joinpath("words.txt").read_text(encoding="utf-8")
    return tuple(text.split())


def new_passphrase() -> str:
    """Words drawn by the system's source of secrets, the same one twice if it so happens."""
    return " ".join(secrets.choice(words()) for _ in range(WORDS_IN_A_PASSPHRASE))


def entropy_bits() -> float:
    """How hard a passphrase made here is to guess, in bits: log2 of all there could be.

    >>> 60 < entropy_bits() < 70
    True
    """
    return WORDS_IN_A_PASSPHRASE * math.log2(len(words()))
