"""Cloth shapes nested on cloth, where that saves as much as shops sell less of.

Rows come first and cost next to nothing. What is bought goes by eighths of a yard or by tens of
centimetres, so a closer layout is looked for only on a length that is shorter by one of these, and only while
the shapes' area and height leave hope.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, pi
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.effort import Effort
from convert.geometry.measure import area, box

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.geometry.chain import Chain

HOPE = 0.92
"""Cloth that must be covered more than this is not tried: shapes hardly ever lie so close."""
TRIES = {None: 0, Effort.QUICK: 6, Effort.NORMAL: 20, Effort.BEST: 60}
"""So many lengths are tried for a whole booklet; each takes the engine a second or two."""
MOST = 400
"""More shapes than this are left in rows: these waste little of a long piece, and nesting takes long."""
FOR_ENGINE = 40
"""More than this are laid on beds only: the engine takes long over many, and gains little on beds."""


@dataclass(slots=True)
class Tries:
    """How many lengths may still be tried."""

    left: int

    @classmethod
    def of(cls, effort: Effort | None) -> Tries:
        """Return what an effort allows; without one nothing is tried."""
        return cls(TRIES[effort])


def closer_length(
    outlines: Sequence[Chain],
    counts: Sequence[int],
    width: float,
    length: float,
    steps: Sequence[float],
    tries: Tries,
) -> float:
    """Return how long cloth `width` mm wide must be for so many of each outline, at most `length`.

    Outlines lie as they are or turned by half a turn, as the grain asks. `steps` are the lengths (mm) by
    which cloth is sold: a shorter length is returned only where it saves a step of one of them.
    """
    if sum(counts) > MOST or not tries.left:
        return length
    covered = sum(area(outline) * count for outline, count in zip(outlines, counts, strict=True))
    tallest = max(float(box(outline)[3] - box(outline)[1]) for outline in outlines)
    too_short = max(tallest - 1e-9, covered / (HOPE * width))
    for step in steps:
        while tries.left:
            target = (ceil(length / step - 1e-9) - 1) * step
            if target <= too_short:
                break
            tries.left -= 1
            found = _nested(outlines, counts, width, target)
            if found is None:
                too_short = target
                break
            length = found
    return length


def _nested(outlines: Sequence[Chain], counts: Sequence[int], width: float, length: float) -> float | None:
    """Return how much of a length is taken when all shapes are nested on it; None where they find no room."""
    from convert.cutting.nest.budget import BUDGETS
    from convert.cutting.nest.model import Item, Rotation, Usable
    from convert.cutting.nest.onesheet import Solver
    from convert.cutting.nest.shapes import kinds_of

    items = [Item(outline, count) for outline, count in zip(outlines, counts, strict=True)]
    kinds = kinds_of(items, Rotation(pi))
    budget = BUDGETS[Effort.QUICK]
    if sum(counts) > FOR_ENGINE:
        budget = replace(budget, all_tries=0)
    solver = Solver(kinds, Usable(width, length), 0.0, budget, 1, None)
    best = solver.most_blocks(1)
    if not best.blocks:
        return None
    tops = [float((kinds[s.kind].corners * np.exp(1j * s.angle) + s.at).imag.max()) for s in best.spots]
    return min(max(tops), length)
