"""What a search for places may spend, by effort."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from convert.cutting.effort import Effort
from convert.cutting.nest.engine import Limits


@dataclass(frozen=True, slots=True)
class Budget:
    """What may be spent: the engine's limits for one try, and its reports for all.

    The engine is not asked for more than `copies` at once, nor where copies, each with half the gap round it,
    would take more than `reach` of the place (`reach_of_few`, where there are few, for which as many as
    `tries_of_few` seeds are tried). But for all that a sheet is to hold it is asked a little farther, and for
    more copies than `many`, with no more than `closer` reports (measured: of 30 such tries 3 succeeded,
    within 314 reports, and of 12 with more none). Where copies have more than `corners` in all, a try gets as
    much less work as they have more, since its reports take as much longer.
    Bays, into which a sheet is divided, are tried within the limits `one_bay`, whose reports don't count
    among all, until as many as `empty_bays` could not be filled (measured: of 39 layouts of bays, 29 were
    found without one that failed, 5 after one); of bays of several kinds, one that others wait for is tried
    with as many as `seeds_of_last` seeds. Within the same limits as many as `relaid` parts of beds are
    laid anew.
    `angles` directions of a shape are tried along rows and `patterns` of it kept, and `block_angles`
    directions of the whole block, of which `parted` are moved apart with care. For one number of blocks
    `patched` layouts with holes are tried, with `patch_angles` turns of each copy that they lack; and
    of the mixtures `filled` with beds, and `engined` with the engine.
    """

    one_try: Limits
    all_tries: int
    copies: int
    many: int
    corners: int
    reach: float
    reach_of_few: float
    tries_of_few: int
    closer: int
    one_bay: Limits
    empty_bays: int
    seeds_of_last: int
    relaid: int
    angles: int
    patterns: int
    block_angles: int
    parted: int
    patched: int
    patch_angles: int
    filled: int
    engined: int


BUDGETS: Final = {
    Effort.QUICK: Budget(
        Limits(350, 1, 5.0, 10.0), 700, 150, 150, 2500,
        reach=0.70, reach_of_few=0.70, tries_of_few=1, closer=0,
        one_bay=Limits(0, 1, 0.0, 0.0), empty_bays=0, seeds_of_last=0, relaid=0,
        angles=8, patterns=5, block_angles=3, parted=1, patched=3, patch_angles=6, filled=1, engined=1,
    ),
    Effort.NORMAL: Budget(
        Limits(1000, 1, 10.0, 20.0), 3000, 250, 60, 6000,
        reach=0.85, reach_of_few=0.91, tries_of_few=2, closer=350,
        one_bay=Limits(700, 1, 6.0, 60.0, more=0.0, behind=0.015), empty_bays=2, seeds_of_last=2, relaid=2,
        angles=24, patterns=12, block_angles=8, parted=2, patched=8, patch_angles=12, filled=4, engined=2,
    ),
    Effort.BEST: Budget(
        Limits(2000, 6, 300.0, 200.0), 16000, 400, 400, 20000,
        reach=0.92, reach_of_few=0.96, tries_of_few=4, closer=0,
        one_bay=Limits(1000, 2, 20.0, 100.0), empty_bays=24, seeds_of_last=4, relaid=12,
        angles=36, patterns=16, block_angles=16, parted=4, patched=24, patch_angles=36, filled=40, engined=8,
    ),
}  # fmt: skip
"""Measured (see DEVELOPERS.md): tries that succeed do so within 900 reports, many within 350."""
