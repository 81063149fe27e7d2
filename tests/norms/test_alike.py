"""Which lifts are much alike: what a lift to avoid takes along, and what it leaves."""

from __future__ import annotations

import shutil
from importlib.resources import files
from pathlib import Path

import pytest

from profilegen.errors import NormsError
from profilegen.norms.alike import FILE, read_alike
from profilegen.norms.catalogue import load_norms

NORMS = load_norms()
ALIKE = load_norms().alike
FOLDER = Path(str(files("profilegen.norms")))
OWN = {"pin_squat": "front_squat", "muscle_snatch": "power_snatch"}


@pytest.mark.parametrize(
    ("avoided", "gone", "stays"),
    [
        # a shoulder that may not jerk may not do so from the rack, with a push or a press
        ("jerk", {"jerk_from_rack", "power_jerk", "push_press", "press"}, {"clean", "snatch"}),
        ("jerk_from_rack", {"jerk", "power_jerk", "push_press", "clean_and_jerk"}, {"clean"}),
        ("push_press", {"jerk", "press"}, {"snatch"}),
        # a press that pinches leaves a jerk, which is caught on locked arms
        ("press", {"push_press"}, {"jerk", "clean_and_jerk"}),
        ("snatch", {"block_snatch", "hang_snatch", "power_snatch", "overhead_squat"}, {"clean"}),
        ("power_snatch", {"hang_power_snatch"}, {"snatch"}),
        ("clean", {"hang_clean", "block_clean", "power_clean", "clean_and_jerk"}, {"jerk"}),
        ("overhead_squat", {"snatch_balance"}, {"snatch", "front_squat"}),
        # front squats instead of back squats are what a back is spared with
        ("back_squat", {"paused_back_squat", "overhead_squat"}, {"front_squat", "clean"}),
        ("paused_front_squat", {"front_squat"}, {"back_squat", "clean"}),
        # a back cannot tell a pull from a deadlift, nor one grip from the other
        ("clean_deadlift", {"snatch_deadlift", "clean_pull", "snatch_pull"}, {"power_clean"}),
        ("front_squat", {"paused_front_squat", "pin_squat"}, {"back_squat"}),
        ("pin_squat", {"front_squat", "paused_front_squat"}, {"back_squat"}),
        ("snatch", {"muscle_snatch"}, {"pin_squat"}),
    ],
)
def test_a_lift_to_avoid_takes_its_like_along(avoided: str, gone: set[str], stays: set[str]):
    taken = ALIKE.taken_along([avoided], OWN)
    assert {avoided, *gone} <= taken
    assert not stays & taken


def test_nothing_to_avoid_takes_nothing_along():
    assert ALIKE.taken_along([], OWN) == frozenset()


@pytest.mark.parametrize("lift", NORMS.lifts)
def test_a_group_is_the_same_from_each_of_its_lifts(lift: str):
    """Both ways and all of it: what one takes along, the others do."""
    group = ALIKE.groups[lift]
    assert lift in group
    assert {ALIKE.groups[other] for other in group} == {group}
    assert {ALIKE.taken_along([other], OWN) for other in group} == {ALIKE.taken_along([lift], OWN)}


def test_every_lift_stands_in_a_group():
    assert set(ALIKE.groups) == set(NORMS.lifts)


def test_a_lift_whose_parent_nobody_told_stands_alone():
    assert ALIKE.taken_along(["strange"], {}) == {"strange"}
    assert not ALIKE.same("strange", "snatch", {})


def test_two_of_a_kind_are_the_same_and_the_whole_is_its_halves():
    same = ALIKE.same
    assert same("jerk", "push_press", OWN)
    assert same("pin_squat", "front_squat", OWN)
    assert same("clean_and_jerk", "clean", OWN)
    assert same("jerk", "clean_and_jerk", OWN)
    assert not same("clean_and_jerk", "power_clean", OWN)
    assert not same("snatch", "overhead_squat", OWN)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("lifts: [press],", "lifts: [pres],", "no lift called pres"),
        ("lifts: [press],", "lifts: [],", "expected a list of lifts"),
        ("lifts: [press],", "lifts: [press, jerk],", "jerk stands in two groups"),
        ("  - {lifts: [press],", "  # {lifts: [press],", "press is missing"),
        ('because: "no dip, and a light bar; see besides"', 'because: ""', "expected text"),
        ("also: [press],", "also: [pres],", "no lift called pres"),
        ("besides:\n", "beside:\n", "unknown key beside"),
    ],
)
def test_the_loader_refuses(tmp_path: Path, old: str, new: str, said: str):
    shutil.copy(FOLDER / FILE, tmp_path)
    text = (tmp_path / FILE).read_text(encoding="utf-8")
    assert old in text
    (tmp_path / FILE).write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(NormsError) as caught:
        read_alike(tmp_path, NORMS.lifts)
    assert said in str(caught.value)


def test_a_missing_file_is_a_norms_error(tmp_path: Path):
    with pytest.raises(NormsError, match="cannot be read"):
        read_alike(tmp_path, NORMS.lifts)
