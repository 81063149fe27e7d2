"""A sheet, CSV or XLSX, as rows of cells that know where they stand; nothing of its meaning.

Sheets come from anywhere, so everything is bounded before it is parsed: the file's size, an
archive's number of parts and unpacked size (read from its directory, which the unpacking then
cannot exceed), rows, columns, cells, and the length of a cell. XLSX parts that declare a
document type are refused: no spreadsheet program writes one, and entities live there.
"""

from __future__ import annotations

import csv
import io
import re
import warnings
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import zip_longest
from pathlib import Path
from typing import Any

from profilegen.errors import InputError, Problem
from profilegen.history.problems import unreadable
from profilegen.history.reading import read_text
from profilegen.history.words import quoted, shown, shown_path

MAX_FILE_BYTES = 20_000_000
"""Largest sheet that is opened; a sheet of 20,000 rows has about 2 MB."""

MAX_UNPACKED_BYTES = 100_000_000
"""All parts of an XLSX file together."""

MAX_PARTS = 2_000
MAX_ROWS = 20_000
MAX_COLUMNS = 200
MAX_CELLS = 500_000
MAX_TAGS = 2_000_000
"""In all XML parts of an XLSX file: four for a cell. Bounds the time that parsing takes."""

MAX_CHARACTERS = 2_000

_DOCUMENT_TYPE = b"<!doctype"
_ROW = re.compile(rb"<(?:\w+:)?row[\s/>]")
_WORKSHEET = re.compile(r"xl/worksheets/[^/]+\.xml\Z", re.IGNORECASE)
_ENDINGS = (".csv", ".tsv", ".txt", ".xlsx", ".xlsm")

CellValue = str | int | float | bool | date | datetime | None


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell that is not empty, and where a person finds it."""

    value: CellValue
    row: int
    column: int
    """From 1, as `row`."""
    struck: bool = False
    """The text is struck out."""
    broken: str = ""
    """Why there is no value although the cell is not empty."""

    @property
    def text(self) -> str:
        """The value as a person would have typed it.

        >>> Cell(84.0, 1, 1).text, Cell(" 84 87x ", 1, 1).text
        ('84', '84 87x')
        """
        value = self.value
        if isinstance(value, bool):
            return "true" if value else "false"
        if isinstance(value, float):
            return f"{value:.10g}"
        if isinstance(value, datetime):
            return value.date().isoformat()
        return "" if value is None else str(value).strip()


@dataclass(frozen=True, slots=True)
class Table:
    """The rows of one sheet, without the empty ones; cells by column."""

    place: str
    """How messages name the sheet: `testing.xlsx:Sheet1!`, `testing.csv:`."""
    rows: tuple[dict[int, Cell], ...]

    def problem(self, cell: Cell, field: str, message: str) -> CellProblem:
        """A mistake in one cell."""
        return self.problem_at(cell.row, cell.column, field, message)

    def problem_at(self, row: int, column: int, field: str, message: str) -> CellProblem:
        """A mistake at a place, which may be empty."""
        return CellProblem(self.place, row, column, field, message)


class CellProblem(Problem):
    """A mistake in a sheet; `line` is the row, and the place is told as `Sheet1!D7`."""

    def __str__(self) -> str:
        place = f"{self.path}{column_letters(self.column)}{self.line}"
        return ": ".join(part for part in (place, self.field, self.message) if part)


def column_letters(column: int) -> str:
    """What spreadsheets call a column, counted from 1.

    >>> column_letters(4), column_letters(27)
    ('D', 'AA')
    """
    letters = ""
    while column > 0:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def read_tables(path: Path) -> list[Table]:
    """Every sheet of the file that holds anything and is not hidden.

    Raises:
        InputError: the file cannot be read, or is over one of the limits.
    """
    name = shown_path(path)
    ending = path.suffix.lower()
    if ending not in _ENDINGS:
        said = "expected a sheet that ends in .csv or .xlsx"
        if ending in (".xls", ".ods", ".numbers"):
            said += "; save it as .xlsx"
        raise InputError([unreadable(name, said)])
    try:
        if not path.is_file():
            raise InputError([unreadable(name, "not a file" if path.exists() else "not found")])
        size = path.stat().st_size
    except OSError as error:
        raise InputError([unreadable(name, f"cannot be read: {error.strerror}")]) from None
    if size > MAX_FILE_BYTES:
        limit = MAX_FILE_BYTES // 1_000_000
        raise InputError([unreadable(name, f"larger than {limit} MB, the limit for a sheet")])
    tables = _xlsx_tables(path, name) if ending.startswith(".xls") else [_csv_table(path, name)]
    tables = [table for table in tables if table.rows]
    if not tables:
        raise InputError([unreadable(name, "the sheet is empty")])
    return tables


class _Rows:
    """Collects the rows of one sheet and keeps them within the limits."""

    def __init__(self, place: str) -> None:
        self._table = Table(place, ())
        self._rows: list[dict[int, Cell]] = []
        self._seen = 0

    def add(self, number: int, cells: Iterable[Cell], width: int) -> None:
        """One row; `width` counts its empty cells too."""
        if number > MAX_ROWS:
            raise self._refused(number, 1, f"the limit is {MAX_ROWS:,} rows in one sheet")
        self._seen += width
        if self._seen > MAX_CELLS:
            raise self._refused(number, 1, f"the limit is {MAX_CELLS:,} cells in one sheet")
        row: dict[int, Cell] = {}
        for cell in cells:
            if cell.column > MAX_COLUMNS:
                said = f"the limit is {MAX_COLUMNS} columns in one sheet"
                raise self._refused(number, cell.column, said)
            if isinstance(cell.value, str) and len(cell.value) > MAX_CHARACTERS:
                said = f"the limit is {MAX_CHARACTERS:,} characters in one cell"
                raise self._refused(number, cell.column, said)
            row[cell.column] = cell
        if row:
            self._rows.append(row)

    def table(self) -> Table:
        """What was collected."""
        return Table(self._table.place, tuple(self._rows))

    def _refused(self, row: int, column: int, message: str) -> InputError:
        return InputError([self._table.problem_at(row, column, "", message)])


# --- CSV -------------------------------------------------------------------------------


def _csv_table(path: Path, name: str) -> Table:
    text = read_text(path, name)
    rows = _Rows(f"{name}:")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text), strict=True)
    number = 0
    try:
        for number, values in enumerate(reader, start=1):
            cells = (
                Cell(value, number, column)
                for column, value in enumerate(values, start=1)
                if value.strip()
            )
            rows.add(number, cells, len(values))
    except csv.Error as error:
        problem = Problem(name, reader.line_num, 1, "", f"this is not CSV: {shown(str(error))}")
        raise InputError([problem]) from None
    return rows.table()


def _delimiter(text: str) -> str:
    """What stands between the cells: the mark that the first line with any holds most often."""
    for line in io.StringIO(text[:10_000]):
        counts = [(line.count(mark), mark) for mark in ("\t", ";", ",")]
        most = max(counts, key=lambda found: found[0])
        if most[0]:
            return most[1]
    return ","


# --- XLSX ------------------------------------------------------------------------------


def _xlsx_tables(path: Path, name: str) -> list[Table]:
    try:
        raw = path.read_bytes()  # read once: what is checked is what is parsed
    except OSError as error:
        said = f"cannot be read: {error.strerror or 'unknown reason'}"
        raise InputError([unreadable(name, said)]) from None
    _check_archive(raw, name)
    import openpyxl

    try:
        with warnings.catch_warnings():
            # About looks and drop-downs that it does not keep: nothing of a value.
            warnings.simplefilter("ignore")
            shown_book = openpyxl.load_workbook(io.BytesIO(raw), read_only=True, data_only=True)
            typed_book = openpyxl.load_workbook(io.BytesIO(raw), read_only=True)
            try:
                return [
                    _xlsx_table(shown_book[title], typed_book[title], name)
                    for title in shown_book.sheetnames
                    if hasattr(shown_book[title], "iter_rows")
                    and shown_book[title].sheet_state == "visible"
                ]
            finally:
                shown_book.close()
                typed_book.close()
    except InputError:
        raise
    except Exception as error:  # the library raises whatever a damaged file makes it stumble over
        said = f"not a readable XLSX file ({type(error).__name__}); open it and save it again"
        raise InputError([unreadable(name, said)]) from None


def _check_archive(raw: bytes, name: str) -> None:
    """Sizes and document types, before anything is unpacked for parsing."""
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            parts = archive.infolist()
            if len(parts) > MAX_PARTS:
                raise InputError([unreadable(name, f"the limit is {MAX_PARTS:,} parts in a file")])
            if sum(part.file_size for part in parts) > MAX_UNPACKED_BYTES:
                limit = MAX_UNPACKED_BYTES // 1_000_000
                said = f"larger than {limit} MB when unpacked, the limit for a sheet"
                raise InputError([unreadable(name, said)])
            tags = 0
            for part in parts:
                if part.filename.lower().endswith((".xml", ".rels", ".vml")):
                    tags += _checked_tags(archive, part, name)
            if tags > MAX_TAGS:
                said = f"the limit is {MAX_TAGS:,} XML tags in a file, about {MAX_CELLS:,} cells"
                raise InputError([unreadable(name, said)])
    except InputError:
        raise
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, ValueError):
        said = "not an XLSX file, or a damaged or locked one; save it as .xlsx without a password"
        raise InputError([unreadable(name, said)]) from None
    except Exception as error:  # a damaged stream: zlib.error and its like
        said = f"not a readable XLSX file ({type(error).__name__}); open it and save it again"
        raise InputError([unreadable(name, said)]) from None


def _checked_tags(archive: zipfile.ZipFile, part: zipfile.ZipInfo, name: str) -> int:
    """How many tags an XML part has; InputError for document types and too many rows."""
    tags = rows = 0
    last = b""
    with archive.open(part) as stream:
        while block := stream.read(1 << 20):
            tags += block.count(b"<")
            # UTF-16 holds a zero per letter; the end of the last block may hold half a mark.
            seen = (last + block).replace(b"\0", b"").lower()
            if _DOCUMENT_TYPE in seen:
                said = "holds a document type, which no spreadsheet program writes; refused"
                raise InputError([unreadable(name, said)])
            rows += len(_ROW.findall(seen)) - len(_ROW.findall(last))
            last = seen[-32:]
    if rows > MAX_ROWS and _WORKSHEET.match(part.filename):
        raise InputError([unreadable(name, f"the limit is {MAX_ROWS:,} rows in one sheet")])
    return tags


def _xlsx_table(values: Any, formulas: Any, name: str) -> Table:
    rows = _Rows(f"{name}:{shown(values.title)}!")
    for sheet in (values, formulas):
        sheet.reset_dimensions()  # what the file claims about its size is not to be believed
    both = zip_longest(values.iter_rows(), formulas.iter_rows(), fillvalue=())
    for number, (row, typed) in enumerate(both, start=1):
        rows.add(number, _xlsx_cells(number, row, typed), len(row))
    return rows.table()


def _xlsx_cells(number: int, row: Any, typed: Any) -> Iterator[Cell]:
    for column, (cell, source) in enumerate(zip_longest(row, typed), start=1):
        value = cell.value if cell is not None else None
        if value is None:
            if source is not None and source.value is not None:
                broken = "a formula that was never worked out; open and save the file once"
                yield Cell(None, number, column, broken=broken)
            continue
        if isinstance(value, str) and not value.strip():
            continue
        if cell.data_type == "e":
            yield Cell(None, number, column, broken=f"the spreadsheet's error {quoted(value)}")
        elif isinstance(value, time | timedelta):
            yield Cell(None, number, column, broken=f"a time of day ({shown(str(value))})")
        elif isinstance(value, str | int | float | date):
            struck = bool(cell.has_style and cell.font is not None and cell.font.strike)
            yield Cell(value, number, column, struck)
        else:
            yield Cell(str(value), number, column)
