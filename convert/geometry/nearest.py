"""Distances from points to segments, exact for lines and arcs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.errors import GeometryError
from convert.geometry.groups import group_pairs
from convert.geometry.plane import square, to_complex
from convert.geometry.segment import boxes, fraction, from_centre, side

if TYPE_CHECKING:
    from convert.geometry.chain import Chain, Floats, Segments
    from convert.geometry.plane import Complexes, Ints

_MANY = 1 << 17
"""From so many pairs on, an index pays."""


def distances_to(chain: Chain, points: Floats) -> Floats:
    """Return the distances from `points` (m, 2) to the line of a chain (m,), inside and outside alike."""
    return nearest(chain.segments, points)[0]


def nearest(table: Segments, points: Floats) -> tuple[Floats, Ints, Floats]:
    """Return for each point (m, 2) the distance to the nearest segment, its row, and the fraction there.

    Of segments equally near, the first row counts.
    *Errors*: GeometryError when the table is empty.
    """
    if not len(table):
        raise GeometryError.because("GEO-007", "there is nothing to measure a distance to")
    xy = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    targets = Targets(table)
    if len(table) * len(xy) > _MANY:
        return targets.nearest_by_index(xy)
    return targets.nearest_in(np.array([0, len(table)]), np.zeros(len(xy), dtype=np.intp), xy)


def distance_pairs(s: Segments, points: Floats) -> tuple[Floats, Floats]:
    """Return distance (n,) and fraction (n,) of the nearest point on segment i to point i of (n, 2)."""
    p, q = to_complex(s.start), to_complex(s.end)
    return _distances(to_complex(points), p, q, from_centre(s), s.bulge)


class Targets:
    """A table of segments made ready for many questions about distances."""

    def __init__(self, table: Segments) -> None:
        self._frame = boxes(table)
        self._p, self._q = to_complex(table.start), to_complex(table.end)
        self._g, self._bulge = from_centre(table), table.bulge

    def nearest_in(self, start: Ints, group: Ints, points: Floats) -> tuple[Floats, Ints, Floats]:
        """Return what `nearest` does, where each point looks only at the rows of its group.

        *Shapes*: `start` is (groups + 1,), `group` (m,), `points` (m, 2): point j looks at rows
        start[group[j]] to start[group[j] + 1]. No group may be empty.
        """
        parts = [(np.zeros(0), np.zeros(0, dtype=np.intp), np.zeros(0))]
        for block, who, row in group_pairs(start, group):
            parts.append(self.nearest(points[block], *self._pruned(points[block], who - block.start, row)))
        distance, row, t = (np.concatenate(column) for column in zip(*parts, strict=True))
        return distance, row, t

    def nearest(self, points: Floats, who: Ints, row: Ints) -> tuple[Floats, Ints, Floats]:
        """Return distance, row and fraction for each point, of the pairs who[k], row[k] (in this order)."""
        distance, t = _distances(
            to_complex(points)[who], self._p[row], self._q[row], self._g[row], self._bulge[row]
        )
        first = np.flatnonzero(np.r_[True, who[1:] != who[:-1]])[: len(who)]
        least = np.minimum.reduceat(distance, first) if len(who) else distance
        best = np.flatnonzero(distance == least[who])
        best = best[np.r_[True, np.diff(who[best]) > 0][: len(best)]]
        return distance[best], row[best], t[best]

    def nearest_by_index(self, points: Floats) -> tuple[Floats, Ints, Floats]:
        """Return what `nearest` does, by boxes no farther than the nearest box's segment."""
        from convert.geometry.index import BoxIndex

        index = BoxIndex(self._frame)
        z, row = to_complex(points), index.nearest(points)
        at_most = _distances(z, self._p[row], self._q[row], self._g[row], self._bulge[row])[0]
        # Rounding of the sums below must not push the nearest itself out.
        reach = (at_most * (1.0 + 1e-12) + 1e-12 * np.abs(z))[:, None]
        parts = []
        for who, rows in index.pairs(np.concatenate((points - reach, points + reach), axis=1)):
            first, last = who[0], who[-1] + 1
            parts.append(self.nearest(points[first:last], who - first, rows))
        distance, row, t = (np.concatenate(column) for column in zip(*parts, strict=True))
        return distance, row, t

    def _pruned(self, points: Floats, who: Ints, row: Ints) -> tuple[Ints, Ints]:
        """Return those pairs whose box is as near as the nearest start of a segment."""
        z, frame = to_complex(points)[who], self._frame[row]
        dx = np.maximum(np.maximum(frame[:, 0] - z.real, z.real - frame[:, 2]), 0.0)
        dy = np.maximum(np.maximum(frame[:, 1] - z.imag, z.imag - frame[:, 3]), 0.0)
        first = np.flatnonzero(np.r_[True, who[1:] != who[:-1]])
        at_most = np.minimum.reduceat(square(z - self._p[row]), first)
        near = dx * dx + dy * dy <= at_most[who] * (1.0 + 1e-12) + 1e-300
        return who[near], row[near]


def _distances(
    x: Complexes, p: Complexes, q: Complexes, g: Complexes, bulge: Floats
) -> tuple[Floats, Floats]:
    w = x - p
    t = fraction(w, g, bulge)
    from_start, from_end = np.abs(w), np.abs(x - q)
    inside = (t > 0.0) & (t < 1.0)
    ends = np.minimum(from_start, from_end)
    distance = np.where(inside, np.minimum(np.abs(side(w, g, bulge)), ends), ends)
    return distance, np.where(inside, t, np.where(from_start <= from_end, 0.0, 1.0))
