"""Holes: room for one copy more among copies that lie already.

Where a shape may lie at one turn is known exactly, but for what polygons stand in for: anywhere where the
whole of it is on the sheet, but not where it would come too near another copy, which is the sum of that copy,
grown by the gap, and the shape turned upside down.

*Source*: the no-fit polygon as a Minkowski difference (common practice in nesting).
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from math import pi
from typing import TYPE_CHECKING

import numpy as np
import shapely

from convert.cutting.nest.beds import Spot
from convert.cutting.nest.convex import Convex, convex_pieces, grown
from convert.cutting.nest.courses import angles_of
from convert.cutting.nest.shapes import plain, stand_in

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.cutting.nest.model import Usable
    from convert.cutting.nest.shapes import Kind
    from convert.geometry.plane import Complexes

ROUND = pi / 6.0
"""The gap round a corner is a polygon that turns by so much at most, outside the true circle."""
ROUGH_SHARE = 0.005
"""Shapes are roughened by this share of the side of a square of their area: fewer corners, less work."""
HAIR = 1e-5
"""Copies keep so much more than the gap (mm), for what rounding takes away."""
MEANT = 1e-6
"""A hole for a shape's corner that is smaller (mm²) is taken for none."""


@dataclass(slots=True)
class Holes:
    """Finds room for copies; what one kind at one turn keeps clear of another is reckoned once."""

    kinds: Sequence[Kind]
    sheet: Usable
    gap: float
    most_angles: int
    _convex: dict[int, list[tuple[Complexes, Convex]]] = field(default_factory=dict)
    _barred: dict[tuple[int, int, float], list[Complexes]] = field(default_factory=dict)

    def filled(self, spots: Sequence[Spot], missing: Sequence[int]) -> tuple[Spot, ...] | None:
        """Return copies, and so many more of each kind beside them; None if one of these has no room."""
        laid, left = self.added(spots, missing, every=True)
        return None if any(left) else laid

    def added(
        self, spots: Sequence[Spot], missing: Sequence[int], *, every: bool = False
    ) -> tuple[tuple[Spot, ...], list[int]]:
        """Return copies and those more of each kind that find room, and how many of each do not.

        With `every` it ends where one finds none.
        """
        laid, left = list(spots), list(missing)
        # What is largest finds room last.
        for kind in sorted(self.kinds, key=lambda kind: (-kind.area, kind.number)):
            if left[kind.number]:
                more = self._more(laid, kind, left[kind.number])
                laid += more
                left[kind.number] -= len(more)
                if every and left[kind.number]:
                    break
        return tuple(laid), left

    def _more(self, spots: Sequence[Spot], kind: Kind, wanted: int) -> list[Spot]:
        """Return at most so many copies of one kind, each in the smallest hole that holds it."""
        angles = self._angles(spots, kind)
        free = [self._free(spots, kind, angle) for angle in angles]
        found: list[Spot] = []
        while len(found) < wanted:
            holes = [
                (round(float(shapely.area(hole)), 6), number, hole)
                for number, region in enumerate(free)
                for hole in shapely.get_parts(region)
                if shapely.area(hole) > MEANT
            ]
            if not holes:
                break
            _, number, hole = min(holes, key=lambda each: each[:2])
            x, y = min(map(tuple, np.round(shapely.get_coordinates(hole), 6).tolist()))
            spot = Spot(kind.number, angles[number], complex(x, y))
            found.append(spot)
            if len(found) < wanted:
                free = [
                    shapely.difference(region, self._all_barred([spot], kind, angle))
                    for region, angle in zip(free, angles, strict=True)
                ]
        return found

    def _angles(self, spots: Sequence[Spot], kind: Kind) -> list[float]:
        """Return the turns of the copies that lie there, most frequent first, and then others of the kind."""
        lying = Counter(round(spot.angle % (2.0 * pi), 9) for spot in spots if spot.kind == kind.number)
        ways = [angle for angle, _ in lying.most_common()]
        for angle in angles_of(kind, 0, self.most_angles):
            # Both ways up: what looks the same upside down costs twice, but does no harm.
            ways += [round(angle % (2.0 * pi), 9), round((angle + pi) % (2.0 * pi), 9)]
        return [angle for angle in dict.fromkeys(ways) if kind.may_turn(angle)][: self.most_angles]

    def _free(self, spots: Sequence[Spot], kind: Kind, angle: float) -> shapely.Geometry:
        """Return where the origin of a kind at one turn may lie."""
        z = kind.corners * np.exp(1j * angle)
        right, top = self.sheet.width - z.real.max(), self.sheet.height - z.imag.max()
        if right < -z.real.min() or top < -z.imag.min():
            return shapely.Polygon()
        room = shapely.box(-z.real.min(), -z.imag.min(), right, top)
        return shapely.difference(room, self._all_barred(spots, kind, angle))

    def _all_barred(self, spots: Sequence[Spot], kind: Kind, angle: float) -> shapely.Geometry:
        polygons = [ring + spot.at for spot in spots for ring in self._round(spot, kind, angle)]
        if not polygons:
            return shapely.Polygon()
        owner = np.repeat(np.arange(len(polygons)), [len(ring) for ring in polygons])
        z = np.concatenate(polygons)
        rings = shapely.linearrings(z.real, z.imag, indices=owner)
        return shapely.union_all(shapely.polygons(rings))

    def _round(self, spot: Spot, kind: Kind, angle: float) -> list[Complexes]:
        """Return the outlines of where the kind's origin may not lie for a copy turned at zero."""
        # Turning both turns the outlines, and blocks are regular: few turns between two copies are different.
        between = round((angle - spot.angle) % (2.0 * pi), 6)
        key = (spot.kind, kind.number, between)
        if key not in self._barred:
            self._barred[key] = self._sum(self.kinds[spot.kind], kind, between)
        return [z * np.exp(1j * spot.angle) for z in self._barred[key]]

    def _sum(self, there: Kind, kind: Kind, angle: float) -> list[Complexes]:
        """Return the outlines of where one kind's origin may not lie, when turned, round another kind."""
        turned = [Convex.of(-z * np.exp(1j * angle)) for z, _ in self._pieces(kind)]
        sums = [grown.plus(other) for _, grown in self._pieces(there) for other in turned]
        if len(sums) == 1:
            return sums
        owner = np.repeat(np.arange(len(sums)), [len(z) for z in sums])
        z = np.concatenate(sums)
        barred = shapely.union_all(shapely.polygons(shapely.linearrings(z.real, z.imag, indices=owner)))
        # Holes in the sum are places within the copy's own outline.
        return [
            shapely.get_coordinates(r) @ (1.0, 1j)
            for r in shapely.get_exterior_ring(shapely.get_parts(barred))
        ]

    def _pieces(self, kind: Kind) -> list[tuple[Complexes, Convex]]:
        """Return convex pieces of a rough stand-in, and the same grown by the gap."""
        if kind.number not in self._convex:
            rough = plain(stand_in(kind.outline, ROUGH_SHARE * kind.area**0.5))
            corners = min(rough, kind.corners, key=len)
            pieces = convex_pieces(corners)
            self._convex[kind.number] = [(z, Convex.of(grown(z, self.gap + HAIR, ROUND))) for z in pieces]
        return self._convex[kind.number]
