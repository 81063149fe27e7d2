"""YAML text → plain values, and where each of them stands in the file.

Reads the parser's events instead of calling `yaml.safe_load`, because that keeps the
last of two equal keys, reads `no` as false, `1:30` as 90 and `010` as 8, and expands
aliases without bound. Here:

- a plain number is a number only as everybody writes it (`84`, `-3`, `84.5`, `1e2`);
- `true`/`false` are the only truth values, `2025-11-03` is a date;
- whatever YAML readers disagree about stays text, as `Ambiguous` with what they make of it;
- anchors, aliases, tags, and keys that are not plain text are refused, nesting and the
  number of values are bounded.

Anything between quotes is text.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache
from typing import Any

import yaml

from profilegen.errors import Problem

MAX_DEPTH = 20
"""Blocks within blocks; the format needs six."""

MAX_VALUES = 500_000
"""Values in one file; a ten-year diary of 30,000 sets needs about 150,000."""

Loc = tuple[str | int, ...]
"""The way to a value: ("sessions", 3, "sets", 0, "kg")."""

Spot = tuple[int, int]
"""Line and column, counted from 1."""

_PARSER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class Ambiguous(str):
    """Text that YAML readers silently turn into something else; `reading` says into what."""

    __slots__ = ("reading",)
    reading: str

    def __new__(cls, text: str, reading: str) -> Ambiguous:
        """Keep `text` as it was written."""
        self = super().__new__(cls, text)
        self.reading = reading
        return self


@dataclass(slots=True)
class Places:
    """Where one mapping or list stands, with its keys and what it holds.

    `keys` and `values` hold the parser's own marks (line and column from 0): making
    anything else of each would cost more than reading the file.
    """

    start: Any
    keys: dict[str | int, Any] = field(default_factory=dict)
    values: dict[str | int, Any] = field(default_factory=dict)

    def spot(self, loc: Loc, *, of_key: bool = False) -> Spot:
        """Where `loc` stands, or the nearest enclosing thing that is in the file."""
        here: Any = self
        mark = self.start
        for depth, step in enumerate(loc):
            if not isinstance(here, Places) or step not in here.values:
                break
            if of_key and depth == len(loc) - 1 and step in here.keys:
                mark = here.keys[step]
                break
            here = here.values[step]
            mark = here.start if isinstance(here, Places) else here
        return mark.line + 1, mark.column + 1

    def line(self, *loc: str | int) -> int:
        """Line of `loc`, counted from 1."""
        return self.spot(loc)[0]


@dataclass(frozen=True, slots=True)
class Document:
    """One file's values. `fatal`: reading stopped early, so `value` is not complete."""

    value: Any
    places: Places
    problems: tuple[Problem, ...]
    fatal: bool
    has_blanks: bool = False
    """Whether some value is blank (`null`)."""


class _StopReadingError(Exception):
    """Reading cannot go on; carries what to say."""

    def __init__(self, mark: Any, message: str) -> None:
        super().__init__(message)
        self.mark = mark
        self.message = message


def read_tree(text: str, path: str) -> Document:
    """Read one YAML document; never raises for anything that `text` may hold."""
    problems: list[Problem] = []
    try:
        return _build(text, path, problems)
    except _StopReadingError as stop:
        problems.append(_problem(path, stop.mark, stop.message))
    except yaml.YAMLError as error:
        problems.append(_syntax_problem(error, text, path))
    nowhere = Places(yaml.Mark("", 0, 0, 0, None, 0))
    return Document(None, nowhere, tuple(problems), fatal=True)


def _build(text: str, path: str, problems: list[Problem]) -> Document:
    """The document; repeated keys go to `problems`, so that a later stop keeps them."""
    next_event = _PARSER(text).get_event
    scalar_event, alias_event = yaml.ScalarEvent, yaml.AliasEvent
    mapping_start, sequence_start = yaml.MappingStartEvent, yaml.SequenceStartEvent
    mapping_end, sequence_end = yaml.MappingEndEvent, yaml.SequenceEndEvent

    next_event()  # the stream starts
    event = next_event()
    if type(event) is yaml.StreamEndEvent:
        return Document(None, Places(event.start_mark), (), fatal=False)

    # `box` and `places` are the collection being filled: at first a list for the document
    # itself. In a mapping, `key_event` is the key that waits for its value.
    root = places = Places(event.start_mark)
    box: Any = []
    key_event: Any = None
    stack: list[tuple[Any, Places, Any]] = []
    has_blanks = False
    count = 0
    while True:
        event = next_event()
        kind = type(event)
        if kind is scalar_event:
            if event.anchor is not None or event.tag is not None:
                raise _StopReadingError(event.start_mark, _decoration(event))
            text = event.value
            if key_event is None and box.__class__ is dict:
                key_event = event
                if text in box:
                    first = places.keys[text].line + 1
                    said = f"this key is here twice, first on line {first}; keep one of them"
                    problems.append(_problem(path, event.start_mark, said, text))
                continue
            value = text if event.style or len(text) > _LONGEST else resolve(text)
            if value is None:
                has_blanks = True
            mark = event.start_mark
        elif kind is mapping_start or kind is sequence_start:
            if event.anchor is not None or event.tag is not None:
                raise _StopReadingError(event.start_mark, _decoration(event))
            if key_event is None and box.__class__ is dict:
                raise _StopReadingError(
                    event.start_mark, "a key must be a plain word, found a block or list"
                )
            if len(stack) >= MAX_DEPTH:
                raise _StopReadingError(
                    event.start_mark, f"blocks within blocks: the limit is {MAX_DEPTH}"
                )
            stack.append((box, places, key_event))
            box = {} if kind is mapping_start else []
            places = Places(event.start_mark)
            key_event = None
            continue
        elif kind is mapping_end or kind is sequence_end:
            value, mark = box, places
            box, places, key_event = stack.pop()
        elif kind is alias_event:
            raise _StopReadingError(
                event.start_mark,
                f"aliases (*{event.anchor[:40]}) are not allowed (limit 0): write the value out, "
                "or put text that starts with * in quotes",
            )
        else:  # the document ends
            break
        if box.__class__ is list:
            places.values[len(box)] = mark
            box.append(value)
        else:
            key = key_event.value
            if key not in box:  # of a repeated key, the first value stays
                box[key] = value
                places.keys[key] = key_event.start_mark
                places.values[key] = mark
            key_event = None
        count += 1
        if count > MAX_VALUES:
            raise _StopReadingError(
                event.start_mark, f"the limit is {MAX_VALUES:,} values in one file"
            )
    event = next_event()
    if type(event) is not yaml.StreamEndEvent:
        raise _StopReadingError(
            event.start_mark, "a second document starts here (---): one file, one document"
        )
    top = root.values[0]
    return Document(
        box[0],
        top if isinstance(top, Places) else Places(top),
        tuple(problems),
        fatal=False,
        has_blanks=has_blanks,
    )


def _decoration(event: Any) -> str:
    """What to say about an anchor or a tag."""
    if event.tag is not None:
        return "tags (!) are not used here: write the plain value, or put text in quotes"
    return (
        f"anchors (&{event.anchor[:40]}) are not allowed (limit 0): write the value out where it "
        "is needed, or put text that starts with & in quotes"
    )


# --- plain scalars ---------------------------------------------------------------------

_LONGEST = 40
"""No number, date or truth value is longer; longer plain scalars are text."""

_INT = re.compile(r"[-+]?(?:0|[1-9][0-9]*)\Z")
_FLOAT = re.compile(r"[-+]?(?:(?:0|[1-9][0-9]*)(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][-+]?[0-9]+)?\Z")
_DATE = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})\Z")
_TIME = re.compile(r"[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}(?:[Tt]|[ \t]+)[0-9]{1,2}:[0-9]{2}")
_SEXAGESIMAL = re.compile(r"[-+]?[0-9][0-9_]*(?::[0-5]?[0-9])+(?:\.[0-9_]*)?\Z")
_OCTAL = re.compile(r"[-+]?0[0-7_]+\Z")
_OTHER_BASE = re.compile(r"[-+]?0(?:x_*[0-9a-fA-F][0-9a-fA-F_]*|o_*[0-7][0-7_]*|b_*[01][01_]*)\Z")
_UNDERSCORED = re.compile(r"[-+]?[0-9][0-9_]*_[0-9_]*(?:\.[0-9_]*)?\Z")
_LEADING_ZERO = re.compile(r"[-+]?0[0-9]+(?:\.[0-9]*)?\Z")
_INFINITE = re.compile(r"[-+]?\.(?:inf|Inf|INF)\Z")
_TRUTH = {"yes": "true", "on": "true", "y": "true", "no": "false", "off": "false", "n": "false"}


@lru_cache(maxsize=8192)
def resolve(text: str) -> Any:
    """The value of a plain (unquoted) scalar.

    >>> resolve("84"), resolve("84.5"), resolve("true"), resolve("snatch"), resolve("")
    (84, 84.5, True, 'snatch', None)
    >>> resolve("2025-11-03")
    datetime.date(2025, 11, 3)
    >>> resolve("1:30"), resolve("1:30").reading
    ('1:30', '90 (base 60)')
    """
    if not text or text in ("~", "null", "Null", "NULL"):
        return None
    first = text[0]
    if first.isalpha():
        lower = text.lower()
        if lower in ("true", "false") and text in (lower, lower.upper(), lower.capitalize()):
            return lower == "true"
        return Ambiguous(text, _TRUTH[lower]) if lower in _TRUTH else text
    if first not in "+-.0123456789":
        return text
    if _INT.match(text):
        return int(text)
    if _FLOAT.match(text):
        return float(text)
    return _ambiguous_number(text)


def _ambiguous_number(text: str) -> Any:
    """A date, or text that looks like a number to some YAML reader, or just text."""
    parts = _DATE.match(text)
    if parts:
        try:
            return date(int(parts[1]), int(parts[2]), int(parts[3]))
        except ValueError:
            return text  # no calendar has that day
    if _TIME.match(text):
        return Ambiguous(text, "a date with a time of day")
    if _SEXAGESIMAL.match(text):
        return Ambiguous(text, f"{_base_60(text)} (base 60)")
    if _OTHER_BASE.match(text):
        return Ambiguous(text, f"{int(text.replace('_', ''), 0)} (another base)")
    if _OCTAL.match(text):
        return Ambiguous(text, f"{int(text.replace('_', ''), 8)} (base 8)")
    if _UNDERSCORED.match(text):
        return Ambiguous(text, text.replace("_", ""))
    if _LEADING_ZERO.match(text):
        return Ambiguous(text, "a number with a leading zero")
    if _INFINITE.match(text):
        return Ambiguous(text, "infinity")
    if text in (".nan", ".NaN", ".NAN"):
        return Ambiguous(text, "not a number")
    return text


def _base_60(text: str) -> str:
    """What YAML 1.1 makes of `1:30`."""
    sign = -1 if text.startswith("-") else 1
    total = 0.0
    for part in text.lstrip("+-").replace("_", "").split(":"):
        total = total * 60 + float(part)
    return f"{sign * total:g}"


# --- syntax errors in plain words ------------------------------------------------------

_PLAIN_WORDS = (
    ("cannot start any token", "a value cannot start with this character; put text in quotes"),
    ("could not find expected ':'", "there is no ':' after the key on this line"),
    (
        "mapping values are not allowed",
        "a ':' where none can stand; put text with a colon in quotes, and check the indentation",
    ),
    ("did not find expected ',' or '}'", "a { is never closed with }, or a comma is missing"),
    ("did not find expected ',' or ']'", "a [ is never closed with ], or a comma is missing"),
    (
        "did not find expected key",
        "this line does not fit the block it stands in; check the indentation",
    ),
    (
        "did not find expected '-' indicator",
        "this line does not fit the list it stands in; check the indentation and the dash",
    ),
    ("found unexpected end of stream", "a quote is opened and never closed"),
    (
        "did not find expected alphabetic",
        "* and & have a meaning in YAML; put text that starts with them in quotes",
    ),
    ("did not find expected <document start>", "text where nothing more can stand"),
    ("did not find expected node content", "a value is missing here, or a bracket is one too many"),
    ("block sequence entries are not allowed", "a list cannot start here; put it on its own line"),
    ("found unknown escape character", 'a \\ in "double quotes" has a meaning; use single quotes'),
    ("found invalid Unicode", "an escape in this text is not a character"),
    ("control characters are not allowed", "an invisible control character; retype this line"),
    ("exceeded maximum nesting depth", f"blocks within blocks: the limit is {MAX_DEPTH}"),
    (
        "found undefined tag handle",
        "! has a meaning in YAML; put text that starts with it in quotes",
    ),
    ("found unexpected ':'", "a ':' where none can stand; put text with a colon in quotes"),
    ("expected whitespace or line break", "! has a meaning in YAML; put text with it in quotes"),
    ("hexdecimal", 'a \\ in "double quotes" has a meaning; use single quotes'),
    ("directive", "% at the start of a line has a meaning in YAML; put text with it in quotes"),
    ("non-alphabetical", "% at the start of a line has a meaning in YAML; put it in quotes"),
    ("unexpected document indicator", "--- or ... starts a line before a quote is closed"),
    (
        "mapping keys are not allowed",
        "? has a meaning in YAML; put text that starts with it in quotes",
    ),
    ("did not find expected comment or line break", "unexpected text after | or >"),
)


_STARTED_EARLIER = (
    "could not find expected ':'",
    "did not find expected ',' or",
    "found unexpected end of stream",
)


def _syntax_problem(error: yaml.YAMLError, text: str, path: str) -> Problem:
    """One syntax error, where it is and what a coach can do about it."""
    what = str(getattr(error, "problem", None) or getattr(error, "reason", None) or error)
    mark = getattr(error, "problem_mark", None)
    started = getattr(error, "context_mark", None)
    if mark is None or (started is not None and any(found in what for found in _STARTED_EARLIER)):
        mark = started  # the parser notices later than a person would look
    if mark is None:
        position = getattr(error, "position", None)
        line, column = _line_and_column(text, position) if isinstance(position, int) else (1, 1)
    else:
        line, column = mark.line + 1, mark.column + 1
    lines = text.split("\n")
    written = lines[line - 1] if line <= len(lines) else ""
    if "\t" in written and (
        not written[: column - 1].strip() or "\t" in written[column - 1 : column]
    ):
        tab = written.index("\t") + 1
        return Problem(path, line, tab, "", "a tab; YAML is indented with spaces")
    for found, words in _PLAIN_WORDS:
        if found in what:
            return Problem(path, line, column, "", words)
    return Problem(path, line, column, "", f"this is not YAML: {what}")


def _line_and_column(text: str, position: int) -> Spot:
    """Line and column, from 1, of the character at `position`."""
    before = text[:position]
    return before.count("\n") + 1, position - (before.rfind("\n") + 1) + 1


def _problem(path: str, mark: Any, message: str, name: str = "") -> Problem:
    return Problem(path, mark.line + 1, mark.column + 1, name, message)
