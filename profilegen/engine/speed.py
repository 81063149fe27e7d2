"""Bar speed as evidence: how far a load is from the maximum, read off a load-speed line.

Bar speed falls about linearly with load. Two loads of one lift on one day give the
lifter's own line (Var by the delta method, error of the line and of the speed at the
maximum both carried); one load uses the published slope where there is one. For the quick
lifts no usable line is published: such rows stay plain made lifts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import log, sqrt

import numpy as np

from profilegen.history.records import SetRecord
from profilegen.norms.catalogue import Figure


def one_load(speed_m_s: float, line: Mapping[str, Figure]) -> tuple[float, float] | None:
    """(load / maximum, log sd) from one reading on the published line, or None.

    share = 1 + (v - v_max) / slope, e.g. full squat slope -1.32 m/s per unit of share
    (Conceicao 2016), v_max 0.24 m/s (Banyard 2017).
    """
    share = 1.0 + (speed_m_s - line["speed_at_max_m_s"].value) / line["slope_m_s_per_share"].value
    if share < line["least_share"].value:
        return None
    return min(share, 1.0), line["log_sd"].value


def own_line(
    entries: Sequence[SetRecord], line: Mapping[str, Figure]
) -> tuple[float, float] | None:
    """(log maximum, log sd) from two or more loads of one day, or None if they give no line.

    m* = (v_max - a) / b and Var(m*) = (s^2 (1/n + (m* - mean)^2 / Sxx) + s_max^2) / b^2 for
    v = a + b m, with s the error of a reading and s_max that of the speed at the maximum.
    Speeds too near together or loads too light draw none (least_gap_m_s, least_share).
    """
    load = np.array([e.load_kg for e in entries])
    speed = np.array([e.speed_m_s for e in entries], dtype=float)
    if len(set(load.tolist())) < 2 or np.ptp(speed) < line["least_gap_m_s"].value:
        return None
    centred = load - load.mean()
    sxx = float(centred @ centred)
    slope = float(centred @ speed) / sxx
    if slope >= 0.0:
        return None
    at_max = line["speed_at_max_m_s"].value
    maximum = float(load.mean() + (at_max - speed.mean()) / slope)
    if maximum <= 0.0 or load.max() < line["least_share"].value * maximum:
        return None
    reading_var = line["reading_sd_m_s"].value ** 2
    max_var = line["speed_at_max_between_sd_m_s"].value ** 2
    max_var += line["speed_at_max_day_sd_m_s"].value ** 2
    line_var = reading_var * (1.0 / len(load) + (maximum - load.mean()) ** 2 / sxx)
    sd_kg = sqrt(line_var + max_var) / abs(slope)
    return log(max(maximum, float(load.max()))), max(sd_kg / maximum, line["log_sd_own_max"].value)
