"""Regions at work: linework outside them is not seen.

A region's outlines are fitted like any other. A limited element's segments are cut where they cross
the outlines and kept where they are inside; where the element is filled, the parts of the outlines that
lie in the fill become its edge, running so that the fill's winding stays what it was. Elements whose
box lies inside a region are not looked at any closer.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np

from convert.errors import DrawingError, Place
from convert.geometry.chain import Segments
from convert.geometry.contain import windings
from convert.geometry.edit import part, split_spans
from convert.geometry.index import box_pairs, box_pairs_between
from convert.geometry.intersect import intersect
from convert.geometry.nearest import nearest
from convert.geometry.segment import boxes, midpoint, point_at, start_tangent
from convert.reader.assemble import LARGEST_MM, Gathered, Linework, assemble
from convert.reader.drawing import FillRule
from convert.reader.matrices import IDENTITY, apply, multiply
from convert.reader.outline import polyline
from convert.reader.regions import axis_parallel

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.geometry.chain import Floats
    from convert.reader.drawing import Bools, Element, Ints
    from convert.reader.leftout import LeftOut
    from convert.reader.matrices import Matrix
    from convert.reader.regions import Region, RegionPart

_SAME_POINT: Final = 1e-9
"""Of an element's extent: nearer than this is rounding."""
MAX_MEETINGS: Final = 60_000
"""Pairs of lines of one clip path or mask that may meet: more than patterns of a thousand circles make."""
_LEAST_MM: Final = 1e-9
"""Nothing is seen through anything narrower."""


def clipped(
    linework: Linework,
    regions: Sequence[tuple[Region, ...]],
    elements: Sequence[Element],
    to_mm: Matrix,
    left_out: LeftOut,
) -> Linework:
    """Return the linework that the elements' regions leave to be seen; what was cut is remarked on."""
    limited = [number for number, own in enumerate(regions) if own]
    if not limited:
        return linework
    every = boxes(linework.segments)
    begin = np.searchsorted(linework.element, np.arange(len(elements) + 1))
    known: dict[Region, _Limit] = {}
    changed: dict[int, _Part] = {}
    for number in limited:
        rows = slice(begin[number], begin[number + 1])
        if rows.start == rows.stop:
            continue
        box = np.concatenate((every[rows, :2].min(axis=0), every[rows, 2:].max(axis=0)))
        own = None
        for region in regions[number]:
            limit = known.get(region)
            if limit is None:
                limit = known[region] = _Limit(region, to_mm, linework.fit)
            if limit.holds(box):
                continue
            before = own if own is not None else _Part(linework.segments.take(rows), linework.implied[rows])
            after = _limited(before, limit, elements[number])
            if after is not before:
                own = after
                left_out.cut(elements[number], region.name, wholly=not len(own.segments))
                if not len(own.segments):
                    break
        if own is not None:
            changed[number] = own
    return _with(linework, begin, changed) if changed else linework


class _Part:
    """The segments of one element, and which of them only a fill implies."""

    __slots__ = ("implied", "segments")

    def __init__(self, segments: Segments, implied: Bools) -> None:
        self.segments, self.implied = segments, implied


class _Limit:
    """A region's outlines in mm, each with its rule, those of the regions that limit its parts among them."""

    def __init__(self, region: Region, to_mm: Matrix, fit: float) -> None:
        self._region, self._to_mm, self._fit = region, to_mm, fit
        self.box = _box(region, to_mm)
        leaves = _leaves(region)
        self._leaves = {part_of: (i, part_of.rule == "evenodd") for i, part_of in enumerate(leaves)}

    @cached_property
    def line(self) -> Linework:
        """The outlines; programs clip much that lies inside anyway, and then nobody asks for them."""
        gathered = Gathered()
        if self.box is not None:
            left, bottom, right, top = self.box.tolist()
            corners = [(left, bottom), (right, bottom), (right, top), (left, top)]
            gathered.add(0, polyline(corners, closed=True), IDENTITY, (), filled=True)
        else:
            for part_of, (number, _) in self._leaves.items():
                matrix = multiply(self._to_mm, part_of.matrix)
                gathered.add(number, part_of.outline, matrix, (), filled=True)
        line = assemble(gathered, self._fit, lambda _: Place(element=self._region.name))
        frame = boxes(line.segments)
        if not len(frame) or (frame[:, 2:].max(axis=0) - frame[:, :2].min(axis=0)).min() < _LEAST_MM:
            line = replace(line, segments=line.segments.take(slice(0)), element=line.element[:0])
        return line

    @cached_property
    def edges(self) -> Segments:
        """The outlines, cut where they meet each other. *Errors*: DrawingError READ-039."""
        outlines = self.line.segments
        return outlines if self.box is not None else _parted(outlines, self._region.name)

    @cached_property
    def _rows(self) -> Ints:
        return np.searchsorted(self.line.element, np.arange(len(self._leaves) + 1))

    @cached_property
    def _frames(self) -> Floats:
        return _frames(boxes(self.line.segments), self._rows)

    def holds(self, box: Floats) -> bool:
        """Tell whether a box lies in the region, when that is easily seen."""
        if self.box is None:
            return False
        slack = _SAME_POINT * float(np.abs(self.box).max())
        return bool((box[:2] >= self.box[:2] - slack).all() and (box[2:] <= self.box[2:] + slack).all())

    def shows(self, points: Floats) -> Bools:
        """Tell which points the region lets be seen: the last of its shapes that covers one decides."""
        return self._shown(self._region, points)

    def _shown(self, region: Region, points: Floats) -> Bools:
        found = np.zeros(len(points), dtype=bool)
        order = np.argsort(points[:, 0])
        across, down = points[order, 0], points[order, 1]
        for part_of in region.parts:
            number, evenodd = self._leaves[part_of]
            rows = slice(self._rows[number], self._rows[number + 1])
            low, high = self._frames[number]
            column = slice(*np.searchsorted(across, (low[0], high[0])))
            near = order[column][(down[column] >= low[1]) & (down[column] <= high[1])]
            turns = _turns(self.line.segments.take(rows), points[near])
            near = near[(turns % 2 != 0) if evenodd else (turns != 0)]
            for limit in part_of.within:
                near = near[self._shown(limit, points[near])]
            found[near] = part_of.shows
        return found


def _frames(every: Floats, rows: Ints) -> Floats:
    """Return the lower left and upper right corner of each leaf, (n, 2, 2); an empty one has no inside."""
    found = np.full((len(rows) - 1, 2, 2), np.inf)
    for number, (first, last) in enumerate(pairwise(rows.tolist())):
        if last > first:
            found[number] = every[first:last, :2].min(axis=0), every[first:last, 2:].max(axis=0)
    return found


def _leaves(region: Region) -> list[RegionPart]:
    """Return all shapes that a region is made of, and those of the regions that limit them."""
    found: dict[RegionPart, None] = {}
    stack = list(region.parts)
    while stack:
        part_of = stack.pop()
        if part_of not in found:
            found[part_of] = None
            stack.extend(other for limit in part_of.within for other in limit.parts)
    return list(found)


def _parted(outlines: Segments, name: str) -> Segments:
    """Return outlines cut where they meet; where several run together, only one of them.

    *Errors*: DrawingError READ-039 when they meet too often.
    """
    if len(outlines) < 2:
        return outlines
    frame = boxes(outlines)
    same = _SAME_POINT * max(1.0, float(np.abs(frame).max()))
    i, j = box_pairs(frame + np.array([-1.0, -1.0, 1.0, 1.0]) * same)
    if len(i) > MAX_MEETINGS:
        what = f"the lines of the {name} cross each other too often"
        raise DrawingError.because("READ-039", what, "Clip by one plain path, or cut the shapes themselves")
    met = intersect(outlines.take(i), outlines.take(j), same)
    rows = np.concatenate((np.repeat(i, 2), np.repeat(j, 2)))
    shares = np.concatenate((met.t_a.ravel(), met.t_b.ravel()))
    used = ~np.isnan(shares)
    parent, t0, t1 = split_spans(len(outlines), rows[used], shares[used])
    pieces = part(outlines.take(parent), t0, t1)
    pieces = pieces.take(np.hypot(*(pieces.end - pieces.start).T) > same)
    # Pieces whose ends and middle are the same run together; the grid is wide beside rounding.
    low, high = np.minimum(pieces.start, pieces.end), np.maximum(pieces.start, pieces.end)
    places = np.round(np.hstack((low, high, midpoint(pieces))) / (1e3 * same))
    _, first = np.unique(places, axis=0, return_index=True)
    return pieces.take(np.sort(first))


def _box(region: Region, to_mm: Matrix) -> Floats | None:
    """Return the box in mm that a region is, if it is one; as large as a drawing may be at most."""
    rectangle = axis_parallel(region)
    if rectangle is None:
        return None
    x, y = zip(apply(to_mm, *rectangle[:2]), apply(to_mm, *rectangle[2:]), strict=True)
    return np.clip([min(x), min(y), max(x), max(y)], -LARGEST_MM, LARGEST_MM)


def _limited(own: _Part, limit: _Limit, element: Element) -> _Part:
    """Return what is left of an element; the very same when that is all of it."""
    segments = own.segments
    outline = limit.line.segments
    if not len(segments):
        return own
    if not len(outline):
        return _Part(segments.take(slice(0)), own.implied[:0])
    same = _SAME_POINT * max(1.0, float(np.ptp(np.vstack((segments.start, segments.end)), axis=0).max()))
    pieces, parent = _cut(segments, limit.edges, same)
    seen = limit.shows(midpoint(pieces))
    # A line along the region's edge is seen: half of its width lies inside.
    along = np.flatnonzero(_along(pieces, outline, same))
    left, right = _beside(pieces.take(along), same)
    seen[along] = limit.shows(left) | limit.shows(right)
    edge = _fill_edge(segments, limit, element, same) if element.fill is not None else None
    if seen.all() and (edge is None or not len(edge)):
        return own
    kept, implied = pieces.take(seen), own.implied[parent[seen]]
    if edge is None:
        return _Part(kept, implied)
    joined = Segments(
        np.vstack((kept.start, edge.start)),
        np.vstack((kept.end, edge.end)),
        np.concatenate((kept.bulge, edge.bulge)),
    )
    return _Part(joined, np.concatenate((implied, np.ones(len(edge), dtype=bool))))


def _cut(own: Segments, other: Segments, same: float) -> tuple[Segments, Ints]:
    """Return the pieces of `own` between its meetings with `other`, and the row that each is part of."""
    # A touch must be found even if rounding puts it just outside of one of the boxes.
    margin = np.array([-1.0, -1.0, 1.0, 1.0]) * same
    i, j = box_pairs_between(boxes(own) + margin, boxes(other))
    met = intersect(own.take(i), other.take(j), same)
    used = ~np.isnan(met.t_a)
    parent, t0, t1 = split_spans(len(own), np.repeat(i, 2)[used.ravel()], met.t_a[used])
    return part(own.take(parent), t0, t1), parent


def _along(pieces: Segments, other: Segments, same: float) -> Bools:
    """Tell which pieces run along `other`; between meetings, two places are enough to tell from touching."""
    found = np.ones(len(pieces), dtype=bool)
    for share in (0.5, 0.3):
        found &= nearest(other, point_at(pieces, np.full(len(pieces), share)))[0] <= 1e2 * same
    return found


def _beside(pieces: Segments, same: float) -> tuple[Floats, Floats]:
    """Return points a little to the left and to the right of the middle of each piece."""
    middle = midpoint(pieces)
    along = start_tangent(Segments(middle, pieces.end, np.zeros(len(pieces))))
    step = 1e3 * same * np.stack((-along[:, 1], along[:, 0]), axis=1)
    return middle + step, middle - step


def _turns(table: Segments, points: Floats) -> Ints:
    ring = np.zeros(len(points), dtype=np.int64)
    return windings(table, np.array([0, len(table)]), ring, points)


def _fill_edge(own: Segments, limit: _Limit, element: Element, same: float) -> Segments:
    """Return the parts of the region's outlines in the fill, with the fill on the same hand as before."""
    pieces, _ = _cut(limit.edges, own, same)
    pieces = pieces.take(np.hypot(*(pieces.end - pieces.start).T) > same)
    middle = midpoint(pieces)
    turns = _turns(own, middle)
    in_fill = (turns % 2 != 0) if element.fill_rule is FillRule.EVENODD else (turns != 0)
    left, right = (limit.shows(points) for points in _beside(pieces, same))
    # Where the fill's own outline runs along the region's edge, it is that edge already.
    edge = in_fill & (left != right) & ~_along(pieces, own, same)
    pieces, forward = pieces.take(edge), left[edge] == (turns[edge] > 0)
    return Segments(
        np.where(forward[:, None], pieces.start, pieces.end),
        np.where(forward[:, None], pieces.end, pieces.start),
        np.where(forward, pieces.bulge, 0.0 - pieces.bulge),
    )


def _with(linework: Linework, begin: Ints, changed: dict[int, _Part]) -> Linework:
    """Return the linework with some elements' segments replaced; each new one is a subpath of its own."""
    columns = []
    subpaths = len(linework.closed)
    at = 0
    for number in (*sorted(changed), None):
        stop = int(begin[number]) if number is not None else len(linework.element)
        s = linework.segments
        columns.append(
            (
                s.start[at:stop],
                s.end[at:stop],
                s.bulge[at:stop],
                linework.element[at:stop],
                linework.subpath[at:stop],
                linework.implied[at:stop],
            )
        )
        if number is not None:
            new, own = changed[number].segments, changed[number].implied
            fresh = np.arange(subpaths, subpaths + len(new))
            subpaths += len(new)
            columns.append((new.start, new.end, new.bulge, np.full(len(new), number), fresh, own))
            at = int(begin[number + 1])
    start, end, bulge, element, subpath, implied = (np.concatenate(c) for c in zip(*columns, strict=True))
    return Linework(
        Segments(start, end, bulge),
        element,
        subpath,
        implied,
        np.concatenate((linework.closed, np.zeros(subpaths - len(linework.closed), dtype=bool))),
        linework.fit,
        linework.fit_error,
    )
