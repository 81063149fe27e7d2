"""What the prior implies beside what was published, one line per statement.

    python -m tests.bench.prior_predictive

For each row of norms/ratios.csv lifters are drawn from the engine's prior as that row's
sample was: sex, spread of levels, noise of the results. How far a published number may lie
from the implied one is named on its line:

    measured   1.96 standard errors of the sample (n lifters; correlations by Fisher's z), and
               where one source gives many groups, how much its groups differ by themselves
    quoted     a usual value that names no sample: inside the middle 90 % of lifters
    possible   other people, or a number that other sources contradict: not ruled out, inside
               the middle 98 % of lifters
    lore       a range that coaches name (no source): the median lifter lies in it

Rows about lifts or people the prior does not speak of are left out, with the reason.
"""

from __future__ import annotations

import csv
import math
import re
import statistics
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cache
from importlib.resources import files

import numpy as np
import numpy.typing as npt

from profilegen.engine.prior import Prior, prior_for
from profilegen.history.records import Athlete, Session, Sex
from profilegen.norms.catalogue import PRACTICE, load_norms

NORMS = load_norms()
ROWS = list(
    csv.DictReader(files("profilegen.norms").joinpath("ratios.csv").read_text("utf-8").splitlines())
)
LIFTERS = 40_000
ON = date(2026, 11, 21)
Z95 = 1.96
UNKNOWN_N = 50
"""Lifters behind a correlation whose abstract gives no number."""

Lifts = dict[str, npt.NDArray[np.float64]]
Row = dict[str, str]


@dataclass(frozen=True)
class Sample:
    """Whom a source measured and how: log spread of levels, noise of one result."""

    level_sd: float
    form_sd: float
    single_sd: float
    why: str


_FORM, _GYM, _MEET, _TOLD = (
    NORMS.constant(name) for name in ("day_form_sd", "max_single_sd", "meet_single_sd", "told_sd")
)
CLUB = Sample(0.15, _FORM, _GYM, "nothing known of the sample; ratios hardly feel the level")
SAMPLES = {
    "iwf_results_db": Sample(
        0.155, _FORM, _MEET, "sd of log lifts that its regression and ratio spread imply"
    ),
    "solberg2019": Sample(0.155, 0.0, 0.0, "means of classes: noise averages out"),
    "lucero2019": Sample(
        0.18, 0.0, _TOLD, "self-reports; men of all classes: masses spread by 20 % at exponent "
        "0.64, and lifters of one class about as much again"
    ),
    "joffe2022meta": Sample(0.15, _FORM, _GYM, "competitive lifters of one sex in each study"),
    "soriano2024": Sample(0.25, _FORM, _GYM, "both sexes, all classes"),
    "zecchin2023": Sample(
        0.07, _FORM, _GYM, "trained alike: the one spread that suits all its rows"
    ),
    "soriano2022": Sample(0.29, _FORM, _GYM, "published: sd 30 % of the mean, both sexes"),
}  # fmt: skip
STONE = {
    "read": Sample(0.10, _FORM, _GYM, "after scaling for body mass only skill and sex remain"),
    "secondary": Sample(0.20, _FORM, _GYM, "unscaled, both sexes, all classes"),
}
SORIANO_2022 = {
    "M": Sample(0.20, _FORM, _GYM, "men alone spread less than the published 30 % of both sexes"),
    "F": Sample(0.12, _FORM, _GYM, "women alone: the one spread unknown; 12 %"),
}

SAME_LIFT = {"split_jerk": "jerk", "deadlift": "clean_deadlift"}
"""Names of sources; a deadlift of weightlifters is taken as the clean-grip deadlift."""

POSSIBLE = {
    ("power_clean", "clean_and_jerk", "macklem2012"):
        "one coach's table; 0.85 of the clean elsewhere, near 0.9 in practice",
    ("power_snatch", "snatch", "czaplicki2019"): "sources disagree: 0.80 to 0.90",
    ("power_snatch", "snatch", "china13_report"): "sources disagree: 0.80 to 0.90",
    ("hang_power_snatch", "power_snatch", "czaplicki2019"):
        "follows from its 0.88, which others contradict",
    ("push_press", "split_jerk", "soriano2024kinetics"): "lore says 0.75-0.85",
    ("snatch", "clean_and_jerk", "ussr1980norms"):
        "norms set for classes of lifters, not lifters; contradicted by results of all levels",
    ("overhead_squat", "front_squat", "bautista2020"): "recreational men, triples, one outlier",
    ("snatch", "back_squat", "chernyak1978"): "contradicted by 0.61 and 0.617",
    ("clean", "back_squat", "chernyak1978"): "contradicted by 1.27-1.31 of the clean and jerk",
}  # fmt: skip
BEGINNERS = "international meets, age 13-14"
"""Boys and girls who still learn the lifts: lower and more spread than at any later age."""
LEFT_OUT = {
    ("snatch", "deadlift", "chernyak1978"):
        "implies a deadlift of 1.5-1.6 squats, which every other source contradicts",
    ("clean", "deadlift", "chernyak1978"):
        "implies a deadlift of 1.5-1.6 squats, which every other source contradicts",
    ("power_clean", "back_squat", "comfort2015"): "athletes inexperienced in the lifts",
    ("hang_high_pull", "hang_power_clean", "suchomel2024"):
        "no lift of the catalogue; the authors advise against it",
    ("back_squat", "body_mass", "vandenhoek2024"): "powerlifting squat, 90th percentile",
    ("deadlift", "body_mass", "vandenhoek2024"): "powerlifters, 90th percentile",
    ("deadlift", "back_squat", "vandenhoek2024"): "powerlifters, ratio of percentiles",
    ("snatch_pull", "snatch", "sandau2021"): "bar speed of pulls at set loads, not their maxima",
}  # fmt: skip


@dataclass(frozen=True)
class Line:
    """One published statement beside what the prior implies."""

    about: str
    what: str
    published: float
    implied: float
    low: float
    """Least value the published number may have; also says how the other end is meant."""
    high: float
    why: str

    @property
    def ok(self) -> bool:
        return self.low <= self.published <= self.high


def key_of(row: Row) -> tuple[str, str, str]:
    return row["numerator"], row["denominator"], row["source_key"]


def sample_of(row: Row) -> Sample:
    if row["source_key"] == "stone2005":
        return STONE[row["status"]]
    if row["source_key"] == "soriano2022" and row["sex"] in SORIANO_2022:
        return SORIANO_2022[row["sex"]]
    return SAMPLES.get(row["source_key"], CLUB)


def mass_of(row: Row) -> float:
    """Body mass whose prior applies, kg: only women above 87 kg have one of their own."""
    return 100.0 if row["level"].endswith("> 87 kg") else 80.0 if row["sex"] != "F" else 63.0


@cache
def prior_of(sex: Sex, mass_kg: float) -> Prior:
    weighed = Session(ON, body_mass_kg=mass_kg)
    return prior_for(Athlete("x", "x", sex, date(2000, 1, 1), sessions=(weighed,)), NORMS, ON)


@cache
def results(sex: Sex, mass_kg: float, sample: Sample | None) -> Lifts:
    """Log results of many lifters of the prior; true capacities at any level for no sample."""
    prior, rng = prior_of(sex, mass_kg), np.random.default_rng(2016)
    lasting = np.sqrt(prior.quality_lasting_var)
    usual = NORMS.constant("usual_quality_sd") / NORMS.constant("odd_quality_sd")
    shape = (LIFTERS, prior.loadings.shape[1])
    odd = rng.random(shape) < NORMS.constant("odd_quality_share")
    q = lasting * np.where(odd, 1.0, usual) * rng.standard_normal(shape)
    q += np.sqrt(prior.quality_drift_var) * rng.standard_normal(shape)
    spread = np.sqrt(prior.level_var) if sample is None else sample.level_sd
    shared = prior.level_mean + spread * rng.standard_normal(LIFTERS)
    size = (LIFTERS, len(prior.lift_ids))
    own = np.sqrt(prior.own_var) * rng.standard_normal(size)
    logs = prior.log_share + shared[:, None] + q @ prior.loadings.T + own
    lifts = dict(zip(prior.lift_ids, logs.T, strict=True))
    lifts["clean_and_jerk"] = np.minimum(lifts["clean"], lifts["jerk"])
    if sample is not None:
        form = sample.form_sd * rng.standard_normal(LIFTERS)
        noise = {lift: sample.single_sd * rng.standard_normal(LIFTERS) for lift in lifts}
        lifts = {lift: log + form + noise[lift] for lift, log in lifts.items()}
    lifts["total"] = np.logaddexp(lifts["snatch"], lifts["clean_and_jerk"])
    lifts["body_mass"] = np.full(LIFTERS, math.log(mass_kg))
    return lifts


def log_ratio(row: Row, sample: Sample | None) -> npt.NDArray[np.float64]:
    lifts = results("F" if row["sex"] == "F" else "M", mass_of(row), sample)
    top, bottom = (SAME_LIFT.get(row[k], row[k]) for k in ("numerator", "denominator"))
    return lifts[top] - lifts[bottom]


def checked(row: Row) -> list[Line]:
    """Every statement of one row, or none when it is left out."""
    if key_of(row) in LEFT_OUT:
        return []
    if row["denominator"] == "body_mass":
        return list(_possible(row, "a level the prior holds possible", None))
    if row["level"] == BEGINNERS:
        why = "13-14 years: still learning, unlike any later age"
        return list(_possible(row, why, sample_of(row)))
    if row["statistic"] == "correlation":
        return [_correlation(row)]
    if row["statistic"] == "regression":
        return list(_regression(row))
    if key_of(row) in POSSIBLE:
        return list(_possible(row, POSSIBLE[key_of(row)], sample_of(row)))
    if row["source_key"] == PRACTICE:
        return [_lore(row)]
    if row["mean"] and row["n"]:
        return list(_measured(row))
    return list(_quoted(row))


def _about(row: Row) -> str:
    people = ", ".join(part for part in (row["sex"], row["level"]) if part)
    return f"{row['numerator']} : {row['denominator']} ({row['source_key']}; {people})"


def _possible(row: Row, why: str, sample: Sample | None) -> Iterator[Line]:
    ratio = np.exp(log_ratio(row, sample))
    low, median, high = np.quantile(ratio, (0.01, 0.5, 0.99))
    for name in ("mean",) if row["mean"] else ("low", "high"):
        yield Line(
            _about(row), name, float(row[name]), float(median), float(low), float(high),
            f"possible (98 % of lifters): {why}",
        )  # fmt: skip


def _quoted(row: Row) -> Iterator[Line]:
    ratio = np.exp(log_ratio(row, sample_of(row)))
    low, median, high = np.quantile(ratio, (0.05, 0.5, 0.95))
    for name in ("mean",) if row["mean"] else ("low", "high"):
        yield Line(
            _about(row), name, float(row[name]), float(median), float(low), float(high),
            "quoted, no sample: middle 90 % of lifters",
        )  # fmt: skip


def _lore(row: Row) -> Line:
    """The published range must hold the median: turned round to fit `Line`."""
    median = float(np.exp(np.median(log_ratio(row, CLUB))))
    low, high = float(row["low"]), float(row["high"])
    middle = (low + high) / 2
    return Line(
        _about(row), "range", middle, median, median - (high - middle), median + (middle - low),
        "lore: the median lifter lies in the range",
    )  # fmt: skip


def between_groups(row: Row) -> tuple[float, float]:
    """How much the source's own groups of one sex differ: sd of their means, of their sds."""
    if row["source_key"] not in ("iwf_results_db", "solberg2019"):
        return 0.0, 0.0
    groups = [
        r for r in ROWS
        if r["source_key"] == "iwf_results_db" and r["sex"] == row["sex"]
        and (r["numerator"], r["denominator"]) == ("snatch", "clean_and_jerk") and r["sd"]
        and not r["level"].endswith("> 87 kg")
    ]  # fmt: skip
    return tuple(statistics.stdev(float(r[k]) for r in groups) for k in ("mean", "sd"))  # type: ignore[return-value]


def _measured(row: Row) -> Iterator[Line]:
    ratio = np.exp(log_ratio(row, sample_of(row)))
    n = float(row["n"])
    mean, sd = float(ratio.mean()), float(ratio.std())
    if "ratio of means" in row["notes"]:
        mean = _ratio_of_means(row)
    by_mean, by_sd = between_groups(row)
    why = f"measured: n = {n:.0f}"
    if by_mean:
        why += f"; groups of this source differ by {by_mean:.3f} in the mean, {by_sd:.3f} in the sd"
    rounding = 0.5 * 10.0 ** -len(row["mean"].partition(".")[2])
    half = Z95 * math.hypot(sd / math.sqrt(n), by_mean) + rounding
    yield Line(_about(row), "mean", float(row["mean"]), mean, mean - half, mean + half, why)
    if not row["sd"] or row["source_key"] == "solberg2019":
        return  # spreads of class means are not spreads of lifters
    half = Z95 * math.hypot(sd / math.sqrt(2.0 * n), by_sd)
    yield Line(_about(row), "sd", float(row["sd"]), sd, sd - half, sd + half, why)
    for name, share in (("low", 0.05), ("high", 0.95)):
        quantile = float(np.quantile(ratio, share))
        error = 2.1 * sd / math.sqrt(n)  # of a normal sample's 5th or 95th percentile
        half = Z95 * math.hypot(error, by_mean, 1.645 * by_sd)
        yield Line(
            _about(row), f"{share:.0%}".replace("5%", "5 %"), float(row[name]), quantile,
            quantile - half, quantile + half, why,
        )  # fmt: skip


def _ratio_of_means(row: Row) -> float:
    lifts = results("F" if row["sex"] == "F" else "M", mass_of(row), sample_of(row))
    top, bottom = (SAME_LIFT.get(row[k], row[k]) for k in ("numerator", "denominator"))
    return float(np.exp(lifts[top]).mean() / np.exp(lifts[bottom]).mean())


def _correlation(row: Row) -> Line:
    lifts = results("F" if row["sex"] == "F" else "M", mass_of(row), sample_of(row))
    top, bottom = (SAME_LIFT.get(row[k], row[k]) for k in ("numerator", "denominator"))
    implied = float(np.corrcoef(lifts[top], lifts[bottom])[0, 1])
    ends = [float(end) for end in row["r"].split("-")]
    published = sum(ends) / len(ends)
    if row["low"] and "95% CI" in row["notes"]:
        slack = [math.atanh(float(row["low"])) - math.atanh(published),
                 math.atanh(float(row["high"])) - math.atanh(published)]  # fmt: skip
        why = "measured: published 95 % interval"
    else:
        n = float(row["n"] or UNKNOWN_N)
        error = Z95 / math.sqrt(n - 3.0)
        slack = [math.atanh(end) - math.atanh(published) for end in (ends[0], ends[-1])]
        slack = [slack[0] - error, slack[1] + error]
        why = f"measured: Fisher's z, n = {n:.0f}" + ("" if row["n"] else " assumed")
    z = math.atanh(implied)
    sample = sample_of(row)
    return Line(
        _about(row), "r", published, implied, math.tanh(z - slack[1]), math.tanh(z - slack[0]),
        f"{why}; levels spread by {100.0 * sample.level_sd:.0f} %",
    )  # fmt: skip


def _regression(row: Row) -> Iterator[Line]:
    """The published line must give the implied ratio for weak and strong men alike.

    The women's line is read in its middle only: its lower end holds light women, its upper
    end the heaviest, whose ratio is another (published apart, and a norm of its own).
    """
    ratio = float(np.exp(log_ratio(row, sample_of(row))).mean())
    by_mean, _ = between_groups(row)
    slope, intercept = float(row["slope"]), float(row["intercept"])
    error = float(re.findall(r"SEE ([\d.]+) kg", row["notes"])[0])
    for kg in (140.0, 220.0) if row["sex"] == "M" else (115.0,):
        half = Z95 * math.hypot(by_mean, error / kg / math.sqrt(float(row["n"])))
        yield Line(
            _about(row), f"at {kg:.0f} kg", slope + intercept / kg, ratio, ratio - half,
            ratio + half, f"measured: line through {row['n']} results; groups differ by "
            f"{by_mean:.3f}",
        )  # fmt: skip


def main() -> None:
    """Print the report."""
    lines = [line for row in ROWS for line in checked(row)]
    for line in lines:
        mark = "  " if line.ok else "!!"
        print(
            f"{mark} {line.what:>9} {line.published:7.4f}  implied {line.implied:7.4f}  "
            f"may be {line.low:.4f}-{line.high:.4f}  {line.about}  [{line.why}]"
        )
    for row in ROWS:
        if key_of(row) in LEFT_OUT:
            print(f"   left out: {_about(row)}  [{LEFT_OUT[key_of(row)]}]")
    print(f"{sum(not line.ok for line in lines)} of {len(lines)} statements missed")
    for name, sample in (("none named", CLUB), *SAMPLES.items()):
        print(f"   sample {name}: levels spread by {sample.level_sd:.3f}: {sample.why}")


if __name__ == "__main__":
    main()
