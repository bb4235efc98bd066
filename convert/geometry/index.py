"""Which boxes meet which, which points are neighbours: so that nobody compares everything with everything."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from convert.errors import GeometryError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from convert.geometry.chain import Floats
    from convert.geometry.plane import Ints

_BATCH_PAIRS = 1 << 23
"""Pairs that one question to the index can bring up at most: this bounds the memory, a quarter of a GB."""
_TURN = np.array([[np.cos(1.0), np.sin(1.0)], [-np.sin(1.0), np.cos(1.0)]])
"""A turn by an angle that nothing is drawn at."""
MOST_PAIRS = 10_000_000
"""More pairs than this, and what is worked out of them, would not fit into a small machine's memory."""


def box_pairs(boxes: Floats) -> tuple[Ints, Ints]:
    """Return the index pairs i < j of boxes that meet or touch, each once, in order of i, then j.

    *Shapes*: `boxes` is (n, 4) as xmin, ymin, xmax, ymax; both results are (k,).
    *Errors*: GeometryError when there are more than MOST_PAIRS.
    """
    return _collected((i[i < j], j[i < j]) for i, j in BoxIndex(boxes).pairs(boxes))


def box_pairs_between(a_boxes: Floats, b_boxes: Floats) -> tuple[Ints, Ints]:
    """Return the pairs i, j where box i of `a_boxes` meets or touches box j of `b_boxes`, in order.

    *Errors*: GeometryError when there are more than MOST_PAIRS.
    """
    return _collected(BoxIndex(b_boxes).pairs(a_boxes))


class BoxIndex:
    """An index of boxes (n, 4) for many questions."""

    def __init__(self, boxes: Floats) -> None:
        self._tree = shapely.STRtree(_shapes(boxes))

    def nearest(self, points: Floats) -> Ints:
        """Return for each point (m, 2) the row of a box nearest to it (m,); there must be a box."""
        rows: Ints = self._tree.nearest(shapely.points(points)).astype(np.intp)
        return rows

    def pairs(self, boxes: Floats) -> Iterator[tuple[Ints, Ints]]:
        """Yield i, j, batch by batch: box i of `boxes` meets or touches box j of the index; in order."""
        shapes = _shapes(boxes)
        batch = max(1, _BATCH_PAIRS // max(1, len(self._tree)))
        for first in range(0, len(shapes), batch):
            i, j = self._tree.query(shapes[first : first + batch]).astype(np.intp, copy=False)
            order = np.lexsort((j, i))
            yield i[order] + first, j[order]


def neighbour_triangles(points: Floats) -> Ints:
    """Return the Delaunay triangles of distinct points (n, 2) as rows (t, 3); none for points on a line.

    *Errors*: GeometryError when rounding defeats the triangulation.
    """
    if len(points) < 3:
        return np.zeros((0, 3), dtype=np.intp)
    # Many points one above the other cost four times as much (measured), so that none stay so.
    points = points @ _TURN
    try:
        found = shapely.delaunay_triangles(shapely.multipoints(points))
    except shapely.errors.GEOSException as fault:
        what = f"{len(points)} points could not be triangulated"
        raise GeometryError.because("GEO-011", what, "Turn the drawing a little, or simplify it") from fault
    corners = shapely.get_coordinates(found).reshape(-1, 4, 2)[:, :3].reshape(-1, 2)
    # The corners are the turned points themselves, bit for bit: look them up in sorted order.
    key, wanted = (p[:, 0] + 1j * p[:, 1] for p in (points, corners))
    order = np.argsort(key)
    rows: Ints = order[np.searchsorted(key[order], wanted)].reshape(-1, 3).astype(np.intp)
    return rows


def points_in_hull(points: Floats, count: int) -> Floats:
    """Return the points (m, 2) of a `count` by `count` grid that are in the convex hull of points (n, 2)."""
    low, high = points.min(axis=0), points.max(axis=0)
    share = (np.arange(count) + 0.5) / count
    grid = low + np.stack(np.meshgrid(share, share), axis=-1).reshape(-1, 2) * (high - low)
    hull = shapely.convex_hull(shapely.multipoints(points))
    inside: Floats = grid[shapely.contains_xy(hull, grid)]
    return inside


def _shapes(boxes: Floats) -> Floats:
    corners = np.asarray(boxes, dtype=np.float64).reshape(-1, 4)
    shapes: Floats = shapely.box(*corners.T)
    return shapes


def _collected(batches: Iterator[tuple[Ints, Ints]]) -> tuple[Ints, Ints]:
    none = np.zeros(0, dtype=np.intp)
    found = [(none, none)]
    total = 0
    for pairs in batches:
        found.append(pairs)
        total += len(pairs[0])
        if total > MOST_PAIRS:
            what = f"over {MOST_PAIRS // 1_000_000} million pairs of lines lie over or round each other"
            raise GeometryError.because(
                "GEO-010", what, "Remove what is drawn many times over, or draw fewer lines"
            )
    i, j = (np.concatenate(column) for column in zip(*found, strict=True))
    return i, j
