"""The cover: the block in its colours, its sizes, and what is inside."""

from __future__ import annotations

from typing import TYPE_CHECKING

from convert.booklet.content import counted, inches
from convert.booklet.leaf import BODY, GREY, SECTION, SMALL, TITLE, Leaf
from convert.booklet.model import Anchor, Bookmark
from convert.booklet.pictures import coloured, fitted, place
from convert.colourways import as_drawn

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.booklet.content import Content
    from convert.booklet.model import Page

PICTURE = 128.0
"""The picture is at most so wide and high, mm."""
LINE = 5.6
"""Distance of lines in the list of what is inside, mm."""
COLUMN = 13
"""Lines in one column of that list."""


def cover(content: Content, inside: Sequence[tuple[str, int]]) -> Page:
    """Return the cover; `inside` are the sections and the pages (from 1) on which they begin."""
    frame = content.frame
    leaf = Leaf(frame, content.typeface)
    leaf.bookmarks.append(Bookmark("Cover"))
    block = content.sizes[-1].block
    size = leaf.fitting(content.title, TITLE, frame.across, bold=True, least=SECTION)
    leaf.words(
        leaf.shortened(content.title, size, frame.across, bold=True),
        frame.left,
        frame.top - 10.0,
        size,
        bold=True,
    )
    leaf.words("A block for English paper piecing", frame.left, frame.top - 18.5, SECTION, colour=GREY)
    if content.author:
        name = leaf.shortened(content.author, SECTION, frame.across - 80.0)
        leaf.words(name, frame.right, frame.top - 18.5, SECTION, colour=GREY, anchor=Anchor.RIGHT)
    rows = min(len(inside), COLUMN)
    foot = frame.bottom + 10.0 + LINE * rows + 12.0
    above = frame.top - 27.0
    room = min(above - foot - 6.0, PICTURE)
    centre = (0.5 * (frame.left + frame.right), above - 0.5 * (above - foot))
    left, bottom, scale = fitted(block, centre, min(frame.across, 1.3 * room), room)
    leaf.marks += coloured(block, place(block, left, bottom, scale), as_drawn(content.fabrics))

    top = foot - 4.0
    leaf.rule(top + 4.0)
    facts = [
        counted(len(block.pieces), "piece"),
        f"{counted(len(block.templates), 'shape')} of paper",
        counted(len(content.fabrics), "fabric"),
    ]
    leaf.words("This block", frame.left, top - 4.0, SMALL, colour=GREY)
    for number, fact in enumerate(facts):
        leaf.words(fact, frame.left, top - 10.0 - LINE * number, BODY)
    y = top - 10.0 - LINE * len(facts) - 2.0
    leaf.words("Finished sizes", frame.left, y - 2.0, SMALL, colour=GREY)
    shown = content.sizes[: max(1, int((y - 8.0 - frame.bottom) / LINE))]
    for number, made in enumerate(shown):
        text = f"{made.name}: {inches(made.block.width, made.block.height)}"
        leaf.words(leaf.shortened(text, BODY, 62.0), frame.left, y - 8.0 - LINE * number, BODY)
    start = frame.left + 70.0
    leaf.words("Inside", start, top - 4.0, SMALL, colour=GREY)
    wide = frame.right - start
    columns = 1 if len(inside) <= COLUMN else 2
    for number, (name, page) in enumerate(inside[: 2 * COLUMN]):
        column, line_number = divmod(number, COLUMN)
        width = wide / columns - 4.0
        x, low = start + column * wide / columns, top - 10.0 - LINE * line_number
        leaf.words(leaf.shortened(name, BODY, width - 12.0), x, low, BODY)
        leaf.words(str(page), x + width, low, BODY, colour=GREY, anchor=Anchor.RIGHT)
    return leaf.page()
