"""Where the schemas that editors read are kept, and how a file points at one."""

from __future__ import annotations

SCHEMA_FOLDER = ".schema"
"""In the athletes folder; hidden, so that the loader passes it over."""

ATHLETE_SCHEMA = "athlete.json"
CLUB_SCHEMA = "club.json"


def pointer_line(schema: str) -> str:
    """The comment by which an editor finds the schema of a file.

    >>> pointer_line(ATHLETE_SCHEMA)
    '# yaml-language-server: $schema=.schema/athlete.json'
    """
    return f"# yaml-language-server: $schema={SCHEMA_FOLDER}/{schema}"
