"""Mistakes in plain words: what pydantic found wrong, at the place where it stands."""

from __future__ import annotations

import types
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from itertools import islice
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from profilegen.errors import Problem
from profilegen.history.dates import Period
from profilegen.history.words import date_hint, found, nearest, number_hint, shown, text_hint
from profilegen.history.yaml_tree import Document, Loc

MAX_PROBLEMS = 200
"""Problems told of one file: telling of a million would help nobody."""

_KEY = "[key]"  # pydantic's mark for "the key itself is wrong"


@dataclass(frozen=True, slots=True)
class Finding:
    """A mistake at `loc`, before it is given its line and column."""

    loc: Loc
    message: str
    at_key: bool = False


@dataclass(frozen=True, slots=True)
class _Expected:
    """What one key may hold: in words, and as a type."""

    words: str
    type: Any

    @property
    def options(self) -> list[str]:
        """The words that are allowed, where only some are."""
        if get_origin(self.type) is Literal:
            return [option for option in get_args(self.type) if isinstance(option, str)]
        return []


def placed(findings: Iterable[Finding], document: Document, path: str) -> list[Problem]:
    """The first `MAX_PROBLEMS` findings and one more as problems, with line and column."""
    return [
        Problem(
            path,
            *document.places.spot(finding.loc, of_key=finding.at_key),
            field_name(finding.loc),
            finding.message,
        )
        for finding in islice(findings, MAX_PROBLEMS + 1)
    ]


def limited(problems: list[Problem]) -> list[Problem]:
    """At most `MAX_PROBLEMS`, the first ones, and a word that there are more."""
    if len(problems) <= MAX_PROBLEMS:
        return problems
    kept = sorted(set(problems))[:MAX_PROBLEMS]
    note = f"more than {MAX_PROBLEMS} problems in this file; mend these first"
    return [*kept, Problem(kept[-1].path, kept[-1].line + 1, 1, "", note)]


def field_name(loc: Loc) -> str:
    """The name a coach knows the place by: the keys after the last list position.

    >>> field_name(("sessions", 3, "sets", 0, "reps")), field_name(("sharing", "report"))
    ('reps', 'sharing.report')
    >>> field_name(("sessions", 3))
    'sessions'
    """
    tail: list[str] = []
    for step in reversed(loc):
        if isinstance(step, str):
            tail.append(step)
        elif tail:
            break
    # A loc that ends in a list position is known by the list's own key alone.
    if loc and isinstance(loc[-1], int):
        tail = tail[:1]
    return shown(".".join(reversed(tail)))


def schema_findings(
    error: ValidationError, model: type[BaseModel], units: object
) -> Iterator[Finding]:
    """Everything pydantic found wrong, except blanks: `blank_findings` tells of those."""
    for detail in error.errors(include_url=False, include_context=False):
        loc: Loc = tuple(detail["loc"])
        kind = detail["type"]
        if kind == "extra_forbidden":
            yield Finding(loc, _unknown_key(model, loc, detail, units), at_key=True)
        elif kind == "missing":
            yield Finding(loc, f"missing; expected {_expected(model, loc).words}")
        elif loc and loc[-1] == _KEY:
            key = loc[:-1]
            known = _Expected("", get_args(_expected(model, key[:-1]).type)[0]).options
            yield Finding(key, _unknown(str(key[-1]), known), at_key=True)
        elif detail["input"] is not None:
            yield Finding(loc, _mismatch(_expected(model, loc), detail["input"]))


def blank_findings(data: Any, model: type[BaseModel], at: Loc = ()) -> Iterator[Finding]:
    """Keys with nothing after them. Blank lists, blocks and notes are taken out: no harm."""
    if isinstance(data, dict):
        for key in list(data):
            value = data[key]
            if value is None:
                expected = _expected(model, (*at, key))
                if expected.type is None:
                    continue  # an unknown key: told as that
                if _may_be_blank(expected.type) or (*at, key) == ("notes",):
                    del data[key]
                else:
                    yield Finding(
                        (*at, key), f"expected {expected.words}, found nothing{_hash(key)}"
                    )
            else:
                yield from blank_findings(value, model, (*at, key))
    elif isinstance(data, list):
        for index, value in enumerate(data):
            if value is None:
                words = _expected(model, (*at, index)).words
                yield Finding((*at, index), f"expected {words}, found nothing")
            else:
                yield from blank_findings(value, model, (*at, index))


def _may_be_blank(kind: Any) -> bool:
    is_block = isinstance(kind, type) and issubclass(kind, BaseModel)
    return is_block or get_origin(kind) in (list, dict)


def _hash(key: str) -> str:
    """A colour without quotes is a comment to YAML, so nothing is left of it."""
    return "; # starts a comment, so put the colour in quotes" if key == "accent" else ""


def _mismatch(expected: _Expected, value: Any) -> str:
    hint = ""
    if expected.type in (int, float):
        hint = number_hint(value)
    elif expected.type is str and expected.words.startswith("text"):
        hint = text_hint(value)
    elif expected.type in (date, Period):
        hint = date_hint(value)
    elif expected.options and isinstance(value, str):
        hint = nearest(value, expected.options)
    size = f" ({len(value):,} characters)" if isinstance(value, str) and len(value) > 60 else ""
    return f"expected {expected.words}, found {found(value)}{size}{hint}"


def _unknown_key(model: type[BaseModel], loc: Loc, detail: ErrorDetails, units: object) -> str:
    key = str(loc[-1])
    if detail["input"] is None and key.strip().isdigit():  # {kg: 84,5}
        return "unknown key; is this a decimal comma? Write a point: 84.5"
    parent = _expected(model, loc[:-1]).type
    fields = getattr(parent, "model_fields", {})
    own, foreign = ("lb", "kg") if units == "lb" else ("kg", "lb")
    known = [
        name
        for name in fields
        if not (name.endswith(foreign) and name.removesuffix(foreign) + own in fields)
    ]
    return _unknown(key, known)


def _unknown(key: str, known: list[str]) -> str:
    hint = nearest(key, known)
    return f"unknown key{hint}" if hint else f"unknown key; expected one of: {', '.join(known)}"


def _expected(model: type[BaseModel], loc: Loc) -> _Expected:
    """What the schema says about the value at `loc`."""
    here = _Expected("a block of keys", model)
    for step in loc:
        here = _inside(here.type, step)
    return here


def _inside(kind: Any, step: str | int) -> _Expected:
    """What `kind` expects at one key or list position; type None for an unknown key."""
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        info = kind.model_fields.get(str(step))
        return _unwrapped(info.annotation, info.description) if info else _Expected("", None)
    arguments = get_args(kind)
    if get_origin(kind) is list:
        return _unwrapped(arguments[0], None)
    if get_origin(kind) is dict:
        return _unwrapped(arguments[1], None)
    return _Expected("", None)


def _unwrapped(annotation: Any, words: str | None) -> _Expected:
    """The type under `Annotated` and `| None`, with the description found on the way."""
    while True:
        origin = get_origin(annotation)
        if origin is Annotated:
            for extra in annotation.__metadata__:
                if isinstance(extra, FieldInfo) and extra.description:
                    words = words or extra.description
            annotation = get_args(annotation)[0]
        elif origin in (Union, types.UnionType):
            annotation = next(a for a in get_args(annotation) if a is not type(None))
        else:
            return _Expected(words or "a block of keys", annotation)


def unreadable(path: str, message: str) -> Problem:
    """A problem of the file as a whole."""
    return Problem(path, 0, 0, "", message)
