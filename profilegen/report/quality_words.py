"""What each of the six qualities is, how a lack of it shows, what to look at in training.

Facts of the trade: common practice, no source. Nothing here is a programme, and nothing
asks for a heavy single.
"""

from __future__ import annotations

from dataclasses import dataclass

from profilegen.norms.catalogue import Quality
from profilegen.report.language import Words


@dataclass(frozen=True, slots=True)
class QualityWords:
    """One quality in words."""

    is_about: str
    shows: str
    look_at: str


def quality_words(words: Words, quality: Quality) -> QualityWords:
    """The words for one quality."""
    _ = words._
    return {
        "legs": QualityWords(
            _("Standing up: squats, and rising with a heavy clean."),
            _(
                "Cleans are caught but not stood up, and the front squat is hardly more than "
                "the clean and jerk."
            ),
            _(
                "Front squats and paused squats in the position the clean is caught in, and "
                "sets of several good reps."
            ),
        ),
        "pull": QualityWords(
            _("Lifting the bar from the floor to the hips with the back held."),
            _("The bar leaves the floor slowly or the back gives way, and pulls are low."),
            _(
                "Pulls and deadlifts in both grips at the speed and in the positions of the "
                "lifts, and the start off the floor."
            ),
        ),
        "speed": QualityWords(
            _("Making the bar fast at the end of the pull, so that it flies."),
            _("Squats and deadlifts are high, but power snatches and power cleans are not."),
            _(
                "Power and hang forms, lighter and as fast as possible, with a full rest "
                "between sets."
            ),
        ),
        "snatch_turnover": QualityWords(
            _("Getting under a snatch quickly and meeting the bar in a firm squat."),
            _("The power snatch is nearly as good as the snatch; the bar is high enough and lost."),
            _(
                "Snatch balances, tall snatches and pauses in the bottom position, with loads "
                "that allow every rep to be good."
            ),
        ),
        "clean_turnover": QualityWords(
            _("Getting under a clean quickly, with fast elbows and a firm rack."),
            _("The power clean is nearly as good as the clean, with squats and pulls to spare."),
            _(
                "Tall cleans, hang cleans and cleans with a pause in the bottom, and the elbows "
                "and the rack position."
            ),
        ),
        "overhead": QualityWords(
            _("Driving the bar off the shoulders and holding it overhead."),
            _("Cleans are easy and jerks are missed; the push press is low for the jerk."),
            _(
                "Jerks from the rack, push presses, the dip and drive, and the footwork of the "
                "jerk."
            ),
        ),
    }[quality]
