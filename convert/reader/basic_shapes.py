"""The basic shapes of style sheets, where `clip-path` is one of them instead of a reference.

*Source*: CSS Shapes 1 (circle, ellipse, inset, polygon, path: arguments, defaults, reference box).
"""

from __future__ import annotations

from math import hypot, sqrt
from typing import TYPE_CHECKING, Any, Final

from convert.reader.lengths import Along, Viewport, parse_length
from convert.reader.matrices import parse_origin
from convert.reader.outline import Outline, ellipse, polyline, rectangle
from convert.reader.pathdata import parse_path

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    Box = tuple[float, float, float, float]

_BOXES: Final = frozenset(
    {"border-box", "padding-box", "content-box", "margin-box", "fill-box", "stroke-box", "view-box"}
)
_RULES: Final = ("nonzero", "evenodd")


class _NotAShapeError(Exception):
    """Arguments that the shape doesn't allow, or that aren't followed here."""


class _Reader:
    """Reads arguments as lengths in a reference box."""

    def __init__(self, box: Box, font_size: float, root_font_size: float) -> None:
        self.left, self.top, right, bottom = box
        self.width, self.height = right - self.left, bottom - self.top
        self.frame = Viewport(self.width, self.height, root_font_size)
        self.font_size = font_size

    def length(self, text: str, along: Along) -> float:
        length = parse_length(text, bare=False)
        if length is None:
            raise _NotAShapeError
        return length.user_units(self.frame, self.font_size, along)

    def point(self, words: Sequence[str]) -> tuple[float, float]:
        """Return a position, by default the middle."""
        origin = parse_origin(" ".join(words) or "center")
        if origin is None:
            raise _NotAShapeError
        x, y = (
            length.user_units(self.frame, self.font_size, along)
            for length, along in zip(origin, (Along.WIDTH, Along.HEIGHT), strict=True)
        )
        return self.left + x, self.top + y

    def radius(self, word: str, distances: tuple[float, float], along: Along) -> float:
        """Return a radius given as a length or by the sides of the box, whose distances are given."""
        if word in ("", "closest-side"):
            return min(distances)
        if word == "farthest-side":
            return max(distances)
        value = self.length(word, along)
        if value < 0.0:
            raise _NotAShapeError
        return value

    def sides(self, x: float, y: float) -> tuple[tuple[float, float], tuple[float, float]]:
        """Return the distances of a point from the box's left and right, top and bottom."""
        across = abs(x - self.left), abs(self.left + self.width - x)
        return across, (abs(y - self.top), abs(self.top + self.height - y))


def basic_shape(
    text: str, boxes: Callable[[str], Box | None], font_size: float, root_font_size: float
) -> tuple[Outline, str] | None:
    """Return the outline of a basic shape and its fill rule; None when it is none, or not followed.

    `boxes` gives the reference box of a name, in user units.
    """
    from convert.reader.css import component_values

    tokens = [t for t in component_values(text) if t.type != "whitespace"]
    names = [t.lower_value for t in tokens if t.type == "ident"]
    functions = [t for t in tokens if t.type == "function"]
    if len(names) + len(functions) != len(tokens) or len(functions) != 1 or not set(names) <= _BOXES:
        return None
    box = boxes(names[0] if names else "border-box")
    make = _SHAPES.get(functions[0].lower_name)
    if box is None or make is None or len(names) > 1:
        return None
    try:
        return make(_words(functions[0].arguments), _Reader(box, font_size, root_font_size))
    except _NotAShapeError:
        return None


def _words(tokens: Sequence[Any]) -> list[list[str]]:
    """Return the arguments between commas, each as its words."""
    import tinycss2

    groups: list[list[str]] = [[]]
    for token in tokens:
        if token.type == "literal" and token.value == ",":
            groups.append([])
        elif token.type == "string":
            groups[-1].append(token.value)
        elif token.type not in ("whitespace", "comment"):
            groups[-1].append(tinycss2.serialize([token]).lower())
    return groups


def _split(words: list[str], at: str) -> tuple[list[str], list[str]]:
    if at not in words:
        return words, []
    place = words.index(at)
    return words[:place], words[place + 1 :]


def _circle(groups: list[list[str]], read: _Reader) -> tuple[Outline, str]:
    sizes, place = _split(groups[0], "at")
    if len(groups) > 1 or len(sizes) > 1:
        raise _NotAShapeError
    x, y = read.point(place)
    across, down = read.sides(x, y)
    nearest = min(*across, *down), max(*across, *down)
    word = sizes[0] if sizes else ""
    radius = read.radius(word, nearest, Along.DIAGONAL)
    if word.endswith("%"):
        radius = float(word[:-1]) / 100.0 * hypot(read.width, read.height) / sqrt(2.0)
    return (ellipse(x, y, radius, radius) if radius > 0.0 else Outline()), "nonzero"


def _ellipse(groups: list[list[str]], read: _Reader) -> tuple[Outline, str]:
    sizes, place = _split(groups[0], "at")
    if len(groups) > 1 or len(sizes) not in (0, 2):
        raise _NotAShapeError
    x, y = read.point(place)
    across, down = read.sides(x, y)
    rx = read.radius(sizes[0] if sizes else "", across, Along.WIDTH)
    ry = read.radius(sizes[1] if sizes else "", down, Along.HEIGHT)
    return (ellipse(x, y, rx, ry) if rx > 0.0 and ry > 0.0 else Outline()), "nonzero"


def _inset(groups: list[list[str]], read: _Reader) -> tuple[Outline, str]:
    sides, corners = _split(groups[0], "round")
    if len(groups) > 1 or not 1 <= len(sides) <= 4 or len(corners) > 1:
        raise _NotAShapeError
    # As for margins: a side that isn't given is as the one across from it, else as the first.
    top = sides[0]
    right = sides[1] if len(sides) > 1 else top
    bottom = sides[2] if len(sides) > 2 else top
    left = sides[3] if len(sides) > 3 else right
    y0, y1 = read.length(top, Along.HEIGHT), read.length(bottom, Along.HEIGHT)
    x0, x1 = read.length(left, Along.WIDTH), read.length(right, Along.WIDTH)
    width, height = read.width - x0 - x1, read.height - y0 - y1
    if width <= 0.0 or height <= 0.0:
        return Outline(), "nonzero"
    rx, ry = (read.length(corners[0], a) if corners else 0.0 for a in (Along.WIDTH, Along.HEIGHT))
    return rectangle(read.left + x0, read.top + y0, width, height, rx, ry), "nonzero"


def _rule(groups: list[list[str]]) -> tuple[str, list[list[str]]]:
    if groups[0] and groups[0][0] in _RULES:
        return groups[0][0], groups[1:]
    return "nonzero", groups


def _polygon(groups: list[list[str]], read: _Reader) -> tuple[Outline, str]:
    rule, corners = _rule(groups)
    if any(len(corner) != 2 for corner in corners):
        raise _NotAShapeError
    points = [
        (read.left + read.length(x, Along.WIDTH), read.top + read.length(y, Along.HEIGHT)) for x, y in corners
    ]
    return polyline(points, closed=True), rule


def _path(groups: list[list[str]], read: _Reader) -> tuple[Outline, str]:
    rule, rest = _rule(groups)
    if len(rest) != 1 or len(rest[0]) != 1:
        raise _NotAShapeError
    outline, fault = parse_path(rest[0][0])
    if fault is not None or read.left or read.top:
        raise _NotAShapeError
    return outline, rule


_SHAPES: Final[dict[str, Callable[[list[list[str]], _Reader], tuple[Outline, str]]]] = {
    "circle": _circle,
    "ellipse": _ellipse,
    "inset": _inset,
    "polygon": _polygon,
    "path": _path,
}
