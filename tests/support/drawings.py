"""Drawings made in test code, without SVG: shapes as vertices and bulges, in mm, y up.

*Example*: make_drawing([Shape(polygon((0, 0), (10, 0), (0, 10))), Shape(circle(5, 5, 2), fill="#aa0000")])
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import atan, atan2, cos, hypot, pi, sin, tan

import numpy as np

from convert.geometry.chain import Chain, Segments
from convert.geometry.similarity import Similarity
from convert.reader.drawing import Drawing, DrawnText, Element, FillRule

BLACK = "#000000"


@dataclass(frozen=True)
class Shape:
    """One drawn element: its subpaths and its paint; a filled open subpath gets its implied closing line."""

    chains: Chain | list[Chain]
    stroke: str | None = BLACK
    fill: str | None = None
    opacity: float = 1.0
    rule: FillRule = FillRule.NONZERO
    id: str | None = None
    width: float = 0.3
    title: str | None = None

    @property
    def subpaths(self) -> list[Chain]:
        """The subpaths as a list."""
        return [self.chains] if isinstance(self.chains, Chain) else list(self.chains)


def line(*points) -> Chain:
    """Return an open chain of straight lines through (x, y) points."""
    return Chain(np.array(points, float), np.zeros(len(points) - 1), closed=False)


def polygon(*points) -> Chain:
    """Return a closed chain of straight lines."""
    return Chain(np.array(points, float), np.zeros(len(points)), closed=True)


def rectangle(x, y, width, height) -> Chain:
    """Return a rectangle from its lower left corner."""
    return polygon((x, y), (x + width, y), (x + width, y + height), (x, y + height))


def circle(x, y, radius, parts=2, turned=0.0) -> Chain:
    """Return a circle of `parts` equal arcs, the first vertex at the angle `turned`."""
    angles = turned + 2 * pi * np.arange(parts) / parts
    points = np.column_stack((x + radius * np.cos(angles), y + radius * np.sin(angles)))
    return Chain(points, np.full(parts, tan(pi / 2 / parts)), closed=True)


def arcs(*stops, closed=False) -> Chain:
    """Return a chain from (x, y, bulge) stops; the last bulge counts only when closed."""
    table = np.array(stops, float)
    return Chain(table[:, :2], table[:, 2] if closed else table[:-1, 2], closed=closed)


def arc_round(x, y, start, end, *, left=True) -> tuple[float, float, float]:
    """Return the stop (start x, start y, bulge) of the arc round (x, y) from `start` to `end`."""
    turn = atan2(end[1] - y, end[0] - x) - atan2(start[1] - y, start[0] - x)
    turn = turn % (2 * pi) if left else -(-turn % (2 * pi))
    return start[0], start[1], tan(turn / 4)


def reverse(chain: Chain) -> Chain:
    """Return the chain drawn the other way."""
    bulge = -chain.bulge[::-1]
    return Chain(chain.points[::-1], np.roll(bulge, -1) if chain.closed else bulge, chain.closed)


def open_at(chain: Chain, first: int) -> Chain:
    """Return a closed chain that starts at another vertex."""
    return Chain(np.roll(chain.points, -first, axis=0), np.roll(chain.bulge, -first), closed=True)


def moved(shapes, similarity: Similarity) -> list[Shape]:
    """Return the shapes after a similarity."""
    return [replace(s, chains=[similarity.chain(c) for c in s.subpaths]) for s in shapes]


def turned(shapes, angle: float, about=(0.0, 0.0), *, flipped=False) -> list[Shape]:
    """Return the shapes turned by `angle` radians about a point (flipped first)."""
    sim = Similarity.turn(angle, flipped=flipped)
    x, y = sim.point(*about)
    return moved(shapes, Similarity(sim.a, sim.b, about[0] - x, about[1] - y, flipped))


def make_drawing(shapes, texts=(), page=(200.0, 200.0)) -> Drawing:
    """Return the Drawing of `shapes` (Shape or Chain, in paint order) and `texts` of (text, x, y)."""
    start, end, bulge, element, subpath, closed, implied, elements = [], [], [], [], [], [], [], []
    for number, drawn in enumerate(shapes):
        shape = Shape(drawn) if isinstance(drawn, Chain) else drawn
        name = shape.id or f"path[{number + 1}]"
        elements.append(
            Element(
                id=name,
                tag="path",
                line=number + 1,
                layers=(),
                classes=(),
                fill=shape.fill,
                fill_opacity=shape.opacity,
                fill_rule=shape.rule,
                stroke=shape.stroke,
                stroke_width=shape.width,
                title=shape.title,
            )
        )
        for chain in shape.subpaths:
            table = chain.segments
            rows = [(table.start, table.end, table.bulge, False)]
            if shape.fill is not None and not chain.closed:
                rows.append((table.end[-1:], table.start[:1], np.zeros(1), True))
            for s, e, b, by_fill in rows:
                start.append(s)
                end.append(e)
                bulge.append(b)
                element += [number] * len(b)
                subpath += [len(closed)] * len(b)
                implied += [by_fill] * len(b)
            closed.append(chain.closed)
    empty = np.zeros((0, 2))
    return Drawing(
        name="test.svg",
        sha256="0" * 64,
        page=page,
        unit="mm",
        sized=True,
        elements=tuple(elements),
        segments=Segments(
            np.concatenate(start) if start else empty,
            np.concatenate(end) if end else empty,
            np.concatenate(bulge) if bulge else np.zeros(0),
        ),
        element_of=np.array(element, np.int64),
        subpath_of=np.array(subpath, np.int64),
        closed=np.array(closed, bool),
        implied=np.array(implied, bool),
        texts=tuple(DrawnText(t, (x, y), f"text[{i + 1}]", i + 1) for i, (t, x, y) in enumerate(texts)),
        fit=0.001,
        fit_error=0.0,
        findings=(),
    )


def loops(table, face):
    """Return the boundaries of a face of a planar map as lists of (x, y, bulge), following `next_half`."""
    left = {int(h) for h in np.flatnonzero(table.face_of == face)}
    found = []
    while left:
        first = half = min(left)
        loop = []
        while True:
            left.discard(half)
            edge, back = divmod(half, 2)
            at = table.end[edge] if back else table.start[edge]
            loop.append(
                (*table.points[at].tolist(), float(-table.bulge[edge] if back else table.bulge[edge]))
            )
            half = int(table.next_half[half])
            if half == first:
                break
        found.append(loop)
    return found


def loop_area(loop) -> float:
    """Return a loop's signed area: shoelace, plus circular segments of r² (a - sin a) / 2."""
    x0, y0, _ = loop[0]
    total = 0.0
    for (x1, y1, b), (x2, y2, _) in zip(loop, loop[1:] + loop[:1], strict=True):
        total += ((x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)) / 2
        if b:
            angle = 4 * atan(b)
            radius = hypot(x2 - x1, y2 - y1) / (2 * sin(abs(angle) / 2))
            total += radius**2 * (angle - sin(angle)) / 2
    return total


def areas(table) -> list[float]:
    """Return the sorted areas of all faces of a planar map, holes taken out."""
    return sorted(sum(loop_area(r) for r in loops(table, face)) for face in range(table.face_count))


def flat(loop, steps=64) -> list[tuple[float, float]]:
    """Return a loop's vertices with `steps` points along every arc, for libraries that know lines only."""
    points = []
    for (x1, y1, b), (x2, y2, _) in zip(loop, loop[1:] + loop[:1], strict=True):
        points.append((x1, y1))
        sweep = 4 * atan(b)
        for k in range(1, steps if b else 0):
            part = k / steps * sweep / 2
            # The chord to a part of an arc is turned and shortened (inscribed angles).
            reach, turn = sin(part) / sin(sweep / 2), part - sweep / 2
            dx, dy = (x2 - x1) * reach, (y2 - y1) * reach
            points.append((x1 + dx * cos(turn) - dy * sin(turn), y1 + dx * sin(turn) + dy * cos(turn)))
    return points
