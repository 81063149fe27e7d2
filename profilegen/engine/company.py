"""How many of the field could match each lift, and how far the club's marks are.

A rival matches a lift when the rival's capacity is at least the lifter's. Rivals are
independent given their results, so the count is a sum of independent yes-or-no variables
(a Poisson binomial) for any one worth of the lifter's own lift; what is not known about the
lifter is shared by all rivals and is averaged over slices of the lifter's draws.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import numpy as np
from scipy.special import ndtr, pdtr

from profilegen.engine.arrays import Floats, quantiles
from profilegen.engine.evidence import CLEAN_AND_JERK
from profilegen.engine.field import FieldModel, Results
from profilegen.engine.profile import TOTAL
from profilegen.engine.replies import Company, MarkReading, Match, Scope
from profilegen.history.records import Mark, Rival, Sex
from profilegen.norms.catalogue import Norms

NODES = 12
"""Equally likely values of the lifter's own lift that a count is averaged over."""
_EXACT_UP_TO = 128
"""Rivals for which the count's distribution is built up one by one."""
_MIDDLE = (0.05, 0.5, 0.95)
_LIMIT = re.compile(r"(?:(?P<above>\+|>)\s*)?(?P<kg>\d+(?:[.,]\d+)?)(?P<plus>\+)?(?:\s*kg)?\Z")


def company(
    draws: Mapping[str, Floats],
    sex: Sex,
    body_mass_kg: float | None,
    field: Sequence[Rival],
    model: FieldModel,
) -> Company | None:
    """The lifter beside those of the field who count; None when there are none.

    draws: log kg by lift, float[m], the clean and jerk among them; lifts come back in that
    order. A total is left out: its parts are in it.
    """
    draws = {lift: sample for lift, sample in draws.items() if lift != TOTAL}
    scope, category, rivals = rivals_near(sex, body_mass_kg, field, model.norms)
    if not rivals:
        return None
    results = Results.of(rivals)
    lifts = [lift for lift in draws if lift in model.prior.lift_ids]
    mean, var = model.deviations(results, model.lifts(lifts), with_minimum=True)
    usual = model.usual(results, [*lifts, "clean"])
    columns = {lift: i for i, lift in enumerate(lifts)} | {CLEAN_AND_JERK: len(lifts)}
    at = [columns[lift] for lift in draws]
    mine = equally_likely(np.array(list(draws.values())))
    expected, low, high = counts((mean + usual)[:, at], np.sqrt(var[:, at]), mine)
    return Company(
        scope=scope,
        category=category,
        rivals=len(rivals),
        matches=tuple(
            Match(lift, float(expected[i]), int(low[i]), int(high[i]))
            for i, lift in enumerate(draws)
        ),
    )


def rivals_near(
    sex: Sex, body_mass_kg: float | None, field: Sequence[Rival], norms: Norms
) -> tuple[Scope, str | None, list[Rival]]:
    """Who counts as company, and by which rule.

    The lifter's own class: of the classes the field names by a limit ("69", "-69 kg",
    "+86"), the lightest that holds the body mass. Where that class has too few rivals, or
    classes are not named by limits: everyone of the sex near the body mass. Where those are too
    few as well, or nobody weighed the lifter: everyone of the sex.
    """
    fewest, share = norms.constant("fewest_rivals"), norms.constant("near_body_mass_share")
    same = [rival for rival in field if rival.sex == sex]
    if body_mass_kg is None:
        return "sex", None, same
    limits = {name: limit for r in same if (limit := _limit_kg(name := r.category)) is not None}
    holding = sorted((kg, name) for name, kg in limits.items() if body_mass_kg <= kg)
    if holding and len(limits) == len({r.category for r in same}):
        own = [rival for rival in same if limits[rival.category] == holding[0][0]]
        if len(own) >= fewest:
            return "class", holding[0][1], own
    near = [r for r in same if abs(r.body_mass_kg - body_mass_kg) <= share * body_mass_kg]
    return ("near", None, near) if len(near) >= fewest else ("sex", None, same)


def _limit_kg(category: str) -> float | None:
    """The upper limit of a class; infinite for "+86"; None for a name without a limit.

    >>> _limit_kg("69"), _limit_kg("-69 kg"), _limit_kg("+86"), _limit_kg("Youth")
    (69.0, 69.0, inf, None)
    """
    found = _LIMIT.match(category.strip().lstrip("-\N{MINUS SIGN}\N{EN DASH}").strip())
    if not found:
        return None
    open_ended = found["above"] or found["plus"]
    return float("inf") if open_ended else float(found["kg"].replace(",", "."))


def equally_likely(sample: Floats) -> Floats:
    """The means of NODES equally large slices of the sorted sample, float[..., m]."""
    ordered = np.sort(sample, axis=-1)
    starts = np.arange(NODES) * ordered.shape[-1] // NODES
    sizes = np.diff(starts, append=ordered.shape[-1])
    means: Floats = np.add.reduceat(ordered, starts, axis=-1) / sizes
    return means


def counts(mean: Floats, sd: Floats, mine: Floats) -> tuple[Floats, Floats, Floats]:
    """Expected number of rivals at or above, with a 90 % interval of the number.

    A count moves in whole steps, so an interval that held 90 % of every distribution would
    hold far more on average: half of each end's own chance counts as outside (the mid-P rule,
    Berry & Armitage 1995, "Mid-P confidence intervals", The Statistician 44).

    mean, sd float[n, m]: rivals' lifts, log kg; mine float[m, nodes]: equally likely values
    of the lifter's. Returns float[m] each.
    """
    n = len(mean)
    chance = ndtr((mean.T[:, None, :] - mine[:, :, None]) / sd.T[:, None, :])
    expected = chance.sum(axis=2)
    cdf = _exact_cdf(chance) if n <= _EXACT_UP_TO else _approximate_cdf(chance)
    cdf = cdf.mean(axis=1)
    middle = cdf - 0.5 * np.diff(cdf, axis=1, prepend=0.0)
    low = (middle < 0.05).sum(axis=1).astype(float)
    high = (middle <= 0.95).sum(axis=1) - 1.0
    return expected.mean(axis=1), low, np.maximum(low, high)


def _exact_cdf(chance: Floats) -> Floats:
    """P(count <= k) for k = 0..n: chances float[..., n] -> float[..., n + 1]."""
    n = chance.shape[-1]
    mass = np.zeros((*chance.shape[:-1], n + 1))
    mass[..., 0] = 1.0
    for i in range(n):
        p = chance[..., i, None]
        mass[..., 1 : i + 2] = mass[..., 1 : i + 2] * (1.0 - p) + mass[..., : i + 1] * p
        mass[..., 0] *= 1.0 - p[..., 0]
    cdf: Floats = np.cumsum(mass, axis=-1)
    return cdf


def _approximate_cdf(chance: Floats) -> Floats:
    """The same by a shifted Poisson variable of equal mean and variance.

    Translated Poisson approximation (Rollin 2007, "Translated Poisson approximation using
    exchangeable pair couplings", Annals of Applied Probability 17): close both where few
    rivals could match (Poisson) and where many could (normal).
    """
    n = chance.shape[-1]
    # counting those who could not match, where they are fewer, keeps the shift's fraction small
    turned = chance.sum(axis=-1) > 0.5 * n
    p = np.where(turned[..., None], 1.0 - chance, chance)
    mean, square = p.sum(axis=-1), (p**2).sum(axis=-1)
    shift = np.floor(square)[..., None]
    k = np.arange(n + 1.0)
    asked = np.where(turned[..., None], n - 1.0 - k, k) - shift
    cdf = pdtr(np.maximum(asked, 0.0), mean[..., None] - shift)
    cdf = np.where(asked < 0.0, 0.0, cdf)
    turned_back: Floats = np.where(turned[..., None], 1.0 - cdf, cdf)
    return turned_back


def marks_beside(
    draws: Mapping[str, Floats], sex: Sex, body_mass_kg: float | None, marks: Sequence[Mark]
) -> tuple[MarkReading, ...]:
    """Each of the club's marks for the lifter's class, lift by lift.

    The class is the lightest of all limits named for the sex that holds the body mass; marks
    without a limit are for everyone. Nobody weighed: no class, no marks.
    draws: log kg of snatch, clean and jerk and total.
    """
    readings = []
    for mark in _own_class(sex, body_mass_kg, marks):
        for lift, mark_kg in (
            ("snatch", mark.snatch_kg),
            (CLEAN_AND_JERK, mark.clean_and_jerk_kg),
            (TOTAL, mark.total_kg),
        ):
            if mark_kg is None:
                continue
            low, mid, high = (quantiles(np.exp(draws[lift]), _MIDDLE) / mark_kg).tolist()
            chance = float((draws[lift] >= np.log(mark_kg)).mean())
            readings.append(
                MarkReading(mark.called, mark.up_to_kg, lift, mark_kg, mid, low, high, chance)
            )
    return tuple(readings)


def _own_class(sex: Sex, body_mass_kg: float | None, marks: Sequence[Mark]) -> list[Mark]:
    same = [mark for mark in marks if mark.sex == sex]
    holding = [_upper(mark) for mark in same if (body_mass_kg or np.inf) <= _upper(mark)]
    if body_mass_kg is None or not holding:
        return []
    return [mark for mark in same if _upper(mark) in (min(holding), np.inf)]


def _upper(mark: Mark) -> float:
    return np.inf if mark.up_to_kg is None else mark.up_to_kg
