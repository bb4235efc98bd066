"""Words inside a shape: as many lines as there is room for, as large as they can be, the label first.

*Words.* A **text** is what could be written in a shape: versions of it, the fullest first, each a tuple
of lines; the first line is the label and is the largest. The **frame** of a shape is its own coordinates;
words are upright on the sheet, so in the frame they may be turned or flipped.

A version is tried with its lines stacked about many middles; a stack fits where the box of each line lies
clear inside the shape and off all that is drawn there. Of the middles that fit, that with most room
round it is taken. A long narrow shape in which upright words fit badly has them along its long axis.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import atan2, cos, hypot, radians, sin
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.letters import letter, readable, text_width
from convert.geometry.measure import second_moments
from convert.geometry.plane import to_complex

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.cutting.room import Room, View
    from convert.geometry.chain import Chain
    from convert.geometry.plane import Complexes, Flags
    from convert.geometry.similarity import Similarity

    Text = tuple[tuple[str, ...], ...]

SIZES = ((5.0, 2.5), (4.0, 2.2), (3.2, 2.0), (2.6, 1.8))
"""Heights of capitals in the label and in the lines below it, mm, best first. 1.8 mm is the least that is
read with ease (about 2 mm, common practice)."""
ALONE = (5.0, 4.0, 3.2, 2.6, 2.0, 1.6, 1.2)
"""Heights of a label that stands alone, mm, best first; under 1.2 nobody reads it."""
AWAY = 1.3
"""Least free space between words and any line, mm; a label that stands alone needs CLOSE times its height."""
CLOSE = 0.3
LEADING = 0.6
"""Free space above a line, in heights of its capitals."""
TAIL, TAILED = 0.34, frozenset("gjpqyQ,/()_&")
"""How far some characters hang below the line, in heights of capitals."""
AROUND = (5.0, 2.5, 1.2, 0.5)
"""More free space than needed, mm, looked for when there are several places."""
READ = 2.0
"""The label and more in one line is no smaller than this, mm; a label so high is read well."""
WELL = 3.2
"""A label at least so high (mm) is seen at once."""
GRID = 10
"""So many middles are tried along and across a shape."""
LONG = 1.8
"""A shape so many times longer than wide (by its second moments) may have its words along it."""
LEAN = radians(15.0)
"""Words along an axis that leans less than this stay upright: a little lean looks like a slip."""
SIDES = 3
"""So many straight sides of a frame are tried."""
MUCH_LARGER = 1.3
"""How much larger turned words must be than upright ones, with as many lines, to be preferred."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of words: its middle up the stack from the stack's middle, and its height of capitals, mm."""

    up: float
    height: float


@dataclass(frozen=True, slots=True)
class Setting:
    """Where words lie in a shape: the text's version, its lines, their middle, and the turn on the sheet."""

    version: int
    lines: tuple[Line, ...]
    middle: complex
    angle_rad: float

    @property
    def good(self) -> bool:
        """Whether all that could be said is there, well to be seen."""
        return self.version == 0 and self.lines[0].height >= WELL

    def better_than(self, other: Setting) -> bool:
        """Whether it says more, or the same much larger."""
        larger = self.lines[0].height >= MUCH_LARGER * other.lines[0].height
        return self.version < other.version or (self.version == other.version and larger)

    @property
    def enough(self) -> bool:
        """Whether there is more than a label, or one that is well to be seen."""
        return len(self.lines) > 1 or self.lines[0].height >= WELL

    def written(self, text: Text, placement: Similarity) -> tuple[Chain, ...]:
        """Return the strokes of the words in a shape laid by `placement`."""
        x, y = placement.point(self.middle.real, self.middle.imag)
        found: list[Chain] = []
        for line, words in zip(self.lines, text[self.version], strict=True):
            at = (x - line.up * sin(self.angle_rad), y + line.up * cos(self.angle_rad))
            found += letter(words, at, line.height, self.angle_rad)
        return tuple(found)


def set_alone(
    room: Room, at: Sequence[tuple[float, float]], labels: Sequence[str], placements: Sequence[Similarity]
) -> list[Setting | None]:
    """Return for each shape of `room` where its label alone fits upright at its widest place `at`.

    None stands where it would not be so large as to be seen at once: it may lie better elsewhere.
    """
    heights = [height for height in ALONE if height >= WELL]
    stacks = [[_Stack.of((label,), (height, height)) for height in heights] for label in labels]
    many = len(heights)
    ways = [_ways(placement, 0.0) for placement in placements]
    boxes = [(stack.boxes[0], stack.away) for tried in stacks for stack in tried]
    fits = room.clear(
        np.repeat(np.arange(len(labels)), many),
        np.array([complex(*at[n // many]) + box[0] * ways[n // many][1] for n, (box, _) in enumerate(boxes)]),
        np.array([box[1] for box, _ in boxes]),
        np.repeat(np.array([right for right, _ in ways], complex), many),
        np.array([away for _, away in boxes]),
    ).reshape(-1, many)
    return [
        Setting(0, stacks[n][int(np.argmax(row))].lines, complex(*at[n]), 0.0) if row.any() else None
        for n, row in enumerate(fits)
    ]


def set_words(
    room: Room,
    shape: int,
    axes: Sequence[float],
    at: tuple[float, float],
    text: Text,
    placement: Similarity,
) -> Setting | None:
    """Return where `text` fits in a shape of `room` laid on a sheet by `placement`; None if nothing fits.

    `at` is the shape's widest place, `axes` are directions along it that words may follow (see
    `long_axis`, `sides`).
    """
    best = _set(room, shape, at, text, placement, 0.0)
    for axis in axes:
        if best is not None and best.good:
            break
        here = axis if not placement.flipped else -axis
        angle = readable(here + atan2(placement.b, placement.a))
        turned = None if abs(angle) < LEAN else _set(room, shape, at, text, placement, angle)
        if turned is not None and (best is None or turned.better_than(best)):
            best = turned
    return best


def _ways(placement: Similarity, angle_rad: float) -> tuple[complex, complex]:
    """Return the directions to the right and up of words on the sheet, seen in the shape's own frame."""
    turn = complex(placement.a, placement.b) / hypot(placement.a, placement.b)
    right = complex(cos(angle_rad), sin(angle_rad)) / turn
    up = 1j * right
    return (right.conjugate(), up.conjugate()) if placement.flipped else (right, up)


def _set(
    room: Room, shape: int, at: tuple[float, float], text: Text, placement: Similarity, angle_rad: float
) -> Setting | None:
    """Return where the fullest version fits at one angle on the sheet, as large as it can be."""
    right, up = _ways(placement, angle_rad)
    view = room.view(shape, right)
    # In the view the words' right is that of the page, and up is up or, in a flipped shape, down.
    above = up * right.conjugate()
    every = _middles(view, complex(*at) * right.conjugate())
    for version, words in enumerate(text):
        sizes = SIZES if len(words) > 1 else tuple((size, size) for size in ALONE)
        if version < len(text) - 1:
            sizes = tuple(size for size in sizes if size[0] >= READ)
        if version == len(text) - 1:
            # A label alone stands in the middle if it can be read there, even if it were larger elsewhere.
            for heights in sizes:
                stack = _Stack.of(words, heights)
                if heights[0] >= READ and _fits(view, every[:1], stack, above, 0.0).any():
                    return Setting(version, stack.lines, complex(every[0] * right), angle_rad)
        stack = _Stack.of(words, sizes[0])
        middles = every[_fits(view, every, stack, above, 0.0)]
        if not len(middles):
            # What does not fit when small does not fit when larger.
            rest = every
            for heights in reversed(sizes[1:]):
                tried = _Stack.of(words, heights)
                rest = rest[_fits(view, rest, tried, above, 0.0)]
                if not len(rest):
                    break
                stack, middles = tried, rest
        if len(middles):
            middle = _roomiest(view, middles, stack, above)
            return Setting(version, stack.lines, middle * right, angle_rad)
    return None


@dataclass(frozen=True, slots=True)
class _Stack:
    """Lines one above the other, the boxes that they fill about the middle (halves), and free space."""

    lines: tuple[Line, ...]
    boxes: tuple[tuple[float, complex], ...]
    away: float

    @classmethod
    @lru_cache(maxsize=4096)
    def of(cls, words: tuple[str, ...], heights: tuple[float, float]) -> _Stack:
        sizes = [heights[0], *([heights[1]] * (len(words) - 1))]
        total = sum(sizes) + LEADING * sum(sizes[1:])
        top = 0.5 * total
        lines: list[Line] = []
        boxes: list[tuple[float, complex]] = []
        for text, size in zip(words, sizes, strict=True):
            top -= LEADING * size if lines else 0.0
            tail = TAIL * size if TAILED & set(text) else 0.0
            lines.append(Line(top - 0.5 * size, size))
            boxes.append(
                (top - 0.5 * (size + tail), complex(0.5 * text_width(text, size), 0.5 * (size + tail)))
            )
            top -= size
        alone = len(words) == 1 and " " not in words[0]
        away = min(AWAY, CLOSE * heights[0]) if alone else AWAY
        # The widest line is tried first: it fails in most places.
        return cls(tuple(lines), tuple(sorted(boxes, key=lambda box: -box[1].real)), away)


def _middles(view: View, at: complex) -> Complexes:
    """Return the places inside that are tried: the widest one, and a grid along the words' own directions."""
    left, low, right, high = view.box
    x = np.linspace(left, right, 2 * GRID + 1)[1::2]
    y = np.linspace(low, high, 2 * GRID + 1)[1::2]
    every = np.concatenate(([at], (x[:, None] + 1j * y).ravel()))
    return every[view.inside(every)]


def _fits(view: View, middles: Complexes, stack: _Stack, above: complex, more: float) -> Flags:
    """Tell about which middles a stack lies clear, with `more` mm than it needs."""
    fits = np.ones(len(middles), bool)
    grown = (stack.away + more) * (1 + 1j)
    for rise, half in stack.boxes:
        rows = np.flatnonzero(fits)
        # A line that is clear and reaches to or over a middle inside is inside; one that does not may
        # lie beyond a gap of the shape.
        at = middles[rows] + rise * above
        fits[rows] = view.clear(at, half + grown)
        if abs(rise) > half.imag:
            rows = rows[fits[rows]]
            fits[rows] = view.inside(middles[rows] + rise * above)
    return fits


def _roomiest(view: View, middles: Complexes, stack: _Stack, above: complex) -> complex:
    """Return the middle with most room round it; of several, the one that lies most in their midst."""
    for more in AROUND:
        fits = _fits(view, middles, stack, above, more)
        if fits.any():
            middles = middles[fits]
            break
    return complex(middles[np.argmin(np.round(np.abs(middles - middles.mean()), 6))])


def long_axis(outline: Chain) -> tuple[float, ...]:
    """Return the direction along a long shape, nothing for one that isn't.

    *Source*: the long principal axis of second moments; equal shapes' moments are as length to width squared.
    """
    xx, yy, xy = second_moments(outline)
    mean, apart = 0.5 * (xx + yy), hypot(0.5 * (yy - xx), xy)
    if mean + apart < LONG * LONG * (mean - apart):
        return ()
    return (0.5 * atan2(2.0 * xy, yy - xx),)


def sides(outline: Chain) -> tuple[float, ...]:
    """Return the directions of the longest straight sides of a shape, at most SIDES."""
    table = outline.segments
    way = to_complex(table.end) - to_complex(table.start)
    long = np.where(table.is_arc, 0.0, np.abs(way))
    rows = [row for row in np.argsort(-np.round(long, 6), kind="stable")[:SIDES].tolist() if long[row] > 0.0]
    return tuple(np.angle(way[rows]).tolist())
