"""All linework cut so that edges meet only at vertices: the one place where coincidence is decided.

*Words.* A **node** is a point where drawn segments end, or meet, or are cut; after the first step nodes
are compared by number only. An **edge** is a segment between two nodes. A node that lies on the inside
of an edge makes a **T**: the edge is cut there. **Source** pairs tell which drawn elements made an edge.

*How.* (1) Ends nearer than the gap become one node. (2) Edges between the same nodes that run within
the gap of each other become one. (3) A node within the gap of an edge cuts it; a node that is
new is moved onto the edge, so that the bar of a T stays straight. (4) Where edges still cross, or touch
within the gap, they are cut; cuts nearer than the gap to each other become one node. Every cut can bend
an edge by up to the gap, so (2) to (4) are repeated for the edges that changed, until nothing changes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np

from convert.block.meeting import Cuts, cut_by_crossings, cut_by_nodes, one_point_each
from convert.block.nearby import near_pairs
from convert.block.snapping import near_groups, run_starts, spans
from convert.errors import GeometryError, Place
from convert.geometry.chain import Segments
from convert.geometry.index import box_pairs_between
from convert.geometry.measure import boxes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.geometry.chain import Floats
    from convert.geometry.tolerance import Tolerances
    from convert.reader.drawing import Drawing

    Ints = NDArray[np.int64]
    Bools = NDArray[np.bool_]

MAX_ROUNDS = 60
"""Rounds after which cutting is given up; drawings need about six."""


ROUNDING = 1e-2
"""Differences below this share of the gap are rounding, not drawing, and are not reported."""


class Change(IntEnum):
    """What noding did to the drawing at one place."""

    JOINED = 0
    ONTO = 1
    DOUBLED = 2


@dataclass(frozen=True, slots=True, eq=False)
class Repairs:
    """Places where the drawing was changed: (r,) kinds (Change), (r, 2) points in mm, (r,) sizes in mm."""

    kind: Ints
    at: Floats
    size: Floats

    @classmethod
    def of(cls, kind: Change, at: Floats, size: Floats) -> Repairs:
        """Return one kind of repair at several places."""
        return cls(np.full(len(size), int(kind), np.int64), at, size)

    def and_also(self, *more: Repairs) -> Repairs:
        """Return these repairs and more."""
        every = (self, *more)
        return Repairs(
            np.concatenate([r.kind for r in every]),
            np.concatenate([r.at for r in every]),
            np.concatenate([r.size for r in every]),
        )


@dataclass(frozen=True, slots=True, eq=False)
class Web:
    """Edges between nodes.

    *Shapes*: `points` (V, 2); `start`, `end`, `bulge` (E,); the sources of edge e are
    code[first[e]:first[e + 1]], each 2 × element, plus 1 when the element's stroke runs there.
    *Invariants*: start < end; no two edges between the same nodes run within the gap of each other.
    """

    points: Floats
    start: Ints
    end: Ints
    bulge: Floats
    first: Ints
    code: Ints

    def __len__(self) -> int:
        return len(self.start)

    @property
    def segments(self) -> Segments:
        """The edges as a table of segments."""
        return Segments(self.points[self.start], self.points[self.end], self.bulge)

    def keep(self, which: Bools) -> Web:
        """Return the web with only some of its edges; nodes keep their numbers."""
        index = np.flatnonzero(which)
        count = np.diff(self.first)[index]
        return Web(
            self.points,
            self.start[index],
            self.end[index],
            self.bulge[index],
            np.concatenate(([0], np.cumsum(count))),
            self.code[spans(self.first[index], count)],
        )


def node(drawing: Drawing, tolerances: Tolerances) -> tuple[Web, Repairs]:
    """Return the drawing's linework, cut at every meeting, and what was changed for that.

    *Errors*: GeometryError when cutting does not come to an end (BLOCK-018, naming the place), or when there
    is too much to cut (BLOCK-016, GEO-010).
    """
    web, repairs = _joined_ends(drawing, tolerances)
    if len(web) == 0:
        return web, repairs
    gap = tolerances.gap
    wide = _wide_boxes(web, gap)
    pairs = near_pairs(wide)
    young = np.ones(len(web.points), bool)
    for _ in range(MAX_ROUNDS):
        edges = web.segments
        cuts, moved = cut_by_nodes(edges, wide, web.points, web.start, web.end, pairs, gap)
        again = np.arange(len(pairs[0]))
        shifted = np.zeros(len(web.points), bool)
        if len(cuts.edge) == 0:
            cuts, again = cut_by_crossings(edges, web.points, web.start, web.end, pairs, tolerances)
            if len(cuts.edge) == 0:
                return web, repairs
        elif young.any():
            step = np.hypot(*(moved - web.points).T)
            shifted = young & (step > tolerances.same_point)
            off = np.flatnonzero(shifted)
            repairs = repairs.and_also(Repairs.of(Change.ONTO, moved[off], step[off]))
            web = replace(web, points=np.where(shifted[:, None], moved, web.points))
        fresh = np.zeros(len(web), bool)
        fresh[cuts.edge] = True
        young = np.zeros(len(web.points), bool)
        if shifted.any() or len(cuts.added):
            web, cuts, changed, young = _settled(web, cuts, shifted, gap)
            fresh |= changed
        bulge = web.bulge
        web, became, doubled = cut(web, cuts, gap)
        # An edge that was merged with a nearly equal one has bent a little.
        fresh |= web.bulge[became] != bulge
        repairs = repairs.and_also(doubled)
        wide = _wide_boxes(web, gap)
        pairs = _open_pairs(wide, became, fresh, (pairs[0][again], pairs[1][again]))
    place = web.points[web.start[pairs[0][0]]]
    raise GeometryError.because(
        "BLOCK-018",
        "lines that run close to each other here can't be told apart",
        "Draw this place more simply, or convert with a smaller gap",
        place=Place(at=(float(place[0]), drawing.page[1] - float(place[1]))),
    )


def _settled(web: Web, cuts: Cuts, shifted: Bools, gap: float) -> tuple[Web, Cuts, Bools, Bools]:
    """Join nodes that have come within the gap of each other, since some were moved or added.

    Returns the web, the cuts, which edges have an end that moved, and which nodes are new.
    """
    points = np.concatenate((web.points, cuts.added))
    used = np.zeros(len(points), bool)
    used[web.start], used[web.end], used[cuts.node] = True, True, True
    rows = np.flatnonzero(used)
    group = near_groups(points[rows], gap)
    count = np.bincount(group)
    number = np.zeros(len(points), np.int64)
    number[rows] = group
    # Nodes that stood still keep their place; only groups without such a node take the mean place.
    still = used & (np.arange(len(points)) < len(web.points))
    still[: len(shifted)] &= ~shifted
    weight = np.where(still[rows], 1.0, 0.0)
    fixed = np.bincount(group, weight) > 0
    weight = np.where(fixed[group], weight, 1.0)
    total = np.bincount(group, weight)
    joined = np.column_stack([np.bincount(group, weight * points[rows, k]) / total for k in (0, 1)])
    joined[group[count[group] == 1]] = points[rows[count[group] == 1]]
    moved = np.zeros(len(points), bool)
    moved[rows] = (joined[group] != points[rows]).any(axis=1)
    moved[: len(shifted)] |= shifted
    edge_moved = moved[web.start] | moved[web.end]
    young = np.ones(len(joined), bool)
    young[group[rows < len(web.points)]] = False
    web = replace(web, points=joined, start=number[web.start], end=number[web.end])
    return web, replace(cuts, node=number[cuts.node], added=np.zeros((0, 2))), edge_moved, young


def _wide_boxes(web: Web, gap: float) -> Floats:
    half = gap / 2
    return np.asarray(boxes(web.segments) + np.array([-half, -half, half, half]))


def _joined_ends(drawing: Drawing, tolerances: Tolerances) -> tuple[Web, Repairs]:
    """Make nodes of the ends of segments and edges of the segments, each once."""
    table, count = drawing.segments, len(drawing.segments)
    if count == 0:
        none = np.zeros(0, np.int64)
        nothing = Web(np.zeros((0, 2)), none, none, np.zeros(0), np.zeros(1, np.int64), none)
        return nothing, Repairs.of(Change.JOINED, np.zeros((0, 2)), np.zeros(0))
    # The end of a segment is nearly always the start of the next one: those are grouped only once.
    first = run_starts(drawing.subpath_of)
    following = np.arange(1, count + 1)
    following[np.append(first[1:], count) - 1] = first
    loose = np.flatnonzero((table.end != table.start[following]).any(axis=1))
    ends = np.concatenate((table.start, table.end[loose]))
    group, points, off = one_point_each(ends, tolerances.same_point, tolerances.gap)
    start = group[:count]
    end = start[following]
    end[loose] = group[count:]
    joined = np.flatnonzero(off > tolerances.gap * ROUNDING)
    repairs = Repairs.of(Change.JOINED, points[joined], off[joined])
    stroked = np.array([e.stroke is not None for e in drawing.elements], bool)
    code = 2 * drawing.element_of + (stroked[drawing.element_of] & ~drawing.implied)
    web, _, doubled = _merged(
        points, start, end, table.bulge, (np.arange(count + 1, dtype=np.int64), code), tolerances.gap
    )
    return web, repairs.and_also(doubled)


def cut(web: Web, cuts: Cuts, gap: float) -> tuple[Web, Ints, Repairs]:
    """Cut edges at nodes and merge what is double.

    Returns the new web, every edge's new number (for a cut one that of a part, -1 if gone) and the repairs.
    """
    points = np.concatenate((web.points, cuts.added)) if len(cuts.added) else web.points
    whole = np.ones(len(web), bool)
    whole[cuts.edge] = False
    old = np.flatnonzero(whole)
    begin = run_starts(cuts.edge)
    which = cuts.edge[begin]
    # Each cut edge becomes one part more than it has cuts, from its start and every cut to the next.
    after = np.append(begin[1:], len(cuts.edge))
    parent = np.insert(cuts.edge, begin, which)
    part_start = np.insert(cuts.node, begin, web.start[which])
    from_at = np.insert(cuts.at, begin, 0.0)
    part_end = np.insert(cuts.node, after, web.end[which])
    to_at = np.insert(cuts.at, after, 1.0)
    bulge = np.tan(np.arctan(web.bulge[parent]) * (to_at - from_at))
    origin = np.concatenate((old, parent))
    count = np.diff(web.first)[origin]
    merged, number, doubled = _merged(
        points,
        np.concatenate((web.start[old], part_start)),
        np.concatenate((web.end[old], part_end)),
        np.concatenate((web.bulge[old], bulge)),
        (np.concatenate(([0], np.cumsum(count))), web.code[spans(web.first[origin], count)]),
        gap,
    )
    became = np.full(len(web), -1, np.int64)
    became[origin] = number
    return merged, became, doubled


def _merged(
    points: Floats, start: Ints, end: Ints, bulge: Floats, sources: tuple[Ints, Ints], gap: float
) -> tuple[Web, Ints, Repairs]:
    """Return edges of which no two are the same, each input edge's new number (-1 if gone), and repairs."""
    turned = start > end
    start, end = np.where(turned, end, start), np.where(turned, start, end)
    bulge = np.where(turned, -bulge, bulge)
    live = np.flatnonzero(start != end)
    key = start[live] * len(points) + end[live]
    order = np.lexsort((bulge[live], key)) if bulge.any() else np.argsort(key, kind="stable")
    row = live[order]
    key = key[order]
    new = np.append(np.ones(min(len(key), 1), bool), key[1:] != key[:-1])
    # Curves over one chord are apart by the difference of their heights over it.
    height = bulge[row] * np.hypot(*(points[end[row]] - points[start[row]]).T) / 2
    _break_apart(new, height, gap)
    first = np.flatnonzero(new)
    # Where ends are joined over so wide a gap that nothing is left, there is no last one either.
    last = np.append(first[1:], len(row))[: len(first)] - 1
    number = np.full(len(start), -1, np.int64)
    number[row] = np.cumsum(new) - 1
    low, high = bulge[row[first]], bulge[row[last]]
    kept = np.where(low == high, low, (low + high) / 2)
    a, b = start[row[first]], end[row[first]]
    apart = height[last] - height[first]
    off = np.flatnonzero(apart > gap * ROUNDING)
    repairs = Repairs.of(Change.DOUBLED, (points[a[off]] + points[b[off]]) / 2, apart[off])
    first_source, code = _united(number, sources, len(first))
    return Web(points, a, b, kept, first_source, code), number, repairs


def _break_apart(new: Bools, height: Floats, gap: float) -> None:
    """Start a new edge in `new` wherever heights, rising within an edge, leave the gap above its first."""
    while True:
        first = np.flatnonzero(new)
        base = np.repeat(height[first], np.diff(first, append=len(new)))
        over = np.flatnonzero(height - base > gap)
        if len(over) == 0:
            return
        edge = np.cumsum(new)[over]
        new[over[np.append(True, edge[1:] != edge[:-1])]] = True


def _united(number: Ints, sources: tuple[Ints, Ints], count: int) -> tuple[Ints, Ints]:
    """Return the sources of the new edges, each once; stroked wins over unstroked."""
    begin, code = sources
    edge = np.repeat(number, np.diff(begin))
    live = edge >= 0
    edge, code = edge[live], code[live]
    width = int(code.max(initial=0)) + 2
    both = np.unique(edge * width + code)
    edge, code = both // width, both % width
    doubled = (code[:-1] ^ 1 == code[1:]) & (edge[:-1] == edge[1:]) & (code[:-1] % 2 == 0)
    stay = np.append(~doubled, np.ones(min(len(code), 1), bool))
    edge, code = edge[stay], code[stay]
    return np.searchsorted(edge, np.arange(count + 1)).astype(np.int64), code


def _open_pairs(wide: Floats, became: Ints, fresh: Bools, pairs: tuple[Ints, Ints]) -> tuple[Ints, Ints]:
    """Return the pairs of new edges to look at: old open ones, and all pairs with a changed edge."""
    still = ~fresh[pairs[0]] & ~fresh[pairs[1]]
    one, other = became[pairs[0][still]], became[pairs[1][still]]
    unchanged = np.zeros(len(wide), bool)
    unchanged[became[~fresh]] = True
    changed = np.flatnonzero(~unchanged)
    if 4 * len(changed) > len(wide):
        mine, edge = near_pairs(wide)
        fine = ~unchanged[mine] | ~unchanged[edge]
        return np.concatenate((one, mine[fine])), np.concatenate((other, edge[fine]))
    k, edge = box_pairs_between(wide[changed], wide)
    mine = changed[k]
    fine = (mine != edge) & (unchanged[edge] | (mine < edge))
    return np.concatenate((one, mine[fine])), np.concatenate((other, edge[fine]))
