"""The piece key: the block from the front with every label, seam number and T-junction, and its back."""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING

import numpy as np

from convert.block.joins import corners_of, junctions_of
from convert.booklet.leaf import BODY, CAPITAL, FINE, GREY, INK, SMALL, Leaf
from convert.booklet.model import MM_PER_POINT, SMALLEST_POINTS, Anchor, Bookmark, Shape, Words
from convert.booklet.pictures import coloured, fitted, outlines, place
from convert.cutting.extras import circle
from convert.cutting.marks import SMOOTH, number_text
from convert.cutting.sewing import seams_of

if TYPE_CHECKING:
    from convert.block.model import Block, Piece
    from convert.booklet.content import Content
    from convert.booklet.model import Page
    from convert.geometry.similarity import Similarity

LARGEST = 13.0
SEAM_SIZE = SMALLEST_POINTS
SEAM_COLOUR = "#8a3b12"
"""Seam numbers are told from labels by colour, by slenderness and by lying on their seam."""
SHARES = (0.5, 0.38, 0.62, 0.26, 0.74)
"""Where along a seam its number is tried."""
BACK = 58.0
"""The picture of the back is at most so wide and high, mm."""
DOT = 1.7
PALE = 0.22
"""How much of its colour a piece keeps in the key, so that words on it are read easily."""


class Taken:
    """Circles in which something stands, found by the square of a coarse grid that they lie in."""

    STEP = 16.0
    """Side of a square, mm: more than two of the largest radii together."""

    def __init__(self) -> None:
        self._squares: dict[tuple[int, int], list[tuple[float, float, float]]] = {}

    def add(self, x: float, y: float, radius: float) -> None:
        """Take a circle."""
        square = (int(x // self.STEP), int(y // self.STEP))
        self._squares.setdefault(square, []).append((x, y, radius))

    def is_free(self, x: float, y: float, radius: float) -> bool:
        """Tell whether a circle meets none that is taken."""
        column, row = int(x // self.STEP), int(y // self.STEP)
        return all(
            hypot(x - a, y - b) > radius + r
            for i in (column - 1, column, column + 1)
            for j in (row - 1, row, row + 1)
            for a, b, r in self._squares.get((i, j), ())
        )


def pale(colour: str, share: float = PALE) -> str:
    """Return a colour mixed with white."""
    parts = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return "#" + "".join(f"{round(255 - share * (255 - part)):02x}" for part in parts)


def key(content: Content) -> list[Page]:
    """Return the page with the piece key."""
    frame = content.frame
    leaf = Leaf(frame, content.typeface)
    leaf.bookmarks.append(Bookmark("Piece key"))
    top = leaf.heading("Piece key", content.title)
    block = content.sizes[-1].block
    foot = frame.bottom + 9.0 + BACK
    room = top - foot - 8.0
    left, bottom, scale = fitted(
        block, (0.5 * (frame.left + frame.right), foot + 8.0 + 0.5 * room), frame.across, room
    )
    lay = place(block, left, bottom, scale)
    colours = {f.colour: pale(f.colour) for f in content.fabrics if f.colour is not None}
    leaf.marks += coloured(block, lay, {None: "#ffffff"} | colours, 0.25)
    taken = Taken()
    unlabelled = _labels(leaf, block, lay, scale, taken, LARGEST)
    unnumbered = _seams(leaf, block, lay, taken) if content.seam_numbers else []
    junctions = _junctions(leaf, block, lay)

    x, y = frame.left, frame.bottom + 9.0
    back_left, back_bottom, back_scale = fitted(
        block, (x + 0.5 * BACK, y + 0.5 * BACK - 1.0), BACK, BACK - 6.0
    )
    behind = place(block, back_left, back_bottom, back_scale, back=True)
    leaf.marks += outlines(block, behind, INK, FINE)
    _labels(leaf, block, behind, back_scale, Taken(), SMALLEST_POINTS)
    leaf.words(
        "The same from the back, as you see it while sewing; labels where there is room",
        x,
        y - 5.0,
        SMALL,
        colour=GREY,
    )
    start = x + BACK + 12.0
    y = y + BACK - 4.0
    leaf.words("Seen from the front", start, y, BODY, bold=True)
    y -= 7.0
    _sample(leaf, start, y, "A1", f"the label of a piece: shape A, the first of its kind; {_reversed(block)}")
    y -= 6.5
    if content.seam_numbers:
        _sample(leaf, start, y, "12", "the number of a seam, the same on both papers", seam=True)
        y -= 6.5
    if junctions:
        leaf.marks.append(_dot(start + 2.5, y + 1.1))
        leaf.words("a T: sew the seam that ends here before the one it ends on", start + 12.0, y, BODY)
        y -= 6.5
    missing = [
        f"no room for the {what} of {_some(names)}"
        for what, names in (("label", unlabelled), ("number", unnumbered))
        if names
    ]
    if missing:
        leaf.paragraph(
            "; ".join(missing).capitalize() + ".", start, y + 3.0, frame.right - start, SMALL, colour=GREY
        )
    return [leaf.page()]


def _reversed(block: Block) -> str:
    first = next((p.label for p in block.pieces if p.reversed), None)
    return f"{first} is cut reversed" if first else "none is reversed"


def _sample(leaf: Leaf, x: float, y: float, sign: str, text: str, *, seam: bool = False) -> None:
    colour, size = (SEAM_COLOUR, SEAM_SIZE) if seam else (INK, BODY)
    leaf.words(sign, x, y, size, bold=not seam, colour=colour)
    room = leaf.frame.right - x - 12.0
    leaf.words(text, x + 12.0, y, leaf.fitting(text, BODY, room, least=SMALLEST_POINTS))


def _some(names: list[str]) -> str:
    return ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")


def _labels(
    leaf: Leaf,
    block: Block,
    lay: Similarity,
    scale: float,
    taken: Taken,
    largest: float,
) -> list[str]:
    """Set the pieces' labels in the largest circles inside them; return those without room."""
    missing = []
    for piece in block.pieces:
        at, radius = _middle(block, piece)
        x, y = lay.point(*at)
        radius *= scale
        half = hypot(0.5 * leaf.wide(piece.label, 1.0, bold=True), 0.5 * CAPITAL * MM_PER_POINT)
        size = min(largest, 0.85 * radius / half)
        if size < SMALLEST_POINTS:
            missing.append(piece.label)
            continue
        leaf.words(
            piece.label, x, y - 0.5 * CAPITAL * size * MM_PER_POINT, size, bold=True, anchor=Anchor.MIDDLE
        )
        taken.add(x, y, half * size)
    return missing


def _middle(block: Block, piece: Piece) -> tuple[tuple[float, float], float]:
    """Return where a piece is widest and the radius of the largest circle that fits there."""
    template = block.templates[piece.template]
    return piece.placement.point(*template.at), template.clearance


def _seams(leaf: Leaf, block: Block, lay: Similarity, taken: Taken) -> list[str]:
    """Set the numbers of the seams on them; return those without room."""
    seams = seams_of(block)
    inner = np.flatnonzero(seams.number > 0)
    tried = [seams.places(inner, share * seams.length[inner])[0] for share in SHARES]
    ends = [lay.points(np.column_stack((z.real, z.imag))) for z in tried]
    vertices = lay.points(block.map.points)
    missing = []
    white, words = [], []
    for row, seam in enumerate(inner.tolist()):
        text = number_text(int(seams.number[seam]))
        half = 0.5 * leaf.wide(text, SEAM_SIZE)
        tall = 0.5 * CAPITAL * SEAM_SIZE * MM_PER_POINT
        radius = hypot(half, tall) + 0.3
        if lay.scale * seams.length[seam] < 2.0 * radius:
            missing.append(f"seam {seams.number[seam]}")
            continue
        for place_ in ends:
            x, y = place_[row].tolist()
            near = np.hypot(*(vertices - (x, y)).T).min() if len(vertices) else radius
            if near > radius and taken.is_free(x, y, radius):
                taken.add(x, y, radius)
                white.append(Shape((circle(x, y, 2.0 * radius),), None, FINE, "#ffffff"))
                words.append(Words(text, (x, y - tall), SEAM_SIZE, colour=SEAM_COLOUR, anchor=Anchor.MIDDLE))
                break
        else:
            missing.append(f"seam {seams.number[seam]}")
    leaf.marks += [*white, *words]
    return missing


def _junctions(leaf: Leaf, block: Block, lay: Similarity) -> int:
    """Mark the T-junctions; return how many there are."""
    found = junctions_of(block.map, corners_of(block.map), SMOOTH)
    for junction in found:
        leaf.marks.append(_dot(*lay.point(*block.map.points[junction.vertex].tolist())))
    return len(found)


def _dot(x: float, y: float) -> Shape:
    return Shape((circle(x, y, DOT),), "#ffffff", 0.25, SEAM_COLOUR)
