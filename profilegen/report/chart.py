"""Charts as plain frozen values: what is shown, not how it is drawn.

One value, several renderers: report/svg.py draws it as static SVG, report/plot.py turns
it into a plotly spec, `table_of` turns it into rows of text. All text and every number
here is display-ready (already rounded, units converted); renderers only place it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

Mark = Literal["tested", "bounded", "inferred"]
"""Solid dot, wedge pointing up the scale (so much at least), hollow dot: told apart by
shape, not by colour."""

EvidenceMark = Literal["made", "max", "reps", "missed", "hearsay"]
Tone = Literal["plain", "good", "low", "strong", "muted"]


@dataclass(frozen=True, slots=True)
class Axis:
    """One numeric axis. `ticks` are (value, label); empty lets the renderer choose."""

    title: str
    low: float
    high: float
    ticks: tuple[tuple[float, str], ...] = ()
    unit: str = ""
    decimal_mark: str = "."


@dataclass(frozen=True, slots=True)
class IntervalRow:
    """A labelled point with its interval; band is a usual range drawn behind it."""

    label: str
    value: float
    low: float
    high: float
    mark: Mark
    value_text: str
    """e.g. "84.5 kg (82-87)"; shown in hover, table and the accessible name."""
    tone: Tone = "plain"
    band_low: float | None = None
    band_high: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class IntervalRows:
    """Interval dot rows: lifts on the fast-to-slow strip, ratios, qualities, pointers."""

    id: str
    title: str
    summary: str
    """One or two sentences: the text alternative."""
    axis: Axis
    rows: tuple[IntervalRow, ...]
    reference: float | None = None
    """A vertical line, e.g. 0 for "usual at this lifter's level"."""
    reference_label: str = ""
    start_label: str = ""
    """Words at the top of the row order, e.g. "fast and light"."""
    end_label: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a waterfall: `value` is the change, signed."""

    label: str
    value: float
    value_text: str
    low: float | None = None
    high: float | None = None
    """An interval of `value`, on the same scale (of the change, or of a standing bar)."""
    total: bool = False
    """A standing bar (start or end) instead of a floating change."""
    tone: Tone = "plain"


@dataclass(frozen=True, slots=True)
class Waterfall:
    """From one number to another, split into parts; or plain bars when no step is total."""

    id: str
    title: str
    summary: str
    axis: Axis
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class TrendMark:
    """One piece of evidence drawn into a trend."""

    on: date
    value: float
    kind: EvidenceMark
    text: str


@dataclass(frozen=True, slots=True)
class Trend:
    """A line with a band over time, and the evidence drawn in."""

    id: str
    title: str
    summary: str
    axis: Axis
    days: tuple[date, ...]
    mid: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    texts: tuple[str, ...]
    """One display text per day."""
    marks: tuple[TrendMark, ...]
    mid_label: str = ""
    band_label: str = ""
    mark_labels: tuple[tuple[EvidenceMark, str], ...] = ()


@dataclass(frozen=True, slots=True)
class HeatCell:
    """`level` -1..1 decides the shade; `text` is always printed too."""

    level: float
    text: str
    detail: str = ""


@dataclass(frozen=True, slots=True)
class HeatRow:
    """One row of a heat table, with an optional link on its label."""

    label: str
    cells: tuple[HeatCell, ...]
    href: str = ""


@dataclass(frozen=True, slots=True)
class HeatTable:
    """Rows by columns of shaded cells; drawn as an HTML table, plotted as bars."""

    id: str
    title: str
    summary: str
    columns: tuple[str, ...]
    rows: tuple[HeatRow, ...]
    row_title: str = ""


@dataclass(frozen=True, slots=True)
class ScatterPoint:
    """One labelled point in the plane, with an optional link."""

    label: str
    x: float
    y: float
    text: str
    series: str = ""
    href: str = ""


@dataclass(frozen=True, slots=True)
class Curve:
    """A line to compare points with, e.g. a published body-mass curve."""

    label: str
    xs: tuple[float, ...]
    ys: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Scatter:
    """Points in the plane with reference curves: total against body mass."""

    id: str
    title: str
    summary: str
    x_axis: Axis
    y_axis: Axis
    points: tuple[ScatterPoint, ...]
    curves: tuple[Curve, ...] = ()


Drawable = IntervalRows | Waterfall | Trend | Scatter
"""Forms with axes: drawn as SVG and plotted."""

Chart = Drawable | HeatTable
"""A heat table prints every value, so it is an HTML table and needs no plot."""


@dataclass(frozen=True, slots=True)
class ChartWords:
    """The few words that renderers add themselves; the language of the page decides."""

    tested: str = "tested"
    bounded: str = "at least (only made lifts)"
    inferred: str = "inferred"
    interval: str = "90 % interval"
    usual: str = "usual range"
    estimate: str = "estimate"
    what: str = "what"
    value: str = "value"
    date: str = "date"
    evidence: str = "evidence"
    note: str = "note"
    explore: str = "Explore"
    """The button that makes a chart interactive."""
    numbers: str = "Show the numbers"
    """Opens the chart's table."""
    hint: str = "Left and right arrow keys step through the values."
    months: tuple[str, ...] = (
        "Jan",
        "Feb",
        "Mar",
        "Apr",
        "May",
        "Jun",
        "Jul",
        "Aug",
        "Sep",
        "Oct",
        "Nov",
        "Dec",
    )
    day_month: str = "{day} {month}"
    decimal_mark: str = "."


ENGLISH = ChartWords()


@dataclass(frozen=True, slots=True)
class Table:
    """A plain table; `numeric` columns align right, `sort_keys` (same shape as rows) let a
    sortable table order by value instead of by text."""

    caption: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: tuple[bool, ...] = ()
    sort_keys: tuple[tuple[float | str, ...], ...] = ()
