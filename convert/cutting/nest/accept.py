"""Whether a layout may be cut: every outline inside the usable area, none nearer to another than the gap.

This looks at true lines and arcs, and knows nothing of how a layout was found. Shapes that may touch
(no gap) are first made smaller all round by half of CLOSE: then they must not meet at all.

*Source*: two segments that don't meet are nearest at an end of one of them, or where the line of
centres (the perpendicular from the centre, for a line and a circle) meets an arc.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.geometry.chain import Segments
from convert.geometry.contain import windings
from convert.geometry.index import box_pairs, box_pairs_between
from convert.geometry.intersect import intersect
from convert.geometry.measure import boxes, centre, radius
from convert.geometry.nearest import distance_pairs
from convert.geometry.offset import Corners, offset
from convert.geometry.plane import to_complex, to_points, unit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.geometry.chain import Chain, Floats
    from convert.geometry.plane import Flags, Ints
    from convert.geometry.similarity import Similarity

CLOSE = 1e-3
"""How much nearer than the gap outlines may come, mm: far below what any tool can cut."""
OVER = 5e-5
"""How far an outline may reach over the usable area, mm: half of what is promised of written files."""
TOUCH = 1e-7
"""Points nearer than this (mm) are one when outlines are compared."""


@dataclass(frozen=True, slots=True)
class Judged:
    """The outcome: how far (mm) the worst outline reaches out, and which pairs are too near."""

    over: float
    near: tuple[tuple[int, int], ...]

    @property
    def passed(self) -> bool:
        """True when the layout may be cut."""
        return self.over <= OVER and not self.near


class Judge:
    """Judges layouts of the same shapes: `outlines` counter-clockwise, `gap` in mm."""

    def __init__(self, outlines: Sequence[Chain], gap: float) -> None:
        self._outlines = tuple(outlines)
        self._gap = gap
        self._touching = gap <= CLOSE
        self._tight: dict[int, tuple[Chain, ...]] = {}

    def judge(self, copies: Sequence[tuple[int, Similarity]], width: float, height: float) -> Judged:
        """Judge the copies (number of the shape, placement) on one sheet."""
        if not copies:
            return Judged(0.0, ())
        true, owner = _table([(placement, (self._outlines[n],)) for n, placement in copies])
        each = _joined(boxes(true), owner, len(copies))
        over = np.maximum(-each[:, :2], each[:, 2:] - np.array([width, height])).max()
        return Judged(float(over), self._near(copies, true, owner, each))

    def _near(
        self, copies: Sequence[tuple[int, Similarity]], true: Segments, owner: Ints, each: Floats
    ) -> tuple[tuple[int, int], ...]:
        least = self._gap - CLOSE
        if self._touching:
            true, owner = _table([(placement, self._smaller(n)) for n, placement in copies])
            least = 0.0
        frame = boxes(true)
        grow = max(least, 0.0) / 2.0 + TOUCH
        i, j = box_pairs(frame + np.array([-grow, -grow, grow, grow]))
        apart = owner[i] != owner[j]
        i, j = i[apart], j[apart]
        bad = (intersect(true.take(i), true.take(j), TOUCH).count > 0) | (distances(true, i, j) < least)
        a, b = np.minimum(owner[i], owner[j])[bad], np.maximum(owner[i], owner[j])[bad]
        found = set(zip(a.tolist(), b.tolist(), strict=True))
        return tuple(sorted(found | _within(true, owner, len(copies), each)))

    def _smaller(self, number: int) -> tuple[Chain, ...]:
        if number not in self._tight:
            rings = offset(self._outlines[number], -0.5 * CLOSE, Corners.rounded())
            self._tight[number] = tuple(ring.chain for ring in rings)
        return self._tight[number]


def distances(table: Segments, i: Ints, j: Ints) -> Floats:
    """Return the least distances (k,) between rows i and j of a table; of those that cross, any distance."""
    a, b = table.take(i), table.take(j)
    out = np.full(len(i), np.inf)
    for one, other in ((a, b), (b, a)):
        for points in (other.start, other.end, *_facing(other, one)):
            known = np.isfinite(points[:, 0])
            if known.any():
                got = distance_pairs(one.take(known), points[known])[0]
                out[known] = np.minimum(out[known], got)
    return out


def _facing(arcs: Segments, other: Segments) -> tuple[Floats, Floats]:
    """Return the two points of each arc on the line from its centre straight to `other`, or nan."""
    middle = to_complex(centre(arcs))
    away = to_complex(centre(other)) - middle
    along = unit(to_complex(other.end) - to_complex(other.start))
    # Straight to a line is square to it; to a circle, through its centre.
    way = np.where(other.is_arc, unit(np.where(other.is_arc, away, 0.0)), 1j * along)
    r = np.where(arcs.is_arc, radius(arcs), np.nan)
    out = []
    for sign in (1.0, -1.0):
        points = middle + sign * r * way
        # The foot must lie on the arc itself, else an end of it is nearer.
        flat = to_points(np.where(np.isfinite(points), points, 0.0))
        on = np.isfinite(points) & (distance_pairs(arcs, flat)[0] < TOUCH)
        out.append(np.where(on[:, None], to_points(points), np.nan))
    return out[0], out[1]


def _within(table: Segments, owner: Ints, count: int, each: Floats) -> set[tuple[int, int]]:
    """Return the pairs of which one lies inside the other; of outlines that don't meet, one point tells."""
    first = np.flatnonzero(np.append(True, np.diff(owner) > 0))
    points = table.start[first]
    here = np.concatenate((points, points), axis=1)
    k, ring = box_pairs_between(here, each)
    other = owner[first][k] != ring
    k, ring = k[other], ring[other]
    if not len(k):
        return set()
    start = np.searchsorted(owner, np.arange(count + 1)).astype(np.intp)
    inside: Flags = windings(table, start, ring.astype(np.intp), points[k]) != 0
    pairs = zip(owner[first][k[inside]].tolist(), ring[inside].tolist(), strict=True)
    return {(min(pair), max(pair)) for pair in pairs}


def _table(copies: Sequence[tuple[Similarity, tuple[Chain, ...]]]) -> tuple[Segments, Ints]:
    """Return the segments of all copies as one table, and the copy of each row."""
    starts, ends, bulges, sizes = [], [], [], []
    for placement, chains in copies:
        size = 0
        for chain in chains:
            table = placement.outline(chain).segments
            starts.append(table.start)
            ends.append(table.end)
            bulges.append(table.bulge)
            size += len(table)
        sizes.append(size)
    table = Segments(np.concatenate(starts), np.concatenate(ends), np.concatenate(bulges))
    return table, np.repeat(np.arange(len(copies), dtype=np.intp), sizes)


def _joined(each: Floats, owner: Ints, count: int) -> Floats:
    first = np.searchsorted(owner, np.arange(count))
    out: Floats = np.column_stack(
        (np.minimum.reduceat(each[:, :2], first, axis=0), np.maximum.reduceat(each[:, 2:], first, axis=0))
    )
    return out
