"""Squad charts: qualities side by side, total against body mass, testing weeks."""

from __future__ import annotations

import statistics
from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date

from profilegen.engine.profile import TOTAL
from profilegen.engine.standards import sinclair_coefficient
from profilegen.history.records import Sex
from profilegen.norms.catalogue import QUALITIES, Quality
from profilegen.report.chart import (
    Axis,
    Curve,
    HeatCell,
    HeatRow,
    HeatTable,
    Scatter,
    ScatterPoint,
    Trend,
)
from profilegen.report.links import href
from profilegen.report.page import (
    Block,
    Bullets,
    Cell,
    Column,
    Details,
    Drawn,
    Grid,
    GridRow,
    Multiples,
    Section,
)
from profilegen.report.sections_lifts import load_axis
from profilegen.report.sections_time import same_span
from profilegen.report.summary import MAIN_LIFTS, Summary
from profilegen.report.words import Voice, change_label, quality_label

SCORE_REACH = 2.5
"""Standard deviations at which a heat cell is darkest."""
CHANGE_REACH = 0.08
"""Change of the total, as a share, at which a heat cell is darkest."""
LIMITER_MARK = "◆"
"""Before the score of the quality that holds a lifter back."""


def qualities_section(voice: Voice, lifters: list[Summary]) -> Section | None:
    """The six qualities of every lifter as a heat table."""
    _ = voice.words._
    if not lifters:
        return None
    rows = tuple(
        HeatRow(
            one.name,
            tuple(_heat_cell(voice, one, quality) for quality in QUALITIES),
            href(one.href),
        )
        for one in lifters
    )
    chart = HeatTable(
        "squad-qualities",
        _("The six qualities of every lifter"),
        _(
            "0 is usual for the lifter’s own level, minus is low and plus is high, in standard "
            "deviations. {mark} marks what holds a lifter back."
        ).format(mark=LIMITER_MARK),
        tuple(quality_label(voice.words, quality) for quality in QUALITIES),
        rows,
        _("Lifter"),
    )
    return Section("qualities", _("Six qualities, side by side"), "", (Drawn(chart),))


def _heat_cell(voice: Voice, one: Summary, quality: Quality) -> HeatCell:
    _ = voice.words._
    reading = next((reading for reading in one.qualities if reading.quality == quality), None)
    if reading is None:
        return HeatCell(0.0, "")
    text = voice.show.score(reading.score)
    if one.limiter == quality and one.confidence != "open":
        text = f"{LIMITER_MARK} {text}"
    return HeatCell(
        max(-1.0, min(1.0, reading.score / SCORE_REACH)),
        text,
        _("{gain} on the total, {chance}").format(
            gain=voice.show.gain_short(reading.kilos), chance=voice.show.chance(reading.chance)
        ),
    )


def body_mass_section(voice: Voice, lifters: list[Summary]) -> Section | None:
    """Totals against body mass, with a published curve through the middle of the squad."""
    _ = voice.words._
    show = voice.show
    points: list[tuple[Summary, float, float]] = []
    for one in lifters:
        total = one.lift(TOTAL)
        if total is not None and one.body_mass_kg is not None:
            points.append((one, one.body_mass_kg, total.estimate_kg))
    if len(points) < 2:
        return None
    curves = tuple(
        curve
        for sex in ("F", "M")
        if (curve := _middle_curve(voice, sex, [p for p in points if p[0].sex == sex]))
    )
    masses = [show.load_value(mass) for _one, mass, _total in points]
    totals = [show.load_value(total) for _one, _mass, total in points]
    chart = Scatter(
        "body-mass",
        _("Total against body mass"),
        _(
            "Lifters above their curve have a better total for their body mass than the middle of "
            "the squad."
        ),
        Axis(
            _("body mass, {unit}").format(unit=show.units),
            load_axis(voice, masses).low,
            load_axis(voice, masses).high,
            unit=show.units,
        ),
        Axis(
            _("total, {unit}").format(unit=show.units),
            load_axis(voice, totals).low,
            load_axis(voice, totals).high,
            unit=show.units,
        ),
        tuple(
            ScatterPoint(
                one.name,
                show.load_value(mass),
                show.load_value(total),
                _("{total} at {mass}").format(total=show.load(total), mass=show.body_mass(mass)),
                _("women") if one.sex == "F" else _("men"),
                href(one.href),
            )
            for one, mass, total in points
        ),
        curves,
    )
    return Section("body-mass", _("Total and body mass"), "", (Drawn(chart),))


def _middle_curve(
    voice: Voice, sex: Sex, points: list[tuple[Summary, float, float]]
) -> Curve | None:
    """Totals worth as many Sinclair points as the median lifter of this sex."""
    if len(points) < 2:
        return None
    _ = voice.words._
    middle = statistics.median(
        total * sinclair_coefficient(sex, mass) for _one, mass, total in points
    )
    masses = [mass for _one, mass, _total in points]
    step = (max(masses) - min(masses)) / 24 or 1.0
    xs = [min(masses) + i * step for i in range(25)]
    label = _("women, equal Sinclair points") if sex == "F" else _("men, equal Sinclair points")
    return Curve(
        label,
        tuple(voice.show.load_value(x) for x in xs),
        tuple(voice.show.load_value(middle / sinclair_coefficient(sex, x)) for x in xs),
    )


def week_names(voice: Voice, lifters: Sequence[Summary]) -> dict[date, str]:
    """What these lifters' testing weeks are called on a page, by each week's last day.

    A club may call two weeks the same: then their days tell them apart.
    """
    named = {(week.called, week.on) for one in lifters for week in one.weeks}
    named |= {(one.since, one.since_on) for one in lifters if one.since and one.since_on}
    count = Counter(called for called, _on in named)
    return {
        on: called
        if count[called] == 1
        else voice.words._("{called}, {day}").format(called=called, day=voice.show.short_day(on))
        for called, on in sorted(named, key=lambda week: week[1])
    }


def since_name(names: Mapping[date, str], one: Summary) -> str:
    """The testing week that a lifter's changes count from."""
    return "" if one.since_on is None else names[one.since_on]


def weeks_section(voice: Voice, lifters: list[Summary]) -> Section | None:
    """Totals over the testing weeks and who is up since the last one."""
    _ = voice.words._
    weeks = sorted({week.on for one in lifters for week in one.weeks})
    names = week_names(voice, lifters)
    tested = [one for one in lifters if one.weeks]
    if not weeks or not tested:
        return None
    chart = HeatTable(
        "weeks",
        _("The total over the testing weeks"),
        _("The shade shows the change since the lifter’s testing week before."),
        tuple(names[on] for on in weeks),
        tuple(HeatRow(one.name, _week_cells(voice, one, weeks), href(one.href)) for one in tested),
        _("Lifter"),
    )
    changed = [one for one in lifters if one.changes]
    blocks: list[Block] = [Bullets(_who_moved(voice, changed))] if changed else []
    blocks.append(Drawn(chart))
    lines = tuple(_progress(voice, one, names) for one in tested if len(one.weeks) > 1)
    if lines:
        blocks.append(
            Details(_("Everyone’s total as a line"), (Multiples(same_span(voice, lines)),))
        )
    if changed:
        blocks.append(_changes_grid(voice, changed, names))
    return Section("weeks", _("Testing weeks"), "", tuple(blocks))


def _progress(voice: Voice, one: Summary, names: Mapping[date, str]) -> Trend:
    """One lifter's total over the testing weeks."""
    show = voice.show
    low = tuple(show.load_value(week.low_kg) for week in one.weeks)
    high = tuple(show.load_value(week.high_kg) for week in one.weeks)
    texts = [show.interval(week.total_kg, week.low_kg, week.high_kg) for week in one.weeks]
    return Trend(
        f"progress-{one.id or one.name}".replace(" ", "-"),
        one.name,
        voice.words._("{then} in {first}; {now} in {last}.").format(
            then=texts[0],
            first=names[one.weeks[0].on],
            now=texts[-1],
            last=names[one.weeks[-1].on],
        ),
        load_axis(voice, [*low, *high]),
        tuple(week.on for week in one.weeks),
        tuple(show.load_value(week.total_kg) for week in one.weeks),
        low,
        high,
        tuple(f"{names[week.on]}: {text}" for week, text in zip(one.weeks, texts, strict=True)),
        (),
        voice.words._("total"),
        voice.words._("90% interval"),
    )


def _week_cells(voice: Voice, one: Summary, weeks: Sequence[date]) -> tuple[HeatCell, ...]:
    cells = []
    before: float | None = None
    for on in weeks:
        total = next((total for total in one.weeks if total.on == on), None)
        if total is None:
            cells.append(HeatCell(0.0, "–"))
            continue
        change = 0.0 if before is None else total.total_kg / before - 1.0
        cells.append(
            HeatCell(
                max(-1.0, min(1.0, change / CHANGE_REACH)),
                voice.show.load_number(total.total_kg),
                "" if before is None else voice.show.change_between(before, total.total_kg),
            )
        )
        before = total.total_kg
    return tuple(cells)


def _who_moved(voice: Voice, lifters: list[Summary]) -> tuple[str, ...]:
    """Who is up, who is down, of how many the test can say neither."""
    _ = voice.words._
    up, down = _moved(voice, lifters, "rose", seen=(True,)), _moved(voice, lifters, "fell")
    follows = _moved(voice, lifters, "rose", seen=(False,))
    said = []
    if up:
        said.append(
            _("Up by more than the noise of a test: {names}.").format(names=voice.show.listed(up))
        )
    if follows:
        said.append(
            _("Up, as follows from the other lifts: {lifts}.").format(
                lifts=voice.show.listed(follows)
            )
        )
    if not said:
        said.append(_("Nobody is up by more than the noise of a test."))
    if down:
        said.append(_("Down: {names}.").format(names=voice.show.listed(down)))
    rest = sum(all(c.verdict not in {"rose", "fell"} for c in one.changes) for one in lifters)
    if rest:
        said.append(
            voice.words.ngettext(
                "{number} lifter about as before, as far as the tests can tell.",
                "{number} lifters about as before, as far as the tests can tell.",
                rest,
            ).format(number=voice.show.number(rest))
        )
    return tuple(said)


def _moved(
    voice: Voice, lifters: list[Summary], verdict: str, seen: tuple[bool, ...] = (True, False)
) -> list[str]:
    found = []
    for one in lifters:
        changes = [c for c in one.changes if c.verdict == verdict and c.seen in seen]
        lifts = [voice.lift_within(c.lift) for c in changes]
        if lifts:
            found.append(f"{one.name} ({voice.show.listed(lifts)})")
    return found


def _changes_grid(voice: Voice, lifters: list[Summary], names: Mapping[date, str]) -> Grid:
    _ = voice.words._
    known = {change.lift for one in lifters for change in one.changes}
    lifts = [lift for lift in MAIN_LIFTS if lift in known]
    columns = [Column(_("Lifter"), sortable=True), Column(_("Since"))]
    columns += [Column(voice.lift(lift), numeric=True, sortable=True) for lift in lifts]
    rows = []
    for one in lifters:
        changes = {change.lift: change for change in one.changes}
        cells = [
            Cell(one.name, href(one.href), sort=one.name.casefold()),
            Cell(since_name(names, one)),
        ]
        for key in lifts:
            change = changes.get(key)
            cells.append(
                Cell("", sort="-9999")
                if change is None
                else Cell(
                    voice.show.change_between(change.then_kg, change.now_kg),
                    more=change_label(voice.words, change.verdict, change.seen),
                    sort=f"{change.now_kg - change.then_kg:.3f}",
                )
            )
        rows.append(GridRow(tuple(cells), one.group or ""))
    return Grid("changes", _("Since the testing week before"), tuple(columns), tuple(rows))
