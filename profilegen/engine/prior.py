"""What is believed about a lifter before any evidence: one Gaussian process.

Theory. Work in natural logarithms: a lift's capacity on a day, c = log kg, is what the
lifter could make on that day. For lift i and day t

    c_i(t) = level(t) + log rho_i + sum_k lambda_ik q_k(t) + epsilon_i

with level(t) = usual level for sex, body mass and age + a constant + a drift, qualities
q_k(t) of about unit variance = a lasting part (heavy-tailed) + a drift, and epsilon_i
peculiar to the lifter in that lift. A set happens on a day with its own form (shared by the
day's sets) and at a place (platform or not). Drifts are Ornstein-Uhlenbeck: covariance
exp(-|t - s| / length). Every quantity anyone asks about is a linear functional of these
latents, so one function, `Prior.cov`, gives every covariance there is.

All arrays are float64; days are proleptic ordinals (`date.toordinal`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from profilegen.engine.arrays import Floats, Ints
from profilegen.history.records import Athlete, Build
from profilegen.norms.catalogue import QUALITIES, Norms
from profilegen.units import DAYS_PER_YEAR

NO_LIFT = -1
NO_FORM = 0
"""Day forms are named by the day's ordinal (bests: by negative numbers of their own)."""

_GROWTH_AGES = np.arange(7.0, 100.0, 0.25)
"""Ages at which the usual gain is added up: those that a file may name, in quarters."""
_SNATCHES = "snatch"
_SQUAT_SIDE = {"squat": 1.0, "pull": -1.0, "deadlift": -1.0}


@dataclass(frozen=True, slots=True)
class Features:
    """`m` linear functionals of the latents: capacities of lifts on days, or qualities.

    lift: int[m], index into `Prior.lift_ids` or NO_LIFT; level: float[m], weight of the
    level; loadings: float[m, 6], weight of each quality; drift: float[m], 1 where the
    qualities' drifting part counts; day: float[m]; form: int[m], which day's form is in it
    or NO_FORM; meet: float[m], 1 on the platform; build: float[m], side moved by build.
    """

    lift: Ints
    level: Floats
    loadings: Floats
    drift: Floats
    day: Floats
    form: Ints
    meet: Floats
    build: Floats

    def __len__(self) -> int:
        return len(self.lift)

    def take(self, index: Ints) -> Features:
        """The functionals at `index`, in that order."""
        return Features(*(getattr(self, name)[index] for name in self.__slots__))

    def joined(self, other: Features) -> Features:
        """These functionals followed by the other's."""
        pairs = ((getattr(self, n), getattr(other, n)) for n in self.__slots__)
        return Features(*(np.concatenate(pair) for pair in pairs))


@dataclass(frozen=True, slots=True)
class Prior:
    """The Gaussian process for one lifter. Build it with `prior_for`."""

    lift_ids: tuple[str, ...]
    log_share: Floats
    """log rho per lift, with the sex's and the build's usual shift, float[n]."""
    loadings: Floats
    """lambda, float[n, 6], columns in the order of QUALITIES."""
    own_var: Floats
    """Variance of epsilon, float[n]."""
    build_side: Floats
    """+1 squats, -1 pulls and deadlifts, 0 others; all 0 when no build is stated."""
    level_mean: float
    level_var: float
    anchor_day: int
    born_day: int
    growth_ages: Floats
    growth_logs: Floats
    """Usual log gain accumulated by age; constant outside the tabled ages."""
    drift_sd_adult: float
    drift_sd_junior: float
    drift_ages: tuple[float, float]
    """Up to the first a lifter drifts as juniors do, from the second on as adults do."""
    drift_length_days: float
    quality_lasting_var: float
    """Variance of a quality's lasting part under its wide (odd) shape; sites.odd_moments
    turns it into the heavy-tailed mixture."""
    quality_drift_var: float
    form_var: float
    meet_var: float
    build_var: float

    def lift_features(
        self, lift: Ints, day: Floats, form: Ints | None = None, meet: Floats | None = None
    ) -> Features:
        """Capacities of lifts (by index) on days; with the day's form where `form` says so."""
        m = len(lift)
        return Features(
            lift=lift,
            level=np.ones(m),
            loadings=self.loadings[lift],
            drift=np.ones(m),
            day=day,
            form=np.full(m, NO_FORM) if form is None else form,
            meet=np.zeros(m) if meet is None else meet,
            build=self.build_side[lift],
        )

    def quality_features(self, day: float, *, lasting: bool = False) -> Features:
        """The six qualities on one day, or only their lasting part."""
        m = len(QUALITIES)
        return Features(
            lift=np.full(m, NO_LIFT),
            level=np.zeros(m),
            loadings=np.eye(m),
            drift=np.zeros(m) if lasting else np.ones(m),
            day=np.full(m, day),
            form=np.full(m, NO_FORM),
            meet=np.zeros(m),
            build=np.zeros(m),
        )

    def platform_feature(self, day: float) -> Features:
        """What the platform adds to (or takes from) this lifter's lifts."""
        zero = np.zeros(1)
        return Features(
            lift=np.full(1, NO_LIFT),
            level=zero,
            loadings=np.zeros((1, len(QUALITIES))),
            drift=zero,
            day=np.full(1, day),
            form=np.full(1, NO_FORM),
            meet=np.ones(1),
            build=zero,
        )

    def mean(self, f: Features) -> Floats:
        """Prior mean of each functional, float[m]."""
        share = np.where(f.lift >= 0, self.log_share[f.lift], 0.0)
        return f.level * (self.level_mean + self.growth(f.day)) + share

    def growth(self, day: Floats) -> Floats:
        """Usual log change of the level from the anchor day to `day` (juniors grow)."""
        ages = (day - self.born_day) / DAYS_PER_YEAR
        then = np.interp(ages, self.growth_ages, self.growth_logs)
        age = (self.anchor_day - self.born_day) / DAYS_PER_YEAR
        return then - np.interp(age, self.growth_ages, self.growth_logs)

    def drift_sd(self, day: Floats) -> Floats:
        """Sd of the level's drift by the lifter's age on the day: juniors change faster."""
        age = (day - self.born_day) / DAYS_PER_YEAR
        sd: Floats = np.interp(age, self.drift_ages, (self.drift_sd_junior, self.drift_sd_adult))
        return sd

    def cov(self, a: Features, b: Features) -> Floats:
        """Prior covariance, float[len(a), len(b)]."""
        gap = np.abs(a.day[:, None] - b.day[None, :])
        decay = np.exp(gap * (-1.0 / self.drift_length_days))
        a_sd, b_sd = a.level * self.drift_sd(a.day), b.level * self.drift_sd(b.day)
        k = np.outer(a.level, b.level) * self.level_var
        k += np.outer(a_sd, b_sd) * decay
        kept = self.quality_lasting_var + np.outer(a.drift, b.drift) * (
            decay * self.quality_drift_var
        )
        k += (a.loadings @ b.loadings.T) * kept
        same = (a.lift[:, None] == b.lift[None, :]) & (a.lift[:, None] >= 0)
        k += same * self.own_var[a.lift][:, None]
        k += ((a.form[:, None] == b.form[None, :]) & (a.form[:, None] != NO_FORM)) * self.form_var
        if self.meet_var:
            k += np.outer(a.meet, b.meet) * self.meet_var
        if self.build_var:
            k += np.outer(a.build, b.build) * self.build_var
        return k

    def variance(self, f: Features) -> Floats:
        """Prior variance of each functional, float[m]: the diagonal of `cov(f, f)`."""
        var: Floats = f.level**2 * (self.level_var + self.drift_sd(f.day) ** 2)
        kept = self.quality_lasting_var + f.drift**2 * self.quality_drift_var
        var = var + (f.loadings**2).sum(axis=1) * kept
        var += np.where(f.lift >= 0, self.own_var[f.lift], 0.0)
        var += (f.form != NO_FORM) * self.form_var
        var += f.meet**2 * self.meet_var + f.build**2 * self.build_var
        return var


def body_mass_near(athlete: Athlete, on: date) -> float | None:
    """The latest body mass measured up to `on`, else the earliest after it, in kg.

    Many are weighed for the first time some weeks after their first sets: that is nearer the
    truth of those weeks than a usual body mass, and lifts are never taken from later.
    """
    weighed = [s for s in athlete.sessions if s.body_mass_kg is not None]
    before = [s for s in weighed if s.on <= on]
    chosen = before[-1:] or weighed[:1]
    return chosen[0].body_mass_kg if chosen else None


def prior_for(athlete: Athlete, norms: Norms, on: date) -> Prior:
    """The prior for one lifter, anchored at the body mass and age of day `on`.

    The level is centred by allometry (Challis 1999, world records against body mass) and by age
    (`Norms.level_by_age`). A lifter nobody weighed gets the sex's reference mass and a wider level.
    """
    constant = norms.constant
    lifts = tuple(norms.lifts.values())
    mass_kg = body_mass_near(athlete, on)
    exponent = constant("body_mass_exponent")
    reference_kg = constant(f"reference_kg_{athlete.sex}")
    level_mean = float(np.log(constant(f"usual_clean_kg_{athlete.sex}")))
    level_var = constant("level_sd") ** 2
    if mass_kg is None:
        level_var += (exponent * constant("unweighed_sd")) ** 2
    else:
        level_mean += exponent * float(np.log(mass_kg / reference_kg))
    ages, shares = zip(*norms.level_by_age[athlete.sex], strict=True)
    level_mean += float(np.interp((on - athlete.born).days / DAYS_PER_YEAR, ages, shares))

    log_share = np.array([np.log(lift.share.value) for lift in lifts])
    if athlete.sex == "F":
        heavy = mass_kg is not None and mass_kg > constant("heavy_women_above_kg")
        shift = constant("women_snatch_log_shift")
        shift += constant("heavy_women_snatch_log_shift") if heavy else 0.0
        log_share += shift * np.array([lift.family == _SNATCHES for lift in lifts])

    side = np.array([_SQUAT_SIDE.get(lift.family, 0.0) for lift in lifts])
    lean = build_lean(athlete.build, norms)
    log_share += side * (lean or 0.0) * constant("build_shift")

    drifting = constant("quality_drift_share")
    return Prior(
        lift_ids=tuple(lift.id for lift in lifts),
        log_share=log_share,
        loadings=np.array(
            [
                [lift.loadings[q].value if q in lift.loadings else 0.0 for q in QUALITIES]
                for lift in lifts
            ]
        ),
        own_var=np.array([lift.own_sd.value for lift in lifts]) ** 2,
        build_side=side if lean is not None else np.zeros_like(side),
        level_mean=level_mean,
        level_var=level_var,
        anchor_day=on.toordinal(),
        born_day=athlete.born.toordinal(),
        growth_ages=_GROWTH_AGES,
        growth_logs=_accumulated(norms.yearly_gain[athlete.sex]),
        drift_sd_adult=constant("level_drift_sd"),
        drift_sd_junior=constant("level_drift_sd_junior"),
        drift_ages=(constant("drift_junior_until"), constant("drift_adult_from")),
        drift_length_days=constant("drift_length_days"),
        quality_lasting_var=(1.0 - drifting) * constant("odd_quality_sd") ** 2,
        quality_drift_var=drifting,
        form_var=constant("day_form_sd") ** 2,
        meet_var=constant("platform_sd") ** 2,
        build_var=constant("build_shift_sd") ** 2 if lean is not None else 0.0,
    )


def _accumulated(gains: Sequence[tuple[float, float]]) -> Floats:
    """Log gain accumulated by age. A tabled gain is of the year that ends at its age."""
    rate = np.interp(_GROWTH_AGES + 0.5, [age for age, _ in gains], [gain for _, gain in gains])
    return np.concatenate(([0.0], np.cumsum(0.5 * (rate[1:] + rate[:-1]) * np.diff(_GROWTH_AGES))))


def build_lean(build: Build, norms: Norms) -> float | None:
    """How far proportions favour the squat over the pull, -1..1; None if not stated.

    Short thighs and a long torso squat more upright (common practice, no source): each word is
    half of what can be said. A measured sitting-height ratio says as much as one word when it is
    one sd off the usual, and no more than both words however far it is off.
    """
    if build.sitting_height_ratio is not None:
        off = build.sitting_height_ratio - norms.constant("sitting_height_ratio")
        both_words = 2.0 * norms.constant("sitting_height_ratio_sd")
        return float(np.clip(off / both_words, -1.0, 1.0))
    if build.thighs is None and build.torso is None:
        return None
    thighs = {"short": 0.5, "average": 0.0, "long": -0.5}
    torso = {"long": 0.5, "average": 0.0, "short": -0.5}
    return thighs[build.thighs or "average"] + torso[build.torso or "average"]
