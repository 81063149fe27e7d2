"""What a page says about tests and meets to come: plain, careful, never what must not be."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta

import pytest

from profilegen.engine.attempts import HISTORIES
from profilegen.engine.profile import (
    LiftAttempts,
    LoadChance,
    MeetDay,
    MeetPlan,
    NextTest,
    NextTests,
    Profile,
    TwoTests,
    WarmUp,
    WarmUpLoad,
)
from profilegen.report.contract_plan import plans_of
from profilegen.report.page import Bullets, Details, Grid, Section
from profilegen.report.sections_meets import meet_sections
from profilegen.report.sections_squad_tests import squad_tests_section
from profilegen.report.sections_tests import next_tests_section, telling
from profilegen.report.summary import MOST_TESTS, Summary, summarise
from profilegen.report.words import Voice, voice_for
from tests.samples import ATHLETE, CLUB, NORMS, TODAY, junior_profile, profile, verdict

COACH = voice_for(CLUB, NORMS, "Mara")
TESTS = NextTests(
    entropy_bits=1.42,
    meet_near=None,
    values=(
        NextTest("front_squat", 0.21, 1.6, 1, 0, 131.2, False),
        NextTest("power_snatch", 0.08, 0.8, 1, 0, 72.4, True),
        NextTest("jerk", 0.03, 1.0, 1, 0, 106.0, False),
        NextTest("snatch_deadlift", 0.001, 1.9, 1, 0, 140.0, False),
    ),
    pairs=(TwoTests("front_squat", "power_snatch", 0.27),),
    best=("front_squat", "power_snatch", "jerk"),
    avoided=("back_squat", "paused_back_squat"),
    best_bits=0.29,
)


def tree(lift: str, first: int, after: int | None = None, case: float = 1.0) -> LiftAttempts:
    loads = (first, first + 4, first, first + 7, first + 4, None, first + 1)
    chances = (0.84, 0.62, 0.83, 0.4, 0.38, None, 0.8)
    return LiftAttempts(lift, after, case, loads, chances)  # type: ignore[arg-type]


def plan(aim: str, first: int, target: float | None = 0.31) -> MeetPlan:
    return MeetPlan(
        aim=aim,  # type: ignore[arg-type]
        snatch=tree("snatch", first),
        clean_and_jerk=(
            tree("clean_and_jerk", first + 20, first + 4, 0.5),
            tree("clean_and_jerk", first + 19, first, 0.3),
        ),
        expected_total_kg=2.0 * first + 27.3,
        low_kg=2.0 * first + 18,
        high_kg=2.0 * first + 35,
        chance_of_total=0.97,
        planned_total_kg=2.0 * first + 28,
        chance_of_planned=0.55,
        chance_of_target=target,
    )


MEET = MeetDay(
    on=TODAY + timedelta(days=21),
    called="Winter Open",
    target_total_kg=190.0,
    junior=False,
    avoided=False,
    chances=(
        *(LoadChance("snatch", kg, 0.85 - 0.08 * (kg - 78)) for kg in range(78, 88)),
        *(LoadChance("clean_and_jerk", kg, 0.9 - 0.08 * (kg - 98)) for kg in range(98, 109)),
    ),
    plans=(plan("expected", 79), plan("target", 82), plan("safe", 78)),
    warm_up=(
        WarmUp("snatch", 79, 15.0, (WarmUpLoad(31.6, 3), WarmUpLoad(74.26, 1))),
        WarmUp("clean_and_jerk", 99, 15.0, (WarmUpLoad(39.6, 3), WarmUpLoad(93.06, 1))),
    ),
    opener_rule_kg=20.0,
    lightest_bar_kg=20,
)
AHEAD = profile(next_tests=TESTS, meets=(MEET,), verdict=verdict(chance=0.5))


def plain(text: str) -> str:
    return text.replace("\xa0", " ")


def everything(section: Section) -> str:
    """All that a section says."""

    def texts(block: object) -> list[str]:
        if isinstance(block, Bullets):
            return list(block.items)
        if isinstance(block, Details):
            return [block.summary, *(text for one in block.blocks for text in texts(one))]
        if isinstance(block, Grid):
            cells = [cell for row in block.rows for cell in row.cells]
            heads = [column.name for column in block.columns]
            return [block.caption, *heads, *(f"{cell.text} {cell.more}" for cell in cells)]
        return []

    said = [section.title, section.lead, *(text for one in section.blocks for text in texts(one))]
    return plain(" ".join(said))


def about_tests(made: Profile, voice: Voice = COACH) -> Section:
    section = next_tests_section(voice, made)
    assert section is not None
    return section


def grid(section: Section, name: str) -> Grid:
    (found,) = (b for b in section.blocks if isinstance(b, Grid) and b.id == name)
    return found


# What to test next


def test_an_open_answer_gets_the_three_tests_that_tell_most():
    section = about_tests(AHEAD)
    assert "front squat, power snatch and jerk" in section.lead
    first = grid(section, "tests-table").rows[0].cells
    assert [plain(cell.text) for cell in first] == [
        "Front squat", "a good deal", "a single to the limit", "131 kg", "1.6 ×",
    ]  # fmt: skip
    assert plain(first[1].more) == "0.21 of 1.42 bits"


def test_a_clear_answer_needs_no_test():
    section = about_tests(replace(AHEAD, verdict=verdict(chance=0.93)))
    assert "no test is needed" in section.lead
    assert "one of the three" not in everything(section)


def test_lifts_to_avoid_are_named_as_not_proposed():
    lifts = dict(AHEAD.lifts)
    lifts["front_squat"] = replace(lifts["front_squat"], avoided=True)
    gone = ("front_squat", "paused_front_squat", "pin_front_squat")
    said = everything(about_tests(replace(AHEAD, lifts=lifts, not_proposed=gone)))
    assert "To be avoided, so not proposed: front squat." in said
    assert "Not proposed either, because they are much alike: pin front squat." in said


def test_a_lift_nobody_wrote_down_is_learned_first():
    assert "Not in the books yet: power snatch. Learn a lift first" in everything(
        about_tests(AHEAD)
    )


def test_before_a_meet_the_page_says_why_nothing_is_tested():
    near = replace(TESTS, meet_near=date(2026, 12, 1), values=(), pairs=(), best=())
    section = about_tests(replace(AHEAD, next_tests=near))
    assert "the next meet is on 1 December 2026" in plain(section.lead)
    assert section.blocks == ()


def test_juniors_read_of_good_reps_and_never_of_a_limit():
    values = tuple(replace(one, reps=3, in_reserve=2) for one in TESTS.values)
    made = replace(junior_profile(), next_tests=replace(TESTS, values=values))
    said = everything(about_tests(made, voice_for(CLUB, NORMS, "Mara", junior=True)))
    assert "3 good reps, 2 left" in said
    assert "Under 18 nobody tests a maximum" in said
    assert "limit" not in said.replace("limits", "")
    assert "maximal" not in said


def test_a_profile_without_tests_has_no_section():
    assert next_tests_section(COACH, profile()) is None


@pytest.mark.parametrize(
    ("bits", "open_bits", "said"),
    [
        (0.31, 1.5, "a lot"),
        (0.16, 1.5, "a good deal"),
        (0.05, 1.5, "a little"),
        (0.04, 1.63, "hardly anything"),
        (0.05, 0.2, "a lot"),
        (0.0, 0.0, "hardly anything"),
        (0.004, 0.1, "hardly anything"),
    ],
)
def test_how_much_a_test_tells_goes_by_what_is_still_open(bits: float, open_bits: float, said: str):
    """0.05 bits of 1.63 are three in a hundred of the question: nobody calls that a good deal."""
    assert telling(COACH.words, bits, open_bits) == said


def test_less_than_a_hundredth_of_a_bit_is_not_written_as_nought():
    cells = [row.cells[1].more for row in grid(about_tests(AHEAD), "tests-table").rows]
    assert [plain(more) for more in cells] == [
        "0.21 of 1.42 bits", "0.08 of 1.42 bits", "0.03 of 1.42 bits", "under 0.01 of 1.42 bits",
    ]  # fmt: skip


def test_tests_that_tell_nothing_are_not_said_to_tell_most():
    idle = tuple(replace(one, bits=0.001) for one in TESTS.values)
    section = about_tests(replace(AHEAD, next_tests=replace(TESTS, values=idle, best_bits=0.004)))
    assert section.lead == "No test would tell much about what holds Mara back."
    assert "Together" not in everything(section)


def test_where_one_lift_may_be_tested_nothing_is_said_of_three():
    alone = replace(TESTS, values=TESTS.values[:1], pairs=(), best=("front_squat",), best_bits=0.21)
    section = about_tests(replace(AHEAD, next_tests=alone))
    assert section.lead.startswith("For the coming testing week: front squat. Of what may be")
    assert "one of the three" not in everything(section)


def test_who_avoids_every_lift_is_told_why_there_is_no_test():
    none = replace(TESTS, values=(), pairs=(), best=(), best_bits=0.0)
    section = about_tests(replace(AHEAD, next_tests=none))
    assert "Every lift is on the list to avoid" in section.lead
    assert section.blocks == ()


def test_an_answer_that_stands_leaves_no_table_of_noughts():
    settled = replace(TESTS, entropy_bits=0.0)
    section = about_tests(replace(AHEAD, next_tests=settled, verdict=verdict(chance=1.0)))
    assert "no test is needed" in section.lead
    assert section.blocks == ()


def test_no_maximum_is_asked_of_a_lifter_whose_strength_is_hardly_known():
    """Sets with the empty bar leave a total between 124 and 320 kg: nothing to load a bar by."""
    early = verdict("even", 0.61, "open", known="little")
    lifts = dict(AHEAD.lifts)
    lifts["total"] = replace(lifts["total"], estimate_kg=199.5, low_kg=124.0, high_kg=320.0)
    section = about_tests(replace(AHEAD, verdict=early, lifts=lifts))
    assert section.lead.startswith("It is hardly known yet how strong Mara is, so no maximum is")
    assert "good reps, with the number left counted" in section.lead
    assert "limit" not in everything(section)
    narrow = about_tests(replace(AHEAD, verdict=early))
    assert grid(narrow, "tests-table")


@pytest.mark.parametrize(
    ("gone", "starts"),
    [
        ((), "snatch, clean and jerk and front squat"),
        (("jerk", "clean_and_jerk"), "snatch, clean and front squat"),
        (("snatch", "power_snatch", "front_squat"), "clean and jerk and back squat"),
    ],
)
def test_of_somebody_nobody_knows_no_test_stands_out(gone: tuple[str, ...], starts: str):
    """What to begin with instead: different lifts, good reps, none that is to be avoided."""
    unknown = verdict("even", 0.61, "open", known="nothing")
    section = about_tests(replace(AHEAD, verdict=unknown, not_proposed=gone))
    assert section.lead == (
        "Nothing is written down yet, so no test stands out. A start would be "
        f"{starts}: good reps, with the number left counted."
    )
    assert "limit" not in everything(section)
    assert not any(isinstance(block, Grid) for block in section.blocks)


# The next meet


def meet_of(made: Profile = AHEAD, voice: Voice = COACH) -> Section:
    (section,) = meet_sections(voice, made)
    return section


def test_three_plans_stand_side_by_side():
    plans = grid(meet_of(), "meet-plans")
    assert [column.name for column in plans.columns[1:]] == [
        "Highest total on average", "Reach the target", "Be sure of a total",
    ]  # fmt: skip
    opener = plans.rows[0].cells
    assert [plain(cell.text) for cell in opener] == ["Snatch: 1st", "79 kg", "82 kg", "78 kg"]
    assert plain(opener[1].more) == "8 in 10"
    assert len(plans.rows) == 2 * len(HISTORIES) + 1 + 4


def test_the_chance_of_a_total_is_not_told_as_the_chance_of_two_good_attempts():
    """A total of at least the two second attempts comes about in other ways, too."""
    names = [row.cells[0].text for row in grid(meet_of(), "meet-plans").rows]
    assert "At least the two second attempts together" in names
    assert not any("attempts good" in name for name in names)


def test_an_attempt_not_taken_is_a_dash():
    row = grid(meet_of(), "meet-plans").rows[HISTORIES.index("-+")]
    assert [cell.text for cell in row.cells[1:]] == ["–", "–", "–"]


def test_the_plan_for_every_snatch_result_is_one_click_away():
    details = [b for b in meet_of().blocks if isinstance(b, Details)]
    assert any("every snatch result" in one.summary for one in details)
    first = next(one for one in details if "every" in one.summary).blocks[0]
    assert isinstance(first, Grid)
    assert [plain(row.cells[0].text) for row in first.rows] == ["79 kg", "83 kg"]


def test_the_chance_table_names_the_heaviest_load_for_each_chance():
    details = next(b for b in meet_of().blocks if isinstance(b, Details) and "chance" in b.summary)
    table = details.blocks[0]
    assert isinstance(table, Grid)
    eight, seven = table.rows[0].cells, table.rows[1].cells
    assert [plain(cell.text) for cell in eight] == ["8 chances in 10", "78 kg", "99 kg"]
    assert [plain(cell.text) for cell in seven] == ["7 chances in 10", "79 kg", "100 kg"]


def test_the_warm_up_table_ends_with_the_last_set_of_both_lifts():
    table = grid(meet_of(), "meet-warm-up")
    assert "common practice" in table.caption
    assert [cell.text for cell in table.rows[0].cells] == ["1", "empty bar", "empty bar"]
    assert [plain(cell.more) for cell in table.rows[0].cells] == ["", "15 kg", "15 kg"]
    assert [plain(cell.text) for cell in table.rows[-1].cells] == ["3", "74 kg × 1", "93 kg × 1"]


def test_the_rules_and_the_risk_stand_beside_the_plans():
    said = everything(meet_of())
    assert "at most 20 kg under the entry total" in said
    assert "no more than 198 kg, 204 kg and 196 kg" in said  # openers 79+99, 82+102, 78+98, and 20
    assert "The bar never comes down" in said
    assert "Going for the target means risking the total" in said
    assert "see a licensed professional" in said


def test_the_platform_counts_in_kilos_whatever_the_club_does():
    pounds = voice_for(replace(CLUB, units="lb"), NORMS, "Mara")
    assert " lb" not in everything(meet_of(voice=pounds))


def test_nobody_plans_attempts_for_somebody_nobody_knows():
    meet = replace(MEET, plans=(), chances=(), warm_up=())
    section = meet_of(replace(AHEAD, meets=(meet,)))
    assert "nothing is written down yet to plan them from" in section.lead
    assert section.blocks == ()


def test_a_lift_to_avoid_means_no_plan():
    meet = replace(MEET, avoided=True, plans=(), chances=(), warm_up=())
    section = meet_of(replace(AHEAD, meets=(meet,)))
    assert "No attempts are planned" in section.lead
    assert section.blocks == ()


def test_a_platform_bar_too_heavy_is_said_in_plain_words():
    none = replace(MEET, plans=(), chances=(), warm_up=(), junior=True, lightest_bar_kg=25)
    meet = replace(none, too_light=("snatch", "clean_and_jerk"))
    section = meet_of(replace(AHEAD, meets=(meet,)))
    assert plain(section.lead) == (
        "No attempts are planned: snatch and clean and jerk are still too light for the platform "
        "bar. With collars it weighs 25 kg, too much for that day. Good reps with a lighter bar "
        "come first."
    )
    assert section.blocks == ()
    only = meet_of(replace(AHEAD, meets=(replace(none, too_light=("snatch",)),)))
    assert "snatch is still too light for the platform bar" in only.lead
    assert "avoid" not in only.lead


def test_juniors_read_of_six_good_lifts_and_of_no_chances_to_gamble_with():
    meet = replace(
        MEET,
        junior=True,
        target_total_kg=None,
        plans=(plan("safe", 70, None),),
        chances=(),
    )
    made = replace(junior_profile(), meets=(meet,))
    section = meet_of(made, voice_for(CLUB, NORMS, "Mara", junior=True))
    said = everything(section)
    assert "six good lifts count more than the total" in said
    assert "Six good lifts" in said
    assert "target" not in said.lower()
    assert "The chance of each load" not in said


def test_several_meets_have_sections_of_their_own():
    ids = [one.id for one in meet_sections(COACH, replace(AHEAD, meets=(MEET, MEET)))]
    assert ids == ["meet", "meet-2"]


def test_no_number_on_the_platform_has_a_fraction():
    said = everything(meet_of())
    assert not re.search(r"\d\.\d", said)


# The squad's table


def summary_of(name: str, tests: NextTests | None) -> Summary:
    made = summarise(profile(next_tests=tests), ATHLETE, CLUB)
    return replace(made, id=name, name=name)


def test_the_squad_gets_one_table_of_three_tests():
    near = replace(TESTS, meet_near=date(2026, 12, 1), values=(), pairs=(), best=())
    shunning = replace(TESTS, values=TESTS.values[1:], avoided=("front_squat",))
    nobody = replace(summary_of("Dora", TESTS), known="nothing")
    section = squad_tests_section(
        COACH,
        [summary_of("Ann", TESTS), summary_of("Bea", shunning), summary_of("Cleo", near), nobody],
        CLUB,
        NORMS,
    )
    assert section is not None
    table = grid(section, "squad-tests")
    names = [column.name for column in table.columns]
    assert names == ["Lifter", "Front squat", "Power snatch", "Jerk"]
    cells = {row.cells[0].text: row.cells[1:] for row in table.rows}
    assert plain(cells["Ann"][0].text) == "about 131 kg"
    assert plain(cells["Ann"][0].more) == "a single to the limit; tells a good deal"
    assert cells["Ann"][2].text == "–", "0.03 of 1.42 bits are no reason for a maximal jerk"
    assert cells["Bea"][0].more == "to be avoided, or much alike"
    assert [cell.more for cell in cells["Dora"]] == ["too little is known"] * 3
    assert [cell.text for cell in cells["Cleo"]] == ["not now"] * 3


def test_a_squad_that_is_near_a_meet_has_no_table():
    near = replace(TESTS, meet_near=date(2026, 12, 1), values=(), pairs=(), best=())
    assert squad_tests_section(COACH, [summary_of("Ann", near)], CLUB, NORMS) is None
    assert squad_tests_section(COACH, [summary_of("Ann", None)], CLUB, NORMS) is None


def test_a_squad_to_whom_no_test_tells_anything_has_no_table():
    idle = replace(TESTS, values=tuple(replace(one, bits=0.001) for one in TESTS.values), pairs=())
    assert squad_tests_section(COACH, [summary_of("Ann", idle)], CLUB, NORMS) is None


def test_tests_come_back_from_a_kept_summary():
    kept = summary_of("Ann", TESTS)
    assert Summary.from_json(kept.to_json()) == kept
    near = summary_of("Ann", replace(TESTS, meet_near=date(2026, 12, 1)))
    assert Summary.from_json(near.to_json()) == near


def test_a_summary_keeps_the_telling_lifts_only():
    many = tuple(replace(TESTS.values[0], lift=f"lift {i}") for i in range(40))
    kept = summary_of("Ann", replace(TESTS, values=many)).tests
    assert kept is not None
    assert len(kept.values) == MOST_TESTS


# The numbers as data


def test_tests_and_meets_are_in_the_data():
    data = plans_of(AHEAD)
    assert data["next_tests"]["best"] == ["front_squat", "power_snatch", "jerk"]
    assert data["next_tests"]["best_bits"] == 0.29
    assert data["next_tests"]["tests"][0]["bits"] == 0.21
    (meet,) = data["meets"]
    assert meet["on"] == "2026-12-12"
    attempts = meet["plans"][0]["snatch"]["attempts"]
    assert attempts["++"] == {"kg": 86, "chance": 0.4}
    assert "-+" not in attempts
    assert [one["after_snatch_kg"] for one in meet["plans"][0]["clean_and_jerk"]] == [83, 79]


def test_the_data_say_which_lifts_are_too_light_for_the_bar():
    meet = replace(MEET, plans=(), chances=(), warm_up=(), too_light=("snatch",))
    (told,) = plans_of(replace(AHEAD, meets=(meet,)))["meets"]
    assert told["too_light"] == ["snatch"]
    assert (told["plans"], told["avoided"]) == ([], False)


def test_nothing_ahead_leaves_no_keys():
    assert plans_of(profile()) == {}
