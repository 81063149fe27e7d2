"""A small SVG writer: shapes in, one string out. Colours are CSS classes (charts.css)."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from html import escape
from typing import Literal

from profilegen.report.drawing.frame import TEXT_SIZE, Frame

Anchor = Literal["start", "middle", "end"]
BASELINE = 5
"""From the middle of a line of text down to its baseline."""

Words = tuple[float, float, str]
"""A line of text: x, the y of its middle, what it says."""


def number(value: float) -> str:
    """A coordinate with at most one decimal.

    >>> number(12.0), number(-0.04), number(3.25)
    ('12', '0', '3.2')
    """
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


@dataclass(frozen=True, slots=True)
class Scale:
    """A straight map from values to units; values off the scale stop at its ends."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        """The position of a value."""
        span = self.high - self.low
        share = (value - self.low) / span if span > 0 else 0.5
        share = 0.0 if share < 0.0 else 1.0 if share > 1.0 else share
        return self.start + share * (self.end - self.start)

    def attribute(self) -> str:
        """The map as `low high start end`, so that positions can be read back as values."""
        return f"{self.low!r} {self.high!r} {number(self.start)} {number(self.end)}"


@dataclass(slots=True)
class Canvas:
    """Collects elements in drawing order."""

    frame: Frame
    parts: list[str] = field(default_factory=list)
    scales: dict[str, Scale] = field(default_factory=dict)

    def path(self, d: str, css: str) -> None:
        """A path from its data; nothing for no data."""
        if d:
            self.parts.append(f'<path class="{css}" d="{d}"/>')

    def rect(
        self, x: float, y: float, width: float, height: float, css: str, corner: float = 0
    ) -> None:
        """A rectangle with round corners."""
        rx = f' rx="{number(corner)}"' if corner else ""
        self.parts.append(
            f'<rect class="{css}" x="{number(x)}" y="{number(y)}" width="{number(max(0, width))}"'
            f' height="{number(height)}"{rx}/>'
        )

    def text(self, x: float, y: float, text: str, css: str = "", anchor: Anchor = "start") -> None:
        """One line of text whose middle is at y."""
        self.parts.append(text_element(x, y, text, looks(css, anchor)))

    def texts(self, lines: Iterable[Words], css: str = "", anchor: Anchor = "start") -> None:
        """Lines of text that look alike, in a group that says so once."""
        inside = "".join([text_element(x, y, text, "") for x, y, text in lines])
        self.parts.append(f"<g{looks(css, anchor)}>{inside}</g>" if inside else "")

    def svg(self) -> str:
        """Everything drawn so far as one SVG element, to stand in a page.

        Its box there is an image with a name, so the drawing has none of its own.
        """
        width, height = number(self.frame.units), number(self.frame.height)
        scales = "".join(f' data-{name}="{s.attribute()}"' for name, s in self.scales.items())
        return (
            f'<svg class="still-{self.frame.width}" viewBox="0 0 {width} {height}"'
            f' font-size="{TEXT_SIZE}"{scales}>{"".join(self.parts)}</svg>'
        )


def looks(css: str, anchor: Anchor) -> str:
    """Attributes of text: classes, and on which side of its x it stands."""
    kind = f' class="{css}"' if css else ""
    return kind if anchor == "start" else f'{kind} text-anchor="{anchor}"'


def text_element(x: float, y: float, text: str, attributes: str) -> str:
    """One line of text; its baseline lies on a whole unit."""
    words = escape(text, quote=False)
    return f'<text{attributes} x="{number(x)}" y="{round(y + BASELINE)}">{words}</text>'


def at(x: float, y: float, shape: str) -> str:
    """Path data of a shape that begins at its middle."""
    return f"M{number(x)} {number(y)}{shape}"


def polyline(points: Iterable[tuple[float, float]]) -> str:
    """Path data through the points, on whole units; after the first come implied line-tos.

    A unit is about a pixel: rounding moves a line by half of one at most, and a trend's
    hundreds of numbers are most of what its drawing weighs.
    """
    return "M" + " ".join([f"{round(x)} {round(y)}" for x, y in points])


def thinned(points: list[tuple[float, float]], tolerance: float = 0.3) -> list[tuple[float, float]]:
    """The points, which go from left to right, without those that the line needs not.

    No dropped point is further than `tolerance` units above or below the line that is drawn,
    less than a reader can see. One pass: from the last kept point, the slopes that lead by
    every point since form a cone; when a point lies outside it, the one before is kept
    (Williams 1978; Sklansky & Gonzalez 1980).

    >>> thinned([(0, 0), (1, 0.1), (2, 0), (3, 5)])
    [(0, 0), (2, 0), (3, 5)]
    """
    if len(points) < 3:
        return points
    kept = [points[0]]
    (x1, y1), before = points[0], points[0]
    steepest, flattest = math.inf, -math.inf
    for point in points[1:]:
        run, rise = point[0] - x1, point[1] - y1
        if run <= 0 or not flattest <= rise / run <= steepest:
            kept.append(before)
            x1, y1 = before
            steepest, flattest = math.inf, -math.inf
            run, rise = point[0] - x1, point[1] - y1
        if run > 0:
            steepest = min(steepest, (rise + tolerance) / run)
            flattest = max(flattest, (rise - tolerance) / run)
        before = point
    return [*kept, before]
