"""The cutting list of each size: every shape in every fabric, how often, and its cloth shape's measure."""

from __future__ import annotations

from collections import Counter
from math import ceil
from typing import TYPE_CHECKING

from convert.booklet.content import inches, one_length
from convert.booklet.leaf import BODY, CAPITAL, GREY, SMALL, Column, Flow, box
from convert.booklet.model import MM_PER_POINT, Anchor, Bookmark
from convert.booklet.pictures import UNKNOWN, small_shape
from convert.booklet.yardage import cloth_shapes
from convert.units import MM_PER_INCH, format_inches

if TYPE_CHECKING:
    from collections.abc import Callable

    from convert.block.model import Template
    from convert.booklet.content import Content, MadeSize
    from convert.booklet.leaf import Leaf
    from convert.booklet.model import Page
    from convert.colourways import Fabric

PAGE_ROOM = 200.0
"""A list that is longer than this (mm) may be broken."""
ROW = 12.5
PICTURE = 9.5
SWATCH = 4.6
EIGHTH = MM_PER_INCH / 8.0


def cutting_lists(content: Content) -> list[Page]:
    """Return the cutting lists of all sizes, one after the other, on as many pages as they take."""
    title = "Cutting list"
    flow = Flow(content.frame, content.typeface, title, content.title, Bookmark(title))
    reversed_too = any(p.reversed for p in content.sizes[0].block.pieces)
    flow.paragraph(
        f"For one block: {len(content.sizes[0].block.pieces)} papers. Papers are cut at their finished "
        f"size, cloth {one_length(content.allowance)} larger all round."
        + (
            " A reversed shape is the mirror image of the other; its papers are marked so."
            if reversed_too
            else ""
        ),
        colour=GREY,
    )
    flow.space(1.0)
    flow.paragraph(
        "Cloth shapes are given by the smallest rectangle they fit in, rounded up to eighths of an inch "
        "and to millimetres.",
        SMALL,
        colour=GREY,
    )
    flow.space(4.0)
    for number, made in enumerate(content.sizes):
        kinds = len({(p.template, p.reversed, p.fabric) for p in made.block.pieces})
        whole = 22.0 + kinds * ROW
        turned = flow.need(whole) if whole < PAGE_ROOM else False
        if number and not turned:
            flow.space(5.0)
        _list(flow, content, made)
    return flow.pages()


def _list(flow: Flow, content: Content, made: MadeSize) -> None:
    block = made.block
    shapes = cloth_shapes(block, content.allowance)
    many = content.blocks > 1
    across = content.frame.across
    columns = [
        Column("Shape", 0.0, 16.0, Anchor.MIDDLE),
        Column("Paper", 22.0, 30.0),
        Column("Cut", 52.0, 10.0, Anchor.RIGHT),
        *([Column(f"For {content.blocks} blocks", 66.0, 22.0, Anchor.RIGHT)] if many else []),
        Column("Fabric", 94.0 if many else 74.0, 46.0 if many else 60.0),
        Column("Cloth shape fits in", across - 66.0, 66.0, Anchor.RIGHT),
    ]
    count = Counter((p.template, p.reversed, p.fabric) for p in block.pieces)
    order = {fabric.colour: number for number, fabric in enumerate(content.fabrics)}
    flow.section(f"{made.name}, {inches(block.width, block.height)}", keep=8.0 + ROW)
    flow.leaf.bookmarks.append(Bookmark(made.name, 1))
    flow.table_head(columns)
    for template, is_reversed, fabric in sorted(count, key=lambda k: (k[0], k[1], order[k[2]])):
        number = count[template, is_reversed, fabric]
        cloth = shapes[template]
        cells: list[str | Callable[[Leaf, float, float], None]] = [
            _picture(block.templates[template], fabric or UNKNOWN, is_reversed=is_reversed),
            block.templates[template].label + (" reversed" if is_reversed else ""),
            str(number),
            *([str(number * content.blocks)] if many else []),
            swatch_cell(content.fabrics[order[fabric]]),
            _size(cloth.short, cloth.long),
        ]
        flow.row(columns, cells, ROW)


def _size(width: float, height: float) -> str:
    """Return the rectangle that a cloth shape fits in, in inches and centimetres, rounded up."""
    across, up = (ceil(v / EIGHTH - 1e-6) * EIGHTH for v in (width, height))
    wide, high = (ceil(v - 1e-6) / 10.0 for v in (width, height))
    first = f"{format_inches(across).removesuffix(' in')} × {format_inches(up)}"
    return f"{first}  ({wide:g} × {high:g} cm)"


def _picture(template: Template, fill: str, *, is_reversed: bool) -> Callable[[Leaf, float, float], None]:
    def draw(leaf: Leaf, x: float, y: float) -> None:
        leaf.marks.append(small_shape(template, (x, y), PICTURE, is_reversed=is_reversed, fill=fill))

    return draw


def swatch_cell(fabric: Fabric) -> Callable[[Leaf, float, float], None]:
    """Return a table's cell that shows a fabric."""

    def draw(leaf: Leaf, x: float, y: float) -> None:
        swatch(leaf, fabric, x, y)

    return draw


def swatch(leaf: Leaf, fabric: Fabric, x: float, y: float, size: float = BODY) -> None:
    """Draw a fabric's colour and its name beside it, about the height `y`."""
    fill = fabric.colour or UNKNOWN
    leaf.shape(box(x, y - 0.5 * SWATCH, SWATCH, SWATCH), stroke="#3a3a3a", width=0.13, fill=fill)
    leaf.words(fabric.name, x + SWATCH + 2.5, y - 0.5 * CAPITAL * size * MM_PER_POINT, size)
