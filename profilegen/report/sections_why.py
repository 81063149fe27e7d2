"""Report sections that answer the coach's questions, one section per question."""

from __future__ import annotations

import math

from profilegen.engine.profile import Profile
from profilegen.engine.replies import ClaimReply, HoldsReply, Part, Reply, Split, WhyReply
from profilegen.norms.catalogue import Norms
from profilegen.report.chart import Axis, Step, Tone, Waterfall
from profilegen.report.page import (
    Cell,
    Column,
    Details,
    Drawn,
    Grid,
    GridRow,
    Prose,
    Section,
)
from profilegen.report.why_words import (
    cause_label,
    claim_sentences,
    claim_title,
    held_label,
    holds_sentences,
    holds_title,
    named_alone,
    threshold_note,
    too_early,
    unlearnt,
    why_sentences,
    why_title,
    yardstick_label,
)
from profilegen.report.words import Voice


def question_sections(voice: Voice, profile: Profile, norms: Norms) -> tuple[Section, ...]:
    """One section per question of the lifter's file, in their order."""
    if profile.verdict.known == "nothing":
        return _unanswered(voice, profile)
    sections = []
    for number, reply in enumerate(profile.replies, start=1):
        name = f"question-{number}"
        match reply:
            case WhyReply():
                sections.append(_why(voice, name, reply, profile, norms))
            case HoldsReply():
                sections.append(_holds(voice, name, reply, profile))
            case ClaimReply():
                sections.append(_claim(voice, name, reply, profile))
    return tuple(sections)


def _unanswered(voice: Voice, profile: Profile) -> tuple[Section, ...]:
    """Every question, while there is not a row to answer it from."""
    said = voice.words._("Nothing is written down yet, so there is no answer.")
    return tuple(
        Section(f"question-{number}", _title(voice, reply), said, ())
        for number, reply in enumerate(profile.replies, start=1)
    )


def _title(voice: Voice, reply: Reply) -> str:
    match reply:
        case WhyReply():
            return why_title(voice, reply)
        case HoldsReply():
            return holds_title(voice, reply)
        case ClaimReply():
            return claim_title(voice, reply)


def _why(voice: Voice, name: str, reply: WhyReply, profile: Profile, norms: Norms) -> Section:
    _ = voice.words._
    first, *others = reply.splits
    return Section(
        name,
        why_title(voice, reply),
        "",
        (
            Prose(why_sentences(voice, reply, profile, norms)),
            Drawn(split_chart(voice, f"{name}-{first.against}", first)),
            *(
                Details(
                    yardstick_label(voice.words, one.against),
                    (Drawn(split_chart(voice, f"{name}-{one.against}", one)),),
                )
                for one in others
            ),
            Details(_("Every part in numbers"), (_parts_grid(voice, name, reply),)),
        ),
    )


def split_chart(voice: Voice, id: str, split: Split) -> Waterfall:
    """From what is usual to what the lift is worth; parts too small to see stand together."""
    _ = voice.words._
    show = voice.show
    seen = [part for part in split.parts if _visible(voice, part)]
    small = [part for part in split.parts if not _visible(voice, part)]
    start, end = show.load_value(split.usual_kg), show.load_value(split.actual_kg)
    steps = [
        Step(
            _usual_label(voice, split),
            start,
            show.load(split.usual_kg),
            total=True,
            tone="muted",
        )
    ]
    steps += [
        Step(
            cause_label(voice.words, part.cause),
            show.load_value(part.kilos),
            show.change(part.kilos),
            show.load_value(part.kilos_low),
            show.load_value(part.kilos_high),
            tone=_tone(part),
        )
        for part in sorted(seen, key=lambda part: -abs(part.kilos))
    ]
    if small:
        rest = math.fsum(part.kilos for part in small)
        steps.append(Step(_("Everything else"), show.load_value(rest), show.change(rest)))
    steps.append(Step(voice.lift(split.lift), end, show.load(split.actual_kg), total=True))
    return Waterfall(
        id,
        _("{lift}: {yardstick}").format(
            lift=voice.lift(split.lift),
            yardstick=voice.words.within(yardstick_label(voice.words, split.against)),
        ),
        _summary(voice, split, seen),
        _axis(voice, steps),
        tuple(steps),
    )


def _visible(voice: Voice, part: Part) -> bool:
    return voice.show.gain_number(abs(part.kilos)) >= 1


def _drawn_on(part: Part) -> bool:
    """Whether the lift draws on this part at all."""
    return part.high - part.low > 1e-4


def _tone(part: Part) -> Tone:
    if part.low > 0:
        return "strong"
    return "low" if part.high < 0 else "plain"


def _usual_label(voice: Voice, split: Split) -> str:
    _ = voice.words._
    return {
        "norm": _("Usual"),
        "field": _("Mean of the field"),
        "squad": _("Mean of the squad"),
    }[split.against]


def _summary(voice: Voice, split: Split, seen: list[Part]) -> str:
    _ = voice.words._
    show = voice.show
    parts = show.listed(
        [
            _("{cause} {kilos}").format(
                cause=voice.words.within(cause_label(voice.words, part.cause)),
                kilos=show.change(part.kilos),
            )
            for part in sorted(seen, key=lambda part: -abs(part.kilos))
        ]
    )
    ends = _("From {usual} to {actual}.").format(
        usual=show.load(split.usual_kg), actual=show.load(split.actual_kg)
    )
    return _("{ends} The parts: {parts}.").format(ends=ends, parts=parts) if parts else ends


def _axis(voice: Voice, steps: list[Step]) -> Axis:
    reached, ends = 0.0, []
    for step in steps:
        base = 0.0 if step.total else reached
        reached = base + step.value
        ends += [reached, *(base + end for end in (step.low, step.high) if end is not None)]
    margin = max(2.0, 0.15 * (max(ends) - min(ends)))
    return Axis(
        voice.show.units,
        math.floor((min(ends) - margin) / 5) * 5,
        math.ceil(max(ends) / 5) * 5,
        unit=voice.show.units,
    )


def _parts_grid(voice: Voice, name: str, reply: WhyReply) -> Grid:
    _ = voice.words._
    show = voice.show
    rows = []
    for i, part in enumerate(reply.splits[0].parts):
        if part.cause == "own" and not reply.tried:
            continue  # how far anyone's goes its own way, which says nothing of this one's
        if not any(_drawn_on(split.parts[i]) for split in reply.splits):
            continue
        cells = [Cell(cause_label(voice.words, part.cause))]
        for split in reply.splits:
            one = split.parts[i]
            cells.append(
                Cell(show.change(one.kilos), more=show.change_range(one.kilos_low, one.kilos_high))
            )
        rows.append(GridRow(tuple(cells)))
    whole = [Cell(_("Altogether"))]
    whole += [Cell(show.change(split.actual_kg - split.usual_kg)) for split in reply.splits]
    return Grid(
        f"{name}-parts",
        _("Kilos of each part, with the interval below; the kilos of the parts add up"),
        (
            Column(_("Part")),
            *(
                Column(yardstick_label(voice.words, split.against), numeric=True)
                for split in reply.splits
            ),
        ),
        (*rows, GridRow(tuple(whole))),
    )


def _holds(voice: Voice, name: str, reply: HoldsReply, profile: Profile) -> Section:
    _ = voice.words._
    show = voice.show
    if profile.verdict.known != "enough":
        return Section(name, holds_title(voice, reply), too_early(voice), ())
    first = max(reply.held, key=lambda one: one.chance)
    stands_out = named_alone(voice, first.chance) and first.chance > reply.chance_even
    steps = tuple(
        Step(
            held_label(voice.words, one.part),
            show.load_value(one.kilos),
            _("{gain}, {chance}").format(
                gain=show.gain_interval(one.kilos, one.low, one.high),
                chance=show.percent(one.chance),
            ),
            show.load_value(one.low),
            show.load_value(one.high),
            tone="low" if stands_out and one is first else "plain",
        )
        for one in reply.held
    )
    highest = max([4.0, *(show.load_value(one.high) for one in reply.held)])
    chart = Waterfall(
        f"{name}-kilos",
        _("Kilos on the {lift} behind each part").format(lift=voice.lift_within(reply.lift)),
        _most_held(voice, reply),
        Axis(
            _("{unit} on the {lift}").format(unit=show.units, lift=voice.lift_within(reply.lift)),
            0.0,
            math.ceil(highest / 2) * 2,
            unit=show.units,
        ),
        steps,
    )
    return Section(
        name,
        holds_title(voice, reply),
        "",
        (Prose(holds_sentences(voice, reply)), Drawn(chart)),
    )


def _most_held(voice: Voice, reply: HoldsReply) -> str:
    """What has the most kilos behind it, where that is a kilo at all."""
    _ = voice.words._
    show = voice.show
    most, even = reply.held[0], show.chance(reply.chance_even)
    if show.gain_number(most.kilos) < 1:
        return _("No part has as much as {gain} behind it. Nothing in particular: {even}.").format(
            gain=show.gain(1.0), even=even
        )
    return _("Most kilos: {part}, {gain}. Nothing in particular: {even}.").format(
        part=voice.words.within(held_label(voice.words, most.part)),
        gain=show.gain_interval(most.kilos, most.low, most.high),
        even=even,
    )


def _claim(voice: Voice, name: str, reply: ClaimReply, profile: Profile) -> Section:
    _ = voice.words._
    show = voice.show
    if profile.verdict.known != "enough":
        return Section(name, claim_title(voice, reply), too_early(voice), ())
    if not reply.learnt:
        return Section(name, claim_title(voice, reply), unlearnt(voice, reply), ())
    blocks: list[Prose | Details] = [Prose(claim_sentences(voice, reply))]
    if reply.without:
        rows = [GridRow((Cell(_("All sets")), Cell(show.percent(reply.chance))))]
        rows += [
            GridRow(
                (
                    Cell(_("without the {lift}").format(lift=voice.lift_within(one.lift))),
                    Cell(show.percent(one.chance)),
                )
            )
            for one in reply.without
        ]
        grid = Grid(
            f"{name}-without",
            _("The chance with one lift’s sets left out"),
            (Column(_("Going by")), Column(_("Chance"), numeric=True)),
            tuple(rows),
        )
        note = Prose((threshold_note(voice, reply),))
        blocks.append(Details(_("What this rests on"), (grid, note)))
    return Section(name, claim_title(voice, reply), "", tuple(blocks))
