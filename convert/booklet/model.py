"""The booklet as values: what stands where on each page. Nothing in here knows how a page is written.

*Units*: places and widths in mm, y up, from the page's lower left corner; sizes of letters in points
(1/72 in), because that is how people name them; angles in radians.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING, Protocol

from convert.units import MM_PER_INCH

if TYPE_CHECKING:
    from convert.block.model import Block
    from convert.cutting.sheet import Sheet
    from convert.geometry.chain import Chain

MM_PER_POINT = MM_PER_INCH / 72.0
SMALLEST_POINTS = 7.0
"""Nothing on a page is set smaller."""


class Anchor(Enum):
    """Which part of a line of words stands at its place."""

    LEFT = "left"
    MIDDLE = "middle"
    RIGHT = "right"


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """Chains drawn as one path: filled first (holes stay free), then stroked `width` mm wide.

    Colours are `#rrggbb`; None draws nothing. `dash` are lengths on and off, mm.
    """

    chains: tuple[Chain, ...]
    stroke: str | None = None
    width: float = 0.25
    fill: str | None = None
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Words:
    """One line of words whose base line begins, is centred or ends at `at`, turned by `angle_rad`."""

    text: str
    at: tuple[float, float]
    size: float
    bold: bool = False
    colour: str = "#000000"
    anchor: Anchor = Anchor.LEFT
    angle_rad: float = 0.0


Mark = Shape | Words


@dataclass(frozen=True, slots=True)
class Bookmark:
    """An entry in the table of contents; deeper `level`s stand under the last higher one."""

    text: str
    level: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Page:
    """One page. `marks` are drawn in order.

    `sheet` is the sheet of templates that the page shows at its own coordinates, if it does, `block`
    the block at its `size`; its cuts are the strokes in CUT_COLOUR and CUT_WIDTH, in its order, and keep
    `gap` mm apart.
    """

    width: float
    height: float
    marks: tuple[Mark, ...]
    bookmarks: tuple[Bookmark, ...] = ()
    sheet: Sheet | None = None
    block: Block | None = None
    size: str = ""
    gap: float = 0.0


CUT_COLOUR = "#000000"
CUT_WIDTH = 0.25
"""How cuts are drawn, and nothing else on a page of templates. *Source*: a line width of ISO 128."""


@dataclass(frozen=True, slots=True, eq=False)
class Booklet:
    """All pages of one booklet, and what its file says about itself."""

    title: str
    author: str
    subject: str
    pages: tuple[Page, ...]


class Typeface(Protocol):
    """What must be known about letters to set a page."""

    def width(self, text: str, size: float, *, bold: bool = False) -> float:
        """Return how wide a line of words is, mm."""
        ...

    def printable(self, text: str) -> str:
        """Return `text` with what the letters lack replaced by what they have."""
        ...

    def lacking(self, text: str) -> str:
        """Return the letters of `text` for which there is nothing but a question mark, each once."""
        ...
