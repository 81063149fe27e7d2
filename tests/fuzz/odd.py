"""Every place of every file, with everything odd that could stand there; every layout of a file,
with everything odd that a sheet could add to it.

Unlike spoil.py nothing here is drawn by chance: what can be listed is listed whole.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, get_args

from pydantic import BaseModel

Steps = tuple[str | int, ...]

ODD_VALUES = (
    "", "~", "null", "true", "no", "y", "[]", "{}", "[a]", "[[a]]", "[{}]", "{a: 1}", "{a: [1]}",
    "{1: 2}", "{legs: low}", "{legs: [x]}", "{[a]: 1}", "{<<: 1}", "<<", "=", "-", "- a", "? a",
    "|", ">", "*a", "&a b", "!a b", "!!set {a}", "--- ", "...", "%YAML", "@a", "`a", "'", '"',
    "0x_", "0b_", "0o_", "-0x_", "0x", "0x1F", "0o17", "010", "0_", "00", "1__", "1_000", "1:30",
    "1:30._", "+1:_0", "-0", "-5", "0.5", ".5", "+.5", "-.5", "5.", "+5", "1e+", "1e5", "0.1e1",
    "5e-324", "1e400", "-1e400", ".inf", ".nan", "9" * 38, "0" * 40, "2026-01-01", "2026-13-01",
    "2026-01-01 10:00", "0000", "0000-01", "9999-12-31", "back_squat", "clean_and_jerk", "total",
    '""', '" "', '"\\0"', '"\\ud800"', '"\\x"', '"\\u202e"', '"a\\nb"', '"²"', '"１２"', " ١٢",
    '"http://["', '"http://[::1"', '"http://a:b:c@x"', '"https://\\u202e"', f'"{"x" * 600}"',
    "../x", '"/etc/passwd"', '"\\\\x.csv"', '"x.csv"', '".png"', '"a\\0.png"',
)  # fmt: skip

ATHLETE: dict[str, Any] = {
    "name": "Ann",
    "sex": "F",
    "born": "2000-01-01",
    "units": "kg",
    "group": "seniors",
    "build": {"thighs": "short", "torso": "long"},
    "avoid": [{"lift": "back_squat", "since": "2025", "why": "low back"}],
    "sharing": {
        "report": "open",
        "squad": "name",
        "body_mass": "shown",
        "guardian_consent": "2026-01-01",
    },
    "meets": [{"on": "2026-12-05", "called": "Cup", "target_total_kg": "190"}],
    "bests": [{"lift": "snatch", "kg": "80", "around": "2025-11", "source": "told"}],
    "sessions": [
        {
            "on": "2026-01-01",
            "at": "meet",
            "body_mass_kg": "60",
            "note": "slept badly",
            "sets": [
                {
                    "lift": "snatch",
                    "kg": "80",
                    "reps": "2",
                    "in_reserve": "1",
                    "looked": "easy",
                    "share": "0.8",
                    "speed_m_s": "1.2",
                    "video": "https://a.example/c",
                    "note": "fast",
                    "missed": "false",
                },
                {"lift": "clean", "kg": "100", "effort": "max"},
            ],
        }
    ],
    "notes": "hi",
    "questions": [{"why": "snatch"}, {"holds": "clean"}, {"claim": {"legs": "low"}}],
}
IN_POUNDS: dict[str, Any] = {
    "name": "Ben",
    "sex": "M",
    "born": "2000-01-01",
    "units": "lb",
    "build": {"sitting_height_ratio": "0.53"},
    "meets": [{"on": "2026-12-05", "called": "Cup", "target_total_lb": "400"}],
    "bests": [{"lift": "snatch", "lb": "180", "around": "2025-11"}],
    "sessions": [
        {"on": "2026-01-01", "body_mass_lb": "140", "sets": [{"lift": "snatch", "lb": "180"}]}
    ],
}
CLUB: dict[str, Any] = {
    "name": "Testford",
    "units": "kg",
    "language": "en",
    "testing_weeks": [{"start": "2026-01-01", "end": "2026-01-05", "called": "Winter"}],
    "own_lifts": [{"id": "tall_snatch", "name": "Tall", "parent": "snatch", "share": "0.9"}],
    "marks": [
        {
            "called": "Record",
            "sex": "F",
            "up_to_kg": "63",
            "snatch_kg": "90",
            "clean_and_jerk_kg": "110",
            "total_kg": "200",
        }
    ],
    "field": "f.csv",
    "look": {"accent": '"#0b6e4f"', "logo": "l.png"},
    "test_cost": {"back_squat": "2", "tall_snatch": "1"},
    "publish": {"index": "true"},
}
KEYS: dict[str, Any] = {
    "secret": f'"{"0" * 64}"',
    "lifters": {"ann": {"passphrase": "acorn maple otter canoe", "salt": f'"{"0" * 32}"'}},
}
HEADINGS: dict[str, Any] = {"headings": {"Front sqt": "front_squat", "Coach": "ignore"}}


def odd_files(good: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """Each value, and each key, of a good file replaced by each odd one: where, and the file."""
    for at in places(good):
        for odd in ODD_VALUES:
            yield f"{at} is {odd[:40]}", file_text(_with(good, at, odd))
            if at and isinstance(at[-1], str):
                yield f"{at} is called {odd[:40]}", file_text(_renamed(good, at, odd))


def keys_in(good: Any) -> set[tuple[str, ...]]:
    """The ways to every key of a file, without places in lists."""
    return {tuple(step for step in at if isinstance(step, str)) for at in places(good)} - {()}


def keys_of(model: type[BaseModel]) -> set[tuple[str, ...]]:
    """The ways to every key that the schema knows."""
    ways: set[tuple[str, ...]] = set()
    for name, info in model.model_fields.items():
        ways.add((name,))
        for inner in _models_in(info.annotation):
            ways |= {(name, *way) for way in keys_of(inner)}
    return ways


def _models_in(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for part in get_args(annotation):
        yield from _models_in(part)


def places(value: Any, at: Steps = ()) -> Iterator[Steps]:
    """The way to everything in a file, the file itself first."""
    yield at
    inside = value.items() if isinstance(value, dict) else enumerate(value)
    for step, part in inside if isinstance(value, dict | list) else ():
        yield from places(part, (*at, step))


def _with(value: Any, at: Steps, odd: str) -> Any:
    if not at:
        return odd
    changed = value.copy()
    changed[at[0]] = _with(value[at[0]], at[1:], odd)
    return changed


def _renamed(value: Any, at: Steps, odd: str) -> Any:
    if len(at) > 1:
        changed = value.copy()
        changed[at[0]] = _renamed(value[at[0]], at[1:], odd)
        return changed
    return {odd if key == at[0] else key: part for key, part in value.items()}


def file_text(value: Any) -> str:
    """A file as text, each top key on a line of its own."""
    if not isinstance(value, dict):
        return str(value)
    return "".join(f"{key}: {_flow(part)}\n" for key, part in value.items())


def _flow(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {_flow(part)}" for key, part in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_flow, value)) + "]"
    return str(value)


# --- layouts of a file, and sheets -----------------------------------------------------

_HEAD = "name: Ann\nsex: F\nborn: 2000-01-01\n"
_DAY = "  - on: 2026-10-12\n    sets:\n      - {lift: snatch, kg: 80}\n"
_FLOW_DAY = "{on: 2026-10-12, sets: [{lift: snatch, kg: 80}]}"
_IN_BRACES = "name: Ann, sex: F, born: 2000-01-01"

LAYOUTS = {
    "plain": f"{_HEAD}sessions:\n{_DAY}",
    "Windows": f"{_HEAD}sessions:\n{_DAY}".replace("\n", "\r\n"),
    "an old Mac": f"{_HEAD}sessions:\n{_DAY}".replace("\n", "\r"),
    "a byte order mark": f"\ufeff{_HEAD}sessions:\n{_DAY}",
    "no last line end": f"{_HEAD}sessions:\n{_DAY}"[:-1],
    "marks of a document": f"---\n{_HEAD}sessions:\n{_DAY}...\n",
    "one line": f"{_HEAD}sessions: [{_FLOW_DAY}, {{on: 2026-10-13, note: x}}]\n",
    "one line, later first": f"{_HEAD}sessions: [{{on: 2026-10-13, note: x}}, {_FLOW_DAY}]\n",
    "a line each": f"{_HEAD}sessions:\n  - {_FLOW_DAY}\n  - {{on: 2026-10-14, note: x}}\n",
    "braces": f"{{{_IN_BRACES}, sessions: [{_FLOW_DAY}]}}",
    "braces, no sessions": f"--- {{{_IN_BRACES}}}\n",
    "commas at the end": f"{{{_IN_BRACES}, sessions: [{_FLOW_DAY[:-2]},],}},],}}",
    "quoted keys": f'{_HEAD}"sessions":\n{_DAY}'.replace("sets", '"sets"').replace("on:", '"on":'),
    "quoted days": f"{_HEAD}sessions:\n{_DAY}".replace("2026-10-12", '"2026-10-12"'),
    "a question mark": f"{_HEAD}? sessions\n:\n{_DAY}",
    "nothing yet": _HEAD,
    "sessions to come": f"{_HEAD}sessions:   # none yet\nnotes: x\n",
    "sessions ~": f"{_HEAD}sessions: ~\n",
    "sessions null": f"{_HEAD}sessions: null\n",
    "sessions []": f"{_HEAD}sessions: []\n",
    "sets to come": f"{_HEAD}sessions:\n  - on: 2026-10-12\n    note: hi\n    sets:\n",
    "sets ~": f"{_HEAD}sessions:\n  - on: 2026-10-12\n    note: hi\n    sets: ~\n",
    "sets []": f"{_HEAD}sessions:\n  - on: 2026-10-12\n    note: hi\n    sets: []\n",
    "a line per key": f"{_HEAD}sessions:\n  -\n    on: 2026-10-12\n    sets:\n      -\n"
    "        lift: snatch\n        kg: 80\n",
    "dashes at the edge": f"{_HEAD}sessions:\n-   on: 2026-10-12\n    sets:\n    -   lift: snatch\n"
    "        kg: 80\n",
    "brackets over lines": f"{_HEAD}sessions:\n  - on: 2026-10-12\n    sets: [\n"
    "      {lift: snatch, kg: 80},\n    ]\n",
    "remarks everywhere": f"{_HEAD}sessions:\n  # c\n  - on: 2026-10-12 # c\n    # c\n"
    "    sets: # c\n      # c\n      - {lift: snatch, kg: 80} # c\n      # c\n  # c\n# c\n",
    "notes |": f"{_HEAD}notes: |\n  a\n  b\n",
    "notes |+": f"{_HEAD}notes: |+\n  a\n\n\n",
    "notes >-": f"{_HEAD}notes: >-\n  a\n  b",
    "notes over lines": f"{_HEAD}notes: a\n  b\n  c\n",
    "quoted notes over lines": f'{_HEAD}notes: "a\n  b\n\n  c"\n',
    "a line end within a remark": f"{_HEAD}# a\u0085# b\nsessions:\n{_DAY}",
    "tabs": f"{_HEAD}sessions:\n{_DAY}".replace("on: ", "on:\t").replace(", ", ",\t"),
    "pounds": f"{_HEAD}units: lb\nsessions:\n{_DAY}".replace("kg: 80", "lb: 180"),
}
NO_SAFE_PLACE = {"a question mark", "sessions ~", "sessions null", "sets ~"}
"""Layouts into which some rows cannot be put without a doubt."""

SHEETS = {
    "more on that day": "name,date,at,snatch,body mass\nAnn,2026-10-12,training,86 88x,63.4\n",
    "a later day": 'name,date,at,snatch,body mass,note\nAnn,2026-10-20,,86 88x,63.4,"- x: # y"\n',
    "an earlier day": "name,date,snatch\nAnn,2026-01-01,86 88x\n",
    "two days": "name,date,at,snatch\nAnn,2026-10-12,training,80 86\nAnn,2026-10-20,meet,90\n",
    "a row per set": "name,date,lift,load,reps,missed,effort,speed,video,note\n"
    "Ann,2026-10-12,snatch,81,1,,,,,\n"
    'Ann,2026-10-14,clean,100,2,no,max,1.1,https://a.example/c,"a ""b"" \\ {c}"\n',
}

ODD_CELLS = (
    "1e308", "²", "１２", "٨٤", "½", "∞", "1/2", "-84", "0", "99999", "84x3@", "84@3", "@", "!",
    "x", "x x", "84xx", "84 x x", "84!!", "84x!", "84!x", "84jerk", "84 clean", "84 xj", "84xjx",
    "84x21", "84x0", "84x1@0.25", "84x3@11", "84x3@1x", "84X3", "84×3", "84*", "84* 3", "84 *3",
    "84kgs", "84lbx", "84lb x3", "84//85", "84,,85", "84,5,6", "84.5.6", "84\u200b", "\u200b84",
    "84\x0085", "84\u2028 85", "=1+1", "#REF!", "TRUE", "avoid", "-", "n/a", "2026-10-12",
    "12.10.26", "3/4/26", "0000-00-00", "9999-12-31", "a" * 2500, "84 " * 50, '"', "'",
    "\\", "\t", "\r\n", "\ud7ff", "~",
    "null", "{{ 7*7 }}", "<b>", "ann", "Ann ", "ANN, -", "--", "http://[", "https://\u202e",
)  # fmt: skip
PER_LIFTER = ("name", "id", "date", "at", "body mass", "snatch", "clean and jerk", "note")
PER_SET = (
    "name", "date", "lift", "load", "reps", "in_reserve", "missed", "effort", "looked", "share",
    "speed", "video", "note", "session_note",
)  # fmt: skip
