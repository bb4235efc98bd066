"""Points in which two lines run together with one region on both sides: the tips of shells and leaves.

The network between regions turns back where the white within such a point ends. The ink goes on from there,
as a **spur** with one region all round it: it lies along points equally near to two places on that region's
border. Here a spur becomes a path of the network, from the white's end to the point, so that it is a
taper like others (tapers.py).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from convert.block.medial import Network, Path
from convert.geometry.chain import Segments
from convert.geometry.measure import midpoint, point_at
from convert.geometry.nearest import nearest

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from convert.block.medial import Borders
    from convert.geometry.chain import Floats

    Bools = NDArray[np.bool_]

WIDE = 1.55
"""A spur begins where the clearance is so many times what is usual on the path."""

CLEAR = 2.0
"""So many line widths from all junctions: nearer ones belong to a knot."""

NEXT, STRETCH = 0.7, 0.3
"""In line widths: how far it is to a spur's next point at most, and how long its parts are."""

SLENDER, BROAD, ENDING = 0.7, 2.4, 0.95
"""Clearance of a spur's points, in half widths: at least, at most, and where its end begins to be rounded."""

PROBE, SQUARE_END = 0.6, 0.27
"""In half widths. So far ahead and aside of the middle of its end a rounded spur leaves 0.15 to the border,
one cut off squarely 0.4."""

AHEAD, POINTED = 2.5, 1.5
"""In half widths: what is looked at beyond a spur's end, and from which reach on it is no rounded end."""

FURTHEST = 40.0
"""Line widths that a spur is long, at most."""


@dataclass(frozen=True, slots=True, eq=False)
class Spur:
    """A spur on a path of the network, from its point number `at`.

    *Shapes*: `points` (n, 2) from there to the spur's end, `clearance` (n,); `region` is what is on both
    sides, `sides` are the borders on the left and on the right.
    """

    path: int
    at: int
    points: Floats
    clearance: Floats
    region: int
    sides: tuple[Segments, Segments]


def spurs_of(net: Network, borders: Borders, width: float) -> list[Spur]:
    """Return what may be spurs, at most one at each place."""
    found = []
    for number, path in enumerate(net.paths):
        half = float(np.median(path.clearance))
        # A ring is begun where nothing is wide.
        shift = int(np.argmin(path.clearance)) if path.closed else 0
        clearance = np.roll(path.clearance[:-1], -shift) if path.closed else path.clearance
        wide = np.concatenate(([False], clearance > WIDE * half, [False]))
        along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(path.points, axis=0).T))))
        begin, end = (np.flatnonzero(wide[1:] & ~wide[:-1]), np.flatnonzero(wide[:-1] & ~wide[1:]))
        for low, high in zip(begin.tolist(), end.tolist(), strict=True):
            at = (low + int(np.argmax(clearance[low:high])) + shift) % len(clearance)
            if path.closed or CLEAR * width <= along[at] <= along[-1] - CLEAR * width:
                for region in (path.left, path.right):
                    spur = _spur(net, borders, number, at, region, half)
                    if spur is not None:
                        found.append(spur)
                        break
    return found


def _spur(net: Network, borders: Borders, number: int, at: int, region: int, half: float) -> Spur | None:
    """Return the spur in a region that begins at a point of a path, None if none does."""
    wide = 2 * half
    tip, clearance = net.paths[number].points[at], net.aside_clearance
    reach = np.hypot(*(net.aside - tip).T)
    look = (reach <= FURTHEST * wide) & (clearance >= SLENDER * half) & (clearance <= BROAD * half)
    rows = np.flatnonzero(look)
    rows = rows[_in_ink(net.aside[rows], borders, region)]
    rows = rows[np.argsort(reach[rows], kind="stable")]
    gap = np.flatnonzero(np.diff(reach[rows], prepend=0.0) > NEXT * wide)
    rows = rows[: int(gap[0])] if len(gap) else rows
    full = np.flatnonzero(clearance[rows] >= ENDING * half)
    rows = rows[: int(full[-1]) + 1] if len(full) else rows[:0]
    if len(rows) < 2:
        return None
    part = (reach[rows] / (STRETCH * wide)).astype(np.int64)
    _, part = np.unique(part, return_inverse=True)
    count = np.bincount(part)
    if len(count) < 4:
        return None
    values = (net.aside[rows, 0], net.aside[rows, 1], clearance[rows])
    x, y, c = (np.bincount(part, v) / count for v in values)
    points = np.concatenate((tip[None], np.stack((x, y), axis=1)[:-1], net.aside[rows[-1:]]))
    way = points[-1] - points[-4]
    way /= np.hypot(*way)
    points[-1] += _beyond(points[-1], way, borders, region, half) * way
    clearance = np.concatenate((net.paths[number].clearance[at : at + 1], c[:-1], [half]))
    begun = points[0] - points[3]
    before = points[0] + begun / np.hypot(*begun) * CLEAR * wide
    axis = np.concatenate((before[None], points, (points[-1] + CLEAR * wide * way)[None]))
    sides = _parted(axis, borders.table.take(np.flatnonzero(borders.region == region)), wide)
    return Spur(number, at, points, clearance, region, sides) if all(len(s) for s in sides) else None


def _in_ink(points: Floats, borders: Borders, region: int) -> Bools:
    """Return which points are in the ink and nearest to a region's border: the ink is on its right."""
    if not len(points):
        return np.zeros(0, bool)
    _, row, share = nearest(borders.table, points)
    table = borders.table.take(row)
    to = points - point_at(table, share)
    way = table.end - table.start
    inked: Bools = (borders.region[row] == region) & (way[:, 0] * to[:, 1] - way[:, 1] * to[:, 0] < 0)
    return inked


def _beyond(end: Floats, way: Floats, borders: Borders, region: int, half: float) -> float:
    """Return how far beyond the place where a spur narrows its lines end, by the shape of the ink there."""
    table = borders.table.take(np.flatnonzero(borders.region == region))
    aside = np.array([-way[1], way[0]])
    shares = (0.25, 0.5, 0.75, 1.0)
    rim = np.concatenate([point_at(table, np.full(len(table), share)) for share in shares]) - end
    reach = float((rim[np.hypot(*rim.T) <= AHEAD * half] @ way).max(initial=0.0))
    middle = end + (reach - half) * way
    left = nearest(table, middle + PROBE * half * (way + np.stack((aside, -aside))))[0]
    if reach < POINTED * half and left.mean() > SQUARE_END * half:
        return reach
    # A sharp point reaches further, and tells less.
    return reach - half if reach < POINTED * half else 0.0


def _parted(axis: Floats, table: Segments, wide: float) -> tuple[Segments, Segments]:
    """Return the segments of a border on the left and on the right of a spur's axis (n, 2), near to it."""
    line = Segments(axis[:-1], axis[1:], np.zeros(len(axis) - 1))
    middle = midpoint(table)
    away, row, share = nearest(line, middle)
    to = middle - point_at(line.take(row), share)
    way = (line.end - line.start)[row]
    left = way[:, 0] * to[:, 1] - way[:, 1] * to[:, 0] > 0
    near = away <= CLEAR * wide
    return table.take(np.flatnonzero(near & left)), table.take(np.flatnonzero(near & ~left))


def with_spurs(net: Network, spurs: Sequence[Spur]) -> tuple[Network, dict[int, Spur]]:
    """Return the network with spurs as paths, each from a junction on the path it leaves, and which."""
    paths: list[Path] = []
    junctions = list(net.junctions)
    added = []
    for number, path in enumerate(net.paths):
        mine = sorted((s for s in spurs if s.path == number), key=lambda s: s.at)
        if not mine:
            paths.append(path)
            continue
        points, clearance, cuts = path.points, path.clearance, [s.at for s in mine]
        ends = [len(junctions) + 2 * k for k in range(len(mine))]
        if path.closed:
            points = np.concatenate((np.roll(points[:-1], -cuts[0], axis=0), points[cuts[0] : cuts[0] + 1]))
            clearance = np.concatenate((np.roll(clearance[:-1], -cuts[0]), clearance[cuts[0] : cuts[0] + 1]))
            places = [*(c - cuts[0] for c in cuts), len(points) - 1]
            names = [*ends, ends[0]]
        else:
            places = [0, *cuts, len(points) - 1]
            names = [path.first, *ends, path.last]
        for k in range(len(places) - 1):
            part = slice(places[k], places[k + 1] + 1)
            paths.append(
                replace(
                    path, points=points[part], clearance=clearance[part], first=names[k], last=names[k + 1]
                )
            )
        for spur, end in zip(mine, ends, strict=True):
            junctions += [spur.points[0], spur.points[-1]]
            added.append((spur, end))
    stems = {len(paths) + k: spur for k, (spur, _) in enumerate(added)}
    paths += [Path(s.points, s.clearance, end, end + 1, s.region, s.region) for s, end in added]
    places_of = np.array(junctions).reshape(-1, 2)
    return Network(places_of, tuple(paths), net.aside, net.aside_clearance), stems
