"""Warm-up sets as data: they rise, stay under the opener, and are marked as common practice."""

from __future__ import annotations

import shutil
from itertools import pairwise
from pathlib import Path

import pytest

from profilegen.errors import NormsError
from profilegen.norms import catalogue
from profilegen.norms.catalogue import PRACTICE, load_norms, read_norms

FOLDER = Path(catalogue.__file__).parent
LAST = "- {share: 0.94, reps: 1, source: common practice}"


def test_warm_ups_rise_to_just_under_the_opener():
    shares = [one.share.value for one in load_norms().warm_up]
    assert all(light < heavy for light, heavy in pairwise(shares))
    assert 0.9 < shares[-1] < 1.0
    assert {one.share.source for one in load_norms().warm_up} == {PRACTICE}


@pytest.mark.parametrize(
    ("instead", "said"),
    [
        ("- {share: 0.94, reps: 1}", "tables.yaml: warm_up: 0.94: a number without a source"),
        ("- {share: 1.2, reps: 1, source: common practice}", "1.2 is not within 0.1 and 0.99"),
        ("- {share: 0.5, reps: 1, source: common practice}", "loads must rise"),
        ("- {share: 0.94, reps: none, source: common practice}", "expected a number"),
        ("- {share: 0.94, reps: 1.5, source: common practice}", "expected a whole number"),
    ],
)
def test_a_wrong_warm_up_is_refused_and_named(tmp_path: Path, instead: str, said: str):
    norms = tmp_path / "norms"
    shutil.copytree(FOLDER, norms)
    file = norms / "tables.yaml"
    text = file.read_text(encoding="utf-8")
    assert text.count(LAST) == 1
    file.write_text(text.replace(LAST, instead), encoding="utf-8")
    with pytest.raises(NormsError, match=said):
        read_norms(norms)
