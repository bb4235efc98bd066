"""Where edges have to be cut: at nodes that lie on them, where they cross, and where they touch.

*Words.* A **cut** is an edge, the fraction of it (of a line's length, of an arc's sweep) and the node
there. A **touch** is the point where an arc and another edge run parallel within the gap of each
other: a circle drawn into a square is meant to touch it, whatever the last decimals say.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING

import numpy as np

from convert.block.faces import leaving_radius
from convert.block.snapping import near_groups
from convert.errors import GeometryError
from convert.geometry.intersect import intersect
from convert.geometry.measure import centre, point_at, radius
from convert.geometry.nearest import distance_pairs

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.geometry.chain import Floats, Segments
    from convert.geometry.tolerance import Tolerances

    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

BATCH = 1 << 18
"""Pairs of edges looked at in one go: this bounds the memory, some 100 MB."""

MOST_CROSSINGS = 1_000_000
"""Places where lines cross, at most; 100,000 pieces made of long lines have 100,000 (squares) to 150,000."""


@dataclass(frozen=True, slots=True, eq=False)
class Cuts:
    """Cuts in order of edge and place: edge, fraction and node, (c,) each; `added` (k, 2) are new nodes.

    Nodes from V on are the added ones.
    """

    edge: Ints
    at: Floats
    node: Ints
    added: Floats

    @classmethod
    def of(cls, edge: Ints, at: Floats, node: Ints, added: Floats, nodes: int) -> Cuts:
        """Sort cuts and keep one for each edge and node; `nodes` counts all of them, with the added."""
        _, one = np.unique(edge * nodes + node, return_index=True)
        edge, at, node = edge[one], at[one], node[one]
        order = np.lexsort((node, at, edge))
        return cls(edge[order], at[order], node[order], added)


def one_point_each(points: Floats, same_point: float, gap: float) -> tuple[Ints, Floats, Floats]:
    """Group points, first those that are one but for rounding, then those nearer than the gap.

    Returns (n,) group numbers, (g, 2) the groups' points and (g,) how far the furthest member lies
    from its group's point. A group's point is the mean of its *different* members, so it does not
    depend on how often or in which order they were drawn.
    """
    exact = near_groups(points, same_point)
    member = np.zeros(int(exact.max(initial=-1)) + 1, np.int64)
    member[exact[::-1]] = np.arange(len(points) - 1, -1, -1)
    spots = points[member]
    group = near_groups(spots, gap)
    count = np.bincount(group)
    if len(count) == len(spots):
        result = np.empty_like(spots)
        result[group] = spots
        return group[exact], result, np.zeros(len(spots))
    result = np.column_stack([np.bincount(group, spots[:, k]) / count for k in (0, 1)])
    alone = count[group] == 1
    result[group[alone]] = spots[alone]
    off = np.hypot(*(spots - result[group]).T)
    furthest = np.zeros(len(count))
    np.maximum.at(furthest, group, off)
    return group[exact], result, furthest


def project(points: Floats, on: Segments) -> tuple[Floats, Floats, Floats]:
    """Return distance (n,), fraction (n,) and foot (n, 2) of point i on segment i (nearest point)."""
    distance, at = distance_pairs(on, points)
    return distance, at, point_at(on, at)


def cut_by_nodes(
    edges: Segments,
    boxes: Floats,
    points: Floats,
    start: Ints,
    end: Ints,
    pairs: tuple[Ints, Ints],
    gap: float,
) -> tuple[Cuts, Floats]:
    """Find nodes within the gap of the inside of an edge, among the ends of each pair of edges.

    `boxes` are the edges' boxes, wider by at least half the gap on every side. Returns the cuts and
    (V, 2) where each node would lie on all the edges it cuts (least squares; nodes that cut nothing stay).
    """
    one, other = pairs
    none = np.zeros((0, 2))
    found = [(np.zeros(0, np.int64), np.zeros(0, np.int64))]
    for first in range(0, len(one), BATCH):
        rows = slice(first, first + BATCH)
        found.append(_nodes_in_boxes(boxes, points, start, end, (one[rows], other[rows]), gap / 2))
    node, edge = (np.concatenate(column) for column in zip(*found, strict=True))
    distance, at, foot = project(points[node], edges.take(edge))
    # A foot beside the edge's own end is no T: the two nodes would cut each other's edges for ever.
    beside = np.minimum(np.hypot(*(foot - points[start[edge]]).T), np.hypot(*(foot - points[end[edge]]).T))
    hit = (distance <= gap) & (at > 0.0) & (at < 1.0) & (beside > gap / 2)
    node, edge, at, foot = node[hit], edge[hit], at[hit], foot[hit]
    if len(node) == 0:
        return Cuts(edge, at, node, none), points
    _, once = np.unique(edge * len(points) + node, return_index=True)
    return (
        Cuts.of(edge, at, node, none, len(points)),
        _onto(points, node[once], foot[once], edges.take(edge[once]), gap),
    )


def _nodes_in_boxes(
    boxes: Floats, points: Floats, start: Ints, end: Ints, pairs: tuple[Ints, Ints], half: float
) -> tuple[Ints, Ints]:
    """Return the ends of either edge of some pairs that lie in the other's box, and that other edge."""
    one, other = pairs
    node = np.concatenate((start[one], end[one], start[other], end[other]))
    edge = np.concatenate((other, other, one, one))
    apart = np.flatnonzero((node != start[edge]) & (node != end[edge]))
    node, edge = node[apart], edge[apart]
    for axis in (0, 1):
        # One column after the other: most nodes are out of the way after the first.
        p = points[:, axis][node]
        low, high = boxes[:, axis][edge] - half, boxes[:, axis + 2][edge] + half
        near = np.flatnonzero((p >= low) & (p <= high))
        node, edge = node[near], edge[near]
    return node, edge


def _onto(points: Floats, node: Ints, foot: Floats, edges: Segments, gap: float) -> Floats:
    """Return the points with each node moved onto the edges through its feet, if that is near."""
    chord = edges.end - edges.start
    normal = np.column_stack((-chord[:, 1], chord[:, 0]))
    rows = np.flatnonzero(edges.is_arc)
    out = foot[rows] - centre(edges.take(rows))
    # The middle of an arc that is all but flat may lie beyond all numbers; its chord is as good.
    told = np.isfinite(out).all(axis=1)
    normal[rows[told]] = out[told]
    size = np.hypot(normal[:, 0], normal[:, 1])
    normal = normal / np.where(size > 0.0, size, 1.0)[:, None]
    step = np.einsum("ij,ij->i", normal, foot - points[node])

    def total(weights: Floats) -> Floats:
        return np.asarray(np.bincount(node, weights, len(points)), np.float64)

    # Normal equations of the least squares problem: sum of n nᵀ d = sum of n (n · step). Where all the
    # edges are parallel the matrix is singular; the shortest solution is the mean step along the normal.
    xx, xy, yy = total(normal[:, 0] ** 2), total(normal[:, 0] * normal[:, 1]), total(normal[:, 1] ** 2)
    bx, by = total(normal[:, 0] * step), total(normal[:, 1] * step)
    count = np.maximum(np.bincount(node, minlength=len(points)), 1)
    determinant = xx * yy - xy * xy
    crossing = determinant > 1e-3 * count * count
    safe = np.where(crossing, determinant, 1.0)
    dx = np.where(crossing, (yy * bx - xy * by) / safe, bx / count)
    dy = np.where(crossing, (xx * by - xy * bx) / safe, by / count)
    far = np.hypot(dx, dy) > 2 * gap
    dx[far], dy[far] = 0.0, 0.0
    return np.asarray(points + np.column_stack((dx, dy)), np.float64)


def cut_by_crossings(
    edges: Segments, points: Floats, start: Ints, end: Ints, pairs: tuple[Ints, Ints], tolerances: Tolerances
) -> tuple[Cuts, Ints]:
    """Find where pairs of edges cross or touch away from their common nodes.

    To be asked when no node lies on the inside of an edge any more. Returns the cuts, and the rows of
    those pairs whose crossing so near to a common node was left alone that it must be looked at again
    when their neighbours change.
    *Errors*: GeometryError (BLOCK-016) when there are more than MOST_CROSSINGS.
    """
    one, other = pairs
    empty = np.zeros(0, np.int64)
    nothing = _Meetings(empty, empty, np.zeros((0, 2)), np.zeros(0), np.zeros(0), empty)
    reach = np.zeros(0)
    if edges.is_arc.any():
        length = np.hypot(*(edges.end - edges.start).T)
        ends = np.concatenate((start, end))
        reach = leaving_radius(np.concatenate((length, length)), ends, len(points))
    parts, total = [nothing], 0
    for first in range(0, len(one), BATCH):
        rows = slice(first, first + BATCH)
        found = _meetings(edges, points, start, end, (one[rows], other[rows]), reach, tolerances)
        parts.append(replace(found, alone=found.alone + first))
        total += len(found.i)
        if total > MOST_CROSSINGS:
            what = f"lines cross each other in more than {MOST_CROSSINGS:,} places"
            raise GeometryError.because("BLOCK-016", what, "Remove lines that are no seams")
    i, j, where, t_i, t_j, alone = (
        np.concatenate([getattr(part, column.name) for part in parts]) for column in fields(nothing)
    )
    if len(i) == 0:
        return Cuts(empty, np.zeros(0), empty, np.zeros((0, 2))), alone
    group, added, _ = one_point_each(where, tolerances.same_point, tolerances.gap)
    edge, group = np.concatenate((i, j)), np.concatenate((group, group))
    # An edge is cut where it is nearest to the node, which can be the mean of several meetings.
    _, nearest = distance_pairs(edges.take(edge), added[group])
    at = np.where((nearest > 0) & (nearest < 1), nearest, np.concatenate((t_i, t_j)))
    return Cuts.of(edge, at, group + len(points), added, len(points) + len(added)), alone


@dataclass(frozen=True, slots=True, eq=False)
class _Meetings:
    """Where edges i and j meet: (n,) each, points (n, 2), fractions (n,); rows of pairs left alone (k,)."""

    i: Ints
    j: Ints
    where: Floats
    t_i: Floats
    t_j: Floats
    alone: Ints


def _meetings(
    edges: Segments,
    points: Floats,
    start: Ints,
    end: Ints,
    pairs: tuple[Ints, Ints],
    reach: Floats,
    tolerances: Tolerances,
) -> _Meetings:
    """Return where pairs of edges touch, then where they cross; `reach` is a node's `leaving_radius`."""
    one, other = pairs
    at_start = (start[one] == start[other]) | (start[one] == end[other])
    at_end = (end[one] == start[other]) | (end[one] == end[other])
    curved = edges.is_arc
    bent = curved[one] | curved[other]
    apart = ~at_start & ~at_end
    row = np.flatnonzero((apart & (bent | _straddle(edges, one, other))) | (bent & (at_start != at_end)))
    i, j, apart, bent = one[row], other[row], apart[row], bent[row]

    touch = np.flatnonzero(apart & bent)
    touching, place, on_i, on_j = _touches(edges.take(i[touch]), edges.take(j[touch]), tolerances.gap)
    touch = touch[touching]
    place, on_i, on_j = place[touching], on_i[touching], on_j[touching]

    rest = np.ones(len(row), bool)
    rest[touch] = False
    rest = np.flatnonzero(rest)
    meet = intersect(edges.take(i[rest]), edges.take(j[rest]), tolerances.same_point)
    which = np.arange(2) < meet.count[:, None]
    inside = which & (meet.t_a > 0) & (meet.t_a < 1) & (meet.t_b > 0) & (meet.t_b < 1)
    k, side = np.nonzero(inside)
    where, t_i, t_j, k = meet.points[k, side], meet.t_a[k, side], meet.t_b[k, side], rest[k]
    alone = np.zeros(0, np.int64)
    shared = np.flatnonzero(~apart[k])
    if len(shared):
        rows = k[shared]
        node = np.where(at_start[row[rows]], start[i[rows]], end[i[rows]])
        back = np.hypot(*(where[shared] - points[node]).T)
        depth = np.abs(
            _sagitta(edges, i[rows], start[i[rows]] == node, t_i[shared], back)
            - _sagitta(edges, j[rows], start[j[rows]] == node, t_j[shared], back)
        )
        near = back <= tolerances.gap
        thin = ~near & (depth <= tolerances.gap) & (back <= reach[node])
        alone = row[rows[thin]]
        stay = np.ones(len(k), bool)
        stay[shared[near | thin]] = False
        where, t_i, t_j, k = where[stay], t_i[stay], t_j[stay], k[stay]
    k = np.concatenate((touch, k))
    return _Meetings(
        i[k],
        j[k],
        np.concatenate((place, where)),
        np.concatenate((on_i, t_i)),
        np.concatenate((on_j, t_j)),
        alone,
    )


def _sagitta(edges: Segments, edge: Ints, forward: Bools, at: Floats, chord: Floats) -> Floats:
    """Return how far each edge bulges to the right between its common node and the fraction `at` of it."""
    part = np.where(forward, at, 1.0 - at)
    turn = np.where(forward, 1.0, -1.0) * np.arctan(edges.bulge[edge])
    return np.asarray(chord / 2 * np.tan(turn * part), np.float64)


def _straddle(edges: Segments, one: Ints, other: Ints) -> Bools:
    """Return whether two straight edges properly cross: the ends of each lie on both sides of the other."""
    a, b, c, d = edges.start[one], edges.end[one], edges.start[other], edges.end[other]

    def side(p: Floats, q: Floats, r: Floats) -> Floats:
        return np.asarray(
            (q[:, 0] - p[:, 0]) * (r[:, 1] - p[:, 1]) - (q[:, 1] - p[:, 1]) * (r[:, 0] - p[:, 0])
        )

    return np.asarray((side(a, b, c) * side(a, b, d) < 0) & (side(c, d, a) * side(c, d, b) < 0))


def _touches(a: Segments, b: Segments, gap: float) -> tuple[Bools, Floats, Floats, Floats]:
    """Return, row by row, whether the two touch within the gap, the point (n, 2) and both fractions (n,).

    At least one of each pair is an arc. *Source*: two circles, or a circle and a line, run parallel
    where the line of centres, or the perpendicular from the centre, meets them.
    """
    on_a, on_b, known = _parallel_points(a, b)
    _, t_a, foot_a = project(on_a, a)
    _, t_b, foot_b = project(on_b, b)
    close = np.hypot(*(on_a - on_b).T) <= gap
    true_a, true_b = np.hypot(*(foot_a - on_a).T) <= gap, np.hypot(*(foot_b - on_b).T) <= gap
    inside = (t_a > 0) & (t_a < 1) & (t_b > 0) & (t_b < 1)
    return known & close & true_a & true_b & inside, (on_a + on_b) / 2, t_a, t_b


def _parallel_points(a: Segments, b: Segments) -> tuple[Floats, Floats, Bools]:
    """Return the points of each pair's carriers where these run parallel, and whether there are such."""
    on_a, on_b, known = a.start.copy(), b.start.copy(), np.zeros(len(a), bool)
    both = np.flatnonzero(a.is_arc & b.is_arc)
    ca, cb = centre(a.take(both)), centre(b.take(both))
    ra, rb = radius(a.take(both)), radius(b.take(both))
    between = cb - ca
    distance = np.hypot(between[:, 0], between[:, 1])
    apart = distance > 0
    unit = between / np.where(apart, distance, 1.0)[:, None]
    outside = np.abs(distance - (ra + rb)) < np.abs(distance - np.abs(ra - rb))
    side_a = np.where(outside | (ra >= rb), 1.0, -1.0)
    side_b = np.where(outside | (ra < rb), -1.0, 1.0)
    on_a[both] = ca + unit * (side_a * ra)[:, None]
    on_b[both] = cb + unit * (side_b * rb)[:, None]
    known[both] = apart
    for line, arc, on_line, on_arc in ((a, b, on_a, on_b), (b, a, on_b, on_a)):
        rows = np.flatnonzero(~line.is_arc & arc.is_arc)
        if len(rows) == 0:
            continue
        round_part = arc.take(rows)
        middle = centre(round_part)
        _, _, foot = project(middle, line.take(rows))
        ray = foot - middle
        length, size = np.hypot(ray[:, 0], ray[:, 1]), radius(round_part)
        # A line near the centre touches nothing.
        far = length > size / 2
        on_line[rows] = foot
        on_arc[rows] = middle + ray * (size / np.where(far, length, size))[:, None]
        known[rows] = far
    return on_a, on_b, known
