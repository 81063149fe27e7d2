"""What all plots share: escaped text, fixed numbers, layout, axes, words on the paper."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from profilegen.report.chart import Axis
from profilegen.report.drawing.frame import LINE, TEXT_SIZE, TICK_DROP, Frame, fit
from profilegen.report.ticks import value_ticks

Spec = dict[str, Any]

DECIMALS = 4
"""Of every number in a spec: finer than any screen, the same on every machine."""

CLEAR = "rgba(0,0,0,0)"


def plain_text(text: str) -> str:
    """Text that plotly shows as it is: its tags and entities are escaped.

    >>> plain_text("<b>Ann & Bo</b>")
    '&lt;b&gt;Ann &amp; Bo&lt;/b&gt;'
    """
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def hover(*lines: str) -> str:
    """Lines of a hover label; empty ones are left out."""
    return "<br>".join([plain_text(line) for line in lines if line])


def fixed(value: float) -> float | int:
    """A number with a fixed number of decimals, whole ones without any, never -0."""
    rounded = round(value, DECIMALS)
    return int(rounded) if rounded == int(rounded) else rounded


def ready(values: Iterable[float]) -> list[float | int]:
    """Numbers of a chart, which are rounded already (report/chart.py): whole ones without any
    decimals, never -0."""
    return [int(value) if value == int(value) else value for value in values]


AXIS: Spec = {
    "fixedrange": True,
    "zeroline": False,
    "automargin": False,
    "tickangle": 0,
    "ticklabeloverflow": "allow",
    "gridcolor": "@line",
    "tickcolor": "@line",
}

COMMON_LAYOUT: Spec = {
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
    "barmode": "overlay",
    "template": {
        "layout": {
            "xaxis": AXIS,
            "yaxis": AXIS,
            "annotationdefaults": {
                "xref": "paper",
                "yref": "paper",
                "yanchor": "middle",
                "showarrow": False,
                "font": {"color": "@ink-soft"},
            },
        },
    },
}
"""The part of the layout that all charts share. It is in charts.js, so that a page need not
repeat it with every chart (`whole_spec` in report/plot.py puts it there)."""


def margins(frame: Frame) -> Spec:
    """A drawing's own."""
    return {
        "l": fixed(frame.left),
        "r": fixed(frame.units - frame.right),
        "t": fixed(frame.top),
        "b": fixed(frame.height - frame.bottom),
        "pad": 0,
    }


def number_axis(axis: Axis, most_ticks: int) -> Spec:
    """A fixed numeric axis with the drawing's ticks."""
    ticks = value_ticks(axis, most_ticks)
    return {
        "range": [fixed(axis.low), fixed(axis.high)],
        "tickvals": [fixed(value) for value, _ in ticks],
        "ticktext": [plain_text(label) for _, label in ticks],
    }


def words_at(x: float, y: float, text: str, **place: Any) -> Spec:
    """A line of words on the paper; x and y are shares of the plotting area."""
    return {"x": fixed(x), "y": fixed(y), "text": plain_text(text), **place}


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
