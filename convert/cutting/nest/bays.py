"""Sheets divided into bays, each for a few blocks.

The engine lays few copies in a small part of the time that many take, and nearly as close. So a sheet for six
blocks may be six bays for one block each, all laid alike by one try.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from convert.cutting.nest.beds import Place
from convert.cutting.nest.model import Usable

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

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
    turned = Usable(sheet.height, sheet.width)
    in_rows = [tuple(map(_turned, bays)) for bays in _columns(turned, gap, blocks)]
    ways = [*_columns(sheet, gap, blocks), *in_rows, *_grids(sheet, gap, blocks)]
    return sorted(ways, key=lambda bays: (-len(bays), round(_slenderness(bays), 6)))


def _slenderness(bays: tuple[Bay, ...]) -> float:
    """Return how many times as long as wide bays are, the least square one."""
    sides = [(bay.place.width, bay.place.height) for bay in bays]
    return max(max(pair) / max(min(pair), SMALL) for pair in sides)


def _columns(sheet: Usable, gap: float, blocks: int) -> Iterator[tuple[Bay, ...]]:
    """Yield columns that are bays, and columns of bays alike, some of one more than others.

    Eleven blocks make no even grid, but a column of five bays beside one of six.
    """
    for number in range(2, min(MOST, blocks) + 1):
        yield _bays(sheet, gap, [(held, 1) for held in _evenly(blocks, number)])
    for held in range(1, blocks + 1):
        bays, left = divmod(blocks, held)
        for number in range(2, min(MOST, bays - 1) + 1) if not left else ():
            columns = _evenly(bays, number)
            if columns[0] < columns[-1] <= MOST:
                yield _bays(sheet, gap, [(held, rows) for rows in columns])


def _grids(sheet: Usable, gap: float, blocks: int) -> Iterator[tuple[Bay, ...]]:
    """Yield bays in columns and rows, all alike."""
    for columns in range(2, MOST + 1):
        for rows in range(2, MOST + 1):
            held, left = divmod(blocks, columns * rows)
            if not left:
                yield _bays(sheet, gap, [(held, rows)] * columns)


def _evenly(number: int, parts: int) -> list[int]:
    """Return a number in parts that differ by one at most, the least first."""
    each, more = divmod(number, parts)
    return [each] * (parts - more) + [each + 1] * more


def _bays(sheet: Usable, gap: float, columns: Sequence[tuple[int, int]]) -> tuple[Bay, ...]:
    """Return columns of so many blocks in each of so many bays, side by side."""
    blocks, before = sum(held * rows for held, rows in columns), 0
    found = []
    for held, rows in columns:
        left, wide = ((sheet.width + gap) * share / blocks for share in (before, held * rows))
        high = (sheet.height + gap) / rows
        places = [Place(0, left, high * row, wide - gap, high - gap) for row in range(rows)]
        found += [Bay(held, place) for place in places]
        before += held * rows
    return tuple(found)


def _turned(bay: Bay) -> Bay:
    place = bay.place
    return Bay(bay.blocks, Place(place.sheet, place.y, place.x, place.height, place.width))
