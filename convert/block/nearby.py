"""Pairs of boxes that meet, found on a grid: quick where all boxes are of about one size, as in a patchwork block.

*Method.* Every box is written into the cells it covers; boxes that meet share a cell. A pair is kept only in the
cell of the lower left corner of what the two have in common, so it comes once. Where a grid does not
suit (long lines over fine ones, everything in one place) the tree of geometry/index.py is asked instead.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.block.snapping import run_starts, spans
from convert.geometry.index import box_pairs

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.geometry.chain import Floats

    Ints = NDArray[np.int64]

MOST_CELLS = 6
"""Cells per box, on average, above which the grid does not suit."""

MOST_PAIRS = 40
"""Boxes met in the cells of one box, on average, above which the grid does not suit."""


def near_pairs(boxes: Floats) -> tuple[Ints, Ints]:
    """Return the pairs i < j of boxes (n, 4) that meet or touch, each once, in an order that depends on the boxes only."""
    count = len(boxes)
    if count < 2:
        return np.zeros(0, np.int64), np.zeros(0, np.int64)
    size = boxes[:, 2:] - boxes[:, :2]
    cell = float(np.maximum(size[:, 0], size[:, 1]).mean())
    corner = boxes[:, :2].min(axis=0)
    extent = float((boxes[:, 2:].max(axis=0) - corner).max())
    if not cell > extent * 1e-6:
        return box_pairs(boxes)
    low = ((boxes[:, :2] - corner) * (1 / cell)).astype(np.int64)
    high = ((boxes[:, 2:] - corner) * (1 / cell)).astype(np.int64)
    wide = high[:, 0] - low[:, 0] + 1
    cells = wide * (high[:, 1] - low[:, 1] + 1)
    if cells.sum() > MOST_CELLS * count:
        return box_pairs(boxes)
    box = np.repeat(np.arange(count), cells)
    within = spans(np.zeros(count, np.int64), cells)
    x = low[box, 0] + within % wide[box]
    y = low[box, 1] + within // wide[box]
    key = x * (int(high[:, 1].max()) + 1) + y
    order = np.argsort(key, kind="stable")
    box, key = box[order], key[order]
    first = run_starts(key)
    length = np.diff(first, append=len(key))
    later = np.repeat(first + length, length) - np.arange(1, len(key) + 1)
    if later.sum() > MOST_PAIRS * count:
        return box_pairs(boxes)
    place = np.repeat(np.arange(len(key)), later)
    i, j = box[place], box[spans(np.arange(1, len(key) + 1), later)]
    at = order[place]
    x, y = x[at], y[at]
    here = (np.maximum(low[i, 0], low[j, 0]) == x) & (np.maximum(low[i, 1], low[j, 1]) == y)
    i, j = i[here], j[here]
    a, b = boxes[i], boxes[j]
    meet = (a[:, 0] <= b[:, 2]) & (b[:, 0] <= a[:, 2]) & (a[:, 1] <= b[:, 3]) & (b[:, 1] <= a[:, 3])
    return i[meet], j[meet]
