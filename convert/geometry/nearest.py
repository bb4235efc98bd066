"""Distances from points to segments, exact for lines and arcs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.errors import GeometryError
from convert.geometry.plane import square, to_complex
from convert.geometry.segment import boxes, fraction, from_centre, side

if TYPE_CHECKING:
    from convert.geometry.chain import Chain, Floats, Segments
    from convert.geometry.plane import Ints

_BLOCK = 1 << 20
"""Pairs looked at in one go, to bound the memory."""


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
    frame = boxes(table)
    step = max(1, _BLOCK // len(table))
    parts = [_nearest(table, frame, xy[i : i + step]) for i in range(0, max(1, len(xy)), step)]
    distance, row, t = (np.concatenate(column) for column in zip(*parts, strict=True))
    return distance, row, t


def distance_pairs(s: Segments, points: Floats) -> tuple[Floats, Floats]:
    """Return distance (n,) and fraction (n,) of the nearest point on segment i to point i of (n, 2)."""
    x, p = to_complex(points), to_complex(s.start)
    w, v, g = x - p, x - to_complex(s.end), from_centre(s)
    t = fraction(w, g, s.bulge)
    from_start, from_end = np.abs(w), np.abs(v)
    inside = (t > 0.0) & (t < 1.0)
    ends = np.minimum(from_start, from_end)
    distance = np.where(inside, np.minimum(np.abs(side(w, g, s.bulge)), ends), ends)
    return distance, np.where(inside, t, np.where(from_start <= from_end, 0.0, 1.0))


def _nearest(table: Segments, frame: Floats, points: Floats) -> tuple[Floats, Ints, Floats]:
    """Return what `nearest` does, for so few points that all pairs fit into memory."""
    if not len(points):
        return np.zeros(0), np.zeros(0, dtype=np.intp), np.zeros(0)
    z = to_complex(points)[:, None]
    x, y = z.real, z.imag
    dx = np.maximum(np.maximum(frame[:, 0] - x, x - frame[:, 2]), 0.0)
    dy = np.maximum(np.maximum(frame[:, 1] - y, y - frame[:, 3]), 0.0)
    at_least = dx * dx + dy * dy
    at_most = square(z - to_complex(table.start)).min(axis=1, keepdims=True)
    # Only segments whose box is as near as the nearest start point can be nearest.
    who, row = np.nonzero(at_least <= at_most * (1.0 + 1e-12) + 1e-300)
    distance, t = distance_pairs(table.take(row), points[who])
    first = np.flatnonzero(np.r_[True, who[1:] != who[:-1]])
    least = np.minimum.reduceat(distance, first)
    best = np.flatnonzero(distance == least[who])
    best = best[np.r_[True, np.diff(who[best]) > 0]]
    return distance[best], row[best], t[best]
