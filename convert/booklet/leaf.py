"""Setting words and lines on a page, and running text and tables over as many pages as they need.

A **leaf** is a page being filled; a **flow** fills leaf after leaf from the top down, all under one
heading. What is set is calm: one typeface, four sizes, two greys, everything on the left edge.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.booklet.model import MM_PER_POINT, Anchor, Bookmark, Page, Shape, Words
from convert.geometry.chain import Chain

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from convert.block.model import Block
    from convert.booklet.model import Mark, Typeface
    from convert.booklet.paper import Frame
    from convert.cutting.sheet import Sheet

TITLE, HEADING, SECTION, BODY, SMALL = 27.0, 17.0, 11.0, 9.5, 8.0
"""Sizes of letters, points."""
INK, GREY, PALE = "#222222", "#6b6b6b", "#c4c4c4"
LEADING = 1.5
"""Distance of lines, in sizes of letters."""
HAIR, FINE = 0.13, 0.18
"""Line widths, mm. *Source*: ISO 128."""
CAPITAL = 0.729
"""Height of capitals in sizes of letters (from the typeface's own tables)."""
HEAD_ROOM = 17.0
FOOT_ROOM = 9.0
"""What heading and foot take of a frame, mm."""


def box(left: float, bottom: float, width: float, height: float) -> Chain:
    """Return an upright rectangle."""
    right, top = left + width, bottom + height
    corners = np.array([[left, bottom], [right, bottom], [right, top], [left, top]])
    return Chain(corners, np.zeros(4))


def line(*points: tuple[float, float]) -> Chain:
    """Return an open polyline."""
    return Chain(np.array(points), np.zeros(len(points) - 1), closed=False)


class Leaf:
    """One page being filled."""

    def __init__(self, frame: Frame, typeface: Typeface) -> None:
        self.frame = frame
        self.typeface = typeface
        self.marks: list[Mark] = []
        self.bookmarks: list[Bookmark] = []

    def words(
        self,
        text: str,
        x: float,
        y: float,
        size: float = BODY,
        *,
        bold: bool = False,
        colour: str = INK,
        anchor: Anchor = Anchor.LEFT,
        angle_rad: float = 0.0,
    ) -> None:
        """Set one line of words; its base line is at `y`."""
        self.marks.append(Words(self.typeface.printable(text), (x, y), size, bold, colour, anchor, angle_rad))

    def shape(
        self,
        *chains: Chain,
        stroke: str | None = INK,
        width: float = FINE,
        fill: str | None = None,
        dash: tuple[float, ...] = (),
    ) -> None:
        """Draw chains as one path."""
        self.marks.append(Shape(chains, stroke, width, fill, dash))

    def rule(self, y: float, left: float | None = None, right: float | None = None) -> None:
        """Draw a hair line across."""
        left = self.frame.left if left is None else left
        right = self.frame.right if right is None else right
        self.shape(line((left, y), (right, y)), stroke=PALE, width=HAIR)

    def wide(self, text: str, size: float, *, bold: bool = False) -> float:
        """Return how wide a line of words is, mm."""
        return self.typeface.width(self.typeface.printable(text), size, bold=bold)

    def fitting(
        self, text: str, size: float, room: float, *, bold: bool = False, least: float = SMALL
    ) -> float:
        """Return the size, at most `size`, at which a line fits `room` mm; not under `least`."""
        wide = self.wide(text, size, bold=bold)
        return size if wide <= room else max(least, size * room / wide)

    def shortened(self, text: str, size: float, room: float, *, bold: bool = False) -> str:
        """Return as much of a line as fits `room` mm, with dots where something is missing."""
        if self.wide(text, size, bold=bold) <= room:
            return text
        while text and self.wide(text + "…", size, bold=bold) > room:
            text = text[:-1]
        return text.rstrip() + "…"

    def lines(self, text: str, size: float, room: float, *, bold: bool = False) -> list[str]:
        """Return `text` broken into lines of at most `room` mm."""
        found: list[str] = []
        for word in text.split():
            longer = f"{found[-1]} {word}" if found else word
            if found and self.wide(longer, size, bold=bold) <= room:
                found[-1] = longer
            else:
                found.append(self.shortened(word, size, room, bold=bold))
        return found

    def paragraph(
        self,
        text: str,
        x: float,
        y: float,
        room: float,
        size: float = BODY,
        *,
        bold: bool = False,
        colour: str = INK,
    ) -> float:
        """Set a paragraph whose first line's top is at `y`; return where the next may begin."""
        step = LEADING * size * MM_PER_POINT
        for text_line in self.lines(text, size, room, bold=bold):
            self.words(text_line, x, y - CAPITAL * size * MM_PER_POINT, size, bold=bold, colour=colour)
            y -= step
        return y

    def heading(self, text: str, beside: str = "") -> float:
        """Set the page's heading; return where its matter may begin."""
        top = self.frame.top
        room = self.frame.across - (self.wide(beside, SMALL) + 8.0 if beside else 0.0)
        size = self.fitting(text, HEADING, room, bold=True)
        self.words(text, self.frame.left, top - 6.0, size, bold=True)
        if beside:
            self.words(beside, self.frame.right, top - 6.0, SMALL, colour=GREY, anchor=Anchor.RIGHT)
        self.rule(top - 10.0)
        return top - HEAD_ROOM

    def page(self, sheet: Sheet | None = None, block: Block | None = None) -> Page:
        """Return the finished page."""
        return Page(
            self.frame.width, self.frame.height, tuple(self.marks), tuple(self.bookmarks), sheet, block
        )


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: its heading, its left edge (mm from the frame's), its width, and its side."""

    heading: str
    left: float
    width: float
    anchor: Anchor = Anchor.LEFT


class Flow:
    """Pages filled from the top down under one heading."""

    def __init__(
        self, frame: Frame, typeface: Typeface, title: str, beside: str = "", bookmark: Bookmark | None = None
    ) -> None:
        self.frame = frame
        self.typeface = typeface
        self.title = title
        self.beside = beside
        self.leaves: list[Leaf] = []
        self.y = 0.0
        self.turn()
        if bookmark is not None:
            self.leaf.bookmarks.append(bookmark)

    @property
    def leaf(self) -> Leaf:
        """The leaf being filled."""
        return self.leaves[-1]

    def turn(self) -> None:
        """Begin a new page."""
        more = ", continued" if self.leaves else ""
        self.leaves.append(Leaf(self.frame, self.typeface))
        self.y = self.leaf.heading(self.title + more, self.beside)

    def need(self, height: float) -> bool:
        """Begin a new page unless `height` mm are free on this one; tell whether one was begun."""
        if self.y - height >= self.frame.bottom + FOOT_ROOM:
            return False
        self.turn()
        return True

    def space(self, height: float) -> None:
        """Leave a gap."""
        self.y -= height

    def paragraph(
        self,
        text: str,
        size: float = BODY,
        *,
        bold: bool = False,
        colour: str = INK,
        indent: float = 0.0,
        room: float | None = None,
        keep: float = 0.0,
    ) -> None:
        """Set a paragraph; `keep` mm below it must be on the same page."""
        room = min(self.frame.across - indent, 150.0) if room is None else room
        count = len(self.leaf.lines(text, size, room, bold=bold))
        self.need(count * LEADING * size * MM_PER_POINT + keep)
        x = self.frame.left + indent
        self.y = self.leaf.paragraph(text, x, self.y, room, size, bold=bold, colour=colour)

    def section(self, text: str, keep: float = 20.0) -> None:
        """Set a heading inside the page."""
        self.paragraph(text, SECTION, bold=True, keep=keep)
        self.space(1.0)

    def table_head(self, columns: Sequence[Column]) -> None:
        """Set a table's head."""
        for column in columns:
            self.leaf.words(
                column.heading, self.place(column), self.y - 3.0, SMALL, colour=GREY, anchor=column.anchor
            )
        self.y -= 5.0
        self.leaf.rule(self.y)

    def place(self, column: Column) -> float:
        """Return where a column's words stand, mm."""
        part = {Anchor.LEFT: 0.0, Anchor.MIDDLE: 0.5, Anchor.RIGHT: 1.0}[column.anchor]
        return self.frame.left + column.left + part * column.width

    def row(
        self,
        columns: Sequence[Column],
        cells: Sequence[str | Callable[[Leaf, float, float], None]],
        height: float,
        *,
        ruled: bool = True,
    ) -> None:
        """Set a table's row; a cell is words, or draws itself at its place and the row's middle."""
        if self.need(height):
            self.table_head(columns)
        middle = self.y - 0.5 * height
        for column, cell in zip(columns, cells, strict=True):
            x = self.place(column)
            if callable(cell):
                cell(self.leaf, x, middle)
                continue
            text = self.leaf.shortened(cell, BODY, column.width)
            low = middle - 0.5 * CAPITAL * BODY * MM_PER_POINT
            self.leaf.words(text, x, low, BODY, anchor=column.anchor)
        self.y -= height
        if ruled:
            self.leaf.rule(self.y)

    def pages(self) -> list[Page]:
        """Return the finished pages."""
        return [leaf.page() for leaf in self.leaves]
