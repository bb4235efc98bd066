"""A point well inside an outline: the pole of inaccessibility, where the largest circle fits.

Squares of a grid are searched: no point of a square is farther from the outline than its middle is, by
more than half the square's diagonal. Squares that can't hold a better point are dropped, the others
cut into four. The grid is laid along the outline's own principal axes through its centroid, so that an
outline drawn elsewhere or turned gets the same point.
*Source*: branch and bound with the distance's Lipschitz constant 1 (own derivation).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.errors import GeometryError
from convert.geometry.chain import Segments
from convert.geometry.contain import windings
from convert.geometry.nearest import nearest
from convert.geometry.plane import to_complex, to_points
from convert.geometry.region import box, centroid, second_moments

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.geometry.chain import Chain, Floats
    from convert.geometry.plane import Complexes

SLACK = 0.01
"""The clearance is at most this share below the greatest there is,"""
FINEST = 5e-4
"""or, in a sliver, at most this share of the outline's diagonal below it."""
_FIRST_CELLS = 64
_DEEPEST = 30


def inner_point(outer: Chain, holes: Sequence[Chain] = ()) -> tuple[float, float, float]:
    """Return x, y and clearance of a point inside `outer` and outside `holes`, far from all of them.

    The clearance is the exact distance from the point to the nearest line. Of places that are
    equally good within SLACK the one nearest to the outline's centroid is taken.
    *Errors*: GeometryError when an outline is open or nothing is inside.
    """
    chains = (outer, *holes)
    tables = [chain.segments for chain in chains]
    table = Segments(
        np.concatenate([s.start for s in tables]),
        np.concatenate([s.end for s in tables]),
        np.concatenate([s.bulge for s in tables]),
    )
    frame = _Frame(outer)
    known, clearance = frame.first_known, _clearance(table, frame.to_page(frame.first_known))
    cells, size = frame.cells, frame.size
    for _ in range(_DEEPEST):
        found = _clearance(table, frame.to_page(cells))
        known, clearance = np.concatenate((known, cells)), np.concatenate((clearance, found))
        best = clearance.max()
        least = max(SLACK / 2 * best, FINEST * frame.diagonal) if best > 0 else 0.0
        worth = found + size * np.sqrt(0.5) > best + least
        if not worth.any():
            break
        size /= 2
        quarters = np.array([-1 - 1j, 1 - 1j, -1 + 1j, 1 + 1j]) * size / 2
        cells = (cells[worth][:, None] + quarters).ravel()
    best = clearance.max()
    if not best > 0.0:
        raise GeometryError.because("GEO-006", "an outline encloses no area")
    good = np.flatnonzero(clearance >= (1.0 - SLACK / 2) * best)
    pick = good[np.argmin(np.abs(known[good]))]
    x, y = frame.to_page(known[pick : pick + 1])[0]
    return float(x), float(y), float(clearance[pick])


class _Frame:
    """The outline's own axes: complex numbers with the centroid at 0 and the longer axis along x."""

    def __init__(self, outer: Chain) -> None:
        ixx, iyy, ixy = second_moments(outer)
        self.origin = complex(*centroid(outer))
        # Outlines that look alike along all axes keep the page's.
        even = np.hypot(2 * ixy, iyy - ixx) <= 1e-6 * (ixx + iyy)
        self.turn = 1.0 if even else np.exp(0.5j * np.arctan2(2 * ixy, iyy - ixx))
        page = box(outer)
        corners = to_complex(np.array([[page[i], page[j]] for i in (0, 2) for j in (1, 3)]))
        own = (corners - self.origin) / self.turn
        low, high = own.real.min() + 1j * own.imag.min(), own.real.max() + 1j * own.imag.max()
        width, height = (high - low).real, (high - low).imag
        self.diagonal = float(np.hypot(page[2] - page[0], page[3] - page[1]))
        self.size = max(min(width, height), max(width, height) / _FIRST_CELLS)
        # One cell has its middle at the centroid, so that a symmetrical outline is searched symmetrically.
        x, y = (
            np.arange(np.floor(a / self.size + 0.5), np.ceil(b / self.size - 0.5) + 1) * self.size
            for a, b in ((low.real, high.real), (low.imag, high.imag))
        )
        self.cells: Complexes = (x[:, None] + 1j * y[None, :]).ravel()
        self.first_known: Complexes = np.zeros(1, dtype=np.complex128)

    def to_page(self, z: Complexes) -> Floats:
        """Return points (k, 2) on the page."""
        return to_points(self.origin + z * self.turn)


def _clearance(table: Segments, points: Floats) -> Floats:
    """Return distances to the lines, negative outside: inside is where the lines wind round an odd number."""
    ring = np.zeros(len(points), dtype=np.intp)
    inside = windings(table, np.array([0, len(table)], dtype=np.intp), ring, points) % 2 == 1
    distance = nearest(table, points)[0]
    return np.where(inside, distance, -distance)
