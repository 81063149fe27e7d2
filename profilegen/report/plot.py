"""A chart as a plotly spec: plain dicts and lists, no plotly objects, bars and points only.

There is a layout for each of the two widths that report/svg.py draws; its margins are the
drawing's own, so the plot lies exactly over it (charts.js scales both alike). Colours are
token names such as "@ink", which charts.js replaces by what the page's theme says at that
moment. All text is escaped, because plotly reads a little HTML.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

from profilegen.report.chart import (
    ENGLISH,
    Axis,
    ChartWords,
    Drawable,
    IntervalRows,
    Scatter,
    Trend,
    Waterfall,
)
from profilegen.report.drawing.frame import (
    LABEL_RISE,
    LINE,
    ROW_HEIGHT,
    TEXT_SIZE,
    TICK_DROP,
    TRACK_OFFSET,
    Frame,
    Width,
    fit,
)
from profilegen.report.drawing.keys import (
    SURE,
    USUAL,
    has_band,
    interval_marks,
    mark_label,
    scatter_series,
    trend_kinds,
)
from profilegen.report.drawing.marks import (
    EVIDENCE_COLOURS,
    EVIDENCE_MARKS,
    ROW_MARKS,
    SERIES_COLOURS,
)
from profilegen.report.drawing.plane import DATE_TICKS, X_TICKS, Y_TICKS, trend_dates
from profilegen.report.drawing.rows import (
    BAND_SHARE,
    BAR_SHARE,
    INTERVAL_SHARE,
    TICKS,
    WHISKER_SHARE,
    order_words,
    reference_words,
    waterfall_spans,
)
from profilegen.report.svg import frame_of
from profilegen.report.ticks import date_ticks, value_ticks

Spec = dict[str, Any]

DECIMALS = 4
"""Of every number in a spec: finer than any screen, the same on every machine."""

PROTECTION: Spec = {
    "showSendToCloud": False,
    "plotlyServerURL": "",
    "displaylogo": False,
    "displayModeBar": False,
}
"""Settings without which plotly offers to send a lifter's data away; never leave one out."""

CONFIG: Spec = {**PROTECTION, "responsive": False, "showTips": False, "doubleClick": "reset"}
"""charts.js follows the figure's size itself, because margins grow with it."""

TONES = {
    "plain": "@accent",
    "good": "@good",
    "low": "@low",
    "strong": "@strong",
    "muted": "@muted",
}

CLEAR = "rgba(0,0,0,0)"


def plotly_spec(chart: Drawable, *, words: ChartWords = ENGLISH) -> Spec:
    """`{"data", "layout", "narrow", "narrow_bars", "config"}`, ready for JSON.

    `narrow` holds the parts of the layout that differ on a narrow figure; there, bars are
    multiplied by `narrow_bars`, because widths of bars are shares of a row.
    """
    match chart:
        case IntervalRows():
            data, layouts = interval_traces(chart, words), rows_layouts(chart)
        case Waterfall():
            data, layouts = waterfall_traces(chart), rows_layouts(chart)
        case Trend():
            data, layouts = trend_traces(chart, words), trend_layouts(chart, words)
        case Scatter():
            data, layouts = scatter_traces(chart), scatter_layouts(chart)
    return {
        "data": data,
        "layout": layouts["wide"],
        "narrow": {k: v for k, v in layouts["narrow"].items() if v != layouts["wide"].get(k)},
        "narrow_bars": fixed(ROW_HEIGHT["wide"] / ROW_HEIGHT["narrow"]),
        "config": dict(CONFIG),
    }


def plain_text(text: str) -> str:
    """Text that plotly shows as it is: its tags and entities are escaped.

    >>> plain_text("<b>Ann & Bo</b>")
    '&lt;b&gt;Ann &amp; Bo&lt;/b&gt;'
    """
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def hover(*lines: str) -> str:
    """Lines of a hover label; empty ones are left out."""
    return "<br>".join(plain_text(line) for line in lines if line)


def fixed(value: float) -> float | int:
    """A number with a fixed number of decimals, whole ones without any, never -0."""
    rounded = round(value, DECIMALS)
    return int(rounded) if rounded == int(rounded) else rounded


def fixed_all(values: Sequence[float]) -> list[float | int]:
    """`fixed` of each."""
    return [fixed(value) for value in values]


def base_layout(frame: Frame) -> Spec:
    """What every chart's layout shares."""
    return {
        "margin": {
            "l": fixed(frame.left),
            "r": fixed(frame.units - frame.right),
            "t": fixed(frame.top),
            "b": fixed(frame.height - frame.bottom),
            "pad": 0,
        },
        "font": {"family": "inherit", "size": TEXT_SIZE, "color": "@ink-soft"},
        "paper_bgcolor": CLEAR,
        "plot_bgcolor": CLEAR,
        "hovermode": "closest",
        "hoverdistance": 24,
        "hoverlabel": {
            "bgcolor": "@surface",
            "bordercolor": "@line-strong",
            "font": {"color": "@ink"},
            "align": "left",
        },
        "dragmode": False,
        "showlegend": False,
    }


def number_axis(axis: Axis, most_ticks: int) -> Spec:
    """A fixed numeric axis with the drawing's ticks."""
    ticks = value_ticks(axis, most_ticks)
    return {
        "range": [fixed(axis.low), fixed(axis.high)],
        "tickvals": [fixed(value) for value, _ in ticks],
        "ticktext": [plain_text(label) for _, label in ticks],
        "gridcolor": "@line",
        "zeroline": False,
        "fixedrange": True,
        "automargin": False,
        "tickangle": 0,
        "ticklabeloverflow": "allow",
    }


def words_at(x: float, y: float, text: str, **place: Any) -> Spec:
    """A line of words on the paper; x and y are shares of the plotting area."""
    return {
        "x": fixed(x),
        "y": fixed(y),
        "xref": "paper",
        "yref": "paper",
        "yanchor": "middle",
        "text": plain_text(text),
        "showarrow": False,
        "font": {"color": "@ink-soft"},
        **place,
    }


def rows_layouts(chart: IntervalRows | Waterfall) -> dict[Width, Spec]:
    """Rows have whole numbers 0, 1, ... from the top; labels left, values right."""
    entries = chart.rows if isinstance(chart, IntervalRows) else chart.steps
    labels = [entry.label for entry in entries]
    values = [entry.value_text for entry in entries]
    layouts: dict[Width, Spec] = {}
    for width in ("wide", "narrow"):
        frame = frame_of(chart, width=width)
        row_height = ROW_HEIGHT[width]
        first = -TRACK_OFFSET[width] / row_height
        last = first + (frame.bottom - frame.top) / row_height
        row_axis: Spec = {
            "range": [fixed(last), fixed(first)],
            "tickvals": list(range(len(entries))),
            "showgrid": False,
            "zeroline": False,
            "fixedrange": True,
            "automargin": False,
        }
        label_room, value_room = frame.left - 12, frame.units - frame.right - 8
        if width == "narrow":
            label_room, value_room = frame.units * 0.6, frame.units * 0.65
            row_axis |= {"anchor": "free", "ticklabelshift": LABEL_RISE}
        layout = base_layout(frame)
        layout["barmode"] = "overlay"
        layout["xaxis"] = number_axis(chart.axis, TICKS[width])
        layout["yaxis"] = row_axis | {
            "ticktext": [plain_text(fit(label, label_room)) for label in labels],
            "tickfont": {"color": "@ink"},
            "ticklabelstandoff": 8,
        }
        layout["yaxis2"] = row_axis | {
            "ticktext": [plain_text(fit(value, value_room)) for value in values],
            "tickfont": {"color": "@ink-soft"},
            "overlaying": "y",
            "side": "right",
            "ticklabelstandoff": 8,
        }
        if width == "narrow":
            # Labels inside, above their rows: a right-hand axis at the left edge, and the
            # reverse. (Plotly's own "inside" makes room by dropping ticks of the x axis.)
            layout["yaxis"] |= {"side": "right", "position": 0, "ticklabelstandoff": -8}
            layout["yaxis2"] |= {"side": "left", "position": 1, "ticklabelstandoff": -8}
        if isinstance(chart, IntervalRows):
            layout |= row_words(chart, frame)
        layout["annotations"] = [
            *layout.get("annotations", ()),
            *axis_title_below(chart.axis, frame),
        ]
        layouts[width] = layout
    return layouts


def row_words(chart: IntervalRows, frame: Frame) -> Spec:
    """The reference line's label, and what the order of the rows means."""
    plot_width, plot_height = frame.right - frame.left, frame.bottom - frame.top
    far_left = -frame.left / plot_width
    head = 1 + (frame.top - LINE / 2 - 1) / plot_height
    foot = (LINE / 2 - 2) / plot_height
    notes = []
    if chart.reference is not None and chart.reference_label:
        label, middle = reference_words(chart, frame)
        notes.append(words_at((middle - frame.left) / plot_width, head, label))
    for label, arrow, y in ((chart.start_label, "▲", head), (chart.end_label, "▼", foot)):
        if label:
            note = words_at(far_left, y, f"{arrow} {order_words(label, frame)}", xanchor="left")
            note["font"]["style"] = "italic"
            notes.append(note)
    return {"annotations": notes}


def interval_traces(chart: IntervalRows, words: ChartWords) -> list[Spec]:
    """Bands, intervals, then one trace per kind of mark, so that the legend can hide it."""
    rows = list(enumerate(chart.rows))
    traces: list[Spec] = []
    if has_band(chart):
        banded = [
            (i, row.band_low, row.band_high)
            for i, row in rows
            if row.band_low is not None and row.band_high is not None
        ]
        traces.append(
            {
                "type": "bar",
                "orientation": "h",
                "name": plain_text(words.usual),
                "legendgroup": USUAL,
                "y": [i for i, _, _ in banded],
                "base": [fixed(low) for _, low, _ in banded],
                "x": [fixed(high - low) for _, low, high in banded],
                "width": BAND_SHARE,
                "marker": {"color": "@band", "cornerradius": 3},
                "hoverinfo": "skip",
            }
        )
    if chart.reference is not None:
        traces.append(
            {
                "type": "scatter",
                "mode": "lines",
                "x": [fixed(chart.reference)] * 2,
                "y": [-1, len(rows)],
                "line": {"color": "@ink-soft", "width": 1.5, "dash": "4px,3px"},
                "hoverinfo": "skip",
            }
        )
    for mark in interval_marks(chart):
        shape = ROW_MARKS[mark]
        own = [(i, row) for i, row in rows if row.mark == mark]
        colours = [TONES[row.tone] for _, row in own]
        traces.append(
            {
                "type": "bar",
                "orientation": "h",
                "yaxis": "y2",
                "name": plain_text(words.interval),
                "legendgroup": mark,
                "y": [i for i, _ in own],
                "base": [fixed(row.low) for _, row in own],
                "x": [fixed(row.high - row.low) for _, row in own],
                "width": INTERVAL_SHARE,
                "marker": {"color": colours, "cornerradius": 1},
                "hoverinfo": "skip",
            }
        )
        traces.append(
            {
                "type": "scatter",
                "mode": "markers",
                "yaxis": "y2",
                "name": plain_text(mark_label(mark, words)),
                "legendgroup": mark,
                "x": [fixed(row.value) for _, row in own],
                "y": [i for i, _ in own],
                "marker": {
                    "symbol": shape.symbol,
                    "size": shape.size,
                    "color": "@chart-ground" if shape.paint == "hollow" else colours,
                    "opacity": 1,
                    "line": (
                        {"color": colours, "width": 2}
                        if shape.paint == "hollow"
                        else {"color": "@chart-ground", "width": 1.5}
                    ),
                },
                "hovertext": [hover(row.label, row.value_text, row.note) for _, row in own],
                "hoverinfo": "text",
            }
        )
    return traces


def waterfall_traces(chart: Waterfall) -> list[Spec]:
    """The bars, and thin ones over them for the intervals."""
    spans = waterfall_spans(chart)
    traces: list[Spec] = [
        {
            "type": "bar",
            "orientation": "h",
            "y": list(range(len(spans))),
            "base": [fixed(start) for start, _ in spans],
            "x": [fixed(end - start) for start, end in spans],
            "width": BAR_SHARE,
            "marker": {
                "color": [TONES[step.tone] for step in chart.steps],
                "opacity": [1 if step.total else 0.75 for step in chart.steps],
                "cornerradius": 2,
            },
            "hovertext": [hover(step.label, step.value_text) for step in chart.steps],
            "hoverinfo": "text",
        }
    ]
    whiskers = [
        (i, (0.0 if step.total else start) + step.low, step.high - step.low)
        for i, (step, (start, _)) in enumerate(zip(chart.steps, spans, strict=True))
        if step.low is not None and step.high is not None
    ]
    traces.append(
        {
            "type": "bar",
            "orientation": "h",
            "yaxis": "y2",
            "y": [i for i, _, _ in whiskers],
            "base": [fixed(low) for _, low, _ in whiskers],
            "x": [fixed(length) for _, _, length in whiskers],
            "width": WHISKER_SHARE,
            "marker": {"color": "@ink"},
            "hoverinfo": "skip",
        }
    )
    return traces


def trend_layouts(chart: Trend, words: ChartWords) -> dict[Width, Spec]:
    """A date axis to zoom in, a fixed value axis with its title above."""
    first, last = trend_dates(chart)
    layouts: dict[Width, Spec] = {}
    for width in ("wide", "narrow"):
        frame = frame_of(chart, width=width)
        # The drawing keeps 6 units free at both ends, so that marks there stay whole.
        days_a_unit = (last - first).days / (frame.right - frame.left - 12)
        room = timedelta(days=max(6 * days_a_unit, 0.5))
        ticks = date_ticks(first, last, DATE_TICKS[width], words.months)
        layout = base_layout(frame)
        layout["dragmode"] = "zoom"
        layout["xaxis"] = {
            "type": "date",
            "range": [moment(first, -room), moment(last, room)],
            "tickvals": [day.isoformat() for day, _ in ticks],
            "ticktext": [plain_text(label) for _, label in ticks],
            "showgrid": False,
            "zeroline": False,
            "automargin": False,
            "ticks": "outside",
            "tickcolor": "@line",
            "tickangle": 0,
            "ticklabeloverflow": "allow",
        }
        layout["yaxis"] = number_axis(chart.axis, Y_TICKS) | {"ticklabelstandoff": 6}
        layout["annotations"] = axis_title_above(chart.axis, frame)
        layouts[width] = layout
    return layouts


def moment(day: date, shift: timedelta) -> str:
    """A day moved by hours, as plotly writes it."""
    minutes = round(shift.total_seconds() / 60)
    whole_days, rest = divmod(minutes, 24 * 60)
    return f"{day + timedelta(days=whole_days)} {rest // 60:02d}:{rest % 60:02d}"


def axis_title_above(axis: Axis, frame: Frame) -> list[Spec]:
    """The value axis' title, lying above it where it is read without turning one's head."""
    if not axis.title:
        return []
    left = -frame.left / (frame.right - frame.left)
    top = 1 + (frame.top - LINE / 2) / (frame.bottom - frame.top)
    return [words_at(left, top, fit(axis.title, frame.units), xanchor="left")]


def axis_title_below(axis: Axis, frame: Frame) -> list[Spec]:
    """The other axis' title, under its tick labels."""
    if not axis.title:
        return []
    bottom = -(TICK_DROP + LINE) / (frame.bottom - frame.top)
    return [words_at(0.5, bottom, fit(axis.title, frame.units))]


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
        {**edge, **days, "y": fixed_all(chart.low)},
        {
            **edge,
            **days,
            "y": fixed_all(chart.high),
            "fill": "tonexty",
            "fillcolor": "@accent-soft",
            "name": plain_text(chart.band_label or words.interval),
        },
        {
            "type": "scatter",
            "mode": "lines",
            **days,
            "y": fixed_all(chart.mid),
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
        solid = shape.paint.startswith("solid")
        traces.append(
            {
                "type": "scatter",
                "mode": "markers",
                "x": [mark.on.isoformat() for mark in own],
                "y": [fixed(mark.value) for mark in own],
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


def scatter_layouts(chart: Scatter) -> dict[Width, Spec]:
    """Two numeric axes."""
    layouts: dict[Width, Spec] = {}
    for width in ("wide", "narrow"):
        frame = frame_of(chart, width=width)
        layout = base_layout(frame)
        x_axis, y_axis = chart.x_axis, chart.y_axis
        layout["xaxis"] = number_axis(x_axis, X_TICKS[width]) | {
            "range": padded(x_axis, frame.right - frame.left),
            "showgrid": False,
            "ticks": "outside",
            "tickcolor": "@line",
        }
        layout["yaxis"] = number_axis(y_axis, Y_TICKS) | {
            "range": padded(y_axis, frame.bottom - frame.top),
            "ticklabelstandoff": 6,
        }
        layout["annotations"] = axis_title_above(y_axis, frame) + axis_title_below(x_axis, frame)
        layouts[width] = layout
    return layouts


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
            "x": fixed_all(curve.xs),
            "y": fixed_all(curve.ys),
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
