"""The answered questions, the company, the marks and the emphasis, as a reader meets them."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from itertools import product
from typing import Any, get_args

import pytest
from pydantic import TypeAdapter

from profilegen.engine.assess import profile_of
from profilegen.engine.profile import Profile
from profilegen.engine.replies import (
    ClaimReply,
    ClaimVerdict,
    Company,
    HeldBy,
    HoldsReply,
    MarkReading,
    Match,
    ParentReading,
    Part,
    Split,
    Standing,
    Turning,
    Where,
    WhyReply,
    Without,
)
from profilegen.history.load import load_squad
from profilegen.history.records import Athlete, Squad
from profilegen.norms.catalogue import QUALITIES, Norms, load_norms, with_own_lifts
from profilegen.report.chart import IntervalRows, Waterfall
from profilegen.report.compose import report_page
from profilegen.report.contract import profile_json
from profilegen.report.drawing.rows import waterfall_spans
from profilegen.report.page import Bullets, Details, Drawn, Grid, Prose, ReportPage, Section
from profilegen.report.sections_company import company_section, marks_section
from profilegen.report.sections_emphasis import emphasis_section
from profilegen.report.sections_why import question_sections
from profilegen.report.words import voice_for
from tests.samples import ATHLETE, CLUB, NORMS, junior_profile, profile, verdict
from tests.squads import DEMO, TODAY

MINE = re.compile(r"question-\d+|company|marks|emphasis")


@pytest.fixture(scope="module")
def demo() -> tuple[Squad, Norms, dict[str, Profile]]:
    """The demo squad with every lifter's profile."""
    squad = load_squad(DEMO, load_norms().lifts, today=TODAY)
    norms = with_own_lifts(load_norms(), squad.club.own_lifts)
    on = squad.latest_session_on or TODAY
    return squad, norms, {a.id: profile_of(a, norms, on, squad.club) for a in squad.athletes}


def blocks(section: Section) -> list[Any]:
    """Every block, also those one click away."""
    found: list[Any] = []
    for block in section.blocks:
        found += block.blocks if isinstance(block, Details) else (block,)
    return found


def said(section: Section) -> str:
    """All words of a section."""
    words = [section.title, section.lead]
    for block in blocks(section):
        match block:
            case Prose():
                words += block.paragraphs
            case Bullets():
                words += block.items
            case Grid():
                words += [f"{c.text} {c.more}" for row in block.rows for c in row.cells]
            case Drawn():
                words += [block.chart.title, block.chart.summary]
                steps = getattr(block.chart, "steps", None) or getattr(block.chart, "rows", ())
                words += [f"{one.label} {one.value_text}" for one in steps]
    return "\n".join(words).replace("\xa0", " ")


def mine(page: ReportPage) -> list[Section]:
    return [one for one in page.sections if MINE.fullmatch(one.id)]


def page_of(demo: Any, id: str) -> ReportPage:
    squad, norms, profiles = demo
    athlete: Athlete = next(one for one in squad.athletes if one.id == id)
    return report_page(profiles[id], athlete, squad.club, norms)


def test_every_demo_report_answers_a_question(demo: Any):
    squad, _, _ = demo
    for athlete in squad.athletes:
        asked = [one for one in page_of(demo, athlete.id).sections if "question" in one.id]
        assert asked, athlete.id
        assert len(asked) == len(athlete.questions)


def test_the_strongest_lifters_power_clean_can_be_retraced(demo: Any):
    """From the squat and the pull to the clean nobody was shown, and to the field."""
    page = page_of(demo, "marit")
    why = next(one for one in page.sections if one.id == "question-1")
    text = said(why)
    assert why.title == "Why is the power clean what it is?"
    assert re.search(r"It is 8\d% of the clean, which is what to expect", text)
    assert "The clean is what is far above the field." in text
    assert "The clean was never taken to its limit of late" in text
    for lift_name in ("back squat", "front squat", "clean pull"):
        assert re.search(rf"{lift_name} to 1\d\d(\.5)? kg \(", text), lift_name
    assert "6 of 7 rivals clean and jerk no more in competition than this power clean." in text
    assert "Under the snatch" not in text  # a power clean does not draw on it
    charts = [block.chart for block in blocks(why) if isinstance(block, Drawn)]
    assert all(isinstance(chart, Waterfall) for chart in charts)
    assert [chart.steps[0].label for chart in charts] == ["Usual", "Mean of the field"]


def test_the_words_hold_on_every_demo_page(demo: Any):
    """No leftovers of formatting, no plural of one, no minus nought, no sentence cut short."""
    squad, _, _ = demo
    for athlete in squad.athletes:
        for section in mine(page_of(demo, athlete.id)):
            text = said(section)
            assert not re.search(r"None|nan|\{|\}|\b1 kilos|[−-]0 |  \S|\.\.", text), text
            for block in blocks(section):
                if isinstance(block, Prose):
                    assert all(one.endswith((".", ":")) for one in block.paragraphs), text


def test_every_chart_lies_within_its_axis(demo: Any):
    squad, _, _ = demo
    for athlete in squad.athletes:
        for section in mine(page_of(demo, athlete.id)):
            for block in blocks(section):
                if isinstance(block, Drawn):
                    _check_axis(block.chart)


def _check_axis(chart: Any) -> None:
    if isinstance(chart, IntervalRows):
        for row in chart.rows:
            assert chart.axis.low <= row.low <= row.value <= row.high <= chart.axis.high
        return
    assert isinstance(chart, Waterfall)
    spans = waterfall_spans(chart)
    for step, (start, end) in zip(chart.steps, spans, strict=True):
        base = 0.0 if step.total else start
        ends = [base + one for one in (step.low, step.high) if one is not None]
        assert all(chart.axis.low <= one <= chart.axis.high for one in (start, end, *ends))
    if chart.steps[-1].total:
        # tenths of a kilo rounded step by step: the last change arrives where the bar stands
        assert spans[-2][1] == pytest.approx(spans[-1][1], abs=0.3)


def test_no_lift_to_avoid_is_named_as_something_to_train(demo: Any):
    squad, norms, profiles = demo
    for athlete in squad.athletes:
        emphasis = [one for one in mine(page_of(demo, athlete.id)) if one.id == "emphasis"]
        for section, avoid in product(emphasis, athlete.avoid):
            assert norms.lifts[avoid.lift].name.lower() not in said(section).lower()
        assert profiles[athlete.id].replies


def test_a_lifter_with_every_lift_to_avoid_still_reads_the_cautions():
    """And why there is nothing else: a heading over nothing says less than a sentence."""
    voice = voice_for(CLUB, NORMS)
    section = emphasis_section(voice, profile(not_proposed=tuple(NORMS.lifts)), NORMS)
    assert section is not None
    assert section.lead.startswith("All that the trade usually emphasises for getting under")
    assert not any(isinstance(block, Grid) for block in section.blocks)
    assert "licensed professional" in said(section)
    assert "if it works" not in said(section)


@pytest.mark.parametrize("limiter", QUALITIES)
def test_a_junior_reads_no_advice_on_maximal_work(limiter: Any):
    voice = voice_for(CLUB, NORMS, junior=True)
    made = replace(junior_profile(), verdict=verdict(limiter))
    section = emphasis_section(voice, made, NORMS)
    assert section is not None
    shown = " ".join(said(section).split("Where this comes from"))
    assert not re.search(r"\bmax|single|\bheavy\b", shown, re.IGNORECASE)


def test_no_emphasis_follows_from_an_open_or_even_answer():
    voice = voice_for(CLUB, NORMS)
    for one in (verdict("even"), verdict("legs", 0.3, "open")):
        assert emphasis_section(voice, profile(verdict=one), NORMS) is None


def test_a_copy_that_does_not_know_what_to_avoid_names_nothing_to_train():
    made = report_page(profile(), ATHLETE, CLUB, NORMS, reading="club", private=False)
    assert "emphasis" not in {one.id for one in made.sections}


# Sentences of made-up answers


def part(cause: Any, log: float, kilos: float) -> Part:
    return Part(cause, log, log - 0.02, log + 0.02, kilos, kilos - 2, kilos + 2)


def split(against: Any = "norm", usual: float = 80.0, actual: float = 90.0) -> Split:
    gap = actual - usual
    return Split(
        against, "power_clean", 7, actual, usual, gap / 85, gap / 85 - 0.05, gap / 85 + 0.05,
        (part("level", gap / 80, gap + 2), part("speed", -0.02, -2.0), part("own", 0.0, 0.0)),
    )  # fmt: skip


def why_reply(reading: Where = "usual", where: Where = "above", by: float = 0.2) -> WhyReply:
    standings = (
        Standing("norm", by, by - 0.05, by + 0.05, where),
        Standing("field", by, by - 0.05, by + 0.05, where),
    )
    parent = ParentReading("clean", 0.9, 0.87, 0.93, 0.885, 0.84, 0.92, reading, standings)
    return WhyReply("power_clean", None, 1.0, (split(), split("field", 84.0)), parent, 7, 6)


def answer(reply: Any, **changes: Any) -> str:
    made = profile(replies=(reply,), **changes)
    (section,) = question_sections(voice_for(CLUB, NORMS, ATHLETE.name), made, NORMS)
    return said(section)


@pytest.mark.parametrize(
    ("reading", "where", "by", "expected"),
    [
        ("usual", "above", 0.2, "which is what to expect (usual is 84 to 92%). The clean is what "
                                "is far above the field."),
        ("usual", "above", 0.05, "what to expect (usual is 84 to 92%). The clean is what is above "
                                 "the field."),
        ("usual", "below", -0.2, "The clean is what is far below the field."),
        ("usual", "usual", 0.0, "The clean itself is about like the field."),
        ("above", "above", 0.2, "more than to expect (usual is 84 to 92%). The clean itself is "
                                "above the field."),
        ("below", "below", -0.2, "less than to expect (usual is 84 to 92%). The clean itself is "
                                 "below the field."),
        ("unclear", "above", 0.2, "whether that is usual (84 to 92%) cannot be told yet. The "
                                  "largest part"),
    ],
)  # fmt: skip
def test_the_lift_and_its_parent_share_the_blame_in_words(
    reading: Where, where: Where, by: float, expected: str
):
    assert expected in answer(why_reply(reading, where, by))


@pytest.mark.parametrize(("reading", "where"), list(product(get_args(Where), repeat=2)))
def test_every_reading_makes_a_sentence(reading: Where, where: Where):
    text = answer(why_reply(reading, where))
    assert "It is 90% of the clean" in text
    assert "  " not in text


def test_the_largest_part_and_what_works_against_it_are_named():
    text = answer(why_reply())
    assert "The largest part of the difference is level, which is in every lift (+12 kg)." in text
    assert "Most against it works bar speed (−2 kg)." in text


def test_parts_too_small_to_see_stand_together():
    made = profile(replies=(why_reply(),))
    (section,) = question_sections(voice_for(CLUB, NORMS), made, NORMS)
    chart = next(block.chart for block in section.blocks if isinstance(block, Drawn))
    assert isinstance(chart, Waterfall)
    labels = [step.label for step in chart.steps]
    assert labels == ["Usual", "Level", "Speed", "Everything else", "Power clean"]


def test_a_clean_and_jerk_says_through_which_half():
    reply = replace(why_reply(), lift="clean_and_jerk", through="jerk", chance_through=0.93)
    text = answer(replace(reply, splits=tuple(replace(s, lift="jerk") for s in reply.splits)))
    assert "Why is the clean and jerk what it is?" in text
    assert "Here that is the jerk: 9 chances in 10." in text


def test_a_lifter_nobody_weighed_is_not_compared_at_a_body_mass():
    made = profile()
    text = answer(why_reply(), athlete=replace(made.athlete, body_mass_kg=None))
    assert "body mass" not in text
    assert "Usual for this sex is 80 kg" in text


def claim_reply(chance: float, said: ClaimVerdict, turning: Turning | None = None) -> ClaimReply:
    return ClaimReply(
        "clean_turnover", "high", 0.5, chance, (1 - chance) / 2, (1 - chance) / 2, said,
        (Without("clean", 0.4), Without("snatch", chance)), turning,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("chance", "given", "expected"),
    [
        (0.9, "supported", "Yes: 9 chances in 10."),
        (0.6, "leaning", "Rather yes: 6 chances in 10."),
        (0.52, "either", "Either, about even: 5 chances in 10."),
        (0.3, "doubtful", "Rather not: 3 chances in 10."),
        (0.1, "contradicted", "No: 1 chance in 10."),
    ],
)
def test_a_claim_is_answered_first_and_its_chance_said_once(
    chance: float, given: ClaimVerdict, expected: str
):
    text = answer(claim_reply(chance, given))
    assert text.startswith("Getting under the clean: better than usual?")
    assert expected in text
    assert "It rests most on the clean: without those sets it would be 4 chances in 10." in text


def test_a_claim_that_nothing_was_learnt_about_is_not_answered():
    reply = replace(claim_reply(0.1, "contradicted"), learnt=False)
    text = answer(reply)
    assert "say nothing about this. Of anyone it would be 1 chance in 10." in text
    assert "No:" not in text


@pytest.mark.parametrize(
    ("known", "expected"),
    [("nothing", "there is no answer"), ("little", "Too early to say")],
)
@pytest.mark.parametrize("kind", ["claim", "holds"])
def test_too_little_evidence_answers_no_question(known: Any, expected: str, kind: str):
    """With one lift known, "No: 1 chance in 10" would be what is true of anyone."""
    holds = HoldsReply("jerk", 100.0, (held("overhead", 6.0, 0.9),), 0.05, None, 1.0)
    reply = claim_reply(0.1, "contradicted") if kind == "claim" else holds
    text = answer(reply, verdict=verdict("even", 0.61, "open", known=known))
    assert expected in text
    assert "in 10" not in text


def test_what_would_overturn_a_claim_is_a_load_not_a_wish():
    turning = Turning("clean", 100.0, 106.2, 0.04)
    text = answer(claim_reply(0.9, "supported", turning))
    assert "if the clean turned out to be worth 100 kg, where 106 kg is expected" in text
    assert "would turn this answer" in answer(claim_reply(0.9, "supported"))


def held(part: Any, kilos: float, chance: float) -> HeldBy:
    return HeldBy(part, kilos, max(0.0, kilos - 2), kilos + 2, chance)


@pytest.mark.parametrize(
    ("parts", "even", "expected"),
    [
        ((("overhead", 6.0, 0.9), ("own", 1.0, 0.05)), 0.05, "Strength overhead stops the jerk: 9"),
        ((("own", 6.0, 0.9), ("overhead", 1.0, 0.05)), 0.05, "is peculiar to it: the other lifts"),
        ((("overhead", 0.4, 0.1), ("own", 0.2, 0.1)), 0.8, "Nothing in particular holds the jerk"),
        (
            (("overhead", 3.0, 0.4), ("own", 0.2, 0.3)),
            0.3,
            "What stops the jerk is open: strength overhead comes first, with 4 chances",
        ),
        (
            (("overhead", 3.0, 0.3), ("own", 0.2, 0.2)),
            0.5,
            "Whether anything in particular holds the jerk back is open: nothing has 5",
        ),
    ],
)
def test_what_stops_a_lift_is_said_in_the_first_sentence(parts: Any, even: float, expected: str):
    reply = HoldsReply("jerk", 100.0, tuple(held(*one) for one in parts), even, None, 1.0)
    text = answer(reply)
    assert "What stops the jerk?" in text
    assert expected in text


def test_what_stops_a_clean_and_jerk_names_the_half():
    parts = (held("overhead", 6.0, 0.9), held("own", 1.0, 0.05))
    text = answer(HoldsReply("clean_and_jerk", 100.0, parts, 0.05, "jerk", 0.97))
    assert "here the jerk, more than 9 chances in 10." in text


def test_a_toss_between_the_halves_names_neither():
    parts = (held("overhead", 6.0, 0.9), held("own", 1.0, 0.05))
    text = answer(HoldsReply("clean_and_jerk", 100.0, parts, 0.05, "jerk", 0.53))
    assert "here either, about even." in text
    assert "here the jerk" not in text
    reply = replace(why_reply(), lift="clean_and_jerk", through="jerk", chance_through=0.53)
    text = answer(replace(reply, splits=tuple(replace(s, lift="jerk") for s in reply.splits)))
    assert "Here that is either, about even; the jerk is taken apart." in text


def test_of_a_lift_never_tried_nothing_peculiar_is_told():
    """Its share of the jerk is the usual one because nothing says otherwise: that explains
    nothing, and how far anyone's press goes its own way is no finding about this one."""
    parts = (held("overhead", 0.4, 0.1),)
    text = answer(HoldsReply("press", 60.0, parts, 0.9, None, 1.0, tried=False))
    assert "No set of the press is written down" in text
    assert "nothing in particular holds the press back: 9 chances in 10" in text
    text = answer(replace(why_reply(), tried=False))
    assert "No set of the power clean is written down" in text
    assert "It is 90% of the clean" not in text
    assert "This lift alone" not in text


def test_kilos_become_pounds_where_the_club_counts_in_pounds():
    """10 kg are 22 lb (10 / 0.45359237 = 22.05)."""
    made = profile(replies=(why_reply(),))
    voice = voice_for(replace(CLUB, units="lb"), NORMS)
    (section,) = question_sections(voice, made, NORMS)
    assert "a difference of +22 lb" in said(section)
    assert "kg" not in said(section)


# Company and marks


def company(scope: Any = "class", category: str | None = "64", rivals: int = 9) -> Company:
    matches = (
        Match("snatch", 2.4, 1, 4),
        Match("power_clean", 0.04, 0, 0),
        Match("back_squat", 8.97, 8, 9),
    )
    return Company(scope, category, rivals, matches)


def test_company_is_a_line_from_fast_to_slow_with_counts():
    section = company_section(voice_for(CLUB, NORMS), profile(company=company()))
    assert section is not None
    (chart,) = [block.chart for block in section.blocks if isinstance(block, Drawn)]
    assert isinstance(chart, IntervalRows)
    assert [row.value_text.replace("\xa0", " ") for row in chart.rows] == [
        "2 of 9 (1 to 4)",
        "0 of 9 (0 to 0)",
        "9 of 9 (8 to 9)",
    ]
    assert (chart.start_label, chart.end_label) == ("fast and light", "slow and heavy")
    _check_axis(chart)


@pytest.mark.parametrize(
    ("made", "expected"),
    [
        (company(), "9 rivals of the class 64."),
        (company(rivals=1), "1 rival of the class 64."),
        (company("near", None), "9 rivals within a tenth of the same body mass."),
        (company("sex", None), "9 rivals, of any body mass."),
    ],
)
def test_who_counts_as_company_is_said(made: Company, expected: str):
    section = company_section(voice_for(CLUB, NORMS), profile(company=made))
    assert section is not None
    assert section.lead.startswith(expected)


def test_where_every_lift_is_matched_by_as_many_no_lift_is_first_or_last():
    made = company(rivals=6)
    alike = replace(made, matches=tuple(replace(one, expected=5.9) for one in made.matches))
    section = company_section(voice_for(CLUB, NORMS), profile(company=alike))
    assert section is not None
    (drawn,) = section.blocks
    assert isinstance(drawn, Drawn)
    assert drawn.chart.summary == "Every lift is matched by as many rivals: 6 of 6."


def test_without_a_field_or_marks_there_is_no_such_section():
    voice = voice_for(CLUB, NORMS)
    assert company_section(voice, profile()) is None
    assert marks_section(voice, profile()) is None


def test_marks_show_the_way_that_is_left():
    mark = MarkReading("Club record", 64.0, "total", 200.0, 0.93, 0.905, 0.952, 0.02)
    section = marks_section(voice_for(CLUB, NORMS), profile(marks=(mark,)))
    assert section is not None
    text = said(section)
    for expected in ("up to 64 kg", "200 kg", "186 kg 181 to 191", "93% (90 to 96)", "under 1 in"):
        assert expected in text


# Hand-overs


def test_the_answers_survive_the_builds_cache(demo: Any):
    """Each kind of answer comes back as what it was."""
    _, _, profiles = demo
    adapter = TypeAdapter(Profile)
    for id in ("marit", "bram"):
        made = profiles[id]
        back = adapter.validate_json(adapter.dump_json(made, warnings=False))
        assert [type(one) for one in back.replies] == [type(one) for one in made.replies]
        assert back.replies == made.replies
        assert (back.company, back.marks) == (made.company, made.marks)


def test_profile_json_holds_the_answers(demo: Any):
    """Parts of a split still add up in the file, to the digits it keeps."""
    _, _, profiles = demo
    numbers = json.loads(profile_json(profiles["marit"]))
    (why,) = numbers["why"]
    for one in why["splits"]:
        parts = one["parts"].values()
        assert sum(p["log"] for p in parts) == pytest.approx(one["difference"], abs=1e-4)
        whole = one["actual_kg"] - one["usual_kg"]
        assert sum(p["kilos"] for p in parts) == pytest.approx(whole, abs=0.06)
    assert {one["quality"] for one in numbers["claims"]} == {"clean_turnover"}
    assert numbers["company"]["rivals"] == 7
    assert {one["lift"] for one in numbers["marks"]} == {"snatch", "clean_and_jerk", "total"}
