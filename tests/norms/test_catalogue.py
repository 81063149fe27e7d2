"""The lift catalogue: complete, sourced, and strict about what it reads."""

from __future__ import annotations

import math
import pickle
import re
import shutil
from dataclasses import dataclass
from importlib.resources import files
from itertools import pairwise
from pathlib import Path

import pytest

from profilegen.errors import NormsError
from profilegen.norms.catalogue import (
    PRACTICE,
    Figure,
    Norms,
    load_norms,
    read_norms,
    with_own_lifts,
)

NORMS = load_norms()
FOLDER = Path(str(files("profilegen.norms")))
NORM_FILES = sorted(path for path in FOLDER.iterdir() if path.suffix in {".yaml", ".csv"})

THE_TRADE = set(
    """
hang_power_snatch power_snatch hang_snatch block_snatch snatch snatch_balance
hang_power_clean power_clean hang_clean block_clean clean
push_press power_jerk jerk jerk_from_rack press overhead_squat snatch_pull clean_pull
paused_front_squat front_squat paused_back_squat back_squat snatch_deadlift clean_deadlift
""".split()  # noqa: SIM905
)


@dataclass(frozen=True)
class Own:
    id: str
    name: str
    parent: str
    share: float


def every_figure(norms: Norms) -> list[tuple[str, Figure]]:
    found = [(f"constant {name}", figure) for name, figure in norms.constants.items()]
    found += [(f"{reps} repetitions", figure) for reps, figure in norms.rep_chart.items()]
    for key, relation in norms.speed.items():
        found += [(f"speed of the {key}: {name}", figure) for name, figure in relation.items()]
    for lift in norms.lifts.values():
        for name in ("share", "own_sd", "fluke_rate", "test_cost"):
            found.append((f"{lift.id}: {name}", getattr(lift, name)))
        found += [(f"{lift.id}: {quality}", figure) for quality, figure in lift.loadings.items()]
    return found


# ---- what the catalogue holds


def test_every_lift_of_the_trade_is_in_the_catalogue() -> None:
    assert set(NORMS.lifts) == THE_TRADE


def test_clean_and_jerk_and_total_are_no_lifts_of_their_own() -> None:
    assert not {"clean_and_jerk", "total"} & set(NORMS.lifts)


def test_lifts_come_from_fast_and_light_to_slow_and_heavy() -> None:
    orders = [lift.order for lift in NORMS.lifts.values()]
    assert orders == sorted(set(orders))
    place = list(NORMS.lifts).index
    for faster, slower in (
        ("hang_power_snatch", "power_snatch"),
        ("power_snatch", "snatch"),
        ("snatch", "clean"),
        ("power_clean", "clean"),
        ("clean", "clean_pull"),
        ("snatch_pull", "snatch_deadlift"),
        ("front_squat", "back_squat"),
    ):
        assert place(faster) < place(slower)


def test_the_clean_is_the_unit() -> None:
    assert NORMS.lifts["clean"].share.value == 1.0


def test_every_figure_has_a_source() -> None:
    for what, figure in every_figure(NORMS):
        assert figure.source == PRACTICE or figure.source in NORMS.sources, what
        assert math.isfinite(figure.value), what


def test_sources_named_in_notes_and_comments_exist() -> None:
    """A note may lean on a second source; that key must be in sources.csv too."""
    key = re.compile(r"\b[a-z][a-z_]*(?:19|20)\d\d[a-z]*\b|\biwf_[a-z_0-9]+\b")
    for path in NORM_FILES:
        if path.name != "sources.csv":
            for name in set(key.findall(path.read_text(encoding="utf-8"))):
                assert name in NORMS.sources, (path.name, name)


def test_no_lift_answers_to_two_names_of_others() -> None:
    names = [name for lift in NORMS.lifts.values() for name in (lift.id, *lift.aliases)]
    assert len(names) == len(set(names))
    assert all(re.fullmatch(r"[a-z][a-z_]*", name) for name in names)


def test_a_lift_is_found_by_its_id_and_by_the_trades_other_name() -> None:
    assert NORMS.lift_id("power_jerk") == "power_jerk"
    assert NORMS.lift_id("push_jerk") == "power_jerk"
    assert NORMS.lift_id("snatch_grip_deadlift") == "snatch_deadlift"
    assert NORMS.lift_id("bench_press") is None


# ---- rules of the trade (common practice, no source)


def test_strength_carries_the_power_clean_up_more_than_the_snatch() -> None:
    def from_strength(lift: str) -> float:
        loadings = NORMS.lifts[lift].loadings
        return sum(loadings[q].value for q in ("legs", "pull") if q in loadings)

    assert from_strength("power_clean") > from_strength("snatch")


@pytest.mark.parametrize(
    ("quality", "lift"),
    [
        ("legs", "front_squat"),
        ("legs", "back_squat"),
        ("pull", "snatch_deadlift"),
        ("pull", "clean_pull"),
        ("speed", "power_snatch"),
        ("snatch_turnover", "snatch"),
        ("clean_turnover", "clean"),
        ("overhead", "jerk"),
        ("overhead", "press"),
    ],
)
def test_each_quality_moves_its_own_lifts_most(quality: str, lift: str) -> None:
    loadings = {name: figure.value for name, figure in NORMS.lifts[lift].loadings.items()}
    assert max(loadings, key=lambda name: loadings[name]) == quality


def test_power_lifts_do_not_depend_on_turnover() -> None:
    for lift in ("hang_power_snatch", "power_snatch", "hang_power_clean", "power_clean"):
        assert not {"snatch_turnover", "clean_turnover"} & set(NORMS.lifts[lift].loadings)


def test_a_front_squat_clearly_exceeds_the_snatch_grip_deadlift() -> None:
    assert (
        NORMS.lifts["front_squat"].share.value > 1.05 * NORMS.lifts["snatch_deadlift"].share.value
    )


def test_a_paused_squat_is_lighter_than_the_bounced_one() -> None:
    for squat in ("front_squat", "back_squat"):
        assert NORMS.lifts[f"paused_{squat}"].share.value < NORMS.lifts[squat].share.value


def test_heavy_deadlifts_and_squats_cost_more_to_test_than_the_snatch() -> None:
    cost = {lift.id: lift.test_cost.value for lift in NORMS.lifts.values()}
    assert cost["snatch"] == 1.0
    assert cost["clean_deadlift"] > cost["back_squat"] > cost["clean_pull"] > cost["snatch"]


def test_misses_say_less_about_capacity_in_the_snatch_than_in_squats() -> None:
    fluke = {lift.id: lift.fluke_rate.value for lift in NORMS.lifts.values()}
    assert fluke["snatch"] > fluke["clean"] > fluke["back_squat"]


# ---- tables


def test_more_repetitions_always_mean_a_smaller_share() -> None:
    assert list(NORMS.rep_chart) == list(range(1, 21))
    shares = [figure.value for figure in NORMS.rep_chart.values()]
    assert all(more > fewer for more, fewer in pairwise(shares))


def test_young_lifters_gain_most_and_old_ones_lose() -> None:
    for sex in ("M", "F"):
        gains = dict(NORMS.yearly_gain[sex])
        assert gains[15] > gains[18] > gains[23.5] > 0 > gains[50]


def test_every_usual_ratio_is_about_known_lifts_and_says_what_it_means() -> None:
    for ratio in NORMS.usual_ratios:
        assert {ratio.numerator, ratio.denominator} <= {*NORMS.lifts, "clean_and_jerk"}
        assert ratio.low_means.endswith(".")
        assert ratio.high_means.endswith(".")


def test_what_a_ratio_says_names_no_lifter_and_sends_nobody_anywhere() -> None:
    """It stands on the coach's page and on the lifter's, whatever the answer is."""
    for ratio in NORMS.usual_ratios:
        for text in (ratio.low_means, ratio.high_means):
            assert "lifter" not in text.lower(), text
            assert "look at" not in text.lower(), text
            assert "has room" not in text.lower(), text


def test_usual_ratios_hold_what_the_shares_say() -> None:
    """Text and model agree: the usual lifter of the model lies within every usual range.

    A clean and jerk is taken as 1 / 1.025 of the clean (design value: the lesser of two
    equal lifts that vary)."""
    share = {lift.id: lift.share.value for lift in NORMS.lifts.values()}
    share["clean_and_jerk"] = 1 / 1.025
    for ratio in NORMS.usual_ratios:
        value = share[ratio.numerator] / share[ratio.denominator]
        assert ratio.usual_low < value < ratio.usual_high, (ratio.numerator, ratio.denominator)


def test_load_speed_relations_are_known_where_a_lift_names_one() -> None:
    for lift in NORMS.lifts.values():
        assert lift.bar_speed == "none" or lift.bar_speed in NORMS.speed


# ---- reading


def test_norms_travel_to_another_process_unchanged() -> None:
    assert pickle.loads(pickle.dumps(NORMS)) == NORMS


def test_norms_are_read_once() -> None:
    assert load_norms() is load_norms()


@pytest.fixture
def copied(tmp_path: Path) -> Path:
    for path in NORM_FILES:
        shutil.copy(path, tmp_path)
    return tmp_path


def spoil(folder: Path, file: str, old: str, new: str) -> str:
    """Replace the first `old` in one norm file; return what the loader then says."""
    path = folder / file
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(NormsError) as caught:
        read_norms(folder)
    return str(caught.value)


def test_the_copied_files_read_like_the_originals(copied: Path) -> None:
    assert read_norms(copied) == NORMS


@pytest.mark.parametrize(
    ("file", "old", "new", "said"),
    [
        (
            "constants.yaml",
            "level_sd: {value: 0.30, source: common practice,",
            "level_sd: {value: 0.30,",
            "constants.yaml: level_sd: a number without a source",
        ),
        (
            "constants.yaml",
            "source: challis1999",
            "source: hearsay",
            "constants.yaml: body_mass_exponent: unknown source hearsay",
        ),
        (
            "constants.yaml",
            "value: 0.30",
            "value: .nan",
            "constants.yaml: level_sd: expected a number, got nan",
        ),
        (
            "constants.yaml",
            "value: 0.30",
            "value: yes",
            "constants.yaml: level_sd: expected a number, got True",
        ),
        (
            # who is a child where privacy is concerned gets no advice for grown-ups
            "constants.yaml",
            "junior_until: {value: 18,",
            "junior_until: {value: 16,",
            "constants.yaml: junior_until: 16 is not within 18 and inf",
        ),
        (
            "lifts.yaml",
            "loadings: {pull: 0.01, speed: 0.029, source: common practice}",
            "loadings: {pull: 0.01, speed: 0.029}",
            "lifts.yaml: hang_power_snatch: loadings: a number without a source",
        ),
        (
            "lifts.yaml",
            "loadings: {pull:",
            "loadings: {grip:",
            "lifts.yaml: hang_power_snatch: loadings: unknown key grip",
        ),
        (
            "lifts.yaml",
            "rep_kind: quick",
            "rep_kind: slow",
            "lifts.yaml: hang_power_snatch: rep_kind: unknown rep_kind slow",
        ),
        (
            "lifts.yaml",
            "  order: 10\n",
            "",
            "lifts.yaml: hang_power_snatch: order is missing",
        ),
        (
            "lifts.yaml",
            "- id: power_snatch",
            "- id: hang_power_snatch",
            "lifts.yaml: hang_power_snatch: the name hang_power_snatch is taken",
        ),
        (
            "ratios_usual.yaml",
            "numerator: power_snatch",
            "numerator: power_snach",
            "no lift called power_snach",
        ),
        (
            "ratios_usual.yaml",
            "  source: iwf_results_db\n",
            "",
            "ratios_usual.yaml: snatch : clean_and_jerk: a number without a source",
        ),
        (
            "ratios_usual.yaml",
            "low_points: [speed, snatch_turnover]",
            "low_points: [speed, luck]",
            "ratios_usual.yaml: snatch : clean_and_jerk: no quality called luck",
        ),
        (
            "tables.yaml",
            "{reps: 5, share: 0.87, source: nsca_chart}",
            "{reps: 5, share: 0.87}",
            "tables.yaml: rep_chart: 5: a number without a source",
        ),
        (
            "tables.yaml",
            "{age: 15, gain: 0.1391, source: iwf_results_db}",
            "{age: 15, gain: 0.1391}",
            "tables.yaml: yearly_gain: M: 15: a number without a source",
        ),
        ("tables.yaml", "rep_chart:", "rep_chart: [", "tables.yaml: cannot be read"),
        ("sources.csv", "key,", "name,", "sources.csv: cannot be read"),
    ],
)
def test_a_wrong_norm_file_is_refused_and_named(
    copied: Path, file: str, old: str, new: str, said: str
) -> None:
    assert said in spoil(copied, file, old, new)


def test_every_problem_is_named_at_once(copied: Path) -> None:
    path = copied / "constants.yaml"
    text = path.read_text(encoding="utf-8").replace("source: common practice", "source: nowhere")
    path.write_text(text, encoding="utf-8")
    with pytest.raises(NormsError) as caught:
        read_norms(copied)
    assert len(str(caught.value).splitlines()) == text.count("source: nowhere")


def test_no_key_is_given_twice_in_a_norm_file() -> None:
    """YAML would silently keep the last of two equal constants."""
    names = re.findall(r"^(\w+):", (FOLDER / "constants.yaml").read_text("utf-8"), re.MULTILINE)
    assert len(names) == len(set(names))


# ---- a club's own lifts


def test_a_club_lift_behaves_like_its_parent_at_its_share() -> None:
    own = Own("no_feet_snatch", "No-feet snatch", "snatch", 0.9)
    norms = with_own_lifts(NORMS, (own,))
    lift, parent = norms.lifts["no_feet_snatch"], NORMS.lifts["snatch"]
    assert lift.name == "No-feet snatch"
    assert lift.share.value == pytest.approx(0.9 * parent.share.value)
    assert lift.share.source == PRACTICE
    assert lift.loadings == parent.loadings
    assert lift.own_sd.value > parent.own_sd.value
    assert list(norms.lifts)[list(norms.lifts).index("no_feet_snatch") + 1] == "snatch"
    assert "no_feet_snatch" not in NORMS.lifts


def test_a_club_lift_heavier_than_its_parent_stands_after_it() -> None:
    norms = with_own_lifts(NORMS, [Own("quarter_squat", "Quarter squat", "back_squat", 1.4)])
    assert list(norms.lifts).index("quarter_squat") == list(norms.lifts).index("back_squat") + 1


def test_no_own_lifts_change_nothing() -> None:
    assert with_own_lifts(NORMS, ()) == NORMS


@pytest.mark.parametrize(
    ("own", "said"),
    [
        (Own("low_snatch", "Low snatch", "snach", 0.9), "no lift called snach"),
        (Own("snatch", "Snatch", "clean", 0.9), "the name is taken"),
        (Own("push_jerk", "Push jerk", "jerk", 0.9), "the name is taken"),
        (Own("clean_and_jerk", "Both", "clean", 0.9), "the name is taken"),
        (Own("low_snatch", "Low snatch", "snatch", 0.0), "is not a positive number"),
        (Own("low_snatch", "Low snatch", "snatch", math.nan), "is not a positive number"),
    ],
)
def test_a_club_lift_that_makes_no_sense_is_refused(own: Own, said: str) -> None:
    with pytest.raises(NormsError, match=said):
        with_own_lifts(NORMS, [own])
