"""Pairs of boxes that meet, and of points and boxes, found on a grid.

That is quick where all boxes are of about one size, as in a patchwork block. *Method.* Every box is
written into the cells it covers; boxes that meet share a cell. A pair is kept only in the cell of the
lower left corner of what the two have in common, so it comes once. Where a grid does not
suit (long lines over fine ones, everything in one place) the tree of geometry/index.py is asked instead.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.block.snapping import run_starts, spans
from convert.geometry.index import box_pairs, box_pairs_between

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.geometry.chain import Floats

    Ints = NDArray[np.int64]

MOST_CELLS = 6
"""Cells per box, on average, above which the grid does not suit."""

MOST_PAIRS = 40
"""Boxes met in the cells of one box, on average, above which the grid does not suit."""


class _Grid:
    """Boxes (n, 4) written into the square cells they cover, in order of cells: `box` and `key` are (k,)."""

    def __init__(self, boxes: Floats) -> None:
        size = boxes[:, 2:] - boxes[:, :2]
        self.corner = boxes[:, :2].min(axis=0)
        extent = float((boxes[:, 2:].max(axis=0) - self.corner).max())
        cell = float(np.maximum(size[:, 0], size[:, 1]).mean())
        self.suits = cell > extent * 1e-6
        self.cells_per_mm = 1 / cell if self.suits else 0.0
        self.low, high = self.cell(boxes[:, :2]), self.cell(boxes[:, 2:])
        self.rows = int(high[:, 1].max()) + 1
        wide = high[:, 0] - self.low[:, 0] + 1
        cells = wide * (high[:, 1] - self.low[:, 1] + 1)
        self.suits = self.suits and int(cells.sum()) <= MOST_CELLS * len(boxes) + 100
        if self.suits:
            box = np.repeat(np.arange(len(boxes)), cells)
            within = spans(np.zeros(len(boxes), np.int64), cells)
            key = (self.low[box, 0] + within % wide[box]) * self.rows + self.low[box, 1] + within // wide[box]
            order = np.argsort(key, kind="stable")
            self.box, self.key = box[order], key[order]

    def cell(self, points: Floats) -> Ints:
        """Return the column and row (n, 2) of the cells in which points lie."""
        return np.asarray(np.floor((points - self.corner) * self.cells_per_mm), np.int64)


def points_in_boxes(points: Floats, boxes: Floats) -> tuple[Ints, Ints]:
    """Return the pairs of a point (m, 2) and a box (n, 4) that holds it."""
    none = np.zeros(0, np.int64)
    if len(points) == 0 or len(boxes) == 0:
        return none, none
    grid = _Grid(boxes)
    if not grid.suits:
        return box_pairs_between(np.hstack((points, points)), boxes)
    # Points beyond the grid may get the number of a cell they don't lie in: the comparison sorts them out.
    key = grid.cell(points) @ np.array([grid.rows, 1])
    begin = np.searchsorted(grid.key, key)
    count = np.searchsorted(grid.key, key, side="right") - begin
    who, box = np.repeat(np.arange(len(points)), count), grid.box[spans(begin, count)]
    p, b = points[who], boxes[box]
    inside = (b[:, 0] <= p[:, 0]) & (p[:, 0] <= b[:, 2]) & (b[:, 1] <= p[:, 1]) & (p[:, 1] <= b[:, 3])
    return who[inside], box[inside]


def near_pairs(boxes: Floats) -> tuple[Ints, Ints]:
    """Return the pairs i < j of boxes (n, 4) that meet or touch, each once."""
    count = len(boxes)
    if count < 2:
        return np.zeros(0, np.int64), np.zeros(0, np.int64)
    grid = _Grid(boxes)
    if not grid.suits:
        return box_pairs(boxes)
    first = run_starts(grid.key)
    length = np.diff(first, append=len(grid.key))
    later = np.repeat(first + length, length) - np.arange(1, len(grid.key) + 1)
    if later.sum() > MOST_PAIRS * count:
        return box_pairs(boxes)
    place = np.repeat(np.arange(len(grid.key)), later)
    i, j = grid.box[place], grid.box[spans(np.arange(1, len(grid.key) + 1), later)]
    both = np.maximum(grid.low[i], grid.low[j])
    here = both[:, 0] * grid.rows + both[:, 1] == grid.key[place]
    i, j = i[here], j[here]
    a, b = boxes[i], boxes[j]
    meet = (a[:, 0] <= b[:, 2]) & (b[:, 0] <= a[:, 2]) & (a[:, 1] <= b[:, 3]) & (b[:, 1] <= a[:, 3])
    return i[meet], j[meet]
