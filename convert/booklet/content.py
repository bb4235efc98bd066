"""What a booklet is made of, before any page is set."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from convert.units import format_inches, format_mm

if TYPE_CHECKING:
    from convert.block.model import Block
    from convert.booklet.model import Typeface
    from convert.booklet.paper import Frame
    from convert.colourways import Colourway, Fabric
    from convert.cutting.effort import Effort
    from convert.cutting.sheet import Sheet
    from convert.errors import Finding


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """Sheets of one product (papers, or cloth shapes), which together make whole blocks.

    `squares` are the lower left corners of their check squares, `gap` is how far shapes keep apart, mm; where
    it is 0, neighbours share lines.
    """

    sheets: tuple[Sheet, ...]
    squares: tuple[tuple[float, float], ...]
    gap: float


@dataclass(frozen=True, slots=True, eq=False)
class MadeSize:
    """One finished size: its name, the block at it, its sheets of templates, and what to look out for."""

    name: str
    block: Block
    groups: tuple[Group, ...]
    warnings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Content:
    """Everything that the pages tell. Lengths in mm.

    `blocks` is how many blocks are made: the cloth and the prints are for so many; `fabrics` are in order of
    their names; `cautions` are paragraphs, each a heading and a text; `seam_numbers` says whether papers have
    them; `effort` is how hard to look for close layouts of cloth.
    """

    title: str
    author: str
    frame: Frame
    typeface: Typeface
    sizes: tuple[MadeSize, ...]
    fabrics: tuple[Fabric, ...]
    colourways: tuple[Colourway, ...]
    cautions: tuple[tuple[str, str], ...]
    allowance: float
    cloth_width: float
    grain_deg: float
    blocks: int
    seam_numbers: bool = True
    effort: Effort | None = None


def inches(width: float, height: float) -> str:
    """Return a width and a height (mm) in inches: `6 × 5.196 in`."""
    return f"{format_inches(width).removesuffix(' in')} × {format_inches(height)}"


def centimetres(width: float, height: float, digits: int = 2) -> str:
    """Return a width and a height (mm) in centimetres: `15.24 × 13.2 cm`."""
    return f"{_cm(width, digits)} × {_cm(height, digits)} cm"


def one_length(mm: float) -> str:
    """Return a length both ways: `6 in (15.24 cm)`, `1/4 in (6.35 mm)`."""
    return f"{format_inches(mm)} ({format_mm(mm, digits=2) if mm < 25.0 else _cm(mm, 2) + ' cm'})"


def _cm(mm: float, digits: int) -> str:
    text = f"{mm / 10.0:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def counted(number: int, one: str, many: str = "") -> str:
    """Return a number and a word: `1 piece`, `2 pieces`."""
    return f"{number} {one if number == 1 else many or one + 's'}"
