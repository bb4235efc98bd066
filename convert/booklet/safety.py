"""Cautions, and how to print: the page that comes before the template sheets."""

from __future__ import annotations

from typing import TYPE_CHECKING

from convert.booklet.content import one_length
from convert.booklet.leaf import Flow
from convert.booklet.model import Bookmark
from convert.cutting.sheet import Facing

if TYPE_CHECKING:
    from convert.booklet.content import Content
    from convert.booklet.model import Page

PRINTING = (
    "Print the template sheets at actual size, 100 %, on card of about 160 to 220 g/m². Measure the "
    "squares and the 150 mm bar on every sheet before you cut: a printer may scale one page and not the "
    "next. Cut along the middle of the line."
)
SHARED = (
    " Where two papers share a line it is the edge of both: one cut makes both edges. Cut long lines right "
    "through first, then part what is left."
)
BACK = (
    "Papers lie printed side up on the wrong side of the cloth, so their sheets show the block from the "
    "back: the finished block is their mirror image. The labels can be read as you sew."
)
EITHER = "Papers lie printed side up on the wrong side of the cloth. Front and back of this block are alike."
FRONT = (
    "These papers show the block from the front. Lay them printed side down on the wrong side of the "
    "cloth, or the block comes out as its mirror image."
)


def safety(content: Content) -> list[Page]:
    """Return the page on printing and on what can hurt."""
    flow = Flow(content.frame, content.typeface, "Before you cut", content.title, Bookmark("Before you cut"))
    for heading, text in (
        ("Printing", PRINTING + (SHARED if _share_lines(content) else "")),
        ("Which side is which", _sides(content)),
        (
            "Seam allowance",
            (
                f"Papers have none: they are the finished size. Cloth is cut {one_length(content.allowance)} "
                "larger all round, at every size. Use one weight of card for a whole project."
            ),
        ),
        *_left_out(content),
        *content.cautions,
    ):
        flow.section(heading, keep=14.0)
        flow.paragraph(text)
        flow.space(5.0)
    return flow.pages()


def _share_lines(content: Content) -> bool:
    return any(group.gap == 0.0 for made in content.sizes for group in made.groups)


def _left_out(content: Content) -> list[tuple[str, str]]:
    """Return what is told of sizes that have no sheets here."""
    names = [made.name for made in content.sizes if not made.groups]
    if not names:
        return []
    size = "Size" if len(names) == 1 else "Sizes"
    verb = "has" if len(names) == 1 else "have"
    text = (
        f"{size} {' and '.join(names)} {verb} shapes that are larger than a page, so there are no template "
        "sheets here: take them from the cut files."
    )
    return [("Sheets that are not here", text)]


def _sides(content: Content) -> str:
    facings = {sheet.facing for made in content.sizes for group in made.groups for sheet in group.sheets[:1]}
    if Facing.BACK in facings:
        return BACK
    return EITHER if Facing.EITHER in facings else FRONT
