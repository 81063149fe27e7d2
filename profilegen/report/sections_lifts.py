"""Report sections about lifts side by side: fast to slow, ratios, pointers."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from types import MappingProxyType

from profilegen.engine.profile import LiftEstimate, Pointer, Profile, RatioReading, RatioVerdict
from profilegen.norms.catalogue import Norms
from profilegen.report.chart import Axis, IntervalRow, IntervalRows, Mark, Tone
from profilegen.report.page import (
    Bullets,
    Cell,
    Column,
    Details,
    Drawn,
    Grid,
    GridRow,
    Prose,
    Section,
)
from profilegen.report.summary import MAIN_LIFTS
from profilegen.report.words import (
    Voice,
    basis_label,
    bests_sentence,
    ratio_meaning,
    ratio_names,
    ratio_reading_label,
    ratio_sentence,
)

RATIO_TONES: Mapping[RatioVerdict, Tone] = MappingProxyType(
    {"below": "low", "above": "strong", "usual": "plain", "unclear": "muted"}
)


LEAST_APART = 0.005
"""Share of a lift: what rounds to a percent is named as the highest or the lowest."""


def lifts_section(
    voice: Voice, profile: Profile, *, in_numbers: bool, bests: bool
) -> Section | None:
    """Every lift from fast and light to slow and heavy, beside this lifter's own level.

    `bests` names bests that lie above what their lift is worth; a public copy tells none.
    `in_numbers` adds what the chart's own table does not say: best made, last tested. Where too
    little is known for any lift to stand out, a chart of noughts would say nothing.
    """
    _ = voice.words._
    placed = [lift for lift in profile.lifts.values() if lift.relative is not None]
    rows = tuple(_lift_row(voice, lift) for lift in placed)
    lead = _(
        "Each lift beside what is usual at the lifter’s own level: to the right is strong for "
        "this lifter, to the left is low. The line is where nine of ten times the truth lies."
    )
    if voice.you:
        lead = _(
            "Each lift beside what is usual at your own level: to the right is strong for you, to "
            "the left is low. The line is where nine of ten times the truth lies."
        )
    blocks: list[Drawn | Prose | Details] = []
    if profile.verdict.known != "enough" and not _apart(placed):
        lead = _("No lift stands out yet: each is what the few known ones let one expect.")
        if not in_numbers:
            return None
    elif rows:
        chart = IntervalRows(
            "lifts",
            _("The lifts from fast and light to slow and heavy"),
            _highest_and_lowest(voice, placed),
            _percent_axis(
                _("% above or below usual at this level"),
                [row.low for row in rows] + [row.high for row in rows] + [-5.0, 5.0],
            ),
            rows,
            reference=0.0,
            reference_label=_("usual"),
            start_label=_("fast and light"),
            end_label=_("slow and heavy"),
        )
        blocks.append(Drawn(chart))
    others = [lift.lift for lift in placed if lift.lift not in MAIN_LIFTS]
    if bests and (said := bests_sentence(voice, profile.lifts, others, profile.on)):
        blocks.append(Prose((said,)))
    if in_numbers:
        blocks.append(Details(_("All lifts in numbers"), (lifts_grid(voice, profile),)))
    return Section("lifts", _("The lifts, from fast to slow"), lead, tuple(blocks))


def _apart(placed: Sequence[LiftEstimate]) -> dict[str, float]:
    """The lifts that are a percent from usual, and by which share."""
    by = {one.lift: math.expm1(one.relative or 0.0) for one in placed}
    return {lift: share for lift, share in by.items() if abs(share) >= LEAST_APART}


def _highest_and_lowest(voice: Voice, placed: Sequence[LiftEstimate]) -> str:
    """The ends of the line, as far as they are a percent from usual."""
    _ = voice.words._
    apart = _apart(placed)
    ends = (
        (max(apart, key=lambda lift: apart[lift], default=""), 1.0),
        (min(apart, key=lambda lift: apart[lift], default=""), -1.0),
    )
    patterns = (
        _("Highest for this level: {lift} ({by})."),
        _("Lowest for this level: {lift} ({by})."),
    )
    named = [
        pattern.format(lift=voice.lift_within(lift), by=voice.show.signed_percent(apart[lift]))
        for (lift, sign), pattern in zip(ends, patterns, strict=True)
        if lift and sign * apart[lift] > 0
    ]
    return " ".join(named) or _("No lift stands out: all are where this level lets one expect.")


def _lift_row(voice: Voice, lift: LiftEstimate) -> IntervalRow:
    show = voice.show
    relative = lift.relative or 0.0
    low = relative if lift.relative_low is None else lift.relative_low
    high = relative if lift.relative_high is None else lift.relative_high
    tone: Tone = "low" if high < 0 else "strong" if low > 0 else "plain"
    note = voice.words._("{basis}; {percent} beside usual").format(
        basis=basis_label(voice.words, lift.basis),
        percent=show.signed_percent(math.expm1(relative)),
    )
    return IntervalRow(
        voice.lift(lift.lift),
        show.percent_value(math.expm1(relative)),
        show.percent_value(math.expm1(low)),
        show.percent_value(math.expm1(high)),
        lift.basis,
        show.interval(lift.estimate_kg, lift.low_kg, lift.high_kg),
        tone,
        note=note,
    )


def lifts_grid(voice: Voice, profile: Profile) -> Grid:
    """Every lift as numbers."""
    _ = voice.words._
    show = voice.show
    has_mass = profile.athlete.body_mass_kg is not None
    columns = [
        Column(_("Lift")),
        Column(_("Worth today"), numeric=True),
        Column(_("90% interval"), numeric=True),
        Column(_("Known how")),
        Column(_("Best made"), numeric=True),
        Column(_("Last tested")),
    ]
    if has_mass:
        columns.insert(3, Column(_("Times body mass"), numeric=True))
    rows = []
    for lift in profile.lifts.values():
        cells = [
            Cell(voice.lift(lift.lift), more=_("to be avoided") if lift.avoided else ""),
            Cell(show.load(lift.estimate_kg)),
            Cell(show.load_range(lift.low_kg, lift.high_kg)),
            Cell(basis_label(voice.words, lift.basis), mark=lift.basis),
            Cell(
                "" if lift.best_made_kg is None else show.load(lift.best_made_kg),
                more="" if lift.best_made_on is None else show.short_day(lift.best_made_on),
            ),
            Cell("" if lift.last_tested is None else show.short_day(lift.last_tested)),
        ]
        if has_mass:
            cells.insert(3, Cell(show.multiple(lift.body_mass_multiple)))
        rows.append(GridRow(tuple(cells)))
    return Grid("all-lifts", _("What every lift is worth"), tuple(columns), tuple(rows))


def ratios_section(voice: Voice, profile: Profile, norms: Norms) -> Section | None:
    """Pairs of lifts beside their usual range."""
    _ = voice.words._
    show = voice.show
    if not profile.ratios:
        return None
    rows = tuple(
        IntervalRow(
            ratio_names(voice, ratio.numerator, ratio.denominator),
            show.percent_value(ratio.value),
            show.percent_value(ratio.low),
            show.percent_value(ratio.high),
            _ratio_basis(profile, ratio),
            show.percent_interval(ratio.value, ratio.low, ratio.high),
            RATIO_TONES[ratio.reading],
            show.percent_value(ratio.usual_low),
            show.percent_value(ratio.usual_high),
            _("usual {range}; {reading}").format(
                range=show.usual_range(ratio.usual_low, ratio.usual_high),
                reading=ratio_reading_label(voice.words, ratio),
            ),
        )
        for ratio in profile.ratios
    )
    outside = sum(ratio.reading in {"below", "above"} for ratio in profile.ratios)
    summary = _("Outside the usual range: {outside} of {all}.").format(
        outside=voice.show.number(outside), all=voice.show.number(len(profile.ratios))
    )
    ends = [v for row in rows for v in (row.low, row.high, row.band_low, row.band_high)]
    chart = IntervalRows(
        "ratios",
        _("One lift as a share of another"),
        summary,
        _percent_axis(_("% of the second lift"), [v for v in ends if v is not None]),
        rows,
    )
    meanings = {(one.numerator, one.denominator): one for one in norms.usual_ratios}
    sentences = []
    for ratio in profile.ratios:
        usual = meanings.get((ratio.numerator, ratio.denominator))
        meaning = ""
        if usual is not None:
            limiter = profile.verdict.limiter
            meaning = ratio_meaning(voice, usual, ratio, limiter, profile.qualities)
        sentences.append(ratio_sentence(voice, ratio, meaning))
    return Section(
        "ratios",
        _("One lift beside another"),
        _("The shaded range is where about half to two thirds of lifters lie."),
        (Drawn(chart), Details(_("Each ratio in words"), (Bullets(tuple(sentences)),))),
    )


def _ratio_basis(profile: Profile, ratio: RatioReading) -> Mark:
    """A ratio is known no better than its less well known lift."""
    bases = {
        profile.lifts[lift].basis
        for lift in (ratio.numerator, ratio.denominator)
        if lift in profile.lifts
    }
    if "inferred" in bases:
        return "inferred"
    return "bounded" if "bounded" in bases else "tested"


def pointers_section(voice: Voice, profile: Profile) -> Section | None:
    """The snatch and the clean that each lift alone would lead one to expect."""
    _ = voice.words._
    blocks = [
        Drawn(_pointers_chart(voice, profile, target, found))
        for target in ("snatch", "clean")
        if (found := [one for one in profile.pointers if one.target == target])
        and target in profile.lifts
    ]
    if not blocks:
        return None
    return Section(
        "pointers",
        _("What each lift alone points to"),
        _(
            "If one lift were all that is known, this is the snatch or the clean to expect from "
            "it. Lifts far to the right of the line have something to give that the snatch or the "
            "clean does not use yet."
        ),
        tuple(blocks),
    )


def _pointers_chart(
    voice: Voice, profile: Profile, target: str, found: list[Pointer]
) -> IntervalRows:
    _ = voice.words._
    show = voice.show
    does = profile.lifts[target].estimate_kg
    ordered = sorted(found, key=lambda one: list(profile.lifts).index(one.lift))
    rows = tuple(
        IntervalRow(
            voice.lift(one.lift),
            show.load_value(one.expected_kg),
            show.load_value(one.low_kg),
            show.load_value(one.high_kg),
            profile.lifts[one.lift].basis,
            show.interval(one.expected_kg, one.low_kg, one.high_kg),
            "strong" if one.low_kg > does else "low" if one.high_kg < does else "plain",
        )
        for one in ordered
    )
    above = [voice.lift_within(one.lift) for one in ordered if one.low_kg > does]
    if above:
        summary = _("Clearly above the {target} of {load}: {lifts}.").format(
            target=voice.lift_within(target), load=show.load(does), lifts=show.listed(above)
        )
    else:
        summary = _("No lift points clearly above the {target} of {load}.").format(
            target=voice.lift_within(target), load=show.load(does)
        )
    loads = [v for row in rows for v in (row.low, row.high)] + [show.load_value(does)]
    return IntervalRows(
        f"pointers-{target}",
        _("The {target} to expect from each lift").format(target=voice.lift_within(target)),
        summary,
        load_axis(voice, loads),
        rows,
        reference=show.load_value(does),
        reference_label=_("now {load}").format(load=show.load(does)),
        start_label=_("fast and light"),
        end_label=_("slow and heavy"),
    )


def load_axis(voice: Voice, loads: list[float]) -> Axis:
    """An axis that holds all `loads` (club units) with a little room."""
    low, high = min(loads), max(loads)
    step = 5.0 if high - low > 12 else 2.0
    return Axis(
        voice.show.units,
        max(0.0, math.floor(low / step) * step),
        math.ceil(high / step) * step,
        unit=voice.show.units,
    )


def _percent_axis(title: str, values: list[float]) -> Axis:
    return Axis(title, math.floor(min(values) / 5) * 5, math.ceil(max(values) / 5) * 5, unit="%")
