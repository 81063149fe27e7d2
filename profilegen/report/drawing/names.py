"""Where the names of points go: beside their point, or at the end of a thin line.

A name may not lie on a point, a curve or another name, and a reader must see whose it is: no
other point is as near to it as its own, unless a line leads there. Names go one after the other,
those with the least choice first; one that finds no place free pushes others away, which then
look for another.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from profilegen.report.drawing.canvas import Anchor
from profilegen.report.drawing.frame import Frame, text_width

Box = tuple[float, float, float, float]
"""Left, top, right, bottom."""
Point = tuple[float, float]
Curve = Sequence[Point]
"""From left to right."""

POINT_RADIUS = 5.0
BESIDE = 9.0
"""From the middle of a point to its name."""
CLEAR = 4.0
"""By how much any other point must be further from a name than its own."""
WIDER = 1.12
"""Fonts differ: names are given more room than `text_width` guesses."""
HALF_HEIGHT = 8.0
"""Of a line with what hangs below it."""
REACHES = (24.0, 34.0, 46.0, 60.0, 76.0, 94.0)
"""Lengths of the lines that are tried."""
DIRECTIONS = 16
MOST_LED = 30
"""With more points than this no lines are drawn: they would fill the plane."""
TRIES = 2
"""As often may each name, on average, look for a place in one round."""
ROUNDS = 8
"""Each begins with the names that had to move most."""


@dataclass(frozen=True, slots=True)
class Name:
    """Where one name stands: the point to which it is anchored, the middle of its line."""

    text: str
    x: float
    y: float
    anchor: Anchor
    box: Box
    lead: tuple[Point, Point] | None = None
    """The line from the point to the name, if there is one."""


def placed_names(
    frame: Frame, spots: Sequence[tuple[float, float, str]], curves: Sequence[Curve]
) -> list[Name]:
    """As many names as find a place."""
    plane = _Plane(frame, [(x, y) for x, y, _ in spots], curves)
    choices = [plane.beside(i, name) for i, (_, _, name) in enumerate(spots)]
    may_lead = len(spots) <= MOST_LED
    led: set[int] = set()
    moved: Counter[int | Name] = Counter()
    best: dict[int, Name] = {}
    for _ in range(ROUNDS if may_lead else 1):
        waiting = sorted(range(len(spots)), key=lambda i: (-moved[i], len(choices[i]), i))
        placed: dict[int, Name] = {}
        for _ in range(TRIES * len(spots)):
            if not waiting:
                break
            i = waiting.pop(0)
            found = _cheapest(choices[i], placed, moved)
            if may_lead and i not in led and (found is None or found[1]):
                led.add(i)
                choices[i] += plane.led(i, spots[i][2])
                found = _cheapest(choices[i], placed, moved)
            if found is None:
                continue
            name, in_the_way = found
            for other in in_the_way:
                moved.update((other, placed.pop(other)))
            placed[i] = name
            waiting += in_the_way
            if len(placed) > len(best):
                best = dict(placed)
        if not waiting:
            break
    return [best[i] for i in sorted(best)]


@dataclass(frozen=True, slots=True)
class _Plane:
    """What is there already."""

    frame: Frame
    points: Sequence[Point]
    curves: Sequence[Curve]

    def beside(self, own: int, name: str) -> list[Name]:
        """Places beside a point, clear of points and curves, the best first."""
        x, y = self.points[own]
        room = text_width(name) * WIDER
        places: tuple[tuple[Anchor, float, float], ...] = (
            ("start", x + BESIDE, y),
            ("end", x - BESIDE - room, y),
            ("middle", x - room / 2, y - 15),
            ("middle", x - room / 2, y + 15),
            ("start", x + 6, y - 12),
            ("start", x + 6, y + 12),
            ("end", x - 6 - room, y - 12),
            ("end", x - 6 - room, y + 12),
        )
        names = [_name(name, *one, room) for one in places]
        return [one for one in names if self.fits(one, own)]

    def led(self, own: int, name: str) -> list[Name]:
        """The same at the end of a line, the nearest first."""
        room = text_width(name) * WIDER
        names = [
            _led(name, self.points[own], reach, turn, room)
            for reach in REACHES
            for turn in range(DIRECTIONS)
        ]
        return [one for one in names if self.fits(one, own)]

    def fits(self, name: Name, own: int) -> bool:
        """Whether a name is clear of everything but other names."""
        left, top, right, bottom = name.box
        frame = self.frame
        if left < frame.left or right > frame.units or top < frame.top - 8 or bottom > frame.bottom:
            return False
        if any(_crosses(curve, name.box) for curve in self.curves):
            return False
        clear = POINT_RADIUS if name.lead else _distance(self.points[own], name.box)
        for i, point in enumerate(self.points):
            if i == own:
                continue
            if _distance(point, name.box) < clear + CLEAR:
                return False
            if name.lead and _to_line(point, *name.lead) < POINT_RADIUS + 2:
                return False
        return True


def _cheapest(
    choices: Sequence[Name], placed: Mapping[int, Name], moved: Mapping[int | Name, int]
) -> tuple[Name, list[int]] | None:
    """The first place that is free, else the one for which the least has to move.

    Names and places that were given up before cost more, so that two names do not push each
    other away for ever.
    """
    best, least = None, math.inf
    for one in choices:
        in_the_way = [i for i, other in placed.items() if _meet(one, other)]
        cost = moved.get(one, 0) + sum(1 + moved.get(i, 0) for i in in_the_way)
        if not cost:
            return one, []
        if cost < least:
            best, least = (one, in_the_way), cost
    return best


def _meet(one: Name, other: Name) -> bool:
    """Whether a name or its line touches another name or its line."""
    return (
        touches(one.box, other.box)
        or (one.lead is not None and _crosses(sorted(one.lead), other.box))
        or (other.lead is not None and _crosses(sorted(other.lead), one.box))
        or (one.lead is not None and other.lead is not None and _cut(one.lead, other.lead))
    )


def _name(
    text: str,
    anchor: Anchor,
    left: float,
    middle: float,
    room: float,
    lead: tuple[Point, Point] | None = None,
) -> Name:
    box = (left, middle - HALF_HEIGHT, left + room, middle + HALF_HEIGHT)
    x = {"start": left, "middle": left + room / 2, "end": left + room}[anchor]
    return Name(text, x, middle, anchor, box, lead)


def _led(text: str, point: Point, reach: float, turn: int, room: float) -> Name:
    """A name at the end of a line. The first turns go to the sides, where a line that goes on
    into its name is easiest to follow."""
    angle = (turn + 1) // 2 * (1 if turn % 2 else -1) * math.tau / DIRECTIONS
    across, down = math.cos(angle), -math.sin(angle)
    x, y = point[0] + reach * across, point[1] + reach * down
    start = (point[0] + POINT_RADIUS * across, point[1] + POINT_RADIUS * down)
    if abs(across) < 0.5:
        middle = y + math.copysign(HALF_HEIGHT, down)
        return _name(text, "middle", x - room / 2, middle, room, (start, (x, y)))
    if across > 0:
        return _name(text, "start", x + 2, y, room, (start, (x, y)))
    return _name(text, "end", x - 2 - room, y, room, (start, (x, y)))


def touches(one: Box, other: Box) -> bool:
    """Whether two boxes overlap."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _crosses(curve: Curve, box: Box) -> bool:
    """Whether a curve from left to right goes through a box."""
    for (x1, y1), (x2, y2) in pairwise(curve):
        if x2 < box[0] or x1 > box[2]:
            continue
        if x2 > x1:
            begin, end = max(x1, box[0]), min(x2, box[2])
            slope = (y2 - y1) / (x2 - x1)
            heights = (y1 + slope * (begin - x1), y1 + slope * (end - x1))
        else:
            heights = (y1, y2)
        if min(heights) < box[3] and max(heights) > box[1]:
            return True
    return False


def _distance(point: Point, box: Box) -> float:
    """From a point to a box; 0 within."""
    across = max(box[0] - point[0], 0.0, point[0] - box[2])
    down = max(box[1] - point[1], 0.0, point[1] - box[3])
    return math.hypot(across, down)


def _to_line(point: Point, start: Point, end: Point) -> float:
    """From a point to the line between two others."""
    across, down = end[0] - start[0], end[1] - start[1]
    length = across * across + down * down
    part = ((point[0] - start[0]) * across + (point[1] - start[1]) * down) / length
    part = min(1.0, max(0.0, part))
    return math.hypot(point[0] - start[0] - part * across, point[1] - start[1] - part * down)


def _cut(one: tuple[Point, Point], other: tuple[Point, Point]) -> bool:
    """Whether two lines cross."""

    def side(line: tuple[Point, Point], point: Point) -> float:
        (x1, y1), (x2, y2) = line
        return (x2 - x1) * (point[1] - y1) - (y2 - y1) * (point[0] - x1)

    return (
        side(one, other[0]) * side(one, other[1]) < 0
        and side(other, one[0]) * side(other, one[1]) < 0
    )
