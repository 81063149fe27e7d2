"""Report section with sliders: what if a lift were worth more, or training moved a quality.

The page carries the map of engine/what_if.py as JSON in a script element (never run):

    lifts    ids; columns are the six qualities, then these lifts
    mean     by column: standard deviations, log kg
    gain     by lift, by column: change of the column when log kg of the lift grows by 1
    load     by lift, by quality: change in log kg for one standard deviation
    draws    draw after draw, by column: away from the mean, in 1/1000 sd and 1/10000 log kg
    total    kg today; chances: of the six qualities and of even, today
    min      share of the total under which an answer is even
    perKg, step, unit, mark     how loads are written
    ten, answers, pattern       words

templates/assets/whatif.js computes with it as engine/what_if.py does.
"""

from __future__ import annotations

from typing import Any

from profilegen.engine.posterior import N_QUALITIES
from profilegen.engine.profile import Profile, WhatIf
from profilegen.norms.catalogue import QUALITIES, Limiter
from profilegen.report.drawn import script_json
from profilegen.report.format import NBSP, plain_point, significant, whole
from profilegen.report.page import Bullets, Pair, Section, Slider, WhatIfBlock
from profilegen.report.words import Voice, quality_label

QUALITY_UNIT = 1e-3
LOG_UNIT = 1e-4
QUALITY_REACH = 2.0
"""How far a quality's slider goes, standard deviations either way."""
QUALITY_STEP = 0.1
LEAST_REACH = 0.06
"""A lift's slider goes two standard deviations, and at least this share of the lift."""


def what_if_section(voice: Voice, profile: Profile) -> Section | None:
    """Sliders for the lifts the coach knows most about, and for the six qualities."""
    what_if = profile.what_if
    if what_if is None:
        return None
    _ = voice.words._
    block = WhatIfBlock(
        lifts_title=_("If a lift were worth …"),
        lifts=tuple(_lift_slider(voice, what_if, profile, lift) for lift in what_if.lifts),
        qualities_title=_("If training moved …"),
        qualities=tuple(
            Slider(
                id=f"what-if-{quality}",
                name=quality_label(voice.words, quality),
                low=plain_point(-QUALITY_REACH),
                high=plain_point(QUALITY_REACH),
                step=plain_point(QUALITY_STEP),
                value=plain_point(0.0),
                text=voice.show.signed(0.0, 1),
            )
            for quality in QUALITIES
        ),
        result_title=voice.words.pgettext("what follows", "Then"),
        results=(
            Pair(_("Total"), voice.show.load(what_if.total_kg), "what-if-total"),
            Pair(_("What would come first"), _first(voice, profile), "what-if-limiter"),
        ),
        reset=_("Back to today"),
        without_script=_("The sliders need JavaScript."),
        data_json=script_json(_data(voice, what_if)),
    )
    lead = _(
        "A lift’s slider says: suppose this were known; what would the other lifts be worth then? "
        "A quality’s slider says: suppose training changed it; which lifts would follow?"
    )
    notes = Bullets(
        (
            _(
                "Qualities move in standard deviations: two of three lifters lie between −1 and "
                "+1. A good year of work on one quality moves it by a fraction of that."
            ),
            _("This shows what fits together. It promises nothing, and is no target for a day."),
        )
    )
    return Section("what-if", _("What if"), lead, (block, notes))


def _first(voice: Voice, profile: Profile) -> str:
    return voice.words._("{answer}: {chance}").format(
        answer=quality_label(voice.words, profile.verdict.limiter),
        chance=voice.show.in_ten(profile.verdict.chance),
    )


def _lift_slider(voice: Voice, what_if: WhatIf, profile: Profile, lift: str) -> Slider:
    show = voice.show
    i = what_if.lifts.index(lift)
    kg = profile.lifts[lift].estimate_kg
    reach = kg * max(2.0 * what_if.sd[N_QUALITIES + i], LEAST_REACH)
    return Slider(
        id=f"what-if-{lift}",
        name=voice.lift(lift),
        low=show.slider(kg, -reach),
        high=show.slider(kg, reach),
        step=plain_point(show.load_step),
        value=show.slider(kg),
        text=show.load(kg),
    )


def _data(voice: Voice, what_if: WhatIf) -> dict[str, Any]:
    show, _ = voice.show, voice.words._
    units = [QUALITY_UNIT] * N_QUALITIES + [LOG_UNIT] * len(what_if.lifts)
    answers: tuple[Limiter, ...] = (*QUALITIES, "even")
    return {
        "lifts": what_if.lifts,
        "mean": [significant(one, 7) for one in what_if.mean],
        "gain": [[significant(one, 5) for one in row] for row in what_if.gain],
        "load": [[significant(one, 5) for one in row] for row in what_if.loadings],
        "draws": [
            whole(one - mean, unit)
            for draw in what_if.draws
            for one, mean, unit in zip(draw, what_if.mean, units, strict=True)
        ],
        "total": significant(what_if.total_kg, 6),
        "chances": [significant(one, 6) for one in what_if.chances],
        "min": what_if.min_kilos_share,
        "perKg": show.per_kg,
        "step": show.load_step,
        "unit": f"{NBSP}{show.units}",
        "mark": voice.words.decimal_mark,
        "ten": [show.in_ten(tenths / 10) for tenths in range(11)],
        "answers": [quality_label(voice.words, answer) for answer in answers],
        "pattern": _("{answer}: {chance}"),
    }
