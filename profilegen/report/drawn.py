"""A chart made ready for templates/macros/chart.html: strings and rows, nothing to compute."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass, replace

from pydantic_core import to_json

from profilegen.report.chart import (
    ENGLISH,
    ChartWords,
    Drawable,
    HeatTable,
    IntervalRows,
    Scatter,
    Table,
    Trend,
    Waterfall,
)
from profilegen.report.chart_table import table_of
from profilegen.report.drawing.keys import Key, keys_of
from profilegen.report.plot import plotly_spec
from profilegen.report.svg import svg_of

FORMS: dict[type, str] = {
    IntervalRows: "rows",
    Waterfall: "waterfall",
    Trend: "trend",
    Scatter: "scatter",
}


@dataclass(frozen=True, slots=True)
class DrawnChart:
    """Both drawings, the plot and the table of one chart. The `svg_*` and `spec_json`
    strings are finished markup, escaped here, and go into the page unchanged."""

    chart_id: str
    form: str
    title: str
    summary: str
    svg_wide: str
    svg_narrow: str
    spec_json: str
    keys: tuple[Key, ...]
    """The legend."""
    table: Table
    words: ChartWords


@dataclass(frozen=True, slots=True)
class DrawnHeatCell:
    """`step` is one of n3 ... n1, 0, p1 ... p3 and picks the shade (class `heat-<step>`)."""

    step: str
    text: str
    detail: str
    sort_key: float


@dataclass(frozen=True, slots=True)
class DrawnHeatRow:
    """One row; an empty `href` means no link."""

    label: str
    href: str
    cells: tuple[DrawnHeatCell, ...]


@dataclass(frozen=True, slots=True)
class DrawnHeat:
    """A heat table, ready for the macro `heat`."""

    chart_id: str
    title: str
    summary: str
    row_title: str
    columns: tuple[str, ...]
    rows: tuple[DrawnHeatRow, ...]


def draw(chart: Drawable, *, words: ChartWords = ENGLISH, small: bool = False) -> DrawnChart:
    """Draw a chart in every way a page needs it; a `small` one only as narrow as on a phone."""
    chart = _with_decimal_mark(chart, words.decimal_mark)
    return DrawnChart(
        chart_id=chart.id,
        form=FORMS[type(chart)],
        title=chart.title,
        summary=chart.summary,
        svg_wide="" if small else svg_of(chart, width="wide", words=words),
        svg_narrow=svg_of(chart, width="narrow", words=words),
        spec_json=in_script(to_json(plotly_spec(chart, words=words, small=small)).decode()),
        keys=keys_of(chart, words),
        table=table_of(chart, words=words),
        words=words,
    )


def _with_decimal_mark(chart: Drawable, mark: str) -> Drawable:
    """The chart with axes that write their numbers in the page's language."""
    axis = chart.x_axis if isinstance(chart, Scatter) else chart.axis
    if axis.decimal_mark == mark:
        return chart
    axis = replace(axis, decimal_mark=mark)
    if isinstance(chart, Scatter):
        return replace(chart, x_axis=axis, y_axis=replace(chart.y_axis, decimal_mark=mark))
    return replace(chart, axis=axis)


def shared_keys(charts: Iterable[DrawnChart]) -> tuple[Key, ...]:
    """One legend for charts that stand together: every entry once, in order of appearance."""
    return tuple(dict.fromkeys(key for one in charts for key in one.keys))


def plots_json(charts: Iterable[DrawnChart]) -> str:
    """The plots of a page by chart, for pages whose charts leave theirs out."""
    entries = ",".join(f"{script_json(item.chart_id)}:{item.spec_json}" for item in charts)
    return f"{{{entries}}}"


def plots_script(charts: Iterable[DrawnChart]) -> str:
    """The same as a script file.

    charts.js loads it (data-charts of its own element) together with plotly.js, so nobody
    waits for numbers that only the interactive chart needs.
    """
    return f"window.chartSpecs={plots_json(charts)};\n"


def draw_heat(chart: HeatTable) -> DrawnHeat:
    """Prepare a heat table."""
    return DrawnHeat(
        chart_id=chart.id,
        title=chart.title,
        summary=chart.summary,
        row_title=chart.row_title,
        columns=chart.columns,
        rows=tuple(
            DrawnHeatRow(
                row.label,
                row.href,
                tuple(
                    DrawnHeatCell(heat_step(cell.level), cell.text, cell.detail, cell.level)
                    for cell in row.cells
                ),
            )
            for row in chart.rows
        ),
    )


def heat_step(level: float) -> str:
    """The shade of a level in -1..1, in sevenths.

    >>> [heat_step(level) for level in (-1, -0.3, 0, 0.5, 1)]
    ['n3', 'n1', '0', 'p2', 'p3']
    """
    step = round(min(1.0, max(-1.0, level)) * 3.4999)
    return "0" if step == 0 else f"{'n' if step < 0 else 'p'}{abs(step)}"


def script_json(value: object) -> str:
    """JSON that can stand in a script element."""
    return in_script(json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False))


def in_script(text: str) -> str:
    """JSON without "<", which could end the script element or open a comment."""
    for character in "<>&\u2028\u2029":
        text = text.replace(character, f"\\u{ord(character):04x}")
    return text
