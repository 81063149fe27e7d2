"""The names of points in the plane: everyone has one, and a reader sees whose it is."""

from __future__ import annotations

import math
import random
import re
from collections.abc import Sequence
from pathlib import Path
from xml.etree import ElementTree

import pytest

from profilegen.report.drawing.frame import Frame, Width, plane_frame
from profilegen.report.drawing.names import MOST_LED, Box, Name, placed_names, touches

WIDTHS: tuple[Width, ...] = ("wide", "narrow")


def plane(width: Width = "wide") -> Frame:
    return plane_frame(["250"], width, titles=1, extra=80)


def away(x: float, y: float, box: Box) -> float:
    """From a point to a box."""
    left, top, right, bottom = box
    return math.hypot(max(left - x, 0, x - right), max(top - y, 0, y - bottom))


def crowd(number: int, frame: Frame, seed: int) -> list[tuple[float, float, str]]:
    """Points in a cloud, with names of twelve letters."""
    some = random.Random(seed)
    middle = ((frame.left + frame.right) / 2, (frame.top + frame.bottom) / 2)
    return [
        (some.gauss(middle[0], 90), some.gauss(middle[1], 60), f"Lifter no {i:02}")
        for i in range(number)
    ]


def check(frame: Frame, spots: Sequence[tuple[float, float, str]], names: Sequence[Name]) -> None:
    """Within the plane, on no point, on no other name, and near its own point or led to it."""
    own = {name: (x, y) for x, y, name in spots}
    for i, one in enumerate(names):
        assert frame.left <= one.box[0], one
        assert one.box[2] <= frame.units, one
        assert not any(touches(one.box, other.box) for other in names[i + 1 :]), one
        mine = away(*own[one.text], one.box)
        others = [away(x, y, one.box) for x, y, name in spots if name != one.text]
        assert min(others) > 5, one  # a mark has five units around its middle
        assert mine < min(others) or one.lead is not None, one


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize(("number", "least"), [(3, 3), (15, 12), (MOST_LED + 20, 4)])
@pytest.mark.parametrize("seed", range(5))
def test_names_touch_nothing_and_belong_to_their_point(
    width: Width, number: int, least: int, seed: int
):
    frame = plane(width)
    spots = crowd(number, frame, seed)
    names = placed_names(frame, spots, [])
    assert len(names) >= least
    check(frame, spots, names)


def test_a_name_does_not_stand_over_the_point_of_someone_else():
    """Right below where a name would go stands another's mark: it would read as the other's."""
    spots = [(300.0, 200.0, "Helga Ströbeck"), (270.0, 203.0, "Kofi Adomensah")]
    frame = plane()
    names = placed_names(frame, spots, [])
    assert {one.text for one in names} == {"Helga Ströbeck", "Kofi Adomensah"}
    check(frame, spots, names)


def test_no_curve_runs_through_a_name():
    """The curve leaves the point to the right, where the name would otherwise stand."""
    curve = [(100.0, 260.0), (300.0, 202.0), (600.0, 196.0)]
    (name,) = placed_names(plane(), [(300.0, 200.0, "Mateo Quiroval")], [curve])
    left, top, right, bottom = name.box
    for step in range(1001):
        x = 100 + step / 2
        (x1, y1), (x2, y2) = (curve[0], curve[1]) if x < 300 else (curve[1], curve[2])
        y = y1 + (y2 - y1) * (x - x1) / (x2 - x1)
        assert not (left < x < right and top < y < bottom)


def test_where_marks_crowd_a_line_leads_to_the_name():
    spots = [(300.0 + 11 * i, 200.0, f"Lifter no {i:02}") for i in range(8)]
    frame = plane()
    names = placed_names(frame, spots, [])
    assert len(names) == 8
    assert any(one.lead for one in names)
    check(frame, spots, names)


def test_a_name_that_is_wider_than_the_plane_is_left_to_the_table():
    assert placed_names(plane("narrow"), [(200.0, 200.0, "x" * 80)], []) == []


def test_everyone_in_the_demo_squad_is_named_on_a_desk_and_on_a_phone(demo_site: Path):
    """All whose body mass is known, with every letter."""
    text = (demo_site / "index.html").read_text(encoding="utf-8")
    (figure,) = re.findall(
        r'<figure class="chart" id="chart-body-mass".*?</figure>', text, re.DOTALL
    )
    people = set(re.findall(r'<th scope="row">([^<]+)</th>', figure))
    assert len(people) == 14
    for width in WIDTHS:
        (svg,) = re.findall(rf'<svg class="still-{width}".*?</svg>', figure, re.DOTALL)
        groups = [one for one in ElementTree.fromstring(svg) if "names" in one.get("class", "")]
        assert {name.text for group in groups for name in group} == people, width
