"""Raw parallels: every segment moved sideways, and what fills or trims the corners between them.

*Words.* A **region** is an outline with its holes; its segments are the **sources**. Seen along
the travel of its rings (outer ones counter-clockwise, holes clockwise) the outside lies on the
right. A positive distance moves to the right. A corner is **open** when the moved segments leave a
gap there, which a **fill** closes; it is **shut** when they cross, which trims both.

A line moves to a line; an arc to an arc of the same centre and bulge with radius r + d (turning
left) or r - d (turning right). An arc whose radius would be zero or less is left out: every point
of it would be nearer to the arc than the distance.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.geometry.chain import Segments
from convert.geometry.intersect import Meeting, intersect
from convert.geometry.plane import to_complex, to_points, unit

if TYPE_CHECKING:
    from convert.geometry.chain import Floats
    from convert.geometry.plane import Complexes, Flags, Ints

GENTLE = 1e-2
"""A corner that turns less (radians) is always rounded: a mitre there would differ by d / 80000."""
CUSP = np.pi - 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Sources:
    """All segments of many regions, ring by ring, seen from each region's own origin.

    Columns are (n,): ends and bulge, region, ring, the row that follows in the ring, and the segment's
    number in its region as the caller counts (`number`).
    """

    start: Complexes
    end: Complexes
    bulge: Floats
    region: Ints
    ring: Ints
    following: Ints
    number: Ints

    def __len__(self) -> int:
        return len(self.bulge)

    def table(self, rows: Ints | slice) -> Segments:
        """Return rows as a segment table."""
        return Segments(to_points(self.start[rows]), to_points(self.end[rows]), self.bulge[rows])


@dataclass(frozen=True, slots=True, eq=False)
class Pieces:
    """The raw parallel of many regions, in the order of the rings.

    Columns are (k,): ends and bulge, region, ring, the source row a piece is parallel to (`source`, -1 for
    fills), the row at whose end a fill lies (`corner`, else -1), whether its end is the next
    piece's start (`joined`), and whether it meets the next piece nowhere but there (`apart`).
    """

    start: Complexes
    end: Complexes
    bulge: Floats
    region: Ints
    ring: Ints
    source: Ints
    corner: Ints
    joined: Flags
    apart: Flags

    def __len__(self) -> int:
        return len(self.bulge)

    def take(self, rows: Ints | Flags | slice) -> Pieces:
        """Return the pieces that `rows` selects."""
        return Pieces(*(getattr(self, column)[rows] for column in self.__slots__))

    def table(self, rows: Ints | slice) -> Segments:
        """Return rows as a segment table."""
        return Segments(to_points(self.start[rows]), to_points(self.end[rows]), self.bulge[rows])


@dataclass(frozen=True, slots=True, eq=False)
class Tips:
    """Convex areas between a mitred or trimmed corner and its vertex: source row (k,), corners (k, 5)."""

    row: Ints
    corner: Complexes


def raw_offset(s: Sources, distance: float, reach: float | None, weld: Floats) -> tuple[Pieces, Tips]:
    """Return the raw parallel of every region at `distance`, and the tips of its corners.

    `reach` is how far from the vertex a corner is cut square across its bisector; without it corners
    are rounded. `weld` (n,) is the length below which two points are one, for each source row.
    """
    moved = _moved(s, distance, weld)
    turn = moved.turn
    smooth = 2 * abs(distance) * np.sin(np.abs(turn) / 2) <= weld
    both = moved.alive & moved.alive[s.following]
    opens = ~smooth & (turn * distance > 0)
    welded = np.flatnonzero(smooth & both)
    after = s.following[welded]
    middle = (moved.end[welded] + moved.start[after]) / 2
    moved.end[welded] = middle
    moved.start[after] = middle
    shut = np.flatnonzero(~smooth & (turn * distance < 0) & both)
    met, once = _trim(s, moved, shut, distance, weld)
    linked = np.zeros(len(s), dtype=np.bool_)
    linked[welded] = linked[met] = True
    linked &= moved.alive & moved.alive[s.following]
    apart = np.ones(len(s), dtype=np.bool_)
    apart[met] = once
    corner = np.flatnonzero(opens)
    fills, tips = _fills(s, moved, corner, distance, reach, weld)
    return _in_order(s, moved, fills, opens, linked, apart), tips


@dataclass(slots=True, eq=False)
class _Moved:
    """Segments moved sideways, being trimmed: columns (n,) as in Sources.

    `leave` and `arrive` are unit directions, `turn` the angle at each segment's end, `alive` is
    false for segments of which nothing is left.
    """

    start: Complexes
    end: Complexes
    bulge: Floats
    leave: Complexes
    arrive: Complexes
    turn: Floats
    alive: Flags


@dataclass(frozen=True, slots=True, eq=False)
class _Fills:
    """What closes open corners: corner's source row, place in it, ends and bulge, each (k,)."""

    row: Ints
    place: Ints
    start: Complexes
    end: Complexes
    bulge: Floats


def _moved(s: Sources, distance: float, weld: Floats) -> _Moved:
    chord, b = s.end - s.start, s.bulge
    leave, arrive = unit(chord * (1 - 1j * b) ** 2), unit(chord * (1 + 1j * b) ** 2)
    line = b == 0
    safe = np.where(line, 1.0, b)
    curvature = np.where(line, 0.0, 4 * safe / ((1 + safe * safe) * np.abs(chord)))
    # r + d for an arc turning left, r - d for one turning right, in units of r.
    alive = 1 + curvature * distance > weld * np.abs(curvature)
    after = s.following
    turn = np.angle(leave[after] * np.conj(arrive))
    # At a cusp both sides leave in one direction: which lies left tells a tip from a slit.
    cusp = np.abs(turn) > CUSP
    turn = np.where(cusp, np.where(curvature + curvature[after] < 0, 1.0, -1.0) * np.abs(turn), turn)
    start, end = s.start - 1j * distance * leave, s.end - 1j * distance * arrive
    return _Moved(start, end, b.copy(), leave, arrive, turn, alive)


def _trim(s: Sources, moved: _Moved, shut: Ints, distance: float, weld: Floats) -> tuple[Ints, Flags]:
    """Cut neighbours where they cross at each shut corner; return which did, and which cross only there.

    What is cut off is nearer to the neighbour than the distance. A segment cut at both ends so that
    nothing is left is dead, and so is all of it: each part is off one neighbour or the other.
    """
    after = s.following[shut]
    t_end, t_start = np.full(len(shut), np.nan), np.full(len(shut), np.nan)
    place = np.zeros(len(shut), dtype=np.complex128)
    once = np.ones(len(shut), dtype=np.bool_)
    straight = (s.bulge[shut] == 0) & (s.bulge[after] == 0)
    at = np.flatnonzero(straight)
    i, j = shut[at], after[at]
    back = abs(distance) * np.tan(np.abs(moved.turn[i]) / 2)
    share_i = back / np.abs(s.end[i] - s.start[i])
    share_j = back / np.abs(s.end[j] - s.start[j])
    fits = (share_i <= 1) & (share_j <= 1)
    t_end[at] = np.where(fits, 1 - share_i, np.nan)
    t_start[at] = np.where(fits, share_j, np.nan)
    place[at] = moved.end[i] - moved.arrive[i] * back
    at = np.flatnonzero(~straight)
    if len(at):
        i, j = shut[at], after[at]
        a, b = (Segments(to_points(moved.start[k]), to_points(moved.end[k]), s.bulge[k]) for k in (i, j))
        meet = intersect(a, b, float(weld[shut].min()))
        # Nearest to the corner on both: last on the one, first on the other.
        last = np.maximum(meet.count - 1, 0)
        row = np.arange(len(at))
        ta, tb = meet.t_a[row, last], meet.t_b[row, last]
        fine = (meet.count == 1) | ((meet.count == 2) & (tb <= meet.t_b[row, 0]))
        fine &= meet.kind != Meeting.OVERLAP
        t_end[at], t_start[at] = np.where(fine, ta, np.nan), np.where(fine, tb, np.nan)
        place[at] = to_complex(meet.points[row, last])
        once[at] = meet.count == 1
    met = ~np.isnan(t_end)
    shut, after, once = shut[met], after[met], once[met]
    first, last_t = np.zeros(len(s)), np.ones(len(s))
    last_t[shut], first[after] = t_end[met], t_start[met]
    moved.end[shut] = moved.start[after] = place[met]
    cut = np.unique(np.concatenate((shut, after)))
    moved.alive[cut] &= last_t[cut] > first[cut]
    arcs = cut[(s.bulge[cut] != 0) & moved.alive[cut]]
    moved.bulge[arcs] = np.tan((last_t[arcs] - first[arcs]) * np.arctan(s.bulge[arcs]))
    return shut, once


def _fills(
    s: Sources, moved: _Moved, corner: Ints, distance: float, reach: float | None, weld: Floats
) -> tuple[_Fills, Tips]:
    """Close open corners. Lines are made longer up to a mitre rather than followed by another line."""
    after = s.following[corner]
    e1, e2, turn = moved.end[corner], moved.start[after], moved.turn[corner]
    pointed = np.abs(turn) >= GENTLE if reach is not None else np.zeros(len(corner), dtype=np.bool_)
    soft = ~pointed
    zero = np.zeros(int(soft.sum()), dtype=np.intp)
    round_ones = _Fills(corner[soft], zero, e1[soft], e2[soft], np.tan(turn[soft] / 4))
    if reach is None or not pointed.any():
        return round_ones, Tips(np.zeros(0, dtype=np.intp), np.zeros((0, 4), dtype=np.complex128))
    corner, after, e1, e2, turn = corner[pointed], after[pointed], e1[pointed], e2[pointed], turn[pointed]
    vertex, half = s.end[corner], np.abs(turn) / 2
    inner = abs(distance) * np.cos(half)
    with np.errstate(divide="ignore"):
        whole = distance * distance / inner <= reach
    # Along the tangent to the mitre's point, or to the square cut at `reach` along the bisector.
    along = np.where(whole, abs(distance) * np.tan(half), (reach - inner) / np.sin(half))
    q1, q2 = e1 + moved.arrive[corner] * along, e2 - moved.leave[after] * along
    q2[whole] = q1[whole]
    tips = Tips(corner, np.stack((vertex, e1, q1, q2, e2), axis=1))
    longer_i = (s.bulge[corner] == 0) & moved.alive[corner]
    longer_j = (s.bulge[after] == 0) & moved.alive[after]
    moved.end[corner[longer_i]] = q1[longer_i]
    moved.start[after[longer_j]] = q2[longer_j]
    parts = [round_ones]
    for place, keep, start, end in (
        (0, ~longer_i & (along > weld[corner]), e1, q1),
        (1, ~whole, q1, q2),
        (2, ~longer_j & (along > weld[corner]), q2, e2),
    ):
        rows = corner[keep]
        parts.append(_Fills(rows, np.full(len(rows), place), start[keep], end[keep], np.zeros(len(rows))))
    return _Fills(*(np.concatenate([getattr(p, c) for p in parts]) for c in _Fills.__slots__)), tips


def _in_order(s: Sources, moved: _Moved, fills: _Fills, opens: Flags, linked: Flags, apart: Flags) -> Pieces:
    """Put segments and fills in the order of the rings."""
    rows = np.flatnonzero(moved.alive)
    key = np.concatenate((rows * 4, fills.row * 4 + 1 + fills.place))
    order = np.argsort(key, kind="stable")
    row = key[order] // 4
    is_fill = order >= len(rows)
    start = np.concatenate((moved.start[rows], fills.start))[order]
    end = np.concatenate((moved.end[rows], fills.end))[order]
    bulge = np.concatenate((moved.bulge[rows], fills.bulge))[order]
    last = np.append(row[1:] != row[:-1], [True])[: len(row)]
    # A fill's last part leads to the next segment; a segment to its fill or, linked, to the next.
    onward = np.where(opens[row], moved.alive[s.following[row]], linked[row])
    joined = ~last | onward
    none = np.full(len(row), -1)
    return Pieces(
        start,
        end,
        bulge,
        s.region[row],
        s.ring[row],
        np.where(is_fill, none, row),
        np.where(is_fill, row, none),
        joined,
        ~last | opens[row] | apart[row],
    )
