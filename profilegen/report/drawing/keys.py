"""What a chart's marks and colours mean: the entries of its legend, drawn by the page.

The legend stands in the page as a list, not in the drawing, so that it wraps like text
and its entries can become buttons that show and hide what they explain.
"""

from __future__ import annotations

from dataclasses import dataclass

from profilegen.report.chart import (
    ChartWords,
    Drawable,
    EvidenceMark,
    IntervalRows,
    Mark,
    Scatter,
    ScatterPoint,
    Trend,
    Waterfall,
)
from profilegen.report.drawing.marks import (
    BAND_KEY,
    EVIDENCE_MARKS,
    INTERVAL_KEY,
    LINE_KEY,
    ROW_MARKS,
    SERIES_SHAPES,
    Shape,
)


@dataclass(frozen=True, slots=True)
class Key:
    """One legend entry. `group` is the plot's legend group that it shows and hides."""

    group: str
    path: str
    """Path data that begins at the middle of the key."""
    paint: str
    """CSS classes."""
    label: str


USUAL, SURE = "usual", "sure"
"""Groups of the usual range and of a trend's interval."""


def keys_of(chart: Drawable, words: ChartWords) -> tuple[Key, ...]:
    """The legend; empty where the labels say everything."""
    match chart:
        case IntervalRows():
            return interval_keys(chart, words)
        case Waterfall():
            return ()
        case Trend():
            return trend_keys(chart, words)
        case Scatter():
            return scatter_keys(chart)


def interval_marks(chart: IntervalRows) -> list[Mark]:
    """The kinds of mark that occur, in order of how much is known."""
    return [mark for mark in ROW_MARKS if any(row.mark == mark for row in chart.rows)]


def has_band(chart: IntervalRows) -> bool:
    """Whether any row has a usual range."""
    return any(row.band_low is not None and row.band_high is not None for row in chart.rows)


def mark_label(mark: Mark, words: ChartWords) -> str:
    """The word for a kind of mark."""
    label: str = getattr(words, mark)  # ChartWords has one for each
    return label


def interval_keys(chart: IntervalRows, words: ChartWords) -> tuple[Key, ...]:
    """Marks, the interval, the usual range where there is one."""
    keys = [
        Key(mark, ROW_MARKS[mark].path, ROW_MARKS[mark].paint, mark_label(mark, words))
        for mark in interval_marks(chart)
    ]
    keys.append(Key("", INTERVAL_KEY, "interval", words.interval))
    if has_band(chart):
        keys.append(Key(USUAL, BAND_KEY, "band", words.usual))
    return tuple(keys)


def trend_kinds(chart: Trend) -> list[tuple[EvidenceMark, str]]:
    """Kinds of evidence that occur, with their labels."""
    labels = dict(chart.mark_labels)
    present = {mark.kind for mark in chart.marks}
    return [(kind, labels.get(kind, kind)) for kind in EVIDENCE_MARKS if kind in present]


def trend_keys(chart: Trend, words: ChartWords) -> tuple[Key, ...]:
    """The line, its interval, every kind of evidence."""
    return (
        Key("", LINE_KEY, "mid", chart.mid_label or words.estimate),
        Key(SURE, BAND_KEY, "sure", chart.band_label or words.interval),
        *(
            Key(kind, EVIDENCE_MARKS[kind].path, EVIDENCE_MARKS[kind].paint, label)
            for kind, label in trend_kinds(chart)
        ),
    )


CURVES = 3
"""Dash patterns for curves, in turn (classes curve-0 ...)."""


def scatter_series(chart: Scatter) -> list[tuple[str, Shape, list[ScatterPoint]]]:
    """The points by series, in order of first appearance, each with a shape of its own."""
    series: dict[str, list[ScatterPoint]] = {}
    for point in chart.points:
        series.setdefault(point.series, []).append(point)
    return [
        (name, SERIES_SHAPES[i % len(SERIES_SHAPES)], points)
        for i, (name, points) in enumerate(series.items())
    ]


def scatter_keys(chart: Scatter) -> tuple[Key, ...]:
    """Named series, then curves."""
    series = [
        Key(f"series-{i}", shape.path, shape.paint, name)
        for i, (name, shape, _) in enumerate(scatter_series(chart))
        if name
    ]
    curves = [
        Key(f"curve-{i}", LINE_KEY, f"curve-{i % CURVES}", curve.label)
        for i, curve in enumerate(chart.curves)
    ]
    return (*series, *curves)
