"""YAML is read the way people mean it, and never without bound."""

from __future__ import annotations

import time
from datetime import date

import pytest

from profilegen.history.yaml_tree import MAX_VALUES, Ambiguous, read_tree


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("84", 84),
        ("-84", -84),
        ("+84", 84),
        ("0", 0),
        ("84.5", 84.5),
        ("84.", 84.0),
        (".5", 0.5),
        ("1e2", 100.0),
        ("true", True),
        ("False", False),
        ("null", None),
        ("~", None),
        ("2025-11-03", date(2025, 11, 3)),
        ("2025-11", "2025-11"),
        ("2025-02-30", "2025-02-30"),
        ("snatch", "snatch"),
        ("truE", "truE"),
        ("84kg", "84kg"),
        ("-", "-x"),
        ('"84"', "84"),
        ("'no'", "no"),
        ("9" * 41, "9" * 41),
    ],
)
def test_plain_values_are_what_everybody_reads(written: str, value: object) -> None:
    if written == "-":
        written = "-x"
    read = read_tree(f"a: {written}\n", "x").value["a"]
    assert read == value
    assert type(read) is type(value)


@pytest.mark.parametrize(
    ("written", "reading"),
    [
        ("no", "false"),
        ("YES", "true"),
        ("On", "true"),
        ("off", "false"),
        ("n", "false"),
        ("1:30", "90 (base 60)"),
        ("-1:30", "-90 (base 60)"),
        ("190:20:30", "685230 (base 60)"),  # the YAML 1.1 integer type's own example
        ("010", "8 (base 8)"),
        ("0o14", "12 (another base)"),  # the YAML 1.2.2 core schema's o14 = 12
        ("0x50", "80 (another base)"),
        ("0b11", "3 (another base)"),
        ("1_000", "1000"),
        ("080", "a number with a leading zero"),
        (".inf", "infinity"),
        (".NaN", "not a number"),
        ("2025-11-03 10:00", "a date with a time of day"),
        ("2025-11-03T10:00:00Z", "a date with a time of day"),
    ],
)
def test_what_readers_disagree_about_stays_text_and_says_so(written: str, reading: str) -> None:
    value = read_tree(f"a: {written}\n", "x").value["a"]
    assert isinstance(value, Ambiguous)
    assert (value, value.reading) == (written, reading)


@pytest.mark.parametrize("written", ["0x_", "0b_", "0o_", "-0x__", "0x", "0b2", "0o8", "0xg"])
def test_a_base_without_a_digit_is_a_word(written: str) -> None:
    assert type(read_tree(f"a: {written}\n", "x").value["a"]) is str


def test_keys_are_words_whatever_they_look_like() -> None:
    assert read_tree("on: 1\nno: 2\n84: 3\n", "x").value == {"on": 1, "no": 2, "84": 3}


def test_of_a_repeated_key_the_first_value_stays_and_the_second_is_told() -> None:
    document = read_tree("a: 1\nb: {c: 2, c: {d: 3}}\na: [4]\ne: 5\n", "x")
    assert document.value == {"a": 1, "b": {"c": 2}, "e": 5}
    assert [(p.line, p.column, p.field) for p in document.problems] == [(2, 11, "c"), (3, 1, "a")]


def test_places_are_lines_and_columns_from_one() -> None:
    document = read_tree("a:\n  - x: 1\n    y: [2, 3]\n", "x")
    places = document.places
    assert places.spot(("a", 0, "y", 1)) == (3, 12)
    assert places.spot(("a", 0, "y"), of_key=True) == (3, 5)
    assert places.spot(("a", 0)) == (2, 5)
    assert places.spot(("a", 0, "missing")) == (2, 5)
    assert places.spot(("nowhere", 7)) == (1, 1)


@pytest.mark.parametrize("text", ["", "\n\n", "# only a remark\n", "---\n"])
def test_nothing_is_nothing(text: str) -> None:
    document = read_tree(text, "x")
    assert (document.value, document.fatal) == (None, False)


def test_a_leading_document_mark_and_a_yaml_line_are_fine() -> None:
    assert read_tree("%YAML 1.2\n---\na: 1\n...\n", "x").value == {"a": 1}


@pytest.mark.parametrize(
    "text",
    [
        "a: &x [1]\nb: *x\n",
        "a: &x 1\n",
        "&x a: 1\n",
        "<<: *x\n",
        "a: !!str 1\n",
        "a: !thing {}\n",
        "? {a: 1}\n: 2\n",
        "a: 1\n---\nb: 2\n",
        "[" * 100_000,
        "- " * 100_000,
        "{a: " * 5_000,
        "a: [1, 2\n",
        "a: 'x\n",
        "a: b: c\n",
        "a\nb: 1\n",
        "\ta: 1\n",
        "a: \x00\n",
        "a: |x\n",
        "%TAG ! x\n",
        "@a: 1\n",
        "a: `b`\n",
        'a: "\\q"\n',
        "}\n",
        "a: 1\n b: 2\n",
    ],
)
def test_what_cannot_be_read_is_one_problem_with_a_place(text: str) -> None:
    start = time.perf_counter()
    document = read_tree(text, "x")
    assert time.perf_counter() - start < 1
    assert document.fatal
    (problem,) = document.problems
    assert problem.line >= 1
    assert problem.column >= 1
    assert "this is not YAML" not in problem.message


def test_the_number_of_values_is_bounded() -> None:
    document = read_tree("a: [" + "1," * (MAX_VALUES + 5) + "]\n", "x")
    (problem,) = document.problems
    assert "the limit is 500,000 values" in problem.message
