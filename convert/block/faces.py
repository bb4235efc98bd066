"""From edges that meet only at vertices to faces: half-edges, boundaries, holes, points inside.

*Words.* Edge e is two **half-edges**: 2e from its start to its end, 2e + 1 back. A **boundary** is
what one walks round with a face on the left hand, half-edge after half-edge; it is **outer**
(counter-clockwise, positive area) or **inner** (clockwise: the rim of a hole, or what the
outside sees). A **component** is edges that hang together; each has one inner boundary, which
lies in a face of another component or in the outside.
*Invariants* are those of PlanarMap; `check_map` names every violation.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.block.model import OUTSIDE
from convert.block.snapping import components, run_starts
from convert.errors import GeometryError
from convert.geometry.chain import Segments
from convert.geometry.index import box_pairs, box_pairs_between
from convert.geometry.intersect import intersect
from convert.geometry.measure import area_terms, boxes, centre, point_at, radius
from convert.geometry.nearest import distance_pairs

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.block.model import PlanarMap
    from convert.geometry.chain import Floats

    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

ODD_ANGLE = 0.7390851332151607
"""Radians by which all is turned before rays are shot, so that none meets a vertex of a regular design."""

FLAT = 1e-6
"""Rays look at arcs of less bulge as lines: they leave their chord by half a millionth of its length at
most, while their centre is so far away that its rounding would show."""


@dataclass(frozen=True, slots=True, eq=False)
class Trace:
    """The boundaries of an arrangement.

    *Shapes*: `next_half`, `boundary` (2E,): the half-edge that follows, and the number of the
    boundary; `area` (B,) signed, mm². Boundaries are numbered by their smallest half-edge.
    """

    next_half: Ints
    boundary: Ints
    area: Floats


def half_edges(start: Ints, end: Ints) -> tuple[Ints, Ints]:
    """Return the vertex from which and the vertex to which each of the 2E half-edges runs."""
    origin = np.empty(2 * len(start), np.int64)
    origin[0::2], origin[1::2] = start, end
    target = np.empty_like(origin)
    target[0::2], target[1::2] = end, start
    return origin, target


def half_table(points: Floats, start: Ints, end: Ints, bulge: Floats) -> Segments:
    """Return the 2E half-edges as a table of segments."""
    origin, target = half_edges(start, end)
    both = np.empty(len(origin))
    both[0::2], both[1::2] = bulge, -bulge
    return Segments(points[origin], points[target], both)


def trace(points: Floats, start: Ints, end: Ints, bulge: Floats) -> Trace:
    """Walk round every face.

    *Source*: at the end of a half-edge the walk goes on with the next half-edge clockwise from the
    way back. Half-edges are ordered round their vertex by where they leave a small circle round it:
    for a curve of curvature k that leaves in direction a, that is at the angle a + asin(k r / 2)
    (angle between tangent and chord). So tangent curves, and curves that should be tangent but for
    rounding, come in their true order.
    """
    half = half_table(points, start, end, bulge)
    origin = half_edges(start, end)[0]
    chord = half.end - half.start
    angle = np.arctan2(chord[:, 1], chord[:, 0])
    if half.is_arc.any():
        angle = _leaving(half, origin, angle)
    order = np.lexsort((angle, origin))
    ordered = origin[order]
    first = run_starts(ordered) if len(order) else np.zeros(0, np.int64)
    clockwise = np.empty_like(order)
    clockwise[1:] = order[:-1]
    clockwise[first] = order[np.append(first[1:], len(order))[: len(first)] - 1]
    next_half = np.empty_like(order)
    next_half[order ^ 1] = clockwise
    number = _number_cycles(next_half)
    terms = boundary_terms(points, start, end, bulge)
    count = int(number.max(initial=-1)) + 1
    area = np.bincount(number[0::2], terms, count) - np.bincount(number[1::2], terms, count)
    return Trace(next_half, number, np.asarray(area, np.float64))


def boundary_terms(points: Floats, start: Ints, end: Ints, bulge: Floats) -> Floats:
    """Return what each edge adds to the area of a boundary that runs along it, (E,) mm².

    Taken about the middle of all points: far from the origin, products of coordinates lose digits.
    """
    middle = (points.min(axis=0) + points.max(axis=0)) / 2 if len(points) else np.zeros(2)
    return area_terms(Segments(points[start] - middle, points[end] - middle, bulge))


def leaving_radius(length: Floats, origin: Ints, count: int) -> Floats:
    """Return for each vertex the radius of the circle on which its half-edges are put in order."""
    shortest = np.full(count, np.inf)
    np.minimum.at(shortest, origin, length)
    return shortest * 0.5


def _leaving(half: Segments, origin: Ints, chord_angle: Floats) -> Floats:
    """Return the angle at which each half-edge leaves the circle round its start."""
    # For a line the chord is the direction; for an arc the tangent is 2 atan(bulge) before it.
    reach = leaving_radius(np.hypot(*(half.end - half.start).T), origin, int(origin.max()) + 1)[origin]
    bent = np.where(half.is_arc, np.sign(half.bulge) * reach / (2 * radius(half)), 0.0)
    angle = chord_angle - 2 * np.arctan(half.bulge) + np.arcsin(np.clip(bent, -1.0, 1.0))
    return np.asarray(np.remainder(angle, 2 * np.pi), np.float64)


def _number_cycles(following: Ints) -> Ints:
    """Return for each element of a permutation the number of its cycle, in order of smallest members."""
    label = np.minimum(np.arange(len(following)), following)
    jump = following[following]
    while True:
        further = np.minimum(label, label[jump])
        if np.array_equal(further, label):
            break
        label, jump = further, jump[jump]
    numbers = np.cumsum(label == np.arange(len(label))) - 1
    return np.asarray(numbers[label], np.int64)


@dataclass(frozen=True, slots=True, eq=False)
class RayTable:
    """Edges turned by an odd angle, ready for rays that run towards smaller x."""

    cos: float
    sin: float
    edges: Segments
    boxes: Floats

    @classmethod
    def of(cls, points: Floats, start: Ints, end: Ints, bulge: Floats) -> RayTable:
        """Prepare the edges of an arrangement."""
        c, s = float(np.cos(ODD_ANGLE)), float(np.sin(ODD_ANGLE))
        spun = _spin(points, c, s)
        table = Segments(spun[start], spun[end], bulge)
        return cls(c, s, table, boxes(table))

    def first_hits(self, places: Floats, barred: tuple[Ints, Ints] | None = None) -> Ints:
        """Return the half-edge that each place (m, 2) sees first, with the place on its left; -1 for none.

        `barred` gives a number per edge and per place: edges with the place's own number are not seen.
        """
        at = _spin(places, self.cos, self.sin)
        return self.hits_turned(at, barred)

    def hits_turned(self, at: Floats, barred: tuple[Ints, Ints] | None = None) -> Ints:
        """Return the same for places that are already turned."""
        result = np.full(len(at), -1, np.int64)
        if len(at) == 0 or len(self.boxes) == 0:
            return result
        left = float(self.boxes[:, 0].min()) - 1.0
        rays = np.column_stack((np.full(len(at), left), at[:, 1], at[:, 0], at[:, 1]))
        who, edge = box_pairs_between(rays, self.boxes)
        if barred is not None:
            keep = barred[0][edge] != barred[1][who]
            who, edge = who[keep], edge[keep]
        x, rising, row = crossings_at(self.edges.take(edge), at[who, 1])
        who, edge = who[row], edge[row]
        keep = x < at[who, 0]
        who, edge, x, rising = who[keep], edge[keep], x[keep], rising[keep]
        order = np.lexsort((x, who))
        who, edge, rising = who[order], edge[order], rising[order]
        last = np.append(who[1:] != who[:-1], np.ones(min(len(who), 1), bool))
        # A rising edge has smaller x on its left, so a place at larger x is on the left of its twin.
        result[who[last]] = 2 * edge[last] + rising[last]
        return result


def _spin(points: Floats, c: float, s: float) -> Floats:
    return np.column_stack((c * points[:, 0] - s * points[:, 1], s * points[:, 0] + c * points[:, 1]))


def crossings_at(edges: Segments, y: Floats) -> tuple[Floats, Bools, Ints]:
    """Return where segment i crosses the horizontal line at y[i]: x, whether it rises there, and the row i.

    An arc can cross twice. Lower ends count, upper ones don't, so that a path through a vertex counts once.
    """
    y0, y1 = edges.start[:, 1], edges.end[:, 1]
    rises = (y0 <= y) & (y < y1)
    falls = (y1 <= y) & (y < y0)
    bent = np.abs(edges.bulge) > FLAT
    row = np.flatnonzero(~bent & (rises | falls))
    t = (y[row] - y0[row]) / (y1[row] - y0[row])
    x = edges.start[row, 0] + t * (edges.end[row, 0] - edges.start[row, 0])
    found = [(x, rises[row], row)]
    arcs = np.flatnonzero(bent)
    if len(arcs):
        part = edges.take(arcs)
        middle, size = centre(part), radius(part)
        height = y[arcs] - middle[:, 1]
        inside = np.abs(height) < size
        half = np.sqrt(np.where(inside, size * size - height * height, 0.0))
        turn = np.sign(part.bulge)
        for side in (-1.0, 1.0):
            x = middle[:, 0] + side * half
            # Counter-clockwise arcs rise right of their centre. A point of the circle is on the arc when it
            # lies on the arc's side of the chord.
            rising = side * turn > 0
            chord = part.end - part.start
            across = chord[:, 0] * (y[arcs] - part.start[:, 1]) - chord[:, 1] * (x - part.start[:, 0])
            on = inside & (across * turn < 0)
            found.append((x[on], rising[on], arcs[on]))
    return (
        np.concatenate([f[0] for f in found]),
        np.concatenate([f[1] for f in found]),
        np.concatenate([f[2] for f in found]),
    )


def enclosing(traced: Trace, points: Floats, start: Ints, end: Ints, bulge: Floats) -> Ints:
    """Return for each boundary the outer boundary of the face it belongs to, OUTSIDE for the outside.

    An outer boundary belongs to itself. An inner one belongs to the face in which its component lies.
    """
    inner = np.flatnonzero(traced.area <= 0)
    owner = np.arange(len(traced.area), dtype=np.int64)
    owner[inner] = OUTSIDE
    if len(inner) <= 1:
        return owner
    rays = RayTable.of(points, start, end, bulge)
    # The leftmost point of a component can be the middle of an arc.
    low = rays.boxes[:, 0]
    y = np.where(rays.edges.start[:, 0] <= rays.edges.end[:, 0], rays.edges.start[:, 1], rays.edges.end[:, 1])
    ends = np.minimum(rays.edges.start[:, 0], rays.edges.end[:, 0])
    arcs = np.flatnonzero(rays.edges.is_arc)
    belly = arcs[low[arcs] < ends[arcs]]
    y[belly] = centre(rays.edges.take(belly))[:, 1]
    is_inner = traced.area <= 0
    half = np.flatnonzero(is_inner[traced.boundary])
    group = traced.boundary[half]
    order = np.lexsort((low[half // 2], group))
    leftmost = half[order][run_starts(group[order])] // 2
    # Its own edges are not seen, not even those inside that reach a hair further left.
    part = components(len(points), start, end)[start]
    hit = rays.hits_turned(np.column_stack((low[leftmost], y[leftmost])), (part, part[leftmost]))
    seen = hit >= 0
    owner[inner[seen]] = traced.boundary[hit[seen]]
    while True:
        # What is seen may be the rim of another component, which lies in some face itself.
        chained = np.flatnonzero(is_inner & (owner != OUTSIDE) & is_inner[owner])
        if len(chained) == 0:
            return owner
        owner[chained] = owner[owner[chained]]


def inner_points(table: PlanarMap) -> Floats:
    """Return (F, 2): a point inside each face.

    *Source*: cut the face by a horizontal line in the middle of its largest height without vertices, and
    take the middle of the longest piece of that line that lies inside.
    *Errors*: GeometryError when a face has no inside.
    """
    count = table.face_count
    if count == 0:
        return np.zeros((0, 2))
    half = np.flatnonzero(table.face_of != OUTSIDE)
    face, edge = table.face_of[half], half // 2
    edges = Segments(table.points[table.start], table.points[table.end], table.bulge)
    level, of_face = edges.start[edge, 1], face
    other = edges.end[edge, 1]
    limits = [(level, of_face), (other, face)]
    if edges.is_arc.any():
        box = boxes(edges)
        limits += [(box[edge, 1], face), (box[edge, 3], face)]
    levels = np.concatenate([v for v, _ in limits])
    faces = np.concatenate([f for _, f in limits])
    order = np.lexsort((levels, faces))
    levels, faces = levels[order], faces[order]
    rise = np.where(faces[1:] == faces[:-1], levels[1:] - levels[:-1], -1.0)
    middle = (levels[1:] + levels[:-1]) / 2
    widest = _best(rise, faces[:-1], count)
    y = middle[widest]
    x, _, row = crossings_at(edges.take(edge), y[face])
    face = face[row]
    order = np.lexsort((x, face))
    x, face = x[order], face[order]
    rank = np.arange(len(x)) - np.searchsorted(face, face)
    crossings = np.bincount(face, minlength=count)
    if (crossings == 0).any() or (crossings % 2).any():
        bad = int(np.flatnonzero((crossings == 0) | (crossings % 2 == 1))[0])
        raise GeometryError.because("BLOCK-019", f"face {bad} of the arrangement has no inside")
    opening = np.flatnonzero(rank % 2 == 0)
    best = opening[_best(x[opening + 1] - x[opening], face[opening], count)]
    return np.column_stack(((x[best] + x[best + 1]) / 2, y))


def _best(value: Floats, group: Ints, count: int) -> Ints:
    """Return for each group 0 … count - 1 the place of its largest value."""
    order = np.lexsort((value, group))
    return np.asarray(order[np.searchsorted(group[order], np.arange(count), side="right") - 1], np.int64)


def check_map(table: PlanarMap, *, touching: float | None = None) -> list[str]:
    """Return a sentence for every broken invariant of a planar map; none when it is whole.

    Costs one pass over the half-edges. With `touching` (mm) also looks for edges that meet away from vertices
    by more than this, which costs a search for pairs.
    """
    wrong = []
    edges, vertices = table.edge_count, len(table.points)
    origin, target = half_edges(table.start, table.end)
    if (table.start == table.end).any():
        wrong.append("an edge starts and ends in the same vertex")
    if len(np.unique(table.next_half)) != 2 * edges:
        return [*wrong, "two half-edges are followed by the same one"]
    if (origin[table.next_half] != target).any():
        wrong.append("a half-edge is followed by one that starts elsewhere")
    if (table.face_of[table.next_half] != table.face_of).any():
        wrong.append("the face changes along a boundary")
    if (table.face_of[0::2] == table.face_of[1::2]).any():
        wrong.append("an edge has the same face on both sides")
    if len(np.unique(origin)) != vertices:
        wrong.append("a vertex has no edge")
    number = _number_cycles(table.next_half)
    boundaries = int(number.max(initial=-1)) + 1
    whole = len(np.unique(components(vertices, table.start, table.end)))
    if vertices - edges + boundaries != 2 * whole:
        wrong.append(
            f"Euler's formula fails: V {vertices}, E {edges}, boundaries {boundaries}, parts {whole}"
        )
    terms = boundary_terms(table.points, table.start, table.end, table.bulge)
    area = np.bincount(number[0::2], terms, boundaries) - np.bincount(number[1::2], terms, boundaries)
    face_of_boundary = np.full(boundaries, OUTSIDE)
    face_of_boundary[number] = table.face_of
    outer = np.bincount(
        face_of_boundary[(area > 0) & (face_of_boundary != OUTSIDE)], minlength=table.face_count
    )
    if (outer != 1).any():
        wrong.append(
            f"face {int(np.flatnonzero(outer != 1)[0])} has {int(outer[outer != 1][0])} outer boundaries"
        )
    if len(table.source_start) != edges + 1 or (np.diff(table.source_start) <= 0).any():
        wrong.append("an edge has no source")
    if touching is not None:
        wrong += _meetings(table, touching)
    return wrong


def _meetings(table: PlanarMap, touching: float) -> list[str]:
    """Return a sentence for pairs of edges that meet at a place that is no common vertex.

    Edges that leave a common vertex within `touching` of each other, as tangent curves do, may cross there.
    """
    edges = Segments(table.points[table.start], table.points[table.end], table.bulge)
    one, other = box_pairs(boxes(edges))
    meet = intersect(edges.take(one), edges.take(other), touching / 10)
    wrong = []
    for side in (0, 1):
        rows = np.flatnonzero(meet.count > side)
        i, j = one[rows], other[rows]
        at, t = meet.points[rows, side], meet.t_a[rows, side]
        free = np.ones(len(rows), bool)
        for mine, from_end in ((table.start[i], 0.0), (table.end[i], 1.0)):
            common = (mine == table.start[j]) | (mine == table.end[j])
            away = np.hypot(*(at - table.points[mine]).T)
            between = point_at(edges.take(i), (t + from_end) / 2)
            apart, _ = distance_pairs(edges.take(j), between)
            free &= ~(common & ((away <= touching) | (apart <= touching)))
        for k in rows[free].tolist():
            x, y = meet.points[k, side].tolist()
            wrong.append(f"edges {one[k]} and {other[k]} meet at {x:.6f}, {y:.6f}, which is no common vertex")
    return wrong
