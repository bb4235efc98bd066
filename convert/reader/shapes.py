"""The basic shapes as subpaths (SVG 2, chapter 10: the equivalent path of each)."""

from __future__ import annotations

import re
from itertools import pairwise
from math import pi, tau

from convert.reader.pathdata import ArcTo, LineTo, Part, PathFault, Point, Subpath

_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")


def rectangle(
    x: float, y: float, width: float, height: float, rx: float | None, ry: float | None
) -> list[Subpath]:
    """Return a rectangle with corners rounded by rx and ry (None is auto: as the other, else square)."""
    if width <= 0.0 or height <= 0.0:
        return []
    rx, ry = (ry if rx is None else rx) or 0.0, (rx if ry is None else ry) or 0.0
    rx, ry = min(rx, 0.5 * width), min(ry, 0.5 * height)
    right, bottom = x + width, y + height
    if rx <= 0.0 or ry <= 0.0:
        return [_closed([(x, y), (right, y), (right, bottom), (x, bottom)])]
    corners = (
        ((x + rx, y), (right - rx, y), (right - rx, y + ry), -0.5 * pi),
        ((right, y + ry), (right, bottom - ry), (right - rx, bottom - ry), 0.0),
        ((right - rx, bottom), (x + rx, bottom), (x + rx, bottom - ry), 0.5 * pi),
        ((x, bottom - ry), (x, y + ry), (x + rx, y + ry), pi),
    )
    parts: list[Part] = []
    for (begin, end, centre, angle), (following, _, _, _) in zip(
        corners, (*corners[1:], corners[0]), strict=True
    ):
        if begin != end:
            parts.append(LineTo(begin, end))
        parts.append(ArcTo(end, following, centre, (rx, 0.0), (0.0, ry), angle, 0.5 * pi))
    return [Subpath(tuple(parts), closed=True)]


def ellipse(cx: float, cy: float, rx: float, ry: float) -> list[Subpath]:
    """Return an ellipse as two half arcs, from its right hand end."""
    if rx <= 0.0 or ry <= 0.0:
        return []
    right, left = (cx + rx, cy), (cx - rx, cy)
    axes = (rx, 0.0), (0.0, ry)
    halves = (
        ArcTo(right, left, (cx, cy), *axes, 0.0, 0.5 * tau),
        ArcTo(left, right, (cx, cy), *axes, pi, 0.5 * tau),
    )
    return [Subpath(halves, closed=True)]


def polyline(points: list[Point], *, closed: bool) -> list[Subpath]:
    """Return straight lines through the points; those of no length are left out."""
    if closed:
        return [_closed(points)] if len(set(points)) > 1 else []
    parts = [LineTo(a, b) for a, b in pairwise(points) if a != b]
    return [Subpath(tuple(parts), closed=False)] if parts else []


def parse_points(text: str) -> tuple[list[Point], PathFault | None]:
    """Return the points of a polyline or polygon up to the first error, and that error."""
    values: list[float] = []
    at = 0
    while at < len(text):
        if text[at] in " \t\r\n\f,":
            at += 1
            continue
        match = _NUMBER.match(text, at)
        if match is None or abs(float(match[0])) > 1e300:
            return _pairs(values), PathFault(at + 1, "a number was expected")
        values.append(float(match[0]))
        at = match.end()
    fault = PathFault(len(text), "the last point has no y") if len(values) % 2 else None
    return _pairs(values), fault


def _pairs(values: list[float]) -> list[Point]:
    return list(zip(values[0::2], values[1::2], strict=False))


def _closed(points: list[Point]) -> Subpath:
    ends = (*points[1:], points[0])
    return Subpath(tuple(LineTo(a, b) for a, b in zip(points, ends, strict=True) if a != b), closed=True)
