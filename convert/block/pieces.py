"""From a planar map to the outlines of its pieces.

The first step after the arrangement: follow the half-edges round every boundary, and read areas,
lengths and centroids off the tables. An outline's vertices are the map's own numbers, gathered and
never recomputed, so two neighbours share the same bits.

*Words.* A **ring** is one closed boundary of one face: the outer one runs counter-clockwise, the
boundary of a hole clockwise. All rings together form one table of segments, ring after ring.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from convert.block.faces import half_edges, half_table
from convert.block.model import OUTSIDE
from convert.geometry.chain import Chain, Segments, frozen
from convert.geometry.measure import area_terms, boxes, lengths
from convert.geometry.segment import segment_area

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.block.model import Ints, PlanarMap
    from convert.geometry.chain import Floats


@dataclass(frozen=True, slots=True, eq=False)
class Rings:
    """Every boundary of a map, ring after ring.

    *Shapes*: for H half-edges in R rings: `half` (H,), `start` (R+1,) row numbers, `face` (R,),
    `table` H rows, `area` (R,) signed, `perimeter` (R,), `moment` (R, 2): the integrals of x and y
    over the inside, signed like the area (their quotient is the centroid).
    """

    half: Ints
    start: Ints
    face: Ints
    table: Segments
    area: Floats
    perimeter: Floats
    moment: Floats

    def rows(self, ring: int) -> slice:
        """Return the rows of one ring."""
        return slice(int(self.start[ring]), int(self.start[ring + 1]))

    def chain(self, ring: int) -> Chain:
        """Return one ring as a closed chain."""
        rows = self.rows(ring)
        return Chain(self.table.start[rows], self.table.bulge[rows], closed=True)


@dataclass(frozen=True, slots=True, eq=False)
class Faces:
    """Which rings bound which piece.

    *Shapes*: for F faces: `outer` (F,) ring numbers; `holes` one tuple of ring numbers per face;
    `area` (F,) without the holes, `perimeter` (F,) of the outer ring, `centroid` (F, 2).
    """

    rings: Rings
    outer: Ints
    holes: tuple[tuple[int, ...], ...]
    area: Floats
    perimeter: Floats
    centroid: Floats

    def __len__(self) -> int:
        return len(self.outer)

    def hole_chains(self, face: int) -> tuple[Chain, ...]:
        """Return the clockwise outlines of the holes in one face."""
        return tuple(self.rings.chain(r) for r in self.holes[face])

    def half_edges(self, face: int) -> tuple[int, ...]:
        """Return the half-edges of the outline, segment by segment, then those of the holes."""
        rows = [self.rings.rows(r) for r in (int(self.outer[face]), *self.holes[face])]
        return tuple(int(h) for r in rows for h in self.rings.half[r])


def half_edge_table(planar: PlanarMap) -> tuple[Ints, Segments]:
    """Return the first vertex of each half-edge (2E,) and the half-edges as a table of 2E segments."""
    first, _ = half_edges(planar.start, planar.end)
    return first, half_table(planar.points, planar.start, planar.end, planar.bulge)


def first_moments(table: Segments) -> Floats:
    """Return (n, 2): what each segment adds to the integrals of x and y over a closed outline's inside.

    *Source*: Green's theorem for the chord, (p + q)(p × q)/6. The circular segment beyond a chord of
    length c has its centroid at 4 r sin³(a/2) / (3 (a - sin a)) from the circle's centre and the
    area r² (a - sin a)/2, so its moment about the centre is c³/12 along the bisector.
    """
    p, q = table.start, table.end
    doubled = p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0]
    moment = (p + q) * (doubled / 6.0)[:, None]
    arcs = np.flatnonzero(table.is_arc)
    if len(arcs):
        chord = q[arcs] - p[arcs]
        length = np.hypot(chord[:, 0], chord[:, 1])
        left = np.stack((-chord[:, 1], chord[:, 0]), axis=1) / length[:, None]
        bulge = table.bulge[arcs]
        # Distance from the chord's middle to the centre, to the left: c (1 - b²) / 4b.
        centre = (p[arcs] + q[arcs]) / 2 + left * (length * (1 - bulge**2) / (4 * bulge))[:, None]
        beyond = length**2 * segment_area(bulge)
        moment[arcs] += centre * beyond[:, None] - left * (length**3 / 12.0)[:, None]
    return moment


def trace_rings(planar: PlanarMap) -> Rings:
    """Follow `next_half` round every boundary; each ring starts at its lowest half-edge."""
    following: list[int] = planar.next_half.tolist()
    seen = bytearray(len(following))
    order: list[int] = []
    starts = [0]
    for h in range(len(following)):
        if seen[h]:
            continue
        while not seen[h]:
            seen[h] = 1
            order.append(h)
            h = following[h]  # noqa: PLW2901 - walking on from h is the point
        starts.append(len(order))
    half, start = np.array(order, np.int64), np.array(starts, np.int64)
    _, halves = half_edge_table(planar)
    table = halves.take(half)
    return Rings(
        half,
        start,
        planar.face_of[half[start[:-1]]],
        table,
        sum_rings(area_terms(table), start),
        sum_rings(lengths(table), start),
        sum_rings(first_moments(table), start),
    )


def sum_rings(values: Floats, start: Ints) -> Floats:
    """Return the sums of `values` (n,) or (n, k) over the rows start[i]:start[i+1] (none of them empty)."""
    if len(start) == 1:
        return frozen(np.zeros((0, *values.shape[1:])), *values.shape[1:])
    sums: NDArray[np.float64] = np.add.reduceat(values, start[:-1], axis=0)
    sums.flags.writeable = False
    return sums


def faces_of(rings: Rings) -> Faces:
    """Sort the rings by face: the outer ring is the one with the largest signed area."""
    count = int(rings.face.max(initial=OUTSIDE)) + 1
    order = np.lexsort((-rings.area, rings.face))
    order = order[rings.face[order] != OUTSIDE]
    face = rings.face[order]
    first = np.ones(len(order), bool)
    first[1:] = face[1:] != face[:-1]
    holes: list[tuple[int, ...]] = [()] * count
    for ring in order[~first].tolist():
        holes[int(rings.face[ring])] += (ring,)
    outer = order[first]
    starts = np.append(np.flatnonzero(first), len(order))
    area = sum_rings(rings.area[order], starts)
    centroid = sum_rings(rings.moment[order], starts) / area[:, None]
    return Faces(rings, outer, tuple(holes), area, frozen(rings.perimeter[outer]), frozen(centroid, 2))


def outside_outlines(planar: PlanarMap, rings: Rings) -> tuple[Chain, ...]:
    """Return the block's own boundary: what lies outside walks it the other way."""
    first, table = half_edge_table(planar)
    found = []
    for ring in np.flatnonzero(rings.face == OUTSIDE).tolist():
        half = rings.half[rings.rows(ring)][::-1] ^ 1
        found.append(Chain(planar.points[first[half]], table.bulge[half], closed=True))
    return tuple(found)


def at_origin(planar: PlanarMap) -> tuple[PlanarMap, tuple[float, float], tuple[float, float]]:
    """Shift a map so that the lower left corner of its exact box is the origin.

    Return the map, where that corner was, and (width, height).
    """
    corners = boxes(Segments(planar.points[planar.start], planar.points[planar.end], planar.bulge))
    low, high = corners[:, :2].min(axis=0), corners[:, 2:].max(axis=0)
    moved = replace(planar, points=frozen(planar.points - low, 2))
    return moved, (float(low[0]), float(low[1])), (float(high[0] - low[0]), float(high[1] - low[1]))
