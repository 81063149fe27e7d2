"""Interval dot rows and waterfalls as plots: rows have whole numbers from the top."""

from __future__ import annotations

from collections.abc import Sequence

from profilegen.report.chart import ChartWords, IntervalRow, IntervalRows, Step, Tone, Waterfall
from profilegen.report.drawing.frame import (
    LABEL_RISE,
    LINE,
    ROW_HEIGHT,
    TRACK_OFFSET,
    Frame,
    Width,
    row_texts,
)
from profilegen.report.drawing.keys import USUAL, has_band, interval_marks, mark_label
from profilegen.report.drawing.marks import ROW_MARKS
from profilegen.report.drawing.rows import (
    BAND_SHARE,
    BAR_SHARE,
    INTERVAL_SHARE,
    TICKS,
    WHISKER_SHARE,
    interval_frame,
    order_words,
    reference_words,
    waterfall_frame,
    waterfall_spans,
)
from profilegen.report.plotting.parts import (
    Spec,
    axis_title_below,
    fixed,
    hover,
    margins,
    number_axis,
    plain_text,
    words_at,
)

TONES: dict[Tone, str] = {
    "plain": "@accent",
    "good": "@good",
    "low": "@low",
    "strong": "@strong",
    "muted": "@muted",
}


def rows_layout(chart: IntervalRows | Waterfall, width: Width) -> Spec:
    """Rows have whole numbers 0, 1, ... from the top; labels left, values right."""
    entries: Sequence[IntervalRow | Step]
    if isinstance(chart, IntervalRows):
        entries, frame = chart.rows, interval_frame(chart, width)
        notes = row_words(chart, frame)
    else:
        entries, frame, notes = chart.steps, waterfall_frame(chart, width), []
    row_height = ROW_HEIGHT[width]
    first = -TRACK_OFFSET[width] / row_height
    last = first + (frame.bottom - frame.top) / row_height
    row_axis: Spec = {
        "range": [fixed(last), fixed(first)],
        "tickvals": list(range(len(entries))),
        "showgrid": False,
    }
    if width == "narrow":
        row_axis |= {"anchor": "free", "ticklabelshift": LABEL_RISE}
    texts = [row_texts(frame, entry.label, entry.value_text) for entry in entries]
    labels = row_axis | {
        "ticktext": [plain_text(label) for label, _ in texts],
        "tickfont": {"color": "@ink"},
        "ticklabelstandoff": 8,
    }
    values = row_axis | {
        "ticktext": [plain_text(value) for _, value in texts],
        "tickfont": {"color": "@ink-soft"},
        "overlaying": "y",
        "side": "right",
        "ticklabelstandoff": 8,
    }
    if width == "narrow":
        # Labels inside, above their rows: a right-hand axis at the left edge, and the
        # reverse. (Plotly's own "inside" makes room by dropping ticks of the x axis.)
        labels |= {"side": "right", "position": 0, "ticklabelstandoff": -8}
        values |= {"side": "left", "position": 1, "ticklabelstandoff": -8}
    return {
        "margin": margins(frame),
        "xaxis": number_axis(chart.axis, TICKS[width]),
        "yaxis": labels,
        "yaxis2": values,
        "annotations": [*notes, *axis_title_below(chart.axis, frame)],
    }


def row_words(chart: IntervalRows, frame: Frame) -> list[Spec]:
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
            note["font"] = {"style": "italic"}
            notes.append(note)
    return notes


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
                "marker": {"color": "@band"},
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
                "marker": {"color": colours},
                "hoverinfo": "skip",
            }
        )
        traces.append(
            {
                "type": "scatter",
                "mode": "markers",
                "cliponaxis": False,
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
