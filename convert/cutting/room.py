"""Room: which boxes lie clear inside which outlines.

*Words.* A **box** is a rectangle that may be turned: its middle, half its width and height (as one
complex number), and the direction of its width (a complex number of length 1).

A box lies inside when its middle does and no line comes into it. Arcs are looked at as chords no
farther than FINE from them, which is much less than any clearance asked for.
*Source*: a line and a rectangle are apart when their shadows are on the rectangle's two axes or on the
line's normal (separating axes, common practice).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.geometry.chain import Segments
from convert.geometry.edit import flatten_table
from convert.geometry.groups import group_pairs
from convert.geometry.plane import cross, to_complex

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.geometry.chain import Chain, Floats
    from convert.geometry.plane import Complexes, Flags, Ints

FINE = 0.05
"""Farthest of a chord from its arc, mm."""


def polyline(chains: Sequence[Chain]) -> tuple[Complexes, Complexes, Ints]:
    """Return starts and ends of chords along chains, and the number of the chain of each."""
    tables = [chain.segments for chain in chains]
    if not tables:
        return np.zeros(0, complex), np.zeros(0, complex), np.zeros(0, np.intp)
    table = Segments(
        np.concatenate([t.start for t in tables]),
        np.concatenate([t.end for t in tables]),
        np.concatenate([t.bulge for t in tables]),
    )
    points, row = flatten_table(table, FINE)
    z = to_complex(points)
    inner = np.flatnonzero(row[1:] == row[:-1])
    chain = np.repeat(np.arange(len(tables)), [len(t) for t in tables])
    return z[inner], z[inner + 1], chain[row[inner]]


class Room:
    """The free places of many shapes, each an outline with its holes."""

    def __init__(self, shapes: Sequence[Sequence[Chain]]) -> None:
        chains = [chain for shape in shapes for chain in shape]
        owner = np.repeat(np.arange(len(shapes)), [len(shape) for shape in shapes])
        p, q, chain = polyline(chains)
        self._p, self._q, self._owner = p, q, owner[chain]
        self._rim = np.ones(len(p), bool)
        self._count = len(shapes)
        self._index()

    def _index(self) -> None:
        self._start = np.searchsorted(self._owner, np.arange(self._count + 1))

    def view(self, shape: int, way: complex) -> View:
        """Return one shape turned so that boxes along `way` (of length 1) are upright."""
        rows = slice(int(self._start[shape]), int(self._start[shape + 1]))
        back = way.conjugate()
        return View(self._p[rows] * back, self._q[rows] * back, self._rim[rows])

    def with_lines(self, owner: Ints, p: Complexes, q: Complexes) -> Room:
        """Return this room with lines from `p` to `q` (n,) drawn in the shapes `owner` (n,)."""
        other = object.__new__(Room)
        owners = np.concatenate((self._owner, owner))
        order = np.argsort(owners, kind="stable")
        other._p, other._q = np.concatenate((self._p, p))[order], np.concatenate((self._q, q))[order]
        other._rim = np.concatenate((self._rim, np.zeros(len(p), bool)))[order]
        other._owner, other._count = owners[order], self._count
        other._index()
        return other

    def clear(self, shape: Ints, middle: Complexes, half: Complexes, way: Complexes, away: Floats) -> Flags:
        """Tell which boxes (m,) lie inside their shapes, at least `away` mm from every line there."""
        out = np.zeros(len(shape), bool)
        grown = half + away * (1 + 1j)
        for block, who, row in group_pairs(self._start, shape):
            back = way[who].conj()
            p, q = (self._p[row] - middle[who]) * back, (self._q[row] - middle[who]) * back
            hits = comes_in(p, q, grown[who])
            # Inside, a ray along the box meets the rim an odd number of times.
            rim = self._rim[row] & ((p.imag > 0.0) != (q.imag > 0.0))
            rim[rim] = cross(p[rim], q[rim]) * (q[rim].imag - p[rim].imag) > 0.0
            mine = who - block.start
            size = block.stop - block.start
            out[block] = (np.bincount(mine, rim, size) % 2 == 1) & (np.bincount(mine, hits, size) == 0)
        return out


class View:
    """One shape, for many questions about upright boxes of one size."""

    def __init__(self, p: Complexes, q: Complexes, rim: Flags) -> None:
        self._middle, self._reach = (p + q) / 2, (q - p) / 2
        self._across, self._along = np.abs(self._reach.real), np.abs(self._reach.imag)
        p, q = p[rim], q[rim]
        self._low, self._high = np.minimum(p.imag, q.imag), np.maximum(p.imag, q.imag)
        rise = np.where(self._high > self._low, q.imag - p.imag, 1.0)
        self._slope = (q.real - p.real) / rise
        self._foot = p.real - p.imag * self._slope
        self.box = (p.real.min(), p.imag.min(), p.real.max(), p.imag.max())

    def inside(self, z: Complexes) -> Flags:
        """Tell which points (k,) are inside: a ray to the right meets the rim an odd number of times."""
        y = z.imag[:, None]
        level = (self._low <= y) & (y < self._high)
        flags: Flags = (level & (self._foot + y * self._slope > z.real[:, None])).sum(axis=1) % 2 == 1
        return flags

    def clear(self, middle: Complexes, half: complex) -> Flags:
        """Tell which boxes about `middle` (k,), whose middles are inside, no line comes into."""
        off = self._middle - middle[:, None]
        hits = (np.abs(off.real) < half.real + self._across) & (np.abs(off.imag) < half.imag + self._along)
        apart = np.abs(self._reach.real * off.imag - self._reach.imag * off.real)
        hits &= apart < half.real * self._along + half.imag * self._across
        flags: Flags = np.logical_not(hits.any(axis=1))
        return flags


def comes_in(p: Complexes, q: Complexes, half: Complexes) -> Flags:
    """Tell which lines from p to q come into upright boxes about 0 with these halves; all broadcast."""
    middle, reach = (p + q) / 2, (q - p) / 2
    across, along = np.abs(reach.real), np.abs(reach.imag)
    flags: Flags = (np.abs(middle.real) < half.real + across) & (np.abs(middle.imag) < half.imag + along)
    flags &= np.abs(cross(reach, middle)) < half.real * along + half.imag * across
    return flags
