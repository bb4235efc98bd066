"""Path data: a strict grammar of our own in front of svgelements.

svgelements resolves relative coordinates and repeated commands; it is given only text that the
grammar below accepts. What it is known to get wrong is worked out here instead: the control points
of S after anything but C or S, and of T after anything but Q or T; and elliptical arcs, of which
only start and end are taken from it. A path with an error is kept up to the last whole segment
before it, as the standard wants (SVG 2, 9.5.4).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import atan2, cos, hypot, isfinite, pi, radians, sin, sqrt
from typing import TYPE_CHECKING, NamedTuple

from svgelements import Path as ElementsPath

if TYPE_CHECKING:
    from collections.abc import Iterator

_COUNT = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")

Point = tuple[float, float]


class LineTo(NamedTuple):
    """A straight line."""

    start: Point
    end: Point


class CubicTo(NamedTuple):
    """A cubic Bézier."""

    start: Point
    first: Point
    second: Point
    end: Point


class QuadraticTo(NamedTuple):
    """A quadratic Bézier."""

    start: Point
    control: Point
    end: Point


class ArcTo(NamedTuple):
    """An elliptical arc: the images of the unit circle's axes, and parameter angles in radians."""

    start: Point
    end: Point
    centre: Point
    x_axis: Point
    y_axis: Point
    start_angle: float
    sweep: float


Part = LineTo | CubicTo | QuadraticTo | ArcTo


@dataclass(frozen=True, slots=True)
class Subpath:
    """Parts joined head to tail. `closed` when drawn with Z or as a shape that closes by nature."""

    parts: tuple[Part, ...]
    closed: bool


@dataclass(frozen=True, slots=True)
class PathFault:
    """The first error in path data: the character it stands at (from 1) and what was expected."""

    character: int
    what: str


def parse_path(text: str) -> tuple[tuple[Subpath, ...], PathFault | None]:
    """Return the subpaths that the data draws, and its first error if it has one."""
    tokens, fault = _tokens(text)
    if not tokens:
        return (), fault
    return tuple(_subpaths(tokens)), fault


def _tokens(text: str) -> tuple[list[tuple[str, tuple[float, ...]]], PathFault | None]:
    """Return one token for each segment: its command letter and numbers, and the first error."""
    tokens: list[tuple[str, tuple[float, ...]]] = []
    at = len(text) - len(text.lstrip(" \t\r\n\f"))
    letter = ""
    while at < len(text):
        if text[at].upper() in _COUNT:
            letter = text[at]
            at = _skip(text, at + 1, comma=False)
        elif not letter or letter in "zZ":
            return tokens, PathFault(at + 1, f"a command was expected, not {text[at]!r}")
        if not tokens and letter not in "mM":
            return tokens, PathFault(at, "a path must begin with M")
        values, at, fault = _values(text, at, letter.upper())
        if fault is not None:
            return tokens, fault
        tokens.append((letter, values))
        if letter in "mM":
            letter = "l" if letter == "m" else "L"
        comma_at = at
        at = _skip(text, at, comma=letter not in "zZ")
        if "," in text[comma_at:at] and (at >= len(text) or text[at].isalpha()):
            return tokens, PathFault(comma_at + 1, "a number was expected after the comma")
    return tokens, None


def _skip(text: str, at: int, *, comma: bool) -> int:
    seen = False
    while at < len(text) and (text[at] in " \t\r\n\f" or (comma and not seen and text[at] == ",")):
        seen = seen or text[at] == ","
        at += 1
    return at


def _values(text: str, at: int, command: str) -> tuple[tuple[float, ...], int, PathFault | None]:
    values: list[float] = []
    for number in range(_COUNT[command]):
        if number:
            at = _skip(text, at, comma=True)
        if command == "A" and number in (3, 4):
            if at >= len(text) or text[at] not in "01":
                return (), at, PathFault(at + 1, "an arc flag (0 or 1) was expected")
            values.append(float(text[at]))
            at += 1
            continue
        match = _NUMBER.match(text, at)
        if match is None:
            return (), at, PathFault(at + 1, "a number was expected")
        value = float(match[0])
        if not isfinite(value):
            return (), at, PathFault(at + 1, "the number is too large")
        values.append(value)
        at = match.end()
    return tuple(values), at, None


def _clean(tokens: list[tuple[str, tuple[float, ...]]]) -> str:
    words = []
    for letter, values in tokens:
        if letter in "aA":
            numbers = [repr(v) for v in values]
            numbers[3:5] = [str(int(v)) for v in values[3:5]]
            words.append(letter + " ".join(numbers))
        else:
            words.append(letter + " ".join(map(repr, values)))
    return " ".join(words)


def _subpaths(tokens: list[tuple[str, tuple[float, ...]]]) -> Iterator[Subpath]:
    drawn = ElementsPath(_clean(tokens))
    parts: list[Part] = []
    begin = here = (0.0, 0.0)
    before, control = "", (0.0, 0.0)
    # svgelements repeats no move after Z where the standard implies one: the point is the same.
    for (letter, values), segment in zip(tokens, drawn, strict=True):
        command = letter.upper()
        if command == "M":
            if parts:
                yield Subpath(tuple(parts), closed=False)
                parts = []
            begin = here = (float(segment.end.x), float(segment.end.y))
        elif command == "Z":
            if here != begin:
                parts.append(LineTo(here, begin))
            if parts:
                yield Subpath(tuple(parts), closed=True)
                parts = []
            here = begin
        else:
            end = (float(segment.end.x), float(segment.end.y))
            part, control = _part(command, values, segment, here, end, before, control)
            if part is not None:
                parts.append(part)
            here = end
        before = command
    if parts:
        yield Subpath(tuple(parts), closed=False)


def _part(
    command: str,
    values: tuple[float, ...],
    segment: object,
    here: Point,
    end: Point,
    before: str,
    control: Point,
) -> tuple[Part | None, Point]:
    """Return the part and its last control point, for a smooth one after it."""
    mirrored = (2.0 * here[0] - control[0], 2.0 * here[1] - control[1])
    if command in "CS":
        second = _point(segment, "control2")
        first = _point(segment, "control1") if command == "C" else mirrored if before in ("C", "S") else here
        return CubicTo(here, first, second, end), second
    if command in "QT":
        bend = _point(segment, "control") if command == "Q" else mirrored if before in ("Q", "T") else here
        return QuadraticTo(here, bend, end), bend
    if command == "A":
        return arc_part(
            here, end, values[0], values[1], values[2], large=values[3] == 1.0, sweep=values[4] == 1.0
        ), end
    return (LineTo(here, end) if here != end else None), end


def _point(segment: object, name: str) -> Point:
    point = getattr(segment, name)
    return float(point.x), float(point.y)


def arc_part(
    start: Point, end: Point, rx: float, ry: float, turn_deg: float, *, large: bool, sweep: bool
) -> ArcTo | LineTo | None:
    """Return the arc between two points; a line when a radius is zero; None when the ends coincide.

    *Source*: SVG 2, appendix B.2.4 and B.2.5 (conversion from endpoint to centre parameterization and
    correction of out-of-range radii).
    """
    if start == end:
        return None
    rx, ry = abs(rx), abs(ry)
    if rx == 0.0 or ry == 0.0:
        return LineTo(start, end)
    phi = radians(turn_deg % 360.0)
    c, s = cos(phi), sin(phi)
    if turn_deg % 90.0 == 0.0:
        c, s = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(turn_deg % 360.0) // 90]
    half_x, half_y = 0.5 * (start[0] - end[0]), 0.5 * (start[1] - end[1])
    # In the ellipse's own frame, with unit radii.
    x, y = (c * half_x + s * half_y) / rx, (-s * half_x + c * half_y) / ry
    lam = hypot(x, y)
    if lam > 1.0:
        rx, ry, x, y, lam = rx * lam, ry * lam, x / lam, y / lam, 1.0
    rise = sqrt(max(0.0, (1.0 - lam) * (1.0 + lam))) / lam
    if large == sweep:
        rise = -rise
    cx, cy = rise * y, -rise * x
    first = atan2(y - cy, x - cx)
    turn = atan2(-y - cy, -x - cx) - first
    if sweep and turn <= 0.0:
        turn += 2.0 * pi
    elif not sweep and turn >= 0.0:
        turn -= 2.0 * pi
    middle_x, middle_y = 0.5 * (start[0] + end[0]), 0.5 * (start[1] + end[1])
    centre = (c * cx * rx - s * cy * ry + middle_x, s * cx * rx + c * cy * ry + middle_y)
    return ArcTo(start, end, centre, (c * rx, s * rx), (-s * ry, c * ry), first, turn)
