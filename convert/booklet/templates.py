"""Template sheets: papers and cloth shapes at exact size, with all that measures a print's scale.

A page of templates has a head with what it is and the check squares, a long bar at its left, and
templates; it has no instructions, because it is cut up.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from convert.booklet.checks import FIVE_CM, bar, squares
from convert.booklet.content import centimetres, counted, inches
from convert.booklet.leaf import BODY, CAPITAL, FINE, GREY, HAIR, SECTION, SMALL, Leaf
from convert.booklet.model import CUT_COLOUR, CUT_WIDTH, MM_PER_POINT, SMALLEST_POINTS, Anchor, Bookmark
from convert.booklet.pictures import fitted, outlines, place, silhouette
from convert.cutting.sheet import CUTS, Facing, Product, Purpose
from convert.profile import Margins, load_profile
from convert.units import format_inches, format_mm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.block.model import Block
    from convert.booklet.content import Content, MadeSize
    from convert.booklet.model import Page
    from convert.booklet.paper import Frame
    from convert.cutting.sheet import Lettering, Sheet
    from convert.profile import Profile

HEAD = FIVE_CM + 4.0
"""Height of a page's head, mm."""
SIDE = 8.0
"""Width of the strip that the long bar takes, mm."""
FOOT = 6.0
THUMB = 24.0
MOST_EDGES = 1000
"""Of a block with more the small picture shows the outside alone."""
HERE = 2
"""Lines that tell what is on a page."""
MARK_COLOUR = "#3d3d3d"
BASE = "letter-card"

TITLES = {Product.FINISHED: "Papers", Product.CLOTH: "Cloth shapes", Product.WINDOW: "Window templates"}
SIDES = {
    Facing.BACK: "shown from the back",
    Facing.FRONT: "shown from the front",
    Facing.EITHER: "front and back are alike",
}


def sheet_profile(frame: Frame) -> Profile:
    """Return the profile by which template sheets are laid out: what is free of a page for scissors."""
    margins = Margins(
        left=frame.left + SIDE,
        right=frame.width - frame.right,
        top=frame.height - frame.top + HEAD,
        bottom=frame.bottom + FOOT,
    )
    return replace(
        load_profile(BASE),
        name=f"booklet-{frame.name}",
        title=f"Template page of the booklet, {frame.name}",
        width=frame.width,
        height=frame.height,
        margins=margins,
    )


@dataclass(frozen=True, slots=True)
class Share:
    """How far a group of sheets goes: blocks, of how many sheets, and what is left over by label."""

    blocks: int
    sheets: int
    left_over: tuple[tuple[str, int], ...]

    @property
    def words(self) -> str:
        """The yield in words."""
        if self.sheets == 1:
            return f"One sheet makes {counted(self.blocks, 'block')}"
        if self.blocks == 1:
            return f"One block needs {self.sheets} sheets"
        return f"{self.sheets} sheets together make {counted(self.blocks, 'block')}"


def share(block: Block, sheets: Sequence[Sheet]) -> Share:
    """Return how far sheets go: the least, over the templates, of copies there by copies in a block."""
    found = Counter((copy.template, copy.reversed) for sheet in sheets for copy in sheet.copies)
    needed = {
        (number, is_reversed): count
        for number, t in enumerate(block.templates)
        for is_reversed, count in ((False, t.count), (True, t.reversed_count))
        if count
    }
    blocks = min(found[kind] // count for kind, count in needed.items())
    left = tuple(
        (_name(block, number, is_reversed), found[number, is_reversed] - blocks * count)
        for (number, is_reversed), count in needed.items()
        if found[number, is_reversed] > blocks * count
    )
    return Share(blocks, len(sheets), left)


def _name(block: Block, number: int, is_reversed: bool) -> str:  # noqa: FBT001 (a fact, not an option)
    return block.templates[number].label + (" reversed" if is_reversed else "")


def template_pages(content: Content, made: MadeSize, first_level: int = 0) -> list[Page]:
    """Return the pages of one size, product after product."""
    pages = []
    for group in made.sheets:
        got = share(made.block, group) if group[0].product is not Product.WINDOW else None
        for sheet in group:
            page = replace(_page(content, made, sheet, got), size=made.name)
            if sheet.number == 1:
                title = f"{TITLES[sheet.product]}, {made.name}"
                page = replace(page, bookmarks=(Bookmark(title, first_level),))
            pages.append(page)
    return pages


def _page(content: Content, made: MadeSize, sheet: Sheet, got: Share | None) -> Page:
    frame, block = content.frame, made.block
    leaf = Leaf(frame, content.typeface)
    square = frame.right - FIVE_CM
    squares(leaf, square, frame.top - FIVE_CM)
    left, top = frame.left, frame.top
    room = square - 6.0 - left - THUMB - 4.0
    title = f"{TITLES[sheet.product]}, {made.name}"
    leaf.words(leaf.shortened(title, 15.0, room, bold=True), left, top - 5.0, 15.0, bold=True)
    y = top - 12.0
    leaf.words(f"Sheet {sheet.number} of {sheet.of}", left, y, SECTION)
    y -= 7.5
    if got is not None:
        leaf.words(got.words, left, y, BODY, bold=True)
        y -= 5.2
    facts = [
        _allowance(sheet, content.allowance),
        f"Block {SIDES[sheet.facing]}",
        f"Finished block {inches(block.width, block.height)} ({centimetres(block.width, block.height)})",
    ]
    if got is not None and got.left_over and sheet.number == sheet.of:
        over = ", ".join(f"{count} {label}" for label, count in got.left_over)
        facts.append(leaf.shortened(f"Left over: {over}", BODY, room))
    for fact in facts:
        leaf.words(fact, left, y, leaf.fitting(fact, BODY, room, least=SMALLEST_POINTS))
        y -= 5.2
    on = Counter((copy.template, copy.reversed) for copy in sheet.copies)
    here = "Here: " + ", ".join(f"{count} {_name(block, *kind)}" for kind, count in sorted(on.items()))
    lines = leaf.lines(here, SMALL, square - 6.0 - left)
    if len(lines) > HERE:
        lines = [*lines[: HERE - 1], leaf.shortened(f"{lines[HERE - 1]} …", SMALL, square - 6.0 - left)]
    for number, text in enumerate(reversed(lines)):
        leaf.words(text, left, top - FIVE_CM + 0.4 + 4.0 * number, SMALL, colour=GREY)
    x, bottom, scale = fitted(block, (square - 6.0 - 0.5 * THUMB, top - 0.5 * THUMB - 1.0), THUMB, THUMB)
    lay = place(block, x, bottom, scale, back=sheet.facing is Facing.BACK)
    if block.map.edge_count <= MOST_EDGES:
        leaf.marks += outlines(block, lay, GREY, HAIR)
    else:
        leaf.marks.append(silhouette(block, lay, None, GREY, HAIR))

    bar(leaf, frame.left + 2.0, frame.bottom + FOOT + 2.0)
    _draw(leaf, sheet)
    return leaf.page(sheet, block)


def _allowance(sheet: Sheet, allowance: float) -> str:
    if sheet.product is Product.FINISHED:
        return "Papers: no seam allowance"
    text = format_inches(allowance)
    amount = format_mm(allowance) if "." in text else text
    if sheet.product is Product.CLOTH:
        return f"Cloth: includes {amount} seam allowance"
    return f"Windows: the frame is the {amount} allowance"


def _draw(leaf: Leaf, sheet: Sheet) -> None:
    """Draw what is in the templates, then their cuts, one by one in the sheet's order."""
    drawn = [s.chain for s in sheet.strokes if s.purpose not in CUTS and s.purpose is not Purpose.CHECK]
    if drawn:
        leaf.shape(*drawn, stroke=MARK_COLOUR, width=FINE)
    for stroke in sheet.strokes:
        if stroke.purpose in CUTS:
            leaf.shape(stroke.chain, stroke=CUT_COLOUR, width=CUT_WIDTH)
    for lettering in sheet.letterings:
        if lettering.purpose is not Purpose.CHECK:
            _lettering(leaf, lettering)


def _lettering(leaf: Leaf, lettering: Lettering) -> None:
    size = max(lettering.height / (CAPITAL * MM_PER_POINT), SMALLEST_POINTS)
    x, y = lettering.at
    leaf.words(
        lettering.text,
        x,
        y - 0.5 * CAPITAL * size * MM_PER_POINT,
        size,
        colour=MARK_COLOUR,
        anchor=Anchor.MIDDLE,
    )
