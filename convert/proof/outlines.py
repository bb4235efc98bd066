"""The proof's own measures of lines and arcs, in complex numbers.

They are written from the sweep angle and the circle's centre, and share nothing with
`convert.geometry.measure`, whose results they are there to check.

*Words.* A **table** is n segments: from `p` to `q` (complex, mm, y up), turning through `sweep`
radians, counter-clockwise positive, 0 for a line. `path` says for each segment which path of its
file it belongs to.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from convert.geometry.chain import Chain

    Floats = NDArray[np.float64]
    Points = NDArray[np.complex128]
    Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """n segments of `count` paths; see the words above. Segments of one path are contiguous and in order."""

    p: Points
    q: Points
    sweep: Floats
    path: Ints
    count: int

    def take(self, rows: NDArray[np.bool_] | Ints) -> Table:
        """Return some rows; paths keep their numbers."""
        return Table(self.p[rows], self.q[rows], self.sweep[rows], self.path[rows], self.count)


FLAT = 1e-9
"""An arc that rises less than this (mm) above its chord is measured as a line: its circle is too far away."""


def table_of(chains: Sequence[Chain]) -> Table:
    """Return the segments of `chains` as a table."""
    if not chains:
        return table_from(())
    # Worked out for all chains at once: most have a handful of points, and there are thousands.
    points = np.concatenate([chain.points for chain in chains])
    z = points[:, 0] + 1j * points[:, 1]
    sweep = 4.0 * np.arctan(np.concatenate([chain.bulge for chain in chains]))
    paths, at, turned = [], 0, 0
    for chain in chains:
        size, count = len(chain.points), len(chain.bulge)
        paths.append((z[at : at + size], sweep[turned : turned + count], chain.closed))
        at, turned = at + size, turned + count
    return table_from(paths)


def table_from(paths: Sequence[tuple[Points, Floats, bool]]) -> Table:
    """Return as a table the segments of paths: points, sweeps, and whether it is closed, for each."""
    if not paths:
        return Table(np.zeros(0, complex), np.zeros(0, complex), np.zeros(0), np.zeros(0, np.int64), 0)
    p = np.concatenate([points if closed else points[:-1] for points, _, closed in paths])
    ends = [(points[1:], points[:1] if closed else points[:0]) for points, _, closed in paths]
    q = np.concatenate([part for both in ends for part in both])
    sweep = np.concatenate([sweep for _, sweep, _ in paths])
    sweep = np.where(np.abs(sweep * (q - p)) < 8.0 * FLAT, 0.0, sweep)
    path = np.repeat(np.arange(len(paths)), [len(sweep) for _, sweep, _ in paths])
    return Table(p, q, sweep, path, len(paths))


def lengths(t: Table) -> Floats:
    """(n,) lengths: half the chord is radius times sin(sweep / 2)."""
    half = 0.5 * np.abs(t.sweep)
    chord = np.abs(t.q - t.p)
    curved = half > 0.0
    return np.where(
        curved, chord * np.divide(half, np.sin(half), out=np.ones_like(half), where=curved), chord
    )


def areas(t: Table) -> Floats:
    """(count,) signed area of each closed path: its polygon and the circular segments on its chords."""
    half = 0.5 * np.abs(t.sweep)
    curved = half > 0.0
    radius = np.divide(0.5 * np.abs(t.q - t.p), np.sin(half), out=np.zeros_like(half), where=curved)
    shift = np.zeros(t.count, dtype=complex)
    shift[t.path[::-1]] = t.p[::-1]  # measured from each path's first point, for digits
    p, q = t.p - shift[t.path], t.q - shift[t.path]
    term = 0.5 * (p.conj() * q).imag + 0.5 * radius**2 * (t.sweep - np.sin(t.sweep))
    total: Floats = np.bincount(t.path, term, t.count).astype(np.float64)
    return total


def point_at(t: Table, share: Floats) -> Points:
    """(n,) point of each segment at a share (0 to 1) of its length."""
    # From p, the chord to the point at angle a = share · sweep has length 2 r sin(a / 2) and leaves
    # at a / 2 - sweep / 2 from the whole chord, whose length is 2 r sin(sweep / 2).
    half = 0.5 * t.sweep
    curved = half != 0.0
    part = np.divide(
        np.sin(share * half), np.sin(half), out=np.asarray(share, dtype=float).copy(), where=curved
    )
    points: Points = t.p + (t.q - t.p) * part * np.exp(1j * half * (share - 1.0))
    return points


def boxes(t: Table) -> Floats:
    """(n, 4) left, low, right, high of each segment: its ends, and the compass points its arc passes."""
    x = np.stack((t.p.real, t.q.real))
    y = np.stack((t.p.imag, t.q.imag))
    low, high = np.stack((x.min(0), y.min(0)), -1), np.stack((x.max(0), y.max(0)), -1)
    rows = np.flatnonzero(t.sweep)
    if len(rows):
        centre, radius = circles(t.take(rows))
        first = np.angle(t.p[rows] - centre)
        for quarter in range(4):
            angle = quarter * 0.5 * pi
            way = np.where(t.sweep[rows] > 0.0, angle - first, first - angle) % (2.0 * pi)
            hit = way <= np.abs(t.sweep[rows])
            tip = (centre + radius * 1j**quarter)[hit]
            at = np.stack((tip.real, tip.imag), -1)
            low[rows[hit]] = np.minimum(low[rows[hit]], at)
            high[rows[hit]] = np.maximum(high[rows[hit]], at)
    return np.concatenate((low, high), -1)


def path_boxes(t: Table) -> Floats:
    """(count, 4) the box of each path (inverted and infinite for a path without segments)."""
    each = boxes(t)
    low = np.full((t.count, 2), np.inf)
    high = np.full((t.count, 2), -np.inf)
    np.minimum.at(low, t.path, each[:, :2])
    np.maximum.at(high, t.path, each[:, 2:])
    return np.concatenate((low, high), -1)


def circles(t: Table) -> tuple[Points, Floats]:
    """Return centres and radii of arcs; the centre is chord / 2 · cot(sweep / 2) left of the middle."""
    chord = t.q - t.p
    half = 0.5 * t.sweep
    return 0.5 * (t.p + t.q) + 0.5j * chord / np.tan(half), 0.5 * np.abs(chord) / np.abs(np.sin(half))


def distances(points: Points, t: Table) -> Floats:
    """(n,) distance of point i from segment i."""
    chord = t.q - t.p
    square = np.maximum(np.abs(chord) ** 2, 1e-300)
    along = np.clip(((points - t.p) * chord.conj()).real / square, 0.0, 1.0)
    result: Floats = np.abs(t.p + along * chord - points)
    rows = np.flatnonzero(t.sweep)
    if len(rows):
        arcs, at = t.take(rows), points[rows]
        centre, radius = circles(arcs)
        turned = np.where(arcs.sweep > 0.0, 1.0, -1.0) * np.angle((at - centre) / (arcs.p - centre))
        on = turned % (2.0 * pi) <= np.abs(arcs.sweep)
        ends = np.minimum(np.abs(at - arcs.p), np.abs(at - arcs.q))
        # From the chord's middle, along and left of it, the centre lies at (0, k) with k² - radius² = -half²:
        # the power of the point is x² + y² - half² - 2 y k, without the digits that a far centre costs.
        span = np.abs(arcs.q - arcs.p)
        frame = (at - 0.5 * (arcs.p + arcs.q)) * (arcs.q - arcs.p).conj() / np.maximum(span, 1e-300)
        k = 0.5 * span / np.tan(0.5 * arcs.sweep)
        power = np.abs(frame) ** 2 - 0.25 * span**2 - 2.0 * frame.imag * k
        result[rows] = np.where(on, np.abs(power) / (np.abs(frame - 1j * k) + radius), ends)
    return result


def flattened(t: Table, tolerance: float) -> list[Points]:
    """Return each path as points on it no further than `tolerance` mm from its arcs, for `shapely`."""
    half = 0.5 * np.abs(t.sweep)
    radius = np.divide(0.5 * np.abs(t.q - t.p), np.sin(half), out=np.zeros_like(half), where=half > 0.0)
    # A chord over the angle a rises radius · (1 - cos(a / 2)) = 2 · radius · sin²(a / 4).
    rise = np.divide(tolerance, 2.0 * radius, out=np.ones_like(half), where=radius > 0.0)
    step = 4.0 * np.arcsin(np.sqrt(np.minimum(rise, 1.0)))
    parts = np.maximum(np.ceil(np.abs(t.sweep) / step), 1.0).astype(np.int64)
    row = np.repeat(np.arange(len(parts)), parts)
    share = (np.arange(len(row)) - np.repeat(np.cumsum(parts) - parts, parts)) / parts[row]
    points = point_at(t.take(row), share)
    return np.split(points, np.flatnonzero(np.diff(t.path[row])) + 1) if len(points) else []
