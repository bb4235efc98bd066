"""Inscriptions: the words and marks in every shape on a sheet, as strokes that any tool can follow.

Whatever lies inside shapes is geometry, because a pen, a scorer or a laser has no fonts; only what
stands in a sheet's margins, for the eye, is text.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.marks import NO_MARKS
from convert.cutting.room import Room
from convert.cutting.sheet import CUTS, Product, Purpose, Stroke
from convert.cutting.words import set_words
from convert.errors import Finding, Severity
from convert.units import format_inches, format_mm

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from convert.block.model import Block
    from convert.cutting.marks import PieceMarks
    from convert.cutting.parts import Part
    from convert.cutting.words import Setting, Text
    from convert.geometry.similarity import Similarity

WIDER = 1.2
"""Fonts of other programs may be wider than our letters by this factor."""
_MAKE = {Product.FINISHED: "make", Product.CLOTH: "cut", Product.WINDOW: "for"}
_AS_WIDE = str.maketrans("0123456789", "4444444444")
"""The widest digit stands for all, so that pieces alike have their words in the same place."""


@dataclass(frozen=True, slots=True)
class Naming:
    """What is said in every shape of one size: its name and measure, the block's name, how many blocks."""

    size: str
    block: str
    blocks: int = 1

    @classmethod
    def of(cls, block: Block, size: str, blocks: int = 1) -> Naming:
        """Name a block at one size: `medium 6 in`."""
        name = "" if size == "as-drawn" else f"{size} "
        return cls(name + _measure(block), block.name, blocks)

    def text(self, block: Block, part: Part, piece: int) -> Text:
        """Return what could be written in a part's copy for a piece (-1: a tool), the fullest first."""
        label, is_reversed = part.label, False
        if piece >= 0:
            label, is_reversed = block.pieces[piece].label, block.pieces[piece].reversed
            made = str(len(part.reversed_pieces if is_reversed else part.pieces) * self.blocks)
        else:
            template = block.templates[part.template]
            also = f" + {template.reversed_count} reversed" if template.reversed_count else ""
            made = f"{template.count}{also}"
        more = (self.size, f"{_MAKE[part.product]} {made}", *([self.block] if self.block.strip() else []))
        head = (label, "reversed") if is_reversed else (label,)
        versions = tuple((*head, *more[:count]) for count in range(len(more), -1, -1))
        return (*versions, (f"{label}r",)) if is_reversed else versions


def _measure(block: Block) -> str:
    """Return the finished size in the neater unit, once if the block is square."""
    inches = [format_inches(block.width), format_inches(block.height)]
    metric = [format_mm(block.width), format_mm(block.height)]
    wide, high = metric if "." in inches[0] + inches[1] else inches
    return wide if wide == high else f"{wide.rsplit(' ', 1)[0]} x {high}"


@dataclass(frozen=True, slots=True)
class Blank:
    """A shape to write in: part number `part`, laid by `placement` as number `copy` of its sheet.

    `piece` is the number of the piece that it is for in the block, -1 for no certain one.
    """

    part: int
    piece: int
    copy: int
    placement: Similarity
    text: Text


class Inscriber:
    """Finds places for words once for all shapes that look alike and lie alike."""

    def __init__(self, block: Block, parts: Sequence[Part], marks: Sequence[PieceMarks] = ()) -> None:
        self._block = block
        self._parts = parts
        self._marks = marks
        self._rooms: dict[tuple[int, bytes], Room] = {}
        self._settings: dict[tuple[object, ...], Setting | None] = {}
        self._frames: dict[int, tuple[PieceMarks, bytes]] = {}

    def write(self, blanks: Iterable[Blank]) -> tuple[list[Stroke], list[str]]:
        """Return the strokes in all shapes, shape by shape, and the labels for which there is no room."""
        strokes: list[Stroke] = []
        missing: list[str] = []
        for blank in blanks:
            marks, look = self._on_part(blank.piece)
            strokes += [Stroke(chain, Purpose.MARK, blank.copy) for chain in marks.drawn(blank.placement)]
            setting = self._setting(blank, marks, look)
            if setting is None:
                missing.append(blank.text[-1][0])
                continue
            words = setting.written(blank.text, blank.placement)
            strokes += [Stroke(chain, Purpose.LETTER, blank.copy) for chain in words]
        return strokes, missing

    def _on_part(self, piece: int) -> tuple[PieceMarks, bytes]:
        """Return a piece's marks in its template's coordinates, and bytes that are equal for equal looks."""
        if piece < 0 or not self._marks:
            return NO_MARKS, b""
        if piece not in self._frames:
            marks = self._marks[piece].moved(self._block.pieces[piece].placement.inverse())
            self._frames[piece] = (marks, marks.look())
        return self._frames[piece]

    def _setting(self, blank: Blank, marks: PieceMarks, look: bytes) -> Setting | None:
        part, lay = self._parts[blank.part], blank.placement
        shown = tuple(tuple(line.translate(_AS_WIDE) for line in version) for version in blank.text)
        key = (blank.part, look, round(lay.a, 9), round(lay.b, 9), lay.flipped, shown)
        if key not in self._settings:
            if (blank.part, look) not in self._rooms:
                self._rooms[blank.part, look] = _room(part, marks)
            room = self._rooms[blank.part, look]
            self._settings[key] = set_words(room, 0, part.outline, part.at, shown, lay)
        return self._settings[key]


def _room(part: Part, marks: PieceMarks) -> Room:
    """Return the free places of a part: inside its cuts, off what is drawn on it."""
    cuts = [stroke.chain for stroke in part.strokes if stroke.purpose in CUTS]
    drawn = [stroke.chain for stroke in part.strokes if stroke.purpose not in CUTS]
    room = Room([cuts])
    p, q = marks.outlines(drawn)
    return room.with_lines(np.zeros(len(p), np.intp), p, q)


def unlabelled(texts: Sequence[str]) -> tuple[Finding, ...]:
    """Return the finding that these labels were left out, or nothing."""
    if not texts:
        return ()
    names = sorted(set(texts), key=lambda text: (len(text), text))
    shown = ", ".join(names[:8]) + (f" and {len(names) - 8} more" if len(names) > 8 else "")
    return (
        Finding(
            "CUT-003",
            Severity.WARNING,
            f"no room for a readable label in {shown}",
            "Mark these pieces by hand, or make the block larger",
            value=float(len(names)),
        ),
    )
