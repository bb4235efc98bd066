"""Lines that part nothing: found, judged and told.

*Words.* A **loose** edge has the same face on both sides: a line with a free end, a line that stands
alone, a bridge between two outlines. Loose edges that hang together are a **strand**. A **free end** is
a node with a single edge. The **closing** of a free end moves it to the nearest thing it misses. A free
end whose closing would part a face is a seam that doesn't quite arrive: a piece would be lost, so that
is an error. Other strands are left out with a warning.
"""

from __future__ import annotations

from dataclasses import dataclass
from heapq import heappop, heappush
from typing import TYPE_CHECKING

import numpy as np

from convert.block.faces import trace
from convert.block.meeting import Cuts
from convert.block.noding import Web, cut
from convert.block.snapping import components
from convert.errors import Finding, Place, Severity
from convert.geometry.index import BoxIndex
from convert.geometry.measure import boxes, lengths, point_at
from convert.geometry.nearest import distance_pairs

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.geometry.chain import Floats
    from convert.reader.drawing import Drawing

    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

NEAR = 0.05
"""A free end further from everything than this share of the drawing's longer side was not meant to arrive."""

MOST = 400
"""Free ends that are looked at one by one."""

AT_LEAST = 64
"""So many edges near a free end are looked at, however far they are."""

MOST_TOLD = 6
"""Findings about loose lines that are told one by one, the widest gaps first."""

SPECK = 0.01
"""What closes less than this share of the box of all lines is an accident of crossing strokes."""

NODE_FIRST = 1.5
"""What a free end misses is a node if that is no further than this many times the distance to its line."""


@dataclass(frozen=True, slots=True, eq=False)
class Miss:
    """What one free end misses, `gap` mm away: (x, y) is a node, or lies on `edge` at the fraction `at`."""

    end: int
    gap: float
    x: float
    y: float
    node: int
    edge: int
    at: float
    tail: float
    """The length from the free end back to where its line meets another one."""


class _Paths:
    """Ways along the lines from a free end, so that an end isn't said to miss its own line."""

    def __init__(self, web: Web) -> None:
        ends = np.concatenate((web.start, web.end))
        order = np.argsort(ends, kind="stable")
        self.degree = np.bincount(ends, minlength=len(web.points))
        self._first = np.concatenate(([0], np.cumsum(self.degree)))
        self._edge = np.concatenate((np.arange(len(web)), np.arange(len(web))))[order]
        self._other = np.concatenate((web.end, web.start))[order]
        self._length = lengths(web.segments)

    def within(self, end: int, limit: float) -> dict[int, float]:
        """Return the nodes no further than `limit` along the lines, with their distances (Dijkstra)."""
        done: dict[int, float] = {}
        waiting = [(0.0, end)]
        while waiting:
            far, here = heappop(waiting)
            if here in done:
                continue
            done[here] = far
            for k in range(self._first[here], self._first[here + 1]):
                further = far + float(self._length[self._edge[k]])
                if further <= limit:
                    heappush(waiting, (further, int(self._other[k])))
        return done

    def tail(self, end: int) -> float:
        """Return the length of the line from a free end to where more than two edges meet, or to its end."""
        far, here, came = 0.0, end, -1
        while True:
            onward = [k for k in range(self._first[here], self._first[here + 1]) if self._edge[k] != came]
            if here != end and len(onward) != 1:
                return far
            came = int(self._edge[onward[0]])
            far += float(self._length[came])
            here = int(self._other[onward[0]])
            if here == end:
                return far


def _misses(web: Web, limit: float) -> list[Miss]:
    """Return what the free ends miss, smallest gaps first; ends that have nothing to meet are left out."""
    paths = _Paths(web)
    edges = web.segments
    box = boxes(edges)
    index = BoxIndex(box)
    found = []
    for end in np.flatnonzero(paths.degree == 1)[:MOST].tolist():
        point = web.points[end]
        nearest = _nearest(index, box, point, limit)
        distance, at = distance_pairs(edges.take(nearest), np.broadcast_to(point, (len(nearest), 2)))
        near = paths.within(end, 3 * limit)
        for k in np.argsort(distance, kind="stable").tolist():
            edge = int(nearest[k])
            along = min(near.get(int(web.start[edge]), np.inf), near.get(int(web.end[edge]), np.inf))
            if along >= 3 * distance[k] and along > 0:
                found.append(_miss(web, end, edge, float(at[k]), float(distance[k]), paths.tail(end)))
                break
    return sorted(found, key=lambda m: (m.gap, m.end))


def _nearest(index: BoxIndex, box: Floats, point: Floats, limit: float) -> Ints:
    """Return the boxes within `limit` of a point and at least the 64 nearest, the nearest first."""
    reach = limit
    while True:
        (_, near), *_ = index.pairs(np.concatenate((point - reach, point + reach))[None])
        outside = np.maximum(np.maximum(box[near, :2] - point, point - box[near, 2:]), 0.0)
        bound = np.hypot(outside[:, 0], outside[:, 1])
        within = int(np.count_nonzero(bound <= reach))
        if within >= min(AT_LEAST, len(box)):
            least = max(AT_LEAST, int(np.count_nonzero(bound <= limit)))
            return np.asarray(near[np.argsort(bound, kind="stable")[:least]], np.int64)
        reach *= 2


def _miss(web: Web, end: int, edge: int, at: float, distance: float, tail: float) -> Miss:
    """Name the node at the end of the missed edge when it is nearly as near as the edge."""
    point = web.points[end]
    corners = [int(web.start[edge]), int(web.end[edge])]
    away = [float(np.hypot(*(web.points[c] - point))) for c in corners]
    best = int(np.argmin(away))
    if away[best] <= NODE_FIRST * distance or not 0 < at < 1:
        x, y = web.points[corners[best]].tolist()
        return Miss(end, away[best], x, y, corners[best], edge, at, tail)
    x, y = point_at(web.segments.take(np.array([edge])), at)[0].tolist()
    return Miss(end, distance, x, y, -1, edge, at, tail)


def _limit(web: Web) -> float:
    return NEAR * float(_extent(web).max())


def _extent(web: Web) -> Floats:
    box = boxes(web.segments)
    return np.asarray(box[:, 2:].max(axis=0) - box[:, :2].min(axis=0))


def closes_nothing(web: Web, closed_area: float) -> bool:
    """Return whether the faces of a web, of this area together, are mere specks between crossing strokes."""
    return closed_area < SPECK * float(_extent(web).prod())


def nothing_closed(web: Web, drawing: Drawing) -> Finding:
    """Return the refusal of a drawing in which no line encloses anything."""
    if len(web) == 0:
        return Finding("BLOCK-001", Severity.ERROR, "there is nothing to piece: no line is visible")
    limit = _limit(web)
    ends = int(np.count_nonzero(np.bincount(np.concatenate((web.start, web.end))) == 1))
    near = [m for m in _misses(web, limit) if m.gap <= limit]
    what = f"nothing closed: the lines enclose no piece and have {ends} loose ends"
    if not near:
        return Finding("BLOCK-001", Severity.ERROR, what, "Draw outlines whose ends meet")
    widest = near[-1]
    return Finding(
        "BLOCK-001",
        Severity.ERROR,
        f"{what}; the widest gap where one nearly meets something is {widest.gap:.2f} mm",
        f"Let the ends meet, or allow a gap of {_allow(widest.gap)} mm",
        _place(web, drawing, widest.end),
        widest.gap,
    )


def loose_findings(web: Web, loose: Bools, drawing: Drawing) -> list[Finding]:
    """Return an error for each free end whose closing would part a face, a warning for other strands."""
    limit = _limit(web)
    misses = _misses(web, limit)
    arriving = [m for m in misses if m.gap <= min(limit, m.tail)]
    parted = _parted(web, arriving)
    findings = []
    strand = components(len(web.points), web.start[loose], web.end[loose])
    told, closings = set(), set()
    for miss, (closing, areas) in zip(arriving, parted, strict=True):
        if areas:
            told.add(int(strand[miss.end]))
            if closing not in closings:
                # Two ends that miss each other are one fault.
                closings.add(closing)
                findings.append(_torn(web, drawing, miss, areas))
    number = np.flatnonzero(loose)
    for part in np.unique(strand[web.start[number]]).tolist():
        if part not in told:
            mine = number[strand[web.start[number]] == part]
            findings.append(_left_out(web, drawing, mine, [m for m in misses if strand[m.end] == part]))
    findings.sort(key=lambda f: (f.severity is not Severity.ERROR, -(f.value or 0.0)))
    if len(findings) > MOST_TOLD:
        count = len(findings)
        torn = sum(f.severity is Severity.ERROR for f in findings)
        what = f"{count} lines in all have loose ends"
        advice = f"Let them meet, or allow a gap of {_allow(findings[0].value or 0.0)} mm" if torn > 1 else ""
        summary = Finding("BLOCK-004", findings[0].severity, what, advice, value=findings[0].value)
        findings = [*findings[:MOST_TOLD], summary]
    return findings


def _allow(gap: float) -> str:
    """Return a gap, in mm, that closes `gap` with something to spare."""
    return f"{np.ceil(gap * 10.5) / 10:.1f}"


def _parted(web: Web, misses: list[Miss]) -> list[tuple[tuple[int, int], tuple[float, ...]]]:
    """Return each free end's closing (two nodes) and the areas it would part; none if it parts nothing."""
    if not misses:
        return []
    onto = [k for k, m in enumerate(misses) if m.node < 0]
    added = np.array([(misses[k].x, misses[k].y) for k in onto], float).reshape(-1, 2)
    target = np.array([m.node for m in misses], np.int64)
    target[onto] = len(web.points) + np.arange(len(onto))
    edges = np.array([misses[k].edge for k in onto], np.int64)
    at = np.array([misses[k].at for k in onto], float)
    cuts = Cuts.of(edges, at, target[onto], added, len(web.points) + len(added))
    closed = cut(web, cuts, 0.0)[0] if onto else web
    ends = np.array([m.end for m in misses], np.int64)
    # The ends are moved to what they miss; ends that miss each other become one node.
    became = components(len(closed.points), ends, target)
    goal = np.arange(len(closed.points))
    goal[became[ends]] = target
    moved = goal[became]
    start, end = moved[closed.start], moved[closed.end]
    keep = np.flatnonzero(start != end)
    start, end = start[keep], end[keep]
    traced = trace(closed.points, start, end, closed.bulge[keep])
    result = []
    for miss, to in zip(misses, target.tolist(), strict=True):
        mine = np.flatnonzero((closed.start[keep] == miss.end) | (closed.end[keep] == miss.end))
        sides = traced.boundary[2 * mine[:1, None] + np.arange(2)].ravel().tolist()
        areas = sorted(float(a) for a in traced.area[sides] if a > 0)
        result.append(((min(miss.end, to), max(miss.end, to)), tuple(areas) if len(set(sides)) == 2 else ()))
    return result


def _torn(web: Web, drawing: Drawing, miss: Miss, areas: tuple[float, ...]) -> Finding:
    x, y = _on_page(drawing, miss.x, miss.y)
    what = "the corner" if miss.node >= 0 else "the line"
    lost = " and ".join(f"{a:.0f}" for a in areas)
    effect = (
        f"the pieces of {lost} mm² on its sides have run together"
        if len(areas) > 1
        else (f"a piece of {lost} mm² stays open")
    )
    return Finding(
        "BLOCK-002",
        Severity.ERROR,
        f"a loose end stops {miss.gap:.2f} mm short of {what} at {x:.2f}, {y:.2f} mm, so {effect}",
        f"Move it there, or allow a gap of {_allow(miss.gap)} mm",
        _place(web, drawing, miss.end),
        miss.gap,
    )


def _left_out(web: Web, drawing: Drawing, edges: Ints, misses: list[Miss]) -> Finding:
    """Return the warning for a strand that parts nothing."""
    if not misses:
        at = int(web.start[edges[0]])
        what = "a line parts no piece from another and is left out"
        return Finding("BLOCK-003", Severity.WARNING, what, place=_place(web, drawing, at, int(edges[0])))
    miss = misses[0]
    if miss.tail <= miss.gap * (1 + 1e-9):
        what = f"a line sticks out by {miss.tail:.2f} mm; that end is left out"
        return Finding(
            "BLOCK-003", Severity.WARNING, what, place=_place(web, drawing, miss.end), value=miss.tail
        )
    what = f"a line with a loose end, {miss.gap:.2f} mm from the nearest other, parts nothing and is left out"
    advice = "Remove it, or draw it on to the line it should meet"
    return Finding("BLOCK-003", Severity.WARNING, what, advice, _place(web, drawing, miss.end), miss.gap)


def _on_page(drawing: Drawing, x: float, y: float) -> tuple[float, float]:
    return x, drawing.page[1] - y


def _place(web: Web, drawing: Drawing, at: int, edge: int | None = None) -> Place:
    """Return the place of a node on the page, with the topmost element that made one of its edges."""
    if edge is None:
        edge = int(np.flatnonzero((web.start == at) | (web.end == at))[0])
    element = drawing.elements[int(web.code[web.first[edge + 1] - 1]) // 2]
    x, y = web.points[at].tolist()
    return Place(line=element.line, element=element.id, at=_on_page(drawing, x, y))
