"""Files that were not there before, all of them or none."""

from __future__ import annotations

import os
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from profilegen.errors import OutputError


def write_new(files: Mapping[Path, bytes]) -> None:
    """Write files that must not be there yet.

    Raises:
        OutputError: one of them is there or cannot be written; none of the others was.
    """
    made: list[Path] = []
    try:
        for path, content in files.items():
            try:
                with path.open("xb") as stream:
                    made.append(path)
                    stream.write(content)
                    stream.flush()
                    os.fsync(stream.fileno())
            except OSError as error:
                reason = error.strerror or "unknown reason"
                raise OutputError(f"{path} cannot be written: {reason}") from error
    except BaseException:
        for path in made:
            with suppress(OSError):
                path.unlink()
        raise
