"""What each of the six qualities is, how a lack of it shows, what to look at in training.

Facts of the trade: common practice, no source. Nothing here is a programme, and nothing
asks for a heavy single. What to look at names lifts, so it is told by the lift: what a lifter
avoids drops out, and the sentence is made of what is left.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cache

from profilegen.norms.catalogue import Quality
from profilegen.report.language import Words
from profilegen.report.words import Voice


@dataclass(frozen=True, slots=True)
class Look:
    """One thing to look at in training, within a list; shown where none of its lifts is avoided."""

    lifts: tuple[str, ...]
    text: str


@dataclass(frozen=True, slots=True)
class QualityWords:
    """One quality in words."""

    is_about: str
    shows: str
    looks: tuple[Look, ...]
    how: str
    """How to do whatever is left of `looks`; names no lift."""


def what_to_look_at(voice: Voice, quality: Quality, not_proposed: Collection[str]) -> str:
    """What to look at in training, without a lift that is not to be proposed."""
    texts = quality_words(voice.words, quality)
    left = [one.text for one in texts.looks if not set(one.lifts) & set(not_proposed)]
    if not left:
        return voice.words._(
            "All that is usual here is on the list to avoid, or much alike. What can be done "
            "instead is for the coach to say."
        )
    return f"{voice.show.capital(voice.show.listed(left))}. {texts.how}"


def quality_words(words: Words, quality: Quality) -> QualityWords:
    """The words for one quality."""
    return _all_words(words)[quality]


@cache
def _all_words(words: Words) -> Mapping[Quality, QualityWords]:
    _ = words._
    return {
        "legs": QualityWords(
            _("Standing up: squats, and rising with a heavy clean."),
            _(
                "Cleans are caught but not stood up, and the front squat is hardly more than "
                "the clean and jerk."
            ),
            (
                # for translators: this and the next texts stand in a list, as "a, b and c"
                Look(("front_squat",), _("front squats")),
                Look(("paused_front_squat",), _("paused front squats")),
                Look(("back_squat",), _("back squats")),
            ),
            _("Upright, without a bounce, in sets of several good reps."),
        ),
        "pull": QualityWords(
            _("Lifting the bar from the floor to the hips with the back held."),
            _("The bar leaves the floor slowly or the back gives way, and pulls are low."),
            (
                Look(
                    ("snatch_pull", "clean_pull", "snatch_deadlift", "clean_deadlift"),
                    _("pulls and deadlifts in both grips"),
                ),
            ),
            _("At the speed and in the positions of the lifts, the start off the floor above all."),
        ),
        "speed": QualityWords(
            _("Making the bar fast at the end of the pull, so that it flies."),
            _("Squats and deadlifts are high, but power snatches and power cleans are not."),
            (
                Look(("power_snatch",), _("power snatches")),
                Look(("power_clean",), _("power cleans")),
                Look(("hang_power_snatch",), _("hang power snatches")),
                Look(("hang_power_clean",), _("hang power cleans")),
            ),
            _("Lighter and as fast as possible, with a full rest between sets."),
        ),
        "snatch_turnover": QualityWords(
            _("Getting under a snatch quickly and meeting the bar in a firm squat."),
            _("The power snatch is nearly as good as the snatch; the bar is high enough and lost."),
            (
                Look(("snatch_balance",), _("snatch balances")),
                Look(("snatch",), _("tall snatches")),
                Look(("snatch",), _("snatches with a pause in the bottom")),
            ),
            _("With loads that allow every rep to be good."),
        ),
        "clean_turnover": QualityWords(
            _("Getting under a clean quickly, with fast elbows and a firm rack."),
            _("The power clean is nearly as good as the clean, with squats and pulls to spare."),
            (
                Look(("clean",), _("tall cleans")),
                Look(("hang_clean",), _("hang cleans")),
                Look(("clean",), _("cleans with a pause in the bottom")),
                Look(("front_squat",), _("front squats for the rack position")),
            ),
            _("With fast elbows that end high."),
        ),
        "overhead": QualityWords(
            _("Driving the bar off the shoulders and holding it overhead."),
            _("Cleans are easy and jerks are missed; the push press is low for the jerk."),
            (
                Look(("jerk_from_rack",), _("jerks from the rack")),
                Look(("push_press",), _("push presses")),
                Look(("jerk",), _("the footwork of the jerk")),
            ),
            _("Straight in the dip, hard in the drive."),
        ),
    }
