"""The answered questions, the company and the marks in `profile.json` (schema 1).

Keys `why`, `holds`, `claims`, `company` and `marks`; each is left out where it is empty. Log
differences are natural logs to five decimals, so that a split's parts still add up.
"""

from __future__ import annotations

from typing import Any

from profilegen.engine.profile import Profile
from profilegen.engine.replies import (
    ClaimReply,
    Company,
    HoldsReply,
    MarkReading,
    Split,
    WhyReply,
)

Json = dict[str, Any]


def replies_of(profile: Profile) -> Json:
    """What schema 1 says about the questions, the field and the marks."""
    parts: Json = {
        "why": [_why(one) for one in profile.replies if isinstance(one, WhyReply)],
        "holds": [_holds(one) for one in profile.replies if isinstance(one, HoldsReply)],
        "claims": [_claim(one) for one in profile.replies if isinstance(one, ClaimReply)],
        "company": _company(profile.company) if profile.company else None,
        "marks": [_mark(one) for one in profile.marks],
    }
    return {key: value for key, value in parts.items() if value}


def _why(reply: WhyReply) -> Json:
    parent = reply.parent
    return {
        "lift": reply.lift,
        "through": reply.through,
        "chance_through": _share(reply.chance_through),
        "splits": [_split(split) for split in reply.splits],
        "parent": {
            "lift": parent.parent,
            "value": _share(parent.value),
            "low": _share(parent.low),
            "high": _share(parent.high),
            "usual_low": _share(parent.usual_low),
            "usual_high": _share(parent.usual_high),
            "reading": parent.reading,
            "standings": [
                {"against": one.against, "difference": _log(one.difference), "where": one.where}
                for one in parent.standings
            ],
        },
        "field_size": reply.field_size,
        "field_under": reply.field_under,
        "tried": reply.tried,
    }


def _split(split: Split) -> Json:
    return {
        "against": split.against,
        "lift": split.lift,
        "others": split.others,
        "actual_kg": _kg(split.actual_kg),
        "usual_kg": _kg(split.usual_kg),
        "difference": _log(split.difference),
        "low": _log(split.low),
        "high": _log(split.high),
        "parts": {
            part.cause: {
                "log": _log(part.log),
                "low": _log(part.low),
                "high": _log(part.high),
                "kilos": _kg(part.kilos),
            }
            for part in split.parts
        },
    }


def _holds(reply: HoldsReply) -> Json:
    return {
        "lift": reply.lift,
        "estimate_kg": _kg(reply.estimate_kg),
        "stops": reply.stops,
        "chance_stops": _share(reply.chance_stops),
        "chance_even": _share(reply.chance_even),
        "tried": reply.tried,
        "held": {
            one.part: {
                "kilos": _kg(one.kilos),
                "low": _kg(one.low),
                "high": _kg(one.high),
                "chance": _share(one.chance),
            }
            for one in reply.held
        },
    }


def _claim(reply: ClaimReply) -> Json:
    turning = reply.turning
    return {
        "quality": reply.quality,
        "direction": reply.direction,
        "threshold": _share(reply.threshold),
        "chance": _share(reply.chance),
        "chance_near": _share(reply.chance_near),
        "chance_opposite": _share(reply.chance_opposite),
        "verdict": reply.verdict,
        "learnt": reply.learnt,
        "without": [{"lift": one.lift, "chance": _share(one.chance)} for one in reply.without],
        "turning": turning
        and {
            "lift": turning.lift,
            "load_kg": _kg(turning.load_kg),
            "expected_kg": _kg(turning.expected_kg),
            "chance": _share(turning.chance),
        },
    }


def _company(company: Company) -> Json:
    return {
        "scope": company.scope,
        "category": company.category,
        "rivals": company.rivals,
        "lifts": {
            match.lift: {
                "expected": _kg(match.expected),
                "low": match.low,
                "high": match.high,
            }
            for match in company.matches
        },
    }


def _mark(mark: MarkReading) -> Json:
    return {
        "called": mark.called,
        "up_to_kg": mark.up_to_kg,
        "lift": mark.lift,
        "mark_kg": _kg(mark.mark_kg),
        "share": _share(mark.share),
        "low": _share(mark.low),
        "high": _share(mark.high),
        "chance": _share(mark.chance),
    }


def _kg(value: float) -> float:
    return round(float(value), 2) + 0.0


def _share(value: float) -> float:
    return round(float(value), 4) + 0.0


def _log(value: float) -> float:
    return round(float(value), 5) + 0.0
