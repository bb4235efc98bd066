"""Which boxes meet which: the only index, so that nobody compares everything with everything."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from convert.errors import GeometryError

if TYPE_CHECKING:
    from convert.geometry.chain import Floats
    from convert.geometry.plane import Ints

_BATCH_PAIRS = 1 << 24
"""Pairs that one question to the index can bring up at most: this bounds the memory, a quarter of a GB."""
MOST_PAIRS = 50_000_000
"""More pairs than this would not fit into a small machine's memory."""


def box_pairs(boxes: Floats) -> tuple[Ints, Ints]:
    """Return the index pairs i < j of boxes that meet or touch, each once, in order of i, then j.

    *Shapes*: `boxes` is (n, 4) as xmin, ymin, xmax, ymax; both results are (k,).
    *Errors*: GeometryError when there are more than MOST_PAIRS.
    """
    shapes = _shapes(boxes)
    return _pairs(shapes, shapes, once=True)


def box_pairs_between(a_boxes: Floats, b_boxes: Floats) -> tuple[Ints, Ints]:
    """Return the pairs i, j where box i of `a_boxes` meets or touches box j of `b_boxes`, in order.

    *Errors*: GeometryError when there are more than MOST_PAIRS.
    """
    return _pairs(_shapes(a_boxes), _shapes(b_boxes), once=False)


def nearest_boxes(points: Floats, boxes: Floats) -> Ints:
    """Return for each point (m, 2) the row of a box nearest to it (m,); there must be a box."""
    rows: Ints = shapely.STRtree(_shapes(boxes)).nearest(shapely.points(np.asarray(points).reshape(-1, 2)))
    return rows.astype(np.intp)


def _shapes(boxes: Floats) -> Floats:
    corners = np.asarray(boxes, dtype=np.float64).reshape(-1, 4)
    shapes: Floats = shapely.box(*corners.T)
    return shapes


def _pairs(a: Floats, b: Floats, *, once: bool) -> tuple[Ints, Ints]:
    tree = shapely.STRtree(b)
    found: list[Ints] = []
    total = 0
    batch = max(1, _BATCH_PAIRS // max(1, len(b)))
    for start in range(0, len(a), batch):
        pairs: Ints = tree.query(a[start : start + batch]).astype(np.intp)
        pairs[0] += start
        if once:
            pairs = pairs[:, pairs[0] < pairs[1]]
        found.append(pairs[:, np.lexsort((pairs[1], pairs[0]))])
        total += pairs.shape[1]
        if total > MOST_PAIRS:
            what = f"over {MOST_PAIRS // 1_000_000} million pairs of lines lie over each other"
            raise GeometryError.because("GEO-010", what, "Remove what is drawn many times over")
    if not found:
        return np.zeros(0, dtype=np.intp), np.zeros(0, dtype=np.intp)
    i, j = np.concatenate(found, axis=1)
    return i, j
