"""Two lifters side by side, or one lifter then and now: a table with a column for each.

All columns stand in the page; a script shows the two that are asked for. Bars of one row
share one scale, whoever is compared.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from profilegen.engine.profile import TOTAL
from profilegen.norms.catalogue import QUALITIES
from profilegen.report.drawn import heat_step
from profilegen.report.links import href
from profilegen.report.page import Section, Side, SideBySide, SideCell, SideRow
from profilegen.report.squad_charts import LIMITER_MARK, SCORE_REACH, since_name, week_names
from profilegen.report.summary import MAIN_LIFTS, LiftSummary, Summary
from profilegen.report.words import Voice, held_back_by, quality_label

NOTHING = SideCell("–")


def compare_section(voice: Voice, lifters: Sequence[Summary]) -> Section | None:
    """Everyone now and, where a testing week came before, then."""
    _ = voice.words._
    if len(lifters) < 2 and not any(one.changes for one in lifters):
        return None
    sides: list[tuple[Summary, bool]] = []
    for one in lifters:
        sides.append((one, False))
        if one.changes:
            sides.append((one, True))
    names = week_names(voice, lifters)
    rows = [_limiter_row(voice, sides)]
    rows += [_lift_row(voice, sides, lift) for lift in MAIN_LIFTS]
    rows += _points_row(voice, sides)
    rows += [_quality_row(voice, sides, i) for i in range(len(QUALITIES))]
    table = SideBySide(
        "side-by-side",
        _("Two lifters, or one lifter then and now"),
        _("Left"),
        _("Right"),
        tuple(_side(voice, one, names if then else None) for one, then in sides),
        tuple(rows),
    )
    lead = _(
        "Bars in a row share one scale. Qualities are in standard deviations from what is usual at "
        "the lifter’s own level; {mark} marks what holds a lifter back."
    ).format(mark=LIMITER_MARK)
    return Section("compare", _("Two lifters side by side"), lead, (table,))


def _side(voice: Voice, one: Summary, then: Mapping[date, str] | None) -> Side:
    """The head of a column: now, or then with the names of the testing weeks."""
    if then is None:
        return Side(one.name, voice.words._("now"), href(one.href))
    return Side(one.name, since_name(then, one), href(one.href), then=True)


def _limiter_row(voice: Voice, sides: Sequence[tuple[Summary, bool]]) -> SideRow:
    _ = voice.words._
    cells = []
    for one, then in sides:
        limiter = one.limiter_then if then else one.limiter
        chance = one.chance_then if then else one.chance
        if limiter is None:
            cells.append(NOTHING)
            continue
        name = held_back_by(voice.words, limiter)
        cells.append(SideCell(name, voice.show.in_ten(chance)))
    return SideRow(_("Held back by"), tuple(cells))


def _lift_row(voice: Voice, sides: Sequence[tuple[Summary, bool]], lift: str) -> SideRow:
    show = voice.show
    highs = [found.high_kg for one, _then in sides if (found := one.lift(lift))]
    most = max(highs, default=1.0)
    cells = []
    for one, then in sides:
        found = _then(one, lift) if then else one.lift(lift)
        if found is None:
            cells.append(NOTHING)
            continue
        cells.append(
            SideCell(
                show.load(found.estimate_kg),
                show.load_range(found.low_kg, found.high_kg),
                bar=show.bar_percent(found.estimate_kg / most),
            )
        )
    return SideRow(voice.lift(lift), tuple(cells))


def _then(one: Summary, lift: str) -> LiftSummary | None:
    """A main lift as it stood at the testing week before."""
    week = next((week for week in one.weeks if week.on == one.since_on), None)
    if lift == TOTAL and week is not None:
        return LiftSummary(lift, week.total_kg, week.low_kg, week.high_kg, "inferred")
    change = next((change for change in one.changes if change.lift == lift), None)
    if change is None or change.then_low_kg is None or change.then_high_kg is None:
        return None
    return LiftSummary(lift, change.then_kg, change.then_low_kg, change.then_high_kg, "inferred")


def _points_row(voice: Voice, sides: Sequence[tuple[Summary, bool]]) -> list[SideRow]:
    scaled = [one.scaled[0] for one, _then in sides if one.scaled]
    if not scaled:
        return []
    most = max(one.high for one in scaled)
    cells = []
    for one, then in sides:
        if then or not one.scaled:
            cells.append(NOTHING)
            continue
        points = one.scaled[0]
        cells.append(
            SideCell(
                voice.show.points(points.score),
                voice.show.points_range(points.low, points.high),
                bar=voice.show.bar_percent(points.score / most),
            )
        )
    return [SideRow(scaled[0].formula, tuple(cells))]


def _quality_row(voice: Voice, sides: Sequence[tuple[Summary, bool]], index: int) -> SideRow:
    quality = QUALITIES[index]
    cells = []
    for one, then in sides:
        reading = next((r for r in one.qualities if r.quality == quality), None)
        if then or reading is None:
            cells.append(NOTHING)
            continue
        text = voice.show.score(reading.score)
        if one.limiter == quality and one.confidence != "open":
            text = f"{LIMITER_MARK} {text}"
        cells.append(
            SideCell(
                text,
                voice.words._("{gain} on the total").format(
                    gain=voice.show.gain_short(reading.kilos)
                ),
                shade=heat_step(reading.score / SCORE_REACH),
            )
        )
    return SideRow(quality_label(voice.words, quality), tuple(cells))
