"""What the engine took for granted, and what it warns about, in sentences.

An `Assumption` carries a code and values. The code picks a sentence; the values are written
by what their names say: `load_kg` is a load, `on` a day, `lift` a lift. A code without a
sentence, or a sentence whose values did not come, is told in a general way: the page must
never break because the engine learnt something new.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Literal

from profilegen.engine.profile import Assumption
from profilegen.norms.catalogue import QUALITIES
from profilegen.report.words import Voice, quality_name


def assumption_sentence(voice: Voice, assumption: Assumption) -> str:
    """One assumption or warning as a sentence."""
    rows = assumption.values.get("rows", 2)
    patterns = assumption_patterns(voice, int(rows) if isinstance(rows, (int, float)) else 2)
    pattern = patterns.get(assumption.code)
    texts = {key: value_text(voice, key, value) for key, value in assumption.values.items()}
    if pattern is not None:
        try:
            return voice.show.capital(pattern.format(**texts))
        except (KeyError, IndexError):
            pass
    return voice.words._("Also taken into account: {what}.").format(
        what=_plainly(assumption.code, texts)
    )


def _plainly(code: str, texts: Mapping[str, str]) -> str:
    what = code.replace("_", " ")
    said = ", ".join(f"{key.replace('_', ' ')} {text}" for key, text in texts.items())
    return f"{what} ({said})" if said else what


def value_text(voice: Voice, key: str, value: float | str) -> str:
    """One value, written by what its name says it is."""
    show = voice.show
    if isinstance(value, str):
        if key in {"on", "since", "until", "around"} or key.endswith("_on"):
            return _day_text(voice, value)
        if key == "lift" or key.endswith("lift") or key in {"parent", "numerator", "denominator"}:
            return voice.lift_within(value)
        if key == "quality":
            for quality in QUALITIES:
                if value == quality:
                    return quality_name(voice.words, quality)
        return value
    if key.endswith("body_mass_kg"):
        return show.body_mass(value)
    if key.endswith("_kg") or key == "kg":
        return show.load(value)
    if key == "percent_a_year":
        return show.percent(value / 100)
    if key.startswith("percent"):
        return show.signed_percent(value / 100)
    if key.startswith("chance"):
        return show.chance(value)
    if key == "share" or key.endswith("_share"):
        return show.percent(value)
    if key.endswith("_m_s"):
        return show.speed(value)
    return show.number(value, 1)


def _day_text(voice: Voice, value: str) -> str:
    told: Literal["day", "month", "year"] = "day"
    if len(value) < 10:
        told = "month" if "-" in value else "year"
    try:
        return voice.show.around(date.fromisoformat(f"{value}-01-01"[:10]), told)
    except ValueError:
        return value


def assumption_patterns(voice: Voice, rows: int = 2) -> Mapping[str, str]:
    """Sentence patterns by code; `rows` decides between one and many."""
    _, several = voice.words._, voice.words.ngettext
    return {
        # taken for granted
        "no_body_mass": _(
            "Nobody wrote down a body mass, so a usual one was taken. Totals scaled for body mass "
            "are left out."
        ),
        "build": _("The build written down moves squats against pulls a little."),
        "junior_growth": _(
            "Juniors grow: a usual gain of {percent_a_year} in the past year was taken into "
            "account, and older results count for less."
        ),
        "before_meet": _(
            "{lift} with {load_kg} on {on} was made within three days before a meet and not called "
            "maximal, so it was read as {share} of what was there."
        ),
        "reps_without_reserve": several(
            "{rows} set of several reps does not say how many were left, so it only says “at "
            "least”.",
            "{rows} sets of several reps do not say how many were left, so they only say “at "
            "least”.",
            rows,
        ),
        "long_quick_sets": several(
            "{rows} set of a snatch, clean or jerk goes beyond {reps} reps, those left counted in: "
            "technique ends such a set, not strength, so it only says “at least”.",
            "{rows} sets of a snatch, clean or jerk go beyond {reps} reps, those left counted in: "
            "technique ends such sets, not strength, so they only say “at least”.",
            rows,
        ),
        "jerk_part_unknown": several(
            "{rows} missed clean and jerk does not say which part was missed. “missed: clean” or "
            "“missed: jerk” tells more.",
            "{rows} missed clean and jerks do not say which part was missed. “missed: clean” or "
            "“missed: jerk” tells more.",
            rows,
        ),
        "speed_as_made": several(
            "{rows} set with a bar speed is of a lift without a usable relation of load and speed, "
            "so it was read as a plain made set.",
            "{rows} sets with a bar speed are of lifts without a usable relation of load and "
            "speed, so they were read as plain made sets.",
            rows,
        ),
        "speed_too_light": several(
            "{rows} set with a bar speed is too light for its speed to say how much there was, so "
            "it was read as a plain made set.",
            "{rows} sets with a bar speed are too light for their speed to say how much there was, "
            "so they were read as plain made sets.",
            rows,
        ),
        "hearsay": several(
            "{rows} result is hearsay (told or seen). It counts, with a wide margin.",
            "{rows} results are hearsay (told or seen). They count, with a wide margin.",
            rows,
        ),
        "near_the_limit": several(
            "{rows} load at a meet, in testing or with a miss does not say how near the limit it "
            "was. As the heaviest of its day it was taken to be within some {share} of it.",
            "{rows} loads at meets, in testing or with a miss do not say how near the limit they "
            "were. As the heaviest of their day they were taken to be within some {share} of it.",
            rows,
        ),
        "training_loads": several(
            "Nothing says how near the limit training was. The heaviest load of {rows} lift was "
            "taken for some nine tenths of what was there, with a wide margin. A single marked "
            "“effort: max” would tell far more.",
            "Nothing says how near the limit training was. The heaviest loads of {rows} lifts "
            "were taken for some nine tenths of what was there, with a wide margin. A single "
            "marked “effort: max” would tell far more.",
            rows,
        ),
        "pace_changing": _(
            "These lifts change faster than most lifters' do, so older rows count for less."
        ),
        "pace_unsettled": _(
            "These lifts have changed by leaps, as in a first year or after a break, so older "
            "rows count for little and the intervals are wide."
        ),
        # to check
        "left_out": _(
            "Line {line}: {lift} with {load_kg} on {on} was left out. The other rows say about "
            "{expected_kg}. Please check it."
        ),
        "beyond_records": _(
            "This would be a world-record total for the body mass. Are the loads in pounds? Then "
            "write “units: lb” at the top of the file."
        ),
        "body_mass_jump": _(
            "Line {line}: the body mass goes from {before_body_mass_kg} to {body_mass_kg} on "
            "{on}. Please check it."
        ),
        "no_evidence": _("There are no sets yet, so nothing is said of this lifter."),
        "nothing_lately": _(
            "The latest row is of {around}. What happened since is not known, and the intervals "
            "are wider for it."
        ),
        "no_evidence_lately": _(
            "The latest row is {days} days old. What happened since is not known, and the "
            "intervals are wider for it."
        ),
        "not_converged": _(
            "The computation did not settle. Take the numbers with care and tell the maintainers."
        ),
        "typing_mistake": _(
            "Line {line}: {lift} with {load_kg} on {on} looks like a typing mistake; the other "
            "rows say about {expected_kg}. Please check it."
        ),
        "single_clean_and_jerk_miss": _(
            "The answer hangs on one missed clean and jerk ({load_kg} on {on}): without it, it "
            "would be {chance_without}. One miss may be a slip."
        ),
        "single_clean_and_jerk_miss_to_try": _(
            "The answer hangs on one missed clean and jerk ({load_kg} on {on}): without it, it "
            "would be {chance_without}. One miss may be a slip; a second try, or “effort: max” on "
            "the best of the day, would settle more."
        ),
        "platform": _(
            "Lifts at meets differ from lifts in training by {percent}; this was taken into "
            "account."
        ),
    }
