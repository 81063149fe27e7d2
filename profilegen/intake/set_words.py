"""The columns beside the load, in a sheet with one row per set: text of a cell → value."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any, Literal, get_args

from profilegen.history import plausible
from profilegen.history.records import Look, Missed
from profilegen.history.texts import one_line, web_address
from profilegen.history.words import nearest, quoted, span
from profilegen.intake.cells import MAX_REPS, NOTHING, CellError

_LONGEST_NOTE = 500
_YES = frozenset({"x", "yes", "y", "true", "1", "missed", "miss"})
_NO = frozenset({"no", "n", "false", "0", "made"})
_PARTS: Mapping[str, Missed] = {"clean": "clean", "jerk": "jerk", "c": "clean", "j": "jerk"}
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
    value = _number(text, (0, 10), "repetitions in reserve")
    if value * 2 % 1:
        raise CellError(f"expected repetitions in halves, found {quoted(text)}")
    return value


def _missed(text: str) -> Missed | Literal["made"] | None:
    word = text.casefold()
    if word in _YES:
        return "lift"
    if word in NOTHING:
        return None
    if word in _NO:
        return "made"
    if word in _PARTS:
        return _PARTS[word]
    raise CellError(f"expected yes, no, clean or jerk, found {quoted(text)}")


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


SET_WORDS: Mapping[str, Callable[[str], Any]] = {
    "reps": _reps,
    "in_reserve": _reserve,
    "missed": _missed,
    "effort": _effort,
    "looked": _looked,
    "share": lambda text: _number(text, plausible.SHARE_RANGE, "a share of the maximum"),
    "speed_m_s": lambda text: _number(text, plausible.SPEED_RANGE_M_S, "a bar speed in m/s"),
    "video": _video,
    "note": remark,
}
"""By column. None: the cell says that there is nothing to say."""
