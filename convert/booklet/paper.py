"""Papers that a booklet is printed on, and the frame inside which everything stands."""

from __future__ import annotations

from dataclasses import dataclass

from convert.units import MM_PER_INCH


@dataclass(frozen=True, slots=True)
class Frame:
    """A page and the part of it that is used, mm. `name` is the paper's.

    On template pages words and the long bar may stand up to `beyond` mm outside that part.
    """

    name: str
    width: float
    height: float
    left: float
    right: float
    bottom: float
    top: float
    beyond: float = 0.0

    @property
    def across(self) -> float:
        """Width of the used part."""
        return self.right - self.left

    @property
    def up(self) -> float:
        """Height of the used part."""
        return self.top - self.bottom


SIZES = {"letter": (8.5 * MM_PER_INCH, 11.0 * MM_PER_INCH), "a4": (210.0, 297.0)}
"""*Source*: ANSI Y14.1 (A) and ISO 216."""
MARGIN = 10.0
"""Printers reach to 4 to 7 mm from the edge (from printers' manuals)."""
BEYOND = 3.5
"""Nothing is nearer to the edge of the paper than the margin less this, mm."""
SAFE = (190.0, 10.0 * MM_PER_INCH)
"""What lies inside the margins of both papers when it is centred on either."""


def frame(paper: str, *, safe: bool = False) -> Frame:
    """Return the frame of a paper of SIZES; a `safe` one is the same on all of them, centred."""
    width, height = SIZES[paper]
    across, up = SAFE if safe else (width - 2.0 * MARGIN, height - 2.0 * MARGIN)
    left, bottom = 0.5 * (width - across), 0.5 * (height - up)
    beyond = 0.0 if safe else BEYOND
    return Frame(paper, width, height, left, left + across, bottom, bottom + up, beyond)
