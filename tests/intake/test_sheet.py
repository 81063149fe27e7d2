"""Sheets come from anywhere: every limit is named, and nothing large is ever parsed."""

from __future__ import annotations

import time
import zipfile
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook
from openpyxl.styles import Font

from profilegen.errors import InputError
from profilegen.intake import sheet
from profilegen.intake.sheet import column_letters, read_tables
from tests.intake.sheets import write_csv, write_xlsx


def refused(path: Path) -> str:
    with pytest.raises(InputError) as error:
        read_tables(path)
    return str(error.value)


def told(path: Path) -> str:
    """Why a sheet is refused; nothing when it is read."""
    try:
        read_tables(path)
    except InputError as error:
        return str(error)
    return ""


def texts(path: Path) -> list[list[str]]:
    (table,) = read_tables(path)
    return [[cell.text for _, cell in sorted(row.items())] for row in table.rows]


def test_csv_and_xlsx_hold_the_same(tmp_path: Path) -> None:
    rows = [["name", "date", "snatch"], ["Åsa", datetime(2026, 11, 17), 84.5], ["Ben", "", "87x"]]
    wanted = [["name", "date", "snatch"], ["Åsa", "2026-11-17", "84.5"], ["Ben", "87x"]]
    as_text = [[c.date().isoformat() if isinstance(c, datetime) else c for c in r] for r in rows]
    assert texts(write_csv(tmp_path / "a.csv", as_text)) == wanted
    assert texts(write_xlsx(tmp_path / "a.xlsx", rows)) == wanted


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_the_mark_between_the_cells_is_found(delimiter: str, tmp_path: Path) -> None:
    path = write_csv(tmp_path / "a.csv", [["name", "snatch"], ["Ann", "84, 87"]], delimiter)
    assert texts(path) == [["name", "snatch"], ["Ann", "84, 87"]]


def test_places_are_those_of_a_spreadsheet(tmp_path: Path) -> None:
    """Empty rows and line breaks within cells do not move what is below."""
    rows = [["name", "note"], [], ["Ann", "two\nlines"], ["Ben", "x"]]
    for path in (write_csv(tmp_path / "a.csv", rows), write_xlsx(tmp_path / "a.xlsx", rows)):
        (table,) = read_tables(path)
        last = table.rows[-1][2]
        assert (last.row, last.column) == (4, 2)
        assert str(table.problem(last, "note", "wrong")).endswith("B4: note: wrong")


def test_columns_after_z() -> None:
    """Known from any spreadsheet: Z is 26, AA 27, AZ 52, BA 53, ZZ 702, AAA 703."""
    known = {26: "Z", 27: "AA", 52: "AZ", 53: "BA", 702: "ZZ", 703: "AAA"}
    assert {number: column_letters(number) for number in known} == known


def test_a_formula_without_its_outcome_is_told(tmp_path: Path) -> None:
    path = write_xlsx(tmp_path / "a.xlsx", [["name", "snatch"], ["Ann", "=80+4"]])
    (table,) = read_tables(path)
    assert "formula that was never worked out" in table.rows[1][2].broken


def test_struck_out_text_is_noticed(tmp_path: Path) -> None:
    book = Workbook()
    book.active.append(["name", 84])
    book.active["B1"].font = Font(strike=True)
    book.save(tmp_path / "a.xlsx")
    (table,) = read_tables(tmp_path / "a.xlsx")
    assert (table.rows[0][1].struck, table.rows[0][2].struck) == (False, True)


def test_hidden_sheets_are_passed_over(tmp_path: Path) -> None:
    book = Workbook()
    book.active.append(["name"])
    hidden = book.create_sheet("Lists")
    hidden.append(["secret"])
    hidden.sheet_state = "hidden"
    book.save(tmp_path / "a.xlsx")
    assert [table.place for table in read_tables(tmp_path / "a.xlsx")] == [
        f"{tmp_path}/a.xlsx:Sheet!"
    ]


# --- limits ----------------------------------------------------------------------------


def test_a_million_rows_of_csv(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("name,snatch\n" + "Ann,84\n" * 1_000_000)
    started = time.perf_counter()
    assert "the limit is 20,000 rows" in refused(path)
    assert time.perf_counter() - started < 10


def test_a_million_rows_of_xlsx(tmp_path: Path) -> None:
    """The lines are as short as lines can be, so that the size alone does not tell."""
    row = '<row r="{0}"><c r="A{0}"><v>84</v></c></row>'
    rows = "".join(row.format(number) for number in range(1, 1_000_001))
    path = archive(tmp_path / "a.xlsx", rows)
    started = time.perf_counter()
    assert "the limit is 20,000 rows" in refused(path)
    assert time.perf_counter() - started < 10


def test_more_tags_than_can_be_parsed_in_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sheet, "MAX_TAGS", 1_000)
    cells = "".join(f'<c r="A{number}"/>' for number in range(1_000))
    assert "the limit is 1,000 XML tags" in refused(archive(tmp_path / "a.xlsx", cells))


def test_a_lonely_cell_far_down(tmp_path: Path) -> None:
    path = archive(tmp_path / "a.xlsx", '<row r="1048576"><c r="A1048576"><v>84</v></c></row>')
    assert "the limit is 20,000 rows" in refused(path)


def test_a_lonely_cell_far_to_the_right(tmp_path: Path) -> None:
    path = archive(tmp_path / "a.xlsx", '<row r="1"><c r="XFD1"><v>84</v></c></row>')
    assert "XFD1: the limit is 200 columns" in refused(path)


def test_columns_of_csv(tmp_path: Path) -> None:
    path = write_csv(tmp_path / "a.csv", [["x"] * 201])
    assert "GS1: the limit is 200 columns" in refused(path)


def test_cells_in_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sheet, "MAX_CELLS", 10)
    path = write_csv(tmp_path / "a.csv", [["x"] * 4] * 3)
    assert "the limit is 10 cells" in refused(path)


def test_a_long_cell(tmp_path: Path) -> None:
    path = write_csv(tmp_path / "a.csv", [["name"], ["x" * 2001]])
    assert "A2: the limit is 2,000 characters" in refused(path)


def test_a_large_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sheet, "MAX_FILE_BYTES", 1_000_000)
    path = tmp_path / "a.csv"
    path.write_bytes(b"name\n" + b"x" * 1_000_000)
    assert "larger than 1 MB, the limit for a sheet" in refused(path)


# --- archives --------------------------------------------------------------------------


def archive(
    path: Path,
    rows: str,
    *,
    head: str = '<?xml version="1.0" encoding="UTF-8"?>',
    encode: Callable[[str], bytes] = str.encode,
) -> Path:
    """An XLSX file with hand-written rows."""
    write_xlsx(path, [["x"]])
    with zipfile.ZipFile(path) as old:
        parts = {name: old.read(name) for name in old.namelist()}
    name = "xl/worksheets/sheet1.xml"
    space = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    text = f'{head}<worksheet xmlns="{space}"><sheetData>{rows}</sheetData></worksheet>'
    parts[name] = encode(text)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new:
        for part, content in parts.items():
            new.writestr(part, content)
    return path


def test_a_zip_bomb_is_refused_by_its_directory(tmp_path: Path) -> None:
    """200 MB of zeros in 200 kB."""
    path = write_xlsx(tmp_path / "a.xlsx", [["name"]])
    with zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as bomb:
        bomb.writestr("xl/media/bomb.bin", bytes(200_000_000))
    assert path.stat().st_size < 500_000
    started = time.perf_counter()
    assert "larger than 100 MB when unpacked" in refused(path)
    assert time.perf_counter() - started < 2


def test_a_directory_that_lies_unpacks_no_more_than_it_says(tmp_path: Path) -> None:
    """The sizes are patched down; the reader stops there and the file counts as damaged."""
    path = write_xlsx(tmp_path / "a.xlsx", [["name"]])
    with zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as bomb:
        bomb.writestr("xl/bomb.xml", b"<a/>" + b" " * 150_000_000)
    raw = path.read_bytes()
    real = (150_000_004).to_bytes(4, "little")
    assert raw.count(real) == 2
    path.write_bytes(raw.replace(real, (100).to_bytes(4, "little")))
    assert "a damaged or locked one" in refused(path)


def test_thousands_of_parts(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    with zipfile.ZipFile(path, "w") as bomb:
        for number in range(2_001):
            bomb.writestr(f"xl/{number}.xml", "")
    assert "the limit is 2,000 parts" in refused(path)


BOMB = '<!DOCTYPE a [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;">]>'


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_entities_are_refused(encoding: str, tmp_path: Path) -> None:
    cell = '<row r="1"><c r="A1" t="inlineStr"><is><t>&c;</t></is></c></row>'
    path = archive(
        tmp_path / "a.xlsx",
        cell,
        head=f'<?xml version="1.0" encoding="{encoding}"?>{BOMB}',
        encode=lambda text: text.encode(encoding),
    )
    assert "holds a document type" in refused(path)


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("a.xls", b"\xd0\xcf\x11\xe0", "save it as .xlsx"),
        ("a.ods", b"PK", "save it as .xlsx"),
        ("a.pdf", b"%PDF", "ends in .csv or .xlsx"),
        ("a.xlsx", b"name,snatch\n", "not an XLSX file"),
        ("a.xlsx", b"", "not an XLSX file"),
        ("a.xlsx", b"\xd0\xcf\x11\xe0" * 100, "without a password"),
        ("a.csv", b"", "the sheet is empty"),
        ("a.csv", b"\n\n,,\n", "the sheet is empty"),
        ("a.csv", b"name\nJ\xe4ger\n", "save the file as UTF-8"),
        ("a.csv", b'name\n"Ann\n', "this is not CSV"),
        ("a.csv", "name\n".encode("utf-16"), "saved as UTF-16"),
    ],
)
def test_files_that_are_no_sheets(name: str, content: bytes, said: str, tmp_path: Path) -> None:
    (tmp_path / name).write_bytes(content)
    assert said in refused(tmp_path / name)


def test_no_file_and_a_folder(tmp_path: Path) -> None:
    assert "not found" in refused(tmp_path / "a.csv")
    (tmp_path / "b.csv").mkdir()
    assert "not a file" in refused(tmp_path / "b.csv")


def test_an_archive_of_something_else(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "a.xlsx", "w") as other:
        other.writestr("word/document.xml", "<document/>")
    assert "not a readable XLSX file" in refused(tmp_path / "a.xlsx")


@settings(
    max_examples=60,
    deadline=2000,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    at=st.floats(0, 1, exclude_max=True),
    change=st.binary(min_size=1, max_size=30),
    cut=st.booleans(),
)
def test_a_damaged_archive_ends_in_nothing_but_an_input_error(
    at: float, change: bytes, cut: bool, tmp_path: Path
) -> None:
    path = tmp_path / "a.xlsx"
    write_xlsx(path, [["name", "snatch"], ["Ann", 84], ["Ben", "87x"]])
    raw = path.read_bytes()
    place = int(at * len(raw))
    path.write_bytes(raw[:place] + change + (b"" if cut else raw[place + len(change) :]))
    assert all(line.isprintable() for line in told(path).split("\n"))
