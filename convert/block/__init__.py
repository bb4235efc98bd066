"""The normaliser: from a Drawing to a Block of labelled pieces that meet edge to edge."""

from __future__ import annotations

from typing import TYPE_CHECKING

from convert.errors import DrawingError, Finding, Severity
from convert.geometry.tolerance import Tolerances

if TYPE_CHECKING:
    from convert.block.check import Advice
    from convert.block.model import Block
    from convert.reader.drawing import Drawing

__all__ = ["make_block"]


def make_block(drawing: Drawing, tolerances: Tolerances | None = None, advice: Advice | None = None) -> Block:
    """Return the block that a drawing shows, at the size at which it is drawn.

    *Errors*: DrawingError when nothing in the drawing closes, or when the arrangement found an
    error; it carries everything that was found, remarks included.
    """
    # Imported here, so that whoever needs the model only does not pay for the whole normaliser.
    from convert.block.arrange import arrange
    from convert.block.assemble import assemble

    used = tolerances or Tolerances.for_extent(_extent(drawing))
    arranged = arrange(drawing, used)
    found = (*arranged.repairs, *arranged.warnings)
    if any(f.severity is Severity.ERROR for f in found):
        raise DrawingError(*found)
    if arranged.map.face_count == 0:
        nothing = Finding(
            "BLOCK-064",
            Severity.ERROR,
            "no closed piece was found in the drawing",
            "Draw lines that meet, or closed filled shapes",
        )
        raise DrawingError(*found, nothing)
    return assemble(
        arranged.map,
        used,
        name=drawing.name,
        fabrics=arranged.fabric,
        names=arranged.name,
        page_height=drawing.page[1],
        repairs=arranged.repairs,
        remarks=arranged.warnings,
        advice=advice,
    )


def _extent(drawing: Drawing) -> float:
    """Return the longer side of the linework's box, by its vertices, in mm; 0 without linework."""
    table = drawing.segments
    if not len(table):
        return 0.0
    low = [min(table.start[:, k].min(), table.end[:, k].min()) for k in (0, 1)]
    high = [max(table.start[:, k].max(), table.end[:, k].max()) for k in (0, 1)]
    return float(max(high[0] - low[0], high[1] - low[1]))
