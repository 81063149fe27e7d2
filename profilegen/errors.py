"""Every exception the program raises on purpose; imports nothing.

A user's mistake is an `InputError` holding every `Problem` found; the command line
prints them one a line and exits with code 2. Anything else that escapes is a bug.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One mistake in one input file, at the place where a person would look for it.

    `line` and `column` count from 1; 0 means "the file as a whole".
    """

    path: str
    line: int
    column: int
    field: str
    message: str

    def __str__(self) -> str:
        place = f"{self.path}:{self.line}:{self.column}" if self.line else self.path
        return ": ".join(part for part in (place, self.field, self.message) if part)


class ProfilegenError(Exception):
    """Base of everything raised on purpose."""


class InputError(ProfilegenError):
    """The user's files cannot be used as they are; carries every problem at once."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(sorted(set(problems)))
        super().__init__("\n".join(str(p) for p in self.problems))

    def __reduce__(self) -> tuple[type[InputError], tuple[tuple[Problem, ...]]]:
        """For its way back from a worker process."""
        return type(self), (self.problems,)


class NormsError(ProfilegenError):
    """A norm file is wrong: a number without a source, an unknown source, a bad lift."""


class OutputError(ProfilegenError):
    """The site cannot be written where it was asked for (not ours, read-only, in use)."""
