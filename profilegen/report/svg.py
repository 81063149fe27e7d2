"""A chart as static SVG: what is in the page before, without and instead of any script.

Two widths are drawn of every chart. charts.css shows `wide` (720 units) where the figure
has at least 600 px and `narrow` (340 units) elsewhere, so that no text is shown under
11 px: 13.5 of 720 units on 600 px are 11.2 px, 13.5 of 340 units on 280 px are 11.1 px.
"""

from __future__ import annotations

from profilegen.report.chart import (
    ENGLISH,
    ChartWords,
    Drawable,
    IntervalRows,
    Scatter,
    Trend,
    Waterfall,
)
from profilegen.report.drawing.frame import Width
from profilegen.report.drawing.plane import draw_scatter, draw_trend
from profilegen.report.drawing.rows import (
    draw_interval_rows,
    draw_waterfall,
)


def svg_of(chart: Drawable, *, width: Width, words: ChartWords = ENGLISH) -> str:
    """One `<svg>` element; the same chart gives the same bytes."""
    match chart:
        case IntervalRows():
            return draw_interval_rows(chart, width)
        case Waterfall():
            return draw_waterfall(chart, width)
        case Trend():
            return draw_trend(chart, width, words)
        case Scatter():
            return draw_scatter(chart, width)
