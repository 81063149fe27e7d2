"""Dates of a sheet: never a guess which number is the month."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from profilegen.intake.cells import CellError
from profilegen.intake.dates import read_day
from profilegen.intake.vocabulary import vocabulary_in
from profilegen.report.format import Format
from profilegen.report.language import words_in

DAY = date(2026, 11, 17)
ENGLISH, GERMAN = (vocabulary_in(language, words_in).dates for language in ("en", "de"))


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


@pytest.mark.parametrize(
    "text",
    [
        "17 Nov 2026",
        "17 November 2026",
        "17. nov. 2026",
        "17-Nov-2026",
        "17-Nov-26",
        "Nov 17, 2026",
        "November 17 2026",
    ],
)
def test_a_month_by_its_name_leaves_no_question(text: str) -> None:
    assert read_day(text, None, ENGLISH) == DAY
    assert read_day(text, "mdy", GERMAN) == DAY


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("month", range(1, 13))
def test_every_day_that_a_page_prints_is_read(language: str, month: int) -> None:
    show, day = Format(words_in(language)), date(2026, month, 7)
    customs = vocabulary_in(language, words_in).dates
    assert read_day(show.day(day), None, customs) == day
    assert read_day(show.short_day(day), None, customs) == day


def test_a_club_that_reads_german_writes_days_with_dots() -> None:
    """Tag.Monat.Jahr and nothing else (DIN 5008); elsewhere it stays a question."""
    assert read_day("3.4.2026", None, GERMAN) == date(2026, 4, 3)
    assert read_day("17.11.26", None, GERMAN) == DAY
    assert read_day("17. März 2026", None, GERMAN) == date(2026, 3, 17)
    assert read_day("3.4.2026", "mdy", GERMAN) == date(2026, 3, 4)
    for text in ("3.4.2026", "17.11.26"):
        with pytest.raises(CellError):
            read_day(text, None, ENGLISH)
    with pytest.raises(CellError):
        read_day("3/4/2026", None, GERMAN)


def test_where_the_order_is_known_two_digits_are_a_year() -> None:
    assert read_day("17/11/26", "dmy") == DAY
    assert read_day("11/17/26", "mdy") == DAY


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
        ("17 Foo 2026", None, "expected a date like 2026-11-17"),
        ("31 Nov 2026", None, "no calendar has that day"),
        (46343, None, "give the column the format of a date"),
    ],
)
def test_what_is_no_day_is_refused(value: object, order: str | None, said: str) -> None:
    with pytest.raises(CellError) as refused:
        read_day(value, order, ENGLISH)  # type: ignore[arg-type]
    assert said in str(refused.value)


def reason(text: str) -> str:
    """Why a date is refused; nothing when it is read."""
    try:
        read_day(text, None, GERMAN)
    except CellError as error:
        return str(error)
    return ""


@given(st.text(max_size=20) | st.text(alphabet="0123456789/.- Novem", max_size=12))
def test_no_text_ends_in_anything_but_a_day_or_a_reason(text: str) -> None:
    assert reason(text).isprintable()
