"""A coach's notes become HTML that cannot act, and never keep a build waiting."""

from __future__ import annotations

import time

import pytest
from bs4 import BeautifulSoup

from profilegen.notes import notes_html


@pytest.mark.parametrize(
    ("written", "gone"),
    [
        ("[x](javascript:alert(1))", "javascript"),
        ("[x](data:text/html,hi)", "data:"),
        ("![x](https://evil.example/p.png)", "<img"),
        ("<iframe src=//evil.example></iframe>", "<iframe"),
        ("<b onclick=alert(1)>x</b>", "<b"),
    ],
)
def test_notes_keep_their_words_and_lose_their_teeth(written: str, gone: str):
    assert gone not in notes_html(written)


def test_nothing_in_a_note_becomes_a_handler():
    made = notes_html('[x](https://a.example "t\\" onclick=\'1") <p onclick="1">')
    tags = BeautifulSoup(made, "html.parser").find_all(True)
    assert [tag.name for tag in tags] == ["p", "a"]
    for tag in tags:
        assert not any(name.startswith("on") for name in tag.attrs)


def test_notes_keep_safe_markdown_and_mark_links_as_not_ours():
    made = notes_html("## Plan\n\n- *tall* cleans\n- see [this](https://club.example/x)\n")
    assert "<h3>Plan</h3>" in made
    assert "<em>tall</em>" in made
    assert 'rel="noopener nofollow ugc"' in made


def test_notes_are_shown_to_their_last_word():
    """As long as a file may have them: 20,000 characters, said in the reference."""
    longest = "stay tall " * 1_999 + "in the end"
    assert len(longest) == 20_000
    assert notes_html(longest).rstrip().endswith("in the end</p>")


@pytest.mark.parametrize(
    "piece",
    ["[", "![", "[a](", "[a]", "](", "1. ", "a\n=\n", "*", "_", "`", "**a", "- ", "<", "&", "\\["],
)
def test_a_note_made_to_be_slow_is_not(piece: str) -> None:
    """20,000 characters, a second at most on any machine; some took a minute and a half."""
    longest = (piece * 20_000)[:20_000]
    started = time.process_time()
    made = notes_html(longest)
    assert time.process_time() - started < 2.0
    assert made


def test_a_link_off_the_web_leaves_its_words() -> None:
    assert notes_html("see [the plan](ftp://a.example/x) soon") == "<p>see the plan soon</p>"


def test_lists_in_lists_without_end_keep_their_words() -> None:
    assert "1. 1. 1." in notes_html("1. " * 5_000 + "at last")
