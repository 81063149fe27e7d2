"""Body-mass formulas against published examples and the table worked out from the formulas.

Official: the worked example of the federation's page on the cycle 2001-2004 (archived copy of 11
April 2004). The other rows were worked out from the published formula and constants with a
separate few lines of Python when the references were collected; of their constants only those of
2001-2004 and 2017-2020 were read in a source, the rest are from memory.
"""

from __future__ import annotations

import math

import pytest

from profilegen.engine.standards import (
    SINCLAIR_CYCLES,
    allometric,
    huebner_2023,
    huebner_2023_coefficient,
    sinclair,
    sinclair_coefficient,
)
from profilegen.history.records import Sex
from profilegen.norms.catalogue import load_norms


def test_the_federations_own_example_comes_out_to_the_printed_digits() -> None:
    """83.5 kg man, total 390 kg, cycle 2001-2004: coefficient 1.17699569414, 459.028 kg."""
    assert sinclair_coefficient("M", 83.5, "2001-2004") == pytest.approx(1.17699569414, abs=5e-12)
    assert sinclair(390, "M", 83.5, "2001-2004") == pytest.approx(459.028, abs=5e-4)


def test_the_circulating_wrong_constant_is_not_used() -> None:
    """With b = 135.390 the federation's example would give 428.960."""
    a = SINCLAIR_CYCLES["2001-2004"].a["M"]
    wrong = 390 * 10 ** (a * math.log10(83.5 / 135.390) ** 2)
    assert wrong == pytest.approx(428.960, abs=5e-4)
    assert SINCLAIR_CYCLES["2001-2004"].b["M"] == 157.141


@pytest.mark.parametrize(
    ("cycle", "sex", "body_mass", "total", "coefficient", "scaled"),
    [
        ("2001-2004", "M", 83.5, 390, 1.176995694, 459.028),
        ("2001-2004", "M", 61.9, 320, 1.424441962, 455.821),
        ("2001-2004", "F", 63.0, 240, 1.159753803, 278.341),
        ("2001-2004", "F", 58.5, 230, 1.207210122, 277.658),
        ("2005-2008", "M", 83.5, 390, 1.196974156, 466.820),
        ("2005-2008", "M", 61.9, 320, 1.442741654, 461.677),
        ("2005-2008", "F", 63.0, 240, 1.179582539, 283.100),
        ("2005-2008", "F", 58.5, 230, 1.238422567, 284.837),
        ("2009-2012", "M", 83.5, 390, 1.201552235, 468.605),
        ("2009-2012", "M", 61.9, 320, 1.438945522, 460.463),
        ("2009-2012", "F", 63.0, 240, 1.243171779, 298.361),
        ("2009-2012", "F", 58.5, 230, 1.306080208, 300.398),
        ("2013-2016", "M", 83.5, 390, 1.205763850, 470.248),
        ("2013-2016", "M", 61.9, 320, 1.447911484, 463.332),
        ("2013-2016", "F", 63.0, 240, 1.328917959, 318.940),
        ("2013-2016", "F", 58.5, 230, 1.399120016, 321.798),
        ("2017-2020", "M", 83.5, 390, 1.197458736, 467.009),
        ("2017-2020", "M", 61.9, 320, 1.425731581, 456.234),
        ("2017-2020", "F", 63.0, 240, 1.310595523, 314.543),
        ("2017-2020", "F", 58.5, 230, 1.373435688, 315.890),
        ("2021-2024", "M", 83.5, 390, 1.248579539, 486.946),
        ("2021-2024", "M", 61.9, 320, 1.504052516, 481.297),
        ("2021-2024", "F", 63.0, 240, 1.312714169, 315.051),
        ("2021-2024", "F", 58.5, 230, 1.375990575, 316.478),
    ],
)
def test_sinclair_totals_of_every_cycle(
    cycle: str, sex: Sex, body_mass: float, total: float, coefficient: float, scaled: float
) -> None:
    assert sinclair_coefficient(sex, body_mass, cycle) == pytest.approx(coefficient, abs=6e-10)
    assert sinclair(total, sex, body_mass, cycle) == pytest.approx(scaled, abs=6e-4)


@pytest.mark.parametrize(
    ("cycle", "sex", "body_mass", "coefficient"),
    [
        ("2017-2020", "M", 180.0, 1.0),
        ("2017-2020", "F", 160.0, 1.0),
        ("2021-2024", "M", 180.0, 1.001668800),
    ],
)
def test_sinclair_ends_at_one_for_the_heaviest(
    cycle: str, sex: Sex, body_mass: float, coefficient: float
) -> None:
    assert sinclair_coefficient(sex, body_mass, cycle) == pytest.approx(coefficient, abs=6e-10)


@pytest.mark.parametrize(
    ("sex", "body_mass", "total", "scaled"),
    [
        ("M", 83.5, 390, 500.141),
        ("M", 89.0, 400, 499.122),
        ("M", 61.0, 312, 489.798),
        ("M", 175.0, 463, 467.254),
        ("F", 63.0, 240, 327.112),
        ("F", 49.0, 215, 346.871),
        ("F", 127.0, 325, 350.223),
    ],
)
def test_the_2023_scaling(sex: Sex, body_mass: float, total: float, scaled: float) -> None:
    """Form read in the abstract of Huebner et al. (2023); constants from memory."""
    assert huebner_2023(total, sex, body_mass) == pytest.approx(scaled, abs=6e-4)


@pytest.mark.parametrize(("sex", "body_mass"), [("M", 180.00), ("F", 159.99)])
def test_the_2023_scaling_leaves_the_heaviest_alone(sex: Sex, body_mass: float) -> None:
    """What supports the constants quoted from memory: the coefficient is 1 there."""
    assert huebner_2023_coefficient(sex, body_mass) == pytest.approx(1.0, abs=1e-4)


@pytest.mark.parametrize(
    ("body_mass", "total", "score"), [(83.5, 390, 22.971), (61.9, 320, 22.828), (63.0, 240, 16.929)]
)
def test_the_allometric_score(body_mass: float, total: float, score: float) -> None:
    """Exponent 0.64 of Challis (1999), the one that the prior takes, too."""
    exponent = load_norms().constant("body_mass_exponent")
    assert allometric(total, body_mass, exponent) == pytest.approx(score, abs=6e-4)
