"""The sentences: golden texts, and what must never be said."""

from __future__ import annotations

import ast
import inspect
import re
from dataclasses import replace
from typing import get_args

import pytest

import profilegen.engine.assumptions as engine_assumptions
from profilegen.engine.profile import (
    Assumption,
    Change,
    Confidence,
    Known,
    LiftChange,
    QualityReading,
    RatioReading,
    Verdict,
)
from profilegen.history.records import Units
from profilegen.norms.catalogue import QUALITIES, Limiter, Quality
from profilegen.report.assumption_words import assumption_patterns, assumption_sentence
from profilegen.report.cautions import cautions, short_caution
from profilegen.report.evidence_words import taken_to_mean, unexpected, written_detail, written_set
from profilegen.report.glossary import glossary
from profilegen.report.page import Bullets
from profilegen.report.quality_words import quality_words, what_to_look_at
from profilegen.report.sections_qualities import why_section
from profilegen.report.words import (
    Qualities,
    Voice,
    change_label,
    change_sentence,
    confidence_sentence,
    quality_label,
    quality_name,
    ratio_meaning,
    ratio_sentence,
    rests_sentences,
    second_sentence,
    strong_and_low,
    verdict_sentence,
    voice_for,
    worth_sentence,
)
from tests.samples import CLUB, NORMS, TODAY, profile, qualities, row, verdict

COACH = voice_for(CLUB, NORMS, "Mara")
LIFTER = replace(COACH, you=True)
CHANCES: dict[Confidence, float] = {"clear": 0.91, "likely": 0.72, "leaning": 0.48, "open": 0.27}
LIMITERS: tuple[Limiter, ...] = (*QUALITIES, "even")

HEDGES = re.compile(
    r"\b(probably|likely|maybe|may|might|could|seems?|perhaps|possibly|suspect|lead)\b", re.I
)


def plain(text: str) -> str:
    """No-break spaces as spaces, to read golden texts."""
    return text.replace("\xa0", " ")


@pytest.mark.parametrize(
    ("confidence", "said"),
    [
        ("clear", "Getting under the clean is what holds Mara back: 9 chances in 10."),
        ("likely", "Getting under the clean most likely holds Mara back: 7 chances in 10."),
        (
            "leaning",
            "Getting under the clean is the first suspect for what holds Mara back: "
            "5 chances in 10.",
        ),
        (
            "open",
            "What holds Mara back is still open: getting under the clean comes first, "
            "with 3 chances in 10.",
        ),
    ],
)
def test_the_verdict_says_what_and_how_sure_in_one_sentence(confidence: Confidence, said: str):
    one = verdict(chance=CHANCES[confidence], confidence=confidence)
    assert plain(verdict_sentence(COACH, one)) == said


@pytest.mark.parametrize(
    ("confidence", "said"),
    [
        ("clear", "Your profile is even, nothing holds the rest back: 9 chances in 10."),
        (
            "likely",
            "Your profile is most likely even, nothing holds the rest back: 7 chances in 10.",
        ),
        ("leaning", "An even profile fits you best so far: 5 chances in 10."),
        (
            "open",
            "What holds you back is still open: an even profile comes first, with 3 chances in 10.",
        ),
    ],
)
def test_an_even_profile_is_a_verdict_too(confidence: Confidence, said: str):
    one = verdict("even", CHANCES[confidence], confidence)
    assert plain(verdict_sentence(LIFTER, one)) == said


@pytest.mark.parametrize(
    ("known", "said", "sure"),
    [
        (
            "nothing",
            "Nothing is known yet about what holds Mara back.",
            "No sets are written down.",
        ),
        (
            "little",
            "It is too early to say what holds Mara back.",
            "Too few lifts are known about.",
        ),
    ],
)
def test_without_evidence_there_is_no_verdict_and_no_chance(known: Known, said: str, sure: str):
    """Six chances in ten for an even profile is what the model says of anyone."""
    one = verdict("even", 0.61, "open", "legs", 0.12, known)
    assert verdict_sentence(COACH, one) == said
    assert confidence_sentence(COACH.words, one) == sure
    assert second_sentence(COACH, one) == ""
    worth = worth_sentence(COACH, one, qualities("even", 0.61))
    assert worth.startswith("It takes three different lifts, each with a set to the limit")
    junior = worth_sentence(replace(COACH, junior=True), one, qualities("even", 0.61))
    assert not re.search(r"limit|miss|single", junior)


def every_sentence(voice: Voice) -> list[str]:
    """All that is said about a verdict, for every limiter and degree of sureness."""
    said = []
    for limiter in LIMITERS:
        for confidence in get_args(Confidence):
            one = verdict(limiter, CHANCES[confidence], confidence)
            said += [
                verdict_sentence(voice, one),
                second_sentence(voice, one),
                worth_sentence(voice, one, qualities(limiter, one.chance)),
                confidence_sentence(voice.words, one),
            ]
    for known in ("nothing", "little"):
        one = verdict("even", 0.61, "open", known=known)
        said += [
            verdict_sentence(voice, one),
            second_sentence(voice, one),
            worth_sentence(voice, one, qualities("even", 0.61)),
            confidence_sentence(voice.words, one),
        ]
    return [sentence for sentence in said if sentence]


@pytest.mark.parametrize("units", ["kg", "lb"])
@pytest.mark.parametrize("you", [True, False])
def test_no_sentence_hedges_twice_or_is_falsely_precise(you: bool, units: Units):
    club = replace(CLUB, units=units)
    for sentence in every_sentence(voice_for(club, NORMS, "Mara", you=you)):
        assert len(HEDGES.findall(sentence)) <= 1, sentence
        assert not re.search(r"\d\.\d", sentence), sentence
        assert not re.search(r"\b1 (kilos|pounds|chances)\b", plain(sentence)), sentence
        assert "−0" not in sentence
        assert sentence[0].isupper()
        assert sentence.endswith((".", ")."))


@pytest.mark.parametrize("you", [True, False])
def test_the_lifter_is_spoken_to_and_the_coach_reads_a_name(you: bool):
    for sentence in every_sentence(voice_for(CLUB, NORMS, "Mara", you=you)):
        assert not (you and "Mara" in sentence), sentence
        assert you or not re.search(r"\byour?\b", sentence), sentence


def test_what_it_would_be_worth_is_said_in_whole_kilos_with_an_interval():
    said = worth_sentence(COACH, verdict(), qualities())
    assert plain(said) == (
        "If it caught up with the rest, the total would grow by about 6 kilos (1 to 11)."
    )


def with_kilos(kilos: float) -> dict[str, QualityReading]:
    return {key: replace(one, kilos=kilos) for key, one in qualities().items()}


def test_less_than_a_kilo_is_not_called_nought_kilos():
    said = worth_sentence(COACH, verdict(), with_kilos(0.3))
    assert said == "Bringing it level with the rest would add less than 1 kilo to the total."


def test_an_even_profile_says_that_no_quality_costs_much():
    even: Verdict = verdict("even", 0.9, "clear")
    assert worth_sentence(COACH, even, with_kilos(2.2)) == (
        "No single quality costs more than 2 kilos on the total."
    )
    assert worth_sentence(COACH, even, with_kilos(0.1)) == (
        "No single quality costs as much as 1 kilo on the total."
    )


def test_what_the_answer_rests_on_is_named_and_what_hardly_matters_is_not():
    """The power clean moves 7 in 10 to 4 in 10; the clean and jerk moves it by a hundredth."""
    said = rests_sentences(COACH, qualities()["clean_turnover"])
    assert [plain(one) for one in said] == [
        "The power clean speaks for it: without those sets it would be 4 chances in 10."
    ]


def test_lifts_that_surely_stand_out_are_named():
    said = strong_and_low(COACH, profile().lifts)
    assert said == (
        "Strong for this level: front squat and power clean.",
        "Low for this level: clean.",
    )


def test_a_ratio_is_set_beside_the_usual_range():
    above, usual, unclear = profile().ratios
    assert plain(ratio_sentence(COACH, above, "Look at the turnover.")) == (
        "Power clean is 96% of the clean, above the usual 84 to 92%. Look at the turnover."
    )
    assert plain(ratio_sentence(COACH, replace(above, chance_above=0.81), "")) == (
        "Power clean is 96% of the clean, above the usual 84 to 92% (8 chances in 10)."
    )
    assert plain(ratio_sentence(COACH, usual, "")) == (
        "Snatch is 83% of the clean and jerk, within the usual 78 to 84%."
    )
    assert plain(ratio_sentence(COACH, unclear, "")) == (
        "Back squat to clean and jerk cannot be told yet; usual is 125 to 138%."
    )


STRONG_LEGS = RatioReading(
    "back_squat", "clean_and_jerk", 1.42, 1.39, 1.45, 1.25, 1.38, "above", 0.0, 0.97, "x"
)


def meaning_of(ratio: RatioReading, readings: Qualities, limiter: Limiter) -> str:
    (usual,) = (
        one
        for one in NORMS.usual_ratios
        if (one.numerator, one.denominator) == (ratio.numerator, ratio.denominator)
    )
    return ratio_meaning(COACH, usual, ratio, limiter, readings)


def scored(**scores: float) -> dict[Quality, QualityReading]:
    """Six readings at usual but for these."""
    return {
        quality: replace(reading, score=scores.get(quality, 0.0))
        for quality, reading in qualities().items()
    }


def test_strong_legs_point_to_what_this_lifter_lacks_and_to_nothing_at_usual():
    low = scored(overhead=-1.9, pull=-0.1, speed=0.3)
    assert meaning_of(STRONG_LEGS, low, "overhead") == (
        "Strong legs that the lifts do not show. Look at strength overhead."
    )
    two = scored(overhead=-1.9, speed=-0.8)
    assert meaning_of(STRONG_LEGS, two, "overhead").endswith(
        "Look at strength overhead and bar speed."
    )
    assert meaning_of(STRONG_LEGS, scored(), "even") == "Strong legs that the lifts do not show."


def test_a_ratio_that_points_only_to_usual_qualities_is_no_reason_for_the_answer():
    """A push press low for the jerk, of a lifter whose bar is slow and whose press is as usual."""
    low_press = RatioReading(
        "push_press", "jerk", 0.73, 0.7, 0.75, 0.75, 0.87, "below", 0.9, 0.0, "x"
    )
    slow = profile(
        ratios=(low_press, STRONG_LEGS),
        qualities=scored(speed=-1.7, overhead=0.2),
        verdict=verdict("speed"),
    )
    (said,) = (one for one in why_section(COACH, slow, NORMS).blocks if isinstance(one, Bullets))
    reasons = " ".join(said.items)
    assert "Push press is" not in reasons
    assert "overhead" not in reasons
    assert plain(reasons).count("Back squat is 142% of the clean and jerk") == 1
    assert meaning_of(low_press, slow.qualities, "speed") == (
        "The jerk lives from dropping under the bar."
    )


def test_when_everything_rose_the_competition_lifts_are_named_and_the_rest_counted():
    rose = [LiftChange(lift, 80, 84, 4, 2, 6, "rose") for lift in NORMS.lifts]
    rose.append(LiftChange("clean_and_jerk", 100, 104, 4, 2, 6, "rose"))
    change = Change(TODAY, "Summer", tuple(rose), "legs", 0.5)
    said = change_sentence(COACH, change, verdict("legs"), {one.lift for one in rose})
    assert plain(said) == (
        "Up by more than the noise of a test: snatch, clean and jerk, hang power snatch and "
        f"{len(rose) - 3} more. Leg strength came first then too, with 5 chances in 10."
    )


def test_a_lift_nobody_tested_since_is_up_because_the_others_are():
    moved = (
        LiftChange("snatch", 80, 84, 4, 2, 6, "rose"),
        LiftChange("push_press", 70, 73, 3, 1, 5, "rose"),
        LiftChange("clean_pull", 120, 116, -4, -7, -1, "fell"),
        LiftChange("press", 50, 51, 1, -1, 3, "unclear"),
    )
    change = Change(TODAY, "Summer", moved, "legs", 0.5)
    assert plain(change_sentence(COACH, change, verdict("legs"), {"snatch"})).startswith(
        "Up by more than the noise of a test: snatch. Up, as follows from the other lifts: push "
        "press. Down, as follows from the other lifts: clean pull. "
    )
    words = COACH.words
    assert change_label(words, "rose", seen=False) == "rose, as follows from the other lifts"
    assert change_label(words, "unclear", seen=False) == "cannot tell yet"


@pytest.mark.parametrize(
    ("evidence", "written", "meaning"),
    [
        (row("made", 84), "84 kg, made", "worth at least 84 kg"),
        (
            row("max", 84, says_kg=84, says_low_kg=82.2, says_high_kg=86.1),
            "84 kg, made, nothing left",
            "worth about 84 kg (82 to 87)",
        ),
        (
            row("reps", 120, reps=3, in_reserve=1.0, says_kg=131.2),
            "120 kg × 3, made, 1 left in reserve",
            "worth about 131 kg",
        ),
        (
            row("bound", 70, reps=3, in_reserve=1.0),
            "70 kg × 3, made, 1 left in reserve",
            "worth at least 70 kg",
        ),
        (row("bound", 70, reps=5), "70 kg × 5, made", "worth at least 70 kg"),
        (row("missed", 87, missed="lift"), "87 kg, missed", "too heavy that day, or a slip"),
        (
            row("missed", 104, missed="jerk"),
            "104 kg, cleaned, missed at the jerk",
            "clean worth at least 104 kg; the jerk was too heavy, or a slip",
        ),
        (
            row("made", 70, used=False),
            "70 kg, made",
            "nothing that heavier sets nearby do not say",
        ),
    ],
)
def test_every_row_says_what_was_written_and_what_it_was_taken_to_mean(
    evidence, written: str, meaning: str
):
    said = f"{written_set(COACH, evidence, 'kg')}, {written_detail(COACH, evidence)}"
    assert plain(said) == written
    assert plain(taken_to_mean(COACH, evidence)) == meaning


def test_every_kind_of_evidence_has_words():
    kinds = get_args(inspect.get_annotations(type(row()), eval_str=True)["kind"])
    for kind in kinds:
        assert written_detail(COACH, row(kind))
        assert taken_to_mean(COACH, row(kind))


def test_only_rows_that_counted_can_be_unexpected():
    assert unexpected(row(surprise=0.01))
    assert not unexpected(row(surprise=0.01, used=False))
    assert not unexpected(row(surprise=0.4))


def engine_codes() -> set[str]:
    """Every code the engine can say, read from its source."""
    tree = ast.parse(inspect.getsource(engine_assumptions))
    return {
        call.args[0].value
        for call in ast.walk(tree)
        if isinstance(call, ast.Call)
        and isinstance(call.func, ast.Name)
        and call.func.id in {"say", "Assumption"}
        and call.args
        and isinstance(call.args[0], ast.Constant)
    }


def test_every_code_of_the_engine_has_a_sentence():
    codes = engine_codes()
    assert {"no_body_mass", "typing_mistake"} <= codes
    assert codes <= set(assumption_patterns(COACH))


def test_a_long_set_of_a_quick_lift_is_explained():
    said = assumption_sentence(COACH, Assumption("long_quick_sets", {"rows": 1, "reps": 3.0}))
    assert said == (
        "1 set of a snatch, clean or jerk goes beyond 3 reps, those left counted in: technique "
        "ends such a set, not strength, so it only says “at least”."
    )


def test_assumptions_read_well_in_singular_and_plural():
    one = assumption_sentence(COACH, Assumption("reps_without_reserve", {"rows": 1}))
    many = assumption_sentence(COACH, Assumption("reps_without_reserve", {"rows": 4}))
    assert one.startswith("1 set of several reps does not say")
    assert many.startswith("4 sets of several reps do not say")


def test_values_are_written_by_what_they_are():
    said = assumption_sentence(COACH, profile().warnings[0])
    assert plain(said) == (
        "Line 20: snatch with 184 kg on 17 November 2026 looks like a typing mistake; the other "
        "rows say about 84.5 kg. Please check it."
    )


@pytest.mark.parametrize(
    "strange", [Assumption("moon_phase", {"on": "not a day"}), Assumption("typing_mistake", {})]
)
def test_a_code_nobody_has_words_for_is_told_in_a_general_way(strange: Assumption):
    assert assumption_sentence(COACH, strange).startswith("Also taken into account: ")


def test_every_quality_has_a_name_a_label_and_an_explanation():
    for quality in QUALITIES:
        texts = quality_words(COACH.words, quality)
        assert quality_name(COACH.words, quality)
        assert quality_label(COACH.words, quality)
        assert texts.is_about
        assert texts.shows
        assert texts.looks
        assert texts.how
        assert {lift for one in texts.looks for lift in one.lifts} <= set(NORMS.lifts)


@pytest.mark.parametrize("you", [True, False])
def test_nobody_under_18_reads_advice_about_maximal_singles(you: bool):
    voice = replace(COACH, junior=True, you=you)
    said = " ".join([short_caution(voice), *cautions(voice)])
    assert not re.search(r"heavy singles|load the bar", said, re.I)
    assert re.search(r"advises no attempt at a maximum", said)
    for quality in QUALITIES:
        assert not re.search(r"single|maxim", what_to_look_at(voice, quality, ()), re.I)


def test_everyone_is_told_to_stop_where_it_hurts():
    for voice in (COACH, replace(COACH, junior=True)):
        assert any("licensed professional" in one for one in cautions(voice))
        assert any("federation" in one for one in cautions(voice))


def test_no_term_of_the_glossary_is_there_twice():
    terms = glossary(COACH.words)
    spellings = [spelling for term in terms for spelling in (term.name, *term.also)]
    assert len(spellings) == len(set(spellings))
    assert len({term.id for term in terms}) == len(terms)
