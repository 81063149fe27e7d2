"""Numbers as people read them. (Examples stand in the docstrings of format.py.)"""

from __future__ import annotations

import ast
import re
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from profilegen.report import format as format_module
from profilegen.report.format import MINUS, Format, nearest
from profilegen.report.language import words_in

METRIC = Format(words_in("en"))
POUNDS = Format(words_in("en"), "lb")
loads = st.floats(0.1, 400)


@given(st.floats(-1000, 1000), st.sampled_from([0.1, 0.5, 1.0, 2.5]))
def test_rounding_goes_to_the_nearest_step_and_never_to_minus_zero(value: float, step: float):
    rounded = nearest(value, step)
    assert abs(rounded - value) <= step / 2 + 1e-6
    assert str(rounded) != "-0.0"


@pytest.mark.parametrize("shown", [METRIC, POUNDS])
@given(value=st.floats(-0.5, 0.5))
def test_nothing_is_ever_minus_zero(shown: Format, value: float):
    for text in (
        shown.number(value),
        shown.number(value, 1),
        shown.signed(value, 1),
        shown.change(value),
        shown.percent(value / 100),
        shown.signed_percent(value / 100),
        shown.score(value),
        shown.gain(value),
        shown.gain_short(value),
    ):
        assert not re.search(rf"[-{MINUS}]0(?![.\d])", text), text


@given(loads)
def test_kilos_come_in_half_kilo_steps_and_pounds_are_whole(kg: float):
    number = float(METRIC.load_number(kg))
    assert (number * 2).is_integer()
    assert abs(number - kg) <= 0.25 + 1e-6
    assert float(POUNDS.load_number(kg)).is_integer()


@given(loads, st.floats(0, 20), st.floats(0, 20))
def test_an_interval_shown_holds_the_whole_interval_and_its_middle(
    kg: float, below: float, above: float
):
    low_kg, high_kg = max(0.0, kg - below), kg + above
    low, high = (float(end) for end in METRIC.load_range(low_kg, high_kg).split("\xa0to\xa0"))
    assert low <= low_kg + 1e-6
    assert high >= high_kg - 1e-6
    assert low - 0.5 <= float(METRIC.load_number(kg)) <= high + 0.5


@pytest.mark.parametrize(
    ("kg", "metric", "pounds"),
    [(0.2, "0 kilos", "0 pounds"), (0.6, "1 kilo", "1 pound"), (1.5, "2 kilos", "3 pounds")],
)
def test_one_is_singular_and_the_rest_plural(kg: float, metric: str, pounds: str):
    assert METRIC.gain(kg) == metric
    assert POUNDS.gain(kg) == pounds


@pytest.mark.parametrize("hundredths", range(101))
def test_a_chance_is_never_said_to_be_none_or_certain(hundredths: int):
    text = METRIC.chance(hundredths / 100)
    assert "0 chances" not in text
    assert "10 chances" not in text
    assert "1 chances" not in text


def test_a_load_is_shown_as_the_coach_wrote_it_whatever_the_club_counts_in():
    """185 lb are 83.914 kg (0.45359237 kg a pound, exact)."""
    assert METRIC.written(83.91458845, "lb") == "185\xa0lb"
    assert POUNDS.written(87.5, "kg") == "87.5\xa0kg"


def test_dates_are_unmistakable():
    assert METRIC.day(date(2026, 3, 4)) == "4\xa0March\xa02026"
    assert METRIC.short_day(date(2026, 3, 4)) == "4\xa0Mar\xa02026"


def test_shares_are_whole_percents():
    assert METRIC.percent_interval(0.784, 0.742, 0.823) == "78% (74\xa0to\xa083)"
    assert METRIC.usual_range(0.776, 0.846) == "78\xa0to\xa085%"


REPORT = Path(format_module.__file__).parent
FOR_MACHINES = {"drawing/canvas.py", "plotting/plane.py", "drawn.py"}
"""Coordinates of drawings, time zones of plots, escapes of scripts."""


def written_by_hand(source: str) -> list[int]:
    """Lines that turn a number into text: f"{x:.1f}", str(x), or words.format(number=len(y))."""
    tree = ast.parse(source)
    sort_keys = {
        id(inner)
        for call in ast.walk(tree)
        if isinstance(call, ast.keyword) and call.arg == "sort"
        for inner in ast.walk(call.value)
    }
    found = []
    for node in ast.walk(tree):
        by_spec = isinstance(node, ast.FormattedValue) and node.format_spec is not None
        as_text = (
            isinstance(node, ast.Call)
            and isinstance(node.func, ast.Name)
            and node.func.id in {"str", "repr", "format"}
        )
        counted = (
            isinstance(node, ast.Call)
            and isinstance(node.func, ast.Attribute)
            and node.func.attr == "format"
            and any(
                isinstance(given.value, ast.Call)
                and isinstance(given.value.func, ast.Name)
                and given.value.func.id in {"len", "sum", "round", "int"}
                for given in node.keywords
            )
        )
        if (by_spec or as_text or counted) and id(node) not in sort_keys:
            found.append(node.lineno)
    return sorted(found)


def test_whoever_looks_for_numbers_written_by_hand_finds_them():
    assert written_by_hand('a = f"{x:g}"\nb = str(len(y))\nc = t.format(number=len(y))') == [
        1,
        2,
        3,
    ]
    assert written_by_hand('Cell(show.number(x), sort=f"{x:.3f}")') == []


def test_numbers_on_pages_are_written_here_and_nowhere_else():
    """Keys to sort by are for machines, too."""
    others = [path for path in REPORT.rglob("*.py") if path.name != "format.py"]
    assert len(others) > 40
    by_hand = {
        path.relative_to(REPORT).as_posix(): lines
        for path in others
        if (lines := written_by_hand(path.read_text(encoding="utf-8")))
    }
    assert set(by_hand) <= FOR_MACHINES, by_hand
