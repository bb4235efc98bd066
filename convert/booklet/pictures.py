"""Pictures of a block and of its shapes, at any size, from the front or from the back."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from convert.booklet.leaf import FINE, INK
from convert.booklet.model import Shape
from convert.geometry.chain import Segments
from convert.geometry.measure import box
from convert.geometry.similarity import Similarity

if TYPE_CHECKING:
    from collections.abc import Mapping

    from convert.block.model import Block, Template
    from convert.geometry.chain import Chain

UNKNOWN = "#e9e9e9"
"""The colour of a piece whose cloth the drawing does not show."""
SEAM = "#3a3a3a"


def place(block: Block, left: float, bottom: float, scale: float, *, back: bool = False) -> Similarity:
    """Return the map that lays a block's lower left corner at (left, bottom), seen from the back if so."""
    lay = Similarity.shift(left, bottom).after(Similarity.turn(0.0, scale))
    if not back:
        return lay
    return lay.after(Similarity.shift(block.width, 0.0).after(Similarity.mirror_x()))


def fitted(
    block: Block, centre: tuple[float, float], width: float, height: float
) -> tuple[float, float, float]:
    """Return left, bottom and scale by which a block fills a box about `centre` without leaving it."""
    scale = min(width / block.width, height / block.height)
    return centre[0] - 0.5 * scale * block.width, centre[1] - 0.5 * scale * block.height, scale


def coloured(
    block: Block, lay: Similarity, colours: Mapping[str | None, str], seam_width: float = FINE
) -> list[Shape]:
    """Return the pieces in their colours; a piece whose cloth is not in `colours` is pale grey."""
    shapes = []
    for piece in block.pieces:
        chains = tuple(lay.chain(chain) for chain in (piece.outline, *piece.holes))
        shapes.append(Shape(chains, SEAM, seam_width, colours.get(piece.fabric, UNKNOWN)))
    return shapes


def outlines(block: Block, lay: Similarity, colour: str = INK, width: float = FINE) -> list[Shape]:
    """Return every seam and the outside, each drawn once, as lines only."""
    planar = block.map
    table = Segments(planar.points[planar.start], planar.points[planar.end], planar.bulge)
    return [Shape(tuple(_chains(lay.segments(table))), colour, width)]


def _chains(table: Segments) -> list[Chain]:
    from convert.geometry.chain import Chain

    ends = np.stack((table.start, table.end), axis=1)
    return [Chain(points, np.array([b]), closed=False) for points, b in zip(ends, table.bulge, strict=True)]


def silhouette(
    block: Block, lay: Similarity, fill: str | None, stroke: str | None, width: float = FINE
) -> Shape:
    """Return the outside of the block."""
    return Shape(tuple(lay.chain(chain) for chain in block.outside), stroke, width, fill)


def small_shape(
    template: Template, centre: tuple[float, float], size: float, *, is_reversed: bool, fill: str | None
) -> Shape:
    """Return a template as it is in the block, or flipped left to right, `size` mm wide or high."""
    left, low, right, high = box(template.outline).tolist()
    scale = size / max(right - left, high - low)
    turn = Similarity.turn(0.0, scale)
    if is_reversed:
        turn = turn.after(Similarity.mirror_x())
    x, y = turn.point(0.5 * (left + right), 0.5 * (low + high))
    lay = Similarity.shift(centre[0] - x, centre[1] - y).after(turn)
    chains = tuple(lay.chain(chain) for chain in (template.outline, *template.holes))
    return Shape(chains, INK, FINE, fill)
