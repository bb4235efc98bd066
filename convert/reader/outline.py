"""Outlines in a shape's own user units, as flat rows of numbers that can be moved and fitted in bulk.

*Words.* A **part** is a line, a quadratic or cubic Bézier, or an arc of an ellipse. Every subpath
that isn't closed is followed by the line that a fill closes it with, marked as **implied**; whoever
gathers outlines drops it where there is no fill.

Rows by kind: a line x0 y0 x1 y1; a quadratic six numbers; a cubic eight; an arc its start, end,
centre and the two half axes u, v (as vectors) and the angles: twelve numbers. The arc's points are
centre + u cos t + v sin t for t from the first angle on by the second (radians).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import atan2, copysign, cos, fmod, hypot, pi, radians, sin, sqrt
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable

    Point = tuple[float, float]

LINE: Final = 0
QUADRATIC: Final = 1
CUBIC: Final = 2
ARC: Final = 3
IMPLIED: Final = 4
WIDTH: Final = (4, 6, 8, 12)


@dataclass(slots=True, eq=False)
class Outline:
    """A shape's subpaths. `kind` has one code for each part, `rows` the numbers of each of the four kinds.

    `count` and `closed` tell of each subpath how many parts it has and whether it is drawn closed.
    It is filled by its maker and not changed after.
    """

    kind: list[int] = field(default_factory=list)
    rows: tuple[list[float], list[float], list[float], list[float]] = field(
        default_factory=lambda: ([], [], [], [])
    )
    count: list[int] = field(default_factory=list)
    closed: list[bool] = field(default_factory=list)

    @property
    def drawn(self) -> bool:
        """Whether there is any part but implied ones."""
        return any(kind != IMPLIED for kind in self.kind)

    @property
    def encloses(self) -> bool:
        """Whether a fill can show: some subpath is more than one straight line."""
        at = 0
        for count, closed in zip(self.count, self.closed, strict=True):
            kinds = self.kind[at : at + count]
            at += count
            if count > 2 or closed or any(kind not in (LINE, IMPLIED) for kind in kinds):
                return True
        return False

    def end_subpath(self, begun: int, first: Point, here: Point, *, closed: bool) -> None:
        """Close the books on the parts since number `begun`; `first` and `here` are their two ends."""
        if len(self.kind) == begun:
            return
        if not closed and here != first:
            self.kind.append(IMPLIED)
            self.rows[LINE].extend((*here, *first))
        self.count.append(len(self.kind) - begun)
        self.closed.append(closed or here == first)

    def add_line(self, start: Point, end: Point) -> None:
        """Add a line."""
        self.kind.append(LINE)
        self.rows[LINE].extend((*start, *end))

    def add_arc(self, row: Iterable[float]) -> None:
        """Add an arc given by its twelve numbers."""
        self.kind.append(ARC)
        self.rows[ARC].extend(row)


def polyline(points: list[Point], *, closed: bool) -> Outline:
    """Return straight lines through the points."""
    outline = Outline()
    if len(points) < 2:
        return outline
    rows = outline.rows[LINE]
    before = points[0]
    for point in points[1:]:
        rows.extend((*before, *point))
        before = point
    if closed and before != points[0]:
        rows.extend((*before, *points[0]))
        before = points[0]
    outline.kind.extend([LINE] * (len(rows) // 4))
    outline.end_subpath(0, points[0], before, closed=closed)
    return outline


def ellipse(cx: float, cy: float, rx: float, ry: float) -> Outline:
    """Return a whole ellipse, begun at its right hand end and running to the end of the positive y axis.

    A circle is two half arcs. Any other has a vertex at the ends of both axes, where neighbours touch it.
    *Source*: SVG 2, 10.3 and 10.4 (equivalent paths).
    """
    outline = Outline()
    ends = [(cx + rx, cy), (cx, cy + ry), (cx - rx, cy), (cx, cy - ry)]
    step = 1 if rx != ry else 2
    for quarter in range(0, 4, step):
        end = ends[(quarter + step) % 4]
        outline.add_arc((*ends[quarter], *end, cx, cy, rx, 0.0, 0.0, ry, quarter * 0.5 * pi, step * 0.5 * pi))
    outline.end_subpath(0, ends[0], ends[0], closed=True)
    return outline


def rectangle(x: float, y: float, width: float, height: float, rx: float, ry: float) -> Outline:
    """Return a rectangle; radii above zero round its corners. *Source*: SVG 2, 10.2 (equivalent path)."""
    rx, ry = min(rx, width / 2.0), min(ry, height / 2.0)
    right, bottom = x + width, y + height
    if rx <= 0.0 or ry <= 0.0:
        return polyline([(x, y), (right, y), (right, bottom), (x, bottom)], closed=True)
    outline = Outline()
    left_c, right_c, top_c, bottom_c = x + rx, right - rx, y + ry, bottom - ry
    if rx * 2.0 == width:
        right_c = left_c
    if ry * 2.0 == height:
        bottom_c = top_c
    corners = (
        ((left_c, y), (right_c, y), (right, top_c), (right_c, top_c), -0.5 * pi),
        ((right, top_c), (right, bottom_c), (right_c, bottom), (right_c, bottom_c), 0.0),
        ((right_c, bottom), (left_c, bottom), (x, bottom_c), (left_c, bottom_c), 0.5 * pi),
        ((x, bottom_c), (x, top_c), (left_c, y), (left_c, top_c), pi),
    )
    for begin, end, following, centre, angle in corners:
        if begin != end:
            outline.add_line(begin, end)
        outline.add_arc((*end, *following, *centre, rx, 0.0, 0.0, ry, angle, 0.5 * pi))
    outline.end_subpath(0, (left_c, y), (left_c, y), closed=True)
    return outline


def arc_row(
    start: Point, radii: Point, turn_deg: float, flags: tuple[bool, bool], end: Point
) -> tuple[float, ...] | None:
    """Return the twelve numbers of an arc given as in path data; None when a radius is zero (a line).

    The two ends must differ. `flags` are large-arc and sweep. All angles come from two-argument
    arctangents, so that nothing is lost for arcs of nearly a half circle or of nearly none.
    *Source*: SVG 2, appendix B.2.4 (from endpoints to centre) and B.2.5 (radii too small), worked in
    the frame where the ellipse is the unit circle.
    """
    (x0, y0), (x1, y1), (large, sweep) = start, end, flags
    rx, ry = abs(radii[0]), abs(radii[1])
    if rx == 0.0 or ry == 0.0:
        return None
    turn = fmod(turn_deg, 180.0)
    if turn in (0.0, 90.0, -90.0):
        c, s = (0.0, copysign(1.0, turn)) if turn else (1.0, 0.0)
    else:
        c, s = cos(radians(turn)), sin(radians(turn))
    half_x, half_y = (x0 - x1) / 2.0, (y0 - y1) / 2.0
    px, py = (c * half_x + s * half_y) / rx, (c * half_y - s * half_x) / ry
    reach = hypot(px, py)
    if reach == 0.0:
        return None
    if reach >= 1.0:
        rx, ry, px, py, rise = rx * reach, ry * reach, px / reach, py / reach, 0.0
    else:
        rise = sqrt((1.0 - reach) * (1.0 + reach)) / reach
        if large == sweep:
            rise = -rise
    cx, cy = rise * py, -rise * px
    # Half the sweep is the angle whose sine is the half chord `reach` (at radius 1) and whose cosine
    # is the centre's distance from the chord.
    half = atan2(min(reach, 1.0), abs(rise) * min(reach, 1.0)) if rise else 0.5 * pi
    if rise and large:
        half = pi - half
    first = atan2(py - cy, px - cx)
    ux, uy, vx, vy = c * rx, s * rx, -s * ry, c * ry
    return (
        x0, y0, x1, y1,
        ux * cx + vx * cy + (x0 + x1) / 2.0, uy * cx + vy * cy + (y0 + y1) / 2.0,
        ux, uy, vx, vy,
        first, 2.0 * half if sweep else -2.0 * half,
    )  # fmt: skip
