"""The marks of all charts: each kind of knowledge has a shape of its own.

A mark is path data that begins at its middle, so many marks of one kind make one path.
Beside each stands the plotly symbol of the same shape.
"""

from __future__ import annotations

from dataclasses import dataclass

from profilegen.report.chart import EvidenceMark, Mark


@dataclass(frozen=True, slots=True)
class Shape:
    """One mark: path data, how it is painted (CSS class), and plotly's name for it."""

    path: str
    paint: str
    symbol: str
    size: float
    """Plotly's marker size in pixels."""


DISC = "m-5 0a5 5 0 1 0 10 0a5 5 0 1 0-10 0"
POINT = "h0"
"""A line of no length: its round or square cap is the whole mark (class dot or square). A trend
has hundreds of these, so it matters that they are short."""
WEDGE = "m-5-6l11 6l-11 6z"
TRIANGLE = "m0-5l4.6 8h-9.2z"
SQUARE = "m-3.6-3.6h7.2v7.2h-7.2z"
CROSS = "m-4-4l8 8m0-8l-8 8"
DIAMOND = "m0-5l5 5l-5 5l-5-5z"

ROW_MARKS: dict[Mark, Shape] = {
    "tested": Shape(DISC, "solid", "circle", 12),
    "bounded": Shape(WEDGE, "solid", "triangle-right", 15),
    "inferred": Shape(DISC, "hollow", "circle", 10),
}

EVIDENCE_MARKS: dict[EvidenceMark, Shape] = {
    "made": Shape(TRIANGLE, "solid made", "triangle-up", 9),
    "max": Shape(POINT, "dot max", "circle", 9),
    "reps": Shape(POINT, "square reps", "square", 8),
    "missed": Shape(CROSS, "cross missed", "x-thin", 8),
    "hearsay": Shape(DIAMOND, "hollow hearsay", "diamond", 9),
}
"""A made lift is a floor, so it points up."""

EVIDENCE_COLOURS: dict[EvidenceMark, str] = {
    "made": "@good",
    "max": "@accent",
    "reps": "@ink-soft",
    "missed": "@low",
    "hearsay": "@muted",
}

SERIES_SHAPES: tuple[Shape, ...] = (
    Shape(DISC, "solid t-strong", "circle", 10),
    Shape(DIAMOND, "solid t-low", "diamond", 11),
    Shape(SQUARE, "solid t-good", "square", 9),
    Shape(TRIANGLE, "solid t-plain", "triangle-up", 11),
)
"""Scatter series in order of first appearance; after the last the shapes repeat."""

SERIES_COLOURS: tuple[str, ...] = ("@strong", "@low", "@good", "@accent")

INTERVAL_KEY = "m-8 0h16"
BAND_KEY = "m-7-6h14v12h-14z"
LINE_KEY = "m-8 0h16"
