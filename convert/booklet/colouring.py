"""The colouring page: outlines only, with little ink, and squares by which a print's scale is checked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from convert.booklet.checks import BAR, FIVE_CM, bar, squares
from convert.booklet.leaf import BODY, GREY, SECTION, SMALL, Leaf
from convert.booklet.model import Bookmark
from convert.booklet.pictures import fitted, outlines, place

if TYPE_CHECKING:
    from convert.booklet.content import Content
    from convert.booklet.model import Page

PALE_INK = "#7d7d7d"
HOW = (
    "Print at actual size, 100 %, with no fitting to the page. Then measure the two squares, across and "
    "up: their sides must be 1 in and 5 cm. Small squares hide small errors, so measure the long bar too, "
    "150 mm from end to end. If a print is wrong, change the print setting, not the pieces."
)


def colouring(content: Content) -> Page:
    """Return the colouring page."""
    frame = content.frame
    leaf = Leaf(frame, content.typeface)
    leaf.bookmarks.append(Bookmark("Colouring page"))
    top = leaf.heading("Colouring page", content.title)
    block = content.sizes[-1].block
    low = frame.bottom + 9.0 + FIVE_CM
    room = top - low - 10.0
    centre = (0.5 * (frame.left + frame.right) + 3.0, low + 10.0 + 0.5 * room)
    left, bottom, scale = fitted(block, centre, frame.across - 12.0, room)
    leaf.marks += outlines(block, place(block, left, bottom, scale), PALE_INK, 0.18)
    squares(leaf, frame.left, frame.bottom + 9.0)
    bar(leaf, frame.left + 3.0, max(low + 8.0, top - BAR))
    x = frame.left + FIVE_CM + 8.0
    leaf.words("Is the scale right?", x, low - 3.5, SECTION, bold=True)
    y = leaf.paragraph(HOW, x, low - 9.0, frame.right - x, BODY)
    leaf.paragraph(
        "This picture is not at finished size; the template sheets are.",
        x,
        y - 2.0,
        frame.right - x,
        SMALL,
        colour=GREY,
    )
    return leaf.page()
