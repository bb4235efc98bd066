"""Which points are one point: grouping by nearness, decided once.

*Words.* A **group** is a set of points that are taken for one. Points nearer than the tolerance
belong together; a chain of near points may not carry a group further than `SPREAD` tolerances,
so that a row of short segments never collapses into one point.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.geometry.chain import Floats

    Ints = NDArray[np.int64]

SPREAD = 2.0
"""The widest a group may be, in tolerances."""


def components(count: int, i: Ints, j: Ints) -> Ints:
    """Return for each of `count` things the smallest number that links (i[k], j[k]) connect it with."""
    label = np.arange(count, dtype=np.int64)
    while True:
        a, b = label[i], label[j]
        differ = a != b
        if not differ.any():
            return label
        i, j, a, b = i[differ], j[differ], a[differ], b[differ]
        np.minimum.at(label, np.maximum(a, b), np.minimum(a, b))
        while True:
            further = label[label]
            if np.array_equal(further, label):
                break
            label = further


def run_starts(values: NDArray[np.generic]) -> Ints:
    """Return where each run of equal neighbours starts in a sorted, non-empty array."""
    return np.concatenate(([0], np.flatnonzero(values[1:] != values[:-1]) + 1)).astype(np.int64)


def spans(start: Ints, count: Ints) -> Ints:
    """Return the numbers start[0] … start[0] + count[0] - 1, then those of the next row, and so on."""
    ends = np.cumsum(count)
    total = int(ends[-1]) if len(ends) else 0
    return np.arange(total, dtype=np.int64) + np.repeat(start - ends + count, count)


def near_groups(points: Floats, tolerance: float) -> Ints:
    """Return (n,) group numbers 0, 1, 2 … (in order of place, not of input) for points (n, 2).

    *Source*: cells of diagonal `tolerance` hold points that are near for certain; near points in
    different cells are at most two cells apart. Where a group would spread too far, its pairs are
    joined in order of distance, and only while the joined group stays small (complete linkage).
    """
    if len(points) == 0:
        return np.zeros(0, np.int64)
    cell = np.floor((points - points.min(axis=0)) * (1.4142 / tolerance)).astype(np.int64)
    width = int(cell[:, 1].max()) + 5
    key = cell[:, 0] * width + cell[:, 1]
    order = np.argsort(key, kind="stable")
    ordered = key[order]
    first = run_starts(ordered)
    size = np.diff(first, append=len(points))
    number = np.empty(len(points), np.int64)
    number[order] = np.repeat(np.arange(len(first)), size)

    one, other = _neighbour_cells(ordered[first], width)
    if len(one) == 0:
        return number
    p, q = _across(order, first, size, one, other)
    gap = np.hypot(*(points[p] - points[q]).T)
    p, q = p[gap <= tolerance], q[gap <= tolerance]
    label = components(len(first), number[p], number[q])
    joined = label[number]
    for members in _too_wide(points, label, joined, order, first, size, tolerance):
        joined[members] = len(points) + members[_linked(points[members], tolerance)]
    return np.unique(joined, return_inverse=True)[1].astype(np.int64)


def _neighbour_cells(keys: Ints, width: int) -> tuple[Ints, Ints]:
    """Return the pairs of occupied cells, at most two apart, each pair once."""
    everyone = np.arange(len(keys), dtype=np.int64)
    pairs = []
    for low, high in ((1, 2), (width - 2, width + 2), (2 * width - 1, 2 * width + 1)):
        begin = np.searchsorted(keys, keys + low)
        hit = begin < len(keys)
        hit[hit] = keys[begin[hit]] <= keys[hit] + high
        one, begin = everyone[hit], begin[hit]
        count = np.searchsorted(keys, keys[one] + high, side="right") - begin
        pairs.append((np.repeat(one, count), spans(begin, count)))
    return np.concatenate([p[0] for p in pairs]), np.concatenate([p[1] for p in pairs])


def _across(order: Ints, first: Ints, size: Ints, one: Ints, other: Ints) -> tuple[Ints, Ints]:
    """Return every pair of points of which one lies in cell `one` and the other in cell `other`."""
    a, b = size[one], size[other]
    p = np.repeat(spans(first[one], a), np.repeat(b, a))
    q = spans(np.repeat(first[other], a), np.repeat(b, a))
    return order[p], order[q]


def _too_wide(
    points: Floats, label: Ints, joined: Ints, order: Ints, first: Ints, size: Ints, tolerance: float
) -> list[Ints]:
    """Return the members of every group of more than one cell that is wider than allowed."""
    cells = np.bincount(label, minlength=len(label))
    suspects = np.flatnonzero(cells > 1)
    if len(suspects) == 0:
        return []
    rows = order[spans(first, size)]
    rows = rows[(cells > 1)[joined[rows]]]
    rows = rows[np.argsort(joined[rows], kind="stable")]
    begin = run_starts(joined[rows])
    low = np.minimum.reduceat(points[rows], begin)
    high = np.maximum.reduceat(points[rows], begin)
    wide = np.hypot(*(high - low).T) > SPREAD * tolerance
    return [part for part, far in zip(np.split(rows, begin[1:]), wide, strict=True) if far]


def _linked(points: Floats, tolerance: float) -> Ints:
    """Return group numbers for a few points: nearest pairs first, no group wider than allowed."""
    order = np.lexsort((points[:, 1], points[:, 0]))
    placed = points[order]
    groups: dict[int, list[int]] = {k: [k] for k in range(len(placed))}
    member = np.arange(len(placed))
    by_x = np.searchsorted(placed[:, 0], placed[:, 0] + tolerance, side="right")
    count = by_x - np.arange(len(placed)) - 1
    p = np.repeat(np.arange(len(placed)), count)
    q = spans(np.arange(1, len(placed) + 1), count)
    gap = np.hypot(*(placed[p] - placed[q]).T)
    near = np.flatnonzero(gap <= tolerance)
    for k in near[np.argsort(gap[near], kind="stable")]:
        a, b = int(member[p[k]]), int(member[q[k]])
        if a == b:
            continue
        apart = placed[groups[a]][:, None] - placed[groups[b]][None]
        if np.hypot(apart[..., 0], apart[..., 1]).max() <= SPREAD * tolerance:
            groups[a] += groups.pop(b)
            member[groups[a]] = a
    result = np.empty(len(placed), np.int64)
    result[order] = member
    return result
