"""The cautions that go with every report; juniors have their own, and so have readers whom
the page does not tell whether it is about a junior.

Heavy singles can hurt. Federation and club rules come before anything on a page.
"""

from __future__ import annotations

from profilegen.report.words import Voice


def short_caution(voice: Voice) -> str:
    """One line under the verdict."""
    _ = voice.words._
    if voice.junior:
        return (
            _("You are still growing: lift well first, kilos follow. Train with your coach.")
            if voice.you
            else _("Under 18: technique and steady practice first. No maximal singles are advised.")
        )
    return _("Coaching information, not medical advice. Where it hurts, stop.")


def cautions(voice: Voice) -> tuple[str, ...]:
    """The full list."""
    _ = voice.words._
    pain = _("Pain is not part of training: stop, and see a licensed professional before going on.")
    rules = _("The rules of the federation and of the club come first.")
    advice = _("This is coaching information, not medical advice.")
    under_18 = _(
        "Under 18: good positions, many good reps and a coach who watches. This page advises no "
        "attempt at a maximum."
    )
    if voice.junior:
        return (
            under_18,
            _(
                "Growth spurts change balance and mobility for a while; lower numbers in such a "
                "time are normal."
            ),
            pain,
            rules,
            _("Nobody should lose weight to reach a category at this age without a doctor’s word."),
            advice,
        )
    return (
        *(() if voice.age_told else (under_18,)),
        _(
            "Heavy singles can hurt: warm up step by step, load the bar with a coach or training "
            "partner around, and know how to let a bar go."
        ),
        _("A number on this page is what to expect, not what has to be lifted on a given day."),
        _(
            "Lifts on the list to avoid, and what is much alike, are never proposed here; keep it "
            "that way on the platform."
        ),
        pain,
        rules,
        advice,
    )
