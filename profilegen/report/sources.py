"""Where a number comes from, as a reader sees it."""

from __future__ import annotations

from profilegen.norms.catalogue import PRACTICE, Norms
from profilegen.report.language import Words


def source_text(words: Words, norms: Norms, key: str) -> str:
    """Authors and year of a source; common practice says so; an unknown key stands as it is."""
    if key == PRACTICE:
        return words._("common practice, no source")
    source = norms.sources.get(key)
    if source is None:
        return words._(key) if key else ""
    authors = words._(source.authors)
    return f"{authors} ({words._(source.year)})" if source.year else authors
