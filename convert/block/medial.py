"""The lines half way between regions: where inked lines must have run, from the white that they left.

*Words.* The **ink** is everything that drawn lines cover; the **regions** are what it parts: the pieces to
be, and the outside. The **network** is the set of points that are equally near to two regions. It runs
along the middle of every line that parts two regions, it has no spurs, and three or more regions meet
at its **junctions**: the right topology by construction. The **clearance** of a point of it is its
distance from those regions: half the width of the line there.

*Source*: the network is the part of the Voronoi diagram of points sampled on the regions' borders that
separates points of different regions. It is read off the Delaunay triangulation, its dual: triangles
whose corners belong to two or three regions are its vertices (at the circumcentre), and two of them
are linked if the side they share joins different regions. With samples h apart on both sides of a
line of width w the vertices lie within h² / 8w of its middle.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.geometry.index import neighbour_triangles
from convert.geometry.measure import lengths, point_at

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.geometry.chain import Floats, Segments

    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

UNEVEN, GOLDEN = 0.3, (5**0.5 - 1) / 2
"""Samples are shifted by so much of their distance at most, as multiples of the golden section fall."""

FLAT = 1e-3
"""Twice a triangle over the square of its longest side, below which its circle tells nothing."""

LEAST_SAMPLES = 8
"""Samples on a border, however short it is."""


@dataclass(frozen=True, slots=True, eq=False)
class Borders:
    """What lies round the ink: rings of segments, one after another, with the ink on their right.

    *Shapes*: `table` has n rows; `region` (n,) is the number of the region on the left, `ring` (n,)
    rises from 0.
    """

    table: Segments
    region: Ints
    ring: Ints

    def sampled(self, spacing: float) -> tuple[Floats, Ints]:
        """Return points (m, 2) about `spacing` apart, none at the ends of a ring, and their regions (m,)."""
        size = lengths(self.table)
        count = int(self.ring.max(initial=-1)) + 1
        whole = np.bincount(self.ring, size, count)
        parts = np.maximum(LEAST_SAMPLES, np.ceil(whole / spacing)).astype(np.int64)
        owner = np.repeat(np.arange(count), parts)
        place = np.arange(len(owner)) - np.repeat(np.cumsum(parts) - parts, parts)
        begun = np.cumsum(whole) - whole
        # Not quite evenly: four corners of equal rectangles on one circle are hard to triangulate.
        uneven = 0.5 + UNEVEN * (np.remainder(GOLDEN * np.arange(len(owner)), 1.0) - 0.5)
        at = begun[owner] + (place + uneven) * (whole / parts)[owner]
        end = np.cumsum(size)
        row = np.minimum(np.searchsorted(end, at), len(end) - 1)
        share = np.clip(1.0 - (end[row] - at) / size[row], 0.0, 1.0)
        return point_at(self.table.take(row), share), self.region[row]


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """A stretch of the network between two junctions, or a ring without any.

    *Shapes*: `points` (k, 2) from the first junction to the last, `clearance` (k,). `first` and `last` are
    junction numbers, -1 where there is none. `left` and `right` are the regions along the way.
    """

    points: Floats
    clearance: Floats
    first: int
    last: int
    left: int
    right: int

    @property
    def closed(self) -> bool:
        """Whether this is a ring without junctions: its last point is the first one again."""
        return self.first < 0 and bool((self.points[0] == self.points[-1]).all())

    def reversed(self) -> Path:
        """Return the same path walked the other way."""
        return Path(self.points[::-1], self.clearance[::-1], self.last, self.first, self.right, self.left)


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """The whole network: places of its junctions (j, 2) and the paths between them.

    `aside` (k, 2) are points equally near to several samples of one region only, in the ink or elsewhere, and
    `aside_clearance` (k,) their distances from it: where a line ends within a region they run along it.
    `placed` are the junctions whose places are known otherwise than by the regions round them; at those that
    are `touching` two lines run in one direction.
    """

    junctions: Floats
    paths: tuple[Path, ...]
    aside: Floats
    aside_clearance: Floats
    placed: frozenset[int] = frozenset()
    touching: frozenset[int] = frozenset()


def network(points: Floats, region: Ints) -> Network:
    """Return the network between samples (m, 2) of regions (m,)."""
    _, one = np.unique(points[:, 0] + 1j * points[:, 1], return_index=True)
    points, region = points[one], region[one]
    corner = neighbour_triangles(points)
    mixed = (region[corner] != region[corner[:, :1]]).any(axis=1)
    alone = _circumcircles(points[_not_flat(points, corner[~mixed])])
    corner = corner[mixed]
    # Counter-clockwise, so that sides have a left and a right.
    a, b, c = (points[corner[:, k]] for k in range(3))
    flip = _cross(b - a, c - a) < 0
    corner[flip] = corner[flip][:, ::-1]
    middle, clearance = _circumcircles(points[corner])
    owner = np.tile(np.arange(len(corner)), 3)
    start = np.concatenate([corner[:, k] for k in range(3)])
    end = np.concatenate([corner[:, (k + 1) % 3] for k in range(3)])
    parting = region[start] != region[end]
    owner, start, end = owner[parting], start[parting], end[parting]
    key = np.minimum(start, end) * len(points) + np.maximum(start, end)
    order = np.argsort(key, kind="stable")
    pair = np.flatnonzero(key[order[1:]] == key[order[:-1]])
    mine, other = order[pair], order[pair + 1]
    # A side runs with its triangle on the left; who crosses it to the other one has its end on the left.
    links = np.stack((owner[mine], owner[other]), axis=1)
    sides = np.stack((region[end[mine]], region[start[mine]]), axis=1)
    return Network(*_paths(middle, clearance, links, sides), *alone)


def _cross(u: Floats, v: Floats) -> Floats:
    out: Floats = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    return out


def _not_flat(points: Floats, corner: Ints) -> Ints:
    """Return the triangles without those that rounding made, along straight borders: their circles lie."""
    a, b, c = (points[corner[:, k]] for k in range(3))
    longest = np.stack([((q - p) ** 2).sum(axis=1) for p, q in ((a, b), (b, c), (c, a))]).max(axis=0)
    kept: Ints = corner[np.abs(_cross(b - a, c - a)) > FLAT * longest]
    return kept


def _circumcircles(corner: Floats) -> tuple[Floats, Floats]:
    """Return centres (t, 2) and radii of the circles through triangles (t, 3, 2)."""
    u, v = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    uu, vv = (u**2).sum(axis=1), (v**2).sum(axis=1)
    area = 2 * _cross(u, v)
    safe = np.where(area == 0.0, 1.0, area)
    to = np.stack((v[:, 1] * uu - u[:, 1] * vv, u[:, 0] * vv - v[:, 0] * uu), axis=1) / safe[:, None]
    # Three points on a line have no circle: their middle stands for its centre.
    to = np.where((area == 0.0)[:, None], (u + v) / 3, to)
    radius: Floats = np.hypot(to[:, 0], to[:, 1])
    return corner[:, 0] + to, radius


def _paths(place: Floats, clearance: Floats, links: Ints, sides: Ints) -> tuple[Floats, tuple[Path, ...]]:
    """Follow links from junction to junction; return the places of the junctions and the paths."""
    ends = links.reshape(-1)
    degree = np.bincount(ends, minlength=len(place))
    order = np.argsort(ends, kind="stable")
    first = np.concatenate(([0], np.cumsum(degree))).tolist()
    way = order.tolist()
    target = links[:, ::-1].reshape(-1).tolist()
    is_stop = degree != 2
    stops = np.flatnonzero(is_stop & (degree > 0))
    number = np.full(len(place), -1, np.int64)
    number[stops] = np.arange(len(stops))
    stop = is_stop.tolist()
    used = bytearray(len(links))
    paths = []
    for begin in (*stops.tolist(), *np.flatnonzero(degree == 2).tolist()):
        for k in range(first[begin], first[begin + 1]):
            if used[way[k] // 2]:
                continue
            entry = way[k]
            used[entry // 2] = 1
            along = [begin, target[entry]]
            while not stop[along[-1]] and along[-1] != begin:
                here = along[-1]
                onward = next((w for w in way[first[here] : first[here + 1]] if not used[w // 2]), None)
                if onward is None:
                    break
                used[onward // 2] = 1
                along.append(target[onward])
            left, right = sides[entry // 2] if entry % 2 == 0 else sides[entry // 2][::-1]
            rows = np.array(along)
            paths.append(
                Path(
                    place[rows],
                    clearance[rows],
                    int(number[along[0]]),
                    int(number[along[-1]]),
                    int(left),
                    int(right),
                )
            )
    return place[stops], tuple(paths)
