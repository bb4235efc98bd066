"""Colourways: the block in other colours, several to a page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from convert.booklet.cutting_list import swatch
from convert.booklet.leaf import BODY, FOOT_ROOM, GREY, SECTION, Flow
from convert.booklet.model import Bookmark
from convert.booklet.pictures import coloured, fitted, place
from convert.colourways import Colourway, Fabric, as_drawn

if TYPE_CHECKING:
    from convert.booklet.content import Content
    from convert.booklet.model import Page

GAP = 10.0
LINE = 6.2
COLUMNS = 2


def swatches(content: Content) -> list[Page]:
    """Return the pages of colourways, that of the drawing first; none when no other is asked for."""
    if not content.colourways:
        return []
    flow = Flow(content.frame, content.typeface, "Colourways", content.title, Bookmark("Colourways"))
    block = content.sizes[-1].block
    every = (Colourway("As drawn", as_drawn(content.fabrics)), *content.colourways)
    width = (content.frame.across - GAP * (COLUMNS - 1)) / COLUMNS
    shown = content.fabrics[:8]
    lines = (len(shown) + 1) // 2
    # Two rows to a page.
    under = 9.0 + LINE * lines + 5.0
    height = min(width * block.height / block.width, 0.5 * (flow.y - flow.frame.bottom - FOOT_ROOM) - under)
    tall = height + under - 1e-6
    for start in range(0, len(every), COLUMNS):
        flow.need(tall)
        for column, way in enumerate(every[start : start + COLUMNS]):
            x = content.frame.left + column * (width + GAP)
            centre = (x + 0.5 * width, flow.y - 0.5 * height)
            left, bottom, scale = fitted(block, centre, width, height)
            flow.leaf.marks += coloured(block, place(block, left, bottom, scale), way.colours)
            low = flow.y - height
            flow.leaf.words(way.name, x, low - 6.0, SECTION, bold=True)
            for number, fabric in enumerate(shown):
                across, down = number % 2, number // 2
                other = Fabric(way.colours.get(fabric.colour), fabric.name, fabric.area)
                swatch(flow.leaf, other, x + across * 0.5 * width, low - 11.5 - LINE * down)
        flow.y -= tall
    if len(content.fabrics) > len(shown):
        flow.paragraph(
            f"{len(content.fabrics) - len(shown)} more fabrics are not named here.", BODY, colour=GREY
        )
    return flow.pages()
