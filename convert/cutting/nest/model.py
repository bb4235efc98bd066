"""What is asked of nesting, and what it answers.

*Words.* An **item** is one shape with how often one block needs it, as it is and flipped over. A
**kind** is one of these two: an item on one of its hands. A **set** is what one block needs of every
kind. A **fixture** is a thing that lies on every sheet, whatever is laid there beside it, upright and never
flipped: a check square, say. A **layout** says where each copy lies on each sheet.

Millimetres and radians, y up; a sheet's usable area has its lower left corner at the origin.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

from convert.errors import GeometryError

if TYPE_CHECKING:
    from convert.geometry.chain import Chain
    from convert.geometry.similarity import Similarity

MOST_TURNS = 36
"""So many directions are looked at where turning goes in steps; finer steps are as good as any."""


@dataclass(frozen=True, slots=True)
class Rotation:
    """How shapes may be turned: by any angle (None), not at all (0), or in steps of `step_rad`."""

    step_rad: float | None = None

    @property
    def angles(self) -> tuple[float, ...] | None:
        """The allowed turns, from 0 up to a whole one; None when any is allowed, or steps are very fine."""
        if self.step_rad is None:
            return None
        count = round(2.0 * pi / self.step_rad) if self.step_rad > 0.0 else 1
        return tuple(2.0 * pi * k / count for k in range(count)) if count <= MOST_TURNS else None


@dataclass(frozen=True, slots=True, eq=False)
class Item:
    """One shape, its outermost outline running counter-clockwise, and how many one block needs.

    `rotation` narrows what the sheet allows, for instance to keep a grain; None is the sheet's own.
    *Errors*: GeometryError when no copy, or fewer than none, is needed.
    """

    outline: Chain
    count: int
    reversed_count: int = 0
    rotation: Rotation | None = None

    def __post_init__(self) -> None:
        if min(self.count, self.reversed_count) < 0 or self.count + self.reversed_count < 1:
            raise GeometryError.because("GEO-050", "a shape to lay out is needed less than once")


@dataclass(frozen=True, slots=True)
class Usable:
    """The usable part of a sheet, mm."""

    width: float
    height: float

    def __post_init__(self) -> None:
        if not (self.width > 0.0 and self.height > 0.0):
            raise GeometryError.because("GEO-051", "a sheet to lay shapes on has no area")


@dataclass(frozen=True, slots=True)
class Placed:
    """One copy: its item, and the map from the item's outline to the sheet; a reversed copy is flipped.

    Of a fixture, `item` is its number among the fixtures.
    """

    item: int
    placement: Similarity


@dataclass(frozen=True, slots=True)
class Layout:
    """Where everything lies, and how good that is.

    `sheets` hold all copies of as many blocks as were wanted (of as many as fit one sheet, when nobody
    said how many), and `fixed` the fixtures, sheet by sheet. `blocks_per_sheet` whole blocks fit one sheet, 0
    when a block needs several; `sheets_per_block` sheets hold one block. No sheet can hold more than
    `area_bound` blocks. `density` is the share of the usable area that shapes and fixtures cover, over all
    sheets but the last one where there are several. `methods` says for each sheet how it was laid out.
    `notes` say what a person might wonder about.
    """

    sheets: tuple[tuple[Placed, ...], ...]
    blocks: int
    blocks_per_sheet: int
    sheets_per_block: int
    area_bound: int
    density: float
    methods: tuple[str, ...]
    fixed: tuple[tuple[Placed, ...], ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def prints(self) -> int:
        """How many sheets there are to cut or print for the blocks wanted."""
        return len(self.sheets)
