"""Properties of a whole profile, written as statements about lifting."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from profilegen.engine.assess import profile_of
from profilegen.engine.inference import fit, propagate
from profilegen.engine.limits import limits_on
from profilegen.engine.posterior import N_QUALITIES, Z90, Posterior
from profilegen.engine.profile import Profile
from profilegen.history.load import load_squad
from profilegen.history.records import (
    Athlete,
    Avoid,
    Best,
    Build,
    PlannedMeet,
    Session,
    SetRecord,
)
from profilegen.norms.catalogue import QUALITIES, with_own_lifts
from tests.engine.handmade import (
    CLUB,
    NORMS,
    TODAY,
    ago,
    lifter,
    made,
    maximal,
    missed,
    session,
    usual_lifter,
)

DEMO = Path(__file__).parents[2] / "athletes"
DEMO_DAY = date(2026, 11, 24)
LB = 0.45359237


def profile(athlete: Athlete, on: date = TODAY) -> Profile:
    return profile_of(athlete, NORMS, on, CLUB)


def estimates(found: Profile) -> dict[str, float]:
    return {lift: e.estimate_kg for lift, e in found.lifts.items()}


def diary() -> Athlete:
    """Every kind of row there is, over a year and a half."""
    return lifter(
        session(
            made("snatch", 80.0), made("snatch", 84.0), missed("snatch", 87.0),
            maximal("clean_and_jerk", 104.0), missed("clean_and_jerk", 107.0, "jerk"),
            made("front_squat", 115.0, 3, in_reserve=1.0),
        ),
        session(
            made("back_squat", 100.0, speed_m_s=0.68), made("back_squat", 130.0, speed_m_s=0.38),
            made("back_squat", 113.0, speed_m_s=0.53), made("back_squat", 121.0, speed_m_s=0.47),
            maximal("power_snatch", 70.0), made("snatch_deadlift", 110.0, looked="steady"),
            made("clean_pull", 115.0, share=0.95), made("press", 50.0, 5), days_ago=14,
        ),
        session(
            made("snatch", 82.0), made("clean_and_jerk", 100.0), missed("clean_and_jerk", 106.0),
            days_ago=60, at="meet",
        ),
        session(made("snatch", 75.0), made("clean", 95.0), days_ago=62, at="training"),
        session(made("snatch", 60.0), made("back_squat", 120.0, 5), days_ago=250, at="training"),
        session(made("jerk", 98.0), maximal("push_press", 80.0), days_ago=250, at="training"),
        bests=(
            Best("snatch", 85.0, ago(400), 15.0), Best("clean_deadlift", 150.0, ago(300), 183.0),
            Best("clean_and_jerk", 105.0, ago(400), 0.0, "recorded"),
        ),
        meets=(PlannedMeet(ago(-20), "Winter Open", 190.0),),
    )  # fmt: skip


def test_entering_the_sets_in_another_order_changes_no_byte_of_the_profile() -> None:
    athlete = diary()
    rng = np.random.default_rng(8)
    for _ in range(3):
        sessions = [
            replace(s, sets=tuple(s.sets[i] for i in rng.permutation(len(s.sets))))
            for s in athlete.sessions
        ]
        sessions = [sessions[i] for i in rng.permutation(len(sessions))]
        shuffled = replace(
            athlete,
            sessions=tuple(sorted(sessions, key=lambda s: s.on)),
            bests=tuple(athlete.bests[i] for i in rng.permutation(len(athlete.bests))),
        )
        assert repr(profile(shuffled)) == repr(profile(athlete))


def test_the_same_history_gives_the_same_profile_to_the_last_byte() -> None:
    assert repr(profile(diary())) == repr(profile(diary()))


def test_entering_the_loads_in_pounds_changes_nothing_but_rounding() -> None:
    """Pounds written to a tenth are 0.05 % of a light set: no lift moves by more."""
    athlete = diary()

    def pounds(kg: float) -> float:
        return round(kg / LB, 1) * LB

    in_lb = replace(
        athlete,
        sessions=tuple(
            replace(s, sets=tuple(replace(e, load_kg=pounds(e.load_kg)) for e in s.sets))
            for s in athlete.sessions
        ),
        bests=tuple(replace(b, load_kg=pounds(b.load_kg)) for b in athlete.bests),
    )
    before, after = profile(athlete), profile(in_lb)
    for lift, kg in estimates(before).items():
        assert estimates(after)[lift] == pytest.approx(kg, rel=5e-4)
    for quality in QUALITIES:
        assert after.qualities[quality].chance_limiting == pytest.approx(
            before.qualities[quality].chance_limiting, abs=0.01
        )


def test_a_clean_and_jerk_missed_at_the_jerk_raises_the_chance_that_overhead_limits() -> None:
    chance = [
        profile(usual_lifter(*(session(*misses, days_ago=9) for misses in (jerks,) if jerks)))
        .qualities["overhead"]
        .chance_limiting
        for jerks in ((), (missed("clean_and_jerk", 97.0, "jerk"),))
    ]
    assert chance[1] > chance[0]


def test_one_extra_missed_warm_up_hardly_moves_anything() -> None:
    """Under half a percent of any lift: flukes happen, mostly with light weights."""
    before = estimates(profile(usual_lifter()))
    for lift, kg in (("snatch", 60.0), ("clean_and_jerk", 75.0), ("back_squat", 100.0)):
        after = estimates(profile(usual_lifter(session(missed(lift, kg), days_ago=9))))
        for name, value in before.items():
            assert after[name] == pytest.approx(value, rel=0.005), (lift, name)


def test_a_lifter_without_a_back_squat_gets_one_from_the_front_squat() -> None:
    """The interval holds front squat x the usual share, and says that it was inferred."""
    athlete = lifter(
        session(maximal("front_squat", 120.0), maximal("snatch", 84.0), maximal("clean", 106.0))
    )
    squat = profile(athlete).lifts["back_squat"]
    share = NORMS.lifts["back_squat"].share.value / NORMS.lifts["front_squat"].share.value
    assert squat.low_kg < 120.0 * share < squat.high_kg
    assert squat.estimate_kg == pytest.approx(120.0 * share, rel=0.03)
    assert squat.basis == "inferred"
    assert squat.last_tested is None


@pytest.mark.parametrize("lift", ["snatch", "power_clean", "front_squat", "push_press"])
@pytest.mark.parametrize("kg", [40.0, 70.0, 90.0, 100.0, 115.0])
def test_a_made_single_never_lowers_that_lift(lift: str, kg: float) -> None:
    before = estimates(profile(usual_lifter()))[lift]
    after = estimates(profile(usual_lifter(session(made(lift, kg), days_ago=9))))[lift]
    assert after > before * (1.0 - 1e-4)


@pytest.mark.parametrize("kg", [70.0, 85.0, 95.0])
def test_a_missed_single_never_raises_that_lift(kg: float) -> None:
    before = estimates(profile(usual_lifter()))["snatch"]
    after = estimates(profile(usual_lifter(session(missed("snatch", kg), days_ago=9))))["snatch"]
    assert after < before * (1.0 + 1e-4)


def test_a_told_best_moves_less_than_a_seen_and_that_less_than_a_recorded() -> None:
    before = estimates(profile(usual_lifter()))["press"]
    moved = []
    for source in ("told", "seen", "recorded"):
        best = Best("press", 70.0, ago(20), 0.0, source)  # type: ignore[arg-type]
        moved.append(estimates(profile(replace(usual_lifter(), bests=(best,))))["press"] - before)
    assert 0.0 < moved[0] < moved[1] < moved[2]


def test_rows_later_than_the_profiles_day_do_not_count() -> None:
    athlete = usual_lifter(session(maximal("snatch", 95.0), days_ago=2), days_ago=40)
    known_then = usual_lifter(days_ago=40)
    assert repr(profile(athlete, ago(20))) == repr(profile(known_then, ago(20)))


def test_the_best_made_is_the_heaviest_single_that_went_up() -> None:
    snatch = profile(diary()).lifts["snatch"]
    assert (snatch.best_made_kg, snatch.best_made_on) == (84.0, ago(10))


def test_what_was_only_made_is_bounded_and_what_was_tried_to_the_limit_is_tested() -> None:
    lifts = profile(diary()).lifts
    assert lifts["snatch"].basis == "tested"
    assert lifts["press"].basis == "bounded"
    assert lifts["hang_clean"].basis == "inferred"
    assert lifts["clean_and_jerk"].basis == "tested"
    assert lifts["total"].basis == "tested"


def test_a_lift_tested_years_ago_is_inferred_again() -> None:
    athlete = usual_lifter(session(maximal("press", 55.0), days_ago=800))
    assert profile(athlete).lifts["press"].basis == "inferred"


def test_an_avoided_lift_is_inferred_and_marked() -> None:
    athlete = replace(usual_lifter(), avoid=(Avoid("press"),))
    assert profile(athlete).lifts["press"].avoided
    assert not profile(athlete).lifts["snatch"].avoided


def test_clean_and_jerk_never_exceeds_its_parts_nor_the_total_its_two() -> None:
    lifts = estimates(profile(diary()))
    assert lifts["clean_and_jerk"] <= min(lifts["clean"], lifts["jerk"]) * 1.001
    assert lifts["total"] == pytest.approx(lifts["snatch"] + lifts["clean_and_jerk"], rel=0.005)


def test_a_lifter_of_usual_shares_is_even_and_lies_on_what_is_usual() -> None:
    found = profile(usual_lifter())
    assert found.verdict.limiter == "even"
    for lift, e in found.lifts.items():
        if e.relative is not None and e.relative_low is not None and e.relative_high is not None:
            assert abs(e.relative) < 0.02, lift
            assert e.relative_low < e.relative < e.relative_high


def test_pointers_say_what_each_tested_lift_alone_would_lead_one_to_expect() -> None:
    for pointer in profile(usual_lifter()).pointers:
        usual = {"clean": 100.0, "snatch": 79.0}[pointer.target]
        assert pointer.low_kg < usual < pointer.high_kg
        assert pointer.expected_kg == pytest.approx(usual, rel=0.05)
        assert pointer.lift != pointer.target


def test_a_lifter_nobody_wrote_about_gets_what_is_usual_and_a_warning() -> None:
    found = profile(lifter())
    assert [w.code for w in found.warnings] == ["no_evidence"]
    clean = found.lifts["clean"]
    assert clean.low_kg < NORMS.constant("usual_clean_kg_M") < clean.high_kg
    assert clean.high_kg > 1.5 * clean.low_kg


def printed(posterior: Posterior) -> list[int]:
    """Loads to half a kilo, chances to whole percents, as the pages round them."""
    mean, cov = posterior.state()
    half = Z90 * np.sqrt(np.diag(cov))
    logs = np.concatenate([(mean + side * half)[N_QUALITIES:] for side in (-1.0, 0.0, 1.0)])
    limits = limits_on(posterior)
    chances = 100.0 * np.array([*limits.chances.values(), limits.chance_even])
    return [*np.rint(2.0 * np.exp(logs)).astype(int), *np.rint(chances).astype(int)]


def test_rows_that_say_nothing_change_no_printed_number_of_the_demo_squad() -> None:
    """All rows in, against the rows that were used: half kilos and percents stay.

    A number may lie on the edge of two roundings, so one in three hundred may turn over
    by its last digit.
    """
    squad = load_squad(DEMO, NORMS.lifts, today=DEMO_DAY)
    norms = with_own_lifts(NORMS, squad.club.own_lifts)
    same, turned = 0, 0
    for athlete in squad.athletes:
        screened = fit(athlete, norms, DEMO_DAY)
        if screened.used.all():
            continue
        everything = np.ones(len(screened.rows), dtype=bool)
        every = propagate(screened.prior, screened.rows, everything, norms, DEMO_DAY)
        for a, b in zip(printed(screened), printed(every), strict=True):
            assert abs(a - b) <= 1
            same, turned = same + (a == b), turned + (a != b)
    assert same > 300
    assert turned <= same / 300


LIFTS = ("snatch", "clean", "jerk", "power_clean", "front_squat", "back_squat", "clean_pull")
KG = st.floats(20.0, 200.0).map(lambda kg: round(2.0 * kg) / 2.0)


@st.composite
def sets(draw: st.DrawFn) -> SetRecord:
    """Any one row a coach may write."""
    lift = draw(st.sampled_from((*LIFTS, "clean_and_jerk")))
    how = draw(st.sampled_from(("made", "max", "reps", "looked", "share", "speed", "missed")))
    kg = draw(KG)
    if how == "missed":
        part = draw(st.sampled_from(("lift", "clean", "jerk")))
        return missed(lift, kg, part if lift == "clean_and_jerk" else "lift")
    reps = draw(st.integers(1, 10))
    said = {
        "made": {},
        "max": {"effort_max": True},
        "reps": {"in_reserve": draw(st.integers(0, 8)) / 2.0},
        "looked": {"looked": draw(st.sampled_from(("easy", "steady", "grind")))},
        "share": {"share": draw(st.floats(0.3, 1.05))},
        "speed": {"speed_m_s": draw(st.floats(0.05, 2.5))},
    }[how]
    return made(lift, kg, reps, **said)


@st.composite
def athletes(draw: st.DrawFn) -> Athlete:
    """Any history: contradicting rows, wild loads, meets the day after, any age."""
    days = draw(st.lists(st.integers(0, 900), min_size=0, max_size=4, unique=True))
    sessions = [
        Session(
            on=ago(day),
            at=draw(st.sampled_from(("testing", "training", "meet"))),
            body_mass_kg=draw(st.none() | st.floats(35.0, 160.0)),
            sets=tuple(draw(st.lists(sets(), max_size=6))),
        )
        for day in days
    ]
    best = st.builds(
        Best,
        st.sampled_from((*LIFTS, "clean_and_jerk")),
        KG,
        st.integers(0, 1500).map(ago),
        st.sampled_from((0.0, 15.0, 183.0)),
        st.sampled_from(("told", "seen", "recorded")),
    )
    return lifter(
        *sessions,
        bests=tuple(draw(st.lists(best, max_size=2))),
        sex=draw(st.sampled_from("FM")),
        born=TODAY - timedelta(days=draw(st.integers(12 * 365, 60 * 365))),
        build=draw(st.sampled_from((Build(), Build(thighs="long"), Build(torso="long")))),
        meets=(PlannedMeet(ago(draw(st.integers(-30, 300))), "Open"),),
    )


@settings(max_examples=40, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(athletes())
def test_any_history_gives_ordered_intervals_and_chances_that_sum_to_one(athlete: Athlete) -> None:
    """Also one of rows that contradict each other: no crash, no infinity, no chance over 1."""
    found = profile(athlete)
    for e in found.lifts.values():
        assert 0.0 < e.low_kg < e.estimate_kg < e.high_kg < 2000.0
    for q in found.qualities.values():
        assert q.low < q.score < q.high
        assert 0.0 <= q.kilos_low <= q.kilos_high
        assert 0.0 <= q.chance_limiting <= 1.0
        assert all(0.0 <= r.chance_without <= 1.0 for r in q.rests_on)
    chances = [q.chance_limiting for q in found.qualities.values()]
    assert sum(chances) + found.chance_even == pytest.approx(1.0, abs=1e-9)
    for ratio in found.ratios:
        assert 0.0 < ratio.low < ratio.value < ratio.high
    for track in found.tracks.values():
        rows = zip(track.low_kg, track.estimate_kg, track.high_kg, strict=True)
        assert all(0.0 < low < mid < high for low, mid, high in rows)
    for reading in found.evidence:
        assert reading.surprise is None or 0.0 <= reading.surprise <= 1.0
    for pointer in found.pointers:
        assert 0.0 < pointer.low_kg < pointer.expected_kg < pointer.high_kg


def test_hearsay_is_no_test() -> None:
    """It may say how much a lift is; nobody tested it on a day that nobody named."""
    bests = (
        Best("snatch", 80.0, date(2026, 7, 2), 182.5, "recorded"),
        Best("clean", 100.0, ago(40), 0.0, "told"),
        Best("front_squat", 113.0, ago(40), 0.0, "recorded"),
    )
    lifts = profile_of(lifter(bests=bests), NORMS, TODAY, CLUB).lifts
    assert lifts["snatch"].last_tested is None
    assert lifts["clean"].last_tested is None
    assert lifts["front_squat"].last_tested == ago(40)


@pytest.mark.parametrize("lift", ["snatch", "hang_snatch", "push_press", "block_clean"])
def test_no_attempts_are_planned_of_a_lift_much_like_one_to_avoid(lift: str) -> None:
    meet = PlannedMeet(TODAY + timedelta(days=30), "Cup")
    athlete = replace(usual_lifter(), avoid=(Avoid(lift),), meets=(meet,))
    found = profile_of(athlete, NORMS, TODAY, CLUB)
    (day,) = found.meets
    assert day.avoided
    assert (day.plans, day.chances, day.warm_up) == ((), (), ())
    assert lift in found.not_proposed
    assert found.not_proposed == tuple(sorted(found.not_proposed))
