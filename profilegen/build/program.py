"""One hash for "the program": its code, its norms and what it computes and writes with.

A version number would miss an edited norm or a newer NumPy; both may change what a page
says, so both must make every page new.
"""

from __future__ import annotations

import sys
from functools import cache
from importlib.metadata import version
from pathlib import Path

from profilegen.build.manifest import sha256_of_parts, sha256_of_tree

_PACKAGE = Path(__file__).parent.parent
_CODE_AND_DATA = (".py", ".yaml", ".csv", ".mo", ".po", ".json")
_LIBRARIES = ("numpy", "scipy", "jinja2", "markupsafe", "markdown", "nh3", "plotly", "pydantic")


@cache
def program_sha256() -> str:
    """Hex SHA-256 of the program; read once per process."""
    python = f"{sys.version_info.major}.{sys.version_info.minor}"
    libraries = [f"{name} {version(name)}" for name in _LIBRARIES]
    code = sha256_of_tree(_PACKAGE, suffixes=_CODE_AND_DATA)
    return sha256_of_parts([python, *libraries, code])
