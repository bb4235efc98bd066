"""Crossings and tangent points of lines and arcs, in closed form.

Every line and circle is the zero set of F(X) = (k / 2) |X|^2 + v . X + m, scaled so that its gradient
k X + v has length 1 on the curve: k is the curvature, left positive, 0 for a line, and near the curve
F is the distance, positive on the right. Of two such forms, k2 F1 - k1 F2 = 0 is the *radical line*
through both common points (for a line and a circle it is the line). It meets the tighter of the two
curves in a quadratic whose coefficients stay tame however flat an arc is.

Two curves may just touch. Then rounding decides whether the quadratic has two roots, one or none,
so the criterion is a length: if the lens that both curves enclose (or the gap between them) is no
deeper than a point, they touch in its middle.
*Source*: radical axis of two circles (plane geometry); the depth of a lens is the sum or difference of
two sagittas.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.geometry.plane import cross, dot, square, unit
from convert.geometry.segment import fraction, side

if TYPE_CHECKING:
    from convert.geometry.chain import Floats
    from convert.geometry.plane import Complexes, Flags, Ints

_FLAT = 1e-17
"""Bulges below this leave the chord by less than a double can show at the chord's own length."""


@dataclass(frozen=True, slots=True, eq=False)
class Curves:
    """n segments as columns (n,): ends, bulge, the vector g of segment.py, and length."""

    p: Complexes
    q: Complexes
    bulge: Floats
    g: Complexes
    length: Floats

    @classmethod
    def of(cls, p: Complexes, q: Complexes, bulge: Floats) -> Curves:
        """Return the curves with these ends and bulges; arcs flat but for rounding become lines."""
        bulge = np.where(np.abs(bulge) < _FLAT, 0.0, bulge)
        c = q - p
        g = -(2.0 * bulge + 1j * (1.0 - bulge) * (1.0 + bulge)) * c
        arc = bulge != 0.0
        length = np.abs(c)
        if arc.any():
            b = bulge[arc]
            length[arc] *= np.arctan(b) / b * (1.0 + b * b)
        return cls(p, q, bulge, g, length)

    def __len__(self) -> int:
        return len(self.p)

    def take(self, rows: Ints | Flags) -> Curves:
        """Return the rows that `rows` selects."""
        return Curves(self.p[rows], self.q[rows], self.bulge[rows], self.g[rows], self.length[rows])

    def moved(self, by: Complexes) -> Curves:
        """Return the curves moved, each by its own vector."""
        return Curves(self.p + by, self.q + by, self.bulge, self.g, self.length)

    def end(self, which: int) -> Complexes:
        """Return the starts (0) or the ends (1)."""
        return self.q if which else self.p

    def at(self, t: Floats) -> Complexes:
        """Return the points at fractions t (n,) of the length."""
        h = 2.0 * np.arctan(self.bulge)
        sine = np.sin(h)
        ratio = np.where(sine == 0.0, t, np.sin(t * h) / np.where(sine == 0.0, 1.0, sine))
        out: Complexes = self.p + (self.q - self.p) * ratio * np.exp(1j * (t - 1.0) * h)
        return out

    def side(self, x: Complexes) -> Floats:
        """Return the signed distances of points (n,) from the whole lines and circles."""
        return side(x - self.p, self.g, self.bulge)

    def fraction(self, x: Complexes) -> Floats:
        """Return the fractions of the feet of points (n,) on the whole lines and circles."""
        return fraction(x - self.p, self.g, self.bulge)

    def distance(self, x: Complexes) -> Floats:
        """Return the distances of points (n,) from the segments."""
        t = self.fraction(x)
        ends = np.minimum(np.abs(x - self.p), np.abs(x - self.q))
        out: Floats = np.where((t > 0.0) & (t < 1.0), np.minimum(np.abs(self.side(x)), ends), ends)
        return out

    def form(self) -> tuple[Floats, Complexes, Floats]:
        """Return k, v, m of the form F (see above)."""
        size = np.abs(self.g)
        scale = 1.0 / np.where(size > 0.0, size, 1.0)
        k = 4.0 * self.bulge * scale
        out = self.g * scale
        v = out - k * self.p
        m = (k / 2) * square(self.p) - dot(out, self.p)
        return k, v, m


def crossings(a: Curves, b: Curves, same_point: float) -> tuple[Complexes, Flags, Flags]:
    """Return places (n, 2), which of them count (n, 2), and whether they are a mere touch (n,).

    A place counts when it lies inside both segments. Touching curves have one place.
    """
    straight = (a.bulge == 0.0) & (b.bulge == 0.0)
    at = np.zeros((len(a), 2), dtype=np.complex128)
    ok = np.zeros((len(a), 2), dtype=np.bool_)
    touch = np.zeros(len(a), dtype=np.bool_)
    lines, bows = np.flatnonzero(straight), np.flatnonzero(~straight)
    if len(lines):
        at[lines, 0], ok[lines, 0] = _line_crossings(a.take(lines), b.take(lines))
    if len(bows):
        at[bows], ok[bows], touch[bows] = _arc_crossings(a.take(bows), b.take(bows), same_point)
    return at, ok, touch


def _line_crossings(a: Curves, b: Curves) -> tuple[Complexes, Flags]:
    """Return where two lines cross: where the ends of each lie on different sides of the other."""
    a0, a1, b0, b1 = b.side(a.p), b.side(a.q), a.side(b.p), a.side(b.q)
    ok = (a0 * a1 < 0.0) & (b0 * b1 < 0.0)
    on_a = a.p + (a.q - a.p) * (a0 / np.where(ok, a0 - a1, 1.0))
    on_b = b.p + (b.q - b.p) * (b0 / np.where(ok, b0 - b1, 1.0))
    return (on_a + on_b) / 2, ok


def _arc_crossings(a: Curves, b: Curves, same_point: float) -> tuple[Complexes, Flags, Flags]:
    """Return the same as `crossings`, where at least one of each pair is an arc."""
    form_a, form_b = a.form(), b.form()
    (ka, va, ma), (kb, vb, mb) = form_a, form_b
    normal, offset = kb * va - ka * vb, kb * ma - ka * mb
    size2 = square(normal)
    safe = np.where(size2 > 0.0, size2, 1.0)
    foot = -offset * normal / safe
    along = 1j * normal / np.sqrt(safe)
    tighter = np.abs(ka) >= np.abs(kb)
    k, v, m = (np.where(tighter, x, y) for x, y in zip(form_a, form_b, strict=True))
    half = k / 2
    slope = dot(v, along) / 2
    rest = half * square(foot) + dot(v, foot) + m
    inside = slope * slope - half * rest
    chord2 = inside / half**2
    depth = _sagitta(ka, va, normal, offset, chord2) - _sagitta(kb, vb, normal, offset, chord2)
    root = np.sqrt(np.maximum(inside, 0.0))
    stable = -np.where(slope >= 0.0, slope + root, slope - root)
    steps = np.stack((stable / half, rest / np.where(stable == 0.0, 1.0, stable)), axis=1)
    at: Complexes = foot[:, None] + steps * along[:, None]
    middle = foot - slope / half * along
    real = (inside >= 0.0) & (size2 > 0.0)
    at[real] = _polished(at[real], a.take(real), b.take(real))
    ok = real[:, None] & _inside(at, a, b, same_point)
    graze = np.flatnonzero((np.abs(depth) <= same_point) & (size2 > 0.0))
    touch: Flags = np.zeros(len(a), dtype=np.bool_)
    touch[graze] = _inside(middle[graze, None], a.take(graze), b.take(graze), same_point)[:, 0]
    at[touch, 0] = middle[touch]
    ok[touch] = (True, False)
    return at, ok, touch


def _sagitta(k: Floats, v: Complexes, normal: Complexes, offset: Floats, chord2: Floats) -> Floats:
    """Return how far a curve bows out beyond the radical line, signed by the side its centre is on.

    `chord2` is the square of half the common chord; it is negative where there is a gap.
    """
    way = np.where(k * offset >= dot(normal, v), 1.0, -1.0) * np.where(k >= 0.0, 1.0, -1.0)
    depth = np.abs(k) * chord2 / (1.0 + np.sqrt(np.maximum(1.0 - chord2 * k * k, 0.0)))
    return way * depth


def _inside(at: Complexes, a: Curves, b: Curves, same_point: float) -> Flags:
    """Tell which places (n, j) lie on both curves between their ends."""
    ok = np.ones(at.shape, dtype=np.bool_)
    for j in range(at.shape[1]):
        for curve in (a, b):
            rows = np.flatnonzero(ok[:, j])
            x, here = at[rows, j], curve.take(rows)
            t = here.fraction(x)
            ok[rows, j] = (t > 0.0) & (t < 1.0) & (np.abs(here.side(x)) <= same_point)
    return ok


def _polished(at: Complexes, a: Curves, b: Curves) -> Complexes:
    """Return places (n, 2) after one step of Newton's method, where the curves cross at an angle."""
    out = at.copy()
    for j in (0, 1):
        x = at[:, j]
        to_a, to_b = a.side(x), b.side(x)
        na = a.g + 4.0 * a.bulge * (x - a.p)
        nb = b.g + 4.0 * b.bulge * (x - b.p)
        sizes = np.abs(na) * np.abs(nb)
        sine = cross(na, nb) / np.where(sizes > 0.0, sizes, 1.0)
        steep = np.abs(sine) > 1e-3
        step = 1j * (to_b * unit(na) - to_a * unit(nb)) / np.where(steep, sine, 1.0)
        out[:, j] = np.where(steep, x - step, x)
    return out
