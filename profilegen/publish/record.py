"""The list of what was published and why the rest was not: `published.txt`.

It names everyone, so it lies in the athletes folder, which is private already, and not beside
the public copy, where it might be uploaded with it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from profilegen.publish.sharing import Terms

RECORD_NAME = "published.txt"


@dataclass(frozen=True, slots=True)
class Entry:
    """What is to be said of one lifter."""

    name: str
    path: str
    """Of the athlete file, without its folder."""
    terms: Terms
    public_id: str


def record_text(entries: Iterable[Entry], day: date, files: Iterable[str]) -> str:
    """The list as text: the same for the same squad and day."""
    folders: defaultdict[str, list[str]] = defaultdict(list)
    for path in sorted(files):
        whose = path.split("/")[1] if path.startswith("lifters/") else ""
        folders[whose].append(path)
    lines = [
        f"What the public copy for {day.isoformat()} holds, and why it does not hold the rest.",
        "Made by `profilegen publish`. This list names everyone; it is not for publication.",
        "",
    ]
    for one in entries:
        lines.append(f"{one.name} ({one.path})")
        lines += [f"  {line}" for line in _lines(one.terms, folders.get(one.public_id, ()))]
        lines.append("")
    lines += ["For everyone", *(f"  published: {path}" for path in folders[""]), ""]
    return "\n".join(lines)


def _lines(terms: Terms, paths: Sequence[str]) -> Iterable[str]:
    if terms.report != "off":
        for path in paths:
            yield f"published: {path} ({terms.report})"
    if terms.on_squad_page:
        yield f"published: on the squad page {'by name' if terms.by_name else 'by initials'}"
    if terms.anything and terms.body_mass:
        yield "published: body mass, and what follows from it"
    for reason in terms.held_back:
        yield f"held back: {reason}"
