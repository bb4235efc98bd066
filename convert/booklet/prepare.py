"""From blocks to a booklet's content: template sheets laid out for its paper, and everything to be told."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from convert.booklet.content import Content, MadeSize
from convert.booklet.paper import frame
from convert.booklet.templates import sheet_profile
from convert.booklet.yardage import USUAL_WIDTH
from convert.colourways import NO_PALETTE, colourways_of, fabrics_of
from convert.cutting.marks import MarkChoices
from convert.cutting.parts import CutChoices
from convert.cutting.rows import piece_sheets, sheet_yield
from convert.cutting.sheet import Product
from convert.errors import Finding, OutputError, Severity
from convert.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.block.model import Block
    from convert.booklet.model import Typeface
    from convert.booklet.paper import Frame
    from convert.colourways import Palette
    from convert.cutting.sheet import Facing, Sheet

USUAL_ALLOWANCE = MM_PER_INCH / 4.0
"""The cloth beyond the seam line when nobody says otherwise (common practice)."""
UPRIGHT = 90.0
PAPERS_ALONE = CutChoices()
ALL_MARKS = MarkChoices()


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked of a booklet.

    `paper` is one of `paper.SIZES`; a `safe` layout is the same on all of them. `title` is the drawing's
    name when empty. `facing` is the side that sheets show, None for the usual one of each product.
    `cloth_width` is the usable width of the cloth (mm), `blocks` how many blocks it is for.
    """

    paper: str = "letter"
    safe: bool = False
    title: str = ""
    author: str = ""
    palette: Palette = NO_PALETTE
    cloth_width: float = USUAL_WIDTH
    blocks: int = 1
    facing: Facing | None = None
    cut: CutChoices = PAPERS_ALONE
    marks: MarkChoices = ALL_MARKS


def prepare(
    block: Block,
    sizes: Sequence[tuple[str, Block]],
    wanted: Wanted,
    cautions: Sequence[tuple[str, str]],
    typeface: Typeface,
) -> tuple[Content, tuple[Finding, ...]]:
    """Return a booklet's content, and what a maker should know of its sheets.

    `block` is the block as drawn, `sizes` its finished sizes with their names.
    *Errors*: ProfileError when the palette names a cloth that the block hasn't got.
    """
    page = frame(wanted.paper, safe=wanted.safe)
    made, findings = [], []
    for name, sized in sizes:
        sheets, found = _sheets(sized, name, page, wanted)
        findings += found
        made.append(MadeSize(name, sized, sheets, sized.warnings))
    content = Content(
        title=wanted.title or _title(block.name),
        author=wanted.author,
        frame=page,
        typeface=typeface,
        sizes=tuple(made),
        fabrics=fabrics_of(block, wanted.palette),
        colourways=colourways_of(block, wanted.palette),
        cautions=tuple(cautions),
        allowance=wanted.cut.allowance_mm or USUAL_ALLOWANCE,
        cloth_width=wanted.cloth_width,
        grain_deg=UPRIGHT if wanted.cut.grain_deg is None else wanted.cut.grain_deg,
        blocks=wanted.blocks,
        seam_numbers=wanted.marks.seam_numbers,
    )
    return content, tuple(dict.fromkeys(findings))


def _sheets(
    block: Block, size: str, page: Frame, wanted: Wanted
) -> tuple[tuple[tuple[Sheet, ...], ...], list[Finding]]:
    """Return the sheets of one size, product after product; those too large for the paper are left out."""
    profile = sheet_profile(page)
    groups: list[tuple[Sheet, ...]] = []
    findings: list[Finding] = []
    for product in wanted.cut.products:
        try:
            whole = 1
            if product is Product.FINISHED:
                whole = max(sheet_yield(block, profile, wanted.cut).blocks_per_sheet, 1)
            group = piece_sheets(
                block,
                profile,
                wanted.facing,
                size=size,
                blocks=whole,
                product=product,
                choices=wanted.cut,
                marks=wanted.marks,
            )
        except OutputError as error:
            findings += [_left_out(size, finding) for finding in error.findings]
            continue
        groups.append(group)
        findings += [finding for sheet in group for finding in sheet.findings]
    return tuple(groups), findings


def _left_out(size: str, finding: Finding) -> Finding:
    """Return what is told when a size's shapes don't fit the booklet's pages."""
    return Finding(
        "CUT-041",
        Severity.WARNING,
        f"size {size}: {finding.what}, so the booklet has no sheets of these shapes",
        "Take them from the SVG or DXF files, ask for a smaller size, or split the piece with a seam",
        value=finding.value,
    )


def _title(name: str) -> str:
    """Return a drawing's name as a title: `river-stones` becomes `River stones`."""
    words = " ".join(name.replace("-", " ").replace("_", " ").split())
    return words[:1].upper() + words[1:] or name
