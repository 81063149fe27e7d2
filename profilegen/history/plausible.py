"""What a number in a lifter's file can be at all: beyond it, it is a typing mistake.

Upper limits are the heaviest loads anyone is known to have lifted in that kind of lift,
from memory and rounded up well beyond; the lower limit is the lightest bar children learn
with (5 kg; common practice, no source). They catch a slipped decimal or a digit too many,
not an unusual lifter.
"""

from __future__ import annotations

LOAD_RANGE_KG: dict[str, tuple[float, float]] = {
    "snatch": (5, 250),  # heaviest snatch 225
    "clean": (5, 300),  # heaviest clean and jerk 267
    "clean_and_jerk": (5, 300),
    "jerk": (5, 320),  # from the rack a little more than after a clean
    "press": (5, 300),  # heaviest push presses about 260
    "overhead": (5, 280),  # snatch balance, overhead squat: about 240
    "pull": (5, 420),  # pulls are done with up to about 1.3 of the best clean
    "deadlift": (5, 550),  # heaviest deadlift 510
    "squat": (5, 600),  # heaviest back squat without a suit about 505, with wraps 525
}
"""By family of the catalogue: lowest and highest load of one set, kg."""

ANY_LOAD_KG = (5.0, 600.0)
"""For a lift whose family is not known."""

TOTAL_RANGE_KG = (10.0, 550.0)
"""Snatch plus clean and jerk: heaviest 492."""

TARGET_TOTAL_RANGE_KG = (20.0, 550.0)
"""What somebody may want to lift at a meet: at least two lifts with the lightest bar of
children's meets, 10 kg (common practice, no source)."""

BODY_MASS_RANGE_KG = (25.0, 250.0)
"""Children who start to lift weigh about 25 kg; the heaviest lifters weigh about 190."""

SPEED_RANGE_M_S = (0.05, 4.0)
"""The slowest squat that still goes up is about 0.1, the fastest peak of a light snatch
about 3."""

MOST_IN_RESERVE = 5.0
"""Repetitions left that anyone can tell. Estimates are about 1 off with up to 5 left, more than 2
with 7 to 10 (Hackett et al. 2017, J Strength Cond Res 31(8):2162-2168). A higher number is most
likely an effort on the scale to ten (RPE), where 10 is nothing left and 8 is two (Helms et al.
2016, Strength Cond J 38(4):42-49); at 5 both say the same."""

SHARE_RANGE = (0.3, 1.05)
"""Load / maximum that is worth writing down; a little over 1 for a lifetime effort."""

OWN_LIFT_SHARE_RANGE = (0.3, 2.0)
"""A club's own lift against its parent: a partial lift may go well over it."""

TEST_COST_RANGE = (0.1, 10.0)
"""Fatigue of one maximal test, snatch = 1."""

AGE_RANGE = (7, 100)
"""Completed years."""

SITTING_HEIGHT_RANGE = (0.40, 0.65)
"""Sitting height / standing height; adults lie between about 0.47 and 0.56."""

MEET_YEARS_AHEAD = 10
"""A meet later than this is a mistyped year."""

LONGEST_TESTING_WEEK_DAYS = 31


def load_range_kg(family: str) -> tuple[float, float]:
    """Lowest and highest load of one set in a family of lifts, kg.

    >>> load_range_kg("snatch")
    (5, 250)
    """
    return LOAD_RANGE_KG.get(family, ANY_LOAD_KG)


MOST_NOTE_CHARACTERS = 20_000
"""Of the notes for the page, about 3,500 words; the page shows every one of them."""
