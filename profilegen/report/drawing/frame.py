"""Where the parts of a chart stand, in units of the viewBox; no shapes, no colours.

The drawn chart uses these numbers as they are, the plotted one as its margins, so that
one lies exactly over the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import accumulate
from typing import Literal

from profilegen.report.chart import Axis

Width = Literal["wide", "narrow"]

UNITS: dict[Width, int] = {"wide": 720, "narrow": 340}
TEXT_SIZE = 13.5
"""The only text size: smaller would be illegible on a phone, larger is not needed."""

CHARACTER_WIDTH = 0.61
"""Width of a small letter or a digit of a wide sans serif (DejaVu Sans, its own table of widths),
in ems; most fonts are narrower."""
_CAPITAL = 0.72
_OTHERWISE = {
    **dict.fromkeys(" ijlIftr.,:;|!'’‘()[]-–·", 0.37),
    **dict.fromkeys("mwMW%@—…−", 0.92),
}

LINE = 18
"""From one line of text to the next."""

TICK_DROP = 14
"""From the lower edge of the plotting area down to the middle of the tick labels."""


def text_width(text: str) -> float:
    """An estimate, in units, of how wide a text will be; there are no fonts here to ask."""
    return TEXT_SIZE * sum(map(_ems, text))


@cache
def _ems(character: str) -> float:
    usual = _CAPITAL if character.isupper() else CHARACTER_WIDTH
    return _OTHERWISE.get(character, usual)


def fit(text: str, width: float) -> str:
    """The text, cut with an ellipsis where it would not fit; the table has it in full.

    >>> fit("Paused front squat", 80)
    'Paused fr…'
    """
    if text_width(text) <= width:
        return text
    ends = accumulate(map(_ems, text))
    room = width / TEXT_SIZE - _ems("…")
    most = max(1, sum(1 for end in ends if end <= room))
    return text[:most].rstrip() + "…"


@dataclass(frozen=True, slots=True)
class Frame:
    """The plotting area within the drawing, and the drawing's height."""

    width: Width
    left: float
    right: float
    top: float
    bottom: float
    height: float

    @property
    def units(self) -> int:
        """Width of the whole drawing."""
        return UNITS[self.width]


def inside(frame: Frame, x: float, text: str) -> float:
    """The middle nearest to x from which centred text stays within the drawing."""
    half = text_width(text) / 2
    return min(max(x, half), frame.units - half)


ROW_HEIGHT: dict[Width, int] = {"wide": 30, "narrow": 48}
TRACK_OFFSET: dict[Width, float] = {"wide": 15, "narrow": 34}
"""From a row's upper edge to its marks; a narrow row has its text above them."""

LABEL_RISE = 18
"""From a narrow row's marks up to the middle of its text."""


def row_frame(
    axis: Axis,
    labels: Sequence[str],
    value_texts: Sequence[str],
    width: Width,
    *,
    head: bool,
    foot: bool,
) -> Frame:
    """Give labels and values the room they need and the scale the rest.

    `head` and `foot` keep a line of words above and below the rows.
    """
    units = UNITS[width]
    if width == "narrow":
        left, right = 8.0, units - 8.0
    else:
        left = min(230.0, max(map(text_width, labels), default=0)) + 14
        right = units - min(190.0, max(map(text_width, value_texts), default=0)) - 14
    top = LINE + 6 if head else 2
    bottom = top + ROW_HEIGHT[width] * max(1, len(labels)) + (LINE if foot else 0)
    height = bottom + LINE + 6 + (LINE if axis.title else 0)
    return Frame(width, left, right, top, bottom, height)


def row_texts(frame: Frame, label: str, value: str) -> tuple[str, str]:
    """A row's label and value, cut to the room that the layout has for them."""
    if frame.width == "wide":
        return fit(label, frame.left - 12), fit(value, frame.units - frame.right - 8)
    room = max(frame.units - text_width(value) - 10, frame.units * 0.35)
    return fit(label, room), fit(value, frame.units * 0.65)


def track(frame: Frame, row: int) -> float:
    """The height at which a row's marks stand."""
    return frame.top + row * ROW_HEIGHT[frame.width] + TRACK_OFFSET[frame.width]


PLANE_HEIGHT: dict[Width, int] = {"wide": 260, "narrow": 230}


def plane_frame(y_labels: Sequence[str], width: Width, *, titles: int, extra: int = 0) -> Frame:
    """An area with a numeric axis at its left; `titles` lines of axis titles below it."""
    units = UNITS[width]
    left = max(map(text_width, y_labels), default=0) + 12
    top = LINE + 16
    bottom = top + PLANE_HEIGHT[width] + extra
    height = bottom + LINE + 6 + titles * LINE
    return Frame(width, left, units - 14, top, bottom, height)
