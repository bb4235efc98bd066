"""Joining neighbours that lie on one line or one circle.

*Words.* A **run** is a stretch of a chain from one vertex to a later one, tried as one segment. It
holds when every vertex and every segment's middle is within the tolerance of that segment. A run
that doesn't hold is cut at its worst vertex, and both parts are tried again.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.geometry.chain import Chain, Segments
from convert.geometry.nearest import distance_pairs
from convert.geometry.plane import cross, dot, to_complex
from convert.geometry.segment import end_tangent, lengths, midpoint, point_at, start_tangent, sweep

if TYPE_CHECKING:
    from convert.geometry.chain import Floats
    from convert.geometry.plane import Flags, Ints

_HALF_TURN = np.pi * (1.0 + 1e-10)
"""How far a run may turn: a half circle, and rounding."""


def merge_smooth(chain: Chain, tolerance: float) -> Chain:
    """Return the chain with neighbours joined that lie on one line or one circle within `tolerance`.

    No vertex moves; some go. A full circle becomes half circles where it has vertices for them. The first
    vertex stays the first, unless it goes: then the next that stays is first.
    """
    count = len(chain)
    if count < 2:
        return chain
    smooth = _smooth(chain, tolerance)
    shift = 0
    if chain.closed and smooth[0] and not smooth.all():
        shift = int(np.flatnonzero(~smooth)[0])
        chain, smooth = _rolled(chain, shift), np.roll(smooth, -shift)
    corner = np.flatnonzero(~smooth)
    corner = corner if len(corner) and corner[0] == 0 else np.r_[0, corner]
    first, last, bulge = _joined(_Runs(chain.segments, smooth), corner, np.r_[corner[1:], count], tolerance)
    if len(first) == count or (chain.closed and len(first) < 2):
        return _rolled(chain, -shift)
    points = chain.points[first] if chain.closed else chain.points[np.r_[first, last[-1]]]
    return Chain(points, bulge, chain.closed)


class _Runs:
    """What is needed to try runs of a chain: sums along it, and its segments."""

    def __init__(self, s: Segments, smooth: Flags) -> None:
        self.segments = s
        self.ends = np.concatenate((s.start, s.end[-1:]))
        self.middle = midpoint(s)
        self.length = np.r_[0.0, np.cumsum(lengths(s))]
        self.arcs = np.r_[0, np.cumsum(s.is_arc)]
        # A bend counts half before and half after its vertex, as if the chain were chords of an arc;
        # corners, where runs begin and end, are no part of them.
        bend = np.where(smooth, _bend(s), 0.0)
        after = np.r_[bend[1:], bend[:1]]
        self.turned = np.r_[0.0, np.cumsum(bend / 2 + np.abs(sweep(s)) + after / 2)]

    def farthest(self, first: Ints) -> Ints:
        """Return the latest ends of runs from `first` that turn through no more than a half circle."""
        reach = np.searchsorted(self.turned, self.turned[first] + _HALF_TURN, side="right") - 1
        out: Ints = np.maximum(reach, first + 1)
        return out

    def as_one(self, first: Ints, last: Ints, tolerance: float) -> Segments:
        """Return the segments that stand for runs: through both ends and the point half way along."""
        half = (self.length[first] + self.length[last]) / 2
        row = np.clip(np.searchsorted(self.length, half, side="right") - 1, first, last - 1)
        own = self.length[row + 1] - self.length[row]
        t = np.clip((half - self.length[row]) / np.where(own > 0.0, own, 1.0), 0.0, 1.0)
        p, q = to_complex(self.ends[first]), to_complex(self.ends[last])
        m = to_complex(point_at(self.segments.take(row), t))
        bulge = np.tan(np.arctan2(cross(m - p, q - m), dot(m - p, q - m)) / 2)
        straight = self.arcs[first] == self.arcs[last]
        flat = straight & (np.abs(bulge * (q - p)) / 2 <= tolerance)
        bulge = np.where(flat, 0.0, np.clip(bulge, -1.0, 1.0))
        return Segments(self.ends[first], self.ends[last], bulge)

    def strays(self, one: Segments, first: Ints, last: Ints) -> tuple[Floats, Ints]:
        """Return how far runs stray from the segments standing for them, and their worst inner vertices."""
        count = last - first - 1
        run = np.repeat(np.arange(len(first)), count)
        begin = np.cumsum(count) - count
        vertex = np.arange(len(run)) - begin[run] + first[run] + 1
        table = one.take(run)
        off = distance_pairs(table, self.ends[vertex])[0]
        before = distance_pairs(table, self.middle[vertex - 1])[0]
        after = distance_pairs(table, self.middle[vertex])[0]
        most = np.maximum.reduceat(off, begin)
        tops = np.flatnonzero(off == most[run])
        worst = vertex[tops[np.searchsorted(run[tops], np.arange(len(first)))]]
        return np.maximum.reduceat(np.maximum(off, np.maximum(before, after)), begin), worst


def _joined(runs: _Runs, first: Ints, last: Ints, tolerance: float) -> tuple[Ints, Ints, Floats]:
    """Return start, end and bulge of the segments that stand for the runs, in order along the chain."""
    done: list[tuple[Ints, Ints, Floats]] = []
    while len(first):
        reach = np.minimum(runs.farthest(first), last)
        rest = reach < last
        waiting = (reach[rest], last[rest])
        last = reach
        one = last - first == 1
        done.append((first[one], last[one], runs.segments.bulge[first[one]]))
        first, last = first[~one], last[~one]
        cut = np.zeros(0, dtype=np.intp)
        left, right = first[:0], first[:0]
        if len(first):
            table = runs.as_one(first, last, tolerance)
            stray, worst = runs.strays(table, first, last)
            holds = stray <= tolerance
            done.append((first[holds], last[holds], table.bulge[holds]))
            left, right, cut = first[~holds], last[~holds], worst[~holds]
        first = np.concatenate((left, cut, waiting[0]))
        last = np.concatenate((cut, right, waiting[1]))
    starts, ends, bulge = (np.concatenate(column) for column in zip(*done, strict=True))
    order = np.argsort(starts, kind="stable")
    return starts[order], ends[order], bulge[order]


def _smooth(chain: Chain, tolerance: float) -> Flags:
    """Tell for each segment whether it and the one before it make one line or arc."""
    s = chain.segments
    pair = np.arange(0 if chain.closed else 1, len(chain))
    # The last segment stands before the first one too; of an open chain that pair isn't asked about.
    around = s.take(np.r_[len(s) - 1, : len(s)])
    smooth = np.zeros(len(s), dtype=np.bool_)
    runs = _Runs(around, np.r_[False, smooth])
    turned = np.abs(sweep(s))
    short = (turned + np.roll(turned, 1) + _bend(s))[pair] <= _HALF_TURN
    stray, _ = runs.strays(runs.as_one(pair, pair + 2, tolerance), pair, pair + 2)
    smooth[pair] = short & (stray <= tolerance)
    return smooth


def _bend(s: Segments) -> Floats:
    """Return the unsigned angles by which direction changes at the starts of rows (at 0: from the last)."""
    arrive, leave = np.roll(to_complex(end_tangent(s)), 1), to_complex(start_tangent(s))
    out: Floats = np.abs(np.arctan2(cross(arrive, leave), dot(arrive, leave)))
    return out


def _rolled(chain: Chain, shift: int) -> Chain:
    """Return a closed chain begun `shift` vertices later."""
    if not shift:
        return chain
    return Chain(np.roll(chain.points, -shift, axis=0), np.roll(chain.bulge, -shift), closed=True)
