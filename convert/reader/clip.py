"""Clip paths and viewports: linework outside them is not seen.

A region's outlines are fitted like any other. A clipped shape's segments are cut where they cross
the outlines and kept where they are inside; where the shape is filled, the parts of the outlines that
lie in the fill become its edge, running so that the fill's winding stays what it was.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.errors import Finding, Place, Severity
from convert.geometry.chain import Segments
from convert.geometry.contain import windings
from convert.geometry.edit import part, split_spans
from convert.geometry.index import box_pairs_between
from convert.geometry.intersect import intersect
from convert.geometry.nearest import nearest
from convert.geometry.segment import boxes, midpoint, start_tangent
from convert.reader.assemble import Linework, assemble

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.geometry.chain import Floats
    from convert.reader.drawing import Bools, Ints
    from convert.reader.matrices import Matrix
    from convert.reader.walk import Clip, DrawnShape

_SAME_POINT = 1e-9
"""Of the larger extent: nearer than this is rounding."""


def clipped(
    linework: Linework, shapes: Sequence[DrawnShape], to_mm: Matrix, file: str
) -> tuple[Linework, list[Finding]]:
    """Return the linework that the shapes' clips leave to be seen, and what was cut away."""
    clips = {clip.id: clip for shape in shapes for clip in shape.clips}
    remarks: list[Finding] = []
    if not clips:
        return linework, remarks
    for shape_number, shape in enumerate(shapes):
        for clip in shape.clips:
            before = linework
            linework = _one(linework, shape_number, shape, clip, to_mm, file)
            if linework is not before:
                remarks.append(
                    Finding(
                        "READ-047",
                        Severity.NOTE,
                        f"the part outside the {clip.id} is not seen and was left out",
                        "",
                        Place(file=file, line=shape.line, element=shape.id),
                    )
                )
    return linework, remarks


def _one(
    linework: Linework, number: int, shape: DrawnShape, clip: Clip, to_mm: Matrix, file: str
) -> Linework:
    rows = np.flatnonzero(linework.shape == number)
    if not len(rows):
        return linework
    outlines = [(matrix, subpaths, True) for matrix, subpaths in clip.shapes]
    region = assemble(outlines, to_mm, linework.fit, file) if outlines else None
    own = linework.segments.take(rows)
    if region is None or not len(region.segments):
        return _replaced(
            linework, rows, number, Segments(np.zeros((0, 2)), np.zeros((0, 2)), np.zeros(0)), rows[:0]
        )
    same = _SAME_POINT * max(1.0, float(np.ptp(np.vstack((own.start, own.end)), axis=0).max()))
    pieces, parent = _cut(own, region.segments, same)
    middle = midpoint(pieces)
    # A line along the region's edge is seen: half of its width lies inside.
    seen = _inside(region, middle, evenodd=clip.rule == "evenodd")
    seen |= nearest(region.segments, middle)[0] <= 1e2 * same
    edge = None
    if shape.fill is not None:
        edge = _fill_edge(own, region, clip, same, evenodd=shape.fill_rule == "evenodd")
    if seen.all() and (edge is None or not len(edge)):
        return linework
    return _replaced(linework, rows, number, pieces.take(seen), rows[parent[seen]], edge)


def _cut(own: Segments, other: Segments, same: float) -> tuple[Segments, Ints]:
    i, j = box_pairs_between(boxes(own), boxes(other))
    met = intersect(own.take(i), other.take(j), same)
    used = ~np.isnan(met.t_a)
    parent, t0, t1 = split_spans(len(own), np.repeat(i, 2)[used.ravel()], met.t_a[used])
    return part(own.take(parent), t0, t1), parent


def _turns(table: Segments, points: Floats) -> Ints:
    ring = np.zeros(len(points), dtype=np.int64)
    return windings(table, np.array([0, len(table)]), ring, points)


def _inside(region: Linework, points: Floats, *, evenodd: bool) -> Bools:
    """Return which points a clip lets through: it is the union of its shapes, each by the clip rule."""
    found = np.zeros(len(points), dtype=bool)
    for number in np.unique(region.shape):
        turns = _turns(region.segments.take(region.shape == number), points)
        found |= (turns % 2 != 0) if evenodd else (turns != 0)
    return found


def _fill_edge(own: Segments, region: Linework, clip: Clip, same: float, *, evenodd: bool) -> Segments:
    """Return the parts of the region's outlines in the fill, with the fill on the same hand as before."""
    pieces, _ = _cut(region.segments, own, same)
    middle = midpoint(pieces)
    turns = _turns(own, middle)
    in_fill = (turns % 2 != 0) if evenodd else (turns != 0)
    along = start_tangent(Segments(middle, pieces.end, np.zeros(len(pieces))))
    step = 1e3 * same * np.stack((-along[:, 1], along[:, 0]), axis=1)
    left = _inside(region, middle + step, evenodd=clip.rule == "evenodd")
    right = _inside(region, middle - step, evenodd=clip.rule == "evenodd")
    # Where the fill's own outline runs along the region's edge, it is that edge already.
    edge = in_fill & (left != right) & (nearest(own, middle)[0] > 1e2 * same)
    pieces, forward = pieces.take(edge), left[edge] == (turns[edge] > 0)
    return Segments(
        np.where(forward[:, None], pieces.start, pieces.end),
        np.where(forward[:, None], pieces.end, pieces.start),
        np.where(forward, pieces.bulge, -pieces.bulge),
    )


def _replaced(
    linework: Linework, rows: Ints, number: int, kept: Segments, origin: Ints, edge: Segments | None = None
) -> Linework:
    """Return the linework with a shape's rows replaced; every new row is a subpath of its own."""
    rest = np.ones(len(linework.segments), dtype=bool)
    rest[rows] = False
    extra = edge if edge is not None else kept.take(np.zeros(len(kept), dtype=bool))
    old = linework.segments.take(rest)
    added = len(kept) + len(extra)
    table = Segments(
        np.vstack((old.start, kept.start, extra.start)),
        np.vstack((old.end, kept.end, extra.end)),
        np.concatenate((old.bulge, kept.bulge, extra.bulge)),
    )
    fresh = len(linework.closed) + np.arange(added)
    shape = np.concatenate((linework.shape[rest], np.full(added, number)))
    order = np.argsort(shape, kind="stable")
    return Linework(
        table.take(order),
        shape[order],
        np.concatenate((linework.subpath[rest], fresh))[order],
        np.concatenate((linework.implied[rest], linework.implied[origin], np.ones(len(extra), dtype=bool)))[
            order
        ],
        np.concatenate((linework.closed, np.zeros(added, dtype=bool))),
        linework.fit,
        linework.fit_error,
    )
