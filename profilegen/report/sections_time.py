"""Report sections about time: each lift with its evidence, and the change since last time."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from profilegen.engine.profile import EvidenceReading, LiftChange, Profile, Track
from profilegen.history.records import Athlete
from profilegen.report.chart import EvidenceMark, Trend, TrendMark
from profilegen.report.evidence_words import written_detail, written_set
from profilegen.report.page import (
    Cell,
    Column,
    Details,
    Drawn,
    Grid,
    GridRow,
    Multiples,
    Section,
)
from profilegen.report.sections_lifts import load_axis
from profilegen.report.summary import MAIN_LIFTS, seen_since
from profilegen.report.words import Voice, change_label, change_sentence

MARKS: Mapping[str, EvidenceMark] = MappingProxyType(
    {
        "made": "made",
        "bound": "made",
        "before_meet": "made",
        "max": "max",
        "reps": "reps",
        "looked": "reps",
        "share": "reps",
        "speed": "reps",
        "missed": "missed",
        "told": "hearsay",
        "seen": "hearsay",
        "recorded": "hearsay",
    }
)
"""How each kind of evidence is drawn."""

MAIN_DAYS, OTHER_DAYS = 40, 16
"""Days drawn of a main lift and of any other: a page of ten lifts must stay light."""


def time_section(voice: Voice, profile: Profile, athlete: Athlete) -> Section | None:
    """The main lifts over time."""
    _ = voice.words._
    charts = _trends(voice, profile, athlete, MAIN_LIFTS, MAIN_DAYS)
    if not charts:
        return None
    return Section(
        "time",
        _("Over time"),
        _(
            "The line is what the lift was worth on each day, the band where nine of ten times "
            "the truth lies, and the marks are what was written down."
        ),
        tuple(map(Drawn, charts)),
    )


def others_section(voice: Voice, profile: Profile, athlete: Athlete) -> Section | None:
    """Every other lift that something was written down about, small and side by side."""
    _ = voice.words._
    written = {row.lift for row in profile.evidence}
    lifts = [lift for lift in profile.tracks if lift in written and lift not in MAIN_LIFTS]
    charts = _trends(voice, profile, athlete, lifts, OTHER_DAYS)
    if not charts:
        return None
    return Section(
        "others",
        _("The other lifts over time"),
        _("Every chart spans the same share of its lift, so slopes and bands can be compared."),
        (Multiples(same_span(voice, charts)),),
    )


def same_span(voice: Voice, charts: Sequence[Trend]) -> tuple[Trend, ...]:
    """The charts with axes that reach equally far, as a share of what they show."""
    ends = [(min(values), max(values)) for values in map(_shown_values, charts)]
    reach = max(((high - low) / (high + low) for low, high in ends), default=0.0)
    return tuple(
        replace(
            chart,
            axis=load_axis(voice, [(low + high) / 2 * (1 - reach), (low + high) / 2 * (1 + reach)]),
        )
        for chart, (low, high) in zip(charts, ends, strict=True)
    )


def _shown_values(chart: Trend) -> list[float]:
    return [*chart.low, *chart.high, *(mark.value for mark in chart.marks)]


def _trends(
    voice: Voice, profile: Profile, athlete: Athlete, lifts: Iterable[str], most_days: int
) -> tuple[Trend, ...]:
    by_lift: dict[str, list[EvidenceReading]] = {}
    for row in profile.evidence:
        by_lift.setdefault(row.lift, []).append(row)
    return tuple(
        trend(voice, thinned(profile.tracks[lift], most_days), by_lift.get(lift, ()), athlete)
        for lift in lifts
        if _drawable(profile, lift)
    )


def thinned(track: Track, most: int) -> Track:
    """The track on at most `most` of its days, the first and last among them."""
    last = len(track.days) - 1
    if last < most:
        return track
    picks = sorted({round(i * last / (most - 1)) for i in range(most)})
    return Track(
        track.lift,
        tuple(track.days[i] for i in picks),
        tuple(track.estimate_kg[i] for i in picks),
        tuple(track.low_kg[i] for i in picks),
        tuple(track.high_kg[i] for i in picks),
    )


def _drawable(profile: Profile, lift: str) -> bool:
    track = profile.tracks.get(lift)
    return track is not None and len(track.days) > 1


def trend(voice: Voice, track: Track, rows: Iterable[EvidenceReading], athlete: Athlete) -> Trend:
    """One lift over time with its evidence."""
    _ = voice.words._
    show = voice.show
    marks = tuple(
        TrendMark(
            row.on,
            show.load_value(row.load_kg if row.says_kg is None else row.says_kg),
            MARKS[row.kind],
            _("{day}: {written}, {detail}").format(
                day=show.short_around(row.on, row.told),
                written=written_set(voice, row, athlete.units),
                detail=written_detail(voice, row),
            ),
        )
        for row in rows
        if row.used and track.days[0] <= row.on <= track.days[-1]
    )
    mid, low, high = map(show.load_values, (track.estimate_kg, track.low_kg, track.high_kg))
    worth = map(show.interval, track.estimate_kg, track.low_kg, track.high_kg)
    days = map(show.short_day, track.days)
    texts = tuple(f"{day}: {load}" for day, load in zip(days, worth, strict=True))
    name = voice.lift(track.lift)
    summary = _("{then} on {since}; {now} on {today}.").format(
        then=show.interval(track.estimate_kg[0], track.low_kg[0], track.high_kg[0]),
        since=show.day(track.days[0]),
        now=show.interval(track.estimate_kg[-1], track.low_kg[-1], track.high_kg[-1]),
        today=show.day(track.days[-1]),
    )
    used = {mark.kind for mark in marks}
    labels: tuple[tuple[EvidenceMark, str], ...] = (
        ("made", _("made: at least this")),
        ("max", _("to the limit")),
        ("reps", _("from reps, look or speed")),
        ("missed", _("missed")),
        ("hearsay", _("told, seen or on record")),
    )
    return Trend(
        f"time-{track.lift}",
        name,
        summary,
        load_axis(voice, [*low, *high, *(mark.value for mark in marks)]),
        track.days,
        mid,
        low,
        high,
        texts,
        marks,
        _("worth"),
        _("90% interval"),
        tuple((kind, label) for kind, label in labels if kind in used),
    )


def change_section(voice: Voice, profile: Profile) -> Section | None:
    """What moved since the last testing week: first what can be told, the rest one click away."""
    _ = voice.words._
    change = profile.change
    if change is None:
        return None
    told = [
        one for one in change.lifts if one.verdict in {"rose", "fell"} or one.lift in MAIN_LIFTS
    ]
    rest = [one for one in change.lifts if one not in told]
    seen = seen_since(profile, change)
    blocks: list[Grid | Details] = []
    if told:
        blocks.append(_change_grid(voice, "change-table", _("Then and now"), told, seen))
    if rest:
        grid = _change_grid(voice, "change-rest", _("Then and now, the other lifts"), rest, seen)
        blocks.append(Details(_("The other lifts, then and now"), (grid,)))
    return Section(
        "change",
        _("Since {called}").format(called=change.called),
        change_sentence(voice, change, profile.verdict, seen),
        tuple(blocks),
    )


def _change_grid(
    voice: Voice, id: str, caption: str, lifts: list[LiftChange], seen: frozenset[str]
) -> Grid:
    _ = voice.words._
    show = voice.show
    return Grid(
        id,
        caption,
        (
            Column(_("Lift")),
            Column(_("Then"), numeric=True),
            Column(_("Now"), numeric=True),
            Column(_("Change"), numeric=True),
        ),
        tuple(
            GridRow(
                (
                    Cell(voice.lift(one.lift)),
                    Cell(show.load_number(one.then_kg)),
                    Cell(show.load_number(one.now_kg)),
                    Cell(
                        show.change_between(one.then_kg, one.now_kg),
                        more=show.telling_range(one.low_kg, one.high_kg),
                        also=change_label(voice.words, one.verdict, one.lift in seen),
                    ),
                )
            )
            for one in lifts
        ),
    )
