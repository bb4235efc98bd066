"""From a raw parallel to its outlines: cut where it meets itself, keep what is far enough, join up.

A stretch of the raw parallel between two places where it meets itself is either wholly on the
outline of what lies within the distance, or wholly inside; its middle tells. What is kept is joined
at common ends; where several stretches leave one point, the one most to the left is taken, so
that outlines which touch come out apart and none crosses itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.errors import GeometryError
from convert.geometry.chain import Segments
from convert.geometry.contain import windings
from convert.geometry.edit import part, split_spans
from convert.geometry.index import box_pairs, box_pairs_between
from convert.geometry.intersect import intersect
from convert.geometry.measure import area_terms, boxes, lengths, midpoint, point_at
from convert.geometry.nearest import distance_pairs
from convert.geometry.plane import cross, to_complex, to_points

if TYPE_CHECKING:
    from convert.geometry.chain import Floats
    from convert.geometry.plane import Flags, Ints
    from convert.geometry.rawoffset import Pieces, Sources, Tips

SLACK = 10.0
"""A stretch may be nearer than the distance by this many welding lengths before it counts as inside."""
RELAXED = (1.0, 0.2, 5.0, 25.0)
"""Where shallow crossings leave it open which side a sliver is on, other slacks are tried as well."""
ALL_PAIRS = 4_000_000
"""Up to so many pairs are compared without an index."""
STRAY = 1e4
"""Slivers that lead nowhere may add up to this many welding lengths."""


@dataclass(frozen=True, slots=True, eq=False)
class Ring:
    """A closed outline: points (k, 2), bulges (k,), and the source row of each segment, -1 for fills (k,)."""

    points: Floats
    bulge: Floats
    source: Ints


def contacts(
    table: Segments, region: Ints, following: Ints, apart: Flags, weld: float
) -> tuple[Ints, Floats]:
    """Return where segments of one region meet other than head to tail: row (k,) and a place (k, 2).

    `region` is in rising order; `following` is the row that each row leads to, and `apart` says
    where it is known to meet that one nowhere else.
    """
    i, j = _pairs_inside(_frames(table, weld), region)
    forth, back = following[i] == j, following[j] == i
    known = (forth & apart[i] & ~back) | (back & apart[j] & ~forth)
    i, j = i[~known], j[~known]
    meet = intersect(table.take(i), table.take(j), weld)
    forth, back = (following[i] == j)[:, None], (following[j] == i)[:, None]
    expected = (forth & (meet.t_a == 1) & (meet.t_b == 0)) | (back & (meet.t_a == 0) & (meet.t_b == 1))
    found = ~np.isnan(meet.t_a) & ~expected
    some = found.any(axis=1)
    return i[some], meet.points[some, np.argmax(found[some], axis=1)]


def _frames(table: Segments, weld: float) -> Floats:
    """Return boxes that meet wherever segments are no farther apart than a weld."""
    out: Floats = boxes(table) + np.array([-weld, -weld, weld, weld])
    return out


def _pairs_inside(frame: Floats, region: Ints) -> tuple[Ints, Ints]:
    """Return pairs i < j of one region whose boxes meet; `region` is in rising order.

    Regions of one size are compared all with all in one go, large ones through the index.
    """
    if not len(region):
        return np.zeros(0, dtype=np.intp), np.zeros(0, dtype=np.intp)
    size = np.bincount(region)
    first = np.cumsum(size) - size
    found_i, found_j = [], []
    for n in np.unique(size[size > 1]):
        which = np.flatnonzero(size == n)
        if n > 64:
            for r in which:
                i, j = box_pairs(frame[first[r] : first[r] + n])
                found_i.append(i + first[r])
                found_j.append(j + first[r])
            continue
        a, b = np.triu_indices(n, 1)
        row = first[which][:, None] + np.arange(n)
        low_x, low_y, high_x, high_y = np.moveaxis(frame[row], 2, 0)
        hit = (low_x[:, a] <= high_x[:, b]) & (low_x[:, b] <= high_x[:, a])
        hit &= (low_y[:, a] <= high_y[:, b]) & (low_y[:, b] <= high_y[:, a])
        which, pair = np.nonzero(hit)
        found_i.append(row[which, a[pair]])
        found_j.append(row[which, b[pair]])
    none = np.zeros(0, dtype=np.intp)
    return np.concatenate([*found_i, none]), np.concatenate([*found_j, none])


def trace(
    pieces: Pieces, tips: Tips, sources: Sources, distance: float, weld: Floats, origin: Floats
) -> list[tuple[int, Ring]]:
    """Return the outlines in the raw parallels of some regions, each with its region.

    `weld` (n,) and the place of each region's `origin` (n, 2) are indexed by region.
    *Errors*: GeometryError when what is kept does not close.
    """
    if not len(pieces):
        return []
    table, parent = _cut(pieces, weld)
    region, middle = pieces.region[parent], midpoint(table)
    point = weld[region]
    far = _clearance(middle, region, sources, abs(distance))
    hidden = _under_tips(middle, region, pieces.corner[parent], tips, sources, point)
    node = _nodes(table, region, point)
    left = ~hidden & (node[0] != node[1])
    if len(tips.row):
        # A long tip can reach through a narrow part of a region and come out on the wrong side of it.
        probe = np.flatnonzero(left & (far >= abs(distance) - SLACK * RELAXED[-1] * point))
        start = np.searchsorted(sources.region, np.arange(len(weld) + 1))
        inside = windings(sources.table(slice(None)), start, region[probe], middle[probe]) > 0
        left[probe] &= inside == (distance < 0)
    out: list[tuple[int, Ring]] = []
    for relaxed in RELAXED:
        keep = left & (far >= abs(distance) - SLACK * relaxed * point)
        rows = _without_doubles(table, node, np.flatnonzero(keep), point)
        loops, stray = _loops(table, node, rows)
        loose = np.bincount(region[stray], lengths(table.take(stray)), minlength=len(weld)) > STRAY * weld
        out += [(int(region[loop[0]]), _ring(table, parent, loop, pieces)) for loop in loops]
        out = [found for found in out if not loose[found[0]]]
        left &= loose[region]
        if not left.any():
            return [found for found in out if _worth(found[1], weld[found[0]])]
    first = stray[loose[region[stray]]][0]
    where = table.start[first] + origin[region[first]]
    raise GeometryError.because(
        "GEO-040",
        f"a parallel outline at {distance:g} mm does not close near {where[0]:.3f}, {where[1]:.3f} mm",
    )


def _cut(pieces: Pieces, weld: Floats) -> tuple[Segments, Ints]:
    """Cut all pieces wherever they meet; return parts in order and each one's piece."""
    table = pieces.table(slice(None))
    same_point = float(weld[pieces.region].max())
    i, j = _pairs_inside(_frames(table, same_point), pieces.region)
    meet = intersect(table.take(i), table.take(j), same_point)
    row = np.concatenate((np.repeat(i, 2), np.repeat(j, 2)))
    t = np.concatenate((meet.t_a.ravel(), meet.t_b.ravel()))
    used = ~np.isnan(t)
    row, t = row[used], t[used]
    # Cuts that differ by rounding only are one.
    order = np.lexsort((t, row))
    row, t = row[order], t[order]
    near = (np.diff(row) == 0) & (np.diff(t) * lengths(table)[row[1:]] <= weld[pieces.region[row[1:]]])
    fresh = np.append([True], ~near)[: len(row)]
    parent, t0, t1 = split_spans(len(table), row[fresh], t[fresh])
    return part(table.take(parent), t0, t1), parent


def _clearance(points: Floats, region: Ints, sources: Sources, distance: float) -> Floats:
    """Return distances of points from the nearest source of their region, but at most `distance`."""
    table = sources.table(slice(None))
    around = np.concatenate((points - distance, points + distance), axis=1)
    i, j = _pairs_between(around, region, boxes(table), sources.region)
    out = np.full(len(points), distance, dtype=np.float64)
    np.minimum.at(out, i, distance_pairs(table.take(j), points[i])[0])
    return out


def _under_tips(
    points: Floats, region: Ints, corner: Ints, tips: Tips, sources: Sources, weld: Floats
) -> Flags:
    """Return which points lie inside the tip of another corner of their region."""
    out = np.zeros(len(points), dtype=np.bool_)
    if not len(tips.row):
        return out
    kite = to_points(tips.corner)
    frame = np.concatenate((kite.min(axis=1), kite.max(axis=1)), axis=1)
    i, j = _pairs_between(np.concatenate((points, points), axis=1), region, frame, sources.region[tips.row])
    other = corner[i] != tips.row[j]
    i, j = i[other], j[other]
    outline, z = tips.corner[j], to_complex(points[i])
    side = np.roll(outline, -1, axis=1) - outline
    long = np.abs(side)
    inward = cross(side, z[:, None] - outline) / np.where(long > 0, long, 1.0)
    margin = SLACK * weld[i, None]
    inside = ((inward > margin) | (long == 0)).all(axis=1) | ((inward < -margin) | (long == 0)).all(axis=1)
    out[i[inside]] = True
    return out


def _pairs_between(a_frame: Floats, a_region: Ints, b_frame: Floats, b_region: Ints) -> tuple[Ints, Ints]:
    """Return pairs i, j of boxes that meet and are of one region; both regions are in rising order."""
    low, high = np.searchsorted(b_region, a_region), np.searchsorted(b_region, a_region, side="right")
    many = high - low
    if many.sum() <= ALL_PAIRS:
        i = np.repeat(np.arange(len(a_region)), many)
        j = np.arange(len(i)) - np.repeat(np.cumsum(many) - many, many) + low[i]
        a, b = a_frame[i], b_frame[j]
        hit = ((a[:, :2] <= b[:, 2:]) & (b[:, :2] <= a[:, 2:])).all(axis=1)
        return i[hit], j[hit]
    found = []
    for r in np.unique(a_region):
        (a0, a1), (b0, b1) = (np.searchsorted(x, [r, r + 1]) for x in (a_region, b_region))
        i, j = box_pairs_between(a_frame[a0:a1], b_frame[b0:b1])
        found.append((i + a0, j + b0))
    return np.concatenate([i for i, _ in found]), np.concatenate([j for _, j in found])


def _nodes(table: Segments, region: Ints, weld: Floats) -> tuple[Ints, Ints]:
    """Return numbers of the points at which parts start and end; points nearer than two welds are one."""
    points = np.stack((table.start, table.end), axis=1).reshape(-1, 2)
    reach = np.repeat(weld, 2)[:, None]
    i, j = _pairs_inside(np.concatenate((points - reach, points + reach), axis=1), np.repeat(region, 2))
    label = np.arange(len(points))
    while True:
        before = label.copy()
        np.minimum.at(label, i, label[j])
        np.minimum.at(label, j, label[i])
        label = label[label]
        if np.array_equal(label, before):
            return label[::2], label[1::2]


def _without_doubles(table: Segments, node: tuple[Ints, Ints], rows: Ints, weld: Floats) -> Ints:
    """Of parts that lie on each other keep one; none where some run the opposite way.

    Then both sides of the line are too near to something, and what lies between is a line.
    """
    start, end = node[0][rows], node[1][rows]
    low, high = np.minimum(start, end), np.maximum(start, end)
    order = np.lexsort((rows, high, low))
    low, high, rows = low[order], high[order], rows[order]
    middle = midpoint(table.take(rows))
    keep = np.ones(len(rows), dtype=np.bool_)
    same = np.flatnonzero((np.diff(low) == 0) & (np.diff(high) == 0))
    for k in same:
        if not keep[k]:
            continue
        stop = np.searchsorted(low, low[k], side="right")
        others = np.arange(k + 1, stop)
        apart = np.hypot(*(middle[others] - middle[k]).T)
        others = others[(high[others] == high[k]) & keep[others] & (apart <= 1e3 * weld[rows[k]])]
        keep[others] = False
        keep[k] = (node[0][rows[others]] == node[0][rows[k]]).all()
    return np.sort(rows[keep])


def _loops(table: Segments, node: tuple[Ints, Ints], rows: Ints) -> tuple[list[list[int]], Ints]:
    """Return closed loops of parts, and the parts that are in none."""
    arriving: dict[int, list[int]] = {}
    leaving: dict[int, list[int]] = {}
    for k in rows.tolist():
        leaving.setdefault(int(node[0][k]), []).append(k)
        arriving.setdefault(int(node[1][k]), []).append(k)
    after: dict[int, int] = {}
    for point, comers in arriving.items():
        goers = leaving.get(point, [])
        if len(comers) == len(goers) == 1:
            after[comers[0]] = goers[0]
        elif goers:
            after.update(_paired(table, comers, goers))
    loops, seen = [], set[int]()
    for first in rows.tolist():
        walk: list[int] = []
        at = first
        while at >= 0 and at not in seen:
            seen.add(at)
            walk.append(at)
            at = after.get(at, -1)
        if at in walk:
            loops += _parted(walk[walk.index(at) :], node[0])
    inside = {k for loop in loops for k in loop}
    return loops, np.array([k for k in rows.tolist() if k not in inside], dtype=np.intp)


def _parted(loop: list[int], start: Ints) -> list[list[int]]:
    """Part a loop that comes through one point again into loops that touch there."""
    out: list[list[int]] = []
    walk: list[int] = []
    place: dict[int, int] = {}
    for k in loop:
        at = int(start[k])
        if at in place:
            out.append(walk[place[at] :])
            for gone in out[-1]:
                del place[int(start[gone])]
            del walk[-len(out[-1]) :]
        place[at] = len(walk)
        walk.append(k)
    return [*out, walk]


def _paired(table: Segments, comers: list[int], goers: list[int]) -> dict[int, int]:
    """Pair the parts that arrive at a point with those that leave it, each with the leftmost way on.

    Directions are taken a little away from the point, where parts that touch there have parted.
    """
    ways = table.take(np.array(comers + goers))
    long = lengths(ways)
    near = 0.25 * long.min() / long
    near[: len(comers)] = 1 - near[: len(comers)]
    point = np.where((np.arange(len(long)) < len(comers))[:, None], ways.end, ways.start)
    away = point_at(ways, near) - point
    angle = np.arctan2(away[:, 1], away[:, 0])
    right = (angle[: len(comers), None] - angle[len(comers) :]) % (2 * np.pi)
    out: dict[int, int] = {}
    for _ in range(min(right.shape)):
        c, g = np.unravel_index(np.argmin(right), right.shape)
        out[comers[c]] = goers[g]
        right[c], right[:, g] = np.inf, np.inf
    return out


def _ring(table: Segments, parent: Ints, loop: list[int], pieces: Pieces) -> Ring:
    """Gather a loop's parts; those of one piece that follow each other become one again."""
    rows = np.array(loop)
    # Parts of a piece are numbered on, so the same piece goes on exactly where the number does.
    goes_on = (parent[rows] == parent[np.roll(rows, 1)]) & (rows == np.roll(rows, 1) + 1)
    first = int(np.argmin(goes_on))
    rows, goes_on = np.roll(rows, -first), np.roll(goes_on, -first)
    opening = np.flatnonzero(~goes_on)
    half = np.add.reduceat(np.arctan(table.bulge[rows]), opening)
    return Ring(table.start[rows[opening]], np.tan(half), pieces.source[parent[rows[opening]]])


def _worth(ring: Ring, weld: np.float64) -> bool:
    """Tell whether a ring encloses more than rounding."""
    s = Segments(ring.points, np.roll(ring.points, -1, axis=0), ring.bulge)
    return bool(abs(area_terms(s).sum()) > SLACK * weld * lengths(s).sum())
