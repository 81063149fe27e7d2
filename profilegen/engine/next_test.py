"""Which test would tell most about what limits the lifter.

What a test of lift i is worth is the mutual information between the limiting answer A (one
of six qualities, or even) and the result y = c_i + form of the day + error of a test,

    bits(i) = H(A) - E_y[ H(A | y) ],

the expected drop in entropy (Lindley 1956). It is computed from the profile's own draws of
(A, c_1 ... c_n): the result is read on LEVELS steps that are equally likely beforehand, so
that each draw belongs to each step with a known weight and all expectations are sums over
draws. Reading in steps loses a few percent of the bits; counting a finite number of draws
adds some, which is taken off (Miller 1955, with the effective number of cells).

Tests overlap: a front squat says much of what a back squat says. For the lifts that tell
most, pairs are computed too, and a set of three is worth

    bits(ij) + bits(ik) + bits(jk) - bits(i) - bits(j) - bits(k),

exact up to what only all three together would show.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import combinations, pairwise

import numpy as np
from scipy.special import ndtr, ndtri

from profilegen.engine.arrays import Floats, Ints
from profilegen.engine.avoided import avoided_lifts, parents_of
from profilegen.engine.posterior import N_QUALITIES, Posterior
from profilegen.engine.profile import CLEAN_AND_JERK, NextTest, NextTests, TwoTests
from profilegen.history.records import Athlete, Club
from profilegen.norms.alike import Alike
from profilegen.norms.catalogue import Norms

LEVELS = 6
"""Steps on which a result is read."""
MOST_TELLING = 8
"""Lifts whose pairs are worked out; what the others add to a set is not counted."""
SET_SIZE = 3
_CANDIDATES = 16
"""Lifts that enter a set at all: those that tell most on their own."""
_BINS = 48
_ANSWERS = N_QUALITIES + 1


@dataclass(frozen=True, slots=True)
class PlannedTest:
    """How a lift would be tested: `reps` with `in_reserve` left, read with this error."""

    lift: str
    reps: int
    in_reserve: int
    share: float
    """Load of the set as a share of the capacity."""
    sd: float
    """Error of the result as a measure of today's capacity, log units, day form included."""
    cost: float


def next_tests(
    posterior: Posterior, sample: Floats, answer: Ints, athlete: Athlete, club: Club
) -> NextTests:
    """What each test would tell, from draws of the state and the answer in each draw.

    sample float[m, 6 + n lifts] in log kg, answer int[m] in 0-6 (6: even).
    """
    entropy = float(_entropy(np.bincount(answer, minlength=_ANSWERS) / len(answer)))
    near = _meet_near(posterior, athlete)
    avoided = tuple(sorted(avoided_lifts(athlete, club, posterior.norms.alike)))
    plans = planned_tests(posterior, athlete, club)
    if near is not None or not plans:
        return NextTests(entropy, near, (), (), (), avoided)
    capacity = _capacities(posterior, sample, plans)
    sd = np.array([plan.sd for plan in plans])
    alone, read = single_bits(capacity, sd, answer)
    order = np.argsort(-alone, kind="stable").tolist()
    telling, bits = order[:MOST_TELLING], alone.tolist()
    together = pair_bits(read.steps(telling), answer).tolist()
    pairs = tuple(
        TwoTests(plans[i].lift, plans[j].lift, max(together[k][n], bits[i], bits[j]))
        for (k, i), (n, j) in combinations(enumerate(telling), 2)
    )
    seen = {row.lift for row in posterior.rows}
    seen |= {"clean", "jerk"} if CLEAN_AND_JERK in seen else set()
    centre = np.exp(capacity.mean(axis=0)).tolist()
    values = tuple(
        NextTest(
            lift=plans[i].lift,
            bits=bits[i],
            cost=plans[i].cost,
            reps=plans[i].reps,
            in_reserve=plans[i].in_reserve,
            expected_kg=centre[i] * plans[i].share,
            first_time=plans[i].lift not in seen,
        )
        for i in order
    )
    found = NextTests(entropy, None, values, pairs, (), avoided)
    most, parents = replace(found, values=values[:MOST_TELLING]), parents_of(club)
    # the most telling may all be squats, too much for one week: then whatever can be borne
    best = best_set([most], posterior.norms, parents=parents)
    best = best or best_set([found], posterior.norms, parents=parents)
    return replace(found, best=best, best_bits=together_bits(found, best))


def planned_tests(posterior: Posterior, athlete: Athlete, club: Club) -> list[PlannedTest]:
    """How each lift that may be tested would be tested, in catalogue order.

    Adults do a maximal single. Under 18 nobody does: a set with reps in reserve instead.
    """
    norms = posterior.norms
    junior = athlete.age_on(posterior.on) < norms.constant("junior_until")
    costs = {lift.id: lift.test_cost.value for lift in norms.lifts.values()}
    costs[CLEAN_AND_JERK] = norms.constant("clean_and_jerk_test_cost")
    costs |= dict(club.test_cost)
    shunned = avoided_lifts(athlete, club, posterior.norms.alike)
    lifts = [lift for lift in (*posterior.prior.lift_ids, CLEAN_AND_JERK) if lift not in shunned]
    return [_plan(norms, lift, costs[lift], junior) for lift in lifts]


def _plan(norms: Norms, lift: str, cost: float, junior: bool) -> PlannedTest:
    c = norms.constant
    form = c("day_form_sd") ** 2
    if not junior:
        return PlannedTest(lift, 1, 0, 1.0, (form + c("max_single_sd") ** 2) ** 0.5, cost)
    quick = lift == CLEAN_AND_JERK or norms.lifts[lift].rep_kind == "quick"
    kind = "quick" if quick else "strength"
    reps, reserve = int(c(f"junior_test_reps_{kind}")), int(c(f"junior_test_reserve_{kind}"))
    possible = reps + reserve
    sd = c("reps_sd_base") + c("reps_sd_per_rep") * (possible - 1)
    share = norms.rep_chart[possible].value
    return PlannedTest(lift, reps, reserve, share, (form + sd**2) ** 0.5, cost)


def _meet_near(posterior: Posterior, athlete: Athlete) -> date | None:
    """The next meet, if it is too near for a maximal test."""
    last = posterior.on + timedelta(days=int(posterior.norms.constant("no_test_before_meet_days")))
    return min((m.on for m in athlete.meets if posterior.on <= m.on <= last), default=None)


def _capacities(posterior: Posterior, sample: Floats, plans: Sequence[PlannedTest]) -> Floats:
    """Draws of each planned lift, float[m, n]; a clean and jerk is the lesser of its parts."""
    clean, jerk = sample[:, posterior.index("clean")], sample[:, posterior.index("jerk")]
    columns = [
        np.minimum(clean, jerk) if p.lift == CLEAN_AND_JERK else sample[:, posterior.index(p.lift)]
        for p in plans
    ]
    return np.column_stack(columns)


@dataclass(frozen=True, slots=True)
class Read:
    """What results n tests would have, read on LEVELS steps, in each of m draws.

    Draws of one bin share their weights: the steps are looked up.
    """

    weight: Floats
    """Of each step for each bin of the capacity, float[n, _BINS, LEVELS]."""
    spot: Ints
    """The bin of each draw, int[n, m]."""

    def steps(self, tests: Sequence[int]) -> Floats:
        """Each draw's weight on the steps of some tests, float[m, len(tests), LEVELS]."""
        return np.stack([self.weight[i][self.spot[i]] for i in tests], axis=1)


def single_bits(capacity: Floats, sd: Floats, answer: Ints) -> tuple[Floats, Read]:
    """Bits of each test alone, float[n], and how its results are read.

    capacity float[m, n] log kg, sd float[n]. Draws are put into bins no wider than they
    need to be (half an sd where that covers them).
    """
    m, n = capacity.shape
    by_test = np.ascontiguousarray(capacity.T)
    low, high = by_test.min(axis=1), by_test.max(axis=1)
    width = np.maximum((high - low) * (1.0 + 1e-9) / _BINS, 1e-12)
    spot = ((by_test - low[:, None]) / width[:, None]).astype(np.int64)
    flat = spot + (np.arange(n)[:, None] * _ANSWERS + answer) * _BINS
    count = np.bincount(flat.ravel(), minlength=n * _ANSWERS * _BINS)
    joint = count.reshape(n, _ANSWERS, _BINS) / m
    centre = low[:, None] + (np.arange(_BINS) + 0.5) * width[:, None]
    edges = _equal_chance_edges(joint.sum(axis=1), centre, sd)
    upto = ndtr((edges[:, None, :] - centre[:, :, None]) / sd[:, None, None])
    weight = np.diff(upto, axis=2, prepend=0.0, append=1.0)
    squares = (joint.sum(axis=1)[:, None, :] @ weight**2)[:, 0]
    return _bits(joint @ weight, squares, m), Read(weight, spot)


def _equal_chance_edges(mass: Floats, centre: Floats, sd: Floats) -> Floats:
    """Edges of steps about equally likely, float[n, LEVELS - 1]: a normal's, by moments."""
    mean = (mass * centre).sum(axis=1)
    var = (mass * (centre - mean[:, None]) ** 2).sum(axis=1) + sd**2
    share = np.arange(1, LEVELS) / LEVELS
    edges: Floats = mean[:, None] + np.sqrt(var)[:, None] * ndtri(share)
    return edges


def pair_bits(steps: Floats, answer: Ints) -> Floats:
    """Bits of each two tests together, float[n, n], from float[m, n, LEVELS]."""
    m, n, _ = steps.shape
    flat = steps.reshape(m, n * LEVELS)
    order = np.argsort(answer, kind="stable")
    ends = np.searchsorted(answer[order], np.arange(_ANSWERS + 1))
    flat = flat[order]
    parts = [flat[a:b].T @ flat[a:b] for a, b in pairwise(ends)]
    cells = np.array(parts).reshape(_ANSWERS, n, LEVELS, n, LEVELS) / m
    squares = ((flat**2).T @ flat**2).reshape(n, LEVELS, n, LEVELS) / m
    cells = cells.transpose(1, 3, 0, 2, 4).reshape(n, n, _ANSWERS, LEVELS * LEVELS)
    squares = squares.transpose(0, 2, 1, 3).reshape(n, n, LEVELS * LEVELS)
    return _bits(cells, squares, m)


def _bits(cells: Floats, squares: Floats, draws: int) -> Floats:
    """Mutual information of answers and results, float[...], from shares of `draws` draws.

    cells float[..., answers, results] sum to 1; squares float[..., results] are means of
    squared weights. Counting adds about (answers - 1)(results - 1) / 2m nats to mutual
    information (Miller 1955); soft steps count as sum(w^2) / sum(w) results each, an answer
    with fewer draws than results as less than one.
    """
    result = cells.sum(axis=-2)
    chance = cells.sum(axis=-1)
    together = cells.reshape(*chance.shape[:-1], -1)
    found: Floats = _entropy(chance) + _entropy(result) - _entropy(together)
    results = (squares / np.maximum(result, 1e-12)).sum(axis=-1)
    answers = np.minimum(1.0, chance * draws / results[..., None]).sum(axis=-1)
    excess = np.maximum(answers - 1.0, 0.0) * (results - 1.0) / (2.0 * draws * np.log(2.0))
    return np.asarray(np.maximum(found - excess, 0.0), dtype=np.float64)


def _entropy(p: Floats) -> Floats:
    """Entropy in bits over the last axis."""
    value: Floats = -(p * np.log2(np.maximum(p, 1e-300))).sum(axis=-1)
    return np.asarray(np.maximum(value, 0.0), dtype=np.float64)


def best_set(
    squad: Sequence[NextTests],
    norms: Norms,
    *,
    size: int = SET_SIZE,
    parents: Mapping[str, str] | None = None,
) -> tuple[str, ...]:
    """The lifts whose tests tell a squad (or one lifter) most together, most telling first.

    Every set of the lifts that tell most alone is tried, but none with two lifts that ask the
    same of the body. A set must not tire more than `test_week_cost`, and each snatch's worth of
    tiring must earn `test_cost_price` of what is still open. A lift that is not for someone
    tells nothing about them. parents: see `avoided.parents_of`.
    """
    alone: dict[str, float] = {}
    cost: dict[str, float] = {}
    for tests in squad:
        for one in tests.values:
            alone[one.lift] = alone.get(one.lift, 0.0) + one.bits
            cost[one.lift] = max(cost.get(one.lift, 0.0), one.cost)
    # the most telling and the most telling for what they cost, or only squats would be left
    most = sorted(alone, key=lambda lift: (-alone[lift], lift))[:_CANDIDATES]
    cheap = sorted(alone, key=lambda lift: (-alone[lift] / cost[lift], lift))[:_CANDIDATES]
    lifts = list(dict.fromkeys((*most, *cheap)))
    sets = _unlike_sets(lifts, parents or {}, size, norms.alike)
    if not len(sets):
        return ()
    spent = np.array([cost[lift] for lift in lifts])[sets].sum(axis=1)
    price = norms.constant("test_cost_price") * sum(tests.entropy_bits for tests in squad)
    worth = np.zeros(len(sets))
    for tests in squad:
        worth += _set_bits(tests, lifts, sets)
    worth = np.where(spent <= norms.constant("test_week_cost") + 1e-9, worth, -np.inf)
    best = int((worth - price * spent).argmax())
    return tuple(lifts[i] for i in sets[best]) if np.isfinite(worth[best]) else ()


def _unlike_sets(lifts: Sequence[str], parents: Mapping[str, str], size: int, what: Alike) -> Ints:
    """Sets of so many lifts, no two of a kind, int[sets, size]; smaller where there are no more."""
    alike = np.array([[what.same(a, b, parents) for b in lifts] for a in lifts])
    for n in range(min(size, len(lifts)), 0, -1):
        sets = np.array(list(combinations(range(len(lifts)), n)), dtype=np.int64)
        twice = np.zeros(len(sets), dtype=bool)
        for i, j in combinations(range(n), 2):
            twice |= alike[sets[:, i], sets[:, j]]
        if not twice.all():
            return sets[~twice]
    return np.empty((0, size), dtype=np.int64)


def together_bits(tests: NextTests, lifts: Sequence[str]) -> float:
    """What tests of these lifts would tell one lifter together; at most three of them."""
    if not lifts:
        return 0.0
    every = np.arange(len(lifts), dtype=np.int64)[None, :]
    return float(_set_bits(tests, lifts, every)[0])


def _set_bits(tests: NextTests, lifts: Sequence[str], sets: Ints) -> Floats:
    """Bits of each set for one lifter, float[sets]; see the top for three at a time."""
    known = {one.lift: one.bits for one in tests.values}
    single = np.array([known.get(lift, 0.0) for lift in lifts])
    # beyond the most telling lifts the second of two is taken to add nothing
    pair = np.maximum(single[:, None], single[None, :])
    row = {lift: i for i, lift in enumerate(lifts)}
    for two in tests.pairs:
        if two.first in row and two.second in row:
            i, j = row[two.first], row[two.second]
            pair[i, j] = pair[j, i] = two.bits
    if sets.shape[1] == 1:
        return np.asarray(single[sets[:, 0]], dtype=np.float64)
    pairs = np.column_stack(
        [pair[sets[:, i], sets[:, j]] for i, j in combinations(range(sets.shape[1]), 2)]
    )
    if sets.shape[1] == 2:
        return pairs[:, 0]
    together: Floats = pairs.sum(axis=1) - single[sets].sum(axis=1)
    return np.asarray(np.maximum(together, pairs.max(axis=1)), dtype=np.float64)
