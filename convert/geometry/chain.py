"""The one kind of curve: chains of straight lines and circular arcs.

*Words.* A **segment** is a line or a circular arc from a start point to an end point. Its
**bulge** is tan(sweep / 4): 0 for a line, positive when the arc turns counter-clockwise (left)
from start to end, 1 for a half circle, which is the largest sweep a segment may have. A
**chain** is segments joined head to tail; it is **closed** when the last segment returns to the
first vertex (which is then not repeated), else **open**. An **outline** is a closed chain that
does not cross itself.

Arrays are float64, C-contiguous and read-only. Millimetres, radians, y up.
*Source* of the bulge: the DXF reference, LWPOLYLINE group code 42.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import TYPE_CHECKING

import numpy as np

from convert.errors import GeometryError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

MAX_BULGE = 1.0 + 1e-9
"""A half circle, and a little rounding."""
_FEW = 64
"""Segments of a short chain."""


def frozen(values: ArrayLike, width: int | None = None) -> Floats:
    """Return `values` as a read-only float64 array of shape (n,) or (n, width), copying only if needed."""
    array = np.ascontiguousarray(values, dtype=np.float64)
    array = array.reshape(-1) if width is None else array.reshape(-1, width)
    if array.flags.writeable:
        array = array.copy() if array is values or array.base is not None else array
        array.flags.writeable = False
    return array


@dataclass(frozen=True, slots=True, eq=False)
class Segments:
    """A table of n segments, the unit of all vectorised work.

    *Shapes*: `start` and `end` are (n, 2), `bulge` is (n,).
    *Errors*: GeometryError when shapes disagree, a number is not finite or a bulge is over a half circle.
    """

    start: Floats
    end: Floats
    bulge: Floats

    def __post_init__(self) -> None:
        object.__setattr__(self, "start", frozen(self.start, 2))
        object.__setattr__(self, "end", frozen(self.end, 2))
        object.__setattr__(self, "bulge", frozen(self.bulge))
        if not len(self.start) == len(self.end) == len(self.bulge):
            raise GeometryError.because("GEO-001", "a segment table has columns of different lengths")
        _check_numbers(self.bulge, self.start, self.end)

    def __len__(self) -> int:
        return len(self.bulge)

    def take(self, index: NDArray[np.intp] | NDArray[np.bool_] | slice) -> Segments:
        """Return the rows that `index` selects."""
        return Segments(self.start[index], self.end[index], self.bulge[index])

    @property
    def is_arc(self) -> NDArray[np.bool_]:
        """(n,) booleans: which segments are arcs."""
        return np.not_equal(self.bulge, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Chain:
    """Segments joined head to tail.

    *Shapes*: `points` is (n, 2). A closed chain has n bulges (the last one leads from the last
    vertex back to the first), an open one n - 1. A full circle is two half circles.
    *Errors*: GeometryError, as for Segments.
    """

    points: Floats
    bulge: Floats
    closed: bool = True

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", frozen(self.points, 2))
        object.__setattr__(self, "bulge", frozen(self.bulge))
        if len(self.bulge) != len(self.points) - (0 if self.closed else 1):
            raise GeometryError.because("GEO-002", "a chain has the wrong number of bulges for its points")
        _check_numbers(self.bulge, self.points)

    def __len__(self) -> int:
        """Return the number of segments."""
        return len(self.bulge)

    @property
    def segments(self) -> Segments:
        """The chain as a table of segments, in order."""
        ends = np.roll(self.points, -1, axis=0) if self.closed else self.points[1:]
        starts = self.points if self.closed else self.points[:-1]
        return Segments(starts, ends, self.bulge)


def open_chains(points: Floats, bulge: Floats, sizes: Sequence[int]) -> tuple[Chain, ...]:
    """Return open chains of `sizes` vertices each, whose vertices follow each other in `points` (n, 2).

    `bulge` holds their bulges likewise, one less for each chain. They share the two arrays, and are checked
    together: for letters, which are many small chains.
    *Errors*: GeometryError, as for Chain.
    """
    points, bulge = frozen(points, 2), frozen(bulge)
    if sum(sizes) != len(points) or len(points) - len(sizes) != len(bulge) or min(sizes, default=1) < 1:
        raise GeometryError.because("GEO-002", "a chain has the wrong number of bulges for its points")
    _check_numbers(bulge, points)
    chains, first = [], 0
    for number, size in enumerate(sizes):
        chain = object.__new__(Chain)
        object.__setattr__(chain, "points", points[first : first + size])
        object.__setattr__(chain, "bulge", bulge[first - number : first - number + size - 1])
        object.__setattr__(chain, "closed", False)
        chains.append(chain)
        first += size
    return tuple(chains)


def _check_numbers(bulge: Floats, *points: Floats) -> None:
    # Chains are made by the ten thousand, nearly all of them short: a finite sum of squares has
    # finite terms, and one of at most 1 has none over 1.
    few = len(bulge) <= _FEW and _sum_of_squares(bulge) <= 1.0
    if few and all(isfinite(_sum_of_squares(table)) for table in points):
        return
    if not (np.isfinite(bulge).all() and all(np.isfinite(table).all() for table in points)):
        raise GeometryError.because("GEO-003", "a coordinate is not a finite number")
    if len(bulge) and np.abs(bulge).max() > MAX_BULGE:
        raise GeometryError.because("GEO-004", "an arc segment turns through more than a half circle")


def _sum_of_squares(table: Floats) -> float:
    flat = table.reshape(-1)
    return float(flat @ flat)
