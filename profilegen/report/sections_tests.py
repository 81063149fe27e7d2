"""What to test next: the section of the report, and how it words a test."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from profilegen.engine.next_test import SET_SIZE
from profilegen.engine.profile import (
    CLEAN_AND_JERK,
    TOTAL,
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
from profilegen.report.summary import says_something
from profilegen.report.words import Voice

SHOWN_TESTS = 6
"""Lifts in the table besides the best three."""
SETTLED = 0.8
"""With a chance like this the answer is clear enough not to test for it."""
_A_LOT, _A_GOOD_DEAL, _A_LITTLE = 0.2, 0.1, 0.03
"""Shares of what is still open, from which on a test is said to tell so much."""
_LEAST = 0.01
"""Bits: less than this is hardly anything, whatever the share, and is not written as 0."""
_NOTHING_OPEN = 0.05
"""Bits: with no more than this open the answer stands, and no test has anything to tell."""
_STARTS: tuple[tuple[str, ...], ...] = (
    ("snatch", "power_snatch"),
    (CLEAN_AND_JERK, "clean", "jerk", "power_clean"),
    ("front_squat", "back_squat"),
)
"""Where to begin with a lifter nobody knows: of each kind the first that may be proposed."""


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
        lead = _(
            "Every lift is on the list to avoid, or much like one that is, so no test is proposed."
        )
        return Section("tests", title, lead, ())
    total = profile.lifts.get(TOTAL)
    if total is None or not says_something(profile.verdict.known, total):
        notes = Bullets((*_not_proposed(voice, profile), _stop(voice)))
        return Section("tests", title, _start_lead(voice, profile), (notes,))
    shown = _shown_tests(profile, tests)
    blocks: tuple[Grid | Bullets | Details, ...] = (
        _tests_grid(voice, profile, tests, shown),
        Bullets(_test_notes(voice, profile, shown)),
    )
    if _is_clear(profile):
        blocks = (Details(_("What a test would tell anyway"), blocks),)
        if tests.entropy_bits <= _NOTHING_OPEN:
            blocks = ()
    return Section("tests", title, _tests_lead(voice, profile, tests), blocks)


def _start_lead(voice: Voice, profile: Profile) -> str:
    """Where to begin when nothing tells one test from another, nor what to load."""
    _ = voice.words._
    if profile.verdict.known == "nothing":
        lead = _("Nothing is written down yet, so no test stands out.")
    else:
        lead = _("It is hardly known yet how strong {name} is, so no maximum is asked for.").format(
            name=voice.name
        )
    starts = start_lifts(profile.not_proposed)
    if starts:
        start = _("A start would be {lifts}: good reps, with the number left counted.")
        names = voice.show.listed([voice.lift_within(lift) for lift in starts])
        lead += " " + start.format(lifts=names)
    return lead


def start_lifts(not_proposed: Collection[str]) -> tuple[str, ...]:
    """Lifts to begin with, as far as they may be proposed."""
    left = ([lift for lift in kind if lift not in not_proposed] for kind in _STARTS)
    return tuple(kind[0] for kind in left if kind)


def _is_clear(profile: Profile) -> bool:
    return profile.verdict.known == "enough" and profile.verdict.chance > SETTLED


def _shown_tests(profile: Profile, tests: NextTests) -> tuple[NextTest, ...]:
    """The most telling lifts, and the best three wherever they stand."""
    named = () if _is_clear(profile) else tests.best
    return tuple(one for i, one in enumerate(tests.values) if i < SHOWN_TESTS or one.lift in named)


def _tests_lead(voice: Voice, profile: Profile, tests: NextTests) -> str:
    _ = voice.words._
    if _is_clear(profile):
        lead = _("The answer is clear enough; no test is needed for its sake.")
    elif not tests.best:
        lead = _("These lifts would tell most about what holds {name} back.").format(
            name=voice.name
        )
    elif tells_little(tests.best_bits, tests.entropy_bits):
        lead = _("No test would tell much about what holds {name} back.").format(name=voice.name)
    elif len(tests.best) > 1:
        lead = _(
            "For the coming testing week: {lifts}. Together they should tell most about what holds "
            "{name} back, for what they cost."
        ).format(
            lifts=voice.show.listed([voice.lift_within(lift) for lift in tests.best]),
            name=voice.name,
        )
    else:
        lead = _(
            "For the coming testing week: {lift}. Of what may be tested it should tell most about "
            "what holds {name} back."
        ).format(lift=voice.lift_within(tests.best[0]), name=voice.name)
    if voice.junior:
        lead += " " + _("Under 18 nobody tests a maximum: good reps with some left are enough.")
    return lead


def _tests_grid(
    voice: Voice, profile: Profile, tests: NextTests, shown: Sequence[NextTest]
) -> Grid:
    _ = voice.words._
    show = voice.show
    named = () if _is_clear(profile) or len(tests.best) < SET_SIZE else tests.best
    rows = tuple(
        GridRow(
            (
                Cell(
                    voice.lift(one.lift),
                    more=_("one of the three") if one.lift in named else "",
                ),
                Cell(
                    telling(voice.words, one.bits, tests.entropy_bits),
                    more=_of_bits(voice, one.bits, tests.entropy_bits),
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


def _of_bits(voice: Voice, bits: float, open_bits: float) -> str:
    """Bits of those still open."""
    _, show = voice.words._, voice.show
    pattern = _("{bits} of {all} bits") if bits >= _LEAST else _("under {bits} of {all} bits")
    return pattern.format(bits=show.bits(max(bits, _LEAST)), all=show.bits(open_bits))


def telling(words: Words, bits: float, open_bits: float) -> str:
    """How much of what is still open a test would settle, in words."""
    share = _share(bits, open_bits)
    if share >= _A_LOT:
        return words._("a lot")
    if share >= _A_GOOD_DEAL:
        return words._("a good deal")
    if share >= _A_LITTLE:
        return words._("a little")
    return words._("hardly anything")


def tells_little(bits: float, open_bits: float) -> bool:
    """Whether tests would tell too little to be recommended for it."""
    return _share(bits, open_bits) < _A_LITTLE


def _share(bits: float, open_bits: float) -> float:
    """Bits as a share of those still open; where nothing is open there is nothing to tell."""
    return bits / open_bits if open_bits > _NOTHING_OPEN and bits >= _LEAST else 0.0


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
    return (*notes, *_not_proposed(voice, profile), _stop(voice))


def _not_proposed(voice: Voice, profile: Profile) -> tuple[str, ...]:
    """What is on the list to avoid, and what is left out with it."""
    _ = voice.words._
    listed = [one.lift for one in profile.lifts.values() if one.avoided]
    alike = [lift for lift in profile.lifts if lift in profile.not_proposed and lift not in listed]
    notes = []
    if listed:
        notes.append(
            _("To be avoided, so not proposed: {lifts}.").format(
                lifts=voice.show.listed([voice.lift_within(lift) for lift in listed])
            )
        )
    if alike:
        notes.append(
            _("Not proposed either, because they are much alike: {lifts}.").format(
                lifts=voice.show.listed([voice.lift_within(lift) for lift in alike])
            )
        )
    return tuple(notes)


def _stop(voice: Voice) -> str:
    return voice.words._(
        "Stop a test when positions go or something hurts; a missing number is no harm."
    )
