"""Trends over time and points in the plane: two axes."""

from __future__ import annotations

from datetime import date

from profilegen.report.chart import Axis, ChartWords, Scatter, Trend
from profilegen.report.drawing.canvas import Anchor, Canvas, Scale, at, number, polyline, thinned
from profilegen.report.drawing.frame import (
    LINE,
    TICK_DROP,
    Frame,
    Width,
    fit,
    inside,
    plane_frame,
)
from profilegen.report.drawing.keys import CURVES, scatter_series, trend_kinds
from profilegen.report.drawing.marks import EVIDENCE_MARKS
from profilegen.report.drawing.names import placed_names
from profilegen.report.ticks import date_ticks, value_ticks

Y_TICKS = 5
DATE_TICKS: dict[Width, int] = {"wide": 8, "narrow": 4}
X_TICKS: dict[Width, int] = {"wide": 8, "narrow": 5}


def trend_frame(chart: Trend, width: Width) -> Frame:
    """The layout of a trend."""
    labels = [label for _, label in value_ticks(chart.axis, Y_TICKS)]
    return plane_frame(labels, width, titles=0)


def trend_dates(chart: Trend) -> tuple[date, date]:
    """First and last day shown: the line's, and the evidence's where it reaches further."""
    days = [*chart.days, *(mark.on for mark in chart.marks)]
    return min(days), max(days)


def draw_y_axis(canvas: Canvas, axis: Axis, scale: Scale) -> None:
    """Grid, labels at the left, the title lying above them."""
    frame = canvas.frame
    canvas.scales["y"] = scale
    ticks = value_ticks(axis, Y_TICKS)
    heights = [scale(value) for value, _ in ticks]
    left, right = number(frame.left), number(frame.right)
    canvas.path("".join([f"M{left} {number(y)}H{right}" for y in heights]), "grid")
    lines = [(frame.left - 8, y, label) for y, (_, label) in zip(heights, ticks, strict=True)]
    canvas.texts(lines, "soft", "end")
    if axis.title:
        canvas.text(0, LINE / 2, fit(axis.title, frame.units), "soft")


def draw_x_ticks(canvas: Canvas, ticks: list[tuple[float, str]], title: str = "") -> None:
    """Small ticks under the plotting area with their labels, and the axis' title."""
    frame = canvas.frame
    bottom = number(frame.bottom)
    canvas.path("".join([f"M{number(x)} {bottom}v5" for x, _ in ticks]), "grid")
    y = frame.bottom + TICK_DROP
    lines = [(inside(frame, x, label), y, label) for x, label in ticks]
    if title:
        lines.append(((frame.left + frame.right) / 2, y + LINE, fit(title, frame.units)))
    canvas.texts(lines, "soft", "middle")


def draw_trend(chart: Trend, width: Width, words: ChartWords) -> str:
    """Band, line, evidence; one path per kind of evidence."""
    frame = trend_frame(chart, width)
    canvas = Canvas(frame)
    first, last = trend_dates(chart)
    x = Scale(first.toordinal(), last.toordinal(), frame.left + 6, frame.right - 6)
    y = Scale(chart.axis.low, chart.axis.high, frame.bottom, frame.top)
    canvas.scales["x"] = x
    xs = [x(day.toordinal()) for day in chart.days]
    upper = thinned([(px, y(v)) for px, v in zip(xs, chart.high, strict=True)])
    lower = thinned([(px, y(v)) for px, v in zip(xs, chart.low, strict=True)])
    canvas.path(polyline([*upper, *reversed(lower)]) + "z", "sure")
    draw_y_axis(canvas, chart.axis, y)
    dates = date_ticks(first, last, DATE_TICKS[width], words.months, words.day_month)
    draw_x_ticks(canvas, [(x(day.toordinal()), label) for day, label in dates])
    middle = thinned([(px, y(v)) for px, v in zip(xs, chart.mid, strict=True)])
    canvas.path(polyline(middle), "mid")
    for kind, _ in trend_kinds(chart):
        shape = EVIDENCE_MARKS[kind]
        spots = [(x(m.on.toordinal()), y(m.value)) for m in chart.marks if m.kind == kind]
        canvas.path("".join([at(px, py, shape.path) for px, py in spots]), shape.paint)
    return canvas.svg()


def scatter_frame(chart: Scatter, width: Width) -> Frame:
    """The layout of points in the plane."""
    labels = [label for _, label in value_ticks(chart.y_axis, Y_TICKS)]
    titles = 1 if chart.x_axis.title else 0
    extra = 80 if width == "wide" else 120
    return plane_frame(labels, width, titles=titles, extra=extra)


def draw_scatter(chart: Scatter, width: Width) -> str:
    """Curves, points, and as many names as fit without touching each other."""
    frame = scatter_frame(chart, width)
    canvas = Canvas(frame)
    x = Scale(chart.x_axis.low, chart.x_axis.high, frame.left + 8, frame.right - 8)
    y = Scale(chart.y_axis.low, chart.y_axis.high, frame.bottom - 8, frame.top + 8)
    canvas.scales["x"] = x
    draw_y_axis(canvas, chart.y_axis, y)
    ticks = value_ticks(chart.x_axis, X_TICKS[width])
    draw_x_ticks(canvas, [(x(value), label) for value, label in ticks], chart.x_axis.title)
    curves: list[list[tuple[float, float]]] = []
    for i, curve in enumerate(chart.curves):
        shown = [
            (x(px), y(py))
            for px, py in zip(curve.xs, curve.ys, strict=True)
            if chart.x_axis.low <= px <= chart.x_axis.high
            and chart.y_axis.low <= py <= chart.y_axis.high
        ]
        if len(shown) > 1:
            curves.append(thinned(shown))
            canvas.path(polyline(curves[-1]), f"curve-{i % CURVES}")
    spots: list[tuple[float, float, str]] = []
    for _, shape, points in scatter_series(chart):
        own = [(x(p.x), y(p.y), p.label) for p in points]
        canvas.path("".join(at(px, py, shape.path) for px, py, _ in own), shape.paint)
        spots += own
    draw_names(canvas, spots, curves)
    return canvas.svg()


def draw_names(
    canvas: Canvas, spots: list[tuple[float, float, str]], curves: list[list[tuple[float, float]]]
) -> None:
    """Write the names beside their points, some at the end of a thin line.

    They stay in sight under the plot, which has no way of placing them apart.
    """
    names = placed_names(canvas.frame, spots, curves)
    leads = [polyline(one.lead) for one in names if one.lead]
    canvas.path("".join(leads), "names lead")
    anchors: tuple[Anchor, ...] = ("start", "middle", "end")
    for anchor in anchors:
        lines = [(one.x, one.y, one.text) for one in names if one.anchor == anchor]
        canvas.texts(lines, "names soft halo", anchor)
