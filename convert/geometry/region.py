"""Measures of what closed chains enclose: area, centroid, second moments. Curves count exactly.

A region is the polygon of its chords plus, signed, the circular segments between chords and arcs.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.errors import GeometryError
from convert.geometry.plane import cross, square, to_complex
from convert.geometry.segment import area_terms, boxes, lengths, segment_area

if TYPE_CHECKING:
    from convert.geometry.chain import Chain, Floats, Segments
    from convert.geometry.plane import Complexes, Ints

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(18)
"""Gauss' rule. The integrands are trigonometric polynomials of degree 4 over at most a half circle: with 16
nodes the error of the rule is below 1e-19 of the value."""


def length(chain: Chain) -> float:
    """Return the length of a chain, closed or open."""
    return float(lengths(chain.segments).sum())


def box(chain: Chain) -> Floats:
    """Return the smallest upright box around a chain: (4,) as xmin, ymin, xmax, ymax."""
    rows = boxes(chain.segments)
    if not len(rows):
        return np.concatenate((chain.points[0], chain.points[0]))
    return np.concatenate((rows[:, :2].min(axis=0), rows[:, 2:].max(axis=0)))


def area(chain: Chain) -> float:
    """Return the signed area inside a closed chain, counter-clockwise positive.

    *Errors*: GeometryError when the chain is open.
    """
    _check_closed(chain)
    return float(area_terms(chain.segments).sum())


def centroid(chain: Chain) -> tuple[float, float]:
    """Return the centre of area of a closed chain.

    *Errors*: GeometryError when the chain is open or encloses no area.
    """
    _check_closed(chain)
    middle = moments(chain.segments, np.zeros(1, dtype=np.intp))[1][0]
    return float(middle.real), float(middle.imag)


def second_moments(chain: Chain) -> tuple[float, float, float]:
    """Return (Ixx, Iyy, Ixy) about the centroid, whichever way round the chain runs.

    Ixx is the integral of y^2 over the area, Iyy that of x^2, Ixy that of x y.
    *Units*: mm to the fourth power.
    *Errors*: GeometryError when the chain is open or encloses no area.
    """
    _check_closed(chain)
    ixx, iyy, ixy = moments(chain.segments, np.zeros(1, dtype=np.intp))[2][0]
    return float(ixx), float(iyy), float(ixy)


def moments(s: Segments, first: Ints) -> tuple[Floats, Complexes, Floats]:
    """Return signed area (k,), centroid (k,) and second moments (k, 3) of k closed chains in one table.

    *Shapes*: chain number i begins at row first[i] and ends where the next begins; none is empty.
    *Errors*: GeometryError when one encloses no area.
    *Source*: triangles from an origin, whose second moment is a / 12 (d d' + p p' + q q') with d = p + q;
    circular segments by Gauss' rule along the arc (see _segment_moments) and the parallel axis theorem.
    """
    count = np.diff(np.r_[first, len(s)])
    frame = boxes(s)
    low = np.minimum.reduceat(frame[:, :2], first)
    high = np.maximum.reduceat(frame[:, 2:], first)
    origin = to_complex((low + high) / 2)
    here = np.repeat(origin, count)
    p, q = to_complex(s.start) - here, to_complex(s.end) - here
    c, middle = q - p, (p + q) / 2
    triangle = cross(middle, c) / 2
    scale = square(c)
    cap = scale * segment_area(s.bulge)
    tilt, wide, deep = _segment_moments(s.bulge)
    across = 1j * c
    lever = tilt * scale
    size = np.add.reduceat(triangle + cap, first)
    if (np.abs(size) <= 1e-14 * square(to_complex(high - low))).any():
        raise GeometryError.because("GEO-006", "an outline encloses no area")
    shift = np.add.reduceat((triangle * (2 / 3) + cap) * middle + lever * across, first) / size

    def product(u: Floats, v: Floats) -> Floats:
        """Return integrals of a product of two coordinates: columns are p, q, middle, c, across of each."""
        polygon = (4 * u[2] * v[2] + u[0] * v[0] + u[1] * v[1]) * triangle / 12
        caps = cap * u[2] * v[2] + lever * (u[2] * v[4] + u[4] * v[2])
        caps += scale * (wide * u[3] * v[3] + deep * u[4] * v[4])
        out: Floats = np.add.reduceat(polygon + caps, first)
        return out

    columns = np.stack((p, q, middle, c, across))
    x, y = columns.real, columns.imag
    ixx = product(y, y) - size * shift.imag**2
    iyy = product(x, x) - size * shift.real**2
    ixy = product(x, y) - size * shift.real * shift.imag
    second = np.stack((ixx, iyy, ixy), axis=1) * np.sign(size)[:, None]
    return size, origin + shift, second


def _segment_moments(bulge: Floats) -> tuple[Floats, Floats, Floats]:
    """Return the signed integrals of y, x^2 and y^2 over circular segments, x along a chord of length 1.

    *Source*: Green's theorem along the arc x = sin u / (2 sin h), y = (cos h - cos u) / (2 sin h), |u| <= h;
    the difference of cosines as a product of sines, so that nearly flat arcs lose nothing.
    """
    h = (2.0 * np.arctan(bulge))[:, None]
    flat = h == 0.0
    u = h * _NODES
    sine = np.where(flat, 1.0, 2.0 * np.sin(h))
    x = np.where(flat, _NODES / 2, np.sin(u) / sine)
    y = np.where(flat, 0.0, -2.0 * np.sin((h + u) / 2) * np.sin((h - u) / 2) / sine)
    dx = np.where(flat, 0.5, np.cos(u) * h / sine) * _WEIGHTS
    tilt = -(y * y * dx).sum(axis=1) / 2
    wide = -(x * x * y * dx).sum(axis=1)
    deep = -(y * y * y * dx).sum(axis=1) / 3
    return tilt, wide, deep


def _check_closed(chain: Chain) -> None:
    if not chain.closed:
        raise GeometryError.because("GEO-005", "an open chain encloses no area")
