"""Check squares and the long bar, by which a print's scale is measured in both directions."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

from convert.booklet.leaf import FINE, GREY, INK, SMALL, box, line
from convert.booklet.model import Anchor
from convert.units import MM_PER_INCH

if TYPE_CHECKING:
    from convert.booklet.leaf import Leaf

FIVE_CM = 50.0
INCH = MM_PER_INCH
BAR = 150.0
TICK = 1.6
"""Half the length of a bar's end marks, mm."""


def squares(leaf: Leaf, left: float, bottom: float) -> None:
    """Draw the 5 cm square with the 1 in square in its lower left corner: they share that corner."""
    leaf.shape(box(left, bottom, FIVE_CM, FIVE_CM), width=FINE)
    leaf.shape(box(left, bottom, INCH, INCH), width=FINE)
    leaf.words("1 in", left + 0.5 * INCH, bottom + 0.5 * INCH - 1.0, SMALL, colour=GREY, anchor=Anchor.MIDDLE)
    leaf.words(
        "5 cm",
        left + 0.5 * FIVE_CM,
        bottom + 0.5 * (FIVE_CM + INCH) - 1.0,
        SMALL,
        colour=GREY,
        anchor=Anchor.MIDDLE,
    )


def bar(leaf: Leaf, x: float, bottom: float) -> None:
    """Draw the long bar upright: 150 mm between the outer edges of its two end marks' middles."""
    top = bottom + BAR
    leaf.shape(
        line((x - TICK, bottom), (x + TICK, bottom)),
        line((x, bottom), (x, top)),
        line((x - TICK, top), (x + TICK, top)),
        stroke=INK,
        width=FINE,
    )
    leaf.words(
        "150 mm", x - 1.0, bottom + 0.5 * BAR, SMALL, colour=GREY, anchor=Anchor.MIDDLE, angle_rad=0.5 * pi
    )
