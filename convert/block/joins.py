"""How pieces meet: corners, T-junctions, and the order in which long seams can be sewn.

*Words.* The **corner** of a half-edge is the one at its first vertex, inside the face on its left. A
**T-junction** is a vertex where one piece, the **bar**, goes straight (or smoothly) on while a seam
between others, the **stem**, ends. The stem has to be sewn before the seam along the bar. Where these
rules run in a circle, one of the seams has to be sewn part-way first and finished last: a partial seam.
A **stretch** is what is sewn or folded in one go: edges that go smoothly on through vertices where
nothing else ends.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

import numpy as np

from convert.block.model import OUTSIDE
from convert.block.pieces import half_edge_table
from convert.geometry.measure import lengths, start_tangent

if TYPE_CHECKING:
    from convert.block.model import Ints, PlanarMap
    from convert.geometry.chain import Floats, Segments

NARROW = 1e-3
"""Corners within this of 0 or of a full turn (radians) are told apart by which way their sides curve."""


@dataclass(frozen=True, slots=True, eq=False)
class Corners:
    """The corner of every half-edge: all (2E,).

    `angle` in radians from 0 (a cusp) to 2π, `vertex` where it is, `before` the half-edge that leads
    to it. `degree` (V,) is the number of edges at each vertex.
    """

    angle: Floats
    vertex: Ints
    before: Ints
    degree: Ints


def corners_of(planar: PlanarMap) -> Corners:
    """Measure the corner of every half-edge, between the tangents."""
    vertex, table = half_edge_table(planar)
    before = np.empty(len(vertex), np.int64)
    before[planar.next_half] = np.arange(len(vertex))
    back = before ^ 1
    angle = wedges(table, table.take(back))
    return Corners(angle, vertex, before, np.bincount(vertex, minlength=len(planar.points)))


def wedges(out: Segments, back: Segments) -> Floats:
    """Return the angles (n,) counter-clockwise from segments `out` to segments `back` with the same start.

    *Units*: radians, 0 to 2π. Where both leave in one direction, the wedge is 0 if `back` curves
    away to the left of `out`, else a full turn.
    *Source*: a curve leaves its tangent by curvature × length² / 2; an arc of bulge b and chord c has
    the curvature 4 b / (c (1 + b²)).
    """
    first, second = start_tangent(out), start_tangent(back)
    cross = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    angle = np.arctan2(cross, (first * second).sum(axis=1))
    rows = np.flatnonzero(np.abs(angle) < NARROW)
    if len(rows):
        a, b = out.take(rows), back.take(rows)
        along = np.minimum(_chord(a), _chord(b)) / 4
        left = angle[rows] * along + (_curvature(b) - _curvature(a)) * along**2 / 2
        # An angle below rounding is none; then only the curvature speaks, and two equal sides are a cusp.
        angle[rows] = np.where(left >= -1e-12 * along, np.abs(angle[rows]), -np.abs(angle[rows]))
    return np.asarray(np.where(angle < 0, angle + 2 * pi, angle))


def _chord(s: Segments) -> Floats:
    return np.asarray(np.hypot(*(s.end - s.start).T))


def _curvature(s: Segments) -> Floats:
    return np.asarray(4 * s.bulge / (_chord(s) * (1 + s.bulge**2)))


@dataclass(frozen=True, slots=True)
class Junction:
    """A T: at `vertex` the face `bar` goes straight on along two edges; the seams `stems` end on it."""

    vertex: int
    bar: int
    along: tuple[int, int]
    stems: tuple[int, ...]


def junctions_of(planar: PlanarMap, corners: Corners, straight: float) -> tuple[Junction, ...]:
    """Return the T-junctions, by vertex; corners within `straight` of π (radians) go straight on."""
    face = planar.face_of
    is_bar = (np.abs(corners.angle - pi) <= straight) & (face != OUTSIDE)
    is_bar &= corners.degree[corners.vertex] > 2
    found = []
    for h in np.flatnonzero(is_bar).tolist():
        stems = []
        # Turn clockwise from the bar's leaving half-edge over all others at the vertex, to its other side.
        other = int(corners.before[h]) ^ 1
        g = int(planar.next_half[h ^ 1])
        while g != other:
            if face[g] != OUTSIDE and face[g ^ 1] != OUTSIDE:
                stems.append(g // 2)
            g = int(planar.next_half[g ^ 1])
        if stems:
            found.append(Junction(int(corners.vertex[h]), int(face[h]), (other // 2, h // 2), tuple(stems)))
    return tuple(sorted(found, key=lambda j: (j.vertex, j.bar)))


@dataclass(frozen=True, slots=True)
class Loop:
    """Seams that wait for each other: the junctions of the circle, and how many partial seams undo it."""

    junctions: tuple[Junction, ...]
    partial_seams: int


def loops_of(junctions: tuple[Junction, ...]) -> tuple[Loop, ...]:
    """Find the circles in the order of sewing.

    Edges along one bar are sewn in one go, so they are one node of the order; each T points from its
    stems to its bar. How few seams undo a circle is exact for a single circle, and found by taking the
    busiest node first where circles hang together (the least feedback set is a hard problem).
    """
    leader: dict[int, int] = {}

    def find(edge: int) -> int:
        leader.setdefault(edge, edge)
        while leader[edge] != edge:
            leader[edge] = leader[leader[edge]]
            edge = leader[edge]
        return edge

    for j in junctions:
        a, b = sorted((find(j.along[0]), find(j.along[1])))
        leader[b] = a
    arrows: dict[int, set[int]] = {}
    for j in junctions:
        for stem in j.stems:
            arrows.setdefault(find(stem), set()).add(find(j.along[0]))
    found = []
    for ring in _circles(arrows):
        inside = set(ring)
        part = tuple(
            j for j in junctions if find(j.along[0]) in inside and any(find(s) in inside for s in j.stems)
        )
        found.append(Loop(part, _breaks({n: arrows.get(n, set()) & inside for n in ring})))
    return tuple(sorted(found, key=lambda loop: loop.junctions[0].vertex))


def _circles(arrows: dict[int, set[int]]) -> list[list[int]]:
    """Return the sets of nodes that can all reach each other (Tarjan 1972), without lone acyclic ones."""
    number: dict[int, int] = {}
    low: dict[int, int] = {}
    stack: list[int] = []
    on_stack: set[int] = set()
    found = []
    for root in sorted(arrows):
        if root in number:
            continue
        work = [(root, iter(sorted(arrows.get(root, ()))))]
        number[root] = low[root] = len(number)
        stack.append(root)
        on_stack.add(root)
        while work:
            node, targets = work[-1]
            for target in targets:
                if target not in number:
                    number[target] = low[target] = len(number)
                    stack.append(target)
                    on_stack.add(target)
                    work.append((target, iter(sorted(arrows.get(target, ())))))
                    break
                if target in on_stack:
                    low[node] = min(low[node], number[target])
            else:
                work.pop()
                if work:
                    low[work[-1][0]] = min(low[work[-1][0]], low[node])
                if low[node] == number[node]:
                    ring = []
                    while True:
                        member = stack.pop()
                        on_stack.discard(member)
                        ring.append(member)
                        if member == node:
                            break
                    if len(ring) > 1 or node in arrows.get(node, ()):
                        found.append(sorted(ring))
    return found


def _breaks(arrows: dict[int, set[int]]) -> int:
    """Return how many nodes to take away, the busiest first, until no circle is left."""
    taken = 0
    while circles := _circles(arrows):
        inside = {n for ring in circles for n in ring}
        arrows = {n: arrows[n] & inside for n in inside}
        into = {n: sum(n in targets for targets in arrows.values()) for n in inside}
        busiest = max(sorted(inside), key=lambda n: min(into[n], len(arrows[n])))
        arrows = {n: targets - {busiest} for n, targets in arrows.items() if n != busiest}
        taken += 1
    return taken


def stretches_of(planar: PlanarMap, corners: Corners, straight: float) -> tuple[Ints, Floats]:
    """Return the stretch number of each edge (E,) and the length of each stretch, in mm."""
    smooth = (corners.degree[corners.vertex] == 2) & (np.abs(corners.angle - pi) <= straight)
    leader = np.arange(planar.edge_count)
    pairs = np.stack((np.arange(len(smooth))[smooth] // 2, corners.before[smooth] // 2), axis=1)
    # Few vertices are of this kind (fitted curves), so plain label passing is enough: the lowest label
    # spreads along a chain, and halves its way there.
    while len(pairs):
        low = leader[pairs].min(axis=1)
        spread = leader.copy()
        np.minimum.at(spread, pairs[:, 0], low)
        np.minimum.at(spread, pairs[:, 1], low)
        spread = np.minimum(spread, spread[spread])
        if np.array_equal(spread, leader):
            break
        leader = spread
    number = np.unique(leader, return_inverse=True)[1].reshape(-1)
    _, table = half_edge_table(planar)
    total = np.bincount(number, weights=lengths(table.take(slice(0, None, 2))))
    return number, np.asarray(total, np.float64)
