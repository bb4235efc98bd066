"""Sheets divided into bays, each for a few blocks.

The engine lays few copies in a small part of the time that many take, and nearly as close. So a sheet for six
blocks may be six bays for one block each, all laid alike by one try.
"""

from __future__ import annotations

from itertools import accumulate
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
    """A place for so many blocks."""

    blocks: int
    place: Place


def divided(sheet: Usable, gap: float, blocks: int) -> list[tuple[Bay, ...]]:
    """Return the ways to divide a sheet for so many blocks, those with most bays first, then the squarest.

    Bays are as large as the blocks that they hold are many; they are a gap apart.
    """
    ways = [*_strips(sheet, gap, blocks), *_grids(sheet, gap, blocks)]
    return sorted(ways, key=lambda bays: (-len(bays), round(_slenderness(bays), 6)))


def _slenderness(bays: tuple[Bay, ...]) -> float:
    """Return how many times as long as wide bays are, the least square one."""
    sides = [(bay.place.width, bay.place.height) for bay in bays]
    return max(max(pair) / max(min(pair), SMALL) for pair in sides)


def _strips(sheet: Usable, gap: float, blocks: int) -> Iterator[tuple[Bay, ...]]:
    """Yield columns alone and rows alone, with as even numbers of blocks as can be."""
    wide, high = (sheet.width + gap) / blocks, (sheet.height + gap) / blocks
    for number in range(2, min(MOST, blocks) + 1):
        each, more = divmod(blocks, number)
        holds = [each] * (number - more) + [each + 1] * more
        befores = [0, *accumulate(holds[:-1])]
        yield tuple(
            Bay(held, Place(0, wide * before, 0.0, wide * held - gap, sheet.height))
            for held, before in zip(holds, befores, strict=True)
        )
        yield tuple(
            Bay(held, Place(0, 0.0, high * before, sheet.width, high * held - gap))
            for held, before in zip(holds, befores, strict=True)
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
