"""The block at another finished size, and the measure by which sizes are asked for.

A uniform scale keeps lines lines and arcs arcs, so a size is one multiplication; shapes, labels and
everything else that does not depend on the size stays the same object.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from convert.block.check import check
from convert.errors import UsageError
from convert.geometry.chain import Chain
from convert.geometry.measure import lengths

if TYPE_CHECKING:
    from convert.block.check import Advice
    from convert.block.model import Block, Piece, Template

Measure = Literal["width", "height", "edge"]


def scaled(block: Block, factor: float, advice: Advice | None = None) -> Block:
    """Return the block with every length times `factor`, and with the warnings for that size.

    *Errors*: UsageError when the factor is not a positive finite number.
    """
    if not (np.isfinite(factor) and factor > 0):
        raise UsageError.because(
            "BLOCK-065", f"a block can't be scaled by {factor!r}", "Ask for a length above zero"
        )
    larger = replace(
        block,
        map=replace(block.map, points=block.map.points * factor),
        pieces=tuple(_piece(p, factor) for p in block.pieces),
        templates=tuple(_template(t, factor) for t in block.templates),
        outside=_chains(block.outside, factor),
        width=block.width * factor,
        height=block.height * factor,
        scale=block.scale * factor,
    )
    return replace(larger, warnings=block.remarks + check(larger, advice))


def _chains(chains: tuple[Chain, ...], factor: float) -> tuple[Chain, ...]:
    return tuple(Chain(c.points * factor, c.bulge, c.closed) for c in chains)


def _piece(piece: Piece, factor: float) -> Piece:
    # Vertices are multiplied by the same number as the map's, so neighbours go on sharing bits.
    placement = replace(piece.placement, dx=piece.placement.dx * factor, dy=piece.placement.dy * factor)
    return replace(
        piece,
        placement=placement,
        misfit=piece.misfit * factor,
        outline=_chains((piece.outline,), factor)[0],
        holes=_chains(piece.holes, factor),
        at=(piece.at[0] * factor, piece.at[1] * factor),
        area=piece.area * factor * factor,
    )


def _template(template: Template, factor: float) -> Template:
    return replace(
        template,
        outline=_chains((template.outline,), factor)[0],
        holes=_chains(template.holes, factor),
        area=template.area * factor * factor,
        perimeter=template.perimeter * factor,
        at=(template.at[0] * factor, template.at[1] * factor),
        clearance=template.clearance * factor,
    )


def measure_of(block: Block, measure: Measure, template: str | None = None) -> float:
    """Return the length, in mm, by which sizes are asked for.

    `edge` is the longest straight edge of all templates or, as the trade names its shapes, of the
    template with the label `template`.
    *Errors*: UsageError when there is no such template, or it has no straight edge.
    """
    if measure == "width":
        return block.width
    if measure == "height":
        return block.height
    chosen = [t for t in block.templates if template is None or t.label == template]
    if not chosen:
        known = ", ".join(t.label for t in block.templates)
        what = f"there is no template {template!r}"
        raise UsageError.because("BLOCK-066", what, f"The templates are {known}")
    straight = [lengths(t.outline.segments)[t.outline.bulge == 0] for t in chosen]
    longest = max((float(s.max()) for s in straight if len(s)), default=0.0)
    if longest == 0.0:
        who = "no template" if template is None else f"template {template} has no edge that"
        what = f"{who} has a straight edge" if template is None else f"{who} is straight"
        raise UsageError.because("BLOCK-067", what, "Measure the block by its width or height")
    return longest
