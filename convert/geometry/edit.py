"""Reversing, cutting and flattening segments and chains."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.errors import GeometryError
from convert.geometry.chain import Chain, Segments
from convert.geometry.merge import merge_smooth
from convert.geometry.segment import point_at, radius, sweep

if TYPE_CHECKING:
    from convert.geometry.chain import Floats
    from convert.geometry.plane import Ints

__all__ = ["flatten", "flatten_table", "merge_smooth", "part", "reverse", "split", "split_spans"]


def reverse(chain: Chain) -> Chain:
    """Return the same chain run through the other way; a closed one still begins at its first vertex."""
    if chain.closed:
        return Chain(np.roll(chain.points[::-1], 1, axis=0), 0.0 - chain.bulge[::-1], closed=True)
    return Chain(chain.points[::-1], 0.0 - chain.bulge[::-1], closed=False)


def part(s: Segments, t0: Floats | float, t1: Floats | float) -> Segments:
    """Return the part of each segment between two fractions of its length; reversed where t1 < t0.

    *Shapes*: `t0` and `t1` are numbers or (n,).
    *Source*: a part of an arc lies on the same circle and turns in proportion.
    """
    span = np.asarray(t1, dtype=np.float64) - np.asarray(t0, dtype=np.float64)
    bulge = np.where(span == 1.0, s.bulge, np.tan(span * np.arctan(s.bulge)))
    return Segments(point_at(s, t0), point_at(s, t1), bulge)


def split(s: Segments, row: Ints, t: Floats) -> Segments:
    """Return the table with row `row[k]` cut at fraction `t[k]`, for all k at once.

    Parts stand in order along each row, rows in their old order; cuts at 0 or 1 or in the same place twice
    make no empty parts. Neighbouring parts share their point exactly.
    """
    parent, t0, t1 = split_spans(len(s), row, t)
    return part(s.take(parent), t0, t1)


def split_spans(count: int, row: Ints, t: Floats) -> tuple[Ints, Floats, Floats]:
    """Return for each part that `split` makes of `count` rows: its old row and its fractions from and to."""
    inside = (t > 0.0) & (t < 1.0)
    every = np.arange(count, dtype=np.intp)
    rows = np.concatenate((every, np.asarray(row, dtype=np.intp)[inside]))
    starts = np.concatenate((np.zeros(count), np.asarray(t, dtype=np.float64)[inside]))
    order = np.lexsort((starts, rows))
    rows, starts = rows[order], starts[order]
    new = np.r_[True, (np.diff(rows) > 0) | (np.diff(starts) > 0)][: len(rows)]
    rows, starts = rows[new], starts[new]
    last = np.r_[np.diff(rows) > 0, True][: len(rows)]
    ends = np.where(last, 1.0, np.r_[starts[1:], 1.0][: len(rows)])
    return rows, starts, ends


def flatten(chain: Chain, tolerance: float) -> Floats:
    """Return the corners (k, 2) of a polyline with its corners on the chain and nowhere farther from it.

    The last corner of a closed chain is not its first one again.
    *Errors*: GeometryError when the tolerance is not positive.
    """
    points, row = flatten_table(chain.segments, tolerance)
    last = np.r_[np.diff(row) > 0, True][: len(row)]
    if chain.closed:
        inner: Floats = points[~last]
        return inner
    last[-1:] = False
    kept: Floats = points[~last] if len(points) else chain.points
    return kept


def flatten_table(s: Segments, tolerance: float) -> tuple[Floats, Ints]:
    """Return points along all segments, both ends included, and the row of each: (k, 2) and (k,).

    Every arc gets the fewest equal steps whose chords stay within `tolerance` of it.
    *Source*: a step of angle a has the sagitta r (1 - cos(a / 2)) = 2 r sin^2(a / 4).
    *Errors*: GeometryError when the tolerance is not positive.
    """
    if not tolerance > 0.0:
        raise GeometryError.because("GEO-008", "the tolerance for flattening an arc must be more than 0")
    step = 4.0 * np.arcsin(np.sqrt(np.minimum(tolerance / (2.0 * np.maximum(radius(s), 1e-300)), 1.0)))
    # A count that is whole but for rounding is whole.
    with np.errstate(invalid="ignore"):
        steps = np.ceil(np.where(step > 0.0, np.abs(sweep(s)) / step, 1.0) * (1.0 - 1e-12))
    steps = np.maximum(steps, 1.0).astype(np.intp)
    row = np.repeat(np.arange(len(s), dtype=np.intp), steps + 1)
    first = np.cumsum(steps + 1) - steps - 1
    t = (np.arange(len(row)) - first[row]) / steps[row]
    return point_at(s.take(row), t), row
