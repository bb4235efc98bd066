"""The block as it was drawn, whole, with every seam cut once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from convert.cutting.kerf import shared_cut_loss, strokes_for_kerf
from convert.cutting.labels import Blank, Inscriber, unlabelled
from convert.cutting.legend import legend, side, strip_height, title, which_sheet
from convert.cutting.marks import MarkChoices, piece_marks
from convert.cutting.parts import CutChoices
from convert.cutting.products import make_parts
from convert.cutting.seams import seam_chains
from convert.cutting.sheet import Arrangement, Copy, Facing, Product, Purpose, Sheet, Stroke
from convert.errors import Finding, Severity
from convert.geometry.edit import merge_smooth
from convert.geometry.measure import area
from convert.geometry.similarity import Similarity
from convert.geometry.tolerance import Tolerances
from convert.units import format_mm

if TYPE_CHECKING:
    from convert.block.model import Block
    from convert.profile import Profile


def assembled_sheet(
    block: Block,
    profile: Profile,
    facing: Facing = Facing.FRONT,
    *,
    size: str = "as-drawn",
    marks: MarkChoices | None = None,
) -> Sheet:
    """Return one sheet with the whole block in its middle: words and marks, then seams, then the outside.

    `marks` are drawn in every piece, all of them if None.

    A kerf moves the outside alone: neighbours share the other cuts (CUT-017 says what that costs).

    A block that fits only lying on its side is turned by a quarter. One larger than the profile's
    usable area gets a sheet of its own size, with a finding that says so (CUT-002): as a picture it
    is still of use.
    """
    margins, strip = profile.margins, strip_height(profile.margins)
    # The outermost cut lies half a kerf outside the block on every side.
    across = margins.left + margins.right + profile.kerf
    along = margins.bottom + margins.top + strip + profile.kerf
    turned = _fits_turned(block, profile.width - across, profile.height - along)
    wide, high = (block.height, block.width) if turned else (block.width, block.height)
    width, height = max(profile.width, wide + across), max(profile.height, high + along)
    findings: list[Finding] = []
    if width > profile.width or height > profile.height:
        usable = f"{format_mm(profile.width - across)} x {format_mm(profile.height - along)}"
        findings.append(
            Finding(
                "CUT-002",
                Severity.WARNING,
                f"the whole block of {format_mm(block.width)} x {format_mm(block.height)} is larger than the "
                f"{usable} that profile {profile.name} can cut",
                "Cut the separate pieces, or use a profile with a larger sheet",
                value=max(block.width, block.height),
            )
        )
    to_sheet = Similarity.shift(
        0.5 * (width - across - wide + profile.kerf) + margins.left,
        0.5 * (height - along - high + profile.kerf) + margins.bottom,
    )
    if turned:
        quarter = Similarity(0.0, 1.0, block.height, 0.0)  # exact, so that rounding doesn't bend right angles
        to_sheet = to_sheet.after(quarter)
    if facing is Facing.BACK:
        to_sheet = to_sheet.after(Similarity.shift(block.width, 0.0).after(Similarity.mirror_x()))
    shown = Facing.EITHER if block.own_mirror else facing

    tolerance = Tolerances.for_extent(max(block.width, block.height)).same_point
    strokes = [Stroke(to_sheet.chain(chain), Purpose.SEAM) for chain in seam_chains(block.map, tolerance)]
    rings = [merge_smooth(ring, tolerance) for ring in block.outside]
    for purpose, is_outer in ((Purpose.INNER, False), (Purpose.OUTER, True)):
        strokes += [
            Stroke(to_sheet.outline(ring), purpose) for ring in rings if (area(ring) > 0.0) == is_outer
        ]
    strokes = list(strokes_for_kerf(strokes, profile.kerf, ["the block"] * len(strokes)))
    if profile.kerf > 0.0 and len(block.pieces) > 1:
        findings.append(shared_cut_loss(profile.kerf))

    copies = [
        Copy(piece.label, piece.template, piece.reversed, to_sheet, number)
        for number, piece in enumerate(block.pieces)
    ]
    own = piece_marks(block, marks or MarkChoices())
    inscriber = Inscriber(block, make_parts(block, Product.FINISHED, CutChoices()).parts, own)
    inside, missing = inscriber.write(
        [
            Blank(piece.template, number, number, to_sheet.after(piece.placement), ((piece.label,),))
            for number, piece in enumerate(block.pieces)
        ]
    )
    seen = side(Product.FINISHED, shown) + (", turned by a quarter" if turned else "")
    lines = title(block, size, "whole block, no seam allowance", seen, which_sheet(1, 1))
    extra = legend(width, height, margins, lines)
    return Sheet(
        name="assembled",
        title=". ".join(lines),
        width=width,
        height=height,
        arrangement=Arrangement.ASSEMBLED,
        facing=shown,
        number=1,
        of=1,
        blocks=1,
        copies=tuple(copies),
        strokes=(*extra.strokes, *inside, *strokes),
        letterings=extra.letterings,
        findings=(*findings, *unlabelled(missing), *extra.findings),
    )


def _fits_turned(block: Block, width: float, height: float) -> bool:
    """Tell whether the block fits `width` by `height` mm only when turned by a quarter."""
    upright = block.width <= width and block.height <= height
    return not upright and block.height <= width and block.width <= height
