"""The drawing that recovered seams make: the fills that are seen, laid out to the seams, and the seams."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from convert.block.visible import Fills, fabrics
from convert.geometry.chain import Segments
from convert.geometry.measure import midpoint
from convert.reader.drawing import FillRule

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.block.centreline import Seam
    from convert.block.ink import Picture
    from convert.geometry.chain import Floats
    from convert.reader.drawing import Drawing

    Ints = NDArray[np.int64]


def redrawn(picture: Picture, rows: list[Seam], width: float) -> Drawing:
    """Return the drawing that the seams make: the fills that are seen, then the seams, then loose lines."""
    drawing = picture.drawing
    elements = list(drawing.elements)
    start: list[complex] = []
    end: list[complex] = []
    bulge: list[float] = []
    element: list[int] = []
    subpath: list[int] = []
    closed: list[bool] = []

    def add(parts: list[tuple[complex, complex, float]], whose: int, *, loop: bool) -> None:
        for p, q, b in parts:
            start.append(p)
            end.append(q)
            bulge.append(b)
            element.append(whose)
            subpath.append(len(closed))
        closed.append(loop)

    for region, loops in sorted(_loops(rows).items()):
        top = int(picture.top[np.flatnonzero(picture.region == region)[-1]])
        if top >= 0:
            elements.append(replace(drawing.elements[top], stroke=None, fill_rule=FillRule.NONZERO))
            for loop in loops:
                add(loop, len(elements) - 1, loop=True)
    source = _source(picture, rows)
    for whose in np.unique(source).tolist():
        fill = drawing.elements[whose].fill
        elements.append(replace(drawing.elements[whose], fill=None, stroke=fill, stroke_width=width))
        for k in np.flatnonzero(source == whose).tolist():
            add([(rows[k].start, rows[k].end, rows[k].bulge)], len(elements) - 1, loop=False)
    table, sources = picture.loose
    for k, whose in enumerate(sources.tolist()):
        elements.append(replace(drawing.elements[whose], fill=None))
        ends = complex(*table.start[k].tolist()), complex(*table.end[k].tolist())
        add([(*ends, float(table.bulge[k]))], len(elements) - 1, loop=False)
    return replace(
        drawing,
        elements=tuple(elements),
        segments=Segments(_points(start), _points(end), np.array(bulge)),
        element_of=np.array(element, np.int64),
        subpath_of=np.array(subpath, np.int64),
        closed=np.array(closed, bool),
        implied=np.zeros(len(start), bool),
    )


def table_of(rows: list[Seam]) -> Segments:
    """Return the segments of seams."""
    return Segments(
        _points([s.start for s in rows]), _points([s.end for s in rows]), np.array([s.bulge for s in rows])
    )


def _points(z: list[complex]) -> Floats:
    row = np.array(z, np.complex128)
    return np.stack((row.real, row.imag), axis=1)


def _loops(rows: list[Seam]) -> dict[int, list[list[tuple[complex, complex, float]]]]:
    """Return the closed outlines of each region: its seams, walked with the region on the left."""
    ways: dict[int, dict[complex, list[tuple[complex, complex, float]]]] = {}
    for s in rows:
        for region, way in ((s.left, (s.start, s.end, s.bulge)), (s.right, (s.end, s.start, -s.bulge))):
            ways.setdefault(region, {}).setdefault(way[0], []).append(way)
    found = {}
    for region, by_start in ways.items():
        loops = []
        for begin in list(by_start):
            while by_start.get(begin):
                loop = [by_start[begin].pop()]
                while by_start.get(loop[-1][1]):
                    loop.append(by_start[loop[-1][1]].pop())
                loops.append(loop)
        found[region] = loops
    return found


def _source(picture: Picture, rows: list[Seam]) -> Ints:
    """Return for each seam the element whose ink it runs in."""
    top = fabrics(midpoint(table_of(rows)), Fills.of(picture.drawing))
    return np.where(np.isin(top, picture.inked), top, picture.inked[0])
