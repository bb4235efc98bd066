"""Block dimensions: every finished size at one scale, on the outline of the sheet it is printed on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from convert.booklet.content import centimetres, inches, one_length
from convert.booklet.edges import edge_table
from convert.booklet.leaf import BODY, FINE, GREY, HAIR, PALE, SECTION, SMALL, Column, Flow, box
from convert.booklet.model import Bookmark
from convert.booklet.pictures import outlines, place, silhouette
from convert.cutting.rings import rings
from convert.geometry.measure import area
from convert.geometry.measure import box as box_of

if TYPE_CHECKING:
    from convert.block.model import Block
    from convert.booklet.content import Content
    from convert.booklet.model import Page

GAP = 8.0
"""Between drawings side by side, mm."""
HIGHEST = 95.0
PAPERS = {"letter": "a Letter sheet", "a4": "an A4 sheet"}


def with_allowance(block: Block, allowance: float) -> tuple[float, float]:
    """Return width and height of the block before it is sewn to others: raw edge to raw edge, mm."""
    outer = [chain for chain in block.outside if area(chain) > 0.0]
    boxes = [box_of(ring.outer) for ring in rings([(chain, ()) for chain in outer], allowance)]
    left, low = min(b[0] for b in boxes), min(b[1] for b in boxes)
    return float(max(b[2] for b in boxes) - left), float(max(b[3] for b in boxes) - low)


def dimensions(content: Content) -> list[Page]:
    """Return the page of dimensions, and more if there are many sizes."""
    frame = content.frame
    flow = Flow(frame, content.typeface, "Block dimensions", content.title, Bookmark("Block dimensions"))
    paper = PAPERS[frame.name]
    flow.paragraph(
        f"All sizes at one scale, each on the outline of {paper}. The finished size is that of the "
        "sewn block, from seam line to seam line.",
        colour=GREY,
    )
    flow.space(5.0)
    sizes = content.sizes
    per_row = max(min(len(sizes), 3), 1)
    widest = max(frame.width, *(made.block.width for made in sizes))
    highest = max(frame.height, *(made.block.height for made in sizes))
    scale = min((frame.across - GAP * (per_row - 1)) / per_row / widest, HIGHEST / highest)
    for start in range(0, len(sizes), per_row):
        flow.need(scale * highest + 22.0)
        low = flow.y - scale * highest
        for column, made in enumerate(sizes[start : start + per_row]):
            block, leaf = made.block, flow.leaf
            left = frame.left + column * (scale * widest + GAP)
            leaf.shape(
                box(left, low, scale * frame.width, scale * frame.height),
                stroke=PALE,
                width=FINE,
                dash=(1.2, 1.2),
            )
            lay = place(block, left, low, scale)
            leaf.marks.append(silhouette(block, lay, "#eef2f1", None))
            leaf.marks += outlines(block, lay, "#8a9694", HAIR)
            leaf.marks.append(silhouette(block, lay, None, "#222222", 0.25))
            wide = scale * widest
            leaf.words(
                leaf.shortened(made.name, SECTION, wide, bold=True), left, low - 6.0, SECTION, bold=True
            )
            for number, text in enumerate(
                (inches(block.width, block.height), centimetres(block.width, block.height))
            ):
                leaf.words(text, left, low - 11.0 - 4.6 * number, leaf.fitting(text, BODY, wide), colour=GREY)
        flow.y = low - 24.0
    columns = (
        Column("Size", 0.0, 56.0),
        Column("Finished size", 60.0, 58.0),
        Column("With allowance, raw edge to raw edge", 122.0, frame.across - 122.0),
    )
    flow.need(20.0)
    flow.table_head(columns)
    for made in sizes:
        block = made.block
        raw = with_allowance(block, content.allowance)
        for unit, finished, whole in (
            ("in", inches(block.width, block.height), inches(*raw)),
            ("cm", centimetres(block.width, block.height), centimetres(*raw)),
        ):
            first = unit == "in"
            flow.row(columns, (made.name if first else "", finished, whole), 6.2, ruled=not first)
    flow.space(4.0)
    flow.paragraph(
        f"Width comes first, then height. The allowance is {one_length(content.allowance)} beyond the seam "
        "line all round; it is the same at every size and is lost when the block is sewn to its neighbours.",
        SMALL,
        colour=GREY,
    )
    flow.space(5.0)
    edge_table(flow, content)
    return flow.pages()
