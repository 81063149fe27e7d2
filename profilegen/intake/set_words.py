"""The columns beside the load, in a sheet with one row per set: text of a cell → value."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Literal, get_args

from profilegen.history import plausible
from profilegen.history.records import Look, Missed
from profilegen.history.texts import one_line, web_address
from profilegen.history.words import nearest, quoted, span
from profilegen.intake.cells import MAX_REPS, NOTHING, CellError, left, left_at_rpe

_LONGEST_NOTE = 500
_PARTS: Mapping[str, Missed] = {"clean": "clean", "jerk": "jerk", "c": "clean", "j": "jerk"}
_MISSED_PART = re.compile(r"miss(?:ed)? (?:the )?(clean|jerk)\Z|(clean|jerk) miss(?:ed)?\Z")
_NUMBER = re.compile(r"[0-9]{1,3}(?:[.,][0-9]{1,4})?\Z")


def _reps(text: str) -> int:
    if not text.isdecimal() or not text.isascii() or not 1 <= int(text[:9]) <= MAX_REPS:
        raise CellError(f"expected a whole number from 1 to {MAX_REPS}, found {quoted(text)}")
    return int(text)


def _number(text: str, bounds: tuple[float, float], what: str) -> float:
    value = float(text.replace(",", ".")) if _NUMBER.match(text) else -1.0
    if not bounds[0] <= value <= bounds[1]:
        raise CellError(f"expected {what} {span(bounds)}, found {quoted(text)}")
    return value


def _reserve(text: str) -> float:
    return left(_number(text, (0, 10), "repetitions left"))


def _rpe(text: str) -> float | None:
    return None if text in NOTHING else left_at_rpe(_number(text, (0, 10), "an RPE"))


def _missed(text: str, mark: str) -> Missed | Literal["made"] | None:
    """`mark` is what the word means: yes, no, made, missed, or nothing known."""
    word = text.casefold()
    if mark in ("yes", "missed") or word in ("x", "1"):
        return "lift"
    if word in NOTHING:
        return None
    if mark in ("no", "made") or word == "0":
        return "made"
    if word in _PARTS:
        return _PARTS[word]
    raise CellError(f"expected yes, no, clean or jerk, found {quoted(text)}")


def _made(text: str, mark: str) -> Missed | Literal["made"] | None:
    """The other way round: yes is made. An x is a tick to some and a miss to others."""
    word = text.casefold()
    if mark in ("yes", "made") or word == "1":
        return "made"
    if word in NOTHING:
        return None
    if mark in ("no", "missed") or word == "0":
        return "lift"
    part = _MISSED_PART.match(word)
    if part:
        return _PARTS[part[1] or part[2]]
    if word == "x":
        raise CellError('"x" can be read in two ways: write made or missed')
    raise CellError(f"expected made, missed, missed clean or missed jerk, found {quoted(text)}")


def _effort(text: str) -> Literal[True] | None:
    if text.casefold() in ("max", "!", "maximum", "maximal"):
        return True
    if text in NOTHING:
        return None
    raise CellError(f"expected max, found {quoted(text)}")


def _looked(text: str) -> Look:
    looks: tuple[Look, ...] = get_args(Look)
    for look in looks:
        if text.casefold() == look:
            return look
    said = f"expected easy, steady or grind, found {quoted(text)}"
    raise CellError(said + nearest(text, looks))


def remark(text: str) -> str:
    """A note on one line; line breaks of a cell become spaces."""
    line = " ".join(text.split())
    try:
        one_line(line)
    except ValueError:
        said = "expected text without hidden characters"
        raise CellError(f"{said}, found {quoted(line)}") from None
    if len(line) > _LONGEST_NOTE:
        raise CellError(f"expected at most {_LONGEST_NOTE} characters, found {len(line)}")
    return line


def _video(text: str) -> str:
    try:
        web_address(text)
    except ValueError:
        said = "expected a web address that starts with https:// or http://"
        raise CellError(f"{said}, found {quoted(text)}") from None
    return text


@dataclass(frozen=True, slots=True)
class Word:
    """What one column says about a set: the key it is kept under, and how to read a cell."""

    key: str
    read: Callable[[str, str], Any]
    """From the text and the mark that it is in the club's language (`Vocabulary.marks`). None:
    the cell says that there is nothing to say."""


def _of(read: Callable[[str], Any]) -> Callable[[str, str], Any]:
    return lambda text, mark: read(text)


SET_WORDS: Mapping[str, Word] = {
    "reps": Word("reps", _of(_reps)),
    "in_reserve": Word("in_reserve", _of(_reserve)),
    "rpe": Word("in_reserve", _of(_rpe)),
    "missed": Word("missed", _missed),
    "made": Word("missed", _made),
    "effort": Word("effort_max", _of(_effort)),
    "looked": Word("looked", _of(_looked)),
    "share": Word(
        "share", _of(lambda text: _number(text, plausible.SHARE_RANGE, "a share of the maximum"))
    ),
    "speed_m_s": Word(
        "speed_m_s",
        _of(lambda text: _number(text, plausible.SPEED_RANGE_M_S, "a bar speed in m/s")),
    ),
    "video": Word("video", _of(_video)),
    "note": Word("note", _of(remark)),
}
"""By column."""
