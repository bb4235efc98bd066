"""CSS lengths as user units (1 px each), and what percentages and font sizes make of them.

*Source*: CSS Values and Units 4 (absolute lengths, font-relative lengths with the fallbacks for
fonts that aren't known, calc()); SVG 2, 8.9 (what a percentage refers to).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache
from math import hypot, inf, isfinite, sqrt
from typing import Final, NamedTuple

from convert.units import CSS_UNIT_MM

NUMBER: Final = r"(?>[-+]?(?>\d++(?:\.\d+|(?!\.))|\.\d+)(?:[eE][-+]?\d+)?)"
"""A number of CSS and SVG 2: no point without a digit after it. Atomic, so that matching never backtracks."""
_LENGTH: Final = re.compile(rf"({NUMBER})([a-zA-Z]+|%)?\Z", re.ASCII)
PX_PER_UNIT: Final = {unit: mm / CSS_UNIT_MM["px"] for unit, mm in CSS_UNIT_MM.items()}
"""User units in each absolute unit, as exact fractions."""
_FACTOR: Final = {unit: ratio.numerator / ratio.denominator for unit, ratio in PX_PER_UNIT.items()}
_FONT_RELATIVE: Final = {"em": 1.0, "ex": 0.5, "ch": 0.5, "ic": 1.0}
"""Shares of the font size; ex and ch by the standard's fallback, as no font is measured."""


class Along(Enum):
    """What a percentage of a length refers to."""

    WIDTH = 0
    HEIGHT = 1
    DIAGONAL = 2


@dataclass(frozen=True, slots=True)
class Viewport:
    """The size (user units) that percentages refer to, and the root's font size, for rem."""

    width: float
    height: float
    root_font_size: float = 16.0

    def whole(self, along: Along) -> float:
        """Return what 100 % is."""
        if along is Along.WIDTH:
            return self.width
        if along is Along.HEIGHT:
            return self.height
        return hypot(self.width, self.height) / sqrt(2.0)


class Length(NamedTuple):
    """A sum of a length in user units, a percentage (1 = 100 %), and multiples of font sizes."""

    px: float
    share: float = 0.0
    em: float = 0.0
    rem: float = 0.0

    def user_units(self, viewport: Viewport, font_size: float, along: Along) -> float:
        """Return the length for a place in the document."""
        length = self.px
        if self.share:
            length += self.share * viewport.whole(along)
        if self.em:
            length += self.em * font_size
        if self.rem:
            length += self.rem * viewport.root_font_size
        return length


class Stated(NamedTuple):
    """A number with its unit in lower case, as it was written; "" when there is none."""

    number: float
    unit: str


def stated(text: str) -> Stated | None:
    """Return number and unit of a plain length, or None when the text is none or not finite."""
    match = _LENGTH.match(text.strip(" \t\r\n\f"))
    if match is None:
        return None
    number = float(match[1])
    return Stated(number, (match[2] or "").lower()) if isfinite(number) else None


@lru_cache(maxsize=4096)
def parse_length(text: str, *, bare: bool) -> Length | None:
    """Return a length, or None when the text is none.

    `bare` allows a number without a unit, as attributes do; in style sheets only 0 may lack one.
    """
    plain = stated(text)
    if plain is None:
        return _calculated(text, bare=bare) if "(" in text else None
    return _in_unit(plain.number, plain.unit, bare=bare)


def _in_unit(number: float, unit: str, *, bare: bool) -> Length | None:
    if not unit:
        return Length(number) if bare or number == 0.0 else None
    if unit in _FACTOR:
        return Length(number * _FACTOR[unit])
    if unit == "%":
        return Length(0.0, share=number / 100.0)
    if unit in _FONT_RELATIVE:
        return Length(0.0, em=number * _FONT_RELATIVE[unit])
    return Length(0.0, rem=number) if unit == "rem" else None


def parse_number(text: str) -> float | None:
    """Return the value of a calc() that is a plain number or percentage (1 = 100 %)."""
    value = _calculated(text, bare=True)
    if value is None or value.em or value.rem or (value.px and value.share):
        return None
    return value.px + value.share


class _NotALengthError(Exception):
    """A calculation that has no length for its value."""


def _calculated(text: str, *, bare: bool) -> Length | None:
    """Return the value of calc(): sums of lengths, and products and quotients with numbers."""
    from convert.reader.css import one_value

    token = one_value(text)
    if token.type != "function" or token.lower_name != "calc":
        return None
    try:
        value, is_number = _sum(token.arguments, 0)
    except _NotALengthError:
        return None
    if (is_number and not bare) or not all(map(isfinite, value)):
        return None
    return value


def _sum(tokens: list[object], depth: int) -> tuple[Length, bool]:
    """Return the value of a sum, and whether it is a plain number."""
    if depth > 20:
        raise _NotALengthError
    words = [t for t in tokens if t.type not in ("whitespace", "comment")]  # type: ignore[attr-defined]
    total, kind = _product(words, depth)
    while words:
        sign = _operator(words, "+-")
        term, term_kind = _product(words, depth)
        if term_kind is not kind:
            raise _NotALengthError
        total = Length(*(a + (b if sign == "+" else -b) for a, b in zip(total, term, strict=True)))
    return total, kind


def _product(words: list[object], depth: int) -> tuple[Length, bool]:
    value, is_number = _factor(words, depth)
    while words and getattr(words[0], "value", None) in ("*", "/"):
        sign = _operator(words, "*/")
        other, other_is_number = _factor(words, depth)
        if sign == "*" and is_number:
            value, is_number, other, other_is_number = other, other_is_number, value, is_number
        if not other_is_number:
            raise _NotALengthError
        by = other.px if sign == "*" else (1.0 / other.px if other.px else inf)
        value = Length(*(part * by for part in value))
    return value, is_number


def _operator(words: list[object], allowed: str) -> str:
    sign = getattr(words.pop(0), "value", None)
    if not isinstance(sign, str) or sign not in allowed or not words:
        raise _NotALengthError
    return sign


def _factor(words: list[object], depth: int) -> tuple[Length, bool]:
    if not words:
        raise _NotALengthError
    token = words.pop(0)
    kind = token.type  # type: ignore[attr-defined]
    if kind == "number":
        return Length(float(token.value)), True  # type: ignore[attr-defined]
    if kind in ("dimension", "percentage"):
        unit = "%" if kind == "percentage" else token.lower_unit  # type: ignore[attr-defined]
        length = _in_unit(float(token.value), unit, bare=False)  # type: ignore[attr-defined]
        if length is not None:
            return length, False
    if kind == "() block":
        return _sum(token.content, depth + 1)  # type: ignore[attr-defined]
    if kind == "function" and token.lower_name == "calc":  # type: ignore[attr-defined]
        return _sum(token.arguments, depth + 1)  # type: ignore[attr-defined]
    raise _NotALengthError
