"""What the engine took for granted, and what it warns about, in sentences.

An `Assumption` carries a code and values. The code picks a sentence; the values are written
by what their names say: `load_kg` is a load, `on` a day, `lift` a lift. A code without a
sentence, or a sentence whose values did not come, is told in a general way: the page must
never break because the engine learnt something new.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from profilegen.engine.profile import Assumption
from profilegen.norms.catalogue import QUALITIES
from profilegen.report.words import Voice, quality_name


def assumption_sentence(voice: Voice, assumption: Assumption) -> str:
    """One assumption or warning as a sentence."""
    pattern = assumption_patterns(voice).get(assumption.code)
    texts = {key: value_text(voice, key, value) for key, value in assumption.values.items()}
    if pattern is not None:
        try:
            return pattern.format(**texts)
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
    if key == "body_mass_kg":
        return show.body_mass(value)
    if key.endswith("_kg") or key == "kg":
        return show.load(value)
    if key.startswith("chance"):
        return show.chance(value)
    if key in {"share", "effect"} or key.endswith("_share"):
        return show.percent(value)
    if key.endswith("_m_s"):
        return show.speed(value)
    return show.number(value, 1)


def _day_text(voice: Voice, value: str) -> str:
    try:
        return voice.show.day(date.fromisoformat(value))
    except ValueError:
        return value


def assumption_patterns(voice: Voice) -> Mapping[str, str]:
    """Sentence patterns by code."""
    _ = voice.words._
    return {
        "no_body_mass": _(
            "Nobody wrote down a body mass, so a usual one was taken. The lifts hardly depend on "
            "it; the totals scaled for body mass are left out."
        ),
        "before_meet": _(
            "{count} sets made within three days before a meet were not called maximal, so they "
            "were read as at most about 90% of what was there."
        ),
        "reps_without_reserve": _(
            "{count} sets of several reps do not say how many were left, so they only say "
            "“at least”."
        ),
        "jerk_part_unknown": _(
            "{count} missed clean and jerks do not say which part was missed. Writing "
            "“missed: clean” or “missed: jerk” would tell more."
        ),
        "single_clean_and_jerk_miss": _(
            "The answer hangs on a single missed clean and jerk. One miss may be a slip: a second "
            "try, or a word that the best of the day was maximal, would settle more."
        ),
        "junior_growth": _(
            "Juniors grow quickly, so older results count for less and a usual yearly gain was "
            "taken into account."
        ),
        "no_evidence_lately": _(
            "The latest set is from {on}. What happened since is a guess, and the intervals are "
            "wider for it."
        ),
        "speed_as_made": _(
            "{count} sets with a bar speed are of a lift for which no usable relation of load and "
            "speed is known, so they were read as plain made sets."
        ),
        "build": _(
            "The build written down moves squats against pulls a little, with a doubt of its own."
        ),
        "platform": _(
            "Lifts at meets were compared with lifts in training, and the difference was taken "
            "into account: {effect}."
        ),
        "avoided": _(
            "The {lift} is on the list of lifts to avoid. It is worked out from the other lifts "
            "and never proposed."
        ),
        "few_rows": _("There are only {count} rows to go by, so much rests on what is usual."),
        "not_converged": _(
            "The computation did not settle within its limit of steps. Take the numbers with care "
            "and tell the maintainers."
        ),
        "surprising_row": _(
            "Line {line}: {lift} with {load_kg} on {on} is far from what the other rows say. "
            "Please check it."
        ),
        "likely_typo": _(
            "Line {line}: {lift} with {load_kg} looks like a typing mistake. Please check it."
        ),
        "no_evidence": _("There are no sets yet: everything here is what is usual."),
    }
