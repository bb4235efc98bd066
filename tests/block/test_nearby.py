"""The grid finds exactly the boxes that comparing every pair finds, whatever their sizes."""

from __future__ import annotations

import numpy as np
import pytest

from convert.block.nearby import near_pairs, points_in_boxes


def boxes_of(kind, count, rng):
    """Return boxes (n, 4): tiles that touch, of like or very different sizes, flat, or in one place."""
    low = rng.uniform(-50, 50, (count, 2))
    size = rng.uniform(0, 5, (count, 2))
    if kind == "tiles":
        low = np.stack(np.divmod(np.arange(count), 12), axis=1).astype(float)
        size = np.ones((count, 2))
    elif kind == "mixed":
        size *= rng.choice([0.01, 1.0, 20.0], (count, 1))
    elif kind == "flat":
        size[:, rng.integers(2)] = 0.0
    elif kind == "heap":
        low *= 1e-3
    elif kind == "points":
        low, size = np.repeat(low[: count // 2 + 1], 2, axis=0)[:count], size * 0
    return np.hstack((low, low + size))


@pytest.mark.parametrize("kind", ["even", "tiles", "mixed", "flat", "heap", "points"])
@pytest.mark.parametrize("count", [0, 1, 2, 3, 60, 300])
def test_grid_agrees_with_plain_comparison(kind, count):
    """Pairs of boxes, and of points and boxes, are those that plain comparison finds, each once."""
    rng = np.random.default_rng(count)
    boxes = boxes_of(kind, count, rng).reshape(-1, 4)
    i, j = near_pairs(boxes)
    assert (i < j).all()
    a, b = boxes[:, None], boxes[None]
    meet = (a[..., :2] <= b[..., 2:]).all(axis=-1) & (b[..., :2] <= a[..., 2:]).all(axis=-1)
    assert sorted(zip(i.tolist(), j.tolist(), strict=True)) == sorted(
        map(tuple, np.argwhere(np.triu(meet, 1)).tolist())
    )
    points = np.concatenate((rng.uniform(-80, 80, (200, 2)), boxes[:, :2], boxes[:, 2:]))
    who, box = points_in_boxes(points, boxes)
    inside = ((b[..., :2] <= points[:, None]) & (points[:, None] <= b[..., 2:])).all(axis=-1)
    assert sorted(zip(who.tolist(), box.tolist(), strict=True)) == sorted(
        map(tuple, np.argwhere(inside).tolist())
    )
