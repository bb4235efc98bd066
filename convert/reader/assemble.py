"""From outlines with matrices to one table of lines and arcs in millimetres, y up.

All parts of the drawing are gathered by kind, moved and fitted in bulk. A circle under a similarity
stays an exact arc; any other ellipse is the affine image of a circle (its two half axes are moved as
vectors) and is fitted, as Béziers are.
"""

from __future__ import annotations

from array import array
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from convert.errors import DrawingError
from convert.geometry.chain import Segments
from convert.geometry.fit import fit_cubics, fit_ellipse_arcs, fit_quadratics
from convert.reader.outline import ARC, CUBIC, IMPLIED, LINE, QUADRATIC, WIDTH

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from convert.errors import Place
    from convert.geometry.chain import Floats
    from convert.geometry.fit import Fitted
    from convert.reader.drawing import Bools, Ints
    from convert.reader.matrices import Matrix
    from convert.reader.outline import Outline
    from convert.reader.regions import Region

    Smalls = NDArray[np.int32]

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
_FLAT: Final = 1e-3
_FAR_CENTRE_MM: Final = 1e5
"""Arcs of a smaller sweep (radians) and a larger radius are taken for cubics."""
_TINY: Final = 1e-3
"""Of the tolerance."""
_BATCH: Final = 4_000
"""Curves fitted at a time, so that memory does not grow with the drawing."""
_SMALL: Final = np.int32
"""What parts and segments are numbered with while they are put in order: half of what numpy takes."""
_ROWS: Final = 100_000
"""Segments put in order at a time, likewise."""


@dataclass(slots=True)
class Gathered:
    """The outlines of a drawing one after another, in compact arrays. See outline.py for the rows."""

    kind: bytearray = field(default_factory=bytearray)
    rows: Sequence[array[float]] = field(default_factory=lambda: tuple(array("d") for _ in WIDTH))
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


class _Fits(NamedTuple):
    """The segments of the parts of one kind, in order.

    `start`, `end` and `bulge` are a table of m rows. Without `row` it is the segments; with it, segment k is
    the table's row `row[k]`, the other way round where `turned[k]`: a curve that is drawn twice is there
    once. `number` (k,) is the number of the part that each is of, `error` the largest of all.
    """

    start: Floats
    end: Floats
    bulge: Floats
    number: Smalls
    error: float
    row: Smalls | None = None
    turned: Bools | None = None

    def put(self, start: Floats, end: Floats, bulge: Floats, place: Smalls) -> None:
        """Put the segments into other columns at their places, some at a time to save memory."""
        for at in range(0, len(place), _ROWS):
            to = place[at : at + _ROWS]
            row = slice(at, at + _ROWS) if self.row is None else self.row[at : at + _ROWS]
            start[to], end[to], bulge[to] = self.start[row], self.end[row], self.bulge[row]
            if self.turned is not None:
                turned = self.turned[at : at + _ROWS]
                to = to[turned]
                start[to], end[to], bulge[to] = end[to], start[to], -bulge[to]


class _Parts:
    """The parts of a drawing by kind, moved to where they belong: points, and each part's running number.

    Arcs have their starts, ends and centres as points, and besides their half axes and angles.
    """

    def __init__(
        self, rows: Sequence[array[float]], numbers: list[Smalls], matrix: Floats, element: Ints
    ) -> None:
        """`matrix` (e, 6) is by element, `element` the number of each part's element."""
        self.numbers = numbers
        self.points = []
        tables = [np.frombuffer(r, np.float64).reshape(-1, w) for r, w in zip(rows, WIDTH, strict=True)]
        with np.errstate(over="ignore", invalid="ignore"):
            for kind, table in enumerate(tables):
                drawn = table[:, :6] if kind == ARC else table
                self.points.append(_moved(drawn, matrix[element[numbers[kind]]]))
            linear = matrix[element[numbers[ARC]]]
            linear[:, 4:] = 0.0
            self.axes = _moved(tables[ARC][:, 6:10], linear)
        self.angles = tables[ARC][:, 10:]

    def keep(self, kind: int, which: Bools) -> None:
        """Drop parts of one kind."""
        self.points[kind], self.numbers[kind] = self.points[kind][which], self.numbers[kind][which]
        if kind == ARC:
            self.axes, self.angles = self.axes[which], self.angles[which]

    def turn_into(self, kind: int, which: Bools, points: Floats) -> None:
        """Make some arcs parts of another kind."""
        self.points[kind] = np.concatenate((self.points[kind], points))
        self.numbers[kind] = np.concatenate((self.numbers[kind], self.numbers[ARC][which]))
        order = np.argsort(self.numbers[kind], kind="stable")
        self.points[kind], self.numbers[kind] = self.points[kind][order], self.numbers[kind][order]
        self.keep(ARC, ~which)

    def without_flat_arcs(self) -> None:
        """Make cubics of arcs whose centre is too far away to reckon with.

        *Source*: control points on the end tangents, 4/3 tan(sweep / 4) of the axes away (common practice);
        the error, about 4e-5 of the radius times the sweep's sixth power (derived), is below rounding.
        """
        radius = np.hypot(self.axes[..., 0], self.axes[..., 1]).max(axis=1, initial=0.0)
        flat = (np.abs(self.angles[:, 1]) < _FLAT) & ~(radius < _FAR_CENTRE_MM)
        if not flat.any():
            return
        u, v = self.axes[flat, 0], self.axes[flat, 1]
        first, sweep = self.angles[flat].T
        ends = self.points[ARC][flat]
        reach = (4.0 / 3.0 * np.tan(sweep / 4.0))[:, None]
        with np.errstate(over="ignore", invalid="ignore"):
            leave, arrive = (
                reach * (v * np.cos(t)[:, None] - u * np.sin(t)[:, None]) for t in (first, first + sweep)
            )
        cubics = np.stack((ends[:, 0], ends[:, 0] + leave, ends[:, 1] - arrive, ends[:, 1]), axis=1)
        self.turn_into(CUBIC, flat, cubics)

    def without_tiny_arcs(self, tolerance: float) -> None:
        """Make lines of arcs too small to have a shape, lest their ends and their middle fall together."""
        radius = np.hypot(self.axes[..., 0], self.axes[..., 1]).max(axis=1, initial=0.0)
        tiny = radius * np.abs(self.angles[:, 1]) <= _TINY * tolerance
        if tiny.any():
            self.turn_into(LINE, tiny, self.points[ARC][tiny, :2])

    def sizes(self) -> list[Floats]:
        """Return all points of every kind, those of arcs with their axes, (n, k, 2)."""
        return [*self.points[:ARC], np.concatenate((self.points[ARC], self.axes), axis=1)]

    def fits(self, tolerance: float) -> list[_Fits]:
        """Return the segments of each kind of part."""
        points, numbers = self.points, self.numbers
        lines = points[LINE]
        return [
            _Fits(lines[:, 0], lines[:, 1], np.zeros(len(lines)), numbers[LINE], 0.0),
            _fitted_beziers(points[QUADRATIC], numbers[QUADRATIC], lambda p: fit_quadratics(p, tolerance)),
            _fitted_beziers(points[CUBIC], numbers[CUBIC], lambda p: fit_cubics(p, tolerance)),
            _fitted_arcs(points[ARC], self.axes, self.angles, numbers[ARC], tolerance),
        ]

    def extent(self) -> float:
        """Return how wide or high the drawing is: at most so much, and not much more than it is."""
        round_arcs = np.abs(self.angles[:, 1]) > 1.0
        centre = self.points[ARC][round_arcs, 2:]
        around = np.concatenate((centre - self.axes[round_arcs], centre + self.axes[round_arcs]))
        every = [p.reshape(-1, 2) for p in (*self.points[:ARC], self.points[ARC][:, :2], around)]
        together = np.concatenate(every)
        return float(np.ptp(together, axis=0).max()) if len(together) else 0.0


def assemble(gathered: Gathered, fit: float | None, place: Callable[[int], Place]) -> Linework:
    """Return the linework of all outlines, in mm, fitted within `fit` or what rounding allows.

    The rows of `gathered` are let go: a large drawing needs the room.
    *Errors*: DrawingError READ-016 for coordinates beyond a kilometre, at the `place` of the element.
    """
    kind = np.frombuffer(gathered.kind, np.uint8)
    subpath = np.repeat(np.arange(len(gathered.count)), np.frombuffer(gathered.count, np.int64))
    element = np.frombuffer(gathered.element, np.int64)[subpath]
    matrix = np.frombuffer(gathered.matrix, np.float64).reshape(-1, 6)
    filled = np.frombuffer(gathered.filled, np.uint8).astype(bool)
    of_kind = [
        np.flatnonzero((kind == k) | ((kind == IMPLIED) & (k == LINE))).astype(_SMALL)
        for k in range(len(WIDTH))
    ]
    parts = _Parts(gathered.rows, of_kind, matrix, element)
    gathered.rows = ()
    lines = parts.numbers[LINE]
    parts.keep(LINE, (kind[lines] != IMPLIED) | filled[element[lines]])
    parts.without_flat_arcs()
    sizes = parts.sizes()
    _check_size(sizes, [element[n] for n in parts.numbers], place)
    tolerance = fit if fit is not None else default_fit(parts.extent())
    tolerance = max(tolerance, _ROUNDING * max(float(np.abs(p).max(initial=0.0)) for p in sizes))
    del sizes
    parts.without_tiny_arcs(tolerance)
    fits = parts.fits(tolerance)
    del parts
    segments, number, error = _in_order(fits)
    return Linework(
        segments,
        element[number],
        subpath[number],
        kind[number] == IMPLIED,
        np.frombuffer(gathered.closed, np.uint8).astype(bool),
        tolerance,
        error,
    )


def _in_order(fits: list[_Fits]) -> tuple[Segments, Smalls, float]:
    """Return the segments of all kinds in the order of their parts, their parts, and the largest error.

    Those without any length are left out. `fits` is empty afterwards.
    """
    error = max(f.error for f in fits)
    number = np.concatenate([f.number for f in fits])
    order = np.argsort(number, kind="stable")
    place = np.empty(len(order), _SMALL)
    place[order] = np.arange(len(order), dtype=_SMALL)
    number = number[order]
    del order
    start, end, bulge = np.empty((len(number), 2)), np.empty((len(number), 2)), np.empty(len(number))
    done = 0
    while fits:
        one = fits.pop(0)
        one.put(start, end, bulge, place[done : done + len(one.number)])
        done += len(one.number)
    long_enough = (start != end).any(axis=1)
    if not long_enough.all():
        start, end, bulge, number = (column[long_enough] for column in (start, end, bulge, number))
    for column in (start, end, bulge):
        column.flags.writeable = False  # or Segments would make copies
    return Segments(start, end, bulge), number, error


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


def _fitted_beziers(points: Floats, numbers: Smalls, fit: Callable[[Floats], Fitted]) -> _Fits:
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
    del rows
    onward = onward[one]
    found = _fitted(onward, np.arange(len(one), dtype=_SMALL), lambda at: fit(onward[at]))
    # A curve's rows follow each other, up or down from its first or its last one.
    begin = np.searchsorted(found.number, np.arange(len(one) + 1)).astype(_SMALL)
    count = np.diff(begin)[which]
    first = np.where(back, begin[which + 1] - 1, begin[which])
    before = np.cumsum(count, dtype=_SMALL) - count
    turned = np.repeat(back, count)
    row = np.arange(len(turned), dtype=_SMALL)
    row -= np.repeat(before, count)
    np.negative(row, out=row, where=turned)
    row += np.repeat(first, count)
    return found._replace(number=np.repeat(numbers, count), row=row, turned=turned)


def _fitted(points: Floats, numbers: Smalls, fit: Callable[[slice], Fitted]) -> _Fits:
    """Fit curves in batches; every fit begins and ends exactly where its curve does."""
    found = [_Fits(np.zeros((0, 2)), np.zeros((0, 2)), np.zeros(0), np.zeros(0, _SMALL), 0.0)]
    for at in range(0, len(points), _BATCH):
        part = slice(at, at + _BATCH)
        result = fit(part)
        s = result.segments
        found.append(
            _Fits(s.start, s.end, s.bulge, numbers[part][result.curve], float(result.error.max(initial=0.0)))
        )
    return _Fits(
        np.concatenate([f.start for f in found]),
        np.concatenate([f.end for f in found]),
        np.concatenate([f.bulge for f in found]),
        np.concatenate([f.number for f in found]),
        max(f.error for f in found),
    )


def _fitted_arcs(points: Floats, axes: Floats, angles: Floats, numbers: Smalls, tolerance: float) -> _Fits:
    """Fit arcs: `points` (n, 3, 2) are starts, ends and centres, `angles` (n, 2) the first and the sweep."""
    found = _fitted(
        points,
        numbers,
        lambda at: fit_ellipse_arcs(points[at, 2], axes[at], angles[at, 0], angles[at, 1], tolerance),
    )
    number = found.number
    if len(number):
        # The ends are where they were drawn, not where centre and angle put them after rounding.
        first = np.append(True, number[1:] != number[:-1])
        last = np.append(number[1:] != number[:-1], True)
        drawn = np.searchsorted(numbers, number)
        found.start[first], found.end[last] = points[drawn[first], 0], points[drawn[last], 1]
    return found
