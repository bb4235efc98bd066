"""Measures of what closed chains enclose: area, centroid, second moments. Curves count exactly.

A region is the polygon of its chords plus, signed, the circular segments between chords and arcs.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.errors import GeometryError
from convert.geometry.plane import cross, to_complex, to_points
from convert.geometry.segment import area_terms, boxes, lengths, segment_area

if TYPE_CHECKING:
    from convert.geometry.chain import Chain, Floats

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
    origin, size, first, _ = _moments(chain)
    middle = origin + first / size
    return float(middle.real), float(middle.imag)


def second_moments(chain: Chain) -> tuple[float, float, float]:
    """Return (Ixx, Iyy, Ixy) about the centroid, whichever way round the chain runs.

    Ixx is the integral of y^2 over the area, Iyy that of x^2, Ixy that of x y.
    *Units*: mm to the fourth power.
    *Errors*: GeometryError when the chain is open or encloses no area.
    """
    _, size, first, second = _moments(chain)
    middle = first / size
    ixx = second[1] - size * middle.imag**2
    iyy = second[0] - size * middle.real**2
    ixy = second[2] - size * middle.real * middle.imag
    sign = 1.0 if size > 0 else -1.0
    return float(sign * ixx), float(sign * iyy), float(sign * ixy)


def _moments(chain: Chain) -> tuple[complex, float, complex, tuple[float, float, float]]:
    """Return origin, area, first moment and the integrals of x^2, y^2, x y, all seen from the origin.

    *Source*: triangles from the origin, whose second moment is a / 12 (s s' + p p' + q q') with s = p + q;
    circular segments by Gauss' rule along the arc (see _segment_moments) and the parallel axis theorem.
    """
    _check_closed(chain)
    low, high = box(chain)[:2], box(chain)[2:]
    origin = complex(*((low + high) / 2))
    s = chain.segments
    p, q = to_complex(s.start) - origin, to_complex(s.end) - origin
    c, middle = q - p, (p + q) / 2
    triangle = cross(middle, c) / 2
    scale = np.abs(c)
    cap = scale**2 * segment_area(s.bulge)
    tilt, wide, deep = _segment_moments(s.bulge)
    size = float((triangle + cap).sum())
    if abs(size) <= 1e-14 * float(np.hypot(*(high - low))) ** 2:
        raise GeometryError.because("GEO-006", "an outline encloses no area")
    across = 1j * c
    lever = tilt * scale**2
    first = complex((triangle * (2 / 3) * middle + cap * middle + lever * across).sum())

    def product(u: int, v: int) -> float:
        pp, qq, mm, cc, aa = (to_points(z) for z in (p, q, middle, c, across))
        polygon = (4 * mm[:, u] * mm[:, v] + pp[:, u] * pp[:, v] + qq[:, u] * qq[:, v]) * triangle / 12
        caps = cap * mm[:, u] * mm[:, v] + lever * (mm[:, u] * aa[:, v] + aa[:, u] * mm[:, v])
        caps += scale**2 * (wide * cc[:, u] * cc[:, v] + deep * aa[:, u] * aa[:, v])
        return float((polygon + caps).sum())

    return origin, size, first, (product(0, 0), product(1, 1), product(0, 1))


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
