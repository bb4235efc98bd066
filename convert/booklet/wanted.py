"""What is asked of a booklet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from convert.booklet.yardage import USUAL_WIDTH
from convert.colourways import NO_PALETTE
from convert.cutting.marks import MarkChoices
from convert.cutting.parts import CutChoices

if TYPE_CHECKING:
    from convert.colourways import Palette
    from convert.cutting.effort import Effort
    from convert.cutting.sheet import Facing

PAPERS_ALONE = CutChoices()
ALL_MARKS = MarkChoices()


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked of a booklet.

    `paper` is one of `paper.SIZES`; a `safe` layout is the same on all of them. `title` is the drawing's
    name when empty. `facing` is the side that sheets show, None for the usual one of each product.
    `cloth_width` is the usable width of the cloth (mm), `blocks` how many blocks it is for. Template sheets
    are laid in rows, or with an `effort` as close as they go.
    """

    paper: str = "letter"
    safe: bool = False
    title: str = ""
    author: str = ""
    palette: Palette = NO_PALETTE
    cloth_width: float = USUAL_WIDTH
    blocks: int = 1
    facing: Facing | None = None
    cut: CutChoices = PAPERS_ALONE
    marks: MarkChoices = ALL_MARKS
    effort: Effort | None = None
