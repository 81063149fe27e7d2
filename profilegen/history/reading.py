"""A path → text → validated model, or every problem of that file."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from profilegen.errors import InputError, Problem
from profilegen.history.problems import (
    Finding,
    blank_findings,
    limited,
    placed,
    schema_findings,
    unreadable,
)
from profilegen.history.words import found
from profilegen.history.yaml_tree import Document, read_tree

MAX_BYTES = 50_000_000
"""Largest file that is read."""

Model = TypeVar("Model", bound=BaseModel)


def read_bytes(path: Path, shown: str) -> bytes:
    """What is in a file; InputError when it cannot be read or is too large."""
    try:
        if not path.is_file():
            raise InputError([unreadable(shown, _no_file(path))])
        with path.open("rb") as stream:
            raw = stream.read(MAX_BYTES + 1)
    except OSError as error:
        reason = error.strerror or "unknown reason"
        raise InputError([unreadable(shown, f"cannot be read: {reason}")]) from None
    if len(raw) > MAX_BYTES:
        limit = MAX_BYTES // 1_000_000
        raise InputError([unreadable(shown, f"larger than {limit} MB, the limit for one file")])
    return raw


def read_text(path: Path, shown: str) -> str:
    """The text of a file; InputError when it cannot be read, is too large or not UTF-8."""
    return text_of(read_bytes(path, shown), shown)


def text_of(raw: bytes, shown: str) -> str:
    """The text that a file's bytes are; InputError when they are not UTF-8."""
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputError([Problem(shown, 1, 1, "", "saved as UTF-16; save it as UTF-8")])
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = error.object[: error.start]
        line = before.count(b"\n") + 1
        column = len(before[before.rfind(b"\n") + 1 :].decode("utf-8", "replace")) + 1
        said = f"not UTF-8 text (byte 0x{error.object[error.start]:02x}); save the file as UTF-8"
        raise InputError([Problem(shown, line, column, "", said)]) from None


def _no_file(path: Path) -> str:
    if path.is_symlink():
        return "a link that leads nowhere, or not to a file"
    return "not a file" if path.exists() else "not found"


def read_document(path: Path, shown: str, start_with: str) -> Document:
    """The values of a YAML file whose top is a mapping; InputError when it is not."""
    return document_of(read_text(path, shown), shown, start_with)


def document_of(text: str, shown: str, start_with: str) -> Document:
    """The values of a YAML text whose top is a mapping; InputError when it is not."""
    document = read_tree(text, shown)
    if document.fatal:
        raise InputError(document.problems)
    if not isinstance(document.value, dict):
        if document.value is None:
            said = f"the file is empty; start with {start_with}"
        else:
            said = f"expected keys such as {start_with}, found {found(document.value)}"
        raise InputError([*document.problems, Problem(shown, 1, 1, "", said)])
    return document


def validate(
    document: Document,
    model: type[Model],
    shown: str,
    sense: Callable[[dict[str, Any]], Iterator[Finding]],
) -> tuple[Model | None, list[Problem]]:
    """The document as a model and all its problems; no model when the schema is broken."""
    problems = list(document.problems)
    data = document.value
    if document.has_blanks:
        problems += placed(blank_findings(data, model), document, shown)
    valid: Model | None = None
    try:
        valid = model.model_validate(data)
    except ValidationError as error:
        problems += placed(schema_findings(error, model, data.get("units")), document, shown)
    problems += placed(sense(data), document, shown)
    return valid, limited(problems)
