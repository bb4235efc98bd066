"""From the text of a drawing to the block, by the public doors of the rooms."""

from __future__ import annotations

from typing import TYPE_CHECKING

from convert.block import make_block
from convert.reader import read_drawing

if TYPE_CHECKING:
    from pathlib import Path

    from convert.block.model import Block


def page(body: str, box: str, size: str = "") -> str:
    """Return a drawing with the viewBox `box` ("x y width height"), in inches unless `size` says else."""
    _, _, width, height = box.split()
    size = size or f'width="{width}in" height="{height}in"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="{box}">\n{body}\n</svg>\n'


def block_of(folder: Path, text: str, name: str = "drawing") -> Block:
    """Write `text` as a drawing into `folder` and return its block."""
    path = folder / f"{name}.svg"
    path.write_text(text, "utf-8")
    return make_block(read_drawing(path))


def polygon(points: list[complex]) -> str:
    """Return a polygon element with twelve decimals."""
    return f'<polygon points="{" ".join(f"{p.real:.12f},{p.imag:.12f}" for p in points)}"/>'
