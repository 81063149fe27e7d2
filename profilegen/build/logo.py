"""The club's logo as an address that carries its own bytes.

It goes into the stylesheet as a background image: browsers treat a data: image as a picture
and nothing else, so no script in an SVG file ever runs, and pages need no further request.
"""

from __future__ import annotations

import base64
from pathlib import Path

from profilegen.history.records import Club

TYPES = {
    ".png": "image/png",
    ".svg": "image/svg+xml",
    ".jpg": "image/jpeg",
    ".jpeg": "image/jpeg",
    ".webp": "image/webp",
}


def logo_address(folder: Path, club: Club) -> str:
    """A data: address (RFC 2397); empty without a logo.

    Args:
        folder: the one that club.yaml lies in.
        club: checked, so its logo exists and has one of the endings above.
    """
    if not club.logo:
        return ""
    file = folder / club.logo
    packed = base64.b64encode(file.read_bytes()).decode("ascii")
    return f"data:{TYPES[file.suffix.lower()]};base64,{packed}"
