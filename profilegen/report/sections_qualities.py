"""Report sections about the six qualities: why, where the kilos are, what each one is."""

from __future__ import annotations

import math

from profilegen.engine.profile import CLEAN_AND_JERK, TOTAL, Profile, QualityReading
from profilegen.norms.catalogue import Norms, Quality
from profilegen.report.chart import Axis, Step, Waterfall
from profilegen.report.page import (
    Bullets,
    Cell,
    Column,
    Details,
    Drawn,
    Grid,
    GridRow,
    Pair,
    QualityCard,
    Section,
)
from profilegen.report.quality_words import quality_words, what_to_look_at
from profilegen.report.words import (
    Voice,
    quality_heading,
    quality_label,
    quality_name,
    ratio_meaning,
    ratio_points,
    ratio_sentence,
    rests_sentences,
    strong_and_low,
)

MOST_RATIOS = 3
"""Ratios told among the reasons."""


def why_section(voice: Voice, profile: Profile, norms: Norms, *, training: bool = True) -> Section:
    """What the verdict means, what speaks for it and what it rests on.

    training: whether to say what to look at; not on a copy that does not know what to avoid.
    """
    _ = voice.words._
    limiter, is_open = profile.verdict.limiter, profile.verdict.confidence == "open"
    reasons: list[str] = []
    if profile.verdict.known == "nothing":
        return Section("why", _("Why"), _("Without a set there is nothing to compare."), ())
    if profile.verdict.known == "little":
        reasons.append(_known_so_far(voice, profile))
    elif is_open:
        reasons.append(_("What has been written down so far fits several answers."))
    elif limiter == "even":
        reasons.append(_("The six qualities lie close together, none clearly behind the others."))
    reasons += strong_and_low(voice, profile.lifts)
    reasons += _telling_ratios(voice, profile, norms)
    if limiter != "even" and profile.verdict.known == "enough":
        reasons += rests_sentences(voice, profile.qualities[limiter])
    cards: tuple[QualityCard, ...] = ()
    if limiter != "even" and not is_open:
        cards = (quality_card(voice, profile, limiter, training=training),)
    title = _("What that means, and why") if cards else _("Why")
    said = (Bullets(tuple(reasons)),) if reasons else ()
    return Section("why", title, "", (*cards, *said))


def _telling_ratios(voice: Voice, profile: Profile, norms: Norms) -> list[str]:
    """The most unusual ratios that this lifter's own lacks account for, at most three.

    The others stand in the section of ratios: here they would point away from the answer.
    """
    limiter, qualities = profile.verdict.limiter, profile.qualities
    usual = {(one.numerator, one.denominator): one for one in norms.usual_ratios}
    told = [
        (ratio, meant)
        for ratio in profile.ratios
        if (meant := usual.get((ratio.numerator, ratio.denominator)))
        and ratio_points(meant, ratio, limiter, qualities)
    ]
    told.sort(key=lambda pair: -max(pair[0].chance_below, pair[0].chance_above))
    sentences = []
    for ratio, meant in told[:MOST_RATIOS]:
        meaning = ratio_meaning(voice, meant, ratio, limiter, qualities, answered=True)
        sentences.append(ratio_sentence(voice, ratio, meaning))
    return sentences


def _known_so_far(voice: Voice, profile: Profile) -> str:
    """Which lifts are known about, where they are too few."""
    _ = voice.words._
    told = [key for key, one in profile.lifts.items() if one.basis == "tested" and key != TOTAL]
    if {"clean", "jerk"} & set(told):
        told = [lift for lift in told if lift != CLEAN_AND_JERK]
    if not told and any(one.basis == "bounded" for one in profile.lifts.values()):
        return _(
            "No lift has a set of the last year that says about how much it is: made sets only say "
            "“at least”."
        )
    if not told:
        return _("No lift has a set of the last year that says about how much it is.")
    return _(
        "Known about so far: {lifts}. What limits shows in how lifts differ, and much alike ones "
        "count once."
    ).format(lifts=voice.show.listed([voice.lift_within(lift) for lift in told]))


def quality_card(
    voice: Voice, profile: Profile, quality: Quality, *, training: bool = True
) -> QualityCard:
    """One quality explained."""
    _ = voice.words._
    texts = quality_words(voice.words, quality)
    facts = [
        Pair(_("What it is"), texts.is_about),
        Pair(_("How a lack of it shows"), texts.shows),
    ]
    if training:
        look_at = what_to_look_at(voice, quality, profile.not_proposed)
        facts.append(Pair(_("What to look at in training"), look_at))
    return QualityCard(quality_heading(voice.words, quality), tuple(facts))


def kilos_section(voice: Voice, profile: Profile, *, training: bool = True) -> Section:
    """Kilos behind each quality with the chance that it limits; scores one click away.

    Where too little is known, only what the six qualities are.
    """
    _ = voice.words._
    if profile.verdict.known != "enough":
        lead = _("Not known yet. These six are what a lifter’s total is made of.")
        return Section(
            "kilos",
            _("Where the kilos are"),
            lead,
            (qualities_details(voice, profile, training=training),),
        )
    show = voice.show
    readings = sorted(
        profile.qualities.values(), key=lambda one: (-one.chance_limiting, -one.kilos)
    )
    steps = tuple(
        Step(
            quality_label(voice.words, one.quality),
            show.load_value(one.kilos),
            _("{gain}, {chance}").format(
                gain=show.gain_interval(one.kilos, one.kilos_low, one.kilos_high),
                chance=show.percent(one.chance_limiting),
            ),
            show.load_value(one.kilos_low),
            show.load_value(one.kilos_high),
            tone="low" if one.quality == profile.verdict.limiter else "plain",
        )
        for one in readings
    )
    highest = max(one.kilos_high for one in readings)
    lowest = min(0.0, *(one.kilos_low for one in readings))
    chart = Waterfall(
        "kilos",
        _("Kilos on the total behind each quality"),
        _most_behind(voice, profile, readings[0]),
        Axis(
            _("{unit} on the total").format(unit=show.units),
            _down(show.load_value(lowest), 2),
            _up(max(show.load_value(highest), 4.0), 2),
            unit=show.units,
        ),
        steps,
    )
    return Section(
        "kilos",
        _("Where the kilos are"),
        _(
            "How much the total would grow if one quality caught up with the other five, and how "
            "likely it is that this one limits most."
        ),
        (
            Drawn(chart),
            Details(_("The six qualities beside what is usual"), (_scores(voice, readings),)),
            qualities_details(voice, profile, training=training),
        ),
    )


def _most_behind(voice: Voice, profile: Profile, top: QualityReading) -> str:
    """The quality with the most kilos behind it, where that is a kilo at all."""
    _ = voice.words._
    show = voice.show
    even = show.chance(profile.chance_even)
    if show.gain_number(top.kilos) < 1:
        return _(
            "No quality has as much as {gain} on the total behind it. An even profile: {even}."
        ).format(gain=show.gain(1.0), even=even)
    return _(
        "{quality} has the most behind it: {gain} on the total, and {chance} that it limits. "
        "An even profile: {even}."
    ).format(
        quality=show.capital(quality_name(voice.words, top.quality)),
        gain=show.gain_interval(top.kilos, top.kilos_low, top.kilos_high),
        chance=show.chance(top.chance_limiting),
        even=even,
    )


def _scores(voice: Voice, readings: list[QualityReading]) -> Grid:
    """Scores in standard deviations: numbers for those who ask, so a table and no chart."""
    _ = voice.words._
    show = voice.show
    return Grid(
        "scores",
        _("In standard deviations; two of three lifters lie between −1 and +1"),
        (
            Column(_("Quality")),
            Column(_("Score"), numeric=True),
            Column(_("90% interval"), numeric=True),
            Column(_("Kilos on the total"), numeric=True),
            Column(_("Limits"), numeric=True),
        ),
        tuple(
            GridRow(
                (
                    Cell(quality_label(voice.words, one.quality)),
                    Cell(show.score(one.score)),
                    Cell(show.range(show.score(one.low), show.score(one.high))),
                    Cell(show.gain_interval(one.kilos, one.kilos_low, one.kilos_high)),
                    Cell(show.percent(one.chance_limiting)),
                )
            )
            for one in readings
        ),
    )


def qualities_details(voice: Voice, profile: Profile, *, training: bool = True) -> Details:
    """All six explained, one click away."""
    return Details(
        voice.words._("All six qualities explained"),
        tuple(quality_card(voice, profile, one, training=training) for one in profile.qualities),
    )


def _up(value: float, step: float) -> float:
    return math.ceil(value / step) * step


def _down(value: float, step: float) -> float:
    return math.floor(value / step) * step
