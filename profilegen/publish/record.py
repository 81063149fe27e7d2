"""The list of what was published and why the rest was not: `published.txt`.

It names everyone, so it lies in the athletes folder, which is private already, and not beside
the public copy, where it might be uploaded with it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from profilegen.history.records import Athlete
from profilegen.publish.sharing import Terms

RECORD_NAME = "published.txt"


def record_text(
    entries: Sequence[tuple[Athlete, Terms, str]], day: date, files: Iterable[str]
) -> str:
    """The list as text: the same for the same squad and day."""
    paths = sorted(files)
    lines = [
        f"What the public copy for {day.isoformat()} holds, and why it does not hold the rest.",
        "Made by `profilegen publish`. This list names everyone; it is not for publication.",
        "",
    ]
    for athlete, terms, public_id in entries:
        lines.append(f"{athlete.name} ({athlete.path})")
        lines += [f"  {line}" for line in _lines(terms, public_id, paths)]
        lines.append("")
    own = [path for path in paths if not path.startswith("lifters/")]
    lines += ["For everyone", *(f"  published: {path}" for path in own), ""]
    return "\n".join(lines)


def _lines(terms: Terms, public_id: str, paths: Sequence[str]) -> Iterable[str]:
    if terms.report != "off":
        folder = f"lifters/{public_id}/"
        for path in paths:
            if path.startswith(folder):
                yield f"published: {path} ({terms.report})"
    if terms.on_squad_page:
        yield f"published: on the squad page {'by name' if terms.by_name else 'by initials'}"
    if terms.anything and terms.body_mass:
        yield "published: body mass, and what follows from it"
    for reason in terms.held_back:
        yield f"held back: {reason}"
