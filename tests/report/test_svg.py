"""The drawn charts: sound, legible, safe, and the same every time."""

from __future__ import annotations

import math
import os
import random
import re
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

from profilegen.report.chart import Drawable
from profilegen.report.drawing.canvas import thinned
from profilegen.report.drawing.frame import Width
from profilegen.report.drawing.marks import EVIDENCE_MARKS, ROW_MARKS
from profilegen.report.svg import svg_of
from tests.report.chart_samples import HOSTILE, SAMPLES, hostile

ROOT = Path(__file__).parents[2]
CHARTS_CSS = (ROOT / "templates" / "assets" / "charts.css").read_text(encoding="utf-8")
WIDTHS: tuple[Width, ...] = ("wide", "narrow")


def drawing(chart: Drawable, width: Width) -> ElementTree.Element:
    return ElementTree.fromstring(svg_of(chart, width=width))


every_chart = pytest.mark.parametrize("chart", [*SAMPLES, *hostile()], ids=lambda c: c.id)
both_widths = pytest.mark.parametrize("width", WIDTHS)


@every_chart
@both_widths
def test_a_drawing_is_well_formed_and_plain(chart: Drawable, width: Width) -> None:
    """Only shapes and text: no script, no link, no style, no handler, nothing to load."""
    for element in drawing(chart, width).iter():
        assert element.tag in {"svg", "g", "path", "rect", "text"}
        for name, value in element.attrib.items():
            assert name in {
                *("class", "d", "x", "y", "width", "height", "rx", "text-anchor", "viewBox"),
                *("font-size", "aria-hidden", "focusable", "data-x", "data-y"),
            }
            assert "url(" not in value


@every_chart
@both_widths
def test_colours_come_from_classes_that_the_stylesheet_knows(chart: Drawable, width: Width) -> None:
    """A class without a rule would be drawn black on any ground."""
    used = {
        name
        for element in drawing(chart, width).iter()
        for name in element.get("class", "").split()
    }
    known = set(re.findall(r"\.([a-z][\w-]*)", CHARTS_CSS)) | {"t-plain", "max"}
    assert used <= known, used - known


@pytest.mark.parametrize("chart", hostile(), ids=lambda c: c.id)
@both_widths
def test_hostile_words_stay_words(chart: Drawable, width: Width) -> None:
    """Markup in a name is shown (perhaps cut short), never obeyed."""
    texts = [element.text or "" for element in drawing(chart, width).iter("text")]
    assert any(text.startswith(HOSTILE[:8]) for text in texts)
    assert "<b" not in svg_of(chart, width=width)


SHOWN_AT_LEAST_PX: dict[Width, float] = {"wide": 600, "narrow": 280}
"""The wide drawing is shown from a figure of 600 px upwards (charts.css); the narrow one
on a screen of 320 px with at most 20 px of margin on each side."""


@every_chart
@both_widths
def test_no_text_is_shown_under_11_px(chart: Drawable, width: Width) -> None:
    svg = drawing(chart, width)
    units = float(svg.get("viewBox", "").split()[2])
    scale = SHOWN_AT_LEAST_PX[width] / units
    sizes = [float(e.get("font-size", "nan")) for e in svg.iter() if e.get("font-size")]
    assert sizes, "a drawing says its text size"
    assert min(sizes) * scale >= 11


def test_the_stylesheet_changes_drawings_where_this_test_thinks_it_does() -> None:
    """The sizes above hold only with this break point and no font size for drawings' text."""
    assert re.search(
        r"@container \(min-width: 600px\) \{\s*\.still-wide \{ display: block", CHARTS_CSS
    )
    for selector, body in re.findall(r"([^{}]+)\{([^{}]*)\}", CHARTS_CSS):
        if "still" in selector:
            assert "font-size" not in body, selector


@every_chart
@both_widths
def test_every_shape_lies_within_the_drawing(chart: Drawable, width: Width) -> None:
    svg = drawing(chart, width)
    _, _, right, bottom = map(float, svg.get("viewBox", "").split())
    for element in svg.iter():
        x, y = float(element.get("x", 0)), float(element.get("y", 0))
        if element.tag == "rect":
            x += float(element.get("width", 0))
            y += float(element.get("height", 0))
        assert 0 <= x <= right + 0.05
        assert 0 <= y <= bottom + 0.05


@pytest.mark.parametrize("seed", range(20))
def test_a_thinned_line_stays_within_its_tolerance(seed: int) -> None:
    """Every point, kept or dropped, is hit by the drawn line to within the tolerance."""
    chance = random.Random(seed)
    xs = sorted(chance.sample(range(700), 60))
    points = [(float(x), 100 + 30 * math.sin(x / 90) + chance.gauss(0, 0.4)) for x in xs]
    kept = thinned(points, 0.3)
    assert (kept[0], kept[-1]) == (points[0], points[-1])
    assert set(kept) <= set(points)
    on_line = np.interp(xs, [x for x, _ in kept], [y for _, y in kept])
    assert max(abs(on_line - [y for _, y in points])) <= 0.3 + 1e-9
    assert len(kept) < len(points)


def test_points_on_a_straight_line_are_its_two_ends() -> None:
    line = [(float(x), 3.0 * x) for x in range(50)]
    assert thinned(line) == [line[0], line[-1]]


def test_kinds_of_knowledge_differ_by_shape_not_by_colour_alone() -> None:
    for marks in (ROW_MARKS, EVIDENCE_MARKS):
        looks = {(shape.path, shape.paint.split()[0]) for shape in marks.values()}
        assert len(looks) == len(marks)


def test_drawings_are_the_same_bytes_in_another_process() -> None:
    """Another hash seed changes the order of sets; it must not change a drawing."""
    program = (
        "import hashlib; from profilegen.report.svg import svg_of;"
        "from tests.report.chart_samples import SAMPLES;"
        "print(hashlib.sha256(''.join(svg_of(c, width=w) for c in SAMPLES"
        " for w in ('wide', 'narrow')).encode()).hexdigest())"
    )
    digests = {
        subprocess.run(
            [sys.executable, "-c", program],
            cwd=ROOT,
            env={**os.environ, "PYTHONHASHSEED": seed},
            check=True,
            capture_output=True,
            text=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(digests) == 1
