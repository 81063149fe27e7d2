"""The club's logo as an address that carries its own bytes.

It goes into the stylesheet as a background image: browsers treat a data: image as a picture
and nothing else, so no script in an SVG file ever runs, and pages need no further request.
"""

from __future__ import annotations

import base64
from pathlib import Path

from profilegen.history.club import LOGO_TYPES
from profilegen.history.reading import read_bytes
from profilegen.history.records import Club
from profilegen.history.words import shown_path


def logo_address(folder: Path, club: Club) -> str:
    """A data: address (RFC 2397); empty without a logo.

    Args:
        folder: the one that club.yaml lies in.
        club: checked, so its logo can be read and ends as one of `LOGO_TYPES`.

    Raises:
        InputError: the logo has gone since.
    """
    if not club.logo:
        return ""
    packed = base64.b64encode(logo_bytes(folder, club)).decode("ascii")
    media = next(media for end, media in LOGO_TYPES.items() if club.logo.lower().endswith(end))
    return f"data:{media};base64,{packed}"


def logo_bytes(folder: Path, club: Club) -> bytes:
    """The picture; empty without one. InputError when it has gone since the club was checked."""
    if not club.logo:
        return b""
    file = folder / club.logo
    return read_bytes(file, shown_path(file))
