"""What to test next and the meets ahead in `profile.json` (schema 1).

Keys `next_tests` and `meets`, left out where there is nothing to say. `next_tests` has
`entropy_bits`, `meet_near` (a day, or null), `tests`, `best` and `best_bits`, what those tell
together. A meet has `plans`, each with trees of seven loads by what came before: "", "+", "-",
"++", "+-", "-+", "--" (+ good, - missed).
"""

from __future__ import annotations

from typing import Any

from profilegen.engine.attempts import HISTORIES
from profilegen.engine.profile import LiftAttempts, MeetDay, MeetPlan, NextTests, Profile

Json = dict[str, Any]


def plans_of(profile: Profile) -> Json:
    """What schema 1 says about tests and meets to come."""
    parts: Json = {
        "next_tests": _tests(profile.next_tests) if profile.next_tests else None,
        "meets": [_meet(meet) for meet in profile.meets],
    }
    return {key: value for key, value in parts.items() if value}


def _tests(tests: NextTests) -> Json:
    return {
        "entropy_bits": _share(tests.entropy_bits),
        "meet_near": tests.meet_near.isoformat() if tests.meet_near else None,
        "tests": [
            {
                "lift": one.lift,
                "bits": _share(one.bits),
                "cost": _share(one.cost),
                "reps": one.reps,
                "in_reserve": one.in_reserve,
                "expected_kg": _kg(one.expected_kg),
                "first_time": one.first_time,
            }
            for one in tests.values
        ],
        "best": list(tests.best),
        "best_bits": _share(tests.best_bits),
    }


def _meet(meet: MeetDay) -> Json:
    return {
        "on": meet.on.isoformat(),
        "called": meet.called,
        "target_total_kg": _kg(meet.target_total_kg),
        "junior": meet.junior,
        "avoided": meet.avoided,
        "too_light": list(meet.too_light),
        "chances": [
            {"lift": one.lift, "kg": one.kg, "chance": _share(one.chance)} for one in meet.chances
        ],
        "plans": [_plan(plan) for plan in meet.plans],
    }


def _plan(plan: MeetPlan) -> Json:
    return {
        "aim": plan.aim,
        "snatch": _tree(plan.snatch),
        "clean_and_jerk": [
            {
                "after_snatch_kg": tree.after_snatch_kg,
                "chance_of_case": _share(tree.chance_of_case),
                **_tree(tree),
            }
            for tree in plan.clean_and_jerk
        ],
        "expected_total_kg": _kg(plan.expected_total_kg),
        "low_kg": _kg(plan.low_kg),
        "high_kg": _kg(plan.high_kg),
        "chance_of_total": _share(plan.chance_of_total),
        "planned_total_kg": _kg(plan.planned_total_kg),
        "chance_of_planned": _share(plan.chance_of_planned),
        "chance_of_target": _share(plan.chance_of_target),
    }


def _tree(tree: LiftAttempts) -> Json:
    return {
        "attempts": {
            history: {"kg": kg, "chance": _share(chance)}
            for history, kg, chance in zip(HISTORIES, tree.loads_kg, tree.chances, strict=True)
            if kg is not None
        }
    }


def _kg(value: float | None) -> float | None:
    return None if value is None else round(float(value), 2) + 0.0


def _share(value: float | None) -> float | None:
    return None if value is None else round(float(value), 4) + 0.0
