"""Jinja's environment as every page needs it, with its two most frequent steps made short.

A report looks up some 20,000 attributes and escapes some 6,000 texts. Jinja's own lookup can
also find keys of mappings and stands in for what is missing; the values given to templates
are objects that have all their attributes, so Python's own lookup does, and a misspelt name
is an error at once. Text without any special character needs no escaping, which one search
tells; all other text goes to MarkupSafe as ever.
"""

from __future__ import annotations

import builtins
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, nodes
from jinja2.compiler import CodeGenerator, Frame
from markupsafe import escape

_special = re.compile("[&<>\"']").search


def escaped(value: object) -> str:
    """The value as text in which nothing is markup, unless it is markup already.

    >>> escaped("Ann"), escaped("<b>"), escaped(escape("<b>"))
    ('Ann', Markup('&lt;b&gt;'), Markup('&lt;b&gt;'))
    """
    if type(value) is str and not _special(value):
        return value
    return escape(value)


class _Generator(CodeGenerator):
    """Calls `escaped` wherever Jinja would call MarkupSafe for what a template places."""

    def _output_child_pre(
        self, node: nodes.Expr, frame: Frame, finalize: CodeGenerator._FinalizeInfo
    ) -> None:
        if frame.eval_ctx.volatile or not frame.eval_ctx.autoescape or finalize.src is not None:
            super()._output_child_pre(node, frame, finalize)
        else:
            self.write("environment.escaped(")


class QuickEnvironment(Environment):
    """Templates that escape all they are given, and stop at a name nobody gave."""

    code_generator_class = _Generator
    getattr: Callable[[Any, str], Any] = staticmethod(builtins.getattr)  # type: ignore[assignment]
    escaped = staticmethod(escaped)

    def __init__(self, folder: Path) -> None:
        super().__init__(
            loader=FileSystemLoader(folder),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
            auto_reload=False,
        )
