"""Seams as they are sewn, and what is measured along them.

*Words.* A **seam** is here a longest run of edges that has the same two pieces (or a piece and the
outside) on its sides and no corner on its way: what is sewn in one go. Its **first** piece comes first
in the block's order and lies on its left; the seam runs counter-clockwise round it. Places along a seam
are in mm from its start. They are worked out once for both pieces, so that both have the same bits.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi
from typing import TYPE_CHECKING

import numpy as np

from convert.block.model import OUTSIDE
from convert.block.pieces import half_edge_table
from convert.geometry.measure import end_tangent, lengths, point_at, start_tangent, sweep
from convert.geometry.plane import to_complex

if TYPE_CHECKING:
    from convert.block.model import Block
    from convert.geometry.chain import Floats, Segments
    from convert.geometry.plane import Complexes, Flags, Ints

CORNER = pi / 15.0
"""A turn of 12 degrees or more is a corner: cloth is folded anew there."""


@dataclass(frozen=True, slots=True, eq=False)
class Seams:
    """All seams of a block, k of them, those between two pieces first.

    *Shapes*: `table` holds their edges, seam after seam: those of seam i are rows start[i] to
    start[i + 1]. `first`, `second` (k,) are numbers of pieces, `second` is OUTSIDE at the block's rim.
    `closed` (k,): it returns to its start. `length` (k,) in mm; `turning` (k,): all its turning, left and
    right alike, in radians. `number` (k,) counts the seams between two pieces from 1; 0 at the rim.
    """

    table: Segments
    start: Ints
    first: Ints
    second: Ints
    closed: Flags
    length: Floats
    turning: Floats
    number: Ints

    def __len__(self) -> int:
        return len(self.first)

    def places(self, seam: Ints, along: Floats) -> tuple[Complexes, Complexes]:
        """Return the points `along` mm from the seams' starts and the directions there, as complex numbers.

        *Shapes*: all (m,). On a closed seam the way goes on round.
        """
        long = lengths(self.table)
        end = np.cumsum(long)
        before = end - long
        on = np.where(self.closed[seam], along % self.length[seam], along)
        at = before[self.start[seam]] + on
        row = np.clip(np.searchsorted(end, at, side="left"), self.start[seam], self.start[seam + 1] - 1)
        t = np.clip((at - before[row]) / long[row], 0.0, 1.0)
        rows = self.table.take(row)
        way = to_complex(start_tangent(rows)) * np.exp(1j * t * sweep(rows))
        return to_complex(point_at(rows, t)), way


def seams_of(block: Block) -> Seams:
    """Return the seams of a block, in the order of their pieces and then round the first of them."""
    planar = block.map
    count = 2 * planar.edge_count
    piece = np.full(planar.face_count + 1, OUTSIDE)  # the last entry serves OUTSIDE (-1)
    piece[[p.face for p in block.pieces]] = np.arange(len(block.pieces))
    left = piece[planar.face_of]
    right = left[np.arange(count) ^ 1]
    place = np.zeros(count, np.int64)
    order = np.concatenate([np.asarray(p.half_edges) for p in block.pieces])
    place[order] = np.arange(len(order))
    _, table = half_edge_table(planar)
    following = planar.next_half
    turn = to_complex(start_tangent(table))[following] * to_complex(end_tangent(table)).conj()
    goes_on = (right[following] == right) & (following[following ^ 1] == np.arange(count) ^ 1)
    goes_on &= turn.real > cos(CORNER)
    own = (left != OUTSIDE) & ((right == OUTSIDE) | (left < right))
    runs = [
        (*run, int(left[run[0][0]]), int(right[run[0][0]])) for run in _runs(own, goes_on, following, place)
    ]
    runs.sort(key=lambda run: (run[3] == OUTSIDE, run[2], run[3], place[run[0][0]]))
    rows = np.array([half for run in runs for half in run[0]], np.int64)
    sizes = np.array([len(run[0]) for run in runs], np.int64)
    start = np.concatenate(([0], np.cumsum(sizes)))
    second = np.array([run[3] for run in runs], np.int64)
    seam = np.repeat(np.arange(len(runs)), sizes)
    table, turn = table.take(rows), turn[rows]
    bend = np.abs(np.arctan2(turn.imag, turn.real))
    bend[start[1:] - 1] = 0.0
    return Seams(
        table=table,
        start=start,
        first=np.array([run[2] for run in runs], np.int64),
        second=second,
        closed=np.array([run[1] for run in runs], bool),
        length=_sums(seam, lengths(table), len(runs)),
        turning=_sums(seam, np.abs(sweep(table)) + bend, len(runs)),
        number=np.where(second == OUTSIDE, 0, np.arange(1, len(runs) + 1)),
    )


def _sums(seam: Ints, values: Floats, count: int) -> Floats:
    return np.asarray(np.bincount(seam, values, count), np.float64)


def _runs(own: Flags, goes_on: Flags, following: Ints, place: Ints) -> list[tuple[list[int], bool]]:
    """Return the half-edges of each run, and whether it is closed; a closed one starts at its first place."""
    before = np.zeros(len(own), bool)
    before[following[goes_on]] = True
    used = np.zeros(len(own), bool)
    found = []
    halves = np.flatnonzero(own)
    halves = halves[np.lexsort((place[halves], before[halves]))]
    for first in halves.tolist():
        if used[first]:
            continue
        run, half = [], first
        while not used[half]:
            run.append(half)
            used[half] = True
            if not goes_on[half]:
                break
            half = int(following[half])
        found.append((run, bool(before[first])))
    return found
