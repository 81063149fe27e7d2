"""The colour tokens are readable (WCAG 2.2 AA) and the same however dark was chosen."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ASSETS = Path(__file__).parents[2] / "templates" / "assets"


def token_blocks() -> list[dict[str, str]]:
    """Light, dark by the system, dark by choice: token name -> colour, in file order."""
    css = (ASSETS / "tokens.css").read_text(encoding="utf-8")
    bodies = re.findall(r":root[^{]*\{([^{}]*)\}", css)
    return [dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{6});", body)) for body in bodies]


LIGHT, DARK, DARK_BY_CHOICE = token_blocks()


def relative_luminance(colour: str) -> float:
    """WCAG 2.2, definition of relative luminance."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, definition of contrast ratio."""
    high, low = sorted((relative_luminance(one), relative_luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_contrast_formula_knows_black_on_white() -> None:
    """WCAG: black on white is 21:1; #767676 on white is the well-known 4.54:1 grey."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


def test_dark_is_the_same_by_system_and_by_choice() -> None:
    assert DARK == DARK_BY_CHOICE
    assert DARK.keys() == LIGHT.keys()


TEXT = ["ink", "ink-soft", "muted", "accent", "good", "low", "strong"]
GROUND = ["paper", "surface"]


@pytest.mark.parametrize("tokens", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("ground", GROUND)
@pytest.mark.parametrize("text", TEXT)
def test_text_is_readable(tokens: dict[str, str], text: str, ground: str) -> None:
    """Text has 4.5:1 against every ground it may stand on (WCAG 1.4.3)."""
    assert contrast(tokens[text], tokens[ground]) >= 4.5


@pytest.mark.parametrize("tokens", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("text", ["ink", "ink-soft", "accent"])
@pytest.mark.parametrize("ground", ["band", "accent-soft"])
def test_text_is_readable_on_tinted_grounds(tokens: dict[str, str], text: str, ground: str) -> None:
    assert contrast(tokens[text], tokens[ground]) >= 4.5


@pytest.mark.parametrize("tokens", [LIGHT, DARK], ids=["light", "dark"])
def test_controls_and_focus_stand_out(tokens: dict[str, str]) -> None:
    """Outlines of controls and the focus ring have 3:1 (WCAG 1.4.11); buttons' text 4.5:1."""
    for ground in GROUND:
        assert contrast(tokens["line-strong"], tokens[ground]) >= 3
        assert contrast(tokens["focus"], tokens[ground]) >= 3
    assert contrast(tokens["accent-ink"], tokens["accent"]) >= 4.5


@pytest.mark.parametrize("tokens", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("step", ["n3", "n2", "n1", "0", "p1", "p2", "p3"])
def test_heat_cells_are_readable(tokens: dict[str, str], step: str) -> None:
    assert contrast(tokens[f"heat-{step}-ink"], tokens[f"heat-{step}"]) >= 4.5


@pytest.mark.parametrize("tokens", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("mark", ["ink", "ink-soft", "accent", "good", "low", "strong", "muted"])
@pytest.mark.parametrize("ground", ["paper", "surface", "band", "accent-soft"])
def test_marks_stand_out_from_whatever_they_are_drawn_on(
    tokens: dict[str, str], mark: str, ground: str
) -> None:
    """Dots and lines have 3:1 against the page, the usual band and a trend's interval
    (WCAG 1.4.11)."""
    assert contrast(tokens[mark], tokens[ground]) >= 3


def blended(colour: str, ground: str, share: float) -> str:
    """A colour painted with some opacity over a ground."""
    mixed = [
        round(share * int(colour[i : i + 2], 16) + (1 - share) * int(ground[i : i + 2], 16))
        for i in (1, 3, 5)
    ]
    return "#" + "".join(f"{part:02x}" for part in mixed)


@pytest.mark.parametrize("tokens", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("tone", ["accent", "good", "low", "strong", "muted"])
@pytest.mark.parametrize("ground", GROUND)
def test_pale_bars_still_stand_out(tokens: dict[str, str], tone: str, ground: str) -> None:
    """Steps of a waterfall are painted a little transparent (charts.css, class bar)."""
    css = (ASSETS / "charts.css").read_text(encoding="utf-8")
    (share,) = re.findall(r"\.bar \{[^}]*fill-opacity: ([\d.]+)", css)
    assert contrast(blended(tokens[tone], tokens[ground], float(share)), tokens[ground]) >= 3


def test_the_text_of_drawings_has_only_colours_that_were_checked() -> None:
    """Rules for text in charts.css name ink or ink-soft, tested above on every ground."""
    css = (ASSETS / "charts.css").read_text(encoding="utf-8")
    rules = dict(re.findall(r"\.chart-still (svg|\.soft) \{ fill: var\(--([\w-]+)\); \}", css))
    assert rules == {"svg": "ink", ".soft": "ink-soft"}
