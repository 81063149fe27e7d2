"""The drawing and the plot of a chart show the same numbers.

The drawing's are read back from its geometry: every position is turned into a value by
the scale that the drawing states (`data-x`, `data-y`: low, high, start, end). The plot's
are its traces. Both are also held against the chart itself.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable
from datetime import date, timedelta
from itertools import chain, pairwise
from typing import Any
from xml.etree import ElementTree

import pytest

from profilegen.report.chart import Drawable, IntervalRows, Scatter, Trend, Waterfall
from profilegen.report.drawing.frame import Width
from profilegen.report.plot import plotly_spec
from profilegen.report.svg import svg_of
from tests.report.chart_samples import bars, kilos, ratios, short_trend, squad, strip, trend

ROUNDING_UNITS = 0.051
"""Positions have one decimal."""
LINE_UNITS = 1.3
"""Points of lines lie on whole units (half a unit off, also sideways, where a line may
climb) and the line passes those it leaves out at a quarter of a unit."""

both_widths = pytest.mark.parametrize("width", ["wide", "narrow"])
Spec = dict[str, Any]


def flat(spans: Iterable[tuple[float, float]]) -> list[float]:
    return list(chain.from_iterable(spans))


class Drawing:
    """A drawing whose positions can be read as values."""

    def __init__(self, chart: Drawable, width: Width) -> None:
        self.svg = ElementTree.fromstring(svg_of(chart, width=width))

    def value(self, axis: str, position: float) -> float:
        low, high, start, end = map(float, self.svg.get(f"data-{axis}", "").split())
        return low + (position - start) * (high - low) / (end - start)

    def units(self, axis: str, count: float) -> float:
        """So many units of the drawing, in values."""
        low, high, start, end = map(float, self.svg.get(f"data-{axis}", "").split())
        return count * abs((high - low) / (end - start))

    def tolerance(self, axis: str) -> float:
        # The scale's own ends are rounded too.
        return self.units(axis, 2 * ROUNDING_UNITS)

    def having(self, *classes: str) -> list[ElementTree.Element]:
        return [e for e in self.svg.iter() if set(classes) <= set(e.get("class", "").split())]

    def spans(self, *classes: str) -> list[tuple[float, float]]:
        """(low, high) of horizontal pieces of paths ("M x y H x"), from the top."""
        found = [
            (float(y), self.value("x", float(start)), self.value("x", float(end)))
            for e in self.having(*classes)
            for start, y, end in re.findall(r"M([-\d.]+) ([-\d.]+)H([-\d.]+)", e.get("d", ""))
        ]
        return [(low, high) for _, low, high in sorted(found)]

    def starts(self, *classes: str) -> list[tuple[float, float]]:
        """Positions of the marks in paths: each begins with "M x y"."""
        return [
            (float(x), float(y))
            for e in self.having(*classes)
            for x, y in re.findall(r"M([-\d.]+) ([-\d.]+)", e.get("d", ""))
        ]

    def vertices(self, *classes: str) -> list[tuple[float, float]]:
        (path,) = self.having(*classes)
        numbers = [float(n) for n in re.findall(r"-?[\d.]+", path.get("d", ""))]
        return list(zip(numbers[::2], numbers[1::2], strict=True))


def bars_of(spec: Spec, width: float) -> list[tuple[float, float]]:
    """(start, end) of all bars of a thickness, from the top."""
    found = [
        (y, base, base + length)
        for trace in spec["data"]
        if trace["type"] == "bar" and trace["width"] == width
        for y, base, length in zip(trace["y"], trace["base"], trace["x"], strict=True)
    ]
    return [(start, end) for _, start, end in sorted(found)]


def points_of(spec: Spec) -> list[tuple[float, float]]:
    """(x, y) of all marks of rows."""
    return [
        (x, y)
        for trace in spec["data"]
        if trace["type"] == "scatter" and trace["mode"] == "markers"
        for x, y in zip(trace["x"], trace["y"], strict=True)
    ]


def check_interval_rows(chart: IntervalRows, spec: Spec, width: Width) -> None:
    drawn = Drawing(chart, width)
    near = drawn.tolerance("x")
    assert flat(drawn.spans("band")) == pytest.approx(flat(bars_of(spec, 0.6)), abs=near)
    assert flat(drawn.spans("interval")) == pytest.approx(flat(bars_of(spec, 0.1)), abs=near)
    marks = sorted(drawn.starts("row-mark"), key=lambda p: p[1])
    plotted = sorted(points_of(spec), key=lambda p: p[1])
    values = [drawn.value("x", x) for x, _ in marks]
    assert values == pytest.approx([x for x, _ in plotted], abs=near)
    if chart.reference is not None:
        ((x, _),) = drawn.starts("ref")
        (line,) = [t for t in spec["data"] if t.get("mode") == "lines"]
        assert [drawn.value("x", x)] * 2 == pytest.approx(line["x"], abs=near)


@both_widths
@pytest.mark.parametrize("chart", [strip(), ratios()], ids=lambda c: c.id)
def test_interval_rows(chart: IntervalRows, width: Width) -> None:
    spec = plotly_spec(chart)
    check_interval_rows(chart, spec, width)
    truth = flat((row.low, row.high) for row in chart.rows)
    assert flat(bars_of(spec, 0.1)) == pytest.approx(truth, abs=1e-3)
    plotted = sorted(points_of(spec), key=lambda p: p[1])
    assert [x for x, _ in plotted] == pytest.approx([r.value for r in chart.rows], abs=1e-3)


def test_a_row_that_moved_would_be_noticed() -> None:
    """The comparison above can fail: one value of eleven changed by half a percent."""
    chart = strip()
    first = dataclasses.replace(chart.rows[0], value=chart.rows[0].value + 0.5)
    moved = dataclasses.replace(chart, rows=(first, *chart.rows[1:]))
    with pytest.raises(AssertionError):
        check_interval_rows(chart, plotly_spec(moved), "wide")


@both_widths
@pytest.mark.parametrize("chart", [kilos(), bars()], ids=lambda c: c.id)
def test_waterfall(chart: Waterfall, width: Width) -> None:
    spec = plotly_spec(chart)
    drawn = Drawing(chart, width)
    near = drawn.tolerance("x")
    standing = [(min(span), max(span)) for span in bars_of(spec, 0.6)]
    found = drawn.having("bar") + drawn.having("total")
    found.sort(key=lambda e: float(e.get("y", 0)))
    spans = [
        (
            drawn.value("x", float(e.get("x", 0))),
            drawn.value("x", float(e.get("x", 0)) + float(e.get("width", 0))),
        )
        for e in found
    ]
    assert flat(spans) == pytest.approx(flat(standing), abs=near)
    whiskers = drawn.spans("whisker")
    assert flat(whiskers) == pytest.approx(flat(bars_of(spec, 0.06)), abs=near)


def test_a_waterfall_ends_where_its_steps_lead() -> None:
    """190.5 + 9.5 + 2 + 1.5 = 203.5: each change hangs where the one before it ended."""
    spans = bars_of(plotly_spec(kilos()), 0.6)
    assert spans[1:4] == [(190.5, 200), (200, 202), (202, 203.5)]
    assert spans[4][1] == 203.5


def test_bars_without_a_total_start_at_zero() -> None:
    spans = bars_of(plotly_spec(bars()), 0.6)
    assert spans == [(0, 8.5), (0, 2.5), (0, -4), (0, 0.5)]


def day_numbers(trace: Spec) -> list[int]:
    if "x" in trace:
        return [date.fromisoformat(day).toordinal() for day in trace["x"]]
    start, step = date.fromisoformat(trace["x0"]), timedelta(milliseconds=trace["dx"])
    return [(start + i * step).toordinal() for i in range(len(trace["y"]))]


def height_at(line: list[tuple[float, float]], x: float, slack: float) -> float:
    """Where a line stands at x; its ends may be off by `slack`."""
    for (x1, y1), (x2, y2) in pairwise(line):
        if x1 - slack <= x <= x2 + slack:
            return y1 + (y2 - y1) * (x - x1) / (x2 - x1)
    raise AssertionError(f"the drawn line does not reach {x}")


@both_widths
@pytest.mark.parametrize("chart", [trend(), short_trend()], ids=lambda c: c.id)
def test_trend(chart: Trend, width: Width) -> None:
    """The drawn lines may skip days, but lie within 1.3 units of every plotted value."""
    spec = plotly_spec(chart)
    drawn = Drawing(chart, width)
    low, high, mid = spec["data"][:3]
    band = [(drawn.value("x", x), y) for x, y in drawn.vertices("sure")]
    turn = max(range(len(band)), key=lambda i: band[i][0])
    lines = {
        "high": band[: turn + 1],
        "low": band[:turn:-1],
        "mid": [(drawn.value("x", x), y) for x, y in drawn.vertices("mid")],
    }
    near = drawn.units("y", LINE_UNITS)
    for name, trace, truth in (
        ("low", low, chart.low),
        ("high", high, chart.high),
        ("mid", mid, chart.mid),
    ):
        assert trace["y"] == pytest.approx(truth, abs=1e-3)
        assert day_numbers(trace) == [day.toordinal() for day in chart.days]
        for day, value in zip(day_numbers(trace), trace["y"], strict=True):
            assert drawn.value(
                "y", height_at(lines[name], day, drawn.units("x", 0.6))
            ) == pytest.approx(value, abs=near)
    kinds = {trace["legendgroup"]: trace for trace in spec["data"][3:]}
    assert kinds.keys() == {mark.kind for mark in chart.marks}
    for kind, trace in kinds.items():
        spots = drawn.starts(kind)
        assert [drawn.value("x", x) for x, _ in spots] == pytest.approx(
            day_numbers(trace), abs=drawn.tolerance("x")
        )
        assert [drawn.value("y", y) for _, y in spots] == pytest.approx(
            trace["y"], abs=drawn.tolerance("y")
        )


@both_widths
def test_scatter(width: Width) -> None:
    chart: Scatter = squad()
    spec = plotly_spec(chart)
    drawn = Drawing(chart, width)
    marks = {
        (round(drawn.value("x", x), 1), round(drawn.value("y", y)))
        for x, y in drawn.starts("solid")
    }
    assert marks == {(round(x, 1), round(y)) for x, y in points_of(spec)}
    assert len(marks) == len(chart.points)
    assert {(round(p.x, 1), round(p.y)) for p in chart.points} == marks
    for i, curve in enumerate(chart.curves):
        line = drawn.vertices(f"curve-{i}")
        (trace,) = [t for t in spec["data"] if t["legendgroup"] == f"curve-{i}"]
        assert trace["y"] == pytest.approx(curve.ys, abs=1e-3)
        near = drawn.units("y", LINE_UNITS)
        values = [(drawn.value("x", x), y) for x, y in line]
        for x, y in zip(trace["x"], trace["y"], strict=True):
            assert drawn.value("y", height_at(values, x, drawn.units("x", 0.6))) == pytest.approx(
                y, abs=near
            )
