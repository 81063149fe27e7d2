"""What a coach wrote in one row, and what it was taken to mean."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Literal

from profilegen.engine.profile import EvidenceReading
from profilegen.history.records import Place, Units
from profilegen.report.language import Words
from profilegen.report.words import Voice

SURPRISING = 0.05
"""A row is marked unexpected when the model gave it or anything further out less than this."""


def place_name(words: Words, place: Place | Literal["best"]) -> str:
    """Where a set was done."""
    return _place_names(words)[place]


@cache
def _place_names(words: Words) -> Mapping[str, str]:
    return {
        "testing": words._("testing"),
        "training": words._("training"),
        "meet": words._("meet"),
        "best": words._("best"),
    }


def written_set(voice: Voice, row: EvidenceReading, units: Units) -> str:
    """What the coach wrote in one row."""
    _ = voice.words._
    show = voice.show
    text = show.written(row.load_kg, units)
    if row.reps > 1:
        text = _("{load} × {reps}").format(load=text, reps=show.number(row.reps))
    return text


def written_detail(voice: Voice, row: EvidenceReading) -> str:
    """How the set went, as written."""
    _ = voice.words._
    if row.missed is not None:
        return {
            "lift": _("missed"),
            "clean": _("missed at the clean"),
            "jerk": _("cleaned, missed at the jerk"),
        }[row.missed]
    if row.kind in {"reps", "bound"} and row.in_reserve is not None:
        if row.in_reserve == 0:
            return _("made, none left")
        return _("made, {number} left in reserve").format(
            number=voice.show.number(row.in_reserve, 1)
        )
    if row.kind in ("speed", "made") and row.speed_m_s is not None:
        return _("made at {speed}").format(speed=voice.show.speed(row.speed_m_s))
    return _kinds(voice.words).get(row.kind, _("made"))


@cache
def _kinds(words: Words) -> Mapping[str, str]:
    """How sets went whose kind says it all."""
    _ = words._
    return {
        "max": _("made, nothing left"),
        "looked": _("made, judged by eye"),
        "share": _("made, the coach guessed how hard"),
        "told": _("told"),
        "seen": _("seen"),
        "recorded": _("on record"),
        "before_meet": _("made just before a meet"),
    }


def taken_to_mean(voice: Voice, row: EvidenceReading) -> str:
    """What one row was taken to mean."""
    _ = voice.words._
    show = voice.show
    if row.drew_line:
        return _("with the others of the day a line of load and speed, for the heaviest")
    if not row.used:
        return _("nothing that heavier sets nearby do not say")
    if row.kind == "missed":
        if row.missed == "jerk":
            return _("clean worth at least {load}; the jerk was too heavy, or a slip").format(
                load=show.load(row.load_kg)
            )
        return _("too heavy that day, or a slip")
    if row.says_kg is None:
        return _("worth at least {load}").format(load=show.load(row.load_kg))
    if row.says_low_kg is None or row.says_high_kg is None:
        return _("worth about {load}").format(load=show.load(row.says_kg))
    interval = show.interval(row.says_kg, row.says_low_kg, row.says_high_kg)
    if row.kind in ("made", "bound"):
        return _("worth at least {load}, likely about {interval}").format(
            load=show.load(row.load_kg), interval=interval
        )
    return _("worth about {interval}").format(interval=interval)


def unexpected(row: EvidenceReading) -> bool:
    """Whether the row deserves a second look."""
    return row.used and row.surprise is not None and row.surprise < SURPRISING
