"""A hand-made club, lifter and profile: invented numbers that look like the real thing.

For tests of words and pages, so that they need no engine. `profile()` takes what a test
wants to be different.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from profilegen.engine.profile import (
    Assumption,
    Basis,
    Change,
    Confidence,
    Diagnostics,
    EvidenceReading,
    Known,
    LiftChange,
    LiftEstimate,
    Person,
    Pointer,
    Profile,
    QualityReading,
    RatioReading,
    RestsOn,
    Scaled,
    Track,
    Verdict,
)
from profilegen.history.records import (
    Athlete,
    Club,
    Mark,
    OwnLift,
    Session,
    SetRecord,
    Sharing,
    TestingWeek,
)
from profilegen.norms.catalogue import QUALITIES, Limiter, Quality, load_norms, with_own_lifts

TODAY = date(2026, 11, 21)

CLUB = Club(
    name="Sample Barbell Club",
    testing_weeks=(
        TestingWeek(date(2026, 7, 13), date(2026, 7, 19), "Summer 2026"),
        TestingWeek(date(2026, 11, 16), date(2026, 11, 22), "Autumn 2026"),
    ),
    own_lifts=(OwnLift("pin_front_squat", "Pin front squat", "front_squat", 0.92),),
    marks=(Mark("Record", "F", 64, total_kg=190), Mark("Record", "F", None, total_kg=210)),
    accent="#0b6b62",
)
NORMS = with_own_lifts(load_norms(), CLUB.own_lifts)

ATHLETE = Athlete(
    id="mara",
    name="Mara Veldt",
    sex="F",
    born=date(2004, 3, 18),
    group="evening",
    sharing=Sharing("open", "name", "shown", stated=True),
    sessions=(
        Session(date(2026, 7, 14), "testing", 63.1, (SetRecord("snatch", 82, line=11),)),
        Session(date(2026, 11, 17), "testing", 63.4, (SetRecord("snatch", 84, line=20),)),
    ),
    notes="Strong *legs*.\n\n- tall cleans since summer\n",
    path="mara.yaml",
)


def lift(
    name: str, kg: float, half: float, basis: Basis = "tested", relative: float | None = 0.0
) -> LiftEstimate:
    """One estimate: `half` is half the interval in kg, `relative` in log units."""
    spread = half / kg
    return LiftEstimate(
        lift=name,
        estimate_kg=kg,
        low_kg=kg - half,
        high_kg=kg + half,
        basis=basis,
        avoided=False,
        best_made_kg=None if basis == "inferred" else kg - 1,
        best_made_on=None if basis == "inferred" else date(2026, 11, 17),
        last_tested=date(2026, 11, 17) if basis == "tested" else None,
        body_mass_multiple=kg / 63.4,
        usual_kg=None if relative is None else kg * (1 - relative),
        relative=relative,
        relative_low=None if relative is None else relative - spread,
        relative_high=None if relative is None else relative + spread,
    )


def qualities(
    limiter: Limiter = "clean_turnover", chance: float = 0.72
) -> dict[Quality, QualityReading]:
    """Six readings, the limiter low and the others near usual."""
    readings: dict[Quality, QualityReading] = {}
    for i, quality in enumerate(QUALITIES):
        low = quality == limiter
        readings[quality] = QualityReading(
            quality=quality,
            score=-1.63 if low else 0.1 * i - 0.02,
            low=-2.4 if low else -0.9,
            high=-0.8 if low else 1.1,
            kilos=6.3 if low else 0.4,
            kilos_low=1.7 if low else 0.0,
            kilos_high=10.6 if low else 2.2,
            chance_limiting=chance if low else 0.04,
            rests_on=(RestsOn("power_clean", 0.41), RestsOn("clean_and_jerk", 0.71)) if low else (),
        )
    return readings


def verdict(
    limiter: Limiter = "clean_turnover",
    chance: float = 0.72,
    confidence: Confidence = "likely",
    second: Limiter | None = "legs",
    second_chance: float = 0.13,
    known: Known = "enough",
) -> Verdict:
    """A verdict."""
    return Verdict(limiter, chance, confidence, 6.3, second, second_chance, known)


def row(
    kind: Any = "made",
    load_kg: float = 84,
    *,
    lift: str = "snatch",
    on: date = date(2026, 11, 17),
    line: int = 20,
    used: bool = True,
    **changes: Any,
) -> EvidenceReading:
    """One row of evidence."""
    plain = EvidenceReading(
        on=on,
        at="testing",
        lift=lift,
        load_kg=load_kg,
        kind=kind,
        reps=1,
        in_reserve=None,
        missed=None,
        speed_m_s=None,
        share=None,
        says_kg=None,
        says_low_kg=None,
        says_high_kg=None,
        used=used,
        surprise=None,
        note=None,
        line=line,
    )
    return replace(plain, **changes)


EVIDENCE = (
    row("made", 80, on=date(2026, 7, 14), line=10, used=False),
    row("made", 82, on=date(2026, 7, 14), line=11),
    row("max", 84, line=20, says_kg=84, says_low_kg=82, says_high_kg=86.1),
    row("missed", 87, line=21, missed="lift", surprise=0.3),
    row("missed", 104, lift="clean_and_jerk", line=22, missed="jerk"),
    row(
        "reps",
        120,
        lift="front_squat",
        line=23,
        reps=3,
        in_reserve=1.0,
        says_kg=131,
        says_low_kg=125.5,
        says_high_kg=136.2,
        note="last one slow",
        video="https://video.example/mara-front-squat",
    ),
    row("told", 140, lift="snatch_deadlift", line=24, says_kg=140, surprise=0.01),
)


def track(lift: str, kg: float) -> Track:
    """A rising estimate on three days."""
    days = (date(2025, 11, 17), date(2026, 7, 14), date(2026, 11, 21))
    middle = (kg * 0.95, kg * 0.98, kg)
    return Track(
        lift, days, middle, tuple(0.97 * one for one in middle), tuple(1.03 * one for one in middle)
    )


def profile(**changes: Any) -> Profile:
    """Mara's profile: the clean is lost on the way under the bar."""
    lifts = (
        lift("power_snatch", 72.4, 3.2, "inferred", 0.01),
        lift("snatch", 84.26, 2.1, relative=0.012),
        lift("power_clean", 97.8, 2.4, relative=0.061),
        lift("clean", 102.1, 2.9, "bounded", -0.052),
        lift("jerk", 106.0, 4.0, "bounded", 0.004),
        lift("front_squat", 131.2, 4.1, relative=0.071),
        lift("pin_front_squat", 119.4, 8.0, "inferred", 0.05),
        lift("back_squat", 148.0, 9.2, "inferred", 0.03),
        lift("snatch_deadlift", 140.0, 7.0, relative=0.02),
        lift("clean_and_jerk", 101.3, 2.8, relative=None),
        lift("total", 185.7, 4.2, relative=None),
    )
    made = Profile(
        athlete=Person("mara", "Mara Veldt", "F", 22, 63.4, "evening", junior=False),
        on=TODAY,
        lifts={one.lift: one for one in lifts},
        ratios=(
            RatioReading(
                "power_clean",
                "clean",
                0.958,
                0.93,
                0.987,
                0.84,
                0.92,
                "above",
                0.0,
                0.97,
                "common practice",
            ),
            RatioReading(
                "snatch",
                "clean_and_jerk",
                0.832,
                0.80,
                0.861,
                0.78,
                0.84,
                "usual",
                0.01,
                0.3,
                "iwf_results_db",
            ),
            RatioReading(
                "back_squat",
                "clean_and_jerk",
                1.46,
                1.32,
                1.6,
                1.25,
                1.38,
                "unclear",
                0.01,
                0.7,
                "takano_squat",
            ),
        ),
        qualities=qualities(),
        chance_even=0.06,
        verdict=verdict(),
        evidence=EVIDENCE,
        tracks={
            name: track(name, kg)
            for name, kg in (
                ("snatch", 84.26),
                ("front_squat", 131.2),
                ("clean_and_jerk", 101.3),
                ("total", 185.7),
            )
        },
        assumptions=(
            Assumption("reps_without_reserve", {"rows": 1}),
            Assumption("hearsay", {"rows": 2}),
        ),
        warnings=(
            Assumption(
                "typing_mistake",
                {
                    "lift": "snatch",
                    "load_kg": 184.0,
                    "on": "2026-11-17",
                    "line": 20,
                    "percent_off": 120.0,
                    "expected_kg": 84.3,
                },
            ),
        ),
        scaled=(
            Scaled("Sinclair 2017-2020", 242.6, 237.0, 248.1, "wikipedia_sinclair", True),
            Scaled("Huebner et al. 2023", 252.8, 247.0, 258.6, "huebner2023", True),
        ),
        diagnostics=Diagnostics(12, True, 7, 6, 2e-7),
        pointers=(
            Pointer("power_clean", "clean", 110.2, 102.0, 119.0),
            Pointer("front_squat", "clean", 116.0, 104.0, 128.0),
            Pointer("snatch", "clean", 105.0, 96.0, 115.0),
            Pointer("power_clean", "snatch", 86.0, 78.0, 94.0),
        ),
        change=Change(
            date(2026, 7, 19),
            "Summer 2026",
            (
                LiftChange("snatch", 82.1, 84.3, 2.2, 0.4, 4.1, "rose"),
                LiftChange("front_squat", 130.0, 131.2, 1.2, -2.1, 4.4, "unclear"),
                LiftChange("clean_and_jerk", 101.0, 101.3, 0.3, -1.0, 1.5, "same"),
            ),
            "legs",
            0.44,
        ),
    )
    return replace(made, **changes)


def junior_profile() -> Profile:
    """The same numbers of someone under 18."""
    made = profile()
    return replace(made, athlete=replace(made.athlete, age=15, junior=True))
