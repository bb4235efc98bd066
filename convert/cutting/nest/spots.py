"""Copies on a sheet: how far they reach, on a sheet turned or trimmed."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.nest.beds import Spot

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.cutting.nest.model import Usable
    from convert.cutting.nest.shapes import Kind


def room_of(sheet: Usable, quarter: int) -> tuple[float, float]:
    """Return the width and height of a sheet, or of the same sheet turned."""
    return (sheet.height, sheet.width) if quarter else (sheet.width, sheet.height)


def reach_of(kinds: Sequence[Kind], spots: Sequence[Spot], gap: float) -> tuple[float, float]:
    """Return how far copies reach to the right and up; if there are none, the gap short of the edge."""
    corners = [kinds[s.kind].corners * np.exp(1j * s.angle) + s.at for s in spots]
    right = max((float(z.real.max()) for z in corners), default=-gap)
    return right, max((float(z.imag.max()) for z in corners), default=-gap)


def turned(spots: Sequence[Spot], quarter: int, width: float) -> tuple[Spot, ...]:
    """Return copies on a sheet that lies turned as they are on the sheet, `width` wide, when it stands."""
    if not quarter:
        return tuple(spots)
    return tuple(Spot(s.kind, s.angle + pi / 2.0, 1j * s.at + width) for s in spots)


def trimmed(spots: Sequence[Spot], counts: Sequence[int]) -> tuple[Spot, ...]:
    """Return at most so many copies of each kind, the first ones."""
    left = list(counts)
    kept = []
    for spot in spots:
        if left[spot.kind]:
            left[spot.kind] -= 1
            kept.append(spot)
    return tuple(kept)
