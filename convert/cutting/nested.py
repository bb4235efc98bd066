"""The shapes of a product laid out by nesting, in place of rows.

Whole blocks are laid as close as they go; where plain rows need no more sheets, plain rows it is.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from math import radians
from typing import TYPE_CHECKING

from convert.cutting.cells import usable_cells
from convert.cutting.kerf import parts_for_kerf
from convert.cutting.nest import Item, Rotation, Usable, nest
from convert.cutting.parts import CutChoices, usual_facing
from convert.cutting.products import make_parts
from convert.cutting.sheet import Facing, Product
from convert.geometry.similarity import Similarity

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from convert.block.model import Block
    from convert.cutting.nest import Effort, Layout
    from convert.cutting.parts import Part
    from convert.geometry.chain import Chain
    from convert.profile import Profile

Load = list[tuple[int, int, Similarity]]
"""A sheet's copies: each its part, its piece (-1 for a tool), and its placement from the usable corner."""


@dataclass(frozen=True, slots=True)
class Nested:
    """Loads for the wanted number of blocks, and the layout they come from."""

    loads: tuple[Load, ...]
    layout: Layout


def nested(
    block: Block,
    profile: Profile,
    effort: Effort,
    facing: Facing | None = None,
    *,
    blocks: int | None = 1,
    product: Product = Product.FINISHED,
    choices: CutChoices | None = None,
    fixed: Sequence[Chain] = (),
) -> Nested:
    """Return the layout of the shapes of one product for `blocks` blocks, or for as many as fit one sheet.

    Each outline of `fixed` lies upright on every sheet beside them; the layout says where.
    *Errors*: OutputError, as for `piece_sheets`, and where a shape has no room beside what is fixed.
    """
    made = make_parts(block, product, choices or CutChoices(), profile.kerf)
    parts = parts_for_kerf(made.parts, profile.kerf)
    back = (facing or usual_facing(product)) is Facing.BACK
    tools = any(part.is_tool for part in parts)
    room, _ = usable_cells(parts, profile)
    step = profile.turn_step_deg
    layout = nest(
        [_item(part, back=back) for part in parts],
        Usable(room.width, room.height),
        profile.gap,
        Rotation(None if step is None else radians(step)),
        blocks=1 if tools else blocks,
        effort=effort,
        drawn=() if tools else _drawn(block, parts, back=back),
        fixed=[Item(outline, 1) for outline in fixed],
    )
    return Nested(tuple(_loads(layout, parts, back=back)), layout)


def _item(part: Part, *, back: bool) -> Item:
    """Return a part as an item; seen from the back, those that are not reversed are flipped."""
    as_it_is, over = (1, 0) if part.is_tool else (len(part.pieces), len(part.reversed_pieces))
    return Item(part.outline, over, as_it_is) if back else Item(part.outline, as_it_is, over)


def _drawn(block: Block, parts: Sequence[Part], *, back: bool) -> list[tuple[int, Similarity]]:
    """Return the places of a block's pieces, as the chosen side shows them."""
    seen = Similarity.mirror_x() if back else Similarity()
    return [
        (number, seen.after(block.pieces[piece].placement))
        for number, part in enumerate(parts)
        for piece in (*part.pieces, *part.reversed_pieces)
    ]


def _loads(layout: Layout, parts: Sequence[Part], *, back: bool) -> Iterator[Load]:
    """Yield each sheet's copies: part after part, reversed ones last, and from the lower left on."""
    left: dict[tuple[int, bool], list[int]] = defaultdict(list)
    for number, part in enumerate(parts):
        for is_reversed, pieces in ((False, part.pieces), (True, part.reversed_pieces)):
            # Pieces are taken from the end.
            left[number, is_reversed] = list(pieces)[::-1] * layout.blocks
    for on_sheet in layout.sheets:
        copies = sorted(
            (placed.item, placed.placement.flipped != back, _place(placed.placement), placed.placement)
            for placed in on_sheet
        )
        yield [
            (item, -1 if parts[item].is_tool else left[item, is_reversed].pop(), placement)
            for item, is_reversed, _, placement in copies
        ]


def _place(placement: Similarity) -> tuple[float, float, float, float]:
    return round(placement.dy, 4), round(placement.dx, 4), placement.a, placement.b
