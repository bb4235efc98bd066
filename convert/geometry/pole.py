"""A point well inside an outline: the pole of inaccessibility, where the largest circle fits.

Squares of a grid are searched: no point of a square is farther from the outline than its middle is, by
more than half the square's diagonal. Squares that can't hold a better point are dropped, the others
cut into four. The grid is laid along the outline's own principal axes through its centroid, so that an
outline drawn elsewhere or turned gets the same point. Many outlines are searched at once.
*Source*: branch and bound with the distance's Lipschitz constant 1 (own derivation).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.errors import GeometryError
from convert.geometry.chain import Segments
from convert.geometry.contain import Rings
from convert.geometry.nearest import Targets
from convert.geometry.plane import to_complex, to_points
from convert.geometry.region import moments

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.geometry.chain import Chain, Floats
    from convert.geometry.plane import Complexes, Flags, Ints

SLACK = 0.01
"""The clearance is at most this share below the greatest there is,"""
FINEST = 5e-4
"""or, in a sliver, at most this share of the outline's diagonal below it."""
_MOST_CELLS = 64
"""Squares along the longer side at first, at most."""
_MOST_KEPT = 1 << 12
"""Squares of one outline kept from one size to the next, at most: only slivers and mistakes reach this."""
_AT_ONCE = 128
"""Outlines searched together, to bound the memory."""
_DEEPEST = 30
"""Halvings after which an outline with nothing inside is given up."""

_QUARTERS = np.array([-0.5 - 0.5j, 0.5 - 0.5j, -0.5 + 0.5j, 0.5 + 0.5j])


def inner_point(outer: Chain, holes: Sequence[Chain] = ()) -> tuple[float, float, float]:
    """Return x, y and clearance of a point inside `outer` and outside `holes`, far from all of them.

    The clearance is the exact distance from the point to the nearest line. Of places that are equally good
    within half of SLACK, the one nearest to the outline's centroid is taken.
    *Errors*: GeometryError when an outline is open or nothing is inside.
    """
    x, y, clearance = inner_points(((outer, holes),))[0].tolist()
    return x, y, clearance


def inner_points(outlines: Sequence[tuple[Chain, Sequence[Chain]]]) -> Floats:
    """Return what `inner_point` does for many outlines, each with its holes: (k, 3) as x, y, clearance."""
    parts = [_searched(outlines[k : k + _AT_ONCE]) for k in range(0, len(outlines), _AT_ONCE)]
    return np.concatenate((np.zeros((0, 3)), *parts))


def _searched(outlines: Sequence[tuple[Chain, Sequence[Chain]]]) -> Floats:
    grid = _Grid(outlines)
    count = len(outlines)
    # The centroid of each is looked at first, and wins a draw.
    owner: Ints = np.arange(count, dtype=np.intp)
    z: Complexes = np.zeros(count, dtype=np.complex128)
    seen = [(owner, z, grid.clearance(owner, z))]
    best = seen[0][2].copy()
    owner, z = grid.cells()
    size = grid.size
    for _ in range(_DEEPEST):
        found = grid.clearance(owner, z)
        seen.append((owner, z, found))
        np.maximum.at(best, owner, found)
        least = np.where(best > 0.0, np.maximum(SLACK / 2 * best, FINEST * grid.diagonal), 0.0)
        worth = found + size[owner] * np.sqrt(0.5) > (best + least)[owner]
        if not worth.any():
            break
        worth = _best_of_each(owner, found, np.flatnonzero(worth))
        size = size / 2
        owner = np.repeat(owner[worth], 4)
        z = (z[worth][:, None] + _QUARTERS * size[owner].reshape(-1, 4)).ravel()
    if not (best > 0.0).all():
        raise GeometryError.because("GEO-006", "an outline encloses no area")
    owner, z, clearance = (np.concatenate(column) for column in zip(*seen, strict=True))
    good = clearance >= (1.0 - SLACK / 2) * best[owner]
    owner, z, clearance = owner[good], z[good], clearance[good]
    order = np.lexsort((np.abs(z), owner))
    pick = order[np.searchsorted(owner[order], np.arange(count))]
    return np.column_stack((grid.on_page(owner[pick], z[pick]), clearance[pick]))


def _best_of_each(owner: Ints, found: Floats, rows: Ints) -> Ints:
    """Return those `rows` that are among the _MOST_KEPT best of their owner."""
    if len(rows) <= _MOST_KEPT:
        return rows
    order = rows[np.lexsort((-found[rows], owner[rows]))]
    first = np.searchsorted(owner[order], owner[order])
    out: Ints = np.sort(order[np.arange(len(order)) - first < _MOST_KEPT])
    return out


class _Grid:
    """The outlines in one table, and each one's own axes: its centroid at 0, its longer axis along x."""

    def __init__(self, outlines: Sequence[tuple[Chain, Sequence[Chain]]]) -> None:
        groups = [[outer, *holes] for outer, holes in outlines]
        chains = [chain for group in groups for chain in group]
        if not all(chain.closed for chain in chains):
            raise GeometryError.because("GEO-005", "an open chain encloses no area")
        table = _joined(chains)
        rows = np.r_[0, np.cumsum([len(chain) for chain in chains])]
        begin = np.r_[0, np.cumsum([len(group) for group in groups])]
        self._start = rows[begin]
        self._rings, self._targets = Rings(table), Targets(table)
        outer = _joined([group[0] for group in groups])
        first = np.r_[0, np.cumsum([len(group[0]) for group in groups])]
        _, self._origin, second = moments(outer, first[:-1])
        ixx, iyy, ixy = second.T
        # Outlines that look alike along all axes keep the page's.
        even = np.hypot(2 * ixy, iyy - ixx) <= 1e-6 * (ixx + iyy)
        self._turn = np.where(even, 1.0, np.exp(0.5j * np.arctan2(2 * ixy, iyy - ixx)))
        self._low, self._high = _own_boxes(outer, first[:-1], self._origin, self._turn)
        width, height = (self._high - self._low).real, (self._high - self._low).imag
        self.diagonal = np.hypot(width, height)
        self.size = np.maximum(np.minimum(width, height), np.maximum(width, height) / _MOST_CELLS)

    def cells(self) -> tuple[Ints, Complexes]:
        """Return the first squares: their outlines and middles. The centroid is the middle of one."""
        low, high, size = self._low, self._high, self.size
        x0, x1 = np.floor(low.real / size + 0.5), np.ceil(high.real / size - 0.5)
        y0, y1 = np.floor(low.imag / size + 0.5), np.ceil(high.imag / size - 0.5)
        wide, high_count = (x1 - x0 + 1).astype(np.intp), (y1 - y0 + 1).astype(np.intp)
        count = wide * high_count
        owner = np.repeat(np.arange(len(count), dtype=np.intp), count)
        number = np.arange(len(owner)) - (np.cumsum(count) - count)[owner]
        z = (x0[owner] + number % wide[owner]) + 1j * (y0[owner] + number // wide[owner])
        return owner, z * size[owner]

    def on_page(self, owner: Ints, z: Complexes) -> Floats:
        """Return points (k, 2) on the page."""
        return to_points(self._origin[owner] + z * self._turn[owner])

    def clearance(self, owner: Ints, z: Complexes) -> Floats:
        """Return distances to the lines, negative outside: inside, all lines wind round an odd number."""
        points = self.on_page(owner, z)
        inside: Flags = self._rings.windings(self._start, owner, points) % 2 == 1
        distance = self._targets.nearest_in(self._start, owner, points)[0]
        return np.where(inside, distance, -distance)


def _joined(chains: Sequence[Chain]) -> Segments:
    """Return the segments of all chains in one table."""
    tables = [chain.segments for chain in chains]
    return Segments(
        np.concatenate([s.start for s in tables]),
        np.concatenate([s.end for s in tables]),
        np.concatenate([s.bulge for s in tables]),
    )


def _own_boxes(s: Segments, first: Ints, origin: Complexes, turn: Complexes) -> tuple[Complexes, Complexes]:
    """Return corners of boxes along the outlines' own axes, never too small."""
    count = np.diff(np.r_[first, len(s)])
    here, axis = np.repeat(origin, count), np.repeat(turn, count)
    p, q = (to_complex(s.start) - here) / axis, (to_complex(s.end) - here) / axis
    bow = -0.5j * s.bulge * (q - p)
    corners = np.stack((p, q, p + bow, q + bow))
    x, y = corners.real, corners.imag
    low = np.minimum.reduceat(x.min(axis=0), first) + 1j * np.minimum.reduceat(y.min(axis=0), first)
    high = np.maximum.reduceat(x.max(axis=0), first) + 1j * np.maximum.reduceat(y.max(axis=0), first)
    return low, high
