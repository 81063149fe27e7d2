"""Squads of any size for measurements: invented lifters with a hundred rows each.

The same squad for the same seed. Levels, body masses, habits and days differ from lifter to
lifter, so that no two files or profiles are alike; a few have avoided lifts, hearsay, notes
and questions, as in real squads.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

SETS_A_DAY = 5
LAST_DAY = date(2026, 11, 21)

SHARES = {
    "snatch": 0.80, "clean_and_jerk": 1.0, "power_snatch": 0.68, "power_clean": 0.87,
    "front_squat": 1.18, "back_squat": 1.36, "push_press": 0.80, "clean_pull": 1.20,
    "snatch_pull": 1.0, "overhead_squat": 0.90, "snatch_deadlift": 1.20, "jerk": 1.05,
}  # fmt: skip
"""What a lift is usually worth beside a clean and jerk; only to make plausible loads."""

SYLLABLES = "an bel cor da el fin gar hol is jo kel lu mar nor ol pen quil ros sa tor vin wes"
GROUPS = ("Seniors", "Juniors", "Masters", "Evening", "Morning", "College")
CLUB = "name: Great Testford Weightlifting Federation\nunits: kg\n"


def write_squad(folder: Path, lifters: int, rows: int = 100, seed: int = 1) -> None:
    """club.yaml and one file per lifter, in a new folder."""
    folder.mkdir(parents=True)
    (folder / "club.yaml").write_text(CLUB, encoding="utf-8")
    for number in range(lifters):
        text = lifter_text(random.Random(f"{seed}:{number}"), rows)
        (folder / f"lifter-{number:06d}.yaml").write_text(text, encoding="utf-8")


def lifter_text(chance: random.Random, rows: int) -> str:
    """One athlete file."""
    sex = chance.choice("FM")
    mass = chance.uniform(48, 87) if sex == "F" else chance.uniform(60, 109)
    level = (22 if sex == "F" else 29) * mass ** (2 / 3) / 5.2 * chance.uniform(0.75, 1.2)
    born = date(2026 - chance.randint(14, 45), chance.randint(1, 12), chance.randint(1, 28))
    lines = [
        f"name: {_name(chance)} {_name(chance)}",
        f"sex: {sex}",
        f"born: {born}",
        f"group: {chance.choice(GROUPS)}",
        "sharing: {report: open, squad: name}",
    ]
    if chance.random() < 0.2:
        lines += ["avoid:", "  - {lift: back_squat, since: 2025-02-01, why: low back}"]
    if chance.random() < 0.3:
        lines += ["bests:", f"  - {{lift: clean_and_jerk, kg: {level:.0f}, around: 2025-11}}"]
    lines.append("sessions:")
    lines += _sessions(chance, rows, level, mass)
    if chance.random() < 0.5:
        lines += ["notes: |", "  Trains **four** times a week; misses forward when tired."]
    return "\n".join(lines) + "\n"


def _name(chance: random.Random) -> str:
    return "".join(chance.choices(SYLLABLES.split(), k=2)).title()


def _sessions(chance: random.Random, rows: int, level: float, mass: float) -> Iterator[str]:
    talents = {lift: share * chance.gauss(1, 0.05) for lift, share in SHARES.items()}
    days = sorted(chance.sample(range(900), -(-rows // SETS_A_DAY)), reverse=True)
    days[-1] = 0
    left = rows
    for back in days:
        yield f"  - on: {LAST_DAY - timedelta(days=back)}"
        yield f"    at: {chance.choice(['testing', 'training', 'training'])}"
        yield f"    body_mass_kg: {mass + chance.gauss(0, 0.7):.1f}"
        yield "    sets:"
        for lift in chance.choices(list(talents), k=min(left, SETS_A_DAY)):
            yield f"      - {_set(chance, lift, level * talents[lift] * (1 - back / 9000))}"
        left -= SETS_A_DAY


def _set(chance: random.Random, lift: str, worth: float) -> str:
    form = worth * chance.gauss(1, 0.02)
    kind = chance.random()
    if kind < 0.3:
        return f"{{lift: {lift}, kg: {form * 0.96:.1f}}}"
    if kind < 0.45:
        missed = "jerk" if lift == "clean_and_jerk" else "true"
        return f"{{lift: {lift}, kg: {form * 1.03:.1f}, missed: {missed}}}"
    if kind < 0.6 or lift == "clean_and_jerk":
        return f"{{lift: {lift}, kg: {form:.1f}, effort: max}}"
    if kind < 0.8:
        return f"{{lift: {lift}, kg: {form * 0.85:.1f}, looked: steady}}"
    return f"{{lift: {lift}, kg: {form * 0.88:.1f}, reps: 3, in_reserve: 1}}"
