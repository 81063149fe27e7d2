"""Trends over time and points in the plane as plots."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise

from profilegen.report.chart import Axis, ChartWords, Scatter, Trend
from profilegen.report.drawing.frame import Width
from profilegen.report.drawing.keys import SURE, scatter_series, trend_kinds
from profilegen.report.drawing.marks import EVIDENCE_COLOURS, EVIDENCE_MARKS, SERIES_COLOURS
from profilegen.report.drawing.plane import (
    DATE_TICKS,
    X_TICKS,
    Y_TICKS,
    scatter_frame,
    trend_dates,
    trend_frame,
)
from profilegen.report.plotting.parts import (
    Spec,
    axis_title_above,
    axis_title_below,
    fixed,
    hover,
    margins,
    number_axis,
    plain_text,
    ready,
)
from profilegen.report.ticks import date_ticks


def trend_layout(chart: Trend, words: ChartWords, width: Width) -> Spec:
    """A date axis to zoom in, a fixed value axis with its title above."""
    first, last = trend_dates(chart)
    frame = trend_frame(chart, width)
    # The drawing keeps 6 units free at both ends, so that marks there stay whole.
    days_a_unit = (last - first).days / (frame.right - frame.left - 12)
    room = timedelta(days=max(6 * days_a_unit, 0.5))
    ticks = date_ticks(first, last, DATE_TICKS[width], words.months, words.day_month)
    return {
        "dragmode": "zoom",
        "margin": margins(frame),
        "xaxis": {
            "type": "date",
            "range": [moment(first, -room), moment(last, room)],
            "tickvals": [day.isoformat() for day, _ in ticks],
            "ticktext": [plain_text(label) for _, label in ticks],
            "showgrid": False,
            "ticks": "outside",
            "fixedrange": False,
        },
        "yaxis": number_axis(chart.axis, Y_TICKS) | {"ticklabelstandoff": 6},
        "annotations": axis_title_above(chart.axis, frame),
    }


def moment(day: date, shift: timedelta) -> str:
    """A day moved by hours, as plotly writes it."""
    minutes = round(shift.total_seconds() / 60)
    whole_days, rest = divmod(minutes, 24 * 60)
    return f"{day + timedelta(days=whole_days)} {rest // 60:02d}:{rest % 60:02d}"


def trend_days(days: Sequence[date]) -> Spec:
    """The x values: start and step where the days are even, else one by one."""
    steps = {(later - earlier).days for earlier, later in pairwise(days)}
    if len(steps) == 1:
        return {"x0": days[0].isoformat(), "dx": steps.pop() * 86_400_000}
    return {"x": [day.isoformat() for day in days]}


def trend_traces(chart: Trend, words: ChartWords) -> list[Spec]:
    """Two edges with the band between, the line, one trace per kind of evidence."""
    days = trend_days(chart.days)
    edge = {"type": "scatter", "mode": "lines", "line": {"width": 0}, "hoverinfo": "skip"}
    edge["legendgroup"] = SURE
    traces: list[Spec] = [
        {**edge, **days, "y": ready(chart.low)},
        {
            **edge,
            **days,
            "y": ready(chart.high),
            "fill": "tonexty",
            "fillcolor": "@accent-soft",
            "name": plain_text(chart.band_label or words.interval),
        },
        {
            "type": "scatter",
            "mode": "lines",
            **days,
            "y": ready(chart.mid),
            "line": {"color": "@accent", "width": 2},
            "name": plain_text(chart.mid_label or words.estimate),
            "hovertext": [hover(text) for text in chart.texts],
            "hoverinfo": "text",
        },
    ]
    for kind, label in trend_kinds(chart):
        shape = EVIDENCE_MARKS[kind]
        own = [mark for mark in chart.marks if mark.kind == kind]
        colour = EVIDENCE_COLOURS[kind]
        solid = shape.paint.split()[0] in {"solid", "dot", "square"}
        traces.append(
            {
                "type": "scatter",
                "mode": "markers",
                "cliponaxis": False,
                "x": [mark.on.isoformat() for mark in own],
                "y": ready(mark.value for mark in own),
                "marker": {
                    "symbol": shape.symbol,
                    "size": shape.size,
                    "color": "@chart-ground" if shape.paint.startswith("hollow") else colour,
                    "opacity": 1,
                    "line": {"color": colour, "width": 0 if solid else 2},
                },
                "name": plain_text(label),
                "legendgroup": kind,
                "hovertext": [hover(mark.text) for mark in own],
                "hoverinfo": "text",
            }
        )
    return traces


def scatter_layout(chart: Scatter, width: Width) -> Spec:
    """Two numeric axes."""
    frame = scatter_frame(chart, width)
    x_axis, y_axis = chart.x_axis, chart.y_axis
    return {
        "margin": margins(frame),
        "xaxis": number_axis(x_axis, X_TICKS[width])
        | {
            "range": padded(x_axis, frame.right - frame.left),
            "showgrid": False,
            "ticks": "outside",
        },
        "yaxis": number_axis(y_axis, Y_TICKS)
        | {"range": padded(y_axis, frame.bottom - frame.top), "ticklabelstandoff": 6},
        "annotations": axis_title_above(y_axis, frame) + axis_title_below(x_axis, frame),
    }


def padded(axis: Axis, units: float) -> list[float | int]:
    """The axis' range with the 8 units that the drawing keeps free at both ends."""
    room = 8 * (axis.high - axis.low) / (units - 16)
    return [fixed(axis.low - room), fixed(axis.high + room)]


def scatter_traces(chart: Scatter) -> list[Spec]:
    """Curves below, then the points by series, with their links for a click."""
    traces: list[Spec] = [
        {
            "type": "scatter",
            "mode": "lines",
            "x": list(map(fixed, curve.xs)),
            "y": list(map(fixed, curve.ys)),
            "line": {"color": "@muted", "width": 1.8, "dash": CURVE_DASHES[i % len(CURVE_DASHES)]},
            "name": plain_text(curve.label),
            "hoverinfo": "name",
            "legendgroup": f"curve-{i}",
        }
        for i, curve in enumerate(chart.curves)
    ]
    for i, (name, shape, points) in enumerate(scatter_series(chart)):
        traces.append(
            {
                "type": "scatter",
                "mode": "markers",
                "cliponaxis": False,
                "x": [fixed(point.x) for point in points],
                "y": [fixed(point.y) for point in points],
                "marker": {
                    "symbol": shape.symbol,
                    "size": shape.size,
                    "color": SERIES_COLOURS[i % len(SERIES_COLOURS)],
                    "opacity": 1,
                },
                "name": plain_text(name),
                "legendgroup": f"series-{i}",
                "hovertext": [hover(point.label, point.text) for point in points],
                "hoverinfo": "text",
                "customdata": [point.href for point in points],
            }
        )
    return traces


CURVE_DASHES = ("solid", "6px,4px", "2px,3px")
"""The same as classes curve-0 to curve-2 in charts.css."""
