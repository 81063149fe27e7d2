"""Sheets for the tests of intake, written as a coach's spreadsheet would write them."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

from openpyxl import Workbook

Rows = Sequence[Sequence[Any]]


def write_csv(path: Path, rows: Rows, delimiter: str = ",") -> Path:
    with path.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream, delimiter=delimiter)
        for row in rows:
            writer.writerow([c.isoformat() if isinstance(c, date) else c for c in row])
    return path


def write_xlsx(path: Path, rows: Rows, title: str = "Sheet1") -> Path:
    book = Workbook()
    page = book.active
    page.title = title
    for row in rows:
        page.append(list(row))
    book.save(path)
    return path


def write_sheet(path: Path, rows: Rows) -> Path:
    """As CSV or XLSX, by the ending."""
    return write_csv(path, rows) if path.suffix == ".csv" else write_xlsx(path, rows)
