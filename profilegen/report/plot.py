"""A chart as a plotly spec: plain dicts and lists, no plotly objects, bars and points only.

There is a layout for each of the two widths that report/svg.py draws; its margins are the
drawing's own, so the plot lies exactly over it (charts.js scales both alike). Colours are
token names such as "@ink", which charts.js replaces by what the page's theme says at that
moment. All text is escaped, because plotly reads a little HTML.
"""

from __future__ import annotations

from functools import partial

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
from profilegen.report.plotting.parts import COMMON_LAYOUT, Spec, fixed
from profilegen.report.plotting.plane import (
    scatter_layout,
    scatter_traces,
    trend_layout,
    trend_traces,
)
from profilegen.report.plotting.rows import interval_traces, rows_layout, waterfall_traces

PROTECTION: Spec = {
    "showSendToCloud": False,
    "plotlyServerURL": "",
    "displaylogo": False,
    "displayModeBar": False,
}
"""Settings without which plotly offers to send a lifter's data away; never leave one out."""

CONFIG: Spec = {**PROTECTION, "responsive": False, "showTips": False, "doubleClick": "reset"}
"""The same in charts.js, whatever a page says. `responsive` is off because charts.js follows
the figure's size itself: margins and text grow with it as in the drawing."""


def plotly_spec(chart: Drawable, *, words: ChartWords = ENGLISH, small: bool = False) -> Spec:
    """`{"data", "layout", "narrow", "narrow_bars"}`, ready for JSON: what a page carries.

    `layout` is laid over what all charts share, which charts.js has. `narrow` holds what
    differs in the layout of a narrow figure, at any depth (see `merged`); there, bars are
    multiplied by `narrow_bars`, because widths of bars are shares of a row. A `small` chart
    is never drawn wide, so its `layout` is the narrow one.
    """
    match chart:
        case IntervalRows():
            data, layout = interval_traces(chart, words), partial(rows_layout, chart)
        case Waterfall():
            data, layout = waterfall_traces(chart), partial(rows_layout, chart)
        case Trend():
            data, layout = trend_traces(chart, words), partial(trend_layout, chart, words)
        case Scatter():
            data, layout = scatter_traces(chart), partial(scatter_layout, chart)
    narrow = layout("narrow")
    wide = narrow if small else layout("wide")
    return {
        "data": data,
        "layout": wide,
        "narrow": difference(wide, narrow),
        "narrow_bars": fixed(ROW_HEIGHT["wide"] / ROW_HEIGHT["narrow"]),
    }


def whole_spec(spec: Spec) -> Spec:
    """What charts.js gives to plotly for a wide figure: the page's spec and what it has itself."""
    return {**spec, "layout": merged(COMMON_LAYOUT, spec["layout"]), "config": dict(CONFIG)}


def difference(base: Spec, other: Spec) -> Spec:
    """What must be laid over `base` to get `other`: new and changed entries, at any depth.

    >>> difference({"a": 1, "b": {"c": 2, "d": 3}}, {"a": 1, "b": {"c": 2, "d": 4}})
    {'b': {'d': 4}}
    """
    changed: Spec = {}
    for name, value in other.items():
        before = base.get(name)
        if isinstance(value, dict) and isinstance(before, dict):
            if inner := difference(before, value):
                changed[name] = inner
        elif name not in base or value != before:
            changed[name] = value
    return changed


def merged(base: Spec, over: Spec) -> Spec:
    """`over` laid over `base`, as charts.js does it; undoes `difference`.

    >>> merged({"a": 1, "b": {"c": 2, "d": 3}}, {"b": {"d": 4}})
    {'a': 1, 'b': {'c': 2, 'd': 4}}
    """
    result = dict(base)
    for name, value in over.items():
        before = base.get(name)
        both = isinstance(value, dict) and isinstance(before, dict)
        result[name] = merged(before, value) if both and isinstance(before, dict) else value
    return result
