"""How much of each fabric to buy, for every size."""

from __future__ import annotations

from math import gcd
from typing import TYPE_CHECKING

from convert.booklet.closer import Tries
from convert.booklet.content import counted, one_length
from convert.booklet.cutting_list import PAGE_ROOM, swatch_cell
from convert.booklet.leaf import GREY, SMALL, Column, Flow
from convert.booklet.model import Anchor, Bookmark
from convert.booklet.yardage import EIGHTH_YARD, TEN_CM, cloth_shapes, needs
from convert.units import MM_PER_INCH

if TYPE_CHECKING:
    from convert.booklet.content import Content, MadeSize
    from convert.booklet.model import Page
    from convert.booklet.yardage import Need

ROW = 7.3


def cloth(content: Content) -> list[Page]:
    """Return the pages that tell how much cloth to buy."""
    title = "Cloth to buy"
    flow = Flow(content.frame, content.typeface, title, content.title, Bookmark(title))
    flow.paragraph(
        f"For {counted(content.blocks, 'block')}, from cloth of {one_length(content.cloth_width)} usable "
        f"width. The cloth shapes were laid out on it, in {_ways(content)}, with the grain along "
        "the cloth, every shape head up or head down. Buy the length rounded up to what shops sell.",
        colour=GREY,
    )
    flow.space(1.0)
    flow.paragraph(
        "Left over is the share of the yards bought that lies in no shape, with what is wider than the "
        f"shapes need; lengths in centimetres are rounded up to {TEN_CM / 10:g} cm. Not counted are trial "
        "pieces, motifs that are cut out singly, cloth whose print has one direction, borders and backing: "
        "buy more for those.",
        SMALL,
        colour=GREY,
    )
    flow.space(4.0)
    across = content.frame.across
    columns = (
        Column("Fabric", 0.0, 52.0),
        Column("Pieces", 54.0, 16.0, Anchor.RIGHT),
        Column("Length needed", 74.0, 40.0, Anchor.RIGHT),
        Column("Buy", 118.0, 22.0, Anchor.RIGHT),
        Column("or", 142.0, 20.0, Anchor.RIGHT),
        Column("Left over", across - 24.0, 24.0, Anchor.RIGHT),
    )
    tries = Tries.of(content.effort)
    for made in content.sizes:
        found = _needs(content, made, tries)
        rows = 8.0 + ROW * len(content.fabrics)
        flow.section(made.name, keep=rows if rows < PAGE_ROOM else 8.0 + ROW)
        flow.table_head(columns)
        for fabric in content.fabrics:
            need = found[fabric.colour]
            flow.row(
                columns,
                (
                    swatch_cell(fabric),
                    str(need.pieces),
                    _length(need.length),
                    yards(need.eighths),
                    f"{need.tens * 10} cm",
                    f"{100.0 * need.waste(need.eighths * EIGHTH_YARD):.0f} %",
                ),
                ROW,
            )
        flow.space(4.0)
    return flow.pages()


def yards(eighths: int) -> str:
    """Return eighths of a yard in words: `1 3/8 yd`."""
    whole, rest = divmod(eighths, 8)
    if not rest:
        return f"{whole} yd"
    step = gcd(rest, 8)
    part = f"{rest // step}/{8 // step} yd"
    return f"{whole} {part}" if whole else part


def _ways(content: Content) -> str:
    return "rows" if content.effort is None else "rows or closer where that saves cloth"


def _needs(content: Content, made: MadeSize, tries: Tries) -> dict[str | None, Need]:
    shapes = cloth_shapes(made.block, content.allowance)
    return needs(made.block, shapes, content.cloth_width, content.grain_deg, content.blocks, tries)


def _length(mm: float) -> str:
    return f"{mm / MM_PER_INCH:.1f} in ({mm / 10.0:.1f} cm)"
