"""The normaliser: from a Drawing to a Block of labelled pieces that meet edge to edge."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.block.choices import Choices, Lines, Unfilled
from convert.errors import DrawingError, Finding, Severity
from convert.geometry.tolerance import Tolerances

if TYPE_CHECKING:
    from convert.block.check import Advice
    from convert.block.model import Block
    from convert.reader.drawing import Drawing

__all__ = ["Choices", "Lines", "Unfilled", "make_block", "usual_tolerances"]

DIRECTIONS = 180
"""Directions in which the outermost points of a drawing are looked for."""


AS_USUAL = Choices()

SEVERITIES = tuple(reversed(Severity))
"""The worst first."""


def make_block(
    drawing: Drawing,
    tolerances: Tolerances | None = None,
    advice: Advice | None = None,
    choices: Choices = AS_USUAL,
) -> Block:
    """Return the block that a drawing shows, at the size at which it is drawn.

    *Errors*: DrawingError when nothing in the drawing closes, or when the arrangement found an
    error; it carries everything that was found, errors first, then warnings, then notes.
    """
    # Imported here, so that whoever needs the model only does not pay for the whole normaliser.
    from convert.block.arrange import arrange
    from convert.block.assemble import assemble
    from convert.block.background import without_background
    from convert.block.traced import with_lines

    seen, said = without_background(drawing, keep=choices.keep_background)
    used = tolerances or usual_tolerances(seen)
    seen, told, used = with_lines(seen, used, choices.lines)
    arranged = arrange(seen, used, choices.unfilled)
    remarks = (*said, *told, *arranged.warnings)
    found = sorted((*arranged.repairs, *remarks), key=lambda f: SEVERITIES.index(f.severity))
    if any(f.severity is Severity.ERROR for f in found):
        raise DrawingError(*found)
    if arranged.map.face_count == 0:
        nothing = Finding(
            "BLOCK-064",
            Severity.ERROR,
            "no closed piece was found in the drawing",
            "Draw lines that meet, or closed filled shapes",
        )
        raise DrawingError(nothing, *found)
    return assemble(
        arranged.map,
        used,
        name=drawing.name,
        fabrics=arranged.fabric,
        names=arranged.name,
        fabric_names=arranged.fabric_name,
        page_height=drawing.page[1],
        repairs=arranged.repairs,
        remarks=remarks,
        advice=advice,
    )


def usual_tolerances(drawing: Drawing) -> Tolerances:
    """Return the tolerances that a drawing of this size has unless somebody asks for others."""
    return Tolerances.for_extent(_extent(drawing))


def _extent(drawing: Drawing) -> float:
    """Return the size of the linework in mm: its diameter by the vertices, divided by the root of 2.

    That is the side of a square block. Unlike the side of the bounding box it does not change when the
    drawing is turned, and tolerances made from it decide the same then.
    """
    points = np.concatenate((drawing.segments.start, drawing.segments.end))
    if not len(points):
        return 0.0
    # The two points farthest apart are extreme in the direction of their difference.
    angle = np.arange(DIRECTIONS) * (np.pi / DIRECTIONS)
    ends: set[int] = set()
    for way in np.stack((np.cos(angle), np.sin(angle)), axis=1):
        along = points @ way
        ends |= {int(along.argmin()), int(along.argmax())}
    extreme = points[sorted(ends)]
    apart = np.hypot(*(extreme[:, None] - extreme[None]).transpose(2, 0, 1))
    return float(apart.max() / np.sqrt(2))
