"""Sheets divided into bays, each for a few blocks.

The engine lays few copies in a small part of the time that many take, and nearly as close. So a sheet for six
blocks may be six bays for one block each, all laid alike by one try.
"""

from __future__ import annotations

from itertools import accumulate, pairwise
from typing import TYPE_CHECKING, NamedTuple

from convert.cutting.nest.beds import Place

if TYPE_CHECKING:
    from collections.abc import Iterator

    from convert.cutting.nest.model import Usable

MOST = 6
"""A sheet is divided into so many columns and rows at most."""


SMALL = 1e-6
"""Bays may be narrower than nothing, where there is more gap than room."""


class Bay(NamedTuple):
    """A place for so many blocks; one of them has the fixtures, if there are any."""

    blocks: int
    place: Place
    fixtures: bool = False


def divided(sheet: Usable, gap: float, blocks: int, block: float, fixtures: float) -> list[tuple[Bay, ...]]:
    """Return the ways to divide a sheet for so many blocks, those with most bays first, then the squarest.

    A block takes an area of `block` (mm²) and all fixtures together `fixtures`. Bays are as large as what
    they hold is; they are a gap apart.
    """
    ways = list(_strips(sheet, gap, blocks, block, fixtures))
    if not fixtures:
        ways += _grids(sheet, gap, blocks)
    return sorted(ways, key=lambda bays: (-len(bays), round(_slenderness(bays), 6)))


def _slenderness(bays: tuple[Bay, ...]) -> float:
    """Return how many times as long as wide bays are, the least square one."""
    sides = [(bay.place.width, bay.place.height) for bay in bays]
    return max(max(pair) / max(min(pair), SMALL) for pair in sides)


def _strips(
    sheet: Usable, gap: float, blocks: int, block: float, fixtures: float
) -> Iterator[tuple[Bay, ...]]:
    """Yield columns alone and rows alone, with as even numbers of blocks as can be."""
    for number in range(2, min(MOST, blocks) + 1):
        each, more = divmod(blocks, number)
        holds = [each] * (number - more) + [each + 1] * more
        areas = [held * block + fixtures * (n == 0) for n, held in enumerate(holds)]
        ends = [0.0, *(end / sum(areas) for end in accumulate(areas))]
        for quarter in (0, 1):
            along = (sheet.height if quarter else sheet.width) + gap
            spans = [(along * begin, along * (end - begin) - gap) for begin, end in pairwise(ends)]
            places = [
                Place(0, 0.0, at, sheet.width, length) if quarter else Place(0, at, 0.0, length, sheet.height)
                for at, length in spans
            ]
            yield tuple(
                Bay(held, place, fixtures=fixtures > 0.0 and n == 0)
                for n, (held, place) in enumerate(zip(holds, places, strict=True))
            )


def _grids(sheet: Usable, gap: float, blocks: int) -> Iterator[tuple[Bay, ...]]:
    """Yield bays in columns and rows, all alike."""
    for columns in range(2, MOST + 1):
        for rows in range(2, MOST + 1):
            held, left = divmod(blocks, columns * rows)
            if left:
                continue
            wide, high = (sheet.width + gap) / columns, (sheet.height + gap) / rows
            yield tuple(
                Bay(held, Place(0, wide * column, high * row, wide - gap, high - gap))
                for column in range(columns)
                for row in range(rows)
            )
