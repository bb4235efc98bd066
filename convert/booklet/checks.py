"""Check squares and the long bar, by which a print's scale is measured in both directions."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

from convert.booklet.leaf import CAPITAL, FINE, GREY, INK, SMALL, box, line
from convert.booklet.model import MM_PER_POINT, SMALLEST_POINTS, Anchor
from convert.units import MM_PER_INCH

if TYPE_CHECKING:
    from convert.booklet.leaf import Leaf

FIVE_CM = 50.0
INCH = MM_PER_INCH
BAR = 150.0
TICK, SLIM_TICK = 1.6, 1.2
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


def bar(leaf: Leaf, x: float, bottom: float, *, slim: bool = False) -> None:
    """Draw the long bar upright: 150 mm between the middles of its two end marks.

    Its name stands left of it or, where it is to be `slim`, above it.
    """
    top, tick = bottom + BAR, SLIM_TICK if slim else TICK
    leaf.shape(
        line((x - tick, bottom), (x + tick, bottom)),
        line((x, bottom), (x, top)),
        line((x - tick, top), (x + tick, top)),
        stroke=INK,
        width=FINE,
    )
    size = SMALLEST_POINTS if slim else SMALL
    tall = CAPITAL * size * MM_PER_POINT
    at = (x + 0.5 * tall, top + 1.5) if slim else (x - 1.0, bottom + 0.5 * BAR)
    anchor = Anchor.LEFT if slim else Anchor.MIDDLE
    leaf.words("150 mm", *at, size, colour=GREY, anchor=anchor, angle_rad=0.5 * pi)
