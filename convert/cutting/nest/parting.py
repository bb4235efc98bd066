"""A tiling of whole blocks moved apart until every piece keeps the gap, and no farther than need be.

Pieces of a block fit side by side, and the block repeats itself; only the gap is missing. It is let grow
little by little: the tiling is stretched by as much as the shapes need at least by area, and pieces that are
too near, across the border of the block as within it, push each other apart along the shortest way. What is
too near in the end is mended by stretching all of it a little more.

*Source*: constraints met one after the other by moving both sides by halves, as in position based dynamics
(Müller et al. 2007, from memory); the side of a point by the mean normal of the nearest sides (Bærentzen and
Aanæs 2005, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from convert.cutting.nest.courses import Part, Pattern
from convert.cutting.nest.shapes import SAME
from convert.geometry.plane import unit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.cutting.nest.shapes import Kind
    from convert.geometry.chain import Floats
    from convert.geometry.plane import Complexes, Ints

STEPS = 10
"""In so many steps the gap grows."""
SWEEPS = 5
"""So often all pieces push each other at each step."""
MENDED = 24
"""So often the tiling is stretched a little more."""
HOPED = 0.98
"""The gap is grown as if grown shapes could take this share of the plane."""
MORE = 0.004
"""A tiling that is too tight is stretched by this share."""
PUSH = 0.7
"""Of what is missing between two pieces, so much is pushed at once."""
PARTS = 16
"""No side is longer than this part of its outline: longer ones are divided."""
DEEP = 0.5
"""Shapes that reach deeper (mm) into each other as drawn, one in a hole of the other, are not parted."""
FINE = 0.01
"""A deficit smaller than this (mm) is mended by stretching alone."""
MOST_PAIRS = 60_000
"""A motif in which more corners would be compared is not parted: it would take too long."""


@dataclass(slots=True)
class _Torus:
    """Polygons (n, m), padded with their first corner, their places (n,), and the two periods."""

    shapes: Complexes
    at: Complexes
    pitch: float
    step: complex

    def stretch(self, factor: float) -> None:
        """Make everything but the shapes larger."""
        self.at = self.at * factor
        self.pitch *= factor
        self.step *= factor


def parted_pattern(kinds: Sequence[Kind], pattern: Pattern, gap: float) -> Pattern | None:
    """Return a pattern of shapes that touch moved apart so that all keep the gap; None where that fails.

    Where corners along long sides get in each other's way, the shapes' own corners may do.
    """
    for parts in (PARTS, 1):
        found = _parted(kinds, pattern, gap, parts)
        if found is not None:
            return found
    return None


def _parted(kinds: Sequence[Kind], pattern: Pattern, gap: float, parts: int) -> Pattern | None:
    polygons = [_divided(kinds[p.kind].corners, parts) * np.exp(1j * p.angle) for p in pattern.parts]
    most = max(len(z) for z in polygons)
    if len(polygons) * most**2 > MOST_PAIRS:
        return None
    shapes = np.array([np.concatenate((z, np.full(most - len(z), z[0]))) for z in polygons])
    # Each piece moves with its middle.
    middle = np.array([z.mean() for z in polygons])
    at = np.array([p.at for p in pattern.parts]) + middle
    torus = _Torus(shapes - middle[:, None], at, pattern.pitch, pattern.step)
    nearest = _contacts(torus, gap)[3]
    if len(nearest) and nearest.min() < -DEEP:
        return None
    first = _period(torus)
    outlines = shapely.polygons([shapely.linearrings(z.real, z.imag) for z in polygons])
    for step in range(1, STEPS + 1):
        now = gap * step / STEPS
        grown = float(shapely.area(shapely.buffer(outlines, now / 2.0)).sum()) / HOPED
        torus.stretch(max((max(grown, first) / _period(torus)) ** 0.5, 1.0))
        for _ in range(SWEEPS):
            _push(torus, now)
    for _ in range(MENDED):
        least = _least(torus, gap)
        if least >= gap - FINE:
            break
        torus.stretch(1.0 + MORE)
        for _ in range(SWEEPS):
            _push(torus, gap)
    else:
        return None
    # What is still missing is less than FINE, between pieces whose middles are much farther apart.
    for _ in range(MENDED):
        least = _least(torus, gap)
        if least >= gap - SAME:
            return _as_pattern(kinds, pattern, torus, middle)
        torus.stretch(1.0 + 4.0 * (gap - least) / min(torus.pitch, torus.step.imag))
    return None


def _divided(z: Complexes, parts: int) -> Complexes:
    """Return a polygon with corners on its long sides, too, which are pushed as corners are."""
    side = np.roll(z, -1) - z
    count = np.ceil(np.abs(side) / (np.abs(side).sum() / parts)).astype(int)
    return np.concatenate(
        [a + s * np.arange(n) / n for a, s, n in zip(z.tolist(), side.tolist(), count.tolist(), strict=True)]
    )


def _as_pattern(kinds: Sequence[Kind], pattern: Pattern, torus: _Torus, middle: Complexes) -> Pattern:
    parts = []
    for part, z, at, off in zip(pattern.parts, torus.shapes, torus.at.tolist(), middle.tolist(), strict=True):
        there = z + at
        box = (there.real.min(), there.imag.min(), there.real.max(), there.imag.max())
        parts.append(Part(part.kind, part.angle, at - off, tuple(map(float, box))))  # type: ignore[arg-type]
    step = complex(torus.step.real % torus.pitch, torus.step.imag)
    density = sum(kinds[p.kind].area for p in parts) / _period(torus)
    return Pattern(tuple(parts), torus.pitch, step, density)


def _period(torus: _Torus) -> float:
    return torus.pitch * torus.step.imag


def _least(torus: _Torus, gap: float) -> float:
    distance = _contacts(torus, gap)[3]
    return float(distance.min()) if len(distance) else np.inf


def _push(torus: _Torus, gap: float) -> None:
    """Move pieces that are nearer than the gap apart, each by half of most of what is missing."""
    i, j, way, distance = _contacts(torus, gap)
    move = way * (0.5 * PUSH * np.maximum(gap - distance, 0.0))
    by = np.zeros_like(torus.at)
    np.add.at(by, i, move)
    np.add.at(by, j, -move)
    torus.at = torus.at + by


def _contacts(torus: _Torus, gap: float) -> tuple[Ints, Ints, Complexes, Floats]:
    """Return pairs of pieces (i, j) that may be nearer than the gap, the way from j to i, and the distance.

    The distance is negative where a corner lies in the other shape. The way is the mean of the ways out at
    all corners that are too near, by how much they are: a piece in a bay of another leaves it as it came.
    """
    i, j, shift = _near(torus, gap)
    a, b = torus.shapes[i] + torus.at[i, None], torus.shapes[j] + (torus.at[j] + shift)[:, None]
    way, far = _corner_to_side(a, b)
    back, near = _corner_to_side(b, a)
    ways, distance = np.concatenate((way, -back), axis=1), np.concatenate((far, near), axis=1)
    missing = np.maximum(gap - distance, 0.0)
    total = np.maximum(missing.sum(axis=1), 1e-300)
    return i, j, (ways * missing).sum(axis=1) / total, distance.min(axis=1)


def _near(torus: _Torus, gap: float) -> tuple[Ints, Ints, Complexes]:
    """Return pairs, and the shift of the second by whole periods, whose boxes come nearer than the gap."""
    z = torus.shapes + torus.at[:, None]
    low = z.real.min(axis=1) + 1j * z.imag.min(axis=1)
    high = z.real.max(axis=1) + 1j * z.imag.max(axis=1)
    tall = high.imag.max() - low.imag.min() + gap
    wide = high.real.max() - low.real.min() + gap
    up = int(tall / torus.step.imag) + 1
    found: list[tuple[Ints, Ints, Complexes]] = []
    for course in range(up + 1):
        along = course * torus.step
        first = int(np.floor((-wide - along.real) / torus.pitch))
        last = int(np.ceil((wide - along.real) / torus.pitch))
        for k in range(first, last + 1):
            if course == 0 and k < 0:
                continue
            by = along + k * torus.pitch
            apart = np.maximum(
                np.maximum((low + by).real - high.real[:, None], low.real[:, None] - (high + by).real),
                np.maximum((low + by).imag - high.imag[:, None], low.imag[:, None] - (high + by).imag),
            )
            near = apart < gap
            if by == 0.0:
                near = np.triu(near, 1)
            i, j = np.nonzero(near)
            found.append((i, j, np.full(len(i), by)))
    i, j, shift = (np.concatenate(column) for column in zip(*found, strict=True))
    return i, j, shift


def _corner_to_side(a: Complexes, b: Complexes) -> tuple[Complexes, Floats]:
    """Return for each corner (n, m) of the polygons a the way out of b, and its distance from there."""
    start, side = b, np.roll(b, -1, axis=1) - b
    length = np.abs(side)
    real = length > 0.0
    along = side / np.where(real, length, 1.0)
    out = -1j * along
    w = a[:, :, None] - start[:, None, :]
    t = np.clip((w * along[:, None, :].conj()).real, 0.0, length[:, None, :])
    off = w - t * along[:, None, :]
    far = np.where(real[:, None, :], np.abs(off), np.inf)
    nearest = far.argmin(axis=2)[:, :, None]
    distance = np.take_along_axis(far, nearest, axis=2)
    way = np.take_along_axis(off, nearest, axis=2)[:, :, 0]
    # At an end of a side two sides are equally near: their mean normal tells the side of the point.
    normal = np.where(far <= distance + 1e-9, out[:, None, :], 0.0).sum(axis=2)
    distance = distance[:, :, 0]
    inside = (way * normal.conj()).real < 0.0
    straight = np.where(inside, -way, way)
    return unit(np.where(distance < 1e-6, normal, straight)), np.where(inside, -distance, distance)
