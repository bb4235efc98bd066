"""What a sheet says about itself: its title, which side it shows, and lengths to measure.

All of it is for the eye, on the layer that is never cut, and lies in the sheet's margins, because
the place inside them is for pieces. The check lengths are brackets 50 mm and 1 in wide at the
bottom and 50 mm high at the left: a file opened in the wrong unit, or stretched in one direction,
shows it there before anything is cut.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.labels import WIDER
from convert.cutting.letters import text_width
from convert.cutting.sheet import Facing, Lettering, Product, Purpose, Stroke
from convert.errors import Finding, Severity
from convert.geometry.chain import Chain
from convert.units import MM_PER_INCH, format_inches, format_mm

if TYPE_CHECKING:
    from convert.block.model import Block
    from convert.profile import Margins

BAND = 3.5
"""The least margin (mm) that can hold a line of words."""
TITLE, NAMES, TICK = 0.35, 0.25, 0.19
"""Shares of the margin: height of capitals in the title and at the check lengths, and half of these' ends."""
HIGHEST = 3.2
LEAST_HEIGHT = 1.3
"""Capitals are no higher and no lower than this, mm."""
SPACE = 4.0
"""Between things side by side, mm."""
BARS = ((50.0, "50 mm"), (MM_PER_INCH, "1 in"))
"""Check lengths, mm, and their names."""

SIDES = {
    Facing.BACK: "Seen from the back: lay it printed side up on the wrong side of the cloth",
    Facing.FRONT: "Seen from the front",
    Facing.EITHER: "Either side: the block is its own mirror image",
}

_OTHER_SIDES = {
    Facing.BACK: "Seen from the back: lay it on the wrong side of the cloth",
    Facing.FRONT: "Seen from the front: lay it on the right side of the cloth",
}


@dataclass(frozen=True, slots=True)
class Legend:
    """Strokes and words for one sheet."""

    strokes: tuple[Stroke, ...]
    letterings: tuple[Lettering, ...]
    findings: tuple[Finding, ...]


def strip_height(margins: Margins) -> float:
    """Return how much of the usable area's top the title needs, mm: nothing where a margin holds it."""
    return 0.0 if max(margins.top, margins.bottom) >= BAND else BAND


def contents(product: Product, allowance: float) -> str:
    """Return what the shapes of a product are, and whether the allowance (mm) is in them."""
    if product is Product.FINISHED:
        return "papers, no seam allowance"
    inches, metric = format_inches(allowance), format_mm(allowance)
    included = f"{metric} ({inches})" if "." in inches else f"{inches} ({metric})"
    if product is Product.CLOTH:
        return f"cloth shapes, includes {included} seam allowance"
    return f"window templates, opening finished size, outside includes {included} seam allowance"


def side(product: Product, facing: Facing, *, flips: bool = False) -> str:
    """Return which side the shapes of a product show; `flips`: some tools serve reversed pieces too."""
    words = SIDES[facing] if product is Product.FINISHED or facing is Facing.EITHER else _OTHER_SIDES[facing]
    return words + ("; flip a template over for reversed pieces" if flips else "")


def title(block: Block, size: str, what: str, seen: str, which: str) -> tuple[str, str]:
    """Return the two lines of a sheet's title.

    It says what is on it (`what`), which of the sheets it is (`which`), and the side it shows (`seen`).
    """
    inches = f"{format_inches(block.width).removesuffix(' in')} x {format_inches(block.height)}"
    metric = f"{format_mm(block.width).removesuffix(' mm')} x {format_mm(block.height)}"
    finished = f"{metric} ({inches})" if "." in inches else f"{inches} ({metric})"
    name = "".join(_printed(c) for c in block.name)
    return f"{name}, {size}: finished size {finished}, {what}, {which}", seen


def which_sheet(number: int, of: int, blocks: int | None = None) -> str:
    """Return which of how many sheets this is, and the blocks they make (None: tools make any number)."""
    if blocks is None:
        return f"sheet {number} of {of}"
    made = f"{blocks} block" + ("" if blocks == 1 else "s")
    return f"sheet 1 of 1 makes {made}" if of == 1 else f"sheet {number} of {of}, together {made}"


def _printed(char: str) -> str:
    """Return a character of a drawing's name as every format can hold it.

    DXF has no more than Unicode's basic plane, and takes a backslash for the start of a code.
    """
    if not char.isprintable():
        return " "
    return "?" if ord(char) > 0xFFFF else "/" if char == "\\" else char


def legend(width: float, height: float, margins: Margins, lines: tuple[str, str]) -> Legend:
    """Return title, side and check lengths for a sheet of `width` by `height` mm."""
    strokes: list[Stroke] = []
    words: list[Lettering] = []
    findings: list[Finding] = []
    left, right = margins.left, width - margins.right
    free = left  # where the bottom band's words may begin
    if margins.bottom >= BAND:
        for length, name in BARS:
            if free + length > right:
                break
            strokes.append(
                _bracket((free, 0.5 * margins.bottom), length, TICK * margins.bottom, upright=False)
            )
            words.append(_word(name, (free + 0.5 * length, 0.5 * margins.bottom), 0.0, margins.bottom))
            free += length + SPACE
    if margins.left >= BAND and margins.bottom + BARS[0][0] < height - margins.top:
        length, name = BARS[0]
        strokes.append(_bracket((0.5 * left, margins.bottom), length, TICK * left, upright=True))
        words.append(_word(name, (0.5 * left, margins.bottom + 0.5 * length), 0.5 * pi, left))
    if not strokes:
        findings.append(
            Finding(
                "CUT-004",
                Severity.NOTE,
                "the sheet's margins have no room for check lengths",
                "Measure a piece before cutting the rest",
            )
        )
    at_top, at_bottom = height - 0.5 * margins.top, 0.5 * margins.bottom
    if margins.top >= 2.0 * BAND:
        for line, share in zip(lines, (0.3, 0.7), strict=True):
            words += _line(line, (left, right), height - share * margins.top, 0.6 * margins.top)
    elif margins.top >= BAND and margins.bottom >= BAND:
        words += _line(lines[0], (left, right), at_top, margins.top)
        words += _line(lines[1], (free, right), at_bottom, margins.bottom)
    elif margins.top >= BAND:
        words += _line(". ".join(lines), (left, right), at_top, margins.top)
    elif margins.bottom >= BAND:
        words += _line(". ".join(lines), (free, right), at_bottom, margins.bottom)
    else:
        words += _line(". ".join(lines), (left, right), height - margins.top - 0.5 * BAND, BAND)
    return Legend(tuple(strokes), tuple(words), tuple(findings))


def _bracket(corner: tuple[float, float], length: float, tick: float, *, upright: bool) -> Stroke:
    """Return a bracket whose ends are `length` apart; `corner` is the middle of its first end."""
    x, y = corner
    if upright:
        points = [(x - tick, y), (x + tick, y), (x + tick, y + length), (x - tick, y + length)]
    else:
        points = [(x, y + tick), (x, y - tick), (x + length, y - tick), (x + length, y + tick)]
    return Stroke(Chain(np.array(points), np.zeros(3), closed=False), Purpose.CHECK)


def _word(text: str, at: tuple[float, float], angle_rad: float, band: float) -> Lettering:
    return Lettering(text, at, _height(NAMES * band), angle_rad, Purpose.CHECK)


def _height(wanted: float) -> float:
    return min(max(wanted, LEAST_HEIGHT), HIGHEST)


def _line(text: str, span: tuple[float, float], middle: float, band: float) -> list[Lettering]:
    """Return `text` in the middle of `span` (left and right, mm), smaller or shortened if need be."""
    room = (span[1] - span[0]) / WIDER
    height = min(_height(TITLE * band), room / text_width(text, 1.0))
    if height < LEAST_HEIGHT:
        height = LEAST_HEIGHT
        while text and text_width(text + "...", height) > room:
            text = text[:-1]
        if not text:
            return []
        text += "..."
    return [Lettering(text, (0.5 * (span[0] + span[1]), middle), height, 0.0, Purpose.CHECK)]
