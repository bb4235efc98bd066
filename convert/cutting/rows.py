"""Every shape apart, in simple rows on the sheet.

*Words.* A **cell** is the upright box round a part that was turned to lie low; a **row** is
cells side by side, as high as its first one, because parts come highest first. Low cells fill
what room high rows leave at their ends.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.kerf import parts_for_kerf
from convert.cutting.labels import Blank, Inscriber, Naming, unlabelled
from convert.cutting.legend import contents, legend, side, strip_height, title, which_sheet
from convert.cutting.marks import MarkChoices, piece_marks
from convert.cutting.parts import CutChoices, usual_facing
from convert.cutting.products import make_parts
from convert.cutting.sheet import Arrangement, Copy, Facing, Product, Purpose, Sheet, Stroke
from convert.errors import Finding, OutputError, Severity
from convert.geometry.chain import Segments
from convert.geometry.measure import boxes
from convert.geometry.similarity import Similarity
from convert.units import format_mm

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from convert.block.model import Block
    from convert.cutting.nest import Layout
    from convert.cutting.nested import Load, Nested
    from convert.cutting.parts import Part
    from convert.geometry.chain import Chain, Floats
    from convert.profile import Profile

TRIED_EDGES = 24
"""So many of a template's longest segments are tried as its base."""
ROUND = 4
"""Sizes are compared after rounding to so many digits (mm), so that equal ones don't differ by rounding."""
_NAMES = {Product.FINISHED: "pieces", Product.CLOTH: "cloth", Product.WINDOW: "window"}
_THINGS = {
    Product.FINISHED: "piece",
    Product.CLOTH: "the cloth of piece",
    Product.WINDOW: "the window template of piece",
}
_DONE = {Purpose.MARK: 0, Purpose.LETTER: 0, Purpose.INNER: 1, Purpose.OUTER: 2}


@dataclass(frozen=True, slots=True)
class Cell:
    """A part turned by `angle_rad`; `left`, `low` are the corner of its box then, and its size, mm."""

    angle_rad: float
    left: float
    low: float
    width: float
    height: float

    def placement(self, x: float, y: float, *, flipped: bool) -> Similarity:
        """Return the map that lays the part with its box's lower left corner at (x, y).

        A flipped part is the mirror image, top to bottom, of the turned one: its box is the same.
        """
        turn = Similarity.turn(-self.angle_rad if flipped else self.angle_rad, flipped=flipped)
        low = -(self.low + self.height) if flipped else self.low
        return Similarity.shift(x - self.left, y - low).after(turn)


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
) -> tuple[Sheet, ...]:
    """Return the sheets that hold the shapes of one product for `blocks` whole blocks, grouped by template.

    With `nested`, a layout of the same shapes, they lie as it says where that saves a sheet. Without
    `facing` they show the side that is usual for the product. `marks` (all of them if None) are drawn on
    papers, each of which is for one piece.
    *Errors*: OutputError when a shape fits no sheet at any angle tried (CUT-001) or the profile's kerf
    is wider than a slot in it (CUT-016), a finding per shape.
    """
    choices = choices or CutChoices()
    facing = facing or usual_facing(product)
    made = make_parts(block, product, choices, profile.kerf)
    parts = parts_for_kerf(made.parts, profile.kerf)
    margins = profile.margins
    room, cells = usable_cells(parts, profile)
    shown = Facing.EITHER if block.own_mirror else facing
    loads = _placed(block, cells, _rows(parts, cells, room, profile.gap, blocks), facing)
    if nested is not None and len(nested.loads) < len(loads):
        loads = list(nested.loads)
    corner = Similarity.shift(margins.left, margins.bottom)
    flips = product is Product.WINDOW and any(t.reversed_count for t in block.templates)
    own = piece_marks(block, marks or MarkChoices()) if product is Product.FINISHED else ()
    inscriber, naming = Inscriber(block, parts, own), Naming.of(block, size, blocks)
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


def sheet_yield(block: Block, profile: Profile, choices: CutChoices | None = None) -> Yield:
    """Return how many whole blocks a sheet of papers makes, or how many sheets a block needs.

    *Errors*: OutputError, as for `piece_sheets`.
    """
    made = make_parts(block, Product.FINISHED, choices or CutChoices())
    parts = parts_for_kerf(made.parts, profile.kerf)
    room, cells = usable_cells(parts, profile)

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


def better_yield(rows: Yield, layout: Layout) -> Yield:
    """Return what a sheet makes by rows or by nesting, whichever is more."""
    blocks = max(rows.blocks_per_sheet, layout.blocks_per_sheet)
    sheets = min(rows.sheets_per_block, layout.sheets_per_block)
    return Yield(rows.profile, blocks, sheets, layout.area_bound)


def _laid(stroke: Stroke, placement: Similarity, copy: int) -> Stroke:
    """Return a part's stroke on the sheet; outlines keep running as they do, even when flipped."""
    lay = placement.outline if stroke.chain.closed else placement.chain
    return Stroke(lay(stroke.chain), stroke.purpose, copy)


def usable_cells(
    parts: Sequence[Part], profile: Profile
) -> tuple[tuple[float, float], tuple[Cell, ...]]:
    """Return width and height of the usable area, and a cell that fits it for each part.

    *Errors*: OutputError (CUT-001), a finding for each part that fits at no angle tried.
    """
    margins = profile.margins
    room = (
        profile.width - margins.left - margins.right,
        profile.height - margins.bottom - margins.top - strip_height(margins),
    )
    cells = _cells_of([part.outline for part in parts], room, profile.turn_step_deg)
    _refuse_large(parts, cells, room, profile)
    return room, cells


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
    """A row being filled: its sheet, lower edge and height, and where its next cell may begin."""

    load: list[_Laid]
    low: float
    height: float
    free: float


def _rows(
    parts: Sequence[Part], cells: tuple[Cell, ...], room: tuple[float, float], gap: float, blocks: int
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
            rows = [row for row in rows if row.free + narrowest <= room[0] + 1e-9]
            same, first = part, 0
        # A row that was too full for this part's last copy is so for the next one.
        while first < len(rows) and not _fits(rows[first], cell, room[0]):
            first += 1
        if first == len(rows):
            sheet = next((n for n, top in enumerate(tops) if top - cell.height >= -1e-9), len(tops))
            if sheet == len(tops):
                tops.append(room[1])
                loads.append([])
            low = max(tops[sheet] - cell.height, 0.0)
            tops[sheet] = low - gap
            rows.append(_Row(loads[sheet], low, cell.height, 0.0))
        row = rows[first]
        row.load.append((part, piece, row.free, row.low))
        row.free += cell.width + gap
    return loads


def _fits(row: _Row, cell: Cell, width: float) -> bool:
    return row.free + cell.width <= width + 1e-9 and cell.height <= row.height + 1e-9


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


def _cells_of(
    outlines: Sequence[Chain], room: tuple[float, float], step_deg: float | None
) -> tuple[Cell, ...]:
    """Return for each outline the lowest cell that fits, standing on a segment or across it.

    Where none fits, every degree is tried; where none of those fits, the lowest cell is returned.
    Where parts may be turned in steps only (0: not at all), those are tried and no others.
    """
    tables = [outline.segments for outline in outlines]
    if step_deg is None:
        angles = [_standing(table) for table in tables]
    else:
        # A half turn changes no box.
        steps = np.arange(0.0, 180.0 - 1e-9, step_deg) if step_deg > 0.0 else np.zeros(1)
        angles = [np.radians(steps)] * len(tables)
    cells = []
    for table, tried, box in zip(tables, angles, _turned_boxes(tables, angles), strict=True):
        cell, fits = _lowest(tried, box, room)
        if not fits and step_deg is None:
            degrees = np.arange(180.0) * (pi / 180.0)
            other, fits = _lowest(degrees, _turned_boxes([table], [degrees])[0], room)
            cell = other if fits else cell
        cells.append(cell)
    return tuple(cells)


def _standing(table: Segments) -> Floats:
    """Return the turns that make each of the longest chords level, then those that make it upright."""
    along = table.end - table.start
    length = np.hypot(along[:, 0], along[:, 1])
    longest = np.argsort(-np.round(length, ROUND), kind="stable")[:TRIED_EDGES]
    base: Floats = -np.arctan2(along[longest, 1], along[longest, 0])
    return np.concatenate((base, base + 0.5 * pi))


def _lowest(angles: Floats, box: Floats, room: tuple[float, float]) -> tuple[Cell, bool]:
    """Return the lowest (then narrowest, then least turned) of the boxes that fit, and whether one does."""
    width, height = box[:, 2] - box[:, 0], box[:, 3] - box[:, 1]
    fits = (width <= room[0] + 1e-9) & (height <= room[1] + 1e-9)
    turned = np.abs(np.arctan2(np.sin(angles), np.cos(angles)))
    order = np.lexsort((np.round(turned, 6), np.round(width, ROUND), np.round(height, ROUND), ~fits))
    i = order[0]
    cell = Cell(float(angles[i]), float(box[i, 0]), float(box[i, 1]), float(width[i]), float(height[i]))
    return cell, bool(fits[i])


def _turned_boxes(tables: Sequence[Segments], angles: Sequence[Floats]) -> list[Floats]:
    """Return for each outline its boxes (m, 4) when turned by each of its m angles."""
    starts, ends, bulges, sizes = [], [], [], []
    for table, turns in zip(tables, angles, strict=True):
        turn = np.exp(1j * turns)[:, None]
        starts.append((turn * (table.start[:, 0] + 1j * table.start[:, 1])).ravel())
        ends.append((turn * (table.end[:, 0] + 1j * table.end[:, 1])).ravel())
        bulges.append(np.tile(table.bulge, len(turns)))
        sizes.append(np.full(len(turns), len(table)))
    start, end = np.concatenate(starts), np.concatenate(ends)
    each = boxes(
        Segments(
            np.column_stack((start.real, start.imag)),
            np.column_stack((end.real, end.imag)),
            np.concatenate(bulges),
        )
    )
    size = np.concatenate(sizes)
    first = np.cumsum(size) - size
    whole = np.column_stack(
        (np.minimum.reduceat(each[:, :2], first, axis=0), np.maximum.reduceat(each[:, 2:], first, axis=0))
    )
    return np.split(whole, np.cumsum([len(turns) for turns in angles])[:-1])


def _refuse_large(
    parts: Sequence[Part], cells: tuple[Cell, ...], room: tuple[float, float], profile: Profile
) -> None:
    findings = {
        part.template: Finding(
            "CUT-001",
            Severity.ERROR,
            f"{_THINGS[part.product]} {part.label} measures "
            f"{format_mm(cell.width)} x {format_mm(cell.height)} at best; "
            f"the usable sheet of profile {profile.name} is {format_mm(room[0])} x {format_mm(room[1])}",
            "Ask for a smaller size, use a profile with a larger sheet, or split the piece with a seam",
            value=max(cell.width, cell.height),
        )
        for part, cell in zip(parts, cells, strict=True)
        if cell.width > room[0] + 1e-9 or cell.height > room[1] + 1e-9
    }
    if findings:
        raise OutputError(*findings.values())
