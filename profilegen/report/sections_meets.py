"""The attempts of the next meets: the sections of the report."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from profilegen.engine.attempts import HISTORIES
from profilegen.engine.profile import (
    CLEAN_AND_JERK,
    Aim,
    LiftAttempts,
    MeetDay,
    MeetPlan,
    Profile,
)
from profilegen.report.language import Words
from profilegen.report.page import (
    Block,
    Bullets,
    Cell,
    Column,
    Details,
    Grid,
    GridRow,
    Section,
)
from profilegen.report.words import Voice

CHANCE_STEPS = (8, 7, 6, 5, 4, 3, 2, 1)


def meet_sections(voice: Voice, profile: Profile) -> tuple[Section, ...]:
    """One section for each meet ahead."""
    return tuple(
        _meet_section(voice, meet, "meet" if i == 1 else f"meet-{i}")
        for i, meet in enumerate(profile.meets, start=1)
    )


def _meet_section(voice: Voice, meet: MeetDay, section_id: str) -> Section:
    _ = voice.words._
    title = _("{called}, {day}").format(called=meet.called, day=voice.show.day(meet.on))
    if meet.avoided:
        lead = _(
            "No attempts are planned: a lift of the competition is on the list to avoid, or much "
            "like one that is."
        )
        return Section(section_id, title, lead, ())
    if meet.too_light:
        return Section(section_id, title, _too_light(voice, meet), ())
    if not meet.plans:
        lead = _("No attempts are planned: nothing is written down yet to plan them from.")
        return Section(section_id, title, lead, ())
    blocks: list[Block] = [
        _plans_grid(voice, meet, section_id),
        _results_details(voice, meet, section_id),
        _warm_up_grid(voice, meet, section_id),
    ]
    if meet.chances:
        blocks.insert(2, _chances_details(voice, meet, section_id))
    blocks.append(Bullets(_meet_notes(voice, meet), tone="caution"))
    lead = _meet_lead(voice, meet)
    if meet.target_total_kg and all(plan.aim != "target" for plan in meet.plans):
        lead += " " + _(
            "The target of {total} is out of reach on that day, so nothing goes for it."
        ).format(total=voice.show.bar(meet.target_total_kg))
    return Section(section_id, title, lead, tuple(blocks))


def _too_light(voice: Voice, meet: MeetDay) -> str:
    """Why nothing is planned where the lightest bar is too heavy: a parent may read this."""
    return voice.words.ngettext(
        "No attempts are planned: {lifts} is still too light for the platform bar. With collars "
        "it weighs {bar}, too much for that day. Good reps with a lighter bar come first.",
        "No attempts are planned: {lifts} are still too light for the platform bar. With collars "
        "it weighs {bar}, too much for that day. Good reps with a lighter bar come first.",
        len(meet.too_light),
    ).format(
        bar=voice.show.bar(meet.lightest_bar_kg),
        lifts=voice.show.listed([voice.lift_within(lift) for lift in meet.too_light]),
    )


def _meet_lead(voice: Voice, meet: MeetDay) -> str:
    _ = voice.words._
    if meet.junior:
        return _(
            "Under 18: six good lifts count more than the total. Every load is well under what to "
            "expect, steps are small, and a missed bar is tried again before it rises."
        )
    return _(
        "Six attempts for each aim. Behind each load stands the chance of a good lift when it "
        "comes to it: strength, the form of the day and plain slips together."
    )


def aim_name(words: Words, aim: Aim, *, junior: bool) -> str:
    """An aim as a column heading."""
    if junior:
        return words._("Six good lifts")
    return {
        "expected": words._("Highest total on average"),
        "target": words._("Reach the target"),
        "safe": words._("Be sure of a total"),
    }[aim]


def history_name(words: Words, lift: str, history: str) -> str:
    """Which attempt, after what."""
    name = words._("Snatch") if lift == "snatch" else words._("Clean and jerk")
    after = {
        "": words._("1st"),
        "+": words._("2nd, after a good lift"),
        "-": words._("2nd, after a miss"),
        "++": words._("3rd, after two good lifts"),
        "+-": words._("3rd, after good, miss"),
        "-+": words._("3rd, after miss, good"),
        "--": words._("3rd, after two misses"),
    }[history]
    return words._("{lift}: {attempt}").format(lift=name, attempt=after)


def _attempt(voice: Voice, tree: LiftAttempts, history: str) -> Cell:
    i = HISTORIES.index(history)
    load, chance = tree.loads_kg[i], tree.chances[i]
    if load is None:
        return Cell("–")
    more = "" if chance is None else voice.show.in_ten(chance)
    return Cell(voice.show.bar(load), more=more)


def _plans_grid(voice: Voice, meet: MeetDay, section_id: str) -> Grid:
    _ = voice.words._
    show = voice.show
    plans = meet.plans
    rows = [
        GridRow(
            (
                Cell(history_name(voice.words, "snatch", history)),
                *(_attempt(voice, plan.snatch, history) for plan in plans),
            )
        )
        for history in HISTORIES
    ]
    rows.append(
        GridRow(
            (
                Cell(_("then, likeliest snatch")),
                *(Cell(show.bar(_likeliest(plan).after_snatch_kg or 0)) for plan in plans),
            )
        )
    )
    rows += [
        GridRow(
            (
                Cell(history_name(voice.words, CLEAN_AND_JERK, history)),
                *(_attempt(voice, _likeliest(plan), history) for plan in plans),
            )
        )
        for history in HISTORIES
    ]
    rows += _summary_rows(voice, meet)
    return Grid(
        f"{section_id}-plans",
        _("Attempts side by side"),
        (
            Column(_("Attempt")),
            *(
                Column(aim_name(voice.words, plan.aim, junior=meet.junior), numeric=True)
                for plan in plans
            ),
        ),
        tuple(rows),
    )


def _likeliest(plan: MeetPlan) -> LiftAttempts:
    return plan.clean_and_jerk[0]


def _summary_rows(voice: Voice, meet: MeetDay) -> list[GridRow]:
    _ = voice.words._
    show = voice.show

    def row(name: str, cells: Iterable[Cell]) -> GridRow:
        return GridRow((Cell(name), *cells))

    plans = meet.plans
    rows = [
        row(
            _("Total on average"),
            (
                Cell(
                    show.bar(plan.expected_total_kg),
                    more=show.range(show.number(plan.low_kg), show.number(plan.high_kg)),
                )
                for plan in plans
            ),
        ),
        row(
            _("At least the two second attempts together"),
            (
                Cell(show.bar(plan.planned_total_kg), more=show.in_ten(plan.chance_of_planned))
                for plan in plans
            ),
        ),
    ]
    if meet.target_total_kg is not None:
        rows.append(
            row(
                _("Target of {total}").format(total=show.bar(meet.target_total_kg)),
                (
                    Cell("" if one.chance_of_target is None else show.in_ten(one.chance_of_target))
                    for one in plans
                ),
            )
        )
    rows.append(
        row(
            _("No total at all"),
            (Cell(show.in_hundred(1.0 - plan.chance_of_total)) for plan in plans),
        )
    )
    return rows


def _results_details(voice: Voice, meet: MeetDay, section_id: str) -> Details:
    """The clean and jerk for every snatch result, plan by plan."""
    _ = voice.words._
    show = voice.show
    short = {
        "": _("1st"),
        "+": _("2nd, good"),
        "-": _("2nd, miss"),
        "++": _("3rd, good good"),
        "+-": _("3rd, good miss"),
        "-+": _("3rd, miss good"),
        "--": _("3rd, miss miss"),
    }
    grids = tuple(
        Grid(
            f"{section_id}-{plan.aim}",
            aim_name(voice.words, plan.aim, junior=meet.junior),
            (
                Column(_("Snatch"), numeric=True),
                *(Column(short[history], numeric=True) for history in HISTORIES),
            ),
            tuple(
                GridRow(
                    (
                        Cell(show.bar(tree.after_snatch_kg or 0), more=show.in_ten(
                            tree.chance_of_case)),
                        *(_attempt(voice, tree, history) for history in HISTORIES),
                    )
                )
                for tree in sorted(plan.clean_and_jerk, key=lambda one: one.after_snatch_kg or 0)
            ),
        )
        for plan in meet.plans
    )  # fmt: skip
    return Details(_("The clean and jerk for every snatch result"), grids)


def _chances_details(voice: Voice, meet: MeetDay, section_id: str) -> Details:
    """The heaviest load of each lift with at least so many chances in ten."""
    _ = voice.words._
    show = voice.show

    def heaviest(lift: str, tenths: int) -> Cell:
        loads = [one.kg for one in meet.chances if one.lift == lift and 10 * one.chance >= tenths]
        return Cell(show.bar(max(loads)) if loads else "–")

    rows = tuple(
        GridRow(
            (
                Cell(show.chance(tenths / 10)),
                heaviest("snatch", tenths),
                heaviest(CLEAN_AND_JERK, tenths),
            )
        )
        for tenths in CHANCE_STEPS
    )
    grid = Grid(
        f"{section_id}-chances",
        _("The heaviest load with at least this chance, before anything is lifted"),
        (
            Column(_("Chance of a good lift")),
            Column(_("Snatch"), numeric=True),
            Column(_("Clean and jerk"), numeric=True),
        ),
        rows,
    )
    return Details(_("The chance of each load on the day"), (grid,))


def _warm_up_grid(voice: Voice, meet: MeetDay, section_id: str) -> Grid:
    """The table for the warm-up room."""
    _ = voice.words._
    show = voice.show
    columns = [Column(_("Set"))]
    sets: list[list[Cell]] = []
    for one in meet.warm_up:
        name = voice.lift(one.lift)
        columns.append(
            Column(
                _("{lift}, to {opener}").format(lift=name, opener=show.bar(one.opener_kg)),
                numeric=True,
            )
        )
        bar = Cell(_("empty bar"), more=show.bar(one.bar_kg))
        sets.append([bar, *(Cell(_reps(voice, step.load_kg, step.reps)) for step in one.sets)])
    length = max(map(len, sets), default=0)
    padded = [[Cell("")] * (length - len(column)) + column for column in sets]
    rows = tuple(
        GridRow((Cell(show.number(i)), *(column[i - 1] for column in padded)))
        for i in range(1, length + 1)
    )
    caption = _("For the warm-up room (common practice, whole kilos)")
    return Grid(f"{section_id}-warm-up", caption, tuple(columns), rows)


def _reps(voice: Voice, load_kg: float, reps: int) -> str:
    return voice.words._("{load} × {reps}").format(
        load=voice.show.bar(load_kg), reps=voice.show.number(reps)
    )


def _meet_notes(voice: Voice, meet: MeetDay) -> tuple[str, ...]:
    _ = voice.words._
    show = voice.show
    notes = []
    if any(plan.aim == "target" for plan in meet.plans):
        notes.append(
            _(
                "Going for the target means risking the total: compare “No total at all” before "
                "choosing it."
            )
        )
    most = [
        show.bar(first + second + meet.opener_rule_kg)
        for plan in meet.plans
        if (first := plan.snatch.loads_kg[0]) and (second := _likeliest(plan).loads_kg[0])
    ]
    notes += [
        _(
            "The two openers may lie at most {gap} under the entry total, so enter no more than "
            "{totals} for these plans; masters have smaller gaps."
        ).format(gap=show.bar(meet.opener_rule_kg), totals=show.listed(_unlike(most))),
        _(
            "The bar never comes down: after a good lift it rises by at least 1 kg, after a miss "
            "it may stay. The rules of the federation come first."
        ),
        _(
            "A plan is for a healthy day. If warm-ups are slow or something hurts, open lighter or "
            "do not start, and see a licensed professional about pain."
        ),
    ]
    return tuple(notes)


def _unlike(texts: Sequence[str]) -> list[str]:
    return list(dict.fromkeys(texts))
