"""Report sections that look ahead: what to test next, and the attempts of the next meets."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from profilegen.engine.attempts import HISTORIES
from profilegen.engine.profile import (
    CLEAN_AND_JERK,
    Aim,
    LiftAttempts,
    MeetDay,
    MeetPlan,
    NextTest,
    NextTests,
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

SHOWN_TESTS = 6
"""Lifts in the table besides the best three."""
SETTLED = 0.8
"""With a chance like this the answer is clear enough not to test for it."""
CHANCE_STEPS = (8, 7, 6, 5, 4, 3, 2, 1)


# What to test next


def next_tests_section(voice: Voice, profile: Profile) -> Section | None:
    """The lifts whose test would tell most about what limits the lifter."""
    tests = profile.next_tests
    if tests is None:
        return None
    _ = voice.words._
    title = _("What to test next")
    if tests.meet_near is not None:
        said = _(
            "No maximal test now: the next meet is on {day}. What is lifted there will tell more."
        )
        lead = said.format(day=voice.show.day(tests.meet_near))
        return Section("tests", title, lead, ())
    if not tests.values:
        return None
    shown = _shown_tests(profile, tests)
    blocks: tuple[Grid | Bullets | Details, ...] = (
        _tests_grid(voice, profile, tests, shown),
        Bullets(_test_notes(voice, profile, shown)),
    )
    if _is_clear(profile):
        blocks = (Details(_("What a test would tell anyway"), blocks),)
    return Section("tests", title, _tests_lead(voice, profile, tests), blocks)


def _is_clear(profile: Profile) -> bool:
    return profile.verdict.chance > SETTLED


def _shown_tests(profile: Profile, tests: NextTests) -> tuple[NextTest, ...]:
    """The most telling lifts, and the best three wherever they stand."""
    named = () if _is_clear(profile) else tests.best
    return tuple(one for i, one in enumerate(tests.values) if i < SHOWN_TESTS or one.lift in named)


def _tests_lead(voice: Voice, profile: Profile, tests: NextTests) -> str:
    _ = voice.words._
    if _is_clear(profile):
        lead = _("The answer is clear enough; no test is needed for its sake.")
    elif tests.best:
        lead = _(
            "For the coming testing week: {lifts}. Together they should tell most about what holds "
            "{name} back, for what they cost."
        ).format(
            lifts=voice.show.listed([voice.lift_within(lift) for lift in tests.best]),
            name=voice.name,
        )
    else:
        lead = _("These lifts would tell most about what holds {name} back.").format(
            name=voice.name
        )
    if voice.junior:
        lead += " " + _("Under 18 nobody tests a maximum: good reps with some left are enough.")
    return lead


def _tests_grid(
    voice: Voice, profile: Profile, tests: NextTests, shown: Sequence[NextTest]
) -> Grid:
    _ = voice.words._
    show = voice.show
    named = () if _is_clear(profile) else tests.best
    rows = tuple(
        GridRow(
            (
                Cell(
                    voice.lift(one.lift),
                    more=_("one of the three") if one.lift in named else "",
                ),
                Cell(
                    telling(voice.words, one.bits),
                    more=_("{bits} of {all} bits").format(
                        bits=show.bits(one.bits), all=show.bits(tests.entropy_bits)
                    ),
                ),
                Cell(how_tested(voice.words, one.reps, one.in_reserve)),
                Cell(show.load(one.expected_kg)),
                Cell(show.times(one.cost)),
            )
        )
        for one in shown
    )
    return Grid(
        "tests-table",
        _("What a test of each lift would tell"),
        (
            Column(_("Lift")),
            Column(_("Tells")),
            Column(_("How")),
            Column(_("Expect about"), numeric=True),
            Column(_("Tires, in snatches"), numeric=True),
        ),
        rows,
    )


def telling(words: Words, bits: float) -> str:
    """How much a test would settle, in words; what little is open cannot be told a lot about."""
    if bits >= 0.12:
        return words._("a lot")
    if bits >= 0.05:
        return words._("a good deal")
    if bits >= 0.015:
        return words._("a little")
    return words._("hardly anything")


def how_tested(words: Words, reps: int, in_reserve: int) -> str:
    """How a lift would be tested."""
    if reps == 1 and in_reserve == 0:
        return words._("a single to the limit")
    return words.ngettext(
        "{reps} good reps, {number} left", "{reps} good reps, {number} left", in_reserve
    ).format(reps=reps, number=in_reserve)


def _test_notes(voice: Voice, profile: Profile, shown: Sequence[NextTest]) -> tuple[str, ...]:
    _ = voice.words._
    new = [voice.lift_within(one.lift) for one in shown if one.first_time]
    shunned = [voice.lift_within(one.lift) for one in profile.lifts.values() if one.avoided]
    notes = [
        _(
            "“Tells” is how much of what is still open about the answer one test should settle, on "
            "average over its possible results. Bits count open answers: one bit is one fair toss."
        )
    ]
    if new:
        notes.append(
            _(
                "Not in the books yet: {lifts}. Learn a lift first, and build up before it is "
                "tested."
            ).format(lifts=voice.show.listed(new))
        )
    if shunned:
        notes.append(
            _("To be avoided, so not proposed, nor what is much alike: {lifts}.").format(
                lifts=voice.show.listed(shunned)
            )
        )
    notes.append(
        _("Stop a test when positions go or something hurts; a missing number is no harm.")
    )
    return tuple(notes)


# The next meets


def meet_sections(voice: Voice, profile: Profile) -> tuple[Section, ...]:
    """One section for each meet ahead."""
    return tuple(
        _meet_section(voice, meet, "meet" if i == 1 else f"meet-{i}")
        for i, meet in enumerate(profile.meets, start=1)
    )


def _meet_section(voice: Voice, meet: MeetDay, section_id: str) -> Section:
    _ = voice.words._
    title = _("{called}, {day}").format(called=meet.called, day=voice.show.day(meet.on))
    if meet.avoided or not meet.plans:
        lead = _("No attempts are planned: a lift of the competition is on the list to avoid.")
        return Section(section_id, title, lead, ())
    blocks: list[Block] = [
        _plans_grid(voice, meet, section_id),
        _results_details(voice, meet, section_id),
        _warm_up_grid(voice, meet, section_id),
    ]
    if meet.chances:
        blocks.insert(2, _chances_details(voice, meet, section_id))
    blocks.append(Bullets(_meet_notes(voice, meet), tone="caution"))
    return Section(section_id, title, _meet_lead(voice, meet), tuple(blocks))


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
            _("Both second attempts good"),
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
    sets: list[list[str]] = []
    for one in meet.warm_up:
        name = voice.lift(one.lift)
        columns.append(
            Column(
                _("{lift}, to {opener}").format(lift=name, opener=show.bar(one.opener_kg)),
                numeric=True,
            )
        )
        bar = _("empty bar ({load})").format(load=show.bar(one.bar_kg))
        sets.append([bar, *(_reps(voice, step.load_kg, step.reps) for step in one.sets)])
    length = max(map(len, sets), default=0)
    padded = [[""] * (length - len(column)) + column for column in sets]
    rows = tuple(
        GridRow((Cell(show.number(i)), *(Cell(column[i - 1]) for column in padded)))
        for i in range(1, length + 1)
    )
    caption = _("For the warm-up room (common practice, whole kilos)")
    return Grid(f"{section_id}-warm-up", caption, tuple(columns), rows)


def _reps(voice: Voice, load_kg: float, reps: int) -> str:
    return voice.words._("{load} × {reps}").format(load=voice.show.bar(load_kg), reps=reps)


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
