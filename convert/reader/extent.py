"""The exact box round an outline after an affine map.

*Source*: derived. Along one axis a quadratic's speed is linear, a cubic's quadratic, and an
ellipse's coordinate u cos t + v sin t is extreme where tan t = v / u.
"""

from __future__ import annotations

from math import atan2, cos, pi, sin, sqrt
from typing import TYPE_CHECKING

from convert.reader.outline import ARC, CUBIC, LINE, QUADRATIC

if TYPE_CHECKING:
    from convert.reader.matrices import Matrix
    from convert.reader.outline import Outline


def outline_box(outline: Outline, m: Matrix) -> tuple[float, float, float, float]:
    """Return xmin, ymin, xmax, ymax. The outline must not be empty."""
    low, high = [], []
    for p, q, shift in ((m[0], m[2], m[4]), (m[1], m[3], m[5])):
        values: list[float] = []
        lines = outline.rows[LINE]
        values += [p * x + q * y for x, y in zip(lines[0::2], lines[1::2], strict=True)]
        for at in range(0, len(outline.rows[QUADRATIC]), 6):
            row = outline.rows[QUADRATIC][at : at + 6]
            values += _quadratic(*(p * x + q * y for x, y in zip(row[0::2], row[1::2], strict=True)))
        for at in range(0, len(outline.rows[CUBIC]), 8):
            row = outline.rows[CUBIC][at : at + 8]
            values += _cubic(*(p * x + q * y for x, y in zip(row[0::2], row[1::2], strict=True)))
        for at in range(0, len(outline.rows[ARC]), 12):
            row = outline.rows[ARC][at : at + 12]
            x0, x1, centre, u, v = (p * x + q * y for x, y in zip(row[0:10:2], row[1:10:2], strict=True))
            values += _arc(x0, x1, centre, u, v, row[10], row[11])
        low.append(min(values) + shift)
        high.append(max(values) + shift)
    return low[0], low[1], high[0], high[1]


def _quadratic(a: float, b: float, c: float) -> list[float]:
    values = [a, c]
    bend = a - 2.0 * b + c
    if bend and 0.0 < (a - b) / bend < 1.0:
        t = (a - b) / bend
        values.append(a + t * (2.0 * (b - a) + t * bend))
    return values


def _cubic(a: float, b: float, c: float, d: float) -> list[float]:
    values = [a, d]
    if min(a, d) <= min(b, c) and max(b, c) <= max(a, d):
        return values
    three, two, one = d - a + 3.0 * (b - c), 3.0 * (a - 2.0 * b + c), 3.0 * (b - a)
    # Speed: 3 three t^2 + 2 two t + one, its roots in the form that loses no digits.
    square = two * two - 3.0 * three * one
    if square < 0.0:
        return values
    q = -(two + (sqrt(square) if two >= 0.0 else -sqrt(square)))
    for top, bottom in ((q, 3.0 * three), (one, q)):
        if bottom and 0.0 < top / bottom < 1.0:
            t = top / bottom
            values.append(a + t * (one + t * (two + t * three)))
    return values


def _arc(
    start: float, end: float, centre: float, u: float, v: float, first: float, sweep: float
) -> list[float]:
    values = [start, end]
    if sweep < 0.0:
        first, sweep = first + sweep, -sweep
    extreme = atan2(v, u)
    reached = [angle for angle in (extreme, extreme + pi) if (angle - first) % (2.0 * pi) < sweep]
    return values + [centre + u * cos(angle) + v * sin(angle) for angle in reached]
