"""`avoid` is a promise: no page of coach or lifter proposes such a lift, or one much like it.

Reports are made for lifters with every kind of weakness, a meet ahead and every kind of
question, who avoid each lift there is, and each two of those that are avoided most; then every
text that could propose something is searched for the names of what must not be proposed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from datetime import timedelta
from functools import cache
from itertools import combinations, cycle
from math import exp
from typing import Any, get_args

import pytest

from profilegen.engine.assess import assess
from profilegen.engine.avoided import avoided_lifts
from profilegen.engine.inference import fit
from profilegen.engine.posterior import Posterior
from profilegen.engine.profile import Profile
from profilegen.history.records import (
    Athlete,
    Avoid,
    Club,
    OwnLift,
    PlannedMeet,
    Question,
    Session,
)
from profilegen.norms.catalogue import QUALITIES, Quality, load_norms, with_own_lifts
from profilegen.report.compose import report_page
from profilegen.report.links import Reading
from profilegen.report.page import Grid, QualityCard, ReportPage, Section
from profilegen.report.sections_squad_tests import squad_tests_section
from profilegen.report.summary import summarise
from profilegen.report.words import voice_for
from tests.engine.handmade import TODAY, ago, maximal

CLUB = Club(
    name="Careful Barbell Club",
    own_lifts=(
        OwnLift("pin_front_squat", "Pin front squat", "front_squat", 0.92),
        OwnLift("muscle_snatch", "Muscle snatch", "power_snatch", 0.78),
    ),
)
NORMS = with_own_lifts(load_norms(), CLUB.own_lifts)
COMMON = (
    "snatch", "hang_snatch", "overhead_squat", "power_clean", "clean", "jerk", "jerk_from_rack",
    "push_press", "press", "front_squat", "back_squat", "clean_deadlift",
)  # fmt: skip
"""What knees, backs, shoulders and wrists put on the list."""
LOOK_AT = "What to look at in training"
TELLS_WHAT_IS = {
    "why", "kilos", "lifts", "ratios", "pointers", "company", "marks", "time", "others", "change",
    "what-if", "evidence", "scaled", "notes", "diagnostics",
}  # fmt: skip
"""Sections that say what was lifted and what it is worth, and ask for nothing but in a card's
"look at": any other section, one yet to be written among them, must not name the lift at all."""
NOT_PROPOSED = ("To be avoided, so not proposed:", "Not proposed either, because they are")


Weakness = tuple[Quality, float]
"""A quality, and how many standard deviations it is low."""
CLEARLY: tuple[Weakness, ...] = tuple((quality, 3.0) for quality in QUALITIES)
MILDLY: Weakness = ("overhead", 1.2)
"""Not enough to settle the answer, so that tests are proposed."""


@cache
def history(weakness: Weakness, junior: bool) -> tuple[Posterior, Athlete]:
    """A lifter with this weakness in every test, a meet ahead, and questions."""
    limiter, low = weakness
    tested = (
        "snatch", "power_snatch", "clean", "power_clean", "jerk", "push_press", "front_squat",
        "back_squat", "snatch_deadlift", "clean_deadlift", "snatch_pull", "clean_pull",
        "hang_clean", "overhead_squat",
    )  # fmt: skip
    sets = []
    for lift in tested:
        known = NORMS.lifts[lift]
        loading = known.loadings[limiter].value if limiter in known.loadings else 0.0
        sets.append(maximal(lift, 100 * known.share.value * exp(-low * loading)))
    athlete = Athlete(
        id="ann",
        name="Ann Example",
        sex="M",
        born=TODAY.replace(year=TODAY.year - (16 if junior else 28)),
        meets=(PlannedMeet(TODAY + timedelta(days=40), "Cup", target_total_kg=185.0),),
        sessions=(Session(ago(10), "testing", 80.0, tuple(sets)),),
        questions=(
            Question("why", "power_clean"),
            Question("holds", "clean_and_jerk"),
            Question("claim", quality="overhead", direction="low"),
            Question("claim", quality="legs", direction="high"),
        ),
    )
    return fit(athlete, NORMS, TODAY), athlete


def report_of(
    avoided: tuple[str, ...], weakness: Weakness, *, junior: bool = False
) -> tuple[Profile, Athlete]:
    """The profile of a lifter who avoids these: the same evidence, so the same fit."""
    posterior, athlete = history(weakness, junior)
    careful = replace(athlete, avoid=tuple(map(Avoid, avoided)))
    return assess(posterior, careful, CLUB), careful


def pages_of(
    avoided: tuple[str, ...], weakness: Weakness, *, junior: bool = False
) -> Iterator[tuple[ReportPage, frozenset[str]]]:
    """Every reading of the report, and what none of them may propose."""
    profile, athlete = report_of(avoided, weakness, junior=junior)
    if weakness in CLEARLY:
        assert profile.verdict.limiter == weakness[0]
        assert profile.verdict.confidence != "open"
    for reading in get_args(Reading):
        page = report_page(profile, athlete, CLUB, NORMS, reading=reading)
        yield page, avoided_lifts(athlete, CLUB, NORMS.alike)


def texts(value: Any) -> Iterator[str]:
    """Every text in a value, in order; ids and the numbers of sliders are texts, too."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple | list):
        for one in value:
            yield from texts(one)
    elif isinstance(value, Mapping):
        yield from texts([*value.values()])
    elif is_dataclass(value):
        for field in fields(value):
            yield from texts(getattr(value, field.name))


def cards(value: Any) -> Iterator[QualityCard]:
    """Every explained quality in a value."""
    if isinstance(value, QualityCard):
        yield value
    elif isinstance(value, tuple):
        for one in value:
            yield from cards(one)
    elif is_dataclass(value):
        for field in fields(value):
            yield from cards(getattr(value, field.name))


def proposals(page: ReportPage) -> Iterator[str]:
    """Every text that proposes something, or might."""
    yield page.caution
    yield from texts(page.answer)
    for card in cards(page.sections):
        yield from (fact.text for fact in card.facts if fact.name == LOOK_AT)
    for section in page.sections:
        yield from _proposals_in(section)


def _proposals_in(section: Section) -> Iterator[str]:
    if section.id.startswith("question-"):
        # the coach asked about these lifts; only what would turn an answer asks for a result
        yield from (text for text in texts(section) if "turned out to be worth" in text)
    elif section.id == "assumptions":
        yield from (text for text in texts(section) if "second try" in text)
    elif section.id not in TELLS_WHAT_IS:
        for text in texts(section):
            if not text.startswith(NOT_PROPOSED) and text != "Tires, in snatches":
                yield text


@cache
def names() -> tuple[re.Pattern[str], dict[str, str]]:
    """Finds every lift by its name, in any number, the longest name first."""
    voice = voice_for(CLUB, NORMS)
    known = {voice.lift(lift).lower(): lift for lift in (*NORMS.lifts, "clean_and_jerk")}
    known |= {"deadlift": "clean_deadlift"}
    # "pulls" are lifts, "the pull" is a part of every lift
    parts = ["(?P<clean_pull_pulls>pulls(?! away))"]
    for name in sorted(known, key=len, reverse=True):
        words = [f"{re.escape(word)}(?:e?s)?" for word in name.split(" ")]
        parts.append(f"(?P<{known[name]}_{len(parts)}>{' '.join(words)})")
    found = re.compile(rf"(?<![\w-])(?:{'|'.join(parts)})(?![\w-])", re.IGNORECASE)
    return found, {group: group.rpartition("_")[0] for group in found.groupindex}


def named(text: str) -> set[str]:
    """The lifts that a text names; the two qualities that are called after a lift are none.

    >>> sorted(named("Jerks from the rack, push presses and the footwork of the jerk."))
    ['jerk', 'jerk_from_rack', 'push_press']
    """
    pattern, lifts = names()
    plain = text.replace("\xa0", " ").replace("_", " ")
    plain = re.sub(r"getting under the (snatch|clean)", "", plain, flags=re.IGNORECASE)
    return {lifts[one.lastgroup or ""] for one in pattern.finditer(plain)}


def assert_nothing_proposed(
    avoided: tuple[str, ...], weakness: Weakness, *, junior: bool = False
) -> None:
    for page, gone in pages_of(avoided, weakness, junior=junior):
        for text in proposals(page):
            assert not named(text) & gone, (avoided, weakness, text)


@pytest.mark.parametrize("weakness", [*CLEARLY, MILDLY])
def test_the_search_finds_lifts_that_may_be_proposed(weakness: Weakness) -> None:
    """Without a list the same texts name lifts: otherwise the tests below could not fail."""
    for page, gone in pages_of((), weakness):
        assert gone == frozenset()
        assert [text for text in proposals(page) if named(text)]
    page, _ = next(pages_of((), weakness))
    assert len({lift for text in proposals(page) for lift in named(text)}) >= 6
    sections = {one.id for one in page.sections if any(map(named, _proposals_in(one)))}
    assert {"meet", "tests" if weakness == MILDLY else "emphasis"} <= sections


@pytest.mark.parametrize("lift", NORMS.lifts)
def test_no_page_proposes_a_lift_to_avoid(lift: str) -> None:
    for weakness in (*CLEARLY, MILDLY):
        assert_nothing_proposed((lift,), weakness)


@pytest.mark.parametrize("lift", COMMON)
def test_no_juniors_page_proposes_a_lift_to_avoid(lift: str) -> None:
    for weakness in (CLEARLY[0], CLEARLY[1], MILDLY):
        assert_nothing_proposed((lift,), weakness, junior=True)


@pytest.mark.parametrize("first", COMMON[:-1])
def test_no_page_proposes_one_of_two_lifts_to_avoid(first: str) -> None:
    pairs = [pair for pair in combinations(COMMON, 2) if pair[0] == first]
    for pair, weakness in zip(pairs, cycle((*CLEARLY, MILDLY)), strict=False):
        assert_nothing_proposed(pair, weakness)


@pytest.mark.parametrize("weakness", CLEARLY)
def test_who_avoids_every_lift_reads_what_is_known_and_no_proposal(weakness: Weakness) -> None:
    everything = tuple(NORMS.lifts)
    assert_nothing_proposed(everything, weakness)
    page, _ = next(pages_of(everything, weakness))
    sections = {one.id: one for one in page.sections}
    for name in ("tests", "meet", "emphasis"):
        assert "the list to avoid" in sections[name].lead
    said = " ".join(texts(page.sections))
    assert "invitation to test" not in said
    assert all("list to avoid" in card.facts[-1].text for card in cards(page.sections))


@pytest.mark.parametrize("lift", NORMS.lifts)
def test_what_is_left_to_look_at_still_reads_as_a_sentence(lift: str) -> None:
    for page, _gone in pages_of((lift,), MILDLY):
        found = list(cards(page.sections))
        assert len(found) == len(QUALITIES)
        for card in found:
            text = card.facts[-1].text
            assert card.facts[-1].name == LOOK_AT
            assert text[0].isupper()
            assert text.endswith(".")
            assert not re.search(r", and |  |\. [a-z]|, \.|^And|\.\.", text), text


def test_a_public_copy_names_nothing_to_train() -> None:
    """It does not know what the lifter avoids, and to leave lifts out would tell it."""
    profile, athlete = report_of((), CLEARLY[-1])
    readings: tuple[Reading, ...] = ("lifter", "club")
    for reading in readings:
        page = report_page(profile, athlete, CLUB, NORMS, reading=reading, private=False)
        assert list(cards(page.sections))
        assert all(fact.name != LOOK_AT for card in cards(page.sections) for fact in card.facts)
        assert "emphasis" not in {one.id for one in page.sections}


@pytest.mark.parametrize("lift", COMMON)
def test_the_squads_tests_leave_out_whoever_avoids_the_lift(lift: str) -> None:
    """Two who may test everything choose the lifts; the third has none of what is not for them."""
    summaries = []
    avoids: tuple[tuple[str, ...], ...] = ((), (), (lift,))
    for name, avoided in zip(("Ann", "Bea", "Cleo"), avoids, strict=True):
        profile, athlete = report_of(avoided, MILDLY)
        summaries.append(replace(summarise(profile, athlete, CLUB), id=name, name=name))
    section = squad_tests_section(voice_for(CLUB, NORMS), summaries, CLUB, NORMS)
    assert section is not None
    grid = section.blocks[0]
    assert isinstance(grid, Grid)
    gone = avoided_lifts(
        replace(history(MILDLY, False)[1], avoid=(Avoid(lift),)), CLUB, NORMS.alike
    )
    for column, cell in zip(grid.columns[1:], grid.rows[2].cells[1:], strict=True):
        assert (cell.text == "not this one") == bool(named(column.name) & gone)
