"""From shapes with matrices to one table of lines and arcs in millimetres, y up.

All straight lines, cubics, quadratics and elliptical arcs of the drawing are gathered, moved and
fitted in bulk. A circle under a similarity stays an exact arc; any other ellipse is the affine
image of a circle (its two axes are moved as vectors) and is fitted, as Béziers are.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.errors import DrawingError, Place
from convert.geometry.chain import Segments
from convert.geometry.fit import Fitted, fit_cubics, fit_ellipse_arcs, fit_quadratics
from convert.reader.matrices import multiply
from convert.reader.pathdata import ArcTo, CubicTo, LineTo

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from convert.geometry.chain import Floats
    from convert.reader.drawing import Bools, Ints
    from convert.reader.matrices import Matrix
    from convert.reader.pathdata import Part, Subpath

LARGEST_MM = 1e6
"""A kilometre: no drawing is larger, and beyond it double precision no longer holds a thousandth of a mm."""
FIT_MM, FIT_AT_MM = 0.005, 300.0
"""Curves are fitted to this on a drawing enlarged to that."""


@dataclass(frozen=True, slots=True, eq=False)
class Linework:
    """The table; for each row its shape, its subpath (drawing wide), and whether a fill only implies it."""

    segments: Segments
    shape: Ints
    subpath: Ints
    implied: Bools
    closed: Bools
    fit: float
    fit_error: float


Outline = tuple["Matrix", "Sequence[Subpath]", bool]
"""A shape's matrix to the page's pixels, its subpaths, and whether it is filled."""


@dataclass(slots=True)
class _Gathered:
    """Parts by kind: coordinates and the running number of each; and per part its shape, subpath and use."""

    lines: list[tuple[float, ...]]
    cubics: list[tuple[float, ...]]
    quadratics: list[tuple[float, ...]]
    arcs: list[tuple[float, ...]]
    numbers: tuple[list[int], list[int], list[int], list[int]]
    shape: list[int]
    subpath: list[int]
    implied: list[bool]
    closed: list[bool]


def assemble(outlines: Sequence[Outline], to_mm: Matrix, fit: float | None, file: str) -> Linework:
    """Return the linework of all outlines.

    *Errors*: DrawingError READ-016 for coordinates beyond a kilometre.
    """
    gathered = _gather(outlines)
    matrices = np.array([multiply(to_mm, matrix) for matrix, _, _ in outlines], dtype=np.float64).reshape(
        -1, 6
    )
    shape = np.array(gathered.shape, dtype=np.int64)
    moved = []
    for rows, numbers, width in (
        (gathered.lines, gathered.numbers[0], 4),
        (gathered.cubics, gathered.numbers[1], 8),
        (gathered.quadratics, gathered.numbers[2], 6),
        (gathered.arcs, gathered.numbers[3], 12),
    ):
        table = np.array(rows, dtype=np.float64).reshape(-1, width)
        which = matrices[shape[np.array(numbers, dtype=np.int64)]]
        moved.append((table, which, np.array(numbers, dtype=np.int64)))
    points = [
        _moved(t[:, :w].reshape(len(t), w // 2, 2), m)
        for (t, m, _), w in zip(moved, (4, 8, 6, 6), strict=True)
    ]
    _check_size(points, file)
    every = np.concatenate([p.reshape(-1, 2) for p in points]) if points else np.zeros((0, 2))
    extent = float(np.ptp(every, axis=0).max()) if len(every) else 0.0
    tolerance = fit if fit is not None else min(FIT_MM, max(extent, 1e-9) * FIT_MM / FIT_AT_MM)
    found = [
        (points[0][:, 0], points[0][:, 1], np.zeros(len(points[0])), moved[0][2], 0.0),
        _fitted(points[1], moved[1][2], lambda p: fit_cubics(p, tolerance)),
        _fitted(points[2], moved[2][2], lambda p: fit_quadratics(p, tolerance)),
        _fitted_arcs(points[3], moved[3], tolerance),
    ]
    error = max(f[4] for f in found)
    number = np.concatenate([f[3] for f in found])
    order = np.argsort(number, kind="stable")
    start, end, bulge = (np.concatenate([f[column] for f in found])[order] for column in range(3))
    joined = Segments(start, end, bulge)
    number = number[order]
    long_enough = (joined.start != joined.end).any(axis=1)
    number = number[long_enough]
    return Linework(
        joined.take(long_enough),
        shape[number],
        np.array(gathered.subpath, dtype=np.int64)[number],
        np.array(gathered.implied, dtype=bool)[number],
        np.array(gathered.closed, dtype=bool),
        tolerance,
        error,
    )


def _gather(outlines: Sequence[Outline]) -> _Gathered:
    g = _Gathered([], [], [], [], ([], [], [], []), [], [], [], [])
    for shape, (_, subpaths, filled) in enumerate(outlines):
        for subpath in subpaths:
            if not subpath.parts:
                continue
            for part in subpath.parts:
                _gather_part(g, part)
            count = len(subpath.parts)
            g.implied.extend([False] * count)
            begin, end = subpath.parts[0].start, subpath.parts[-1].end
            flat = count == 1 and isinstance(subpath.parts[0], LineTo)
            if filled and not subpath.closed and not flat and begin != end:
                _gather_part(g, LineTo(end, begin))
                g.implied.append(True)
                count += 1
            g.shape.extend([shape] * count)
            g.subpath.extend([len(g.closed)] * count)
            g.closed.append(subpath.closed or begin == end)
    return g


def _gather_part(g: _Gathered, part: Part) -> None:
    number = sum(map(len, g.numbers))
    if isinstance(part, LineTo):
        g.lines.append((*part.start, *part.end))
        g.numbers[0].append(number)
    elif isinstance(part, CubicTo):
        g.cubics.append((*part.start, *part.first, *part.second, *part.end))
        g.numbers[1].append(number)
    elif isinstance(part, ArcTo):
        g.arcs.append(
            (*part.start, *part.end, *part.centre, *part.x_axis, *part.y_axis, part.start_angle, part.sweep)
        )
        g.numbers[3].append(number)
    else:
        g.quadratics.append((*part.start, *part.control, *part.end))
        g.numbers[2].append(number)


def _moved(points: Floats, m: Floats) -> Floats:
    """Move (n, k, 2) points by (n, 6) matrices, row by row."""
    x, y = points[..., 0], points[..., 1]
    a, b, c, d, e, f = (m[:, i, None] for i in range(6))
    # What overflows here is refused by the check of sizes that follows.
    with np.errstate(over="ignore", invalid="ignore"):
        return np.stack((a * x + c * y + e, b * x + d * y + f), axis=-1)


def _check_size(points: Sequence[Floats], file: str) -> None:
    for table in points:
        if table.size and not (np.isfinite(table).all() and np.abs(table).max() <= LARGEST_MM):
            raise DrawingError.because(
                "READ-016",
                "a coordinate is not a number or lies more than a kilometre away",
                "Look for a stray point or an enormous scale",
                place=Place(file=file),
            )


Columns = tuple["Floats", "Floats", "Floats", "NDArray[np.int64]", float]


def _fitted(points: Floats, numbers: NDArray[np.int64], fit: Callable[[Floats], Fitted]) -> Columns:
    if not len(points):
        return np.zeros((0, 2)), np.zeros((0, 2)), np.zeros(0), numbers, 0.0
    result = fit(points)
    s = result.segments
    return s.start, s.end, s.bulge, numbers[result.curve], float(result.error.max(initial=0.0))


def _fitted_arcs(
    points: Floats, moved: tuple[Floats, Floats, NDArray[np.int64]], tolerance: float
) -> Columns:
    table, m, numbers = moved
    if not len(table):
        return np.zeros((0, 2)), np.zeros((0, 2)), np.zeros(0), numbers, 0.0
    linear = m.copy()
    linear[:, 4:] = 0.0
    axes = _moved(table[:, 6:10].reshape(-1, 2, 2), linear)
    result = fit_ellipse_arcs(points[:, 2], axes, table[:, 10], table[:, 11], tolerance)
    # The ends are where they were drawn, not where centre and angle put them after rounding.
    s, curve = result.segments, result.curve
    start, end = s.start.copy(), s.end.copy()
    first = np.r_[True, curve[1:] != curve[:-1]]
    last = np.r_[curve[1:] != curve[:-1], True]
    start[first], end[last] = points[curve[first], 0], points[curve[last], 1]
    return start, end, s.bulge, numbers[curve], float(result.error.max(initial=0.0))
