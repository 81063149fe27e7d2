"""Which miss leaves it open whether it was too heavy or a fluke.

Too heavy, a miss caps the capacity; a fluke says nothing. In between, what is known of the
capacity is two bells, which one Gaussian follows badly. Only lone misses are asked: that several
on one day were all flukes is unlikely enough to leave one bell.
"""

from __future__ import annotations

import numpy as np

from profilegen.engine.arrays import Floats
from profilegen.engine.case_sites import Learnt
from profilegen.engine.frame import Frame
from profilegen.engine.sites import steps_moments

_DOUBT = 0.5
"""Up to here what one bell leaves out can be made good (remainder.py); a floor and a lone miss with
nothing else known leave 0.6."""
_HEAVIEST = 8
"""The cases asked: those that weigh most."""
_MOST_CAPACITIES = 50
"""With more, as in a ten-year diary, no single miss matters so much."""


def doubtful_miss(frame: Frame, learnt: Learnt, weight: Floats) -> tuple[int, int] | None:
    """Site and term of the miss that leaves most in doubt, or None when none leaves much.

    The doubt is the part of the capacity's variance that lies between the two readings, plus the
    variance of the variance over its square: how far the two are from one bell.
    """
    step = frame.terms.step
    site, term = step.lone_misses()
    if not len(site) or len(frame.active) > _MOST_CAPACITIES:
        return None
    heaviest = np.argsort(-weight, kind="stable")[:_HEAVIEST]
    cavity = (learnt.step_mean[heaviest][:, site], learnt.step_var[heaviest][:, site])
    each, own = np.arange(len(site)), step.some(site)
    heavy, flukes = (
        steps_moments(*cavity, read)
        for read in (own.settled(each, term, flukes=flukes) for flukes in (False, True))
    )
    log_z, mean, spread = (np.stack(pair) for pair in zip(heavy, flukes, strict=True))
    fluke = step.fluke[site, term]
    odds = fluke / (1.0 - fluke) * np.exp(np.clip(log_z[1] - log_z[0], -600.0, 600.0))
    chance = odds / (1.0 + odds)
    between = chance * (1.0 - chance) * (mean[1] - mean[0]) ** 2
    whole = (1.0 - chance) * spread[0] + chance * spread[1] + between
    uneven = chance * (1.0 - chance) * ((spread[1] - spread[0]) / whole) ** 2
    share = weight[heaviest, None] / weight[heaviest].sum()
    doubts = (share * (between / whole + uneven)).sum(axis=0)
    most = int(doubts.argmax())
    return (int(site[most]), int(term[most])) if doubts[most] > _DOUBT else None
