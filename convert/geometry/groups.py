"""Pairs of points and the rows of a table that each point is about."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator

    from convert.geometry.plane import Ints

_BLOCK = 1 << 20
"""Pairs looked at in one go, to bound the memory."""


def group_pairs(start: Ints, group: Ints) -> Iterator[tuple[slice, Ints, Ints]]:
    """Yield, block by block of points, all pairs of point and row: the block, who (k,) and row (k,).

    Point j is about rows start[group[j]] to start[group[j] + 1]. Pairs come in order of point, then row.
    """
    start = np.asarray(start, dtype=np.intp)
    size = np.diff(start)[group]
    done = np.r_[0, np.cumsum(size)]
    first = 0
    while first < len(group):
        last = max(first + 1, int(np.searchsorted(done, done[first] + _BLOCK, side="right")) - 1)
        who = np.repeat(np.arange(first, last), size[first:last])
        row = np.arange(len(who)) - (done[who] - done[first]) + start[group[who]]
        yield slice(first, last), who, row
        first = last
