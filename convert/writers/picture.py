"""Pictures of a block in given colours, as SVG to look at: nothing in them is for cutting.

*Source*: SVG 2, 9.3 (path data); 11.4 (stroke properties).
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

import numpy as np

from convert.writers.numbers import fixed
from convert.writers.svg import path_data

if TYPE_CHECKING:
    from collections.abc import Mapping

    from convert.block.model import Block
    from convert.geometry.chain import Chain

WIDE = 600.0
"""Width of a picture, or its height if that is more, in CSS pixels."""
DIGITS = 3
UNKNOWN = "#e9e9e9"
SEAM = "#3a3a3a"
SEAM_SHARE = 0.0015
"""Width of seams as a share of the block's larger side."""


def picture_bytes(block: Block, title: str, colours: Mapping[str | None, str]) -> bytes:
    """Return a picture of the block's front, each piece in the colour that `colours` has for its own."""
    scale = WIDE / max(block.width, block.height)
    width, height = scale * block.width, scale * block.height
    edge = SEAM_SHARE * WIDE
    groups: dict[str, list[str]] = {}
    for piece in block.pieces:
        data = " ".join(_data(chain, scale, height) for chain in (piece.outline, *piece.holes))
        groups.setdefault(colours.get(piece.fabric, UNKNOWN), []).append(
            f'    <path id="{escape(piece.label)}" d="{data}"/>'
        )
    corner = fixed(-edge, DIGITS)
    size = (fixed(width + 2.0 * edge, DIGITS), fixed(height + 2.0 * edge, DIGITS))
    box = f"{corner} {corner} {size[0]} {size[1]}"
    seams = f'stroke="{SEAM}" stroke-width="{fixed(edge, DIGITS)}" stroke-linejoin="round"'
    frame = f'width="{size[0]}" height="{size[1]}" viewBox="{box}"'
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" {frame}>',
        f"  <title>{escape(title)}</title>",
        f'  <g {seams} fill-rule="evenodd">',
    ]
    for colour, paths in groups.items():
        lines += [f'  <g fill="{colour}">', *paths, "  </g>"]
    return ("\n".join([*lines, "  </g>", "</svg>"]) + "\n").encode()


def _data(chain: Chain, scale: float, height: float) -> str:
    points = np.column_stack((scale * chain.points[:, 0], height - scale * chain.points[:, 1]))
    return path_data(points, chain, DIGITS)
