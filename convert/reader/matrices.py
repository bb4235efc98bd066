"""Affine maps of SVG, as (a, b, c, d, e, f): x' = a x + c y + e, y' = b x + d y + f (SVG 2, 8.5)."""

from __future__ import annotations

import re
from math import cos, radians, sin, tan
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

Matrix = tuple[float, float, float, float, float, float]
IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)

_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_UNIT = {
    "": 1.0,
    "px": 1.0,
    "deg": 1.0,
    "rad": 57.29577951308232,
    "grad": 0.9,
    "turn": 360.0,
    "in": 96.0,
    "cm": 96.0 / 2.54,
    "mm": 9.6 / 2.54,
    "pt": 96.0 / 72.0,
    "pc": 16.0,
    "q": 2.4 / 2.54,
}
_ARGUMENT = re.compile(rf"\s*({_NUMBER})([a-zA-Z]*)\s*,?")
_FUNCTION = re.compile(r"\s*,?\s*([a-zA-Z]+)\s*\(([^()]*)\)")


def multiply(first: Matrix, then: Matrix) -> Matrix:
    """Return the product first x then: `then` acts on points first, as an inner transform does."""
    a, b, c, d, e, f = first
    g, h, i, j, k, m = then
    return (a * g + c * h, b * g + d * h, a * i + c * j, b * i + d * j, a * k + c * m + e, b * k + d * m + f)


def translation(x: float, y: float) -> Matrix:
    """Return the shift by (x, y)."""
    return (1.0, 0.0, 0.0, 1.0, x, y)


def scaling(x: float, y: float) -> Matrix:
    """Return the scaling by x and y about the origin."""
    return (x, 0.0, 0.0, y, 0.0, 0.0)


def about(centre: tuple[float, float], inner: Matrix) -> Matrix:
    """Return `inner` done about `centre` instead of the origin."""
    x, y = centre
    return multiply(multiply(translation(x, y), inner), translation(-x, -y))


def apply(m: Matrix, x: float, y: float) -> tuple[float, float]:
    """Return the image of one point."""
    return m[0] * x + m[2] * y + m[4], m[1] * x + m[3] * y + m[5]


def _rotate(values: list[float]) -> Matrix:
    turn = radians(values[0])
    # Quarter turns are drawn often and should stay exact.
    quarter = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    cosine, sine = quarter.get(values[0] % 360.0, (cos(turn), sin(turn)))
    matrix = (cosine, sine, -sine, cosine, 0.0, 0.0)
    return about((values[1], values[2]), matrix) if len(values) == 3 else matrix


_MAKERS: dict[str, tuple[tuple[int, ...], Callable[[list[float]], Matrix]]] = {
    "matrix": ((6,), lambda v: (v[0], v[1], v[2], v[3], v[4], v[5])),
    "translate": ((1, 2), lambda v: translation(v[0], v[1] if len(v) == 2 else 0.0)),
    "translatex": ((1,), lambda v: translation(v[0], 0.0)),
    "translatey": ((1,), lambda v: translation(0.0, v[0])),
    "scale": ((1, 2), lambda v: scaling(v[0], v[1] if len(v) == 2 else v[0])),
    "scalex": ((1,), lambda v: scaling(v[0], 1.0)),
    "scaley": ((1,), lambda v: scaling(1.0, v[0])),
    "rotate": ((1, 3), _rotate),
    "skewx": ((1,), lambda v: (1.0, 0.0, tan(radians(v[0])), 1.0, 0.0, 0.0)),
    "skewy": ((1,), lambda v: (1.0, tan(radians(v[0])), 0.0, 1.0, 0.0, 0.0)),
    "skew": (
        (1, 2),
        lambda v: (1.0, tan(radians(v[1])) if len(v) == 2 else 0.0, tan(radians(v[0])), 1.0, 0.0, 0.0),
    ),
}


def parse_transform(text: str) -> Matrix | None:
    """Return the matrix of a transform list (attribute or CSS form), or None when any of it is wrong."""
    text = text.strip()
    if not text or text == "none":
        return IDENTITY
    matrix, at = IDENTITY, 0
    while at < len(text):
        match = _FUNCTION.match(text, at)
        if match is None:
            return None
        at = match.end()
        values = _arguments(match[2])
        allowed, make = _MAKERS.get(match[1].lower(), ((), None))
        if make is None or values is None or len(values) not in allowed:
            return None
        matrix = multiply(matrix, make(values))
        while at < len(text) and text[at] in " \t\r\n,":
            at += 1
    return matrix


def _arguments(text: str) -> list[float] | None:
    values, at = [], 0
    while at < len(text.rstrip()):
        match = _ARGUMENT.match(text, at)
        if match is None or match[2].lower() not in _UNIT:
            return None
        values.append(float(match[1]) * _UNIT[match[2].lower()])
        at = match.end()
    return values
