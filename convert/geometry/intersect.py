"""Where segments meet: lines and arcs in any mixture, pair by pair, many pairs at once.

*Words.* Two points nearer than `same_point` are one point; every comparison is a length. A
**contact** is an end of one segment that lies on the other. A **crossing** is a common point inside
both. Two meetings are **connected** when the stretch between them on either segment stays within
`same_point` of the other segment; it is enough to look at its middle, because lines and circles that
agree at three points agree between them.

So the rules are the same for lines, arcs, and arcs that are nearly lines:

1. Find the contacts. The ends of a shared run are ends of segments, so two contacts that are
   connected and farther apart than a point are an overlap, and there is nothing else to find.
2. Find the crossings (crossing.py). One that is connected with a contact is that contact.

Two arcs of one circle can't share two runs: neither turns more than a half circle, so together they
reach round only as two half circles that touch at both ends.

Coordinates are taken from the middle of both segments' ends, so places far from the origin
lose nothing, and the order of the two segments changes nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from convert.errors import GeometryError
from convert.geometry.crossing import Curves, crossings
from convert.geometry.plane import to_complex, to_points

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.geometry.chain import Floats, Segments
    from convert.geometry.plane import Complexes, Flags, Ints

_BLOCK = 1 << 15
"""Rows worked on in one go: their columns fit into a processor's cache."""
_COLUMNS = 6
"""Candidates of one pair: four ends, two crossings."""


class Meeting(IntEnum):
    """How two segments meet: not; at ends or tangents only; crossing somewhere; along a shared run."""

    NONE = 0
    TOUCH = 1
    CROSS = 2
    OVERLAP = 3


@dataclass(frozen=True, slots=True, eq=False)
class Meetings:
    """The meetings of n pairs of segments.

    *Shapes*: `kind` (n,) Meeting codes; `count` (n,) 0 to 2; `points` (n, 2, 2), `t_a` and `t_b` (n, 2), in
    order of t_a and nan beyond the count. An overlap has the two ends of the shared run.
    Fractions t are exactly 0 or 1 when a point lies within same_point of that end.
    """

    kind: NDArray[np.int8]
    count: NDArray[np.int8]
    points: Floats
    t_a: Floats
    t_b: Floats


@dataclass(slots=True)
class _Found:
    """Candidates of k pairs: fractions on both, place, and which of them count, each (k, _COLUMNS)."""

    t_a: Floats
    t_b: Floats
    at: Complexes
    ok: Flags

    def sort(self) -> None:
        """Put what counts first, in order of t_a."""
        order = np.argsort(np.where(self.ok, self.t_a, np.inf), axis=1, kind="stable")
        self.t_a, self.t_b = np.take_along_axis(self.t_a, order, 1), np.take_along_axis(self.t_b, order, 1)
        self.at, self.ok = np.take_along_axis(self.at, order, 1), np.take_along_axis(self.ok, order, 1)

    def take(self, rows: Ints) -> _Found:
        """Return a copy of some rows."""
        return _Found(self.t_a[rows], self.t_b[rows], self.at[rows], self.ok[rows])

    def put(self, rows: Ints, some: _Found) -> None:
        """Put rows back."""
        self.t_a[rows], self.t_b[rows], self.at[rows], self.ok[rows] = some.t_a, some.t_b, some.at, some.ok


def intersect(a: Segments, b: Segments, same_point: float) -> Meetings:
    """Return how row i of `a` meets row i of `b`, for all rows.

    *Errors*: GeometryError when the tables have different lengths or `same_point` is not positive.
    """
    if len(a) != len(b):
        raise GeometryError.because("GEO-009", "two tables of segments have different lengths")
    if not same_point > 0.0:
        raise GeometryError.because("GEO-011", "the distance of points that count as one must be more than 0")
    n = len(a)
    out = Meetings(
        np.zeros(n, dtype=np.int8),
        np.zeros(n, dtype=np.int8),
        np.full((n, 2, 2), np.nan),
        np.full((n, 2), np.nan),
        np.full((n, 2), np.nan),
    )
    for first in range(0, n, _BLOCK):
        rows = _near(a, b, first, same_point)
        if len(rows):
            _meet(out, rows, _curves(a, rows), _curves(b, rows), same_point)
    for column in (out.kind, out.count, out.points, out.t_a, out.t_b):
        column.flags.writeable = False
    return out


def _near(a: Segments, b: Segments, first: int, same_point: float) -> Ints:
    """Return rows of the block from `first`: their boxes meet, and lines reach each other's line."""
    block = slice(first, first + _BLOCK)
    (low_a, high_a), (low_b, high_b) = _reach(a, block), _reach(b, block)
    gap = np.maximum(low_a, low_b) - np.minimum(high_a, high_b)
    near = (gap[:, 0] <= same_point) & (gap[:, 1] <= same_point)
    rows: Ints = np.flatnonzero(near) + first
    straight = (a.bulge[rows] == 0.0) & (b.bulge[rows] == 0.0)
    if straight.any():
        lines = rows[straight]
        p, q = to_complex(a.start[lines]), to_complex(a.end[lines])
        r, s = to_complex(b.start[lines]), to_complex(b.end[lines])
        apart = _one_sided(p, q - p, r, s, same_point) | _one_sided(r, s - r, p, q, same_point)
        keep = np.ones(len(rows), dtype=np.bool_)
        keep[straight] = ~apart
        rows = rows[keep]
    return rows


def _reach(s: Segments, block: slice) -> tuple[Floats, Floats]:
    """Return boxes that are never too small: the chord's, stretched by the sagitta of an arc."""
    p, q, b = s.start[block], s.end[block], s.bulge[block]
    low, high = np.minimum(p, q), np.maximum(p, q)
    arcs = np.flatnonzero(b)
    if len(arcs):
        chord = q[arcs] - p[arcs]
        bow = np.stack((chord[:, 1], -chord[:, 0]), axis=1) * (b[arcs] / 2)[:, None]
        low[arcs] += np.minimum(bow, 0.0)
        high[arcs] += np.maximum(bow, 0.0)
    return low, high


def _one_sided(p: Complexes, c: Complexes, r: Complexes, s: Complexes, same_point: float) -> Flags:
    """Tell where r and s lie on one side of the line from p along c, both farther than a point."""
    u, v = r - p, s - p
    left = c.real * u.imag - c.imag * u.real
    right = c.real * v.imag - c.imag * v.real
    # Twice the distance, because rounding may matter here while it doesn't nearer by.
    least = 2.0 * same_point * np.abs(c)
    out: Flags = ((left > least) & (right > least)) | ((left < -least) & (right < -least))
    return out


def _curves(s: Segments, rows: Ints) -> Curves:
    return Curves.of(to_complex(s.start[rows]), to_complex(s.end[rows]), s.bulge[rows])


def _meet(out: Meetings, rows: Ints, a: Curves, b: Curves, same_point: float) -> None:
    """Fill in the rows of `out`."""
    there = (a, b)
    origin = _between(a, b)
    a, b = a.moved(-origin), b.moved(-origin)
    found = _contacts(a, b, same_point)
    overlap = np.zeros(len(rows), dtype=np.bool_)
    several = np.flatnonzero(found.ok.sum(axis=1) > 1)
    if len(several):
        overlap[several] = _join_contacts(found, several, a, b, same_point)
    # Two lines that touch and don't overlap have nothing else in common.
    straight = (a.bulge == 0.0) & (b.bulge == 0.0)
    rest = np.flatnonzero(~overlap & ~(straight & found.ok.any(axis=1)))
    crossing = np.zeros(len(rows), dtype=np.bool_)
    if len(rest):
        crossing[rest] = _add_crossings(found, rest, a, b, same_point)
    found.sort()
    two = slice(0, 2)
    ok = found.ok[:, two]
    kind = np.where(ok[:, 0], int(Meeting.TOUCH), int(Meeting.NONE))
    kind = np.where(crossing, int(Meeting.CROSS), kind)
    out.kind[rows] = np.where(overlap, int(Meeting.OVERLAP), kind)
    out.count[rows] = ok.sum(axis=1)
    out.t_a[rows] = np.where(ok, found.t_a[:, two], np.nan)
    out.t_b[rows] = np.where(ok, found.t_b[:, two], np.nan)
    places = found.at[:, two] + origin[:, None]
    out.points[rows] = np.where(ok[:, :, None], to_points(_snapped(places, found, *there)), np.nan)


def _snapped(places: Complexes, found: _Found, a: Curves, b: Curves) -> Complexes:
    """Return places with the given coordinates of ends wherever ends meet, between both if both do."""
    ends = []
    for curve, t in ((a, found.t_a[:, :2]), (b, found.t_b[:, :2])):
        at_end = np.where(t == 0.0, curve.p[:, None], np.where(t == 1.0, curve.q[:, None], places))
        ends.append((at_end, (t == 0.0) | (t == 1.0)))
    (on_a, is_a), (on_b, is_b) = ends
    out: Complexes = np.where(is_a & is_b, (on_a + on_b) / 2, np.where(is_a, on_a, on_b))
    return out


def _between(a: Curves, b: Curves) -> Complexes:
    """Return the middle between the ends of both curves that are neither lowest nor highest."""
    ends = np.stack((a.p, a.q, b.p, b.q), axis=1)
    x, y = np.sort(ends.real, axis=1), np.sort(ends.imag, axis=1)
    return to_complex(np.stack((x[:, 1] + x[:, 2], y[:, 1] + y[:, 2]), axis=1) / 2)


def _contacts(a: Curves, b: Curves, same_point: float) -> _Found:
    """Return the ends of `a` that lie on `b` (columns 0 and 1) and the ends of `b` on `a` (2 and 3)."""
    shape = (len(a), _COLUMNS)
    flags, places = np.zeros(shape, dtype=np.bool_), np.zeros(shape, dtype=np.complex128)
    found = _Found(np.zeros(shape), np.zeros(shape), places, flags)
    for column, (ends, curve) in enumerate(((a, b), (a, b), (b, a), (b, a))):
        which = column % 2
        x = ends.end(which)
        rows = np.flatnonzero(np.abs(curve.side(x)) <= same_point)
        here, spot = curve.take(rows), x[rows]
        t = here.fraction(spot)
        to_p, to_q = np.abs(spot - here.p), np.abs(spot - here.q)
        at_p = np.minimum(to_p, np.where(t > 0.0, t * here.length, np.inf)) <= same_point
        at_q = np.minimum(to_q, np.where(t < 1.0, (1.0 - t) * here.length, np.inf)) <= same_point
        at_p, at_q = at_p & ~(at_q & (to_q < to_p)), at_q & ~(at_p & (to_p <= to_q))
        own, other = (found.t_a, found.t_b) if column < 2 else (found.t_b, found.t_a)
        own[:, column] = which
        other[rows, column] = np.where(at_p, 0.0, np.where(at_q, 1.0, t))
        found.at[:, column] = x
        found.ok[rows, column] = at_p | at_q | ((t > 0.0) & (t < 1.0))
    # An end that meets an end was found from both.
    for i, j in combinations(range(4), 2):
        same = (found.t_a[:, i] == found.t_a[:, j]) & (found.t_b[:, i] == found.t_b[:, j])
        found.ok[:, j] &= ~(found.ok[:, i] & same)
    return found


def _join_contacts(found: _Found, rows: Ints, a: Curves, b: Curves, same_point: float) -> Flags:
    """Join connected contacts in `rows`: into overlaps (told in the result), or into one if they are near."""
    some = found.take(rows)
    some.sort()
    a, b = a.take(rows), b.take(rows)
    counted = some.ok.copy()
    first = np.zeros(len(rows), dtype=np.intp)
    last = np.full(len(rows), -1, dtype=np.intp)
    for i in range(3):
        both = np.flatnonzero(counted[:, i + 1])
        if not len(both):
            break
        pair = slice(i, i + 2)
        t_a, t_b = some.t_a[both, pair], some.t_b[both, pair]
        joined = _connected(a.take(both), b.take(both), t_a, t_b, same_point)
        far = np.abs(t_a[:, 1] - t_a[:, 0]) * a.length[both] > 2 * same_point
        far &= np.abs(t_b[:, 1] - t_b[:, 0]) * b.length[both] > 2 * same_point
        run = both[joined & far & ((last[both] < 0) | (last[both] == i))]
        first[run] = np.where(last[run] < 0, i, first[run])
        last[run] = i + 1
        near = both[joined & ~far]
        some.ok[near, i + 1] = False
        last[near] = np.where(last[near] == i, i + 1, last[near])
    overlap = last >= 0
    _keep(some.t_a, overlap, first, last)
    _keep(some.t_b, overlap, first, last)
    _keep(some.at, overlap, first, last)
    some.ok[overlap] = np.arange(_COLUMNS) < 2
    found.put(rows, some)
    return overlap


def _keep(column: NDArray[np.inexact], rows: Flags, first: Ints, last: Ints) -> None:
    """Move the candidates `first` and `last` of some rows to the front."""
    i, j = first[rows], last[rows]
    some = np.flatnonzero(rows)
    column[some, 0], column[some, 1] = column[some, i], column[some, j]


def _connected(a: Curves, b: Curves, t_a: Floats, t_b: Floats, same_point: float) -> Flags:
    """Tell where both curves stay together between fractions t_a (n, 2) of `a` and t_b (n, 2) of `b`."""
    near_b = b.distance(a.at(t_a.mean(axis=1))) <= same_point
    out: Flags = near_b & (a.distance(b.at(t_b.mean(axis=1))) <= same_point)
    return out


def _add_crossings(found: _Found, rows: Ints, a: Curves, b: Curves, same_point: float) -> Flags:
    """Add to `rows` what crosses or is tangent and not connected with a contact; tell which rows cross."""
    a, b = a.take(rows), b.take(rows)
    at, ok, touch = crossings(a, b, same_point)
    for j in (0, 1):
        new = np.flatnonzero(ok[:, j])
        x, new_a, new_b = at[new, j], a.take(new), b.take(new)
        t_a, t_b = new_a.fraction(x), new_b.fraction(x)
        fresh = np.ones(len(new), dtype=np.bool_)
        for i in range(4):
            old = np.flatnonzero(found.ok[rows[new], i])
            if len(old):
                row = rows[new[old]]
                along_a = np.stack((found.t_a[row, i], t_a[old]), axis=1)
                along_b = np.stack((found.t_b[row, i], t_b[old]), axis=1)
                fresh[old] &= ~_connected(new_a.take(old), new_b.take(old), along_a, along_b, same_point)
        # Two lines or circles meet twice at most: with two contacts, a third place is rounding.
        fresh &= found.ok[rows[new]].sum(axis=1) < 2
        ok[new, j] = fresh
        into = rows[new]
        found.t_a[into, 4 + j], found.t_b[into, 4 + j], found.at[into, 4 + j] = t_a, t_b, x
        found.ok[into, 4 + j] = fresh
    crossing: Flags = ok.any(axis=1) & ~touch
    return crossing
