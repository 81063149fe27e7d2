"""Charts of every form with invented numbers, hostile words and awkward corners."""

from __future__ import annotations

import math
from datetime import date, timedelta

from profilegen.report.chart import (
    Axis,
    Curve,
    Drawable,
    EvidenceMark,
    HeatCell,
    HeatRow,
    HeatTable,
    IntervalRow,
    IntervalRows,
    Mark,
    Scatter,
    ScatterPoint,
    Step,
    Tone,
    Trend,
    TrendMark,
    Waterfall,
)

HOSTILE = "</script><b onmouseover='x'>&amp; \"Zoë\" ]]> <!--"


def strip() -> IntervalRows:
    """Lifts from fast to slow against the lifter's own level, in percent."""
    lifts: list[tuple[str, float, float, Mark, Tone, str]] = [
        ("Power snatch", 4.5, 2.0, "tested", "strong", "70 kg (68–72)"),
        ("Snatch", 1.5, 1.2, "tested", "plain", "84.5 kg (83–86)"),
        ("Hang snatch", 0.5, 3.5, "inferred", "plain", "80 kg (77–84)"),
        ("Power clean", 3.0, 2.5, "bounded", "plain", "91 kg (88–94)"),
        ("Clean", -0.5, 1.5, "tested", "plain", "106 kg (104–109)"),
        ("Jerk from rack", 1.0, 2.8, "bounded", "plain", "107 kg (103–111)"),
        ("Clean pull", -1.5, 4.0, "inferred", "muted", "117 kg (112–123)"),
        ("Paused front squat", -5.0, 2.6, "tested", "low", "107 kg (104–110)"),
        ("Front squat", -6.5, 2.0, "tested", "low", "113 kg (110–116)"),
        ("Back squat", -5.5, 4.5, "inferred", "low", "130 kg (123–137)"),
        ("Clean deadlift", 0.5, 3.6, "inferred", "plain", "133 kg (128–139)"),
    ]
    return IntervalRows(
        id="strip",
        title="Every lift from fast and light to slow and heavy",
        summary="The squats lie 5 to 7 % under what is usual; the quick lifts lie over it.",
        axis=Axis("% against the usual lift at this lifter's level", -14, 10),
        rows=tuple(
            IntervalRow(label, value, value - half, value + half, mark, text, tone, -3, 3)
            for label, value, half, mark, tone, text in lifts
        ),
        reference=0,
        reference_label="usual at this level",
        start_label="fast and light",
        end_label="slow and heavy",
    )


def ratios() -> IntervalRows:
    """Ratios beside usual ranges; no reference line, no words at the ends."""
    rows = [
        ("Snatch : clean and jerk", 0.83, 0.02, 0.78, 0.85, "tested"),
        ("Front squat : clean", 1.07, 0.03, 1.09, 1.18, "tested"),
        ("Power snatch : snatch", 0.83, 0.035, 0.80, 0.90, "bounded"),
        ("Back squat : front squat", 1.15, 0.05, 1.12, 1.20, "inferred"),
    ]
    marks: dict[str, Mark] = {"tested": "tested", "bounded": "bounded", "inferred": "inferred"}
    return IntervalRows(
        id="ratios",
        title="Lifts set against each other",
        summary="Only the front squat lies under its usual range.",
        axis=Axis("", 0.75, 1.25),
        rows=tuple(
            IntervalRow(
                label,
                value,
                value - half,
                value + half,
                marks[mark],
                f"{value:.2f}",
                "low" if value < low else "plain",
                low,
                high,
                note=f"usual {low:.2f}–{high:.2f}",
            )
            for label, value, half, low, high, mark in rows
        ),
    )


def kilos() -> Waterfall:
    """From the total today to the total with even qualities."""
    return Waterfall(
        id="kilos",
        title="Where the kilos are",
        summary="Most of what is missing hides behind the legs.",
        axis=Axis("kg on the total", 180, 215),
        steps=(
            Step("Total today", 190.5, "190.5 kg", 187, 194, total=True),
            Step("Legs", 9.5, "+9.5 kg", 6, 13, tone="low"),
            Step("Snatch turnover", 2, "+2 kg", 0.5, 4),
            Step("Overhead", 1.5, "+1.5 kg", 0, 3.5),
            Step("With all of them", 203.5, "203.5 kg", total=True, tone="good"),
        ),
    )


def bars() -> Waterfall:
    """Plain bars on both sides of zero."""
    return Waterfall(
        id="bars",
        title="Why the snatch is as good as it is",
        summary="Level gives the most, the turnover takes some away.",
        axis=Axis("kg against the squad's usual", -6, 12),
        steps=(
            Step("Level", 8.5, "+8.5 kg", tone="strong"),
            Step("Speed", 2.5, "+2.5 kg", 1, 4, tone="good"),
            Step("Snatch turnover", -4, "−4 kg", -5.5, -2.5, tone="low"),
            Step("The lift itself", 0.5, "+0.5 kg", tone="muted"),
        ),
    )


def trend(weeks: int = 100) -> Trend:
    """Two years of a lift with all kinds of evidence."""
    start = date(2024, 11, 4)
    days = tuple(start + timedelta(days=7 * i) for i in range(weeks))
    mid = tuple(round(76 + 8 * i / weeks + 1.5 * math.sin(i / 9), 1) for i in range(weeks))
    half = tuple(1.6 + 1.2 * math.cos(i / 11) ** 2 for i in range(weeks))
    kinds: tuple[EvidenceMark, ...] = ("made", "reps", "made", "max", "missed", "made", "hearsay")
    marks = []
    for i in range(3, weeks, 4):
        kind = kinds[(i // 4) % len(kinds)]
        shift = {"made": -5, "reps": 0.8, "max": 0.2, "missed": 2.5, "hearsay": 1.5}[kind]
        load = round(mid[i] + shift)
        marks.append(TrendMark(days[i], load, kind, f"{days[i]}: {load} kg {kind}"))
    return Trend(
        id="trend",
        title="Snatch over time",
        summary="It rose by about 8 kg in two years, most of it in the second.",
        axis=Axis("kg", 66, 92),
        days=days,
        mid=mid,
        low=tuple(round(m - h, 1) for m, h in zip(mid, half, strict=True)),
        high=tuple(round(m + h, 1) for m, h in zip(mid, half, strict=True)),
        texts=tuple(f"{d}: {m:.1f} kg" for d, m in zip(days, mid, strict=True)),
        marks=tuple(marks),
        mid_label="estimate",
        band_label="90 % interval",
        mark_labels=(
            ("made", "made (at least this)"),
            ("max", "maximal"),
            ("reps", "several reps"),
            ("missed", "missed"),
            ("hearsay", "told, not seen"),
        ),
    )


def short_trend() -> Trend:
    """A newcomer: three uneven days, one piece of evidence before the first of them."""
    days = (date(2026, 9, 1), date(2026, 9, 10), date(2026, 10, 12))
    return Trend(
        id="short-trend",
        title="Clean over time",
        summary="Too short for a trend.",
        axis=Axis("kg", 40, 80),
        days=days,
        mid=(58, 59, 61),
        low=(47, 49.5, 55),
        high=(70, 69, 67),
        texts=("58 kg", "59 kg", "61 kg"),
        marks=(TrendMark(date(2026, 8, 28), 55, "made", "55 kg made"),),
        mark_labels=(("made", "made"),),
    )


def squad() -> Scatter:
    """Totals against body mass, with a curve and links."""
    people = [
        ("Amara", 57.8, 168, "women"),
        ("Ines", 63.4, 190, "women"),
        ("Helga", 70.2, 176, "women"),
        ("Priya", 63.1, 187, "women"),
        ("Yuki", 54.6, 151, "women"),
        ("Bram", 88.4, 287, "men"),
        ("Dario", 72.8, 251, "men"),
        ("Kofi", 80.9, 302, "men"),
        ("Otto", 101.3, 262, "men"),
        ("Farid", 80.1, 299, "men"),
    ]
    xs = tuple(50 + i for i in range(60))
    return Scatter(
        id="squad",
        title="Total against body mass",
        summary="Kofi and Farid stand closest to the curve.",
        x_axis=Axis("body mass, kg", 50, 110),
        y_axis=Axis("total, kg", 100, 350),
        points=tuple(
            ScatterPoint(name, mass, total, f"{total} kg at {mass} kg", group, f"{name}.html")
            for name, mass, total, group in people
        ),
        curves=(
            Curve("same score, men", xs, tuple(300 * (x / 85) ** 0.55 for x in xs)),
            Curve("same score, women", xs, tuple(190 * (x / 63) ** 0.5 for x in xs)),
        ),
    )


def hostile() -> tuple[Drawable, ...]:
    """Every text a reader of files could have been given."""
    rows = (IntervalRow(HOSTILE, 1, 0, 2, "tested", HOSTILE, note=HOSTILE),)
    axis = Axis(HOSTILE, 0, 3, ((1, HOSTILE),))
    day = date(2026, 1, 1)
    return (
        IntervalRows("h1", HOSTILE, HOSTILE, axis, rows, 1, HOSTILE, HOSTILE, HOSTILE),
        Waterfall("h2", HOSTILE, HOSTILE, axis, (Step(HOSTILE, 2, HOSTILE),)),
        Trend(
            "h3",
            HOSTILE,
            HOSTILE,
            axis,
            (day, day + timedelta(days=3)),
            (1, 2),
            (0.5, 1.5),
            (1.5, 2.5),
            (HOSTILE, HOSTILE),
            (TrendMark(day, 1, "made", HOSTILE),),
            HOSTILE,
            HOSTILE,
            (("made", HOSTILE),),
        ),
        Scatter(
            "h4",
            HOSTILE,
            HOSTILE,
            axis,
            axis,
            (ScatterPoint(HOSTILE, 1, 1, HOSTILE, HOSTILE, "javascript:alert(1)"),),
            (Curve(HOSTILE, (0, 1, 2), (1, 2, 3)),),
        ),
    )


def qualities() -> HeatTable:
    """Two lifters by three qualities."""
    return HeatTable(
        id="heat",
        title="Qualities across the squad",
        summary="Legs are what the squad lacks most.",
        columns=("Legs", "Pull", "Speed", "Snatch turnover", "Overhead"),
        rows=tuple(
            HeatRow(
                name,
                tuple(HeatCell(v / 2, f"{v:+.1f}".replace("-", "−"), "sd") for v in values),
                f"{name}.html",
            )
            for name, values in (
                ("Amara", (-1.9, 0.2, 0.9, -0.4, 0.1)),
                ("Bram", (1.2, 0.8, -1.1, 0.3, -0.6)),
                ("Ines", (-0.5, 1.9, 0.4, -1.3, 0.6)),
            )
        ),
        row_title="Lifter",
    )


SAMPLES: tuple[Drawable, ...] = (
    strip(),
    ratios(),
    kilos(),
    bars(),
    trend(),
    short_trend(),
    squad(),
)
