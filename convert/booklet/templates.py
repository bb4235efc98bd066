"""Template sheets: papers and cloth shapes at exact size, with all that measures a print's scale.

A page of templates has a slim head with what it is, a long bar at its left, what is on it at its foot, and
all the rest for templates and the check squares; it has no instructions, because it is cut up.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from math import ceil
from typing import TYPE_CHECKING

from convert.booklet.checks import FIVE_CM, SLIM_TICK, bar, squares
from convert.booklet.content import centimetres, counted, inches
from convert.booklet.leaders import label_beside
from convert.booklet.leaf import BODY, CAPITAL, FINE, GREY, HAIR, SECTION, SMALL, Leaf, box
from convert.booklet.model import (
    CUT_COLOUR,
    CUT_WIDTH,
    MM_PER_POINT,
    SMALLEST_POINTS,
    Anchor,
    Bookmark,
    Words,
)
from convert.booklet.waste import beside, hatching
from convert.cutting.sheet import CUTS, Facing, Product, Purpose
from convert.profile import Margins, load_profile
from convert.units import format_inches, format_mm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.block.model import Block
    from convert.booklet.content import Content, Group, MadeSize
    from convert.booklet.model import Page
    from convert.booklet.paper import Frame
    from convert.cutting.sheet import Lettering, Sheet
    from convert.geometry.plane import Complexes
    from convert.profile import Profile

HEAD = 8.8
"""Height of a page's head, mm."""
SIDE = 3.5
"""Width of the strip that the long bar takes, mm."""
FOOT = 3.5
"""Height of a page's foot, mm."""
NUMBER = 15.0
"""Room for a page's number, mm."""
BETWEEN = " · "
MARK_COLOUR = "#3d3d3d"
HATCH_COLOUR = "#8c8c8c"
BASE = "letter-card"

TITLES = {Product.FINISHED: "Papers", Product.CLOTH: "Cloth shapes", Product.WINDOW: "Window templates"}
SIDES = {
    Facing.BACK: "Block seen from the back",
    Facing.FRONT: "Block seen from the front",
    Facing.EITHER: "Front and back are alike",
}


def sheet_profile(frame: Frame) -> Profile:
    """Return the profile by which template sheets are laid out: what is free of a page for scissors."""
    margins = Margins(
        left=frame.left - frame.beyond + SIDE,
        right=frame.width - frame.right,
        top=frame.height - frame.top - frame.beyond + HEAD,
        bottom=frame.bottom - frame.beyond + FOOT,
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
        spare = ", ".join(f"{count} {label}" for label, count in self.left_over)
        return self._made + (f", {spare} spare" if spare else "")

    @property
    def _made(self) -> str:
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
    for group in made.groups:
        sheets = group.sheets
        got = share(made.block, sheets) if sheets[0].product is not Product.WINDOW else None
        for sheet, square in zip(sheets, group.squares, strict=True):
            page = replace(_page(content, made, group, sheet, square, got), size=made.name, gap=group.gap)
            if sheet.number == 1:
                title = f"{TITLES[sheet.product]}, {made.name}"
                page = replace(page, bookmarks=(Bookmark(title, first_level),))
            pages.append(page)
    return pages


def _page(
    content: Content,
    made: MadeSize,
    group: Group,
    sheet: Sheet,
    square: tuple[float, float],
    got: Share | None,
) -> Page:
    frame = content.frame
    leaf = Leaf(frame, content.typeface)
    in_the_way = [box(*square, FIVE_CM, FIVE_CM)]
    papers = [stroke.chain for stroke in sheet.strokes if stroke.purpose is Purpose.OUTER]
    waste = None if group.gap else hatching([*papers, *in_the_way])
    _head(leaf, content, made, group, sheet, got)
    squares(leaf, *square)
    bar(leaf, frame.left - frame.beyond + SLIM_TICK, frame.bottom - frame.beyond + FOOT, slim=True)
    _draw(leaf, sheet)
    area = (frame.left, frame.bottom - frame.beyond + FOOT, frame.right, frame.top + frame.beyond - HEAD)
    before = len(leaf.marks)
    unlabelled = label_beside(leaf, sheet, made.block, area, in_the_way)
    labels = [mark for mark in leaf.marks[before:] if isinstance(mark, Words)]
    hatched = waste is not None and _hatch(leaf, waste, labels)
    _foot(leaf, made.block, sheet, unlabelled, hatched=hatched)
    return leaf.page(sheet, made.block)


def _hatch(leaf: Leaf, waste: tuple[Complexes, Complexes], labels: Sequence[Words]) -> bool:
    """Hatch what papers leave between them, beside the labels that stand there; tell whether there is any."""
    tall = 0.5 * CAPITAL * SMALLEST_POINTS * MM_PER_POINT
    words = [
        (complex(m.at[0], m.at[1] + tall), complex(0.5 * leaf.wide(m.text, m.size) + 0.5, tall + 0.5))
        for m in labels
    ]
    lines = beside(waste, words)
    if lines:
        leaf.shape(*lines, stroke=HATCH_COLOUR, width=HAIR)
    return bool(lines)


def _head(
    leaf: Leaf, content: Content, made: MadeSize, group: Group, sheet: Sheet, got: Share | None
) -> None:
    """Set the two lines that tell what a page is and how far it goes."""
    frame, block = content.frame, made.block
    left, right, top = frame.left, frame.right, frame.top + frame.beyond
    y = top - CAPITAL * SECTION * MM_PER_POINT
    if got is not None:
        goes = got.words + _prints(got, content.blocks)
        leaf.words(goes, right, y, BODY, bold=True, anchor=Anchor.RIGHT)
        right -= leaf.wide(goes, BODY, bold=True) + 6.0
    title = leaf.shortened(f"{TITLES[sheet.product]}, {made.name}", SECTION, 0.6 * (right - left), bold=True)
    leaf.words(title, left, y, SECTION, bold=True)
    left += leaf.wide(title, SECTION, bold=True) + 4.0
    which = leaf.shortened(f"{content.title}, sheet {sheet.number} of {sheet.of}", BODY, right - left)
    leaf.words(which, left, y, BODY)
    facts = [
        _allowance(sheet, content.allowance),
        SIDES[sheet.facing],
        f"Finished {inches(block.width, block.height)} ({centimetres(block.width, block.height)})",
        *([] if group.gap else ["Cut once along shared lines"]),
    ]
    text = BETWEEN.join(facts)
    size = leaf.fitting(text, SMALL, frame.across, least=SMALLEST_POINTS)
    leaf.words(leaf.shortened(text, size, frame.across), frame.left, y - 3.9, size)


def _prints(got: Share, blocks: int) -> str:
    """Return how often to print for the blocks wanted, if they are several."""
    times = ceil(blocks / got.blocks)
    if blocks == 1 or times == 1:
        return ""
    return f": print {'it' if got.sheets == 1 else 'each'} {times} times for {blocks}"


def _foot(leaf: Leaf, block: Block, sheet: Sheet, unlabelled: Sequence[str], *, hatched: bool) -> None:
    """Set what is on a page, at its foot, and which templates have no room for a label on it or beside it."""
    frame = leaf.frame
    here = "Here: " + _listed(block, Counter((copy.template, copy.reversed) for copy in sheet.copies))
    if unlabelled:
        names = Counter(unlabelled)
        bare = ", ".join(name if count == 1 else f"{count} {name}" for name, count in sorted(names.items()))
        here = f"Without a label, for want of room: {bare}{BETWEEN}{here}"
    if hatched:
        here = f"Hatched: waste{BETWEEN}{here}"
    text = leaf.shortened(here, SMALLEST_POINTS, frame.across - NUMBER)
    leaf.words(text, frame.left, frame.bottom - frame.beyond + 0.5, SMALLEST_POINTS, colour=GREY)


def _listed(block: Block, on: Counter[tuple[int, bool]]) -> str:
    """Return what is on a page in words, those of one number together: `4 each of A, Ar; 1 B`."""
    alike: dict[int, list[str]] = {}
    for (number, is_reversed), count in sorted(on.items()):
        alike.setdefault(count, []).append(block.templates[number].label + ("r" if is_reversed else ""))
    return "; ".join(
        f"{count} {'each of ' if len(names) > 1 else ''}{', '.join(names)}" for count, names in alike.items()
    )


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
