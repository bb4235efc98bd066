"""Families of parametric curves on 0 <= t <= 1, evaluated many at a time.

Points are complex numbers x + iy here, because turning, crossing and projecting are then one
product each: for vectors u and v, conj(u) v = (u . v) + i (u x v).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np

if TYPE_CHECKING:
    from convert.geometry.chain import Floats
    from convert.geometry.plane import Complexes, Ints


class Curves(Protocol):
    """What the fitter needs to know of a family of n curves."""

    def take(self, rows: Ints) -> Curves:
        """Return the curves that `rows` selects."""
        ...

    def derivatives(self, t: Floats, order: int) -> tuple[Complexes, ...]:
        """Return position and derivatives up to `order` (at most 3) at t (n, m): row i belongs to curve i."""
        ...


@dataclass(frozen=True, slots=True, eq=False)
class Polynomials:
    """Cubic polynomials: `coefficient` is (n, 4), the factors of 1, t, t^2, t^3."""

    coefficient: Complexes

    @classmethod
    def from_bezier(cls, control: Complexes) -> Polynomials:
        """Return the power form of Bézier cubics with control points (n, 4)."""
        p0, p1, p2, p3 = control.T
        return cls(np.stack((p0, 3 * (p1 - p0), 3 * (p0 - 2 * p1 + p2), p3 - p0 + 3 * (p1 - p2)), axis=1))

    def take(self, rows: Ints) -> Polynomials:
        """Return the curves that `rows` selects."""
        return Polynomials(self.coefficient[rows])

    def derivatives(self, t: Floats, order: int) -> tuple[Complexes, ...]:
        """Return position and derivatives up to `order` at t (n, m)."""
        a, b, c, d = self.coefficient.T[:, :, None]
        out = [((d * t + c) * t + b) * t + a]
        if order >= 1:
            out.append((3 * d * t + 2 * c) * t + b)
        if order >= 2:
            out.append(6 * d * t + 2 * c)
        if order >= 3:
            out.append(np.broadcast_to(6 * d, t.shape))
        return tuple(out)


@dataclass(frozen=True, slots=True, eq=False)
class Ellipses:
    """Parts of ellipses: centre + u cos(angle) + v sin(angle), angle = start + sweep t; columns are (n,)."""

    centre: Complexes
    u: Complexes
    v: Complexes
    start: Floats
    sweep: Floats

    def take(self, rows: Ints) -> Ellipses:
        """Return the curves that `rows` selects."""
        return Ellipses(self.centre[rows], self.u[rows], self.v[rows], self.start[rows], self.sweep[rows])

    def derivatives(self, t: Floats, order: int) -> tuple[Complexes, ...]:
        """Return position and derivatives up to `order` at t (n, m)."""
        sweep, u, v = self.sweep[:, None], self.u[:, None], self.v[:, None]
        angle = self.start[:, None] + sweep * t
        cos, sin = np.cos(angle), np.sin(angle)
        radial, along = u * cos + v * sin, v * cos - u * sin
        out = (self.centre[:, None] + radial, sweep * along, -(sweep**2) * radial, -(sweep**3) * along)
        return out[: order + 1]
