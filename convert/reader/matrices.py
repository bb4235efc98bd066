"""Affine maps as (a, b, c, d, e, f): x' = a x + c y + e, y' = b x + d y + f (SVG 2, 8.5).

The attribute and the style property `transform` have grammars of their own: in the attribute numbers
have no units and commas are optional; in style sheets lengths and angles need units.
*Source*: CSS Transforms 1 (functions, transform lists, and the syntax of the SVG attribute).
"""

from __future__ import annotations

import re
from functools import lru_cache
from math import cos, degrees, isfinite, radians, sin, tan
from typing import TYPE_CHECKING, Final

from svgelements import Matrix as ElementsMatrix

from convert.reader.lengths import NUMBER, Along, Length, Viewport, parse_length, stated

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

Matrix = tuple[float, float, float, float, float, float]
IDENTITY: Final[Matrix] = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)

_WS: Final = r"[ \t\r\n\f]*+"
_LIST: Final = re.compile(rf"{_WS}({NUMBER}{_WS}(?:,?{_WS}{NUMBER}{_WS})*+)", re.ASCII)
_NUMBERS: Final = re.compile(NUMBER, re.ASCII)
_CALL: Final = re.compile(rf"([a-zA-Z0-9]+){_WS}\(([^()]*)\){_WS}(,?){_WS}", re.ASCII)
_DEGREES: Final = {"deg": 1.0, "grad": 0.9, "rad": degrees(1.0), "turn": 360.0}


def multiply(outer: Matrix, inner: Matrix) -> Matrix:
    """Return the map that does `inner` first, then `outer`."""
    a, b, c, d, e, f = outer
    g, h, i, j, k, m = inner
    return (a * g + c * h, b * g + d * h, a * i + c * j, b * i + d * j, a * k + c * m + e, b * k + d * m + f)


def translated(outer: Matrix, x: float, y: float) -> Matrix:
    """Return the map that shifts by (x, y) first, then does `outer`."""
    a, b, c, d, e, f = outer
    return (a, b, c, d, a * x + c * y + e, b * x + d * y + f)


def apply(m: Matrix, x: float, y: float) -> tuple[float, float]:
    """Return the image of one point."""
    return m[0] * x + m[2] * y + m[4], m[1] * x + m[3] * y + m[5]


def determinant(m: Matrix) -> float:
    """Return the factor by which areas grow, negative when the map mirrors."""
    return m[0] * m[3] - m[1] * m[2]


def _turned(turn_deg: float) -> Matrix:
    turn = turn_deg % 360.0
    if turn % 90.0 == 0.0:  # quarter turns are common, and stay exact
        x, y = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(turn // 90.0) % 4]
    else:
        x, y = cos(radians(turn)), sin(radians(turn))
    return (x, y, -y, x, 0.0, 0.0)


def _turned_about(v: Sequence[float]) -> Matrix:
    if len(v) == 1:
        return _turned(v[0])
    return translated(multiply((1.0, 0.0, 0.0, 1.0, v[1], v[2]), _turned(v[0])), -v[1], -v[2])


def _skewed(x_deg: float, y_deg: float) -> Matrix:
    return (1.0, tan(radians(y_deg)), tan(radians(x_deg)), 1.0, 0.0, 0.0)


_COUNTS: Final = {
    "matrix": (6,),
    "translate": (1, 2),
    "scale": (1, 2),
    "rotate": (1, 3),
    "skewX": (1,),
    "skewY": (1,),
}
"""How many numbers each function of the attribute takes."""


def _attribute_function(name: str, numbers: Sequence[float]) -> Matrix:
    """Return the matrix of one function whose grammar has been checked.

    svgelements works it out, from numbers written so that nothing is left to its parser's taste. Only turns
    and skews are our own: a quarter turn stays exact, so that what is drawn upright is cut upright, and a
    skew by ever so many degrees doesn't overflow.
    """
    if name == "rotate":
        return _turned_about(numbers)
    if name in {"skewX", "skewY"}:
        return _skewed(*((numbers[0], 0.0) if name == "skewX" else (0.0, numbers[0])))
    m = ElementsMatrix(f"{name}({' '.join(map(repr, numbers))})")
    return (float(m.a), float(m.b), float(m.c), float(m.d), float(m.e), float(m.f))


@lru_cache(maxsize=4096)
def parse_attribute(text: str) -> Matrix | None:
    """Return the matrix of a transform attribute, or None when any of it is wrong: then none of it counts."""
    text = text.strip(" \t\r\n\f")
    if not text or text == "none":
        return IDENTITY
    matrix, at = IDENTITY, 0
    comma = ""
    while at < len(text):
        call = _CALL.match(text, at)
        if call is None or call[1] not in _COUNTS:
            return None
        numbers = _LIST.fullmatch(call[2])
        values = [float(n) for n in _NUMBERS.findall(call[2])] if numbers else []
        if len(values) not in _COUNTS[call[1]] or not all(map(isfinite, values)):
            return None
        matrix = multiply(matrix, _attribute_function(call[1], values))
        at, comma = call.end(), call[3]
    return None if comma else matrix


@lru_cache(maxsize=4096)
def _css_calls(text: str) -> tuple[tuple[str, tuple[str, ...]], ...] | None:
    """Return the functions of a style sheet's transform list and the texts of their arguments."""
    import tinycss2

    from convert.reader.css import component_values

    calls = []
    for token in component_values(text):
        if token.type == "whitespace":
            continue
        if token.type != "function":
            return None
        arguments = tinycss2.serialize(token.arguments).split(",")
        calls.append((token.lower_name, tuple(a.strip() for a in arguments)))
    return tuple(calls)


_LENGTHS: Final = {
    "translate": (Along.WIDTH, Along.HEIGHT),
    "translatex": (Along.WIDTH,),
    "translatey": (Along.HEIGHT,),
}
_ANGLES: Final[dict[str, tuple[int, Callable[[Sequence[float]], Matrix]]]] = {
    "rotate": (1, lambda v: _turned(v[0])),
    "rotatez": (1, lambda v: _turned(v[0])),
    "skewx": (1, lambda v: _skewed(v[0], 0.0)),
    "skewy": (1, lambda v: _skewed(0.0, v[0])),
    "skew": (2, lambda v: _skewed(v[0], v[1] if len(v) == 2 else 0.0)),
}
_PLAIN: Final[dict[str, tuple[tuple[int, ...], Callable[[Sequence[float]], Matrix]]]] = {
    "matrix": ((6,), lambda v: (v[0], v[1], v[2], v[3], v[4], v[5])),
    "scale": ((1, 2), lambda v: (v[0], 0.0, 0.0, v[-1], 0.0, 0.0)),
    "scalex": ((1,), lambda v: (v[0], 0.0, 0.0, 1.0, 0.0, 0.0)),
    "scaley": ((1,), lambda v: (1.0, 0.0, 0.0, v[0], 0.0, 0.0)),
}


def is_style(text: str) -> bool:
    """Return whether a style sheet's `transform` is one that can be followed."""
    if text.lower() == "none":
        return True
    calls = _css_calls(text)
    unit = Viewport(1.0, 1.0)
    return bool(calls) and all(_css_call(*call, unit, 1.0, (1.0, 1.0)) is not None for call in calls or ())


def parse_style(text: str, viewport: Viewport, font_size: float, box: tuple[float, float]) -> Matrix | None:
    """Return the matrix of a style sheet's `transform`; percentages refer to the `box` (width, height)."""
    if text.lower() == "none":
        return IDENTITY
    matrix = IDENTITY
    for call in _css_calls(text) or ():
        one = _css_call(*call, viewport, font_size, box)
        if one is None:
            return None
        matrix = multiply(matrix, one)
    return matrix


SEPARATE: Final = ("translate", "rotate", "scale")
"""Properties that are transforms of their own, in the order in which they come before `transform`."""


def is_separate(name: str, text: str) -> bool:
    """Return whether the text is a value of one of the properties in SEPARATE."""
    return _call_of(name, text) is not None


def separate_style(values: Mapping[str, str]) -> str:
    """Return what translate, rotate and scale are as one list of transform functions; "" for none.

    *Source*: CSS Transforms 2, 5 (individual transform properties) and 6 (their order).
    """
    return " ".join(filter(None, (_call_of(name, values[name]) for name in SEPARATE if name in values)))


def _call_of(name: str, text: str) -> str | None:
    """Return a separate transform as a function, "" for none; None when it is wrong or leaves the plane."""
    words = _words(text)
    if words == ["none"]:
        return ""
    if name == "rotate" and len(words) == 2 and "z" in words:
        words.remove("z")
    if name != "rotate" and len(words) == 3:
        # What is in front of the page, or how deep things are, doesn't show.
        words.pop()
    call = f"{name}({','.join(words)})"
    most = 1 if name == "rotate" else 2
    return call if 1 <= len(words) <= most and is_style(call) else None


def _words(text: str) -> list[str]:
    """Return the parts of a value, in lower case; what stands in brackets is not parted."""
    found, depth = [""], 0
    for sign in text.lower():
        depth += (sign == "(") - (sign == ")")
        if sign.isspace() and not depth:
            found.append("")
        else:
            found[-1] += sign
    return [word for word in found if word]


def _css_call(
    name: str, arguments: tuple[str, ...], viewport: Viewport, font_size: float, box: tuple[float, float]
) -> Matrix | None:
    if name in _LENGTHS:
        along = _LENGTHS[name]
        lengths = [parse_length(a, bare=False) for a in arguments]
        if not 1 <= len(lengths) <= len(along):
            return None
        frame = Viewport(*box, viewport.root_font_size)
        x, y = [_resolved(t, frame, font_size, way) for t, way in zip(lengths, along, strict=False)] + (
            [0.0] * (2 - len(lengths))
        )
        if x is None or y is None:
            return None
        return (1.0, 0.0, 0.0, 1.0, *((0.0, x) if name == "translatey" else (x, y)))
    if name in _ANGLES:
        most, make = _ANGLES[name]
        angles = [_angle(a) for a in arguments]
        numbers = [a for a in angles if a is not None]
        return make(numbers) if 1 <= len(angles) <= most and len(numbers) == len(angles) else None
    if name in _PLAIN:
        counts, make = _PLAIN[name]
        plain = [_number(a) for a in arguments]
        numbers = [n for n in plain if n is not None]
        return make(numbers) if len(plain) in counts and len(numbers) == len(plain) else None
    return None


def _resolved(length: Length | None, frame: Viewport, font_size: float, along: Along) -> float | None:
    return None if length is None else length.user_units(frame, font_size, along)


def _angle(text: str) -> float | None:
    found = stated(text)
    if found is None or (not found.unit and found.number != 0.0):
        return None
    factor = _DEGREES.get(found.unit or "deg")
    return None if factor is None else found.number * factor


def _number(text: str) -> float | None:
    found = stated(text)
    if found is None or found.unit not in ("", "%"):
        return None
    return found.number / 100.0 if found.unit else found.number


@lru_cache(maxsize=1024)
def parse_origin(text: str) -> tuple[Length, Length] | None:
    """Return x and y of a transform-origin, or None when it is none.

    One value leaves the other at 50 %; words may stand in either order; a depth is of no use here.
    """
    words = {"left": 0.0, "right": 1.0, "top": 0.0, "bottom": 1.0, "center": 0.5}
    parts = text.lower().split()[:2]
    if not parts or len(text.split()) > 3:
        return None
    if len(parts) == 1:
        parts = ["center", parts[0]] if parts[0] in ("top", "bottom") else [parts[0], "center"]
    elif parts[0] in ("top", "bottom") or parts[1] in ("left", "right"):
        parts.reverse()
    if parts[0] in ("top", "bottom") or parts[1] in ("left", "right"):
        return None
    x, y = (
        Length(0.0, share=words[part]) if part in words else parse_length(part, bare=True) for part in parts
    )
    return None if x is None or y is None else (x, y)


def about(centre: tuple[float, float], inner: Matrix) -> Matrix:
    """Return `inner` done about `centre` instead of the origin."""
    x, y = centre
    return translated(multiply((1.0, 0.0, 0.0, 1.0, x, y), inner), -x, -y)
