"""Training emphasis as data: sourced, fit for juniors, and never a lift to avoid."""

from __future__ import annotations

import re
import shutil
from importlib.resources import files
from pathlib import Path

import pytest

from profilegen.errors import NormsError
from profilegen.norms.catalogue import COMPOSED, QUALITIES, Quality, load_norms
from profilegen.norms.checker import PRACTICE
from profilegen.norms.emphasis import FILE, Advice, load_emphasis, read_emphasis

NORMS = load_norms()
EMPHASIS = load_emphasis()
FOLDER = Path(str(files("profilegen.norms")))


def test_every_quality_has_all_four_parts():
    assert tuple(EMPHASIS) == QUALITIES
    for one in EMPHASIS.values():
        assert one.emphasis
        assert one.shows
        assert one.cautions
        assert one.see


def test_every_entry_names_a_source_or_says_that_there_is_none():
    for one in EMPHASIS.values():
        for entry in (*one.emphasis, *one.shows, *one.cautions, *one.see):
            assert entry.source == PRACTICE or entry.source in NORMS.sources


def test_pain_leads_to_a_licensed_professional_in_every_quality():
    for one in EMPHASIS.values():
        assert all("licensed professional" in entry.text for entry in one.see)
        assert all("stop" in entry.text for entry in one.see)


@pytest.mark.parametrize("lift", [*NORMS.lifts, None])
@pytest.mark.parametrize("junior", [False, True])
def test_a_lift_to_avoid_is_in_no_list(lift: str | None, junior: bool):
    gone = load_norms().alike.taken_along([lift] if lift else [], {})
    for one in EMPHASIS.values():
        shown = one.shown(junior=junior, avoided=gone)
        named = {name for entry in (*shown.emphasis, *shown.shows) for name in entry.lifts}
        assert not named & gone
        assert all(entry.lifts for entry in (*shown.emphasis, *shown.shows))
        assert shown.see == one.see


@pytest.mark.parametrize("quality", QUALITIES)
def test_where_nothing_is_left_to_emphasise_its_signs_and_dangers_go_with_it(quality: Quality):
    """What remains is when to see a licensed professional: that holds for whoever avoids."""
    shown = EMPHASIS[quality].shown(junior=False, avoided=[*NORMS.lifts])
    assert (shown.emphasis, shown.shows, shown.cautions) == ((), (), ())
    assert shown.see == EMPHASIS[quality].see


def test_juniors_read_nothing_of_maximal_work():
    """Words that ask for a maximum, a single or heavy work are not in what juniors read."""
    for one in EMPHASIS.values():
        shown = one.shown(junior=True, avoided=[])
        assert shown.emphasis, one.quality
        said = [entry.text for entry in (*shown.emphasis, *shown.shows)]
        said += [entry.text for entry in (*shown.cautions, *shown.see)]
        for text in said:
            assert not re.search(r"\bmax|single|\bheav(y|iest)\b", text, re.IGNORECASE), text
        assert all(entry.audience != "adults" for entry in shown.emphasis)


def test_adults_do_not_read_what_was_written_for_juniors():
    shown = EMPHASIS["legs"].shown(junior=False, avoided=[])
    assert all(entry.audience != "juniors" for entry in shown.emphasis)


def test_every_lift_named_is_a_lift():
    for one in EMPHASIS.values():
        for entry in (*one.emphasis, *one.shows):
            assert isinstance(entry, Advice)
            assert set(entry.lifts) <= {*NORMS.lifts, *COMPOSED}


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (', source: lucero2019, note: "front', ', note: "front', "a number without a source"),
        ("source: lucero2019", "source: nobody1999", "unknown source nobody1999"),
        ("lifts: [front_squat,", "lifts: [front_sqaut,", "no lift called front_sqaut"),
        ("lifts: [snatch_pull, clean_pull], for", "lifts: [], for", "expected a list of lifts"),
        ("- quality: speed", "- quality: spede", "unknown quality"),
        ("- quality: speed", "- quality: pull", "given twice"),
        (
            "overhead_squat], for: juniors",
            "overhead_squat], for: kids",
            "for: expected everyone | adults | juniors, got kids",
        ),
        ("Strength in the position", "A maximal single in the position", "juniors would read"),
        ("Strength in the position", "Front squats in the position", "names a lift (Front squat)"),
        ("  shows:\n", "  signs:\n", "unknown key signs"),
    ],
)
def test_the_loader_refuses(tmp_path: Path, old: str, new: str, said: str):
    """One spoilt place is named with its quality; the rest is still checked."""
    shutil.copy(FOLDER / FILE, tmp_path)
    text = (tmp_path / FILE).read_text(encoding="utf-8")
    assert old in text
    (tmp_path / FILE).write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(NormsError) as caught:
        read_emphasis(tmp_path, NORMS)
    assert said in str(caught.value)


def test_a_missing_file_is_a_norms_error(tmp_path: Path):
    with pytest.raises(NormsError, match="cannot be read"):
        read_emphasis(tmp_path, NORMS)
