"""The sentences of the answered questions: why, what stops it, is it so."""

from __future__ import annotations

from profilegen.engine.profile import Profile
from profilegen.engine.replies import (
    Cause,
    ClaimReply,
    Held,
    HoldsReply,
    ParentReading,
    Split,
    Standing,
    WhyReply,
    Yardstick,
)
from profilegen.norms.catalogue import Norms
from profilegen.report.language import Words
from profilegen.report.words import Voice, quality_heading, quality_label, quality_name

STRENGTH = ("squat", "pull", "deadlift")
"""Families from which an argument about a quick lift starts: they say what is there to use."""
_FAR = 0.10
_POINTERS = 4
TOSS = 5
"""Chances in ten that are a toss: with no more, a claim is not made flatly."""


def cause_label(words: Words, cause: Cause) -> str:
    """A part of a split as a row."""
    if cause == "level":
        return words._("Level")
    if cause == "own":
        return words._("This lift alone")
    if cause == "build":
        return words._("Proportions")
    return quality_label(words, cause)


def cause_name(words: Words, cause: Cause) -> str:
    """A part of a split within a sentence."""
    if cause == "level":
        return words._("level, which is in every lift")
    if cause == "own":
        return words._("something peculiar to this lift alone")
    if cause == "build":
        return words._("the stated proportions")
    return quality_name(words, cause)


def held_label(words: Words, part: Held) -> str:
    """What holds a lift, as a row."""
    return words._("This lift alone") if part == "own" else quality_label(words, part)


def yardstick_label(words: Words, against: Yardstick) -> str:
    """What a lift is compared with, as a heading of a column."""
    return {
        "norm": words._("Beside what is usual"),
        "field": words._("Beside the field"),
        "squad": words._("Beside the squad"),
    }[against]


# Why


def why_title(voice: Voice, reply: WhyReply) -> str:
    """The question as the coach asked it."""
    return voice.words._("Why is the {lift} what it is?").format(lift=voice.lift_within(reply.lift))


def why_sentences(voice: Voice, reply: WhyReply, profile: Profile, norms: Norms) -> tuple[str, ...]:
    """The argument: how much, as a share of what, where that comes from."""
    weighed = profile.athlete.body_mass_kg is not None
    sentences = [_through(voice, reply), *(_beside(voice, one, weighed) for one in reply.splits)]
    argument = [_causes(voice, reply)]
    if reply.tried:
        argument = [_ratio(voice, reply), _parent_stands(voice, reply.parent), *argument]
    else:
        # its share of another lift is the usual one because nothing says otherwise
        sentences.insert(0, _untried(voice, reply.lift))
    sentences.append(" ".join(one for one in argument if one))
    sentences += [
        _parent_known(voice, reply, profile),
        _pointers(voice, reply, profile, norms),
        _under(voice, reply, norms),
    ]
    return tuple(one for one in sentences if one)


def _untried(voice: Voice, lift: str) -> str:
    return voice.words._(
        "No set of the {lift} is written down, so what is peculiar to it is not known. What "
        "follows is what the other lifts let one expect."
    ).format(lift=voice.lift_within(lift))


def named_alone(voice: Voice, chance: float) -> bool:
    """Whether a chance is more than a toss, as it is shown, so that a claim may be flat."""
    return voice.show.of_ten(chance) > TOSS


def _through(voice: Voice, reply: WhyReply) -> str:
    if reply.through is None:
        return ""
    if not named_alone(voice, reply.chance_through):
        return voice.words._(
            "A clean and jerk is worth what the weaker half is. Here that is either, about even; "
            "the {part} is taken apart."
        ).format(part=voice.lift_within(reply.through))
    return voice.words._(
        "A clean and jerk is worth what the weaker half is. Here that is the {part}: {chance}. So "
        "it is the {part} that is taken apart."
    ).format(part=voice.lift_within(reply.through), chance=voice.show.chance(reply.chance_through))


def _beside(voice: Voice, split: Split, weighed: bool) -> str:
    _ = voice.words._
    show = voice.show
    values = {
        "lift": voice.lift(split.lift),
        "worth": show.load(split.actual_kg),
        "usual": show.load(split.usual_kg),
        "difference": show.change_between(split.usual_kg, split.actual_kg),
    }
    if split.against == "norm" and not weighed:
        return _(
            "{lift}: {worth}. Usual for this sex is {usual}, a difference of {difference}."
        ).format(**values)
    if split.against == "norm":
        return _(
            "{lift}: {worth}. Usual for this sex and body mass is {usual}, a difference of "
            "{difference}."
        ).format(**values)
    if split.against == "field" and not weighed:
        return _(
            "The mean of {others} rivals would do {usual} here, a difference of {difference}."
        ).format(**values, others=split.others)
    if split.against == "field":
        return _(
            "The mean of {others} rivals, brought to the same body mass, would do {usual}, a "
            "difference of {difference}."
        ).format(**values, others=split.others)
    return _("The mean of the squad would do {usual}, a difference of {difference}.").format(
        **values
    )


def _ratio(voice: Voice, reply: WhyReply) -> str:
    _ = voice.words._
    show = voice.show
    parent = reply.parent
    names = {
        "lift": voice.lift(reply.through or reply.lift),
        "parent": voice.lift_within(parent.parent),
        "value": show.percent(parent.value),
        "usual": show.usual_range(parent.usual_low, parent.usual_high),
    }
    if parent.reading == "usual":
        return _(
            "It is {value} of the {parent}, which is what to expect (usual is {usual})."
        ).format(**names)
    if parent.reading == "unclear":
        return _(
            "It is {value} of the {parent}; whether that is usual ({usual}) cannot be told yet."
        ).format(**names)
    pattern = (
        _("It is {value} of the {parent}, more than to expect (usual is {usual}).")
        if parent.reading == "above"
        else _("It is {value} of the {parent}, less than to expect (usual is {usual}).")
    )
    return pattern.format(**names)


def _parent_stands(voice: Voice, parent: ParentReading) -> str:
    """Where the parent lift stands: beside the field where there is one, else the norm."""
    _ = voice.words._
    standing: Standing = parent.standings[-1]
    values = {
        "parent": voice.lift_within(parent.parent),
        "than": (
            voice.words.pgettext("after above, below or like", "the field")
            if standing.against == "field"
            else voice.words.pgettext("after above, below or like", "what is usual")
        ),
    }
    if parent.reading == "unclear":
        return ""
    usual_ratio = parent.reading == "usual"
    if standing.where == "above":
        if standing.difference >= _FAR and usual_ratio:
            return _("The {parent} is what is far above {than}.").format(**values)
        if usual_ratio:
            return _("The {parent} is what is above {than}.").format(**values)
        return _("The {parent} itself is above {than}.").format(**values)
    if standing.where == "below":
        if standing.difference <= -_FAR and usual_ratio:
            return _("The {parent} is what is far below {than}.").format(**values)
        if usual_ratio:
            return _("The {parent} is what is below {than}.").format(**values)
        return _("The {parent} itself is below {than}.").format(**values)
    if standing.where == "usual":
        return _("The {parent} itself is about like {than}.").format(**values)
    return ""


def _causes(voice: Voice, reply: WhyReply) -> str:
    """The largest cause of the difference from the norm, if one stands out."""
    _ = voice.words._
    split = reply.splits[0]
    ordered = sorted(split.parts, key=lambda part: -abs(part.log))
    first = ordered[0]
    if voice.show.gain_number(abs(first.kilos)) < 1:
        return _("No part of it is far from usual.")
    sentence = _("The largest part of the difference is {cause} ({kilos}).").format(
        cause=cause_name(voice.words, first.cause), kilos=voice.show.change(first.kilos)
    )
    against = next((one for one in ordered if one.log * first.log < 0), None)
    if against is not None and voice.show.gain_number(abs(against.kilos)) >= 1:
        sentence += " " + _("Most against it works {cause} ({kilos}).").format(
            cause=cause_name(voice.words, against.cause), kilos=voice.show.change(against.kilos)
        )
    return sentence


def _parent_known(voice: Voice, reply: WhyReply, profile: Profile) -> str:
    """How the parent lift is known, which matters most when nobody has seen it."""
    _ = voice.words._
    parent = profile.lifts.get(reply.parent.parent)
    if parent is None:
        return ""
    values = {
        "parent": voice.lift_within(parent.lift),
        "worth": voice.show.interval(parent.estimate_kg, parent.low_kg, parent.high_kg),
    }
    if parent.basis == "tested":
        return _("The {parent} was tested; it is worth {worth}.").format(**values)
    if parent.basis == "bounded":
        return _(
            "The {parent} was never taken to its limit of late: the sets only say “at least”. The "
            "other lifts say that it is worth {worth}."
        ).format(**values)
    return _(
        "Nobody has seen the {parent} of late. The other lifts say that it is worth {worth}."
    ).format(**values)


def _pointers(voice: Voice, reply: WhyReply, profile: Profile, norms: Norms) -> str:
    """Squats and pulls, each alone, and the clean or snatch they lead one to expect."""
    _ = voice.words._
    base, parent = reply.through or reply.lift, reply.parent.parent
    if norms.lifts[base].family in STRENGTH:
        return ""  # a squat is not explained by other squats
    target = parent if parent in ("clean", "snatch") else "clean"
    found = [
        one
        for one in profile.pointers
        if one.target == target
        and one.lift in norms.lifts
        and norms.lifts[one.lift].family in STRENGTH
    ]
    if not found:
        return ""
    found.sort(key=lambda one: one.high_kg / one.low_kg)
    texts = [
        _("the {lift} to {load}").format(
            lift=voice.lift_within(one.lift),
            load=voice.show.interval(one.expected_kg, one.low_kg, one.high_kg),
        )
        for one in found[:_POINTERS]
    ]
    return _("Each on its own points to a {target}: {pointers}.").format(
        target=voice.lift_within(target), pointers=voice.show.listed(texts)
    )


def _under(voice: Voice, reply: WhyReply, norms: Norms) -> str:
    """How many rivals do no more in competition than this lift, for forms of the two lifts."""
    base = reply.through or reply.lift
    family = norms.lifts[base].family if base in norms.lifts else ""
    if not reply.field_size or family not in ("snatch", "clean") or base == reply.parent.parent:
        return ""
    if base in ("snatch", "clean") or reply.through:
        return ""
    _ = voice.words._
    pattern = (
        _("{under} of {size} rivals snatch no more in competition than this {lift}.")
        if family == "snatch"
        else _("{under} of {size} rivals clean and jerk no more in competition than this {lift}.")
    )
    return pattern.format(
        under=voice.show.number(reply.field_under),
        size=voice.show.number(reply.field_size),
        lift=voice.lift_within(base),
    )


# Holds


def holds_title(voice: Voice, reply: HoldsReply) -> str:
    """The question as the coach asked it."""
    return voice.words._("What stops the {lift}?").format(lift=voice.lift_within(reply.lift))


def holds_sentences(voice: Voice, reply: HoldsReply) -> tuple[str, ...]:
    """What stops it, how sure that is, and which half."""
    _ = voice.words._
    show = voice.show
    first = max(reply.held, key=lambda one: one.chance)
    lift = voice.lift_within(reply.lift)
    sentences = [] if reply.tried else [_untried(voice, reply.lift)]
    if reply.stops is not None and not named_alone(voice, reply.chance_stops):
        sentences.append(
            _("A clean and jerk is worth what the weaker half is: here either, about even.")
        )
    elif reply.stops is not None:
        sentences.append(
            _(
                "A clean and jerk is worth what the weaker half is: here the {part}, {chance}."
            ).format(part=voice.lift_within(reply.stops), chance=show.chance(reply.chance_stops))
        )
    if reply.chance_even >= first.chance and not named_alone(voice, reply.chance_even):
        sentences.append(
            _(
                "Whether anything in particular holds the {lift} back is open: nothing has "
                "{chance}, then comes {part} with {other}."
            ).format(
                lift=lift,
                chance=show.chance(reply.chance_even),
                part=_held_name(voice, first.part),
                other=show.chance(first.chance),
            )
        )
        return tuple(sentences)
    if reply.chance_even >= first.chance and not reply.tried:
        sentences.append(
            _("Going by those, nothing in particular holds the {lift} back: {chance}.").format(
                lift=lift, chance=show.chance(reply.chance_even)
            )
        )
        return tuple(sentences)
    if reply.chance_even >= first.chance:
        sentences.append(
            _(
                "Nothing in particular holds the {lift} back: {chance}. It stands where the other "
                "lifts and qualities let one expect it."
            ).format(lift=lift, chance=show.chance(reply.chance_even))
        )
        return tuple(sentences)
    if not named_alone(voice, first.chance):
        sentences.append(
            _("What stops the {lift} is open: {part} comes first, with {chance}.").format(
                lift=lift,
                part=_held_name(voice, first.part),
                chance=show.chance(first.chance),
            )
        )
    elif first.part == "own":
        sentences.append(
            _(
                "What stops the {lift} is peculiar to it: the other lifts let one expect more. "
                "{chance}."
            ).format(lift=lift, chance=show.capital(show.chance(first.chance)))
        )
    else:
        sentences.append(
            _("{quality} stops the {lift}: {chance}.").format(
                quality=show.capital(quality_name(voice.words, first.part)),
                lift=lift,
                chance=show.chance(first.chance),
            )
        )
    sentences.append(
        _("Level with the rest, it would give the {lift} about {gain} ({range}).").format(
            lift=lift,
            gain=show.gain(first.kilos),
            range=show.load_range(first.low, first.high),
        )
    )
    return tuple(sentences)


def _held_name(voice: Voice, part: Held) -> str:
    """What holds a lift, within a sentence."""
    if part == "own":
        return voice.words._("something peculiar to this lift alone")
    return quality_name(voice.words, part)


def too_early(voice: Voice) -> str:
    """In place of an answer, while too few lifts are known about to compare."""
    return voice.words._("Too early to say: too few lifts are known about to compare them.")


# Claims


def claim_title(voice: Voice, reply: ClaimReply) -> str:
    """The hypothesis as a question."""
    _ = voice.words._
    quality = quality_heading(voice.words, reply.quality)
    if reply.direction == "high":
        return _("{quality}: better than usual?").format(quality=quality)
    return _("{quality}: worse than usual?").format(quality=quality)


def claim_sentences(voice: Voice, reply: ClaimReply) -> tuple[str, ...]:
    """The answer and its chance; the two other possibilities."""
    _ = voice.words._
    chance = voice.show.chance(reply.chance)
    answer = {
        "supported": _("Yes: {chance}."),
        "leaning": _("Rather yes: {chance}."),
        "either": _("Either, about even: {chance}."),
        "doubtful": _("Rather not: {chance}."),
        "contradicted": _("No: {chance}."),
    }[reply.verdict].format(chance=chance)
    opposite = (
        _("that it is worse than usual")
        if reply.direction == "high"
        else _("that it is better than usual")
    )
    others = _("That it is about usual has {near}, {opposite} has {other}.").format(
        near=voice.show.chance(reply.chance_near),
        opposite=opposite,
        other=voice.show.chance(reply.chance_opposite),
    )
    return f"{answer} {others}", *_overturn(voice, reply)


def unlearnt(voice: Voice, reply: ClaimReply) -> str:
    """In place of an answer, where the evidence says nothing about the quality."""
    return voice.words._(
        "The sets so far say nothing about this. Of anyone it would be {chance}."
    ).format(chance=voice.show.chance(reply.chance))


def _overturn(voice: Voice, reply: ClaimReply) -> tuple[str, ...]:
    """What the answer rests on, and the result that would make it an even chance."""
    _ = voice.words._
    show = voice.show
    sentences = []
    first = reply.without[0] if reply.without else None
    if first is not None and show.of_ten(first.chance) != show.of_ten(reply.chance):
        sentences.append(
            _("It rests most on the {lift}: without those sets it would be {chance}.").format(
                lift=voice.lift_within(first.lift), chance=show.chance(first.chance)
            )
        )
    elif first is not None:
        sentences.append(_("It hangs on no single lift: leaving any one out changes little."))
    turning = reply.turning
    if turning is None:
        sentences.append(_("No one result that is at all to be expected would turn this answer."))
    else:
        sentences.append(
            _(
                "It would be an open question again if the {lift} turned out to be worth {load}, "
                "where {expected} is expected."
            ).format(
                lift=voice.lift_within(turning.lift),
                load=show.load(turning.load_kg),
                expected=show.load(turning.expected_kg),
            )
        )
    return tuple(sentences)


def threshold_note(voice: Voice, reply: ClaimReply) -> str:
    """What counts as better or worse than usual."""
    return voice.words._(
        "Better or worse than usual means by more than {threshold} standard deviations: nearer "
        "than that, the form of a day moves a lift as much."
    ).format(threshold=voice.show.number(reply.threshold, 2))
