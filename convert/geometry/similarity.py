"""Similarities of the plane: turn, scale, shift and flip. They keep arcs arcs."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, hypot, sin
from typing import TYPE_CHECKING

import numpy as np

from convert.geometry.chain import Chain, Segments

if TYPE_CHECKING:
    from convert.geometry.chain import Floats


@dataclass(frozen=True, slots=True)
class Similarity:
    """Map (x, y) to the point reached by a flip (y to -y, if `flipped`), then turn and scale, then shift.

    `a` and `b` are the scale times the cosine and sine of the turn (counter-clockwise):
    x' = a x - b s y + dx, y' = b x + a s y + dy with s = -1 when flipped, else 1.
    """

    a: float = 1.0
    b: float = 0.0
    dx: float = 0.0
    dy: float = 0.0
    flipped: bool = False

    @classmethod
    def turn(cls, angle_rad: float, scale: float = 1.0, *, flipped: bool = False) -> Similarity:
        """Return the turn about the origin by `angle_rad`, after an optional flip and a scale."""
        return cls(scale * cos(angle_rad), scale * sin(angle_rad), flipped=flipped)

    @classmethod
    def shift(cls, dx: float, dy: float) -> Similarity:
        """Return the shift by (dx, dy)."""
        return cls(dx=dx, dy=dy)

    @classmethod
    def mirror_x(cls) -> Similarity:
        """Return the mirror in the vertical axis: x to -x."""
        return cls(-1.0, 0.0, flipped=True)

    @property
    def scale(self) -> float:
        """The factor by which lengths grow."""
        return hypot(self.a, self.b)

    def points(self, xy: Floats) -> Floats:
        """Return the images of `xy` (n, 2)."""
        x, y = xy[..., 0], (-xy[..., 1] if self.flipped else xy[..., 1])
        return np.stack((self.a * x - self.b * y + self.dx, self.b * x + self.a * y + self.dy), axis=-1)

    def point(self, x: float, y: float) -> tuple[float, float]:
        """Return the image of one point."""
        y = -y if self.flipped else y
        return self.a * x - self.b * y + self.dx, self.b * x + self.a * y + self.dy

    def chain(self, chain: Chain) -> Chain:
        """Return the image of a chain, vertex by vertex (so a flip turns an outline clockwise)."""
        return Chain(self.points(chain.points), self._bulge(chain.bulge), chain.closed)

    def outline(self, chain: Chain) -> Chain:
        """Return the image of an outline, counter-clockwise if it was so: a flip reverses the order."""
        image = self.chain(chain)
        if not self.flipped:
            return image
        return Chain(image.points[::-1], 0.0 - np.roll(image.bulge[::-1], -1), closed=True)

    def segments(self, table: Segments) -> Segments:
        """Return the images of a table of segments, row by row."""
        return Segments(self.points(table.start), self.points(table.end), self._bulge(table.bulge))

    def _bulge(self, bulge: Floats) -> Floats:
        """Return the bulges of images; a line keeps 0, not -0."""
        return 0.0 - bulge if self.flipped else bulge

    def after(self, first: Similarity) -> Similarity:
        """Return the one map that does `first`, then this one."""
        sign = -1.0 if self.flipped else 1.0
        dx, dy = self.point(first.dx, first.dy)
        return Similarity(
            self.a * first.a - self.b * sign * first.b,
            self.b * first.a + self.a * sign * first.b,
            dx,
            dy,
            self.flipped != first.flipped,
        )

    def inverse(self) -> Similarity:
        """Return the map that undoes this one."""
        square = self.a * self.a + self.b * self.b
        a, b = self.a / square, (self.b if self.flipped else -self.b) / square
        back = Similarity(a, b, flipped=self.flipped)
        dx, dy = back.point(self.dx, self.dy)
        return Similarity(a, b, -dx, -dy, self.flipped)
