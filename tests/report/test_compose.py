"""What a report, the squad page and the methods page say, and in which order."""

from __future__ import annotations

import os
import re
from dataclasses import fields, is_dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from profilegen.engine.profile import Change, LiftChange, RatioReading
from profilegen.history.records import Sharing
from profilegen.report.chart import HeatTable, IntervalRows, Trend, Waterfall
from profilegen.report.compose import report_page
from profilegen.report.methods import methods_page
from profilegen.report.page import (
    Bullets,
    Cell,
    Details,
    Drawn,
    Grid,
    Multiples,
    ReportPage,
    Section,
    SideBySide,
    SquadPage,
)
from profilegen.report.sections_time import thinned
from profilegen.report.squad import squad_page
from profilegen.report.squad_parts import directory_page, entry_of, parts_of
from profilegen.report.summary import (
    BodyClass,
    ChangeSummary,
    Summary,
    WeekTotal,
    seen_since,
    summarise,
)
from tests.samples import (
    ATHLETE,
    CLUB,
    NORMS,
    TODAY,
    junior_profile,
    profile,
    qualities,
    row,
    track,
    verdict,
)

GOLDEN = Path(__file__).parents[1] / "golden"


def page(**changes: Any) -> ReportPage:
    return report_page(profile(**changes), ATHLETE, CLUB, NORMS)


def section(page: Any, id: str) -> Section:
    return next(one for one in page.sections if one.id == id)


def charts(part: Section) -> list[Any]:
    found = []
    for block in part.blocks:
        inner = block.blocks if isinstance(block, Details) else (block,)
        found += [one.chart for one in inner if isinstance(one, Drawn)]
    return found


def texts(value: Any) -> list[str]:
    """Every text in a page, in order."""
    if isinstance(value, str):
        return [value]
    if isinstance(value, (tuple, list)):
        return [text for one in value for text in texts(one)]
    if is_dataclass(value):
        return [text for one in fields(value) for text in texts(getattr(value, one.name))]
    return []


def cell_text(cell: Cell) -> str:
    return f"{cell.text}, {cell.also}" if cell.also else cell.text


def outline(page: ReportPage) -> str:
    """What a reader reads before opening anything."""
    lines = [page.name, " · ".join(page.facts), "", page.answer.sentence, page.answer.sure]
    lines += [page.answer.worth, page.answer.next]
    lines += [f"{one.name}: {one.value} ({one.interval}), {one.mark_text}" for one in page.figures]
    lines.append(page.caution)
    for part in page.sections:
        lines += ["", f"## {part.title}", part.lead]
        for block in part.blocks:
            if isinstance(block, Drawn):
                lines.append(f"[{block.chart.title}] {block.chart.summary}")
            elif isinstance(block, Multiples):
                lines += [f"[{chart.title}] {chart.summary}" for chart in block.charts]
            elif isinstance(block, Details):
                lines.append(f"> {block.summary}")
            elif isinstance(block, Grid):
                lines += [" | ".join(map(cell_text, line.cells)) for line in block.rows]
            else:
                lines += texts(block)
    return "\n".join(line for line in lines).replace("\xa0", " ").rstrip() + "\n"


@pytest.mark.parametrize("reading", ["coach", "lifter"])
@pytest.mark.parametrize("junior", [False, True])
def test_the_report_reads_as_it_was_accepted(reading: Any, junior: bool):
    """Golden text, read by whoever accepts a change of it."""
    made = junior_profile() if junior else profile()
    text = outline(report_page(made, ATHLETE, CLUB, NORMS, reading=reading))
    file = GOLDEN / f"report_{reading}{'_junior' if junior else ''}.txt"
    if os.environ.get("ACCEPT"):
        file.write_text(text, encoding="utf-8")
    accepted = file.read_text(encoding="utf-8")
    assert text == accepted, f"to accept: ACCEPT=1 pytest {Path(__file__).name} -k accepted"


def test_the_sections_come_in_the_order_of_a_readers_questions():
    assert [part.id for part in page().sections] == [
        "check-first",
        "why",
        "kilos",
        "lifts",
        "emphasis",
        "ratios",
        "pointers",
        "time",
        "others",
        "change",
        "notes",
        "evidence",
        "assumptions",
        "scaled",
        "cautions",
        "reading",
        "diagnostics",
    ]


def test_the_lifters_reading_leaves_out_the_workings():
    short = report_page(profile(), ATHLETE, CLUB, NORMS, reading="lifter")
    ids = {part.id for part in short.sections}
    assert {"why", "kilos", "lifts", "cautions"} <= ids
    assert not ids & {"check-first", "evidence", "diagnostics", "assumptions", "notes"}


def then_and_now(*lifts: LiftChange) -> dict[str, str]:
    """What the table of changes says beside each lift."""
    change = Change(date(2026, 7, 19), "Summer 2026", lifts, "legs", 0.44)
    table = section(page(change=change), "change").blocks[0]
    assert isinstance(table, Grid)
    return {
        row.cells[0].text: f"{row.cells[-1].more} | {row.cells[-1].also}".replace("\xa0", " ")
        for row in table.rows
    }


def test_what_rose_and_what_cannot_be_told_differ_in_their_bounds_too():
    """Both near 0, one end on this side of it and one across."""
    said = then_and_now(
        LiftChange("snatch", 53, 55, 1.9, -0.02, 3.9, "unclear"),
        LiftChange("power_clean", 58.5, 60.5, 2.2, 0.08, 4.3, "rose"),
    )
    assert said["Snatch"] == "−0.1 to +4 kg | cannot tell yet"
    assert said["Power clean"] == "over 0 to +4.5 kg | rose"


def test_a_lift_nobody_tested_since_rose_only_because_the_others_did():
    """The power clean was tested in November, the back squat is worked out."""
    said = then_and_now(
        LiftChange("power_clean", 95, 98, 3, 1, 5, "rose"),
        LiftChange("back_squat", 144, 148, 4, 1, 7, "rose"),
    )
    assert said["Power clean"] == "+1 to +5 kg | rose"
    assert said["Back squat"] == "+1 to +7 kg | rose, as follows from the other lifts"


def test_a_clean_and_jerk_since_shows_a_clean_and_a_jerk():
    made = profile()
    change = replace(made.change, since=date(2026, 11, 16)) if made.change else None
    assert change is not None
    parts = ("clean", "jerk")
    lifts = {
        name: replace(one, last_tested=None, best_made_on=None) if name in parts else one
        for name, one in made.lifts.items()
    }
    assert seen_since(replace(made, lifts=lifts), change) >= {"clean", "jerk", "clean_and_jerk"}
    later = replace(change, since=date(2026, 11, 17))
    assert seen_since(replace(made, lifts=lifts), later) == frozenset()


def best_made(kg: float, on: date = date(2026, 11, 17), *lifts: str) -> dict[str, Any]:
    """The sample's lifts, some of them made with so much on that day."""
    made = profile().lifts
    changed = {name: replace(made[name], best_made_kg=kg, best_made_on=on) for name in lifts}
    return {"lifts": {**made, **changed}}


def test_a_best_above_what_the_lift_is_worth_stands_beside_it_with_a_reason():
    """84.3 kg (82 to 87), and 88 made four days ago: no contradiction, but it must be said."""
    head = page(**best_made(88, date(2026, 11, 17), "snatch")).bests
    assert head.replace("\xa0", " ") == (
        "Best made: snatch 88 kg on 17 Nov 2026. A best shows one day’s form; the numbers here are "
        "for an average day."
    )
    near = best_made(86, date(2026, 11, 17), "snatch")  # 84.26 + 2.1 is the end
    assert "snatch 86" in page(**near).bests.replace("\xa0", " ")


def test_a_best_far_above_is_of_another_time_and_no_days_form():
    """100 before an injury, 84 (82 to 87) today."""
    head = page(**best_made(100, date(2026, 3, 1), "snatch")).bests
    assert head.replace("\xa0", " ") == (
        "Best made: snatch 100 kg on 1 Mar 2026. Much has changed since; the numbers here are for "
        "today."
    )


@pytest.mark.parametrize(("kg", "on"), [(85, date(2026, 11, 17)), (88, date(2025, 11, 1))])
def test_a_best_within_or_long_ago_needs_no_reason(kg: float, on: date):
    assert page(**best_made(kg, on, "snatch")).bests == ""


def test_a_best_of_a_lift_that_is_no_main_lift_stands_with_the_lifts_at_home_only():
    made = profile(**best_made(102, date(2026, 11, 17), "power_clean"))
    for private in (True, False):
        short = report_page(made, ATHLETE, CLUB, NORMS, reading="lifter", private=private)
        assert short.bests == ""
        said = " ".join(texts(section(short, "lifts").blocks)).replace("\xa0", " ")
        assert ("power clean 102 kg on 17 Nov 2026" in said) == private


@pytest.mark.parametrize("reading", ["below", "above"])
def test_the_lifters_own_page_never_talks_about_the_lifter(reading: Any):
    """Whatever is unusual: it says "you" and "your" all through."""
    unusual = tuple(
        RatioReading(
            one.numerator, one.denominator, 1.0, 0.9, 1.1, 0.8, 0.9, reading, 1.0, 1.0, one.source
        )
        for one in NORMS.usual_ratios
    )
    for first in range(0, len(unusual), 3):
        low = {key: replace(one, score=-1.0) for key, one in qualities().items()}
        made = profile(ratios=unusual[first : first + 3], qualities=low)
        short = report_page(made, ATHLETE, CLUB, NORMS, reading="lifter")
        said = " ".join(texts(short.sections))
        assert not re.search(r"\b(the|this) lifter\b", said, re.IGNORECASE)


def test_an_open_verdict_gives_no_training_advice_for_one_quality():
    made = page(verdict=verdict(chance=0.3, confidence="open"))
    kinds = {block.kind for block in section(made, "why").blocks}
    assert kinds == {"bullets"}
    assert "quality" in {block.kind for block in section(page(), "why").blocks}


def test_plates_show_the_chance_in_tenths():
    assert page().answer.plates == (True,) * 7 + (False,) * 3


# Too little to say anything

UNKNOWN = verdict("even", 0.61, "open", "legs", 0.12, "nothing")
EARLY = replace(UNKNOWN, known="little")


@pytest.mark.parametrize("reading", ["coach", "lifter", "club"])
def test_a_lifter_without_a_row_gets_no_number_that_would_be_anyones(reading: Any):
    """No chance, no kilos, no lift: all of them would be what is usual."""
    made = report_page(profile(verdict=UNKNOWN), ATHLETE, CLUB, NORMS, reading=reading)
    assert made.answer.plates == ()
    assert made.figures == ()
    ids = {one.id for one in made.sections}
    assert {"why", "kilos", "cautions", "reading"} <= ids
    assert not ids & {"lifts", "emphasis", "what-if", "ratios", "pointers", "scaled", "time"}
    said = " ".join(texts((made.answer, section(made, "why"), section(made, "kilos"))))
    assert not re.search(r"\d", said), said


@pytest.mark.parametrize("reading", ["coach", "lifter"])
def test_too_early_means_no_chance_no_kilos_and_nothing_superlative(reading: Any):
    quiet = {key: replace(one, relative=0.001) for key, one in profile().lifts.items()}
    made = report_page(profile(verdict=EARLY, lifts=quiet), ATHLETE, CLUB, NORMS, reading=reading)
    assert made.answer.sentence.startswith("It is too early to say")
    assert made.answer.plates == ()
    assert made.figures
    assert "emphasis" not in {one.id for one in made.sections}
    assert "what-if" not in {one.id for one in made.sections}
    assert not charts(section(made, "kilos"))
    said = " ".join(texts(made.sections))
    assert "chances in\xa010 that it limits" not in said
    assert not re.search(r"most behind it|Highest for|Lowest for|even profile came first", said)
    known = texts(section(made, "why").blocks)[0]
    assert known.startswith(
        "Known about so far: snatch, power clean, front squat, snatch-grip dead"
    )
    assert "total" not in known


def test_a_chart_in_which_every_lift_is_usual_is_left_out_where_little_is_known():
    """For the lifter, who gets no table with it, the whole section goes."""
    quiet = {key: replace(one, relative=0.001) for key, one in profile().lifts.items()}
    coach = page(verdict=EARLY, lifts=quiet)
    assert not charts(section(coach, "lifts"))
    assert "No lift stands out yet" in section(coach, "lifts").lead
    made = profile(verdict=EARLY, lifts=quiet)
    lifter = report_page(made, ATHLETE, CLUB, NORMS, reading="lifter")
    assert "lifts" not in {one.id for one in lifter.sections}
    assert charts(section(page(verdict=EARLY), "lifts"))


@pytest.mark.parametrize(
    ("by", "expected"),
    [
        ({"snatch": 0.04, "clean": -0.05}, "Highest for this level: snatch (+4%). Lowest for this "
                                           "level: clean (−5%)."),
        ({"snatch": 0.04, "clean": -0.004}, "Highest for this level: snatch (+4%)."),
        ({"snatch": 0.004, "clean": -0.05}, "Lowest for this level: clean (−5%)."),
        ({}, "No lift stands out: all are where this level lets one expect."),
    ],
)  # fmt: skip
def test_a_lift_is_highest_or_lowest_when_it_is_a_percent_off(by: dict[str, float], expected: str):
    lifts = {
        key: replace(one, relative=by.get(key, 0.0) if one.relative is not None else None)
        for key, one in profile().lifts.items()
    }
    (chart,) = charts(section(page(lifts=lifts), "lifts"))
    assert chart.summary == expected


def test_no_kilo_is_not_called_the_most():
    few = {key: replace(one, kilos=0.2) for key, one in qualities().items()}
    (chart,) = charts(section(page(qualities=few), "kilos"))
    assert chart.summary.replace("\xa0", " ") == (
        "No quality has as much as 1 kilo on the total behind it. An even profile: 1 chance in 10."
    )


# Rows as they were told


def test_what_was_told_of_a_year_is_dated_by_the_year_wherever_it_stands():
    year = row("told", 80, on=date(2025, 7, 2), line=5, says_kg=80, vague_days=182.5)
    month = row("told", 81, on=date(2026, 3, 16), line=6, says_kg=81, vague_days=15.5)
    made = page(evidence=(year, month))
    (grid,) = [one for one in section(made, "evidence").blocks if isinstance(one, Grid)]
    days = [line.cells[0].text.replace("\xa0", " ") for line in grid.rows]
    assert days == ["Mar 2026", "2025"]
    said = " ".join(texts([one.marks for one in charts(section(made, "time"))]))
    assert "2 Jul" not in said


def test_sets_that_drew_the_line_are_not_said_by_heavier_ones_already():
    light = row("made", 100, lift="back_squat", line=30, used=False, speed_m_s=0.8, drew_line=True)
    heavy = row("speed", 140, lift="back_squat", line=31, says_kg=156, speed_m_s=0.4)
    blocks = section(page(evidence=(light, heavy)), "evidence").blocks
    assert [type(one) for one in blocks] == [Grid]
    said = " ".join(texts(blocks)).replace("\xa0", " ")
    assert "made at 0.8 m/s" in said
    assert "a line of load and speed, for the heaviest" in said
    assert "heavier sets nearby" not in said


def test_lifts_run_from_fast_to_slow_with_their_own_shapes():
    (chart,) = charts(section(page(), "lifts"))
    assert isinstance(chart, IntervalRows)
    assert [one.label for one in chart.rows] == [
        "Power snatch",
        "Snatch",
        "Power clean",
        "Clean",
        "Jerk",
        "Front squat",
        "Pin front squat",
        "Back squat",
        "Snatch-grip deadlift",
    ]
    marks = {one.label: one.mark for one in chart.rows}
    assert (marks["Snatch"], marks["Clean"], marks["Back squat"]) == (
        "tested",
        "bounded",
        "inferred",
    )
    assert all(chart.axis.low <= one.low <= one.high <= chart.axis.high for one in chart.rows)


def test_kilos_are_shown_for_every_quality_with_the_chance():
    (chart,) = charts(section(page(), "kilos"))
    assert isinstance(chart, Waterfall)
    assert len(chart.steps) == 6
    assert chart.steps[0].label == "Under the clean"
    assert chart.steps[0].value_text.replace("\xa0", " ") == "6 kg (1 to 11), 72%"


def test_evidence_is_drawn_into_the_trend_of_its_lift():
    snatch = charts(section(page(), "time"))[0]
    assert isinstance(snatch, Trend)
    assert [(mark.kind, mark.value) for mark in snatch.marks] == [
        ("made", 82.0),
        ("max", 84.0),
        ("missed", 87.0),
    ]


def test_a_trend_holds_everything_drawn_within_its_axis():
    for chart in charts(section(page(), "time")):
        values = [*chart.low, *chart.high, *(mark.value for mark in chart.marks)]
        assert chart.axis.low <= min(values)
        assert max(values) <= chart.axis.high


def test_a_long_track_is_thinned_and_keeps_its_ends():
    long = track("snatch", 80)
    days = tuple(long.days[0].replace(day=1 + i) for i in range(28))
    long = replace(
        long, days=days, estimate_kg=(80.0,) * 28, low_kg=(79.0,) * 28, high_kg=(81.0,) * 28
    )
    short = thinned(long, 5)
    assert len(short.days) == len(short.low_kg) == 5
    assert (short.days[0], short.days[-1]) == (days[0], days[-1])


def test_every_row_the_coach_wrote_is_on_the_page_with_its_line():
    said = texts(section(page(), "evidence"))
    lines = {line for text in said for line in text.split(", ")}
    assert {str(one.line) for one in profile().evidence} <= lines


def test_a_long_diary_shows_the_latest_rows_and_keeps_the_rest_one_click_away():
    rows = tuple(row("made", 60 + i % 20, line=i + 1) for i in range(300))
    part = section(page(evidence=rows), "evidence")
    kinds = [type(block) for block in part.blocks]
    assert kinds == [Grid, Details]


@pytest.mark.parametrize("limiter", [*qualities(), "even"])
def test_any_verdict_makes_a_page(limiter: Any):
    made = page(verdict=verdict(limiter), qualities=qualities(limiter))
    assert made.answer.sentence


def test_a_lifter_nobody_wrote_about_still_gets_a_page():
    empty = profile(
        evidence=(), tracks={}, ratios=(), pointers=(), change=None, scaled=(), assumptions=()
    )
    athlete = replace(ATHLETE, notes="", sessions=())
    made = report_page(
        replace(empty, athlete=replace(empty.athlete, body_mass_kg=None, group=None)),
        athlete,
        CLUB,
        NORMS,
    )
    assert "notes" not in {part.id for part in made.sections}
    assert "None" not in " ".join(texts(made))


@pytest.mark.parametrize("reading", ["coach", "lifter"])
def test_a_junior_reads_nothing_about_heavy_singles(reading: Any):
    made = report_page(junior_profile(), ATHLETE, CLUB, NORMS, reading=reading)
    said = " ".join(texts(made.sections))
    assert "Heavy singles" not in said
    assert "under 18" in said.lower()


def test_pounds_are_shown_where_the_club_counts_in_pounds():
    made = report_page(profile(), ATHLETE, replace(CLUB, units="lb"), NORMS)
    assert made.figures[0].value == "186\xa0lb"  # 84.26 kg / 0.45359237
    assert "pounds" in made.answer.worth


def test_public_copies_do_not_lead_from_the_short_reading_to_the_long_one():
    made = report_page(profile(), ATHLETE, CLUB, NORMS, reading="lifter", private=False)
    assert "index.html" not in {link.href for link in made.head.links}
    assert not made.head.private


# Squad


def summary(**changes: Any) -> Summary:
    return replace(summarise(profile(), ATHLETE, CLUB), **changes)


def squad(*summaries: Summary) -> SquadPage:
    return squad_page(summaries, CLUB, NORMS, TODAY)


def test_a_summary_survives_the_cache():
    made = summary(sharing=Sharing("locked", "initials", "hidden", TODAY, True))
    assert Summary.from_json(made.to_json()) == made
    bare = summary(group=None, body_mass_kg=None, scaled=(), weeks=(), changes=(), since=None)
    assert Summary.from_json(bare.to_json()) == bare


def test_a_summary_knows_the_testing_weeks_the_lifter_was_there():
    weeks = summary().weeks
    assert [(one.called, round(one.total_kg, 1)) for one in weeks] == [
        ("Summer 2026", 182.0),  # 0.98 of 185.7, the track's latest day in that week
        ("Autumn 2026", 185.7),
    ]


def test_the_class_is_the_lightest_of_the_clubs_marks_that_holds_the_body_mass():
    assert summary().category == BodyClass(64.0)
    heavy = profile()
    heavy = replace(heavy, athlete=replace(heavy.athlete, body_mass_kg=80.0))
    assert summarise(heavy, ATHLETE, CLUB).category == BodyClass(64.0, above=True)


def test_a_class_and_a_count_are_written_as_the_language_writes_numbers():
    """German has a decimal comma; English parts numbers of five digits in thousands."""
    german = replace(CLUB, language="de")
    made = squad_page((summary(category=BodyClass(64.5)),), german, NORMS, TODAY)
    assert made.lifters[0].body_class == "Frauen 64,5\xa0kg"
    large = directory_page(
        parts_of([entry_of("a", summary(), CLUB, NORMS)], CLUB, NORMS), 12_500, CLUB, NORMS, TODAY
    )
    assert large.facts[0] == "12,500 lifters"


def test_lifters_stand_by_name_and_those_who_share_a_limiter_together():
    made = squad(
        summary(id="b", name="Bea", limiter="legs", chance=0.9),
        summary(id="a", name="Ann", limiter="legs", chance=0.7),
        summary(id="c", name="Cleo", confidence="open", chance=0.3),
    )
    assert [card.name for card in made.lifters] == ["Ann", "Bea", "Cleo"]
    shared = {one.name: [lifter.text for lifter in one.lifters] for one in made.shared_by}
    assert shared == {"Leg strength": ["Bea", "Ann"], "Still open": ["Cleo"]}
    assert made.sentence == "Leg strength holds back most lifters: 2 of 3."


def test_an_open_answer_is_not_presented_as_one():
    made = squad(summary(confidence="open", chance=0.3), summary(id="b", name="Bea"))
    (grid,) = [b for b in section(made, "numbers").blocks if isinstance(b, Grid)]
    held_back_by = [column.name for column in grid.columns].index("Held back by")
    assert [line.cells[held_back_by].text for line in grid.rows] == [
        "Getting under the clean",
        "Still open",
    ]


def test_an_even_profile_is_not_what_holds_anyone_back():
    """In numbers and side by side, now and then, under the heading "Held back by"."""
    even = summary(limiter="even", limiter_then="even", chance_then=0.8)
    made = squad(even, replace(even, id="b", name="Bea"))
    (grid,) = [b for b in section(made, "numbers").blocks if isinstance(b, Grid)]
    column = [one.name for one in grid.columns].index("Held back by")
    cells = [line.cells[column].text for line in grid.rows]
    (sides,) = [b for b in section(made, "compare").blocks if isinstance(b, SideBySide)]
    (row,) = [one for one in sides.rows if one.name == "Held back by"]
    cells += [cell.text for cell in row.cells]
    assert set(cells) == {"Nothing: an even profile"}


def unknown(name: str, known: Any) -> Summary:
    return summary(id=name, name=name, limiter="even", chance=0.61, confidence="open", known=known)


def test_lifters_nobody_knows_stand_apart_from_even_ones_and_without_a_chance():
    """26 of 39 "even profiles" would be what is true of anyone, said as if it were found."""
    made = squad(
        summary(id="a", name="Ann", limiter="even", chance=0.9, confidence="clear"),
        unknown("Bea", "nothing"),
        unknown("Cleo", "little"),
        summary(id="d", name="Dora", limiter="even", chance=0.62, confidence="open"),
    )
    shared = {one.name: [(who.text, who.more) for who in one.lifters] for one in made.shared_by}
    assert [who for who, _ in shared["An even profile"]] == ["Ann"]
    assert [who for who, _ in shared["Still open"]] == ["Dora"]
    assert shared["Not known yet"] == [
        ("Bea", "nothing written down"),
        ("Cleo", "too early to say"),
    ]
    cards = {card.name: card for card in made.lifters}
    assert cards["Bea"].plates == cards["Cleo"].plates == ()
    assert cards["Bea"].figures == ()
    assert cards["Cleo"].figures
    assert "10" not in cards["Bea"].sentence + cards["Cleo"].sentence


def test_what_is_not_known_of_somebody_is_not_set_beside_what_is_known_of_others():
    made = squad(
        summary(id="a", name="Ann"),
        summary(id="d", name="Dora"),
        unknown("Bea", "nothing"),
        unknown("Cleo", "little"),
    )
    assert section(made, "qualities").lead == "Without 2 lifters of whom too little is known."
    for id in ("qualities", "compare"):
        said = " ".join(texts(section(made, id)))
        assert "Ann" in said
        assert "Bea" not in said
        assert "Cleo" not in said
    said = " ".join(texts(section(made, "body-mass")))
    assert "Cleo" in said
    assert "Bea" not in said
    (grid,) = [b for b in section(made, "numbers").blocks if isinstance(b, Grid)]
    rows = {line.cells[0].text: [cell.text for cell in line.cells] for line in grid.rows}
    assert rows["Bea"][-2:] == ["Not known yet", "nothing written down"]
    assert rows["Cleo"][-2:] == ["Not known yet", "too early to say"]
    assert not any("kg" in cell for cell in rows["Bea"][2:-2])
    assert any("kg" in cell for cell in rows["Cleo"])


def test_a_middle_that_says_nothing_is_not_shown_without_its_interval():
    """Sets with the empty bar leave a snatch between 31 and 85 kg; 51.5 is no news."""
    wide = replace(summary().lifts[0], estimate_kg=51.5, low_kg=31.0, high_kg=85.0)
    vague = replace(unknown("Nia", "little"), lifts=(wide, *summary().lifts[1:]))
    made = squad(vague, summary(id="a", name="Ann"))
    cards = {card.name: [pair.name for pair in card.figures] for card in made.lifters}
    assert cards["Nia"] == ["Clean and jerk", "Total"]
    assert cards["Ann"] == ["Snatch", "Clean and jerk", "Total"]


def test_a_squad_of_which_nothing_is_known_is_a_page_too():
    made = squad(unknown("Bea", "nothing"), unknown("Cleo", "nothing"))
    assert made.sentence == "No lifter is clearly held back by one quality yet."
    assert not {"qualities", "compare", "body-mass"} & {one.id for one in made.sections}


def test_what_came_first_before_is_not_kept_of_a_lifter_of_whom_too_little_is_known():
    assert summarise(profile(), ATHLETE, CLUB).limiter_then == "legs"
    assert summarise(profile(verdict=EARLY), ATHLETE, CLUB).limiter_then is None


def test_groups_can_be_picked_out_where_there_are_several():
    assert squad(summary()).groups == ()
    both = squad(summary(), summary(id="b", name="Bea", group="morning"))
    assert both.groups == ("evening", "morning")


def test_the_squad_page_keeps_apart_who_was_tested_and_who_is_up_by_other_lifts():
    rose = ChangeSummary("snatch", 80, 84, "rose")
    made = squad(
        summary(id="a", name="Ann", changes=(rose,)),
        summary(id="b", name="Bea", changes=(replace(rose, seen=False),)),
    )
    weeks = section(made, "weeks").blocks[0]
    assert isinstance(weeks, Bullets)
    assert weeks.items == (
        "Up by more than the noise of a test: Ann (snatch).",
        "Up, as follows from the other lifts: Bea (snatch).",
    )


def test_an_empty_squad_is_a_page_too():
    assert squad().sentence


def test_every_lifter_has_a_row_in_every_squad_table_that_sorts_by_number():
    made = squad(summary(), summary(id="b", name="Bea", scaled=(), body_mass_kg=None))
    (grid,) = [b for b in section(made, "numbers").blocks if isinstance(b, Grid)]
    assert len(grid.rows) == 2
    assert all(len(line.cells) == len(grid.columns) for line in grid.rows)
    numeric = [i for i, column in enumerate(grid.columns) if column.numeric]
    assert all(float(line.cells[i].sort) >= 0 for line in grid.rows for i in numeric)


WINTER, SPRING, AUTUMN = date(2025, 1, 11), date(2026, 5, 9), date(2026, 10, 17)


def twice_called() -> Summary:
    """A club that calls every spring and winter test just that, and 40 kg between the two."""
    totals = ((WINTER, "Testing", 135.0), (SPRING, "Testing", 176.0), (AUTUMN, "Autumn", 188.0))
    weeks = tuple(WeekTotal(called, on, kg, kg - 2, kg + 2) for on, called, kg in totals)
    return summary(weeks=weeks, since="Testing", since_on=SPRING)


def test_weeks_of_one_name_keep_their_own_kilos_side_by_side():
    """What was then is the week that changes count from, not another of its name."""
    (table,) = (
        b for b in section(squad(twice_called()), "compare").blocks if isinstance(b, SideBySide)
    )
    then = [side.then for side in table.sides].index(True)
    assert table.sides[then].when == "Testing, 9\xa0May\xa02026"
    (total,) = (line for line in table.rows if line.name == "Total")
    assert total.cells[then].text == "176\xa0kg"


def test_weeks_of_one_name_keep_their_own_column():
    part = section(squad(twice_called()), "weeks")
    (chart,) = (b.chart for b in part.blocks if isinstance(b, Drawn))
    assert isinstance(chart, HeatTable)
    assert [name.replace("\xa0", " ") for name in chart.columns] == [
        "Testing, 11 Jan 2025", "Testing, 9 May 2026", "Autumn",
    ]  # fmt: skip
    assert [cell.text for cell in chart.rows[0].cells] == ["135", "176", "188"]
    (grid,) = (b for b in part.blocks if isinstance(b, Grid))
    assert grid.rows[0].cells[1].text == "Testing, 9\xa0May\xa02026"


# Methods


def test_the_methods_page_shows_every_number_with_its_source():
    said = texts(methods_page(NORMS, CLUB))
    for source in NORMS.sources.values():
        assert source.authors in said
    for lift in NORMS.lifts.values():
        assert lift.name in said
    assert any("common practice, no source" in one for one in said)


def test_every_grid_is_as_wide_as_its_head():
    def grids(value: Any) -> list[Grid]:
        if isinstance(value, Grid):
            return [value]
        if isinstance(value, tuple):
            return [one for part in value for one in grids(part)]
        if is_dataclass(value):
            return [one for field in fields(value) for one in grids(getattr(value, field.name))]
        return []

    for made in (page(), squad(summary(), summary(id="b")), methods_page(NORMS, CLUB)):
        for grid in grids(made):
            assert grid.rows, grid.id
            assert all(len(line.cells) == len(grid.columns) for line in grid.rows), grid.id
