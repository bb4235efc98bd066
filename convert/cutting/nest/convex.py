"""Convex pieces of polygons, and sums of convex polygons.

*Sources*: pieces left when needless diagonals of a triangulation are taken out (Hertel and Mehlhorn 1983,
from memory); the sides of a sum of convex polygons are those of all of them, by direction (common practice).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from convert.geometry.chain import Floats
    from convert.geometry.plane import Complexes

FLAT = 1e-9
"""A corner that is hollow by less than this share of the product of its sides is not hollow."""


def convex_pieces(polygon: Complexes) -> list[Complexes]:
    """Return convex polygons that make up a simple counter-clockwise polygon (n,), side by side."""
    if not any(_hollow(polygon, i - 1, i, (i + 1) % len(polygon)) for i in range(len(polygon))):
        return [polygon]
    number = {(z.real, z.imag): i for i, z in enumerate(polygon.tolist())}
    area = shapely.polygons(shapely.linearrings(polygon.real, polygon.imag))
    pieces = []
    for triangle in shapely.get_parts(shapely.constrained_delaunay_triangles(area)):
        corners = [number[x, y] for x, y in shapely.get_coordinates(triangle)[:3].tolist()]
        a, b, c = polygon[corners].tolist()
        pieces.append(corners if ((b - a).conjugate() * (c - a)).imag > 0.0 else corners[::-1])
    side = {(a, b): piece for piece in pieces for a, b in zip(piece, piece[1:] + piece[:1], strict=True)}
    for a, b in [way for way in side if way[0] < way[1] and way[::-1] in side]:
        one, other = side[a, b], side[b, a]
        # From b round one piece to a, and on from a round the other one to b.
        i, j = one.index(b), other.index(a)
        first, second = one[i:] + one[:i], other[j:] + other[:j]
        if _hollow(polygon, first[-2], a, second[1]) or _hollow(polygon, second[-2], b, first[1]):
            continue
        both = first + second[1:-1]
        side |= dict.fromkeys(zip(both, both[1:] + both[:1], strict=True), both)
        del side[a, b], side[b, a]
    return [polygon[piece] for piece in {id(piece): piece for piece in side.values()}.values()]


def _hollow(z: Complexes, before: int, at: int, after: int) -> bool:
    one, two = complex(z[at] - z[before]), complex(z[after] - z[at])
    return bool((one.conjugate() * two).imag < -FLAT * abs(one) * abs(two))


@dataclass(frozen=True, slots=True, eq=False)
class Convex:
    """A convex polygon (n,), its sides (n,) from the lowest corner on, and their directions, 0 to 2 pi."""

    corners: Complexes
    sides: Complexes
    ways: Floats

    @classmethod
    def of(cls, polygon: Complexes) -> Convex:
        """Return a counter-clockwise convex polygon made ready for sums."""
        z = np.roll(polygon, -int(np.lexsort((polygon.real, polygon.imag))[0]))
        sides = np.concatenate((z[1:], z[:1])) - z
        # Sorted, lest rounding turn the last side, which comes down to the lowest corner, past the first.
        ways = np.angle(sides) % (2.0 * pi)
        order = np.argsort(ways, kind="stable")
        return cls(z, sides[order], ways[order])

    def plus(self, other: Convex) -> Complexes:
        """Return the Minkowski sum, from its lowest corner on."""
        ways = np.concatenate((self.ways, other.ways))
        sides = np.concatenate((self.sides, other.sides))[ways.argsort(kind="stable")]
        corners: Complexes = np.empty_like(sides)
        corners[0] = self.corners[0] + other.corners[0]
        np.cumsum(sides[:-1], out=corners[1:])
        corners[1:] += corners[0]
        return corners


def grown(polygon: Complexes, by: float, most: float) -> Complexes:
    """Return a polygon round a convex one grown by so much (mm); corners turn by at most `most` radians.

    Along the sides it is grown by just as much; round a corner it runs along tangents of the true circle.
    """
    side = np.roll(polygon, -1) - polygon
    out = np.angle(-1j * np.roll(side, 1))
    turn = np.maximum(np.angle(side * np.roll(side, 1).conj()), 0.0)
    count = np.maximum(np.ceil(turn / most - 1e-9), 1.0).astype(int)
    corner, step = np.repeat(polygon, count), np.repeat(turn / count, count)
    number = np.concatenate([np.arange(n) for n in count.tolist()])
    way = np.repeat(out, count) + (number + 0.5) * step
    found: Complexes = corner + by / np.cos(step / 2.0) * np.exp(1j * way)
    return found
