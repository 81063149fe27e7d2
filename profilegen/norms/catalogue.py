"""The lift catalogue and every prior number, read from data files with sources.

lifts.yaml, constants.yaml, tables.yaml and ratios_usual.yaml hold the numbers, sources.csv the
sources they name. The loader refuses a number without a source (a key of sources.csv, or the
words "common practice"), and any lift, quality or key it does not know.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from itertools import pairwise
from pathlib import Path
from typing import Any, Literal, Protocol

import yaml

from profilegen.errors import NormsError
from profilegen.norms.alike import NOT_ALIKE, Alike, read_alike
from profilegen.norms.checker import PRACTICE as PRACTICE
from profilegen.norms.checker import Checker

Quality = Literal["legs", "pull", "speed", "snatch_turnover", "clean_turnover", "overhead"]

Limiter = Quality | Literal["even"]
"""What holds a lifter back: one quality, or none in particular."""

QUALITIES: tuple[Quality, ...] = (
    "legs",
    "pull",
    "speed",
    "snatch_turnover",
    "clean_turnover",
    "overhead",
)

COMING_OF_AGE = 18
"""Years. Under it a person is a child (UN Convention on the Rights of the Child, 1989, article 1).

A matter of law, not of training, so no norm moves it: nothing private of a child is published
without a guardian. The advice for juniors may reach further up but never less far: norms whose
`junior_until` is lower are refused.
"""
_LEAST: Mapping[str, float] = {"junior_until": COMING_OF_AGE}
"""Constants that may not be lower."""

FAMILIES = ("snatch", "clean", "jerk", "press", "pull", "deadlift", "squat", "overhead")
REP_KINDS = ("strength", "quick")
COMPOSED = ("clean_and_jerk", "total")
"""Made of lifts of the catalogue, so never in it; ratios may name the first."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A number and where it comes from."""

    value: float
    source: str
    """Key of sources.csv, or "common practice"."""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Lift:
    """One lift of the catalogue and what the prior says about it."""

    id: str
    name: str
    """Display name in sentence case, e.g. "Snatch-grip deadlift"."""
    order: int
    """Place on the line from fast and light (small) to slow and heavy (large)."""
    family: str
    """snatch | clean | jerk | press | pull | deadlift | squat | overhead."""
    share: Figure
    """Usual load as a share of the clean (rho)."""
    own_sd: Figure
    """Between-lifter sd peculiar to this lift, log units (epsilon)."""
    loadings: Mapping[Quality, Figure]
    """Log change of the lift for one standard deviation of a quality (lambda)."""
    rep_kind: str
    """strength (reps tell a lot) or quick (reps beyond three only bound)."""
    fluke_rate: Figure
    """Share of misses that are not about capacity (beta)."""
    test_cost: Figure
    """Relative fatigue of one maximal test, snatch = 1."""
    aliases: tuple[str, ...] = ()
    bar_speed: str = "none"
    """Which load-speed relation applies: a key of the speed norms, or "none"."""


@dataclass(frozen=True, slots=True)
class UsualRatio:
    """A ratio that coaches look at, with its usual range."""

    numerator: str
    denominator: str
    usual_low: float
    usual_high: float
    source: str
    low_means: str
    """A short sentence: what it says of the two lifts when the ratio is low."""
    high_means: str
    low_points: tuple[Quality, ...] = ()
    """Qualities whose lack may be why it is low."""
    high_points: tuple[Quality, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True)
class WarmUpSet:
    """One set on the way to an opening attempt."""

    share: Figure
    """Load as a share of the opener."""
    reps: int


@dataclass(frozen=True, slots=True)
class Source:
    """One row of sources.csv."""

    key: str
    authors: str
    year: str
    title: str
    venue: str
    status: str


@dataclass(frozen=True, slots=True)
class Norms:
    """Everything the engine knows before it sees a lifter."""

    lifts: Mapping[str, Lift]
    """By id, in order from fast to slow; clean_and_jerk and total are not in it."""
    constants: Mapping[str, Figure]
    """Scalar model constants by name (level_sd, day_form_sd, ...)."""
    usual_ratios: tuple[UsualRatio, ...]
    sources: Mapping[str, Source]
    rep_chart: Mapping[int, Figure]
    """Share of a maximum by repetitions to failure: {1: 1.0, 2: .95, ...}."""
    yearly_gain: Mapping[str, tuple[tuple[float, float], ...]]
    """By sex: (age reached, usual log gain of the total over that year), ages ascending, to be
    read by interpolation."""
    level_by_age: Mapping[str, tuple[tuple[float, float], ...]]
    """By sex: (age, log share of what a grown lifter of the same body mass lifts), likewise."""
    speed: Mapping[str, Mapping[str, Figure]]
    """Load-speed relations by key: slope_m_s_per_share, speed_at_max_m_s, sds. A relation
    without a slope has none published: only the lifter's own line counts."""
    warm_up: tuple[WarmUpSet, ...] = ()
    """Sets on the way to an opening attempt, light to heavy; the empty bar comes before."""
    alike: Alike = NOT_ALIKE
    """Which lifts go with a lift to avoid."""

    def constant(self, name: str) -> float:
        """The value of one scalar model constant."""
        return self.constants[name].value

    def lift_id(self, name: str) -> str | None:
        """The catalogue id that `name` (an id or an alias) stands for, or None."""
        if name in self.lifts:
            return name
        return next((lift.id for lift in self.lifts.values() if name in lift.aliases), None)


class OwnLiftLike(Protocol):
    """A lift the club adds: it behaves like `parent` at `share` of the parent's load."""

    @property
    def id(self) -> str:
        """Catalogue id of the new lift."""

    @property
    def name(self) -> str:
        """Display name."""

    @property
    def parent(self) -> str:
        """Id of the lift it behaves like."""

    @property
    def share(self) -> float:
        """Usual load as a share of the parent's."""


@lru_cache(maxsize=1)
def load_norms() -> Norms:
    """The norms that ship with the program. Raises NormsError if a file is wrong."""
    return read_norms(files("profilegen.norms"))


def read_norms(folder: Traversable | Path) -> Norms:
    """Read and check the norm files of `folder`.

    Raises NormsError naming every problem at once: a number that is not finite or has no source,
    an unknown source, lift, quality or key, an id or alias given twice.
    """
    sources = _read_sources(folder)
    check = Checker(sources)
    tables = check.mapping(
        _read_yaml(folder, "tables.yaml"),
        "tables.yaml",
        {"rep_chart", "yearly_gain", "level_by_age", "speed", "warm_up"},
    )
    speed = {
        str(key): {
            str(name): _figure(check, raw, f"tables.yaml: speed: {key}: {name}")
            for name, raw in check.mapping(relation, f"tables.yaml: speed: {key}").items()
        }
        for key, relation in check.mapping(tables.get("speed"), "tables.yaml: speed").items()
    }
    lifts = _read_lifts(check, _read_yaml(folder, "lifts.yaml"), speed)
    constants = check.mapping(_read_yaml(folder, "constants.yaml"), "constants.yaml")
    norms = Norms(
        lifts=lifts,
        constants={
            str(name): _figure(
                check, raw, f"constants.yaml: {name}", _LEAST.get(str(name), -math.inf)
            )
            for name, raw in constants.items()
        },
        usual_ratios=_read_ratios(check, _read_yaml(folder, "ratios_usual.yaml"), lifts),
        sources=sources,
        rep_chart=_read_rep_chart(check, tables.get("rep_chart")),
        yearly_gain=_read_by_age(check, tables.get("yearly_gain"), "yearly_gain", "gain", 0.5),
        level_by_age=_read_by_age(
            check, tables.get("level_by_age"), "level_by_age", "log_share", 2.0
        ),
        speed=speed,
        warm_up=_read_warm_up(check, tables.get("warm_up")),
    )
    if check.problems:
        raise NormsError("\n".join(check.problems))
    return replace(norms, alike=read_alike(folder, lifts))


def with_own_lifts(norms: Norms, own_lifts: Iterable[OwnLiftLike]) -> Norms:
    """`norms` with a club's own lifts beside their parents.

    A club lift takes over everything of its parent except id and name; its share is a share of the
    parent's, and its own spread is wider by the constant own_lift_sd. Raises NormsError for an
    unknown parent, a name that is taken, or a share that is not a positive number.
    """
    lifts = dict(norms.lifts)
    wider = norms.constant("own_lift_sd")
    problems: list[str] = []
    for own in own_lifts:
        parent = lifts.get(own.parent)
        if parent is None:
            problems.append(f"own lift {own.id}: no lift called {own.parent}")
        if own.id in lifts or own.id in COMPOSED or norms.lift_id(own.id):
            problems.append(f"own lift {own.id}: the name is taken")
            continue
        if not (math.isfinite(own.share) and own.share > 0):
            problems.append(f"own lift {own.id}: the share {own.share} is not a positive number")
            continue
        if parent is None:
            continue
        note = f"the club's own: {own.share:g} of the {parent.name.lower()}"
        lifts[own.id] = replace(
            parent,
            id=own.id,
            name=own.name,
            order=parent.order + (1 if own.share >= 1 else -1),
            share=Figure(parent.share.value * own.share, PRACTICE, note),
            own_sd=Figure(
                math.hypot(parent.own_sd.value, wider), PRACTICE, "wider than the parent"
            ),
            aliases=(),
        )
    if problems:
        raise NormsError("\n".join(problems))
    return replace(norms, lifts=_in_order(lifts.values()))


def _in_order(lifts: Iterable[Lift]) -> dict[str, Lift]:
    return {lift.id: lift for lift in sorted(lifts, key=lambda lift: (lift.order, lift.id))}


def _figure(
    check: Checker, raw: Any, where: str, low: float = -math.inf, high: float = math.inf
) -> Figure:
    """A {value, source, note} mapping as a Figure, its value within low..high."""
    raw = check.mapping(raw, where, {"value", "source?", "note?"})
    value = check.number(raw.get("value"), where, low, high)
    return Figure(value, check.source(raw.get("source"), where), str(raw.get("note", "")))


def _read_yaml(folder: Traversable | Path, name: str) -> Any:
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
        return yaml.load(folder.joinpath(name).read_text(encoding="utf-8"), Loader=loader)
    except (OSError, yaml.YAMLError) as error:
        raise NormsError(f"{name}: cannot be read: {error}") from error


def _read_sources(folder: Traversable | Path) -> dict[str, Source]:
    try:
        lines = folder.joinpath("sources.csv").read_text(encoding="utf-8").splitlines()
        rows = [Source(**row) for row in csv.DictReader(lines, strict=True)]
    except (OSError, TypeError, csv.Error) as error:
        raise NormsError(f"sources.csv: cannot be read: {error}") from error
    sources = {row.key: row for row in rows}
    if len(sources) < len(rows):
        raise NormsError("sources.csv: a key is given twice")
    return sources


_LIFT_KEYS = {
    "id", "name", "order", "family", "aliases?", "share", "own_sd", "loadings", "rep_kind",
    "fluke_rate", "test_cost", "bar_speed",
}  # fmt: skip


def _read_lifts(check: Checker, raw: Any, speed: Mapping[str, object]) -> dict[str, Lift]:
    lifts = [_read_lift(check, row, speed) for row in check.rows(raw, "lifts.yaml", _LIFT_KEYS)]
    taken: set[str] = set(COMPOSED)
    for lift in lifts:
        for name in (lift.id, *lift.aliases):
            if name in taken:
                check.complain(f"lifts.yaml: {lift.id}", f"the name {name} is taken")
            taken.add(name)
    return _in_order(lifts)


def _read_lift(check: Checker, row: Mapping[str, Any], speed: Mapping[str, object]) -> Lift:
    where = f"lifts.yaml: {row['id']}"
    for key, known in (
        ("family", FAMILIES),
        ("rep_kind", REP_KINDS),
        ("bar_speed", ("none", *speed)),
    ):
        if row[key] not in known:
            check.complain(f"{where}: {key}", f"unknown {key} {row[key]}")
    return Lift(
        id=check.text(row["id"], f"{where}: id"),
        name=check.text(row["name"], f"{where}: name"),
        order=check.whole(row["order"], f"{where}: order", 0, 1_000_000),
        family=str(row["family"]),
        share=_figure(check, row["share"], f"{where}: share", 0.1, 3),
        own_sd=_figure(check, row["own_sd"], f"{where}: own_sd", 0.001, 0.5),
        loadings=_read_loadings(check, row["loadings"], f"{where}: loadings"),
        rep_kind=str(row["rep_kind"]),
        fluke_rate=_figure(check, row["fluke_rate"], f"{where}: fluke_rate", 0, 0.9),
        test_cost=_figure(check, row["test_cost"], f"{where}: test_cost", 0.01, 100),
        aliases=tuple(str(alias) for alias in row.get("aliases", ())),
        bar_speed=str(row["bar_speed"]),
    )


def _read_loadings(check: Checker, raw: Any, where: str) -> dict[Quality, Figure]:
    """Loadings share one source and note; the rest of the keys are qualities."""
    raw = check.mapping(raw, where, {"source?", "note?", *(f"{q}?" for q in QUALITIES)})
    source, note = check.source(raw.get("source"), where), str(raw.get("note", ""))
    return {
        quality: Figure(check.number(raw[quality], f"{where}: {quality}", -0.5, 0.5), source, note)
        for quality in QUALITIES
        if quality in raw
    }


def _read_ratios(check: Checker, raw: Any, lifts: Mapping[str, Lift]) -> tuple[UsualRatio, ...]:
    ratios = []
    keys = {
        "numerator", "denominator", "usual_low", "usual_high", "source?", "note?", "low_means",
        "high_means", "low_points?", "high_points?",
    }  # fmt: skip
    for row in check.rows(raw, "ratios_usual.yaml", keys):
        where = f"ratios_usual.yaml: {row['numerator']} : {row['denominator']}"
        for lift in (row["numerator"], row["denominator"]):
            if lift not in lifts and lift not in COMPOSED:
                check.complain(where, f"no lift called {lift}")
        low = check.number(row["usual_low"], f"{where}: usual_low", 0.1, 10)
        ratios.append(
            UsualRatio(
                numerator=str(row["numerator"]),
                denominator=str(row["denominator"]),
                usual_low=low,
                usual_high=check.number(row["usual_high"], f"{where}: usual_high", low, 10),
                source=check.source(row.get("source"), where),
                low_means=check.text(row["low_means"], f"{where}: low_means"),
                high_means=check.text(row["high_means"], f"{where}: high_means"),
                low_points=_read_qualities(check, row.get("low_points", []), where),
                high_points=_read_qualities(check, row.get("high_points", []), where),
                note=str(row.get("note", "")),
            )
        )
    return tuple(ratios)


def _read_qualities(check: Checker, raw: Any, where: str) -> tuple[Quality, ...]:
    named = raw if isinstance(raw, list) else [raw]
    for one in named:
        if one not in QUALITIES:
            check.complain(where, f"no quality called {one}")
    return tuple(quality for quality in QUALITIES if quality in named)


def _read_rep_chart(check: Checker, raw: Any) -> dict[int, Figure]:
    where = "tables.yaml: rep_chart"
    return {
        check.whole(row["reps"], f"{where}: reps", 1, 100): Figure(
            check.number(row["share"], f"{where}: {row['reps']}", 0.1, 1),
            check.source(row.get("source"), f"{where}: {row['reps']}"),
            str(row.get("note", "")),
        )
        for row in check.rows(raw, where, {"reps", "share", "source?", "note?"})
    }


def _read_warm_up(check: Checker, raw: Any) -> tuple[WarmUpSet, ...]:
    where = "tables.yaml: warm_up"
    sets = [
        WarmUpSet(
            Figure(
                check.number(row["share"], f"{where}: share", 0.1, 0.99),
                check.source(row.get("source"), f"{where}: {row['share']}"),
                str(row.get("note", "")),
            ),
            check.whole(row["reps"], f"{where}: reps", 1, 10),
        )
        for row in check.rows(raw, where, {"share", "reps", "source?", "note?"})
    ]
    if any(after.share.value <= before.share.value for before, after in pairwise(sets)):
        check.complain(where, "loads must rise")
    return tuple(sets)


def _read_by_age(
    check: Checker, raw: Any, name: str, key: str, most: float
) -> dict[str, tuple[tuple[float, float], ...]]:
    """A table by sex and age; its numbers lie within -most..most."""
    found = {}
    for sex, rows in check.mapping(raw, f"tables.yaml: {name}", {"M", "F"}).items():
        where = f"tables.yaml: {name}: {sex}"
        table = []
        for row in check.rows(rows, where, {"age", key, "source?"}):
            check.source(row.get("source"), f"{where}: {row['age']}")
            age = check.number(row["age"], f"{where}: age", 5, 100)
            table.append((age, check.number(row[key], f"{where}: {row['age']}", -most, most)))
        if table != sorted(table):
            check.complain(where, "ages must ascend")
        found[str(sex)] = tuple(table)
    return found
