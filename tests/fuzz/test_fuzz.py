"""Spoiled files end in a site or in mistakes told plainly; see tests/bench/fuzz.py for 20,000."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.fuzz.run import Fuzz
from tests.fuzz.watched import watched


@pytest.mark.parametrize(
    ("kind", "number"), [("athletes", 250), ("clubs", 60), ("sheets", 120)], ids=str
)
def test_spoiled_files_end_in_an_answer_and_nothing_else(
    kind: str, number: int, tmp_path: Path
) -> None:
    """No traceback, no hang, no file anywhere else, no other program or connection."""
    fuzz = Fuzz(tmp_path)
    getattr(fuzz, kind)(range(number))
    assert fuzz.found.bad == []
    assert fuzz.found.good > number / 20, "hardly a file gets past the loader: too spoiled"
    assert fuzz.found.good < number, "nothing is refused: not spoiled enough"
    assert kind != "athletes" or fuzz.found.built > 0
    assert kind != "sheets" or fuzz.found.added > 0


def test_the_watch_sees_a_file_written_elsewhere(tmp_path: Path) -> None:
    """The check above can fail."""
    inside, outside = tmp_path / "site", tmp_path / "elsewhere"
    inside.mkdir()
    with watched() as watch:
        (inside / "page").write_text("fine")
        outside.write_text("not fine")
        (inside / "page").rename(tmp_path / "moved")
    assert watch.outside(inside) == [outside, tmp_path / "moved"]
