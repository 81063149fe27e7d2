"""Summaries -> SquadPage: who is held back by what, who stands where, who is up."""

from __future__ import annotations

import statistics
from collections.abc import Iterable
from datetime import date
from typing import Literal

from profilegen.engine.profile import TOTAL, Verdict
from profilegen.engine.standards import sinclair_coefficient
from profilegen.history.records import Club, Sex
from profilegen.norms.catalogue import QUALITIES, Norms, Quality
from profilegen.report.chart import Axis, Curve, HeatCell, HeatRow, HeatTable, Scatter, ScatterPoint
from profilegen.report.head import page_head
from profilegen.report.links import SQUAD_DATA, href
from profilegen.report.page import (
    Block,
    Cell,
    Column,
    Drawn,
    Grid,
    GridRow,
    LifterCard,
    Link,
    Links,
    Pair,
    Section,
    Shared,
    SquadPage,
)
from profilegen.report.sections_lifts import load_axis
from profilegen.report.summary import MAIN_LIFTS, Summary
from profilegen.report.words import (
    Voice,
    age_text,
    change_label,
    quality_label,
    quality_name,
    sex_name,
    verdict_sentence,
    voice_for,
)

SCORE_REACH = 2.5
"""Standard deviations at which a heat cell is darkest."""
CHANGE_REACH = 0.08
"""Change of the total, as a share, at which a heat cell is darkest."""
MOST_NAMED = 2
"""Qualities named in the headline; more of them at once would say nothing."""
LIMITER_MARK = "◆"
"""Before the score of the quality that holds a lifter back."""


def squad_page(
    summaries: Iterable[Summary], club: Club, norms: Norms, on: date, *, private: bool = True
) -> SquadPage:
    """The whole squad on one page, lifters by name."""
    lifters = sorted(summaries, key=lambda one: (one.name.casefold(), one.id))
    voice = voice_for(club, norms)
    _ = voice.words._
    groups = sorted({one.group for one in lifters if one.group})
    sections = (
        _qualities_section(voice, lifters),
        _table_section(voice, lifters),
        _body_mass_section(voice, lifters),
        _weeks_section(voice, lifters, club),
    )
    sentence = _headline(voice, lifters)
    return SquadPage(
        head=page_head(
            voice, club, "squad", title=club.name, description=sentence, private=private
        ),
        title=club.name,
        facts=(
            voice.words.ngettext("{number} lifter", "{number} lifters", len(lifters)).format(
                number=len(lifters)
            ),
            voice.show.day(on),
        ),
        sentence=sentence,
        groups=tuple(groups) if len(groups) > 1 else (),
        shared=Section(
            "shared",
            _("Who shares what"),
            _("Lifters who could work on the same thing together, surest first."),
            (),
        ),
        shared_by=_shared(voice, lifters),
        cards=Section("lifters", _("Every lifter"), "", ()),
        lifters=tuple(_card(voice, one, norms, club) for one in lifters),
        sections=tuple(section for section in sections if section is not None),
    )


def _headline(voice: Voice, lifters: list[Summary]) -> str:
    _ = voice.words._
    settled = [one for one in lifters if one.confidence != "open" and one.limiter != "even"]
    if not settled:
        return _("No lifter is clearly held back by one quality yet.")
    counts = {key: sum(one.limiter == key for one in settled) for key in QUALITIES}
    most = max(counts.values())
    first = [quality_name(voice.words, key) for key in QUALITIES if counts[key] == most]
    if most == 1 or len(first) > MOST_NAMED:
        return _("Different lifters are held back by different things.")
    return voice.words.ngettext(
        "{qualities} holds back most lifters: {number} of {all}.",
        "{qualities} hold back most lifters: {number} of {all} each.",
        len(first),
    ).format(qualities=voice.show.capital(voice.show.listed(first)), number=most, all=len(lifters))


def _as_verdict(one: Summary) -> Verdict:
    return Verdict(
        one.limiter, one.chance, one.confidence, one.kilos, one.second, one.second_chance
    )


def _sentence(voice: Voice, one: Summary, norms: Norms, club: Club) -> str:
    return verdict_sentence(voice_for(club, norms, one.name, junior=one.junior), _as_verdict(one))


def _facts(voice: Voice, one: Summary) -> str:
    facts = [sex_name(voice.words, one.sex, one.junior), age_text(voice.words, one.age)]
    if one.body_mass_kg is not None:
        facts.append(voice.show.body_mass(one.body_mass_kg))
    if one.group:
        facts.append(one.group)
    return " · ".join(facts)


def _card(voice: Voice, one: Summary, norms: Norms, club: Club) -> LifterCard:
    filled = voice.show.of_ten(one.chance)
    return LifterCard(
        name=one.name,
        href=href(one.href),
        facts=_facts(voice, one),
        group=one.group or "",
        sentence=_sentence(voice, one, norms, club),
        plates=tuple(i < filled for i in range(10)),
        figures=tuple(
            Pair(voice.lift(lift.lift), voice.show.load(lift.estimate_kg)) for lift in one.lifts
        ),
    )


def _shared(voice: Voice, lifters: list[Summary]) -> tuple[Shared, ...]:
    _ = voice.words._
    keys: tuple[Quality | Literal["even"], ...] = (*QUALITIES, "even")
    found = []
    for key in keys:
        same = [one for one in lifters if one.limiter == key and one.confidence != "open"]
        if same:
            same.sort(key=lambda one: (-one.chance, one.name.casefold()))
            found.append((voice.show.capital(quality_name(voice.words, key)), same))
    undecided = [one for one in lifters if one.confidence == "open"]
    if undecided:
        found.append((_("Still open"), undecided))
    return tuple(
        Shared(
            name,
            voice.words.ngettext("{number} lifter", "{number} lifters", len(same)).format(
                number=len(same)
            ),
            tuple(
                Cell(one.name, href(one.href), more=voice.show.in_ten(one.chance)) for one in same
            ),
        )
        for name, same in found
    )


def _qualities_section(voice: Voice, lifters: list[Summary]) -> Section | None:
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


def _table_section(voice: Voice, lifters: list[Summary]) -> Section | None:
    _ = voice.words._
    show = voice.show
    if not lifters:
        return None
    formula = next((one.scaled[0].formula for one in lifters if one.scaled), "")
    with_class = any(one.category for one in lifters)
    columns = [
        Column(_("Lifter"), sortable=True),
        *([Column(_("Class"), sortable=True)] if with_class else []),
        *(Column(voice.lift(lift), numeric=True, sortable=True) for lift in MAIN_LIFTS),
        *([Column(formula, numeric=True, sortable=True)] if formula else []),
        Column(_("Held back by"), sortable=True),
        Column(_("How sure"), numeric=True, sortable=True),
    ]
    rows = []
    for one in lifters:
        cells = [Cell(one.name, href(one.href), sort=one.name.casefold())]
        if with_class:
            cells.append(Cell(one.category or "", sort=f"{one.sex}{one.category_order:08.2f}"))
        for key in MAIN_LIFTS:
            lift = one.lift(key)
            cells.append(
                Cell("", sort="0")
                if lift is None
                else Cell(
                    show.load(lift.estimate_kg),
                    more=show.load_range(lift.low_kg, lift.high_kg),
                    sort=f"{lift.estimate_kg:.3f}",
                )
            )
        if formula:
            scaled = one.scaled[0] if one.scaled else None
            cells.append(
                Cell("", sort="0")
                if scaled is None
                else Cell(
                    show.points(scaled.score),
                    more=show.points_range(scaled.low, scaled.high),
                    sort=f"{scaled.score:.3f}",
                )
            )
        cells.append(_held_back_by(voice, one))
        cells.append(Cell(show.in_ten(one.chance), sort=f"{one.chance:.4f}"))
        rows.append(GridRow(tuple(cells), one.group or ""))
    lead = _("What each lifter is worth today, with the 90% interval below.")
    if formula:
        lead += " " + _("Points are the total scaled for body mass by {formula}.").format(
            formula=formula
        )
    grid = Grid("squad-table", _("The squad in numbers"), tuple(columns), tuple(rows))
    data = Links((Link(_("All numbers of this page as data (squad.json)"), SQUAD_DATA),))
    return Section("numbers", _("In numbers"), lead, (grid, data))


def _held_back_by(voice: Voice, one: Summary) -> Cell:
    name = quality_name(voice.words, one.limiter)
    if one.confidence == "open":
        return Cell(
            voice.words._("Still open"), more=voice.words._("first: {name}").format(name=name)
        )
    return Cell(voice.show.capital(name))


def _body_mass_section(voice: Voice, lifters: list[Summary]) -> Section | None:
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


def _weeks_section(voice: Voice, lifters: list[Summary], club: Club) -> Section | None:
    """Totals over the testing weeks and who is up since the last one."""
    _ = voice.words._
    weeks = [
        week
        for week in sorted(club.testing_weeks, key=lambda week: week.end)
        if any(total.called == week.called for one in lifters for total in one.weeks)
    ]
    tested = [one for one in lifters if one.weeks]
    if not weeks or not tested:
        return None
    chart = HeatTable(
        "weeks",
        _("The total over the testing weeks"),
        _("The shade shows the change since the lifter’s testing week before."),
        tuple(week.called for week in weeks),
        tuple(
            HeatRow(one.name, _week_cells(voice, one, [w.called for w in weeks]), href(one.href))
            for one in tested
        ),
        _("Lifter"),
    )
    blocks: list[Block] = [Drawn(chart)]
    changed = [one for one in lifters if one.changes]
    if changed:
        blocks.append(_changes_grid(voice, changed))
    return Section("weeks", _("Testing weeks"), _who_is_up(voice, changed), tuple(blocks))


def _week_cells(voice: Voice, one: Summary, weeks: list[str]) -> tuple[HeatCell, ...]:
    cells = []
    before: float | None = None
    for called in weeks:
        total = next((total for total in one.weeks if total.called == called), None)
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


def _who_is_up(voice: Voice, lifters: list[Summary]) -> str:
    _ = voice.words._
    up = []
    for one in lifters:
        rose = [voice.lift_within(c.lift) for c in one.changes if c.verdict == "rose"]
        if rose:
            up.append(f"{one.name} ({voice.show.listed(rose)})")
    if not lifters:
        return ""
    if not up:
        return _("Nobody is up by more than the noise of a test.")
    return _("Up by more than the noise of a test: {names}.").format(names=voice.show.listed(up))


def _changes_grid(voice: Voice, lifters: list[Summary]) -> Grid:
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
            Cell(one.since or ""),
        ]
        for key in lifts:
            change = changes.get(key)
            cells.append(
                Cell("", sort="-9999")
                if change is None
                else Cell(
                    voice.show.change_between(change.then_kg, change.now_kg),
                    more=change_label(voice.words, change.verdict),
                    sort=f"{change.now_kg - change.then_kg:.3f}",
                )
            )
        rows.append(GridRow(tuple(cells), one.group or ""))
    return Grid("changes", _("Since the testing week before"), tuple(columns), tuple(rows))
