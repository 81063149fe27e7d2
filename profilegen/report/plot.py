"""A chart as a plotly spec: plain dicts and lists, no plotly objects, bars and points only.

There is a layout for each of the two widths that report/svg.py draws; its margins are the
drawing's own, so the plot lies exactly over it (charts.js scales both alike). Colours are
token names such as "@ink", which charts.js replaces by what the page's theme says at that
moment. All text is escaped, because plotly reads a little HTML.
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
from profilegen.report.drawing.frame import ROW_HEIGHT
from profilegen.report.plotting.parts import Spec, fixed
from profilegen.report.plotting.plane import (
    scatter_layouts,
    scatter_traces,
    trend_layouts,
    trend_traces,
)
from profilegen.report.plotting.rows import interval_traces, rows_layouts, waterfall_traces

PROTECTION: Spec = {
    "showSendToCloud": False,
    "plotlyServerURL": "",
    "displaylogo": False,
    "displayModeBar": False,
}
"""Settings without which plotly offers to send a lifter's data away; never leave one out."""

CONFIG: Spec = {**PROTECTION, "responsive": False, "showTips": False, "doubleClick": "reset"}
"""charts.js follows the figure's size itself, because margins grow with it."""


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
