"""How many blocks a sheet can hold at most, whatever the layout."""

from __future__ import annotations

from math import ceil, floor, pi
from typing import TYPE_CHECKING

from convert.cutting.nest.convex import convex_pieces
from convert.geometry.measure import area, length
from convert.geometry.offset import Corners, offset

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.cutting.nest.model import Usable
    from convert.cutting.nest.shapes import Kind


def grown_area(kind: Kind, gap: float) -> float:
    """Return the area, mm², of a shape grown by half the gap all round: what it takes up at least.

    *Source*: of convex shapes it is A + L r + pi r² (Steiner 1840, from memory).
    """
    r = gap / 2.0
    if r <= 0.0:
        return kind.area
    if len(convex_pieces(kind.corners)) == 1:
        return kind.area + length(kind.outline) * r + pi * r**2
    rings = offset(kind.outline, r, Corners.rounded())
    return sum(area(ring.chain) for ring in rings)


def area_bound(kinds: Sequence[Kind], grown: Sequence[float], sheet: Usable, gap: float) -> float:
    """Return how many blocks one sheet can hold at most, by area, as a fraction.

    Shapes `grown` by half the gap, which have these areas, don't overlap, and lie in the usable area grown by
    as much. Fixtures are as large on every sheet.
    """
    needed = sum(k.demand * area for k, area in zip(kinds, grown, strict=True) if not k.fixed)
    taken = sum(k.demand * area for k, area in zip(kinds, grown, strict=True) if k.fixed)
    return max((sheet.width + gap) * (sheet.height + gap) - taken, 0.0) / needed


def whole(bound: float) -> int:
    """Return a bound as whole blocks; one that is whole but for rounding is."""
    return floor(bound * (1.0 + 1e-9))


def least_sheets(blocks: int, bound: float) -> int:
    """Return how many sheets so many blocks need at least, by the bound of one sheet."""
    return max(ceil(blocks / bound * (1.0 - 1e-9)), 1) if bound else blocks


def density(kinds: Sequence[Kind], counts: Sequence[int], sheet: Usable) -> float:
    """Return the shapes' share of the usable area."""
    used = sum(kind.area * count for kind, count in zip(kinds, counts, strict=True))
    return used / (sheet.width * sheet.height)
