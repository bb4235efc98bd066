"""CSS lengths, as numbers of user units (1 px = 1/96 in).

*Source*: CSS Values and Units, absolute lengths (1 in = 96 px = 72 pt = 6 pc = 2.54 cm = 101.6 Q)
and font-relative lengths; SVG 2, 8.9: a percentage refers to the viewport's width, its height,
or, for anything else, to its diagonal divided by the square root of two.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from math import hypot, isfinite, sqrt

from convert.units import MM_PER_INCH

PX_PER_INCH = 96
MM_PER_PX = MM_PER_INCH / PX_PER_INCH
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_LENGTH = re.compile(rf"\s*({_NUMBER})\s*([a-zA-Z]+|%)?\s*\Z")
_TENTHS_PER_INCH = 254
PX_PER_UNIT = {
    "": Fraction(1),
    "px": Fraction(1),
    "in": Fraction(PX_PER_INCH),
    "cm": Fraction(PX_PER_INCH * 100, _TENTHS_PER_INCH),
    "mm": Fraction(PX_PER_INCH * 10, _TENTHS_PER_INCH),
    "q": Fraction(PX_PER_INCH * 10, _TENTHS_PER_INCH * 4),
    "pt": Fraction(PX_PER_INCH, 72),
    "pc": Fraction(PX_PER_INCH, 6),
}
"""Exact ratios; every one is a length of the real world but the first two, which are by convention."""
_FONT_RELATIVE = {"em": 1.0, "rem": 1.0, "ex": 0.5, "ch": 0.5}
"""Of the font size; ex and ch by the standard's fallback, since no font is measured."""


@dataclass(frozen=True, slots=True)
class Context:
    """What relative lengths refer to: viewport size and font size, in user units."""

    width: float
    height: float
    font_size: float = 16.0
    root_font_size: float = 16.0

    @property
    def diagonal(self) -> float:
        """The length that percentages of neither width nor height refer to."""
        return hypot(self.width, self.height) / sqrt(2.0)


def split_length(text: str) -> tuple[float, str] | None:
    """Return number and unit (lower case; "" and "%" too), or None when the text is no length."""
    match = _LENGTH.match(text)
    if match is None:
        return None
    value, unit = float(match[1]), (match[2] or "").lower()
    if not isfinite(value) or (unit not in PX_PER_UNIT and unit not in _FONT_RELATIVE and unit != "%"):
        return None
    return value, unit


def user_units(text: str, context: Context, along: str) -> float | None:
    """Return a length in user units, or None when it is none. `along` is "x", "y" or "other"."""
    parts = split_length(text)
    if parts is None:
        return None
    value, unit = parts
    if unit == "%":
        whole = {"x": context.width, "y": context.height}.get(along, context.diagonal)
        return value / 100.0 * whole
    if unit in _FONT_RELATIVE:
        size = context.root_font_size if unit == "rem" else context.font_size
        return value * _FONT_RELATIVE[unit] * size
    ratio = PX_PER_UNIT[unit]
    return value * ratio.numerator / ratio.denominator
