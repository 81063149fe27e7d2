"""Interval dot rows and waterfalls: one labelled row a line, one scale for all of them."""

from __future__ import annotations

from collections.abc import Sequence

from profilegen.report.chart import Axis, IntervalRows, Waterfall
from profilegen.report.drawing.canvas import Canvas, Scale, at, number
from profilegen.report.drawing.frame import (
    LABEL_RISE,
    LINE,
    ROW_HEIGHT,
    TICK_DROP,
    Frame,
    Width,
    fit,
    inside,
    row_frame,
    row_texts,
    text_width,
    track,
)
from profilegen.report.drawing.marks import ROW_MARKS
from profilegen.report.ticks import value_ticks

TICKS: dict[Width, int] = {"wide": 6, "narrow": 4}

BAND_SHARE = 0.6
INTERVAL_SHARE = 0.1
BAR_SHARE = 0.6
WHISKER_SHARE = 0.06
"""Thickness of the parts of a row, as shares of a wide row's height."""


def thickness(share: float) -> float:
    """In units; the same on both widths, so that a phone's taller rows stay slender."""
    return share * ROW_HEIGHT["wide"]


def interval_frame(chart: IntervalRows, width: Width) -> Frame:
    """The layout of interval rows."""
    return row_frame(
        chart.axis,
        [row.label for row in chart.rows],
        [row.value_text for row in chart.rows],
        width,
        head=bool(chart.start_label)
        or (chart.reference is not None and bool(chart.reference_label)),
        foot=bool(chart.end_label),
    )


def waterfall_frame(chart: Waterfall, width: Width) -> Frame:
    """The layout of a waterfall."""
    return row_frame(
        chart.axis,
        [step.label for step in chart.steps],
        [step.value_text for step in chart.steps],
        width,
        head=False,
        foot=False,
    )


def axis_scale(frame: Frame, axis: Axis) -> Scale:
    """Values to positions along the rows."""
    return Scale(axis.low, axis.high, frame.left, frame.right)


def draw_axis(canvas: Canvas, axis: Axis, scale: Scale) -> None:
    """Grid, tick labels and title."""
    frame = canvas.frame
    canvas.scales["x"] = scale
    ticks = value_ticks(axis, TICKS[frame.width])
    positions = [scale(value) for value, _ in ticks]
    top, bottom = number(frame.top), number(frame.bottom)
    canvas.path("".join([f"M{number(x)} {top}V{bottom}" for x in positions]), "grid")
    y = frame.bottom + TICK_DROP
    labels = [label for _, label in ticks]
    lines = [
        (inside(frame, x, label), y, label) for x, label in zip(positions, labels, strict=True)
    ]
    if axis.title:
        lines.append(((frame.left + frame.right) / 2, y + LINE, fit(axis.title, frame.units)))
    canvas.texts(lines, "soft", "middle")


def draw_row_texts(canvas: Canvas, entries: Sequence[tuple[str, str]]) -> None:
    """Labels and values: beside their tracks when there is room, else above them."""
    frame = canvas.frame
    labels, values = [], []
    for i, (label, value) in enumerate(entries):
        y = track(frame, i)
        label_text, value_text = row_texts(frame, label, value)
        if frame.width == "wide":
            labels.append((frame.left - 10, y, label_text))
            values.append((frame.right + 10, y, value_text))
        else:
            labels.append((0.0, y - LABEL_RISE, label_text))
            values.append((float(frame.units), y - LABEL_RISE, value_text))
    if frame.width == "wide":
        canvas.texts(labels, "", "end")
        canvas.texts(values, "soft num")
    else:
        canvas.texts(labels, "halo")
        canvas.texts(values, "soft num halo", "end")


def draw_interval_rows(chart: IntervalRows, width: Width) -> str:
    """Rows with usual band, interval and mark; a reference line; the ends of the order."""
    frame = interval_frame(chart, width)
    canvas = Canvas(frame)
    scale = axis_scale(frame, chart.axis)
    draw_bands(canvas, chart, scale)
    draw_axis(canvas, chart.axis, scale)
    if chart.reference is not None:
        x = scale(chart.reference)
        canvas.path(f"M{number(x)} {number(frame.top - 3)}V{number(frame.bottom)}", "ref")
        if chart.reference_label:
            label, middle = reference_words(chart, frame)
            canvas.text(middle, LINE / 2 + 1, label, "soft", "middle")
    draw_order(canvas, chart)
    intervals: dict[str, str] = {}
    marks: dict[str, str] = {}
    for i, row in enumerate(chart.rows):
        y = track(frame, i)
        css = f"interval t-{row.tone}"
        span = f"M{number(scale(row.low))} {number(y)}H{number(scale(row.high))}"
        intervals[css] = intervals.get(css, "") + span
        shape = ROW_MARKS[row.mark]
        css = f"{shape.paint} row-mark t-{row.tone}"
        marks[css] = marks.get(css, "") + at(scale(row.value), y, shape.path)
    for css, path in (intervals | marks).items():
        canvas.path(path, css)
    draw_row_texts(canvas, [(row.label, row.value_text) for row in chart.rows])
    return canvas.svg()


def draw_bands(canvas: Canvas, chart: IntervalRows, scale: Scale) -> None:
    """The usual ranges, behind everything else."""
    thick = thickness(BAND_SHARE)
    bands = ""
    for i, row in enumerate(chart.rows):
        if row.band_low is not None and row.band_high is not None:
            start, end = number(scale(row.band_low)), number(scale(row.band_high))
            top = number(track(canvas.frame, i) - thick / 2)
            bands += f"M{start} {top}H{end}v{number(thick)}H{start}z"
    canvas.path(bands, "band")


def order_words(label: str, frame: Frame) -> str:
    """Words at an end of the row order, leaving room for the reference line's label."""
    return fit(label, frame.units * 0.45)


def reference_words(chart: IntervalRows, frame: Frame) -> tuple[str, float]:
    """The reference line's label and its middle: over the line, clear of the words beside it."""
    start = order_words(chart.start_label, frame)
    taken = text_width(start) + 26 if start else 0.0
    label = fit(chart.reference_label, frame.units - taken - 8)
    half = text_width(label) / 2
    middle = axis_scale(frame, chart.axis)(chart.reference or 0.0)
    return label, max(min(middle, frame.units - half), taken + half)


UP_ARROW = "m0-5l4 6h-8z"
DOWN_ARROW = "m0 5l4-6h-8z"


def draw_order(canvas: Canvas, chart: IntervalRows) -> None:
    """What the order of the rows means, in words at its two ends."""
    frame = canvas.frame
    for label, y, arrow in (
        (chart.start_label, LINE / 2 + 1, UP_ARROW),
        (chart.end_label, frame.bottom - LINE / 2 + 2, DOWN_ARROW),
    ):
        if label:
            canvas.path(at(5, y, arrow), "arrow")
            canvas.text(16, y, order_words(label, frame), "soft order halo")


def waterfall_spans(chart: Waterfall) -> list[tuple[float, float]]:
    """Start and end of every bar: a total stands on the axis' low end (or zero), a change
    starts where the step before it ended; without any total every bar starts at zero."""
    floor = min(max(0.0, chart.axis.low), chart.axis.high)
    chained = any(step.total for step in chart.steps)
    spans: list[tuple[float, float]] = []
    reached = floor
    for step in chart.steps:
        start = reached if chained and not step.total else floor
        reached = step.value if step.total else start + step.value
        spans.append((start, reached))
    return spans


def draw_waterfall(chart: Waterfall, width: Width) -> str:
    """Bars that hang on each other, with an interval where a step has one."""
    frame = waterfall_frame(chart, width)
    canvas = Canvas(frame)
    scale = axis_scale(frame, chart.axis)
    draw_axis(canvas, chart.axis, scale)
    spans = waterfall_spans(chart)
    bar = thickness(BAR_SHARE)
    chained = any(step.total for step in chart.steps)
    for i, (step, (start, end)) in enumerate(zip(chart.steps, spans, strict=True)):
        y = track(frame, i)
        x1, x2 = sorted((scale(start), scale(end)))
        kind = "total" if step.total else "bar"
        canvas.rect(x1, y - bar / 2, x2 - x1, bar, f"{kind} t-{step.tone}", 2)
        if step.low is not None and step.high is not None:
            base = 0.0 if step.total else start
            low, high = number(scale(base + step.low)), number(scale(base + step.high))
            canvas.path(f"M{low} {number(y)}H{high}", "whisker")
        if chained and i + 1 < len(spans):
            x = number(scale(end))
            below = track(frame, i + 1) - bar / 2
            canvas.path(f"M{x} {number(y + bar / 2)}V{number(below)}", "joint")
    draw_row_texts(canvas, [(step.label, step.value_text) for step in chart.steps])
    return canvas.svg()
