"""Inscriptions: the words and marks in every shape on a sheet, as strokes that any tool can follow.

Whatever lies inside shapes is geometry, because a pen, a scorer or a laser has no fonts; only what
stands in a sheet's margins, for the eye, is text.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.marks import NO_MARKS, outlines
from convert.cutting.room import Room
from convert.cutting.sheet import CUTS, Product, Purpose, Stroke
from convert.cutting.words import long_axis, set_alone, set_words, sides
from convert.errors import Finding, Severity
from convert.units import format_inches, format_mm

if TYPE_CHECKING:
    from collections.abc import Sequence

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
        short = f"{label}r" if is_reversed else label
        stacked = versions if is_reversed else versions[:-1]
        return (*stacked, (f"{short} {self.size}",), (short,))


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

    def shown(self, digits: int) -> Text:
        """Return the text with all digits as wide as any, and so many of them in the label."""
        label = self.text[0][0].rstrip("0123456789")
        wide = label + "4" * (digits if label != self.text[0][0] else 0)
        return tuple(
            (wide + first[len(self.text[0][0]) :], *(line.translate(_AS_WIDE) for line in rest))
            for first, *rest in self.text
        )


class Inscriber:
    """Finds places for words once for all shapes that lie alike and look alike.

    Words with capitals lower than `least` (mm) are left out.
    """

    def __init__(
        self, block: Block, parts: Sequence[Part], marks: Sequence[PieceMarks] = (), least: float = 0.0
    ) -> None:
        self._block = block
        self._parts = parts
        self._marks = marks
        self._least = least
        self._axes: dict[int, tuple[float, ...]] = {}
        # Copies of one template have room for the longest label among them, so that they look alike.
        self._digits = [
            max((len(block.pieces[n].label) for n in (*p.pieces, *p.reversed_pieces)), default=0)
            - len(p.label)
            for p in parts
        ]

    def write(self, blanks: Sequence[Blank]) -> tuple[list[Stroke], list[str]]:
        """Return the strokes in all shapes, shape by shape, and the labels for which there is no room."""
        marks = [self._on_part(blank.piece) for blank in blanks]
        strokes: list[Stroke] = []
        missing: list[str] = []
        for blank, own, setting in zip(blanks, marks, self._settings(blanks, marks), strict=True):
            strokes += [Stroke(chain, Purpose.MARK, blank.copy) for chain in own.drawn(blank.placement)]
            if setting is None or min(line.height for line in setting.lines) < self._least:
                missing.append(blank.text[-1][0])
                continue
            words = setting.written(blank.text, blank.placement)
            strokes += [Stroke(chain, Purpose.LETTER, blank.copy) for chain in words]
        return strokes, missing

    def _on_part(self, piece: int) -> PieceMarks:
        """Return a piece's marks in its template's coordinates."""
        if piece < 0 or not self._marks:
            return NO_MARKS
        return self._marks[piece].moved(self._block.pieces[piece].placement.inverse())

    def _settings(self, blanks: Sequence[Blank], marks: Sequence[PieceMarks]) -> list[Setting | None]:
        """Return where the words of each shape lie.

        Copies that lie alike have their words in the same place, off the marks of all of them; where that
        leaves too little room, each has its own place.
        """
        groups: dict[tuple[object, ...], list[int]] = {}
        shown = [blank.shown(self._digits[blank.part]) for blank in blanks]
        for number, blank in enumerate(blanks):
            lay = blank.placement
            key = (blank.part, round(lay.a, 9), round(lay.b, 9), lay.flipped, shown[number])
            groups.setdefault(key, []).append(number)
        found: list[Setting | None] = [None] * len(blanks)
        alone = []
        for members, setting in zip(
            groups.values(), self._set(blanks, shown, marks, list(groups.values())), strict=True
        ):
            for number in members:
                found[number] = setting
            if len(members) > 1 and not (setting and setting.enough):
                alone += members
        for number, setting in zip(alone, self._set(blanks, shown, marks, [[n] for n in alone]), strict=True):
            found[number] = setting
        return found

    def _set(
        self,
        blanks: Sequence[Blank],
        shown: Sequence[Text],
        marks: Sequence[PieceMarks],
        groups: Sequence[Sequence[int]],
    ) -> list[Setting | None]:
        """Return one place for the words of each group of copies that lie alike."""
        if not groups:
            return []
        firsts = [blanks[group[0]] for group in groups]
        texts = [shown[group[0]] for group in groups]
        parts = [self._parts[blank.part] for blank in firsts]
        room = Room([[s.chain for s in part.strokes if s.purpose in CUTS] for part in parts])
        drawn = [
            outlines([marks[n] for n in group], [s.chain for s in part.strokes if s.purpose not in CUTS])
            for group, part in zip(groups, parts, strict=True)
        ]
        owner = np.repeat(np.arange(len(groups)), [len(p) for p, _ in drawn])
        room = room.with_lines(
            owner, np.concatenate([p for p, _ in drawn]), np.concatenate([q for _, q in drawn])
        )
        settings: list[Setting | None] = [None] * len(groups)
        if all(len(text) == len(text[0]) == 1 for text in texts):
            settings = set_alone(
                room,
                [part.at for part in parts],
                [text[0][0] for text in texts],
                [blank.placement for blank in firsts],
            )
        return [
            done or set_words(room, n, self._axes_of(blank.part), part.at, text, blank.placement)
            for n, (done, blank, part, text) in enumerate(zip(settings, firsts, parts, texts, strict=True))
        ]

    def _axes_of(self, part: int) -> tuple[float, ...]:
        if part not in self._axes:
            own = self._parts[part]
            # A frame has room along its straight sides alone.
            self._axes[part] = sides(own.outline) if own.is_tool else long_axis(own.outline)
        return self._axes[part]


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
