"""What a coach writes into one cell, such as `84 87x 87`: the attempts at one lift.

Grammar
=======
Attempts stand apart by spaces, commas, semicolons, slashes or new lines. One attempt is, in
this order::

    load        84   84.5   84,5           one decimal after a comma, any after a point
    unit        84kg   185 lb              else the heading's, else the sheet's
    repetitions 100x3   100*3   100 * 3    1 when left out
    in reserve  100x3@1   100x3 @1.5       repetitions that were left, 0 to 5 in halves
                100x3@rpe9                 the same as @1: effort on the scale to ten
    marks       87x   87 x                 missed
                104xj   104 jerk x         clean made, jerk missed (clean and jerk only)
                104xc   104 clean x        missed at the clean
                90!                        nothing left

An empty cell, a dash, and `avoid` hold no attempt. Capitals make no difference.

What can be read in two ways is refused, with the two ways in the message: `84,87` (two
attempts or a decimal comma), `100 x 3` (a miss and then 3, or three repetitions) and `100x3@8`
(eight left, or an effort of eight).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from profilegen.history import plausible
from profilegen.history.records import Missed, Units
from profilegen.history.words import plain, quoted, span

MAX_ATTEMPTS = 40
"""Attempts in one cell."""

_ALL_OUT = 10
"""The top of the scale of effort: nothing left."""

MAX_REPS = 20
"""As in the athlete file."""

NOTHING = frozenset({"", "-", "–", "—"})
AVOID = "avoid"
"""What the blank sheet holds where a lifter avoids a lift."""

_SEPARATORS = re.compile(r"[\s,;/]*")
_LOAD = re.compile(r"([0-9]{1,4})(?:\.([0-9]{1,4})|,([0-9])(?![0-9]))?")
_UNIT = re.compile(r"\s*(kg|lb)s?(?![a-wyz])")
_REPS = re.compile(r"(?:\s*\*\s*|\s*x(?=[0-9]))([0-9]{1,4})(?![0-9.])")
_RESERVE = re.compile(r"\s*@\s*(rpe\s*)?([0-9]{1,2}(?:[.,][0-9])?)(?![0-9.])")
_MISS = re.compile(r"\s*(?:(clean|jerk)\s*x|x(clean|jerk|c|j)?)(?![a-z0-9])")
_MAX = re.compile(r"\s*!")
_REST = re.compile(r"\S+")
_LONE_NUMBER = re.compile(r"\s+([0-9]{1,2})(?![0-9.,])")
_DIGITS = tuple("0123456789")
_PARTS: dict[str, Missed] = {"": "lift", "c": "clean", "j": "jerk"}
_EXAMPLE = "attempts such as 84 87x 100x3@1"


@dataclass(frozen=True, slots=True)
class Attempt:
    """One attempt as written; `unit` None where the cell does not say."""

    load: float
    unit: Units | None = None
    reps: int = 1
    in_reserve: float | None = None
    missed: Missed | None = None
    effort_max: bool = False


class CellError(ValueError):
    """A cell that cannot be read; the message says what was expected and what was found."""


def read_attempts(text: str) -> tuple[Attempt, ...]:
    """The attempts in a cell.

    >>> [(a.load, a.missed) for a in read_attempts("84, 87 x, 87")]
    [(84.0, None), (87.0, 'lift'), (87.0, None)]
    >>> read_attempts("120*3@1")
    (Attempt(load=120.0, unit=None, reps=3, in_reserve=1.0, missed=None, effort_max=False),)

    Raises:
        CellError: the cell holds something else, or something that can be read in two ways.
    """
    plain = text.casefold().replace("×", "x").replace("−", "-").strip()
    if plain in NOTHING or plain == AVOID:
        return ()
    attempts: list[Attempt] = []
    for attempt in _attempts(plain):
        attempts.append(attempt)
        if len(attempts) > MAX_ATTEMPTS:
            raise CellError(f"expected at most {MAX_ATTEMPTS} attempts in one cell")
    return tuple(attempts)


def _attempts(text: str) -> Iterator[Attempt]:
    at = _end(_SEPARATORS, text, 0)
    while at < len(text):
        attempt, at = _attempt(text, at)
        yield attempt
        after = _end(_SEPARATORS, text, at)
        if after == at and at < len(text):
            raise _unexpected(text, at)
        at = after


def _attempt(text: str, at: int) -> tuple[Attempt, int]:
    """The attempt that starts at `at`, and where it ends."""
    start = at
    load = _LOAD.match(text, at)
    if load is None:
        raise _unexpected(text, at)
    at = load.end()
    if text[at : at + 1] == "," and text[at + 1 : at + 2] in _DIGITS:
        raise CellError(
            f"{quoted(_word(text, start))} can be read in two ways: put a space after a comma "
            "between attempts, and write decimals with a point"
        )
    unit: Units | None = None
    if found := _UNIT.match(text, at):
        unit, at = ("lb" if found[1] == "lb" else "kg"), found.end()
    reps = 1
    if found := _REPS.match(text, at):
        reps, at = int(found[1]), found.end()
        if not 1 <= reps <= MAX_REPS:
            raise CellError(
                f"expected 1 to {MAX_REPS} repetitions, found {quoted(text[start:at])}; "
                "the load comes first, and after a miss a space"
            )
    reserve: float | None = None
    if found := _RESERVE.match(text, at):
        read, at = left_at_rpe if found[1] else left, found.end()
        reserve = read(float(found[2].replace(",", ".")))
    missed, effort_max, at = _marks(text, at)
    attempt = Attempt(
        float(f"{load[1]}.{load[2] or load[3] or 0}"), unit, reps, reserve, missed, effort_max
    )
    if missed and (effort_max or reserve is not None):
        raise CellError(
            f"{quoted(text[start:at])} is a miss, and a miss already says that it was too much: "
            "leave the word about effort out"
        )
    if effort_max and reserve:
        raise CellError(f"{quoted(text[start:at])} says both nothing left and {reserve:g} left")
    return attempt, at


def left(reserve: float) -> float:
    """Repetitions left as they may stand in the athlete file.

    Raises:
        CellError: no such number, or one that is most likely an effort on the scale to ten.
    """
    most = plausible.MOST_IN_RESERVE
    if most < reserve <= _ALL_OUT and not reserve * 2 % 1:
        raise CellError(
            f"expected at most {plain(most)} repetitions left, found {plain(reserve)}; an RPE of "
            f"{plain(reserve)} is written @{plain(_ALL_OUT - reserve)} or @rpe{plain(reserve)}, "
            "a set with more left without the @"
        )
    if not 0 <= reserve <= most or reserve * 2 % 1:
        bounds = span((0, most))
        raise CellError(f"expected repetitions left {bounds}, in halves, found {plain(reserve)}")
    return reserve


def left_at_rpe(rpe: float) -> float:
    """Repetitions left at an effort on the scale to ten, 10 - RPE (Helms et al. 2016, Strength
    Cond J 38(4):42-49). Below 5 the scale has words only, no number of repetitions.

    >>> left_at_rpe(8), left_at_rpe(9.5), left_at_rpe(10)
    (2, 0.5, 0)
    """
    bounds = _ALL_OUT - plausible.MOST_IN_RESERVE, _ALL_OUT
    if not bounds[0] <= rpe <= bounds[1] or rpe * 2 % 1:
        raise CellError(
            f"expected an RPE {span(bounds)}, in halves, found {plain(rpe)}; a lower one says no "
            "number of repetitions left: leave it out"
        )
    return _ALL_OUT - rpe


def _marks(text: str, at: int) -> tuple[Missed | None, bool, int]:
    """A miss, nothing left, or neither, and where the marks end."""
    missed: Missed | None = None
    effort_max = False
    while True:
        if missed is None and (found := _MISS.match(text, at)):
            at = found.end()
            missed = _PARTS[(found[1] or found[2] or "")[:1]]
            number = _LONE_NUMBER.match(text, at)
            if number and int(number[1]) <= MAX_REPS:
                raise CellError(
                    f"x {number[1]} can be read in two ways: write x{number[1]} for repetitions, "
                    "and a comma after a miss"
                )
        elif not effort_max and (found := _MAX.match(text, at)):
            at, effort_max = found.end(), True
        else:
            return missed, effort_max, at


def _end(pattern: re.Pattern[str], text: str, at: int) -> int:
    found = pattern.match(text, at)
    return found.end() if found else at


def _word(text: str, at: int) -> str:
    """What stands around `at` between two white spaces."""
    start = max(text.rfind(space, 0, at) for space in " \t\n\r\xa0") + 1
    found = _REST.match(text, start)
    return found[0] if found else text


def _unexpected(text: str, at: int) -> CellError:
    word = _word(text, at)
    hint = next((said for pattern, said in _HINTS if pattern.match(word)), "")
    return CellError(f"expected {_EXAMPLE}, found {quoted(word)}{hint}")


_HINTS = (
    (re.compile(r"\(?-\s*[0-9]"), "; a miss is written 87x"),
    (re.compile(r"[0-9]{5}"), "; put a space between attempts"),
    (re.compile(r"-|[0-9.]+-[0-9]"), "; put a space between attempts, not a dash"),
    (re.compile(r"@|.*@"), "; after @ stand the repetitions left, as in 100x3@1, or 100x3@rpe9"),
)
"""What to do about some things that are often written."""
