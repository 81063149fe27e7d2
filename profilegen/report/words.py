"""The composed sentences: verdict, reasons, ratios, changes.

Every sentence says how sure it is once, in chances in ten, and never hedges twice. `Voice`
holds who speaks to whom: the coach's reading names the lifter, the lifter's reading says
"you".
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from profilegen.engine.claim import THRESHOLD
from profilegen.engine.profile import (
    CLEAN_AND_JERK,
    TOTAL,
    Basis,
    Change,
    Confidence,
    LiftEstimate,
    QualityReading,
    RatioReading,
    Verdict,
)
from profilegen.history.records import Club
from profilegen.norms.catalogue import Limiter, Norms, Quality, UsualRatio
from profilegen.report.format import Format
from profilegen.report.language import Words, words_in

Qualities = Mapping[Quality, QualityReading]

MOST_NAMED = 3
"""Lifts named in one sentence; the rest is counted."""

OF_ANOTHER_TIME = 1.1
"""So far over the high end no day's form carries a lift: that lifter was stronger then."""
NEAR_THE_END = 0.75
"""A best from here on, between the estimate and the end of its interval, is said beside it."""

LATELY_DAYS = 365
"""An older best is no riddle: much has changed since."""

NOTICEABLE_DROP = 0.12
"""A lift is named as what the answer rests on when leaving it out moves the chance by this."""


@dataclass(frozen=True, slots=True)
class Voice:
    """Who speaks to whom, in which language and units."""

    show: Format
    lift_names: Mapping[str, str]
    """Names in sentence case, by lift id."""
    name: str
    you: bool
    """The lifter is spoken to."""
    junior: bool
    age_told: bool = True
    """Whether the page says how old the lifter is; else it must suit any age."""

    @property
    def words(self) -> Words:
        """The language."""
        return self.show.words

    def lift(self, lift: str) -> str:
        """A lift's name as it starts a cell or a sentence; an unknown id stays readable."""
        return self.lift_names.get(lift, lift.replace("_", " ").capitalize())

    def lift_within(self, lift: str) -> str:
        """A lift's name within a sentence."""
        return self.words.within(self.lift(lift))


def voice_for(
    club: Club,
    norms: Norms,
    name: str = "",
    *,
    you: bool = False,
    junior: bool = False,
    age_told: bool = True,
) -> Voice:
    """The voice of one club's pages."""
    words = words_in(club.language)
    names = {lift.id: words._(lift.name) for lift in norms.lifts.values()}
    names |= {own.id: own.name for own in club.own_lifts}
    names |= {CLEAN_AND_JERK: words._("Clean and jerk"), TOTAL: words._("Total")}
    return Voice(Format(words, club.units), names, name, you, junior, age_told)


# Vocabulary


def quality_name(words: Words, quality: Limiter) -> str:
    """A quality within a sentence, in plain words."""
    return {
        "legs": words._("leg strength"),
        "pull": words._("pulling strength"),
        "speed": words._("bar speed"),
        "snatch_turnover": words._("getting under the snatch"),
        "clean_turnover": words._("getting under the clean"),
        "overhead": words._("strength overhead"),
        "even": words._("an even profile"),
    }[quality]


def quality_heading(words: Words, quality: Limiter) -> str:
    """The same standing alone, in a cell or as a heading."""
    return {
        "legs": words.pgettext("quality", "Leg strength"),
        "pull": words.pgettext("quality", "Pulling strength"),
        "speed": words.pgettext("quality", "Bar speed"),
        "snatch_turnover": words.pgettext("quality", "Getting under the snatch"),
        "clean_turnover": words.pgettext("quality", "Getting under the clean"),
        "overhead": words.pgettext("quality", "Strength overhead"),
        "even": words.pgettext("quality", "An even profile"),
    }[quality]


def held_back_by(words: Words, limiter: Limiter) -> str:
    """The same under the heading "Held back by"."""
    if limiter == "even":
        return words.pgettext("held back by", "Nothing: an even profile")
    return quality_heading(words, limiter)


def quality_label(words: Words, quality: Limiter) -> str:
    """A quality as a column or row heading."""
    return {
        "legs": words._("Legs"),
        "pull": words._("Pull"),
        "speed": words._("Speed"),
        "snatch_turnover": words._("Under the snatch"),
        "clean_turnover": words._("Under the clean"),
        "overhead": words._("Overhead"),
        "even": words._("Even"),
    }[quality]


def basis_label(words: Words, basis: Basis) -> str:
    """How a lift is known, in one word."""
    return {
        "tested": words._("tested"),
        "bounded": words._("at least"),
        "inferred": words._("worked out"),
    }[basis]


def basis_meaning(words: Words, basis: Basis) -> str:
    """How a lift is known, in a sentence."""
    return {
        "tested": words._(
            "Tested: a set to the limit, several reps or a miss says about how much."
        ),
        "bounded": words._("At least: only made sets, none of them to the limit."),
        "inferred": words._("Worked out: nobody tried it; the other lifts say what to expect."),
    }[basis]


def confidence_sentence(words: Words, verdict: Verdict) -> str:
    """What the chance means for someone who wants to act on it."""
    if verdict.known == "nothing":
        return words._("No sets are written down.")
    if verdict.known == "little":
        return words._("Too few lifts are known about.")
    confidences: Mapping[Confidence, str] = {
        "clear": words._("Clear: little else fits these numbers."),
        "likely": words._("Likely: more sets would settle it."),
        "leaning": words._("A first lead, not an answer yet."),
        "open": words._("Open: these numbers fit several answers."),
    }
    return confidences[verdict.confidence]


def sex_name(words: Words, sex: Literal["F", "M"], junior: bool) -> str:
    """Who, for the line under the name."""
    if junior:
        return words._("Girl") if sex == "F" else words._("Boy")
    return words._("Woman") if sex == "F" else words._("Man")


def age_text(words: Words, age: int) -> str:
    """Age in years."""
    return words.ngettext("{number} year old", "{number} years old", age).format(
        number=Format(words).number(age)
    )


# Verdict


def verdict_sentence(voice: Voice, verdict: Verdict) -> str:
    """The one sentence: what holds the lifter back and how sure that is."""
    if verdict.known != "enough":
        return _unknown_sentence(voice, verdict)
    chance = voice.show.chance(verdict.chance)
    if verdict.confidence == "open":
        return _open_sentence(voice, verdict, chance)
    if verdict.limiter == "even":
        return _even_sentence(voice, verdict, chance)
    return _limited_sentence(voice, verdict, chance)


def _unknown_sentence(voice: Voice, verdict: Verdict) -> str:
    """No chance is said: it would be that of anyone."""
    _ = voice.words._
    if verdict.known == "nothing":
        return (
            _("Nothing is known yet about what holds you back.")
            if voice.you
            else _("Nothing is known yet about what holds {name} back.")
        ).format(name=voice.name)
    return (
        _("It is too early to say what holds you back.")
        if voice.you
        else _("It is too early to say what holds {name} back.")
    ).format(name=voice.name)


def _limited_sentence(voice: Voice, verdict: Verdict, chance: str) -> str:
    _ = voice.words._
    if voice.you:
        pattern = {
            "clear": _("{quality} is what holds you back: {chance}."),
            "likely": _("{quality} most likely holds you back: {chance}."),
            "leaning": _("{quality} is the first suspect for what holds you back: {chance}."),
        }[verdict.confidence]
    else:
        pattern = {
            "clear": _("{quality} is what holds {name} back: {chance}."),
            "likely": _("{quality} most likely holds {name} back: {chance}."),
            "leaning": _("{quality} is the first suspect for what holds {name} back: {chance}."),
        }[verdict.confidence]
    quality = voice.show.capital(quality_name(voice.words, verdict.limiter))
    return pattern.format(quality=quality, name=voice.name, chance=chance)


def _even_sentence(voice: Voice, verdict: Verdict, chance: str) -> str:
    _ = voice.words._
    if voice.you:
        pattern = {
            "clear": _("Your profile is even, nothing holds the rest back: {chance}."),
            "likely": _("Your profile is most likely even, nothing holds the rest back: {chance}."),
            "leaning": _("An even profile fits you best so far: {chance}."),
        }[verdict.confidence]
    else:
        pattern = {
            "clear": _("{name} has an even profile, nothing holds the rest back: {chance}."),
            "likely": _(
                "{name} most likely has an even profile, nothing holds the rest back: {chance}."
            ),
            "leaning": _("An even profile fits {name} best so far: {chance}."),
        }[verdict.confidence]
    return pattern.format(name=voice.name, chance=chance)


def _open_sentence(voice: Voice, verdict: Verdict, chance: str) -> str:
    _ = voice.words._
    first = quality_name(voice.words, verdict.limiter)
    if voice.you:
        pattern = _("What holds you back is still open: {first} comes first, with {chance}.")
    else:
        pattern = _("What holds {name} back is still open: {first} comes first, with {chance}.")
    return pattern.format(name=voice.name, first=first, chance=chance)


def second_sentence(voice: Voice, verdict: Verdict) -> str:
    """What comes second; empty when it hardly counts, or when too little is known to rank."""
    if (
        verdict.known != "enough"
        or verdict.second is None
        or voice.show.of_ten(verdict.second_chance) < 1
    ):
        return ""
    second = voice.show.capital(quality_name(voice.words, verdict.second))
    return voice.words._("{second} comes next: {chance}.").format(
        second=second, chance=voice.show.chance(verdict.second_chance)
    )


def worth_sentence(
    voice: Voice, verdict: Verdict, qualities: Mapping[Quality, QualityReading]
) -> str:
    """What the total would gain if the limiter caught up with the rest; what it takes to know."""
    _ = voice.words._
    show = voice.show
    if verdict.known != "enough":
        return (
            _("It takes three different lifts, each with good reps and the number left counted.")
            if voice.junior
            else _(
                "It takes three different lifts, each with a set to the limit, a miss, or reps "
                "with the number left counted."
            )
        )
    if verdict.limiter == "even":
        most = max((reading.kilos for reading in qualities.values()), default=0.0)
        if show.gain_number(most) < 1:
            return _("No single quality costs as much as {gain} on the total.").format(
                gain=show.gain(1.0)
            )
        return _("No single quality costs more than {gain} on the total.").format(
            gain=show.gain(most)
        )
    reading = qualities[verdict.limiter]
    if show.gain_number(reading.kilos) < 1:
        return _("Bringing it level with the rest would add less than {gain} to the total.").format(
            gain=show.gain(1.0)
        )
    if voice.you:
        pattern = _(
            "If it caught up with the rest, your total would grow by about {gain} ({range})."
        )
    else:
        pattern = _(
            "If it caught up with the rest, the total would grow by about {gain} ({range})."
        )
    return pattern.format(
        gain=show.gain(reading.kilos),
        range=show.load_range(reading.kilos_low, reading.kilos_high),
    )


# Reasons


def rests_sentences(voice: Voice, reading: QualityReading) -> tuple[str, ...]:
    """The lifts whose evidence carries the verdict, most important first, at most two."""
    _ = voice.words._
    moved = sorted(
        (
            rest
            for rest in reading.rests_on
            if abs(reading.chance_limiting - rest.chance_without) >= NOTICEABLE_DROP
            and voice.show.of_ten(rest.chance_without) != voice.show.of_ten(reading.chance_limiting)
        ),
        key=lambda rest: -abs(reading.chance_limiting - rest.chance_without),
    )
    sentences = []
    for rest in moved[:2]:
        if rest.chance_without < reading.chance_limiting:
            pattern = _("The {lift} speaks for it: without those sets it would be {chance}.")
        else:
            pattern = _("The {lift} speaks against it: without those sets it would be {chance}.")
        sentences.append(
            pattern.format(
                lift=voice.lift_within(rest.lift), chance=voice.show.chance(rest.chance_without)
            )
        )
    return tuple(sentences)


def strong_and_low(voice: Voice, lifts: Mapping[str, LiftEstimate]) -> tuple[str, ...]:
    """The lifts that surely stand above or below this lifter's own level."""
    _ = voice.words._
    known = [lift for lift in lifts.values() if lift.relative is not None]
    strong = [lift for lift in known if lift.relative_low is not None and lift.relative_low > 0]
    low = [lift for lift in known if lift.relative_high is not None and lift.relative_high < 0]
    strong.sort(key=lambda lift: -(lift.relative or 0.0))
    low.sort(key=lambda lift: lift.relative or 0.0)
    sentences = []
    if strong:
        names = voice.show.listed([voice.lift_within(lift.lift) for lift in strong[:3]])
        sentences.append(
            (
                _("Strong for your level: {lifts}.")
                if voice.you
                else _("Strong for this level: {lifts}.")
            ).format(lifts=names)
        )
    if low:
        names = voice.show.listed([voice.lift_within(lift.lift) for lift in low[:3]])
        sentences.append(
            (
                _("Low for your level: {lifts}.")
                if voice.you
                else _("Low for this level: {lifts}.")
            ).format(lifts=names)
        )
    return tuple(sentences)


def bests_sentence(
    voice: Voice, lifts: Mapping[str, LiftEstimate], named: Collection[str], on: date
) -> str:
    """Which of the named lifts were done better of late than they are worth today, and why that
    is no mistake: a best is a day on which form and bar went well."""
    _ = voice.words._
    show = voice.show
    better = [
        (one, one.best_made_kg, one.best_made_on)
        for one in lifts.values()
        if one.lift in named
        and one.best_made_kg is not None
        and one.best_made_on is not None
        and one.best_made_kg >= one.estimate_kg + NEAR_THE_END * (one.high_kg - one.estimate_kg)
        and (on - one.best_made_on).days <= LATELY_DAYS
    ]
    if not better:
        return ""
    bests = [
        _("{lift} {load} on {day}").format(
            lift=voice.lift_within(one.lift), load=show.load(kg), day=show.short_day(day)
        )
        for one, kg, day in better
    ]
    pattern = _(
        "Best made: {bests}. A best shows one day’s form; the numbers here are for an average day."
    )
    if any(kg > OF_ANOTHER_TIME * one.high_kg for one, kg, _day in better):
        pattern = _("Best made: {bests}. Much has changed since; the numbers here are for today.")
    return pattern.format(bests=show.listed(bests))


# Ratios


def ratio_names(voice: Voice, numerator: str, denominator: str) -> str:
    """Which two lifts."""
    return voice.words._("{numerator} to {denominator}").format(
        numerator=voice.lift(numerator), denominator=voice.lift_within(denominator)
    )


def ratio_reading_label(words: Words, ratio: RatioReading) -> str:
    """Where the ratio lies, in a word or two."""
    return {
        "below": words._("below usual"),
        "usual": words._("usual"),
        "above": words._("above usual"),
        "unclear": words._("cannot tell yet"),
    }[ratio.reading]


def ratio_points(
    usual: UsualRatio, ratio: RatioReading, limiter: Limiter, qualities: Qualities
) -> tuple[Quality, ...]:
    """What this lifter lacks of the qualities that may be why the ratio is unusual, lowest first.

    A quality within half a standard deviation of usual is no reason, unless it is what limits.
    """
    named = {"below": usual.low_points, "above": usual.high_points}.get(ratio.reading, ())
    lacking = [one for one in named if one == limiter or qualities[one].score < -THRESHOLD]
    return tuple(sorted(lacking, key=lambda one: qualities[one].score))


def ratio_meaning(
    voice: Voice,
    usual: UsualRatio,
    ratio: RatioReading,
    limiter: Limiter,
    qualities: Qualities,
    *,
    answered: bool = False,
) -> str:
    """What an unusual ratio says of the two lifts, and where to look; else nothing.

    answered: what limits has just been said, and goes without saying where it is all there is.
    """
    _ = voice.words._
    if ratio.reading not in {"below", "above"}:
        return ""
    meaning = _(usual.low_means if ratio.reading == "below" else usual.high_means)
    points = ratio_points(usual, ratio, limiter, qualities)
    if not points or (answered and points == (limiter,)):
        return meaning
    return _("{meaning} Look at {qualities}.").format(
        meaning=meaning,
        qualities=voice.show.listed([quality_name(voice.words, one) for one in points]),
    )


def ratio_sentence(voice: Voice, ratio: RatioReading, meaning: str) -> str:
    """One ratio beside its usual range, and what it usually points to.

    The chance is said only where there is a doubt worth saying.
    """
    _ = voice.words._
    show = voice.show
    pattern = {
        "below": _("{numerator} is {value} of the {denominator}, below the usual {usual}"),
        "above": _("{numerator} is {value} of the {denominator}, above the usual {usual}"),
        "usual": _("{numerator} is {value} of the {denominator}, within the usual {usual}"),
        "unclear": _("{numerator} to {denominator} cannot be told yet; usual is {usual}"),
    }[ratio.reading]
    text = pattern.format(
        numerator=voice.lift(ratio.numerator),
        denominator=voice.lift_within(ratio.denominator),
        value=show.percent(ratio.value),
        usual=show.usual_range(ratio.usual_low, ratio.usual_high),
    )
    chance = {"below": ratio.chance_below, "above": ratio.chance_above}.get(ratio.reading, 1.0)
    if show.of_ten(chance) < 10:
        text = f"{text} ({show.chance(chance)})"
    return f"{text}. {meaning}".rstrip()


# Change


def change_label(
    words: Words, verdict: Literal["rose", "fell", "same", "unclear"], seen: bool = True
) -> str:
    """What happened to one lift, in a word or two; `seen`: it was tested since."""
    if not seen and verdict == "rose":
        return words._("rose, as follows from the other lifts")
    if not seen and verdict == "fell":
        return words._("fell, as follows from the other lifts")
    return {
        "rose": words._("rose"),
        "fell": words._("fell"),
        "same": words._("no real change"),
        "unclear": words._("cannot tell yet"),
    }[verdict]


def change_sentence(voice: Voice, change: Change, verdict: Verdict, seen: Collection[str]) -> str:
    """What rose and fell since the last testing week, and the limiter then and now.

    seen: the lifts tested since; what moved without a test follows from the others.
    """
    _ = voice.words._

    def named(kind: Literal["rose", "fell"], tested: bool) -> str:
        moved = [one.lift for one in change.lifts if one.verdict == kind]
        return _named(voice, [lift for lift in moved if (lift in seen) == tested])

    parts = [
        pattern.format(lifts=lifts)
        for lifts, pattern in (
            (named("rose", True), _("Up by more than the noise of a test: {lifts}.")),
            (named("rose", False), _("Up, as follows from the other lifts: {lifts}.")),
            (named("fell", True), _("Down by more than the noise of a test: {lifts}.")),
            (named("fell", False), _("Down, as follows from the other lifts: {lifts}.")),
        )
        if lifts
    ]
    if not parts:
        parts.append(_("Nothing moved by more than the noise of a test."))
    if verdict.known != "enough":
        return " ".join(parts)
    then = quality_name(voice.words, change.limiter_then)
    if change.limiter_then == verdict.limiter:
        parts.append(
            _("{quality} came first then too, with {chance}.").format(
                quality=voice.show.capital(then), chance=voice.show.chance(change.chance_then)
            )
        )
    else:
        parts.append(
            _("Then {then} came first, with {chance}; now {now} does.").format(
                then=then,
                chance=voice.show.chance(change.chance_then),
                now=quality_name(voice.words, verdict.limiter),
            )
        )
    return " ".join(parts)


def _named(voice: Voice, lifts: list[str]) -> str:
    """The lifts by name, the competition lifts first; a long list is cut short."""
    first = [lift for lift in ("snatch", CLEAN_AND_JERK) if lift in lifts]
    ordered = [*first, *(lift for lift in lifts if lift not in first)]
    names = [voice.lift_within(lift) for lift in ordered]
    if len(names) > MOST_NAMED + 1:
        more = voice.show.number(len(names) - MOST_NAMED)
        names = [*names[:MOST_NAMED], voice.words._("{number} more").format(number=more)]
    return voice.show.listed(names)
