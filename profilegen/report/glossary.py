"""The words of the trade and of this site, each in a sentence or two."""

from __future__ import annotations

from functools import cache

from profilegen.report.language import Words
from profilegen.report.page import Term


@cache
def glossary(words: Words) -> tuple[Term, ...]:
    """Every term, in the order of the methods page."""
    _ = words._

    def term(id: str, name: str, meaning: str, *also: str) -> Term:
        return Term(id, name, meaning, also)

    return (
        term(
            "interval",
            _("interval"),
            _("Two numbers between which the true one lies nine times in ten."),
            _("intervals"),
        ),
        term(
            "chance",
            _("chances in 10"),
            _("Of ten lifters with such numbers, in how many the statement would be true."),
            _("chance in 10"),
        ),
        term(
            "limiter",
            _("limiter"),
            _("The quality that costs the total most, if one costs it more than 1.5%."),
        ),
        term(
            "quality",
            _("quality"),
            _("One of six things that every lift draws on, each in its own mix."),
            _("qualities"),
        ),
        term(
            "level",
            _("level"),
            _("How much a lifter lifts over all, before asking in which lifts."),
        ),
        term("tested", _("tested"), _("Known from a set to the limit, several reps or a miss.")),
        term(
            "worked-out",
            _("worked out"),
            _("Nobody tried it; the lifter’s other lifts say what to expect."),
        ),
        term(
            "snatch",
            _("snatch"),
            _("The bar goes from the floor to overhead in one movement."),
        ),
        term(
            "clean-and-jerk",
            _("clean and jerk"),
            _("The bar goes to the shoulders (clean), then overhead (jerk)."),
        ),
        term(
            "power",
            _("power snatch"),
            _("A lift received with the knees bent only a little, not in a full squat."),
            _("power clean"),
        ),
        term(
            "hang",
            _("hang snatch"),
            _("A lift that starts from above the floor, with the bar held."),
            _("hang clean"),
        ),
        term(
            "turnover",
            _("turnover"),
            _("The change from pulling the bar up to getting under it."),
        ),
        term(
            "rack",
            _("rack position"),
            _("The bar lying on the shoulders with the elbows high."),
        ),
        term(
            "deadlift",
            _("snatch-grip deadlift"),
            _("Standing up with the bar in the hands, with the wide grip of the snatch."),
        ),
        term(
            "pull",
            _("snatch pull"),
            _("The lift without going under the bar: up, fast, and down again."),
            _("clean pull"),
        ),
        term(
            "push-press",
            _("push press"),
            _("A dip and drive with the legs, then pressing out, feet staying where they are."),
        ),
        term(
            "reserve",
            _("left in reserve"),
            _("How many more reps the lifter could have done at the end of a set."),
        ),
        term(
            "maximal",
            _("maximal"),
            _("A set after which nothing was left: about the most for that day."),
        ),
        term(
            "scaled",
            _("scaled total"),
            _("A total made comparable across body masses by a published formula."),
        ),
        term("testing", _("testing week"), _("Days in which the whole squad tests.")),
        term(
            "form",
            _("form of the day"),
            _("Everything is a little heavier or lighter on one day than on another, about 2%."),
        ),
    )
