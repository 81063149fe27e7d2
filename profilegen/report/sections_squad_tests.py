"""The squad's table of tests for the coming testing week: one to print."""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum

from profilegen.engine.avoided import parents_of
from profilegen.engine.next_test import best_set, together_bits
from profilegen.engine.profile import NextTests
from profilegen.history.records import Club
from profilegen.norms.catalogue import Norms
from profilegen.report.links import href
from profilegen.report.page import Bullets, Cell, Column, Grid, GridRow, Section
from profilegen.report.sections_tests import how_tested, telling, tells_little
from profilegen.report.summary import Summary
from profilegen.report.words import Voice


def squad_tests_section(
    voice: Voice, lifters: Sequence[Summary], club: Club, norms: Norms
) -> Section | None:
    """The three lifts whose tests tell most about the squad, and what each lifter does."""
    _ = voice.words._
    known = [(one, one.tests) for one in lifters if one.tests is not None]
    free = [tests for one, tests in known if tests.meet_near is None and one.level_known]
    chosen = best_set(free, norms, parents=parents_of(club))
    told = fsum(together_bits(tests, chosen) for tests in free)
    if not chosen or tells_little(told, fsum(tests.entropy_bits for tests in free)):
        return None
    columns = (Column(_("Lifter"), sortable=True), *(Column(voice.lift(lift)) for lift in chosen))
    rows = tuple(
        GridRow(
            (
                Cell(one.name, href(one.href), sort=one.name.casefold()),
                *(_cell(voice, one, tests, lift) for lift in chosen),
            ),
            one.group or "",
        )
        for one, tests in known
    )
    lead = _(
        "{lifts}: together they should tell most about what holds this squad’s lifters back, for "
        "what they cost."
    ).format(
        lifts=voice.show.capital(voice.show.listed([voice.lift_within(lift) for lift in chosen]))
    )
    notes = Bullets(
        (
            _(
                "Each cell says what to expect, how to test it, and how much it would tell. A dash "
                "means that it would tell next to nothing about this lifter."
            ),
            _(
                "Nobody tests a lift that is to be avoided or much like one that is, or close to a "
                "meet; under 18 nobody tests a maximum. Stop where it hurts."
            ),
        )
    )
    grid = Grid("squad-tests", _("Tests for the coming testing week"), columns, rows)
    return Section("tests", _("What to test next"), lead, (grid, notes))


def _cell(voice: Voice, one: Summary, tests: NextTests, lift: str) -> Cell:
    _ = voice.words._
    if tests.meet_near is not None:
        day = voice.show.short_day(tests.meet_near)
        return Cell(_("not now"), more=_("meet on {day}").format(day=day))
    if lift in tests.avoided:
        return Cell(_("not this one"), more=_("to be avoided, or much alike"))
    if not one.level_known:
        return Cell(_("not yet"), more=_("too little is known"))
    found = next((test for test in tests.values if test.lift == lift), None)
    if found is None or tells_little(found.bits, tests.entropy_bits):
        return Cell("–")
    how = how_tested(voice, found.reps, found.in_reserve)
    tells = telling(voice.words, found.bits, tests.entropy_bits)
    return Cell(
        _("about {load}").format(load=voice.show.load(found.expected_kg)),
        more=_("{how}; tells {amount}").format(how=how, amount=tells),
    )
