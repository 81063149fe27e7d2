"""Dates of a sheet: never a guess which number is the month."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from profilegen.intake.cells import CellError
from profilegen.intake.dates import read_day

DAY = date(2026, 11, 17)


@pytest.mark.parametrize(
    "value",
    [
        DAY,
        datetime(2026, 11, 17, 18, 30),
        "2026-11-17",
        " 2026-11-17 ",
        "2026-11-17 00:00:00",
        "2026-11-17T00:00:00",
        "2026/11/17",
        "2026.11.17",
        "17/11/2026",
        "11/17/2026",
        "17.11.2026",
        "17. 11. 2026",
        "17-11-2026",
    ],
)
def test_a_day_is_read_however_it_is_written(value: object) -> None:
    assert read_day(value) == DAY


def test_a_word_about_the_order_decides() -> None:
    assert read_day("3/4/2026", "dmy") == date(2026, 4, 3)
    assert read_day("3/4/2026", "mdy") == date(2026, 3, 4)


def test_the_same_number_twice_needs_no_word() -> None:
    assert read_day("3/3/2026") == date(2026, 3, 3)


@pytest.mark.parametrize(
    ("value", "order", "said"),
    [
        ("3/4/2026", None, '"3/4/2026" can be 2026-04-03 or 2026-03-04'),
        ("3/4/2026", None, "--dates dmy"),
        ("17/11/2026", "mdy", "month, day and year"),
        ("11/17/2026", "dmy", "day, month and year"),
        ("30/2/2026", None, "no calendar has that day"),
        ("17/11/26", None, "four digits"),
        ("2026-02-30", None, "expected a date like 2026-11-17"),
        ("November", None, "expected a date like 2026-11-17"),
        (46343, None, "give the column the format of a date"),
    ],
)
def test_what_is_no_day_is_refused(value: object, order: str | None, said: str) -> None:
    with pytest.raises(CellError) as refused:
        read_day(value, order)  # type: ignore[arg-type]
    assert said in str(refused.value)


def reason(text: str) -> str:
    """Why a date is refused; nothing when it is read."""
    try:
        read_day(text)
    except CellError as error:
        return str(error)
    return ""


@given(st.text(max_size=20) | st.text(alphabet="0123456789/.- ", max_size=12))
def test_no_text_ends_in_anything_but_a_day_or_a_reason(text: str) -> None:
    assert reason(text).isprintable()
