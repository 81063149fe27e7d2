"""`profile.json`: the profile as data, for anyone who wants the numbers (schema 1).

The same bytes for the same profile: keys in a fixed order, loads to 10 g, chances and
ratios to four decimals. Intervals are central 90 % intervals, loads are kilograms, chances
lie in 0-1. A number that nobody can know (no body mass was ever written down) is null.

Parts that are computed for some lifters only are left out where there is nothing to say;
a reader should take a missing key as "not computed", never as zero.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from profilegen.engine.profile import (
    Assumption,
    Change,
    Diagnostics,
    LiftEstimate,
    Pointer,
    Profile,
    QualityReading,
    RatioReading,
    Scaled,
    Verdict,
)
from profilegen.report.contract_plan import plans_of
from profilegen.report.contract_replies import replies_of
from profilegen.report.summary import Summary

SCHEMA = 1

Json = dict[str, Any]


def profile_json(profile: Profile) -> bytes:
    """The content of `profile.json`."""
    return dump(contract_of(profile))


def squad_json(lines: Iterable[bytes], club: str, on: date) -> bytes:
    """The content of `squad.json`: one entry per athlete, in the order given.

    Entries come as bytes, each a `squad_line`: a large squad's would fill the memory as values.
    """
    head = dump({"schema": SCHEMA, "club": club, "on": on.isoformat(), "athletes": []})
    return head.rstrip().removesuffix(b"]}") + b",".join(line.rstrip() for line in lines) + b"]}\n"


def squad_line(summary: Summary) -> bytes:
    """One athlete's entry in `squad.json`."""
    return dump(_squad_line(summary))


def _squad_line(summary: Summary) -> Json:
    return {
        "id": summary.id or None,
        "name": summary.name,
        "sex": summary.sex,
        "age": summary.age,
        "group": summary.group,
        "body_mass_kg": _kg(summary.body_mass_kg),
        "limiter": summary.limiter,
        "chance": _share(summary.chance),
        "confidence": summary.confidence,
        "known": summary.known,
        "kilos": _kg(summary.kilos),
        "lifts": {
            lift.lift: {
                "estimate_kg": _kg(lift.estimate_kg),
                "low_kg": _kg(lift.low_kg),
                "high_kg": _kg(lift.high_kg),
                "basis": lift.basis,
            }
            for lift in summary.lifts
        },
        "qualities": {
            quality.quality: {
                "score": _score(quality.score),
                "kilos": _kg(quality.kilos),
                "chance_limiting": _share(quality.chance),
            }
            for quality in summary.qualities
        },
        "scaled": {scaled.formula: _kg(scaled.score) for scaled in summary.scaled},
        "report": summary.href or None,
    }


def dump(value: Json) -> bytes:
    """JSON as this project writes it: UTF-8, keys as given, NaN refused, a final newline."""
    text = json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return text.encode() + b"\n"


def contract_of(profile: Profile) -> Json:
    """Schema 1 as plain values, in the order in which it is written."""
    person = profile.athlete
    return {
        "schema": SCHEMA,
        "athlete": {
            "id": person.id,
            "name": person.name,
            "sex": person.sex,
            "age": person.age,
            "body_mass_kg": _kg(person.body_mass_kg),
        },
        "on": profile.on.isoformat(),
        "verdict": _verdict(profile.verdict),
        "lifts": {
            key: _lift(lift, weighed=person.body_mass_kg is not None)
            for key, lift in profile.lifts.items()
        },
        "ratios": [_ratio(reading) for reading in profile.ratios],
        "qualities": {key: _quality(reading) for key, reading in profile.qualities.items()},
        "chance_even": _share(profile.chance_even),
        "pointers": [_pointer(pointer) for pointer in profile.pointers],
        "scaled": [_scaled(scaled) for scaled in profile.scaled],
        **({"change": _change(profile.change)} if profile.change else {}),
        **replies_of(profile),
        **plans_of(profile),
        "not_proposed": list(profile.not_proposed),
        "assumptions": [_assumption(assumption) for assumption in profile.assumptions],
        "warnings": [_assumption(warning) for warning in profile.warnings],
        "diagnostics": _diagnostics(profile.diagnostics),
    }


def _lift(lift: LiftEstimate, *, weighed: bool) -> Json:
    return {
        "estimate_kg": _kg(lift.estimate_kg),
        "low_kg": _kg(lift.low_kg),
        "high_kg": _kg(lift.high_kg),
        "basis": lift.basis,
        "avoided": lift.avoided,
        "best_made_kg": _kg(lift.best_made_kg),
        "best_made_on": lift.best_made_on.isoformat() if lift.best_made_on else None,
        "last_tested": lift.last_tested.isoformat() if lift.last_tested else None,
        "body_mass_multiple": _share(lift.body_mass_multiple) if weighed else None,
    }


def _ratio(reading: RatioReading) -> Json:
    return {
        "numerator": reading.numerator,
        "denominator": reading.denominator,
        "value": _share(reading.value),
        "low": _share(reading.low),
        "high": _share(reading.high),
        "usual_low": _share(reading.usual_low),
        "usual_high": _share(reading.usual_high),
        "reading": reading.reading,
        "chance_below": _share(reading.chance_below),
        "chance_above": _share(reading.chance_above),
        "source": reading.source,
    }


def _quality(reading: QualityReading) -> Json:
    return {
        "score": _score(reading.score),
        "low": _score(reading.low),
        "high": _score(reading.high),
        "kilos": _kg(reading.kilos),
        "kilos_low": _kg(reading.kilos_low),
        "kilos_high": _kg(reading.kilos_high),
        "chance_limiting": _share(reading.chance_limiting),
        "rests_on": [
            {"lift": rest.lift, "chance_without": _share(rest.chance_without)}
            for rest in reading.rests_on
        ],
    }


def _verdict(verdict: Verdict) -> Json:
    return {
        "limiter": verdict.limiter,
        "chance": _share(verdict.chance),
        "confidence": verdict.confidence,
        "kilos": _kg(verdict.kilos),
        "second": verdict.second,
        "second_chance": _share(verdict.second_chance),
        "known": verdict.known,
    }


def _pointer(pointer: Pointer) -> Json:
    return {
        "lift": pointer.lift,
        "target": pointer.target,
        "expected_kg": _kg(pointer.expected_kg),
        "low_kg": _kg(pointer.low_kg),
        "high_kg": _kg(pointer.high_kg),
    }


def _scaled(scaled: Scaled) -> Json:
    return {
        "formula": scaled.formula,
        "score": _kg(scaled.score),
        "low": _kg(scaled.low),
        "high": _kg(scaled.high),
        "source": scaled.source,
        "in_range": scaled.in_range,
    }


def _change(change: Change) -> Json:
    return {
        "since": change.since.isoformat(),
        "called": change.called,
        "limiter_then": change.limiter_then,
        "chance_then": _share(change.chance_then),
        "lifts": [
            {
                "lift": lift.lift,
                "then_kg": _kg(lift.then_kg),
                "now_kg": _kg(lift.now_kg),
                "change_kg": _kg(lift.change_kg),
                "low_kg": _kg(lift.low_kg),
                "high_kg": _kg(lift.high_kg),
                "verdict": lift.verdict,
            }
            for lift in change.lifts
        ],
    }


def _assumption(assumption: Assumption) -> Json:
    return {"code": assumption.code, "values": _plain(assumption.values)}


def _plain(values: Mapping[str, float | str]) -> Json:
    return {
        key: value if isinstance(value, str) else _share(value)
        for key, value in sorted(values.items())
    }


def _diagnostics(diagnostics: Diagnostics) -> Json:
    return {
        "iterations": diagnostics.iterations,
        "converged": diagnostics.converged,
        "rows_written": diagnostics.rows_written,
        "rows_used": diagnostics.rows_used,
        "largest_change": _rounded(diagnostics.largest_change, 9),
    }


def _kg(value: float | None) -> float | None:
    return _rounded(value, 2)


def _share(value: float | None) -> float | None:
    return _rounded(value, 4)


def _score(value: float | None) -> float | None:
    return _rounded(value, 3)


def _rounded(value: float | None, digits: int) -> float | None:
    """Rounded, as a Python float whatever came in, and never minus zero."""
    return None if value is None else round(float(value), digits) + 0.0
