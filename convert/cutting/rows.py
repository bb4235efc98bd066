"""Every shape apart, in simple rows on the sheet.

*Words.* A **row** is cells side by side, as high as its first one, because parts come highest first. Low
cells fill what room high rows leave at their ends.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from convert.cutting.cells import ROUND, usable_cells
from convert.cutting.kerf import parts_for_kerf
from convert.cutting.labels import Blank, Inscriber, Naming, unlabelled
from convert.cutting.legend import contents, legend, side, title, which_sheet
from convert.cutting.marks import MarkChoices, piece_marks
from convert.cutting.parts import CutChoices, usual_facing
from convert.cutting.products import make_parts
from convert.cutting.sheet import Arrangement, Copy, Facing, Product, Purpose, Sheet, Stroke
from convert.geometry.similarity import Similarity

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from convert.block.model import Block
    from convert.cutting.cells import Cell, Space
    from convert.cutting.nest import Layout
    from convert.cutting.nested import Load, Nested
    from convert.cutting.parts import Part
    from convert.profile import Profile

_NAMES = {Product.FINISHED: "pieces", Product.CLOTH: "cloth", Product.WINDOW: "window"}
_DONE = {Purpose.MARK: 0, Purpose.LETTER: 0, Purpose.INNER: 1, Purpose.OUTER: 2}


@dataclass(frozen=True, slots=True)
class Yield:
    """What one sheet of a profile makes: whole blocks on one sheet, and sheets for one block.

    No layout makes more than `area_bound` blocks of one sheet (None where nobody reckoned it).
    """

    profile: str
    blocks_per_sheet: int
    sheets_per_block: int
    area_bound: int | None = None


def piece_sheets(
    block: Block,
    profile: Profile,
    facing: Facing | None = None,
    *,
    size: str = "as-drawn",
    blocks: int = 1,
    product: Product = Product.FINISHED,
    choices: CutChoices | None = None,
    marks: MarkChoices | None = None,
    nested: Nested | None = None,
    taken: tuple[float, float] = (0.0, 0.0),
    least_label: float = 0.0,
) -> tuple[Sheet, ...]:
    """Return the sheets that hold the shapes of one product for `blocks` whole blocks, grouped by template.

    With `nested`, a layout of the same shapes, they lie as it says, else in rows. Without
    `facing` they show the side that is usual for the product. `marks` (all of them if None) are drawn on
    papers, each of which is for one piece. Rows leave the lower right corner free as far as `taken` says: its
    width and height, mm. Labels with capitals lower than `least_label` (mm) are left out.
    *Errors*: OutputError when a shape fits no sheet at any angle tried (CUT-001) or the profile's kerf
    is wider than a slot in it (CUT-016), a finding per shape.
    """
    choices = choices or CutChoices()
    facing = facing or usual_facing(product)
    made = make_parts(block, product, choices, profile.kerf)
    parts = parts_for_kerf(made.parts, profile.kerf)
    margins = profile.margins
    room, cells = usable_cells(parts, profile, taken)
    shown = Facing.EITHER if block.own_mirror else facing
    if nested is None:
        loads = _placed(block, cells, _rows(parts, cells, room, profile.gap, blocks), facing)
    else:
        loads = list(nested.loads)
    corner = Similarity.shift(margins.left, margins.bottom)
    flips = product is Product.WINDOW and any(t.reversed_count for t in block.templates)
    own = piece_marks(block, marks or MarkChoices()) if product is Product.FINISHED else ()
    inscriber, naming = Inscriber(block, parts, own, least_label), Naming.of(block, size, blocks)
    sheets = []
    for number, load in enumerate(loads, start=1):
        copies, strokes, blanks = [], [], []
        for index, (number_of_part, piece, on_usable) in enumerate(load):
            part, placement = parts[number_of_part], corner.after(on_usable)
            is_reversed = piece >= 0 and block.pieces[piece].reversed
            copies.append(Copy(part.label, part.template, is_reversed, placement, piece))
            strokes += [_laid(stroke, placement, index) for stroke in part.strokes]
            words = naming.text(block, part, piece)
            blanks.append(Blank(number_of_part, piece, index, placement, words))
        inside, missing = inscriber.write(blanks)
        strokes += inside
        # What is drawn comes first and inner cuts before outer ones: nothing is done to a loose piece.
        strokes.sort(key=lambda stroke: _DONE[stroke.purpose])
        what = contents(product, choices.allowance_mm)
        which = which_sheet(number, len(loads), None if all(part.is_tool for part in parts) else blocks)
        lines = title(block, size, what, side(product, shown, flips=flips), which)
        extra = legend(profile.width, profile.height, margins, lines)
        sheets.append(
            Sheet(
                name=f"{_NAMES[product]}-{number}",
                title=". ".join(lines),
                width=profile.width,
                height=profile.height,
                arrangement=Arrangement.PIECES,
                facing=shown,
                number=number,
                of=len(loads),
                blocks=blocks,
                copies=tuple(copies),
                strokes=(*extra.strokes, *strokes),
                letterings=extra.letterings,
                findings=(*(made.findings if number == 1 else ()), *unlabelled(missing), *extra.findings),
                product=product,
            )
        )
    return tuple(sheets)


def sheet_yield(
    block: Block,
    profile: Profile,
    choices: CutChoices | None = None,
    taken: tuple[float, float] = (0.0, 0.0),
) -> Yield:
    """Return how many whole blocks a sheet of papers makes in rows, or how many sheets a block needs.

    At the lower right a corner is `taken`, as for `piece_sheets`.

    *Errors*: OutputError, as for `piece_sheets`.
    """
    made = make_parts(block, Product.FINISHED, choices or CutChoices())
    parts = parts_for_kerf(made.parts, profile.kerf)
    room, cells = usable_cells(parts, profile, taken)

    def sheets(blocks: int) -> int:
        return len(_rows(parts, cells, room, profile.gap, blocks))

    needed = sheets(1)
    if needed > 1:
        return Yield(profile.name, 0, needed)
    fits, fails = 1, 2
    while sheets(fails) == 1:
        fits, fails = fails, 2 * fails
    while fails - fits > 1:
        middle = (fits + fails) // 2
        fits, fails = (middle, fails) if sheets(middle) == 1 else (fits, middle)
    return Yield(profile.name, fits, 1)


def sheets_in_rows(
    block: Block,
    profile: Profile,
    product: Product,
    choices: CutChoices,
    blocks: int,
    taken: tuple[float, float] = (0.0, 0.0),
) -> int:
    """Return how many sheets `piece_sheets` makes of a product in rows.

    *Errors*: OutputError, as for `piece_sheets`.
    """
    parts = parts_for_kerf(make_parts(block, product, choices, profile.kerf).parts, profile.kerf)
    room, cells = usable_cells(parts, profile, taken)
    return len(_rows(parts, cells, room, profile.gap, blocks))


def better_yield(rows: Yield, layout: Layout) -> Yield:
    """Return what a sheet makes by rows or by nesting, whichever is more."""
    blocks = max(rows.blocks_per_sheet, layout.blocks_per_sheet)
    sheets = min(rows.sheets_per_block, layout.sheets_per_block)
    return Yield(rows.profile, blocks, sheets, layout.area_bound)


def _laid(stroke: Stroke, placement: Similarity, copy: int) -> Stroke:
    """Return a part's stroke on the sheet; outlines keep running as they do, even when flipped."""
    lay = placement.outline if stroke.chain.closed else placement.chain
    return Stroke(lay(stroke.chain), stroke.purpose, copy)


def _placed(
    block: Block, cells: Sequence[Cell], rows: Sequence[Sequence[_Laid]], facing: Facing
) -> list[Load]:
    """Return the copies in rows, each with its placement from the usable corner."""
    loads: list[Load] = []
    for row in rows:
        loads.append([])
        for part, piece, x, y in row:
            is_reversed = piece >= 0 and block.pieces[piece].reversed
            flipped = is_reversed != (facing is Facing.BACK)
            loads[-1].append((part, piece, cells[part].placement(x, y, flipped=flipped)))
    return loads


_Laid = tuple[int, int, float, float]
"""A copy: its part, its piece (-1 for a tool), and the place of its cell's corner from the usable corner."""


@dataclass(slots=True)
class _Row:
    """A row being filled: its sheet, lower edge, height and width, and where its next cell may begin."""

    load: list[_Laid]
    low: float
    height: float
    width: float
    free: float


def _rows(
    parts: Sequence[Part], cells: tuple[Cell, ...], room: Space, gap: float, blocks: int
) -> list[list[_Laid]]:
    """Return for each sheet its copies, in the order in which they were laid.

    Highest cells first; each goes into the first row that has room for it, else into a new row on
    the first sheet that has.
    *Source*: first-fit decreasing height, Coffman, Garey, Johnson and Tarjan 1980 (from memory).
    """
    loads: list[list[_Laid]] = []
    tops: list[float] = []  # for each sheet, the upper edge of its free part
    rows: list[_Row] = []
    narrowest = min(cell.width for cell in cells)
    same, first = -1, 0
    for part, piece in _copies(parts, cells, blocks):
        cell = cells[part]
        if part != same:
            # Rows too full for the narrowest cell are done with.
            rows = [row for row in rows if row.free + narrowest <= row.width + 1e-9]
            same, first = part, 0
        # A row that was too full for this part's last copy is so for the next one.
        while first < len(rows) and not _fits(rows[first], cell):
            first += 1
        if first == len(rows):
            sheet = next((n for n, top in enumerate(tops) if _fits_under(top, cell, room)), len(tops))
            if sheet == len(tops):
                tops.append(room.height)
                loads.append([])
            low = max(tops[sheet] - cell.height, 0.0)
            tops[sheet] = low - gap
            rows.append(_Row(loads[sheet], low, cell.height, room.across(low), 0.0))
        row = rows[first]
        row.load.append((part, piece, row.free, row.low))
        row.free += cell.width + gap
    return loads


def _fits(row: _Row, cell: Cell) -> bool:
    return row.free + cell.width <= row.width + 1e-9 and cell.height <= row.height + 1e-9


def _fits_under(top: float, cell: Cell, room: Space) -> bool:
    low = top - cell.height
    return low >= -1e-9 and cell.width <= room.across(low) + 1e-9


def _copies(parts: Sequence[Part], cells: tuple[Cell, ...], blocks: int) -> Iterator[tuple[int, int]]:
    order = sorted(range(len(cells)), key=lambda number: (-round(cells[number].height, ROUND), number))
    for number in order:
        part = parts[number]
        if part.is_tool:
            yield number, -1
        for pieces in (part.pieces, part.reversed_pieces):
            for _ in range(blocks):
                for piece in pieces:
                    yield number, piece
