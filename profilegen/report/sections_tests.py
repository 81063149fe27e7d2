"""What to test next: the section of the report, and how it words a test."""

from __future__ import annotations

from collections.abc import Sequence

from profilegen.engine.profile import (
    NextTest,
    NextTests,
    Profile,
)
from profilegen.report.language import Words
from profilegen.report.page import (
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
                Cell(how_tested(voice, one.reps, one.in_reserve)),
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


def how_tested(voice: Voice, reps: int, in_reserve: int) -> str:
    """How a lift would be tested."""
    if reps == 1 and in_reserve == 0:
        return voice.words._("a single to the limit")
    return voice.words.ngettext(
        "{reps} good reps, {number} left", "{reps} good reps, {number} left", in_reserve
    ).format(reps=voice.show.number(reps), number=voice.show.number(in_reserve))


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
