"""What a maker may decide about how a drawing is read; the defaults suit nearly every drawing."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Lines(Enum):
    """What to do with lines that are drawn as filled shapes (an outlined stroke, a traced picture).

    CENTRE takes thin filled shapes for lines, AS_DRAWN for pieces; AUTO decides, and says so.
    """

    CENTRE = "centre"
    AS_DRAWN = "as-drawn"
    AUTO = "auto"


class Unfilled(Enum):
    """What a face without a fill is, in a drawing that has fills.

    AUTO: a piece if a drawn line runs along its outer boundary, because somebody outlined it; else a hole.
    """

    PIECE = "piece"
    HOLE = "hole"
    AUTO = "auto"


@dataclass(frozen=True, slots=True)
class Choices:
    """All of them. `keep_background`: a white sheet under everything is a piece as well."""

    lines: Lines = Lines.AUTO
    unfilled: Unfilled = Unfilled.AUTO
    keep_background: bool = False
