"""From outlines with matrices to one table of lines and arcs in millimetres, y up.

All parts of the drawing are gathered by kind, moved and fitted in bulk. A circle under a similarity
stays an exact arc; any other ellipse is the affine image of a circle (its two half axes are moved as
vectors) and is fitted, as Béziers are.
"""

from __future__ import annotations

from array import array
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

import numpy as np

from convert.errors import DrawingError
from convert.geometry.chain import Segments
from convert.geometry.fit import fit_cubics, fit_ellipse_arcs, fit_quadratics
from convert.reader.outline import ARC, CUBIC, IMPLIED, LINE, QUADRATIC, WIDTH

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from convert.errors import Place
    from convert.geometry.chain import Floats
    from convert.geometry.fit import Fitted
    from convert.reader.drawing import Bools, Ints
    from convert.reader.matrices import Matrix
    from convert.reader.outline import Outline
    from convert.reader.regions import Region

LARGEST_MM: Final = 1e6
"""A kilometre: no drawing is larger, and beyond it rounding would show in the shapes."""
SMALLEST_MM: Final = 1e-3
"""No drawing is smaller as a whole: such a one has a wrong scale."""
FIT_MM, FIT_AT_MM = 0.005, 300.0
"""Curves are fitted to this on a drawing enlarged to that."""
FINEST: Final = 1e-6
"""Of the extent: above 5 m, finer curves are of no use to a drawing that has to become smaller."""
MAX_PARTS: Final = 3_000_000
"""Lines and curves in all: thirty for each piece of a drawing of 100,000 pieces."""
_ROUNDING: Final = 2e-11
"""Of the farthest coordinate: closer than this, curves can't be fitted in double precision."""
_TINY: Final = 1e-3
"""Of the tolerance."""
_BATCH: Final = 4_000
"""Curves fitted at a time, so that memory does not grow with the drawing."""


@dataclass(slots=True)
class Gathered:
    """The outlines of a drawing one after another, in compact arrays. See outline.py for the rows."""

    kind: bytearray = field(default_factory=bytearray)
    rows: tuple[array[float], ...] = field(default_factory=lambda: tuple(array("d") for _ in WIDTH))
    count: array[int] = field(default_factory=lambda: array("q"))
    closed: bytearray = field(default_factory=bytearray)
    element: array[int] = field(default_factory=lambda: array("q"))
    matrix: array[float] = field(default_factory=lambda: array("d"))
    filled: bytearray = field(default_factory=bytearray)
    regions: list[tuple[Region, ...]] = field(default_factory=list)

    def add(
        self, element: int, outline: Outline, matrix: Matrix, regions: tuple[Region, ...], *, filled: bool
    ) -> None:
        """Add the outline of element number `element`, the next one. *Errors*: DrawingError READ-025."""
        self.kind.extend(outline.kind)
        if len(self.kind) > MAX_PARTS:
            what = f"the drawing has over {MAX_PARTS:,} lines and curves"
            raise DrawingError.because("READ-025", what, "Simplify or split it")
        for own, more in zip(self.rows, outline.rows, strict=True):
            if more:
                own.extend(more)
        self.count.extend(outline.count)
        self.closed.extend(outline.closed)
        self.element.extend([element] * len(outline.count))
        self.matrix.extend(matrix)
        self.filled.append(filled)
        self.regions.append(regions)


@dataclass(frozen=True, slots=True, eq=False)
class Linework:
    """The table; for each row its element, its subpath (drawing wide), and whether only a fill implies it."""

    segments: Segments
    element: Ints
    subpath: Ints
    implied: Bools
    closed: Bools
    fit: float
    fit_error: float


def assemble(gathered: Gathered, fit: float | None, place: Callable[[int], Place]) -> Linework:
    """Return the linework of all outlines, in mm, fitted within `fit` or what rounding allows.

    *Errors*: DrawingError READ-016 for coordinates beyond a kilometre, at the `place` of the element.
    """
    kind = np.frombuffer(gathered.kind, np.uint8)
    subpath = np.repeat(np.arange(len(gathered.count)), np.frombuffer(gathered.count, np.int64))
    element = np.frombuffer(gathered.element, np.int64)[subpath]
    matrix = np.frombuffer(gathered.matrix, np.float64).reshape(-1, 6)
    filled = np.frombuffer(gathered.filled, np.uint8).astype(bool)
    numbers = [np.flatnonzero((kind == k) | ((kind == IMPLIED) & (k == LINE))) for k in range(len(WIDTH))]
    moved = []
    with np.errstate(over="ignore", invalid="ignore"):
        for row, width, number in zip(gathered.rows, WIDTH, numbers, strict=True):
            table = np.frombuffer(row, np.float64).reshape(-1, width)
            moved.append(
                _moved(table[:, : min(width, 8) if width != WIDTH[ARC] else 6], matrix[element[number]])
            )
    arcs = np.frombuffer(gathered.rows[ARC], np.float64).reshape(-1, WIDTH[ARC])
    axes = _axes(arcs, matrix[element[numbers[ARC]]])
    sizes = [*moved[:ARC], np.concatenate((moved[ARC], axes), axis=1)]
    _check_size(sizes, [element[n] for n in numbers], place)
    # Dropped before the extent is measured: lines that only a fill would need.
    needed = (kind[numbers[LINE]] != IMPLIED) | filled[element[numbers[LINE]]]
    numbers[LINE], moved[LINE] = numbers[LINE][needed], moved[LINE][needed]
    every = np.concatenate([points.reshape(-1, 2) for points in moved])
    extent = float(np.ptp(every, axis=0).max()) if len(every) else 0.0
    tolerance = fit if fit is not None else default_fit(extent)
    reach = max((float(np.abs(points).max(initial=0.0)) for points in sizes), default=0.0)
    tolerance = max(tolerance, _ROUNDING * reach)
    # Arcs too small to have a shape are lines, lest their ends and their middle fall together.
    small = np.hypot(*axes.T).max(axis=0, initial=0.0) * np.abs(arcs[:, 11]) <= _TINY * tolerance
    moved[LINE] = np.concatenate((moved[LINE], moved[ARC][small, :2]))
    numbers[LINE] = np.concatenate((numbers[LINE], numbers[ARC][small]))
    moved[ARC], numbers[ARC], axes, arcs = (t[~small] for t in (moved[ARC], numbers[ARC], axes, arcs))
    columns = [
        (moved[LINE][:, 0], moved[LINE][:, 1], np.zeros(len(moved[LINE])), numbers[LINE], 0.0),
        _fitted_beziers(moved[QUADRATIC], numbers[QUADRATIC], lambda p: fit_quadratics(p, tolerance)),
        _fitted_beziers(moved[CUBIC], numbers[CUBIC], lambda p: fit_cubics(p, tolerance)),
        _fitted_arcs(moved[ARC], axes, arcs[:, 10:], numbers[ARC], tolerance),
    ]
    number = np.concatenate([c[3] for c in columns])
    order = np.argsort(number, kind="stable")
    start, end, bulge = (np.concatenate([c[i] for c in columns])[order] for i in range(3))
    number = number[order]
    long_enough = (start != end).any(axis=1)
    number = number[long_enough]
    return Linework(
        Segments(start[long_enough], end[long_enough], bulge[long_enough]),
        element[number],
        subpath[number],
        kind[number] == IMPLIED,
        np.frombuffer(gathered.closed, np.uint8).astype(bool),
        tolerance,
        max(c[4] for c in columns),
    )


def default_fit(extent: float) -> float:
    """Return how closely to fit curves of a drawing of this extent (mm)."""
    close = min(FIT_MM, max(extent, SMALLEST_MM) * FIT_MM / FIT_AT_MM)
    return max(close, FINEST * extent)


def _moved(rows: Floats, m: Floats) -> Floats:
    """Return the points in rows x0 y0 x1 y1 ... (n, 2 k), moved by (n, 6) matrices, as (n, k, 2)."""
    x, y = rows[:, 0::2], rows[:, 1::2]
    a, b, c, d, e, f = (m[:, i, None] for i in range(6))
    return np.stack((a * x + c * y + e, b * x + d * y + f), axis=-1)


def _check_size(tables: Sequence[Floats], owners: Sequence[Ints], place: Callable[[int], Place]) -> None:
    worst = None
    for points, owner in zip(tables, owners, strict=True):
        if len(points):
            far = ~(np.abs(points) <= LARGEST_MM).all(axis=(1, 2))
            if far.any() and (worst is None or owner[far][0] < worst):
                worst = int(owner[far][0])
    if worst is not None:
        raise DrawingError.because(
            "READ-016",
            "it reaches farther than a kilometre",
            "Look for a stray point or an enormous scale",
            place=place(worst),
        )


_Columns = tuple["Floats", "Floats", "Floats", "Ints", float]


def _fitted_beziers(points: Floats, numbers: Ints, fit: Callable[[Floats], Fitted]) -> _Columns:
    """Fit Béziers (n, k, 2), each one once, however often and in whichever direction it is drawn."""
    if not len(points):
        return _fitted(points, numbers, lambda at: fit(points[at]))
    first, last = points[:, 0], points[:, -1]
    back = (first[:, 0] > last[:, 0]) | ((first[:, 0] == last[:, 0]) & (first[:, 1] > last[:, 1]))
    onward = np.where(back[:, None, None], points[:, ::-1], points)
    rows = np.ascontiguousarray(onward.reshape(len(points), -1)) + 0.0  # no minus zero
    _, one, which = np.unique(
        rows.view(np.dtype((np.void, rows.dtype.itemsize * rows.shape[1]))).ravel(),
        return_index=True,
        return_inverse=True,
    )
    start, end, bulge, curve, error = _fitted(
        onward[one], np.arange(len(one)), lambda at: fit(onward[one[at]])
    )
    begin = np.searchsorted(curve, np.arange(len(one) + 1))
    count = np.diff(begin)[which]
    owner = np.repeat(np.arange(len(points)), count)
    place = np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count)
    turned = back[owner]
    row = np.where(turned, begin[which + 1][owner] - 1 - place, begin[which][owner] + place)
    start, end = (
        np.where(turned[:, None], end[row], start[row]),
        np.where(turned[:, None], start[row], end[row]),
    )
    return start, end, np.where(turned, -bulge[row], bulge[row]), numbers[owner], error


def _fitted(points: Floats, numbers: Ints, fit: Callable[[slice], Fitted]) -> _Columns:
    """Fit curves in batches; every fit begins and ends exactly where its curve does."""
    found: list[_Columns] = [(np.zeros((0, 2)), np.zeros((0, 2)), np.zeros(0), np.zeros(0, np.int64), 0.0)]
    for at in range(0, len(points), _BATCH):
        part = slice(at, at + _BATCH)
        result = fit(part)
        s = result.segments
        found.append(
            (s.start, s.end, s.bulge, numbers[part][result.curve], float(result.error.max(initial=0.0)))
        )
    start, end, bulge, number, error = zip(*found, strict=True)
    return (
        np.concatenate(start),
        np.concatenate(end),
        np.concatenate(bulge),
        np.concatenate(number),
        max(error),
    )


def _axes(rows: Floats, m: Floats) -> Floats:
    """Return the half axes (n, 2, 2) of arcs given by their twelve numbers, moved as vectors."""
    linear = m.copy()
    linear[:, 4:] = 0.0
    with np.errstate(over="ignore", invalid="ignore"):
        return _moved(rows[:, 6:10], linear)


def _fitted_arcs(points: Floats, axes: Floats, angles: Floats, numbers: Ints, tolerance: float) -> _Columns:
    """Fit arcs: `points` (n, 3, 2) are starts, ends and centres, `angles` (n, 2) the first and the sweep."""
    start, end, bulge, number, error = _fitted(
        points,
        numbers,
        lambda at: fit_ellipse_arcs(points[at, 2], axes[at], angles[at, 0], angles[at, 1], tolerance),
    )
    if len(number):
        # The ends are where they were drawn, not where centre and angle put them after rounding.
        first = np.append(True, number[1:] != number[:-1])
        last = np.append(number[1:] != number[:-1], True)
        drawn = np.searchsorted(numbers, number)
        start, end = start.copy(), end.copy()
        start[first], end[last] = points[drawn[first], 0], points[drawn[last], 1]
    return start, end, bulge, number, error
