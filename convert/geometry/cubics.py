"""Arcs as cubic Béziers, for formats that have no arcs, within a stated distance of the circle."""

from __future__ import annotations

from math import cos, pi
from typing import TYPE_CHECKING

import numpy as np

from convert.errors import GeometryError
from convert.geometry.segment import point_at, radius, start_tangent, sweep

if TYPE_CHECKING:
    from convert.geometry.chain import Floats, Segments
    from convert.geometry.plane import Ints

WIDEST = pi / 4.0
"""No Bézier turns through more than this."""


def cubics(s: Segments, tolerance: float) -> tuple[Floats, Ints]:
    """Return the control points (k, 4, 2) of cubics along all segments, and the row (k,) of each.

    An arc is cut into equal parts of at most 45 degrees, so many that none leaves its circle by more
    than `tolerance` mm; the ends of a part lie on it. A line becomes one cubic with its handles at
    thirds. Neighbours share their point exactly.
    *Source*: handles of 4/3 · tan(a / 4) · r touch the circle at the ends and the middle of a part of
    angle a, and rise above it by at most 2/27 · r · sin⁶(a / 4) / cos²(a / 4) between (Goldapp 1991,
    from memory; tested by sampling).
    *Errors*: GeometryError when the tolerance is not positive.
    """
    if not tolerance > 0.0:
        raise GeometryError.because("GEO-050", "the tolerance for cubics must be more than 0")
    turn = sweep(s)
    round_ = s.is_arc
    r = np.where(round_, radius(s), 1.0)
    sine = np.minimum(13.5 * tolerance * cos(WIDEST / 4.0) ** 2 / r, 1.0) ** (1.0 / 6.0)
    step = np.minimum(4.0 * np.arcsin(sine), WIDEST)
    parts = np.maximum(np.ceil(np.abs(turn) / step * (1.0 - 1e-12)), 1.0).astype(np.intp)
    row = np.repeat(np.arange(len(s), dtype=np.intp), parts)
    number = np.arange(len(row)) - np.repeat(np.cumsum(parts) - parts, parts)
    several = s.take(row)
    first = point_at(several, number / parts[row])
    last = point_at(several, (number + 1) / parts[row])
    angle = turn[row] / parts[row]
    away = start_tangent(several)
    heading = (away[:, 0] + 1j * away[:, 1]) * np.exp(1j * angle * number)
    chord = np.hypot(*(last - first).T)
    # 4/3 · tan(a / 4) · r with the chord 2 r sin(a / 2) is chord / (3 · cos²(a / 4)); of a line, a third.
    handle = chord / (3.0 * np.cos(angle / 4.0) ** 2)
    out, back = handle * heading, handle * heading * np.exp(1j * angle)
    second = first + np.stack((out.real, out.imag), axis=-1)
    third = last - np.stack((back.real, back.imag), axis=-1)
    return np.stack((first, second, third, last), axis=1), row
