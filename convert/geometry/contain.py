"""Inside or outside: winding numbers of closed rings of lines and arcs.

An arc is cut where it turns back in y. Each part then rises or falls all the way, so a ray from a
point to the right crosses it exactly when the point's height is in its half-open range of y, and
the point is on its left side if it rises, on its right side if it falls. Neighbouring parts share their
heights exactly, so a point level with a vertex is counted once.
*Source*: winding number by signed crossings (computational geometry, common practice); the test of
side for a rising or falling arc is derived in `_is_left`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.errors import GeometryError
from convert.geometry.groups import group_pairs
from convert.geometry.plane import cross, to_complex
from convert.geometry.segment import from_centre, side, turning_points

if TYPE_CHECKING:
    from convert.geometry.chain import Chain, Floats, Segments
    from convert.geometry.plane import Complexes, Flags, Ints

_MANY = 1 << 21
"""From so many pairs of a ring's rows and points on, an index pays."""


def contains(chain: Chain, points: Floats) -> Flags:
    """Tell which of `points` (m, 2) a closed chain winds round (m,); on the line itself either may be told.

    *Errors*: GeometryError when the chain is open.
    """
    if not chain.closed:
        raise GeometryError.because("GEO-005", "an open chain encloses no area")
    xy = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    ring_start = np.array([0, len(chain)], dtype=np.intp)
    out: Flags = windings(chain.segments, ring_start, np.zeros(len(xy), dtype=np.intp), xy) != 0
    return out


def windings(table: Segments, ring_start: Ints, ring: Ints, points: Floats) -> Ints:
    """Return how often ring number `ring[j]` winds round `points[j]`, counter-clockwise positive.

    *Shapes*: ring number r is the rows ring_start[r] to ring_start[r + 1] of `table`, head to tail and
    closed; `ring_start` is (rings + 1,), `ring` is (m,), `points` (m, 2), the result (m,). On the line itself
    the number is that of one side.
    """
    xy = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    return Rings(table).windings(ring_start, np.asarray(ring, dtype=np.intp), xy)


class Rings:
    """A table of closed rings, its arcs cut where they turn back in y, ready for many questions."""

    def __init__(self, table: Segments) -> None:
        turning, place = turning_points(table, 1)
        count = np.ones(len(table), dtype=np.intp)
        count[turning] = 2
        # Rows `first[i]` to `first[i + 1]` are the parts of segment i.
        self._first = np.r_[0, np.cumsum(count)]
        row = np.repeat(np.arange(len(table), dtype=np.intp), count)
        p, q = to_complex(table.start)[row], to_complex(table.end)[row]
        # A first part ends at the turning point, a second part begins there.
        q[self._first[turning]] = p[self._first[turning] + 1] = to_complex(place)
        self._p, self._q = p, q
        self._start = to_complex(table.start)[row]
        self._g, self._bulge = from_centre(table)[row], table.bulge[row]

    def windings(self, ring_start: Ints, ring: Ints, points: Floats) -> Ints:
        """Return the same as the function `windings`."""
        total = np.zeros(len(ring), dtype=np.intp)
        starts = self._first[np.asarray(ring_start, dtype=np.intp)]
        asked = np.bincount(ring, minlength=len(starts) - 1)
        large = np.flatnonzero(asked * np.diff(starts) > _MANY)
        for r in large.tolist():
            mine = np.flatnonzero(ring == r)
            total[mine] = self._by_index(int(starts[r]), int(starts[r + 1]), points[mine])
        rest = np.arange(len(ring))
        if len(large):
            rest = np.flatnonzero(~np.isin(ring, large))
        for block, who, row in group_pairs(starts, ring[rest]):
            crossings = self._crossings(row, points[rest[who]])
            count = np.bincount(who - block.start, crossings, block.stop - block.start)
            total[rest[block]] = np.rint(count)
        return total

    def _by_index(self, first: int, last: int, points: Floats) -> Ints:
        """Return how often the ring of some parts winds round points; only parts level with one are asked."""
        from convert.geometry.index import BoxIndex

        p, q = self._p[first:last], self._q[first:last]
        # Levels on their own: a part's width does not matter to a ray, which is told by `_is_left`.
        low, high = np.minimum(p.imag, q.imag), np.maximum(p.imag, q.imag)
        none = np.zeros(len(p))
        index = BoxIndex(np.stack((none, low, none, high), axis=1))
        y, zero = points[:, 1], np.zeros(len(points))
        total = np.zeros(len(points), dtype=np.intp)
        for who, row in index.pairs(np.stack((zero, y, zero, y), axis=1)):
            crossings = self._crossings(row + first, points[who])
            total += np.rint(np.bincount(who, crossings, len(points))).astype(np.intp)
        return total

    def _crossings(self, row: Ints, points: Floats) -> Floats:
        """Return for each pair of part and point +1, -1 or 0: how a ray to the right crosses (k,)."""
        y = points[:, 1]
        low, high = self._p.imag[row], self._q.imag[row]
        rising, falling = (low <= y) & (y < high), (high <= y) & (y < low)
        level = np.flatnonzero(rising | falling)
        out = np.zeros(len(row))
        is_left = self._is_left(row[level], to_complex(points[level]))
        out[level] = np.where(rising[level], is_left * 1.0, (~is_left) * -1.0)
        return out

    def _is_left(self, row: Ints, x: Complexes) -> Flags:
        """Tell whether points, level with a part, are left of it.

        A part that turns left bows to the right of its chord: what is left of the chord or within the circle
        is left of it. For one that turns right, it is what is left of the chord and outside the circle.
        """
        p, b = self._p[row], self._bulge[row]
        left = cross(self._q[row] - p, x - p) > 0.0
        curved = side(x - self._start[row], self._g[row], b) < 0.0
        out: Flags = np.where(b > 0.0, left | curved, np.where(b < 0.0, left & curved, left))
        return out
