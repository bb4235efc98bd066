"""Whether a cut runs at its distance from an outline: with an allowance, half a kerf, or both.

Seen along the travel of the outline the cut lies on its right. Every point of the cut must be at the
distance, except round open corners, where it must lie on the point that two sides and a square cut
make there; and no point of the outline may be nearer to the cut than the distance. So with a kerf
of twice the distance, what a tool of that width leaves is the outline.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.proof.outlines import Table, areas, distances, point_at

if TYPE_CHECKING:
    from collections.abc import Iterator

    from convert.proof.outlines import Floats, Ints, Points

SHARES = np.array([0.0, 0.25, 0.5, 0.75, 1.0])
"""Places looked at on every segment: five fix a line or an arc many times over."""
CLOSE = 1e-4
"""A point may be so far (mm) out of the field of its corner."""
ROUNDING = 1e-9
CUSP = 0.5 * np.pi - 1e-6
_MANY = 1 << 20
"""So many pairs of a point and a segment are measured at once."""


@dataclass(frozen=True, slots=True, eq=False)
class Distance:
    """How far each cut is from its outline, mm; columns (paths,).

    An open corner has a point up to where its sides meet, if that is within `longest` times the
    distance, and else is cut square `past` mm from the outline's corner. It may be so cut as well
    where the point would be within the limit.
    """

    mm: Floats
    longest: Floats
    past: Floats


def deviations(cut: Table, wanted: Table, distance: Distance) -> Floats:
    """(paths,) how far each path of `cut` is from where its namesake in `wanted` puts it, mm.

    A path on the wrong side of its outline is infinitely far off.
    """
    off = np.zeros(cut.count)
    for points, owner, near in _measured(cut, wanted):
        away = np.abs(near - distance.mm[owner])
        rows = np.flatnonzero((near > distance.mm[owner] + ROUNDING) & (distance.mm[owner] > 0.0))
        if len(rows):
            away[rows] = np.minimum(away[rows], _at_corners(points[rows], owner[rows], wanted, distance))
        np.maximum.at(off, owner, away)
    for _, owner, near in _measured(wanted, cut):
        # Where cut and outline should be one, the outline must not be far from the cut either.
        short = np.where(distance.mm[owner] > 0.0, distance.mm[owner] - near, near)
        np.maximum.at(off, owner, np.maximum(short, 0.0))
    around, whole = areas(cut), areas(wanted)
    wrong = np.where(whole > 0.0, np.abs(around) < np.abs(whole), np.abs(around) > np.abs(whole))
    return np.where(wrong & (distance.mm > CLOSE), np.inf, off)


def _measured(seen: Table, other: Table) -> Iterator[tuple[Points, Ints, Floats]]:
    """Yield places on `seen`, their paths, and their distances from the same paths of `other`."""
    row = np.repeat(np.arange(len(seen.p)), len(SHARES))
    points = point_at(seen.take(row), np.tile(SHARES, len(seen.p)))
    owner = seen.path[row]
    many = np.bincount(other.path, minlength=other.count)[owner]
    first = np.searchsorted(other.path, owner)
    ends = np.cumsum(many)
    begin = 0
    while begin < len(points):
        end = max(int(np.searchsorted(ends, ends[begin] - many[begin] + _MANY, side="right")), begin + 1)
        part = slice(begin, end)
        opening = np.cumsum(many[part]) - many[part]
        pair = np.repeat(np.arange(end - begin), many[part])
        rows = np.arange(len(pair)) - opening[pair] + first[part][pair]
        near = np.full(end - begin, np.inf)
        np.minimum.at(near, pair, distances(points[part][pair], other.take(rows)))
        yield points[part], owner[part], near
        begin = end


def _at_corners(points: Points, owner: Ints, wanted: Table, distance: Distance) -> Floats:
    """Return how far each point is from the nearest point that an open corner of its outline may have."""
    best = np.full(len(points), np.inf)
    following = _following(wanted)
    arrive = _unit((wanted.q - wanted.p) * np.exp(0.5j * wanted.sweep))
    leave = _unit((wanted.q - wanted.p) * np.exp(-0.5j * wanted.sweep))[following]
    half = 0.5 * np.angle(leave * arrive.conj())
    # Where an outline turns back on itself, how its sides bend tells a point (bending right) from a slit.
    bend = wanted.sweep / np.maximum(np.abs(wanted.q - wanted.p), 1e-300)
    half = np.where(
        np.abs(half) > CUSP, np.where(bend + bend[following] < 0.0, 1.0, -1.0) * np.abs(half), half
    )
    mm, longest, past = (column[wanted.path] for column in (distance.mm, distance.longest, distance.past))
    # Points and segments come path by path, so those of one path are a slice of each.
    paths = np.unique(owner)
    edges = zip(
        *(
            np.searchsorted(column, paths, side)
            for column in (owner, wanted.path)
            for side in ("left", "right")
        ),
        strict=True,
    )
    for first_point, last_point, first_row, last_row in edges:
        mine = np.arange(first_point, last_point)
        rows = first_row + np.flatnonzero(half[first_row:last_row] > 0.0)
        if not len(rows):
            continue
        # Measured from the corner: along the two sides' outward normals, and along their bisector.
        from_corner = points[mine][:, None] - wanted.q[rows]
        first = (from_corner * np.conj(-1j * arrive[rows])).real - mm[rows]
        second = (from_corner * np.conj(-1j * leave[rows])).real - mm[rows]
        bisector = -1j * arrive[rows] * np.exp(1j * half[rows])
        outward = (from_corner * bisector.conj()).real
        sides = np.maximum(first, second)
        ratio = 1.0 / np.maximum(np.cos(half[rows]), 1e-12)
        whole = np.abs(np.maximum(sides, outward - ratio * mm[rows]))
        square = np.abs(np.maximum(sides, outward - past[rows]))
        gap = np.minimum(np.where(ratio <= longest[rows] + ROUNDING, whole, np.inf), square)
        # Only points that no side faces belong to a corner, and they are no farther out than its tip.
        behind = np.minimum(
            (from_corner * arrive[rows].conj()).real, -(from_corner * leave[rows].conj()).real
        )
        tip = np.maximum(ratio * mm[rows], past[rows]) * ratio
        fits = (behind >= -CLOSE) & (np.abs(from_corner) <= tip + CLOSE)
        best[mine] = np.where(fits, gap, np.inf).min(axis=1)
    return best


def _following(t: Table) -> Ints:
    """Return for each segment the one that comes next on its closed path."""
    row = np.arange(1, len(t.path) + 1)
    last = np.flatnonzero(np.append(t.path[1:] != t.path[:-1], True))
    row[last] = np.searchsorted(t.path, t.path[last])
    return row


def _unit(z: Points) -> Points:
    unit: Points = z / np.maximum(np.abs(z), 1e-300)
    return unit
