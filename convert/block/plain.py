"""Plain outlines: the vertices that are only a neighbour's T-junction left out, for all rings at once.

Joining two segments of one line or one circle is one formula: the chords at the vertex turn by half of
the joined sweep (inscribed angle), and the bulge is the tangent of a quarter of it. So every ring of a
block is simplified in the same few array operations, however many pieces there are.

A vertex may go when the joined segment stays within the tolerance of the two it replaces. Each round
removes only vertices that are not neighbours; the deviation of a run grows at least fourfold from
round to round (half a chord, a quarter of the sagitta), so a whole run deviates less than 4/3 of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.geometry.chain import MAX_BULGE, Chain, Segments
from convert.geometry.measure import midpoint

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.block.model import Ints
    from convert.block.pieces import Rings
    from convert.geometry.chain import Floats

    Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Outlines:
    """Closed chains, one after another: `points` (n, 2), `bulge` (n,), `start` (r+1,) row numbers."""

    points: Floats
    bulge: Floats
    start: Ints

    def __len__(self) -> int:
        return len(self.start) - 1

    @property
    def table(self) -> Segments:
        """All of them as one table of segments."""
        return Segments(self.points, self.points[neighbours(self.start)[1]], self.bulge)

    def chain(self, number: int) -> Chain:
        """Return one of them."""
        rows = slice(int(self.start[number]), int(self.start[number + 1]))
        return Chain(self.points[rows], self.bulge[rows], closed=True)


def neighbours(start: Ints) -> tuple[Ints, Ints]:
    """Return for every row of cyclic runs start[i]:start[i+1] the row before it and the row after it."""
    rows = np.arange(int(start[-1]))
    before, after = rows - 1, rows + 1
    before[start[:-1]] = start[1:] - 1
    after[start[1:] - 1] = start[:-1]
    return before, after


def plain_outlines(rings: Rings, for_lines: float, for_arcs: float) -> Outlines:
    """Return the rings without the vertices in which one line or one circle just goes on.

    *Units*: mm, the distances by which a joined line and a joined arc may miss what they replace.
    At least two vertices stay, and no segment comes to turn through more than a half circle.
    """
    points, bulge, start = np.array(rings.table.start), np.array(rings.table.bulge), np.array(rings.start)
    idle = 0
    parity = 0
    while idle < 2 and len(bulge):
        removable, joined = _passing(points, bulge, start, for_lines, for_arcs)
        size = np.diff(start)
        ring = np.repeat(np.arange(len(size)), size)
        place = np.arange(len(bulge)) - start[ring]
        # Two vertices must stay: rings of three lose at most one, larger ones at most half.
        chosen = removable & (place % 2 == parity) & (size > 2)[ring]
        # In a ring of odd length the last vertex and the first are neighbours of the same parity.
        last = (place == size[ring] - 1) & (place > 0)
        chosen &= ~(last & (size % 2 == 1)[ring] & chosen[start[ring]])
        parity = 1 - parity
        if not chosen.any():
            idle += 1
            continue
        idle = 0
        before, _ = neighbours(start)
        bulge[before[chosen]] = joined[chosen]
        points, bulge = points[~chosen], bulge[~chosen]
        start = np.concatenate(([0], np.cumsum(size - np.bincount(ring[chosen], minlength=len(size)))))
    for array in (points, bulge, start):
        array.flags.writeable = False
    return Outlines(points, bulge, start)


def _passing(
    points: Floats, bulge: Floats, start: Ints, for_lines: float, for_arcs: float
) -> tuple[Bools, Floats]:
    """Return which vertices may go (n,) and the bulge (n,) of the segment that would replace both sides."""
    before, after = neighbours(start)
    first, second = bulge[before], bulge
    a, v, b = points[before], points, points[after]
    # Most vertices are plain corners: look at the rest only.
    u, w = v - a, b - v
    kind = (np.sign(first) == np.sign(second)) & (first * second < 1.0)
    turn = np.arctan2(u[:, 0] * w[:, 1] - u[:, 1] * w[:, 0], (u * w).sum(axis=1))
    smooth = np.abs(turn - 2 * (np.arctan(first) + np.arctan(second))) < 0.5
    joined = np.zeros(len(bulge))
    rows = np.flatnonzero(kind & smooth)
    # The chords turn by half of the joined sweep; the vertex itself decides the circle, since the sum of
    # two small sweeps would follow their rounding.
    joined[rows] = np.where(first[rows] == 0.0, 0.0, np.tan(turn[rows] / 2))
    passing = np.zeros(len(bulge), bool)
    rows = rows[np.abs(joined[rows]) <= MAX_BULGE]
    ends = (a[rows], b[rows], joined[rows])
    off = np.maximum.reduce(
        [
            off_segment(v[rows], *ends),
            off_segment(midpoint(Segments(a[rows], v[rows], first[rows])), *ends),
            off_segment(midpoint(Segments(v[rows], b[rows], second[rows])), *ends),
        ]
    )
    passing[rows] = off <= np.where(first[rows] == 0.0, for_lines, for_arcs)
    return passing, joined


def off_segment(xy: Floats, start: Floats, end: Floats, bulge: Floats) -> Floats:
    """Return about how far points (n, 2) lie off the circles or lines of segments; inf for no length.

    *Source*: with the chord of length c along x from -c/2 to c/2, the circle of bulge b is
    b (x² + y² - c²/4) - (1 - b²) c y/2 = 0, whose gradient has the length c (1 + b²)/2 on the circle:
    the quotient is the distance to first order and, unlike a difference of radii, stays exact for b = 0.
    """
    chord = end - start
    length = np.hypot(chord[:, 0], chord[:, 1])
    away = xy - (start + end) / 2
    with np.errstate(divide="ignore", invalid="ignore"):
        y = (chord[:, 0] * away[:, 1] - chord[:, 1] * away[:, 0]) / length
        square = (away**2).sum(axis=1) - length**2 / 4
        off = np.abs(bulge * square - (1 - bulge**2) * length * y / 2) / (length * (1 + bulge**2) / 2)
    return np.where(length > 0, off, np.inf)
