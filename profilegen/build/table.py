"""The squad's numbers as a table in Parquet, for analysis: one row per lifter.

Needs `pip install 'profilegen[table]'` (pyarrow, 55 MB), so it is written only when asked for.
The numbers are those of `squad.json`, which every reader of JSON can have without it; Parquet
gives types and columns that data tools read at once, also for a hundred thousand lifters.
"""

from __future__ import annotations

import io
import json
from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Any

from profilegen.errors import OutputError
from profilegen.norms.catalogue import QUALITIES
from profilegen.report.summary import MAIN_LIFTS

TABLE = "squad.parquet"
ROWS_AT_ONCE = 5000

_LIFT = ("estimate_kg", "low_kg", "high_kg")
_QUALITY = ("score", "kilos", "chance_limiting")
_TEXTS = ("id", "name", "sex", "group", "limiter", "confidence", "report")
_NUMBERS = ("body_mass_kg", "chance", "kilos")


def check_can_write() -> None:
    """OutputError when the extra is not installed, before any work is done."""
    try:
        import pyarrow.parquet  # noqa: F401
    except ImportError as error:
        raise OutputError(
            f"--parquet needs one more package: pip install 'profilegen[table]' ({error})"
        ) from error


def squad_table(lines: Iterable[bytes]) -> bytes:
    """The content of `squad.parquet`.

    Args:
        lines: entries of `squad.json`, in order; only so many are held at once.
    """
    import pyarrow as pa
    from pyarrow import parquet

    schema = pa.schema(
        [
            *((name, pa.string()) for name in _TEXTS),
            ("age", pa.int16()),
            *((name, pa.float64()) for name in _NUMBERS),
            *((f"{lift}_{name}", pa.float64()) for lift in MAIN_LIFTS for name in _LIFT),
            *((f"{lift}_basis", pa.string()) for lift in MAIN_LIFTS),
            *((f"{quality}_{name}", pa.float64()) for quality in QUALITIES for name in _QUALITY),
            ("points", pa.float64()),
            ("points_formula", pa.string()),
        ]
    )
    stream = io.BytesIO()
    with parquet.ParquetWriter(stream, schema, compression="zstd") as writer:
        rows = map(_row, lines)
        while part := list(islice(rows, ROWS_AT_ONCE)):
            writer.write_table(pa.Table.from_pylist(part, schema))
    return stream.getvalue()


def _row(line: bytes) -> dict[str, Any]:
    entry: dict[str, Any] = json.loads(line)
    return dict(_cells(entry))


def _cells(entry: dict[str, Any]) -> Iterator[tuple[str, Any]]:
    for name in (*_TEXTS, "age", *_NUMBERS):
        yield name, entry[name]
    for lift, values in entry["lifts"].items():
        yield from ((f"{lift}_{name}", values[name]) for name in (*_LIFT, "basis"))
    for quality, values in entry["qualities"].items():
        yield from ((f"{quality}_{name}", values[name]) for name in _QUALITY)
    for formula, points in islice(entry["scaled"].items(), 1):
        yield from (("points", points), ("points_formula", formula))
