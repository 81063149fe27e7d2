"""Rows put into an athlete file as text, so that every byte that was there stays.

Writing the file anew from its values, even with a library that keeps comments, changes how
it looks somewhere: quotes, folded lines, the width of an indentation. Here nothing is
written anew. The YAML parser says where things stand; lines (or, in lists between brackets,
a few characters) are put in there; and the outcome is read again and compared with what it
must hold. Where that fails, the file is left alone and the coach is told.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Any

import yaml

from profilegen.history.records import Place, Units
from profilegen.history.written import day_or_none
from profilegen.history.yaml_tree import read_tree
from profilegen.intake.as_yaml import Values, flow, flow_list, scalar

_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_LINE_BREAK = re.compile("\r\n|[\n\r\x85\u2028\u2029]")
"""What ends a line for a YAML parser."""
_COMMENT = re.compile(r"( *)#")
_BLANK = re.compile(r"[ \t]*\Z")
_AFTER_SESSIONS = ("notes", "questions")
"""Keys that by custom stand last; `sessions` is started before them."""


@dataclass(frozen=True, slots=True)
class NewRows:
    """What one day gains. `session` is its place in the file's list, None for a new one."""

    on: date
    at: Place
    session: int | None = None
    sets: tuple[Values, ...] = ()
    """Keys and values of each set, as in the file."""
    body_mass: float | None = None
    note: str | None = None


class CannotInsertError(Exception):
    """The file is written in a way that leaves no safe place for new rows."""


def with_rows(text: str, days: Sequence[NewRows], units: Units) -> str:
    """The file with the rows of `days`, in the order given within one day.

    `text` has no mistake; `units` is its unit.

    Raises:
        CannotInsertError: the outcome would not hold what it must.
    """
    new = _Inserter(text, units).with_days(sorted(days, key=lambda day: day.on))
    told = read_tree(new, "")
    if told.problems or _plain(told.value) != _plain(_expected(text, days, units)):
        raise CannotInsertError("the rows would change what the file says")
    return new


# --- what the file must hold afterwards ------------------------------------------------


def _expected(text: str, days: Sequence[NewRows], units: Units) -> Any:
    value = read_tree(text, "").value
    sessions = value["sessions"] = value.get("sessions") or []
    for day in days:
        if day.session is not None:
            session = sessions[day.session]
            session |= _session_values(day, units, whole=False)
            if day.sets:
                session["sets"] = [*(session.get("sets") or []), *map(dict, day.sets)]
    new = [day for day in days if day.session is None]
    value["sessions"] = sessions + [
        _session_values(day, units) | ({"sets": [dict(s) for s in day.sets]} if day.sets else {})
        for day in new
    ]
    return value


def _session_values(day: NewRows, units: Units, *, whole: bool = True) -> dict[str, Any]:
    values: dict[str, Any] = {"on": day.on, "at": day.at} if whole else {}
    if day.body_mass is not None:
        values[f"body_mass_{units}"] = day.body_mass
    if day.note is not None:
        values["note"] = day.note
    return values


def _plain(value: Any) -> Any:
    """For comparing: the order of sessions does not count, that within a session does."""
    if not isinstance(value, dict):
        return value
    sessions = value.get("sessions") or []
    return {**value, "sessions": sorted(repr(session_items(one)) for one in sessions)}


def session_items(session: Any) -> Any:
    """A session's keys in a fixed order."""
    return (
        sorted(session.items(), key=lambda item: item[0]) if isinstance(session, dict) else session
    )


# --- where the rows go -----------------------------------------------------------------


@dataclass(slots=True)
class _Edit:
    """Text to put in at an offset; edits at one offset keep their order."""

    offset: int
    text: str


@dataclass(slots=True)
class _Style:
    """How sessions and sets are laid out in this file."""

    dash: int = 2
    """Column of a session's dash."""
    key: int = 4
    """Column of a session's keys."""
    set_dash: int = 2
    """Columns from a session's keys to its sets' dashes."""
    set_gap: str = " "
    spaced: bool = False
    """A blank line stands between sessions."""


class _Inserter:
    """One file and the edits to it."""

    def __init__(self, text: str, units: Units) -> None:
        self._text = text
        self._units = units
        self._starts = [0, *(found.end() for found in _LINE_BREAK.finditer(text))]
        ends = [found.start() for found in _LINE_BREAK.finditer(text)]
        self._lines = [
            text[start:end] for start, end in zip(self._starts, [*ends, len(text)], strict=True)
        ]
        first = _LINE_BREAK.search(text)
        self._newline = first[0] if first else "\n"
        self._edits: list[_Edit] = []
        self._root: Any = yaml.compose(text, Loader=_LOADER)

    def with_days(self, days: Sequence[NewRows]) -> str:
        """The text with all rows."""
        for day in days:
            if day.session is not None:
                self._extend(day)
        new = [day for day in days if day.session is None]
        if new:
            self._add_sessions(new)
        parts: list[str] = []
        done = 0
        for edit in sorted(self._edits, key=lambda edit: edit.offset):  # stable
            parts += (self._text[done : edit.offset], edit.text)
            done = edit.offset
        return "".join((*parts, self._text[done:]))

    # A session that is there --------------------------------------------------------

    def _extend(self, day: NewRows) -> None:
        sessions = _value(self._root, "sessions")
        session = sessions.value[day.session]
        self._add_keys(session, _session_values(day, self._units, whole=False))
        if not day.sets:
            return
        key, sets = _pair(session, "sets")
        if sets is None:
            if session.flow_style:
                last = session.value[-1][1]
                self._put(last.end_mark, f", sets: {flow_list(day.sets)}")
            else:
                column = session.start_mark.column
                lines = [" " * column + "sets:", *self._set_lines(day.sets, column + 2, " ")]
                self._put_lines(self._after(session, column), lines)
        elif _is_nothing(sets):
            _refuse_word(sets)
            column = session.start_mark.column
            self._put_lines(key.start_mark.line, self._set_lines(day.sets, column + 2, " "))
        elif sets.flow_style:
            self._put_in_flow(sets, [flow(values) for values in day.sets])
        else:
            column = sets.start_mark.column
            gap = " " * (sets.value[-1].start_mark.column - column - 1)
            lines = self._set_lines(day.sets, column, gap)
            self._put_lines(self._after(sets, column), lines)

    def _add_keys(self, session: Any, values: Values) -> None:
        anchor = _value(session, "at") or _value(session, "on")
        for key, value in values.items():
            written = f"{key}: {scalar(value)}"
            if session.flow_style:
                self._put(anchor.end_mark, f", {written}")
            else:
                column = session.start_mark.column
                self._put_lines(anchor.end_mark.line, [" " * column + written])

    # New sessions -------------------------------------------------------------------

    def _add_sessions(self, days: Sequence[NewRows]) -> None:
        key, sessions = _pair(self._root, "sessions")
        if sessions is None:
            self._start_sessions(days)
        elif _is_nothing(sessions):
            _refuse_word(sessions)
            self._put_lines(key.start_mark.line, self._session_lines(days, _Style()))
        elif sessions.flow_style:
            written = [self._flow_session(day) for day in days]
            self._put_in_flow(sessions, written)
        else:
            self._insert_by_date(sessions, days)

    def _start_sessions(self, days: Sequence[NewRows]) -> None:
        pairs = self._root.value
        if self._root.flow_style:
            written = ", ".join(self._flow_session(day) for day in days)
            self._put(pairs[-1][1].end_mark, f", sessions: [{written}]")
            return
        column = self._root.start_mark.column
        before = next(
            (at for at, (key, _) in enumerate(pairs) if key.value in _AFTER_SESSIONS and at),
            len(pairs),
        )
        key, value = pairs[before - 1]
        line = max(key.end_mark.line, self._last_line(value))
        style = _Style(dash=column + 2, key=column + 4)
        lines = [" " * column + "sessions:", *self._session_lines(days, style)]
        self._put_lines(self._with_comments(line, column + 1), lines)

    def _insert_by_date(self, sessions: Any, days: Sequence[NewRows]) -> None:
        style = self._style(sessions)
        dates = [day_or_none(_value(one, "on").value) for one in sessions.value]
        newest_first = len(set(dates)) > 1 and all(
            one is not None and other is not None and one >= other for one, other in pairwise(dates)
        )
        for day in reversed(days) if newest_first else days:
            earlier = [
                at
                for at, on in enumerate(dates)
                if on is not None and (on > day.on if newest_first else on <= day.on)
            ]
            lines = self._session_lines([day], style)
            if earlier:
                self._put_lines(
                    self._after(sessions.value[earlier[-1]], style.dash + 1),
                    ["", *lines] if style.spaced else lines,
                )
            else:
                key, _ = _pair(self._root, "sessions")
                self._put_lines(key.start_mark.line, [*lines, ""] if style.spaced else lines)

    def _style(self, sessions: Any) -> _Style:
        """The layout of the file's own sessions."""
        style = _Style(sessions.start_mark.column)
        last = sessions.value[-1]
        style.key = last.start_mark.column
        for session in reversed(sessions.value):
            sets = None if session.flow_style else _value(session, "sets")
            if isinstance(sets, yaml.SequenceNode) and not sets.flow_style:
                style.set_dash = sets.start_mark.column - session.start_mark.column
                style.set_gap = " " * (sets.value[0].start_mark.column - sets.start_mark.column - 1)
                break
        if len(sessions.value) > 1:
            above = last.start_mark.line - 1
            while above > 0 and _COMMENT.match(self._lines[above]):
                above -= 1
            style.spaced = bool(_BLANK.match(self._lines[above]))
        return style

    # Text of rows -------------------------------------------------------------------

    def _session_lines(self, days: Sequence[NewRows], style: _Style) -> list[str]:
        lines: list[str] = []
        for day in days:
            values = _session_values(day, self._units)
            start = " " * style.dash + "-" + " " * (style.key - style.dash - 1)
            for key, value in values.items():
                lines.append(f"{start}{key}: {scalar(value)}")
                start = " " * style.key
            if day.sets:
                lines.append(f"{start}sets:")
                lines += self._set_lines(day.sets, style.key + style.set_dash, style.set_gap)
        return lines

    def _set_lines(self, sets: Sequence[Values], column: int, gap: str) -> list[str]:
        return [f"{' ' * column}-{gap}{flow(values)}" for values in sets]

    def _flow_session(self, day: NewRows) -> str:
        parts = [f"{k}: {scalar(v)}" for k, v in _session_values(day, self._units).items()]
        if day.sets:
            parts.append(f"sets: {flow_list(day.sets)}")
        return "{" + ", ".join(parts) + "}"

    # Places -------------------------------------------------------------------------

    def _put(self, mark: Any, text: str) -> None:
        self._edits.append(_Edit(self._starts[mark.line] + mark.column, text))

    def _put_in_flow(self, node: Any, items: Sequence[str]) -> None:
        if node.value:
            self._put(node.value[-1].end_mark, "".join(f", {item}" for item in items))
        else:
            offset = self._starts[node.start_mark.line] + node.start_mark.column + 1
            self._edits.append(_Edit(offset, ", ".join(items)))

    def _put_lines(self, after: int, lines: Sequence[str]) -> None:
        """Whole lines behind line `after`, counted from 0."""
        if after + 1 < len(self._starts):
            text = "".join(line + self._newline for line in lines)
            self._edits.append(_Edit(self._starts[after + 1], text))
        else:  # the last line has no end
            text = "".join(self._newline + line for line in lines)
            self._edits.append(_Edit(len(self._text), text))

    def _after(self, node: Any, column: int) -> int:
        """The last line of a block, with the comments that belong to it."""
        return self._with_comments(self._last_line(node), column)

    def _with_comments(self, line: int, column: int) -> int:
        """Comments right below that are indented at least to `column` belong to what is above."""
        while line + 1 < len(self._lines):
            found = _COMMENT.match(self._lines[line + 1])
            if found is None or len(found[1]) < column:
                break
            line += 1
        return line

    def _last_line(self, node: Any) -> int:
        """The last line that holds something of the node."""
        if isinstance(node, yaml.ScalarNode):
            line: int = node.end_mark.line
            if node.style in ("|", ">"):
                line = min(line, len(self._lines) - 1)
                if node.end_mark.column == 0:
                    line -= 1
                while line > node.start_mark.line and _BLANK.match(self._lines[line]):
                    line -= 1
            return line
        if node.flow_style or not node.value:
            return int(node.end_mark.line)
        last = node.value[-1]
        if isinstance(last, tuple):
            return max(self._last_line(last[0]), self._last_line(last[1]))
        return self._last_line(last)


def _pair(node: Any, key: str) -> tuple[Any, Any]:
    """Key and value nodes of a mapping's entry, or None twice."""
    return next(((k, v) for k, v in node.value if k.value == key), (None, None))


def _value(node: Any, key: str) -> Any:
    return _pair(node, key)[1]


def _is_nothing(node: Any) -> bool:
    return isinstance(node, yaml.ScalarNode)


def _refuse_word(node: Any) -> None:
    """Nothing may be written as `~`, and then there is no place below it."""
    if node.value:
        raise CannotInsertError(f"{node.value} stands where rows should go")
