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
from math import atan2, cos, hypot, sin
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.letters import letter, readable, text_width
from convert.geometry.measure import second_moments

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.cutting.room import Room
    from convert.geometry.chain import Chain
    from convert.geometry.plane import Complexes, Flags
    from convert.geometry.similarity import Similarity

    Text = tuple[tuple[str, ...], ...]

SIZES = ((5.0, 2.5), (4.0, 2.2), (3.2, 2.0), (2.6, 1.8))
"""Heights of capitals in the label and in the lines below it, mm, best first. 1.8 mm is the least that is
read with ease (about 2 mm, common practice)."""
ALONE = (5.0, 4.0, 3.2, 2.6, 2.0, 1.6, 1.2)
"""Heights of a label that stands alone, mm, best first; under 1.2 nobody reads it."""
AWAY = 1.0
"""Least free space between words and any line, mm; a label that stands alone needs CLOSE times its height."""
CLOSE = 0.2
LEADING = 0.6
"""Free space above a line, in heights of its capitals."""
TAIL, TAILED = 0.34, frozenset("gjpqyQ,/()_&")
"""How far some characters hang below the line, in heights of capitals."""
AROUND = (6.0, 4.0, 2.5, 1.5, 0.7)
"""More free space than needed, mm, looked for when there are several places."""
GRID = 10
"""So many middles are tried along and across a shape."""
LONG = 1.8
"""A shape so many times longer than wide (by its second moments) may have its words along it."""
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

    def written(self, text: Text, placement: Similarity) -> tuple[Chain, ...]:
        """Return the strokes of the words in a shape laid by `placement`."""
        x, y = placement.point(self.middle.real, self.middle.imag)
        found: list[Chain] = []
        for line, words in zip(self.lines, text[self.version], strict=True):
            at = (x - line.up * sin(self.angle_rad), y + line.up * cos(self.angle_rad))
            found += letter(words, at, line.height, self.angle_rad)
        return tuple(found)


def set_words(
    room: Room, shape: int, outline: Chain, at: tuple[float, float], text: Text, placement: Similarity
) -> Setting | None:
    """Return where `text` fits in a shape of `room` laid on a sheet by `placement`; None if nothing fits.

    `outline` is the shape's outer line, `at` its widest place.
    """
    upright = _set(room, shape, at, text, placement, 0.0)
    if upright is not None and upright.version == 0 and upright.lines[0].height >= SIZES[1][0]:
        return upright
    axis = _long_axis(outline)
    if axis is None:
        return upright
    here = axis if not placement.flipped else -axis
    turned = _set(room, shape, at, text, placement, readable(here + atan2(placement.b, placement.a)))
    if upright is None or turned is None:
        return upright or turned
    larger = turned.lines[0].height >= MUCH_LARGER * upright.lines[0].height
    if turned.version < upright.version or (turned.version == upright.version and larger):
        return turned
    return upright


def _set(
    room: Room, shape: int, at: tuple[float, float], text: Text, placement: Similarity, angle_rad: float
) -> Setting | None:
    """Return where the fullest version fits at one angle on the sheet, as large as it can be."""
    # Directions of the words on the sheet, seen in the shape's own frame.
    turn = complex(placement.a, placement.b) / hypot(placement.a, placement.b)
    right = complex(cos(angle_rad), sin(angle_rad)) / turn
    up = 1j * right
    if placement.flipped:
        right, up = right.conjugate(), up.conjugate()
    every = _middles(room, shape, at, right)
    for version, words in enumerate(text):
        found = None
        # What does not fit when small does not fit when large.
        middles = every
        for heights in reversed(SIZES if len(words) > 1 else tuple((size, size) for size in ALONE)):
            stack = _Stack.of(words, heights)
            middles = middles[_fits(room, shape, middles, stack, (right, up), 0.0)]
            if not len(middles):
                break
            found = (stack, middles)
        if found is not None:
            stack, middles = found
            middle = _roomiest(room, shape, middles, stack, (right, up))
            return Setting(version, stack.lines, middle, angle_rad)
    return None


@dataclass(frozen=True, slots=True)
class _Stack:
    """Lines one above the other, the boxes that they fill about the middle (halves), and free space."""

    lines: tuple[Line, ...]
    boxes: tuple[tuple[float, complex], ...]
    away: float

    @classmethod
    def of(cls, words: Sequence[str], heights: tuple[float, float]) -> _Stack:
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
        away = AWAY if len(words) > 1 else min(AWAY, CLOSE * heights[0])
        # The widest line is tried first: it fails in most places.
        return cls(tuple(lines), tuple(sorted(boxes, key=lambda box: -box[1].real)), away)


def _middles(room: Room, shape: int, at: tuple[float, float], right: complex) -> Complexes:
    """Return the places that are tried: the widest one, and a grid along the words' own directions."""
    p, _ = room.lines(shape)
    z = p * right.conjugate()
    x = np.linspace(z.real.min(), z.real.max(), 2 * GRID + 1)[1::2]
    y = np.linspace(z.imag.min(), z.imag.max(), 2 * GRID + 1)[1::2]
    grid = ((x[:, None] + 1j * y) * right).ravel()
    return np.concatenate(([complex(*at)], grid))


def _fits(
    room: Room, shape: int, middles: Complexes, stack: _Stack, ways: tuple[complex, complex], more: float
) -> Flags:
    """Tell about which middles a stack lies clear, with `more` mm than it needs."""
    right, up = ways
    fits = np.ones(len(middles), bool)
    for rise, half in stack.boxes:
        rows = np.flatnonzero(fits)
        many = len(rows)
        fits[rows] = room.clear(
            np.full(many, shape),
            middles[rows] + rise * up,
            np.full(many, half),
            np.full(many, right),
            np.full(many, stack.away + more),
        )
    return fits


def _roomiest(
    room: Room, shape: int, middles: Complexes, stack: _Stack, ways: tuple[complex, complex]
) -> complex:
    """Return the middle with most room round it; of several, the one that lies most in their midst."""
    for more in AROUND:
        fits = _fits(room, shape, middles, stack, ways, more)
        if fits.any():
            middles = middles[fits]
            break
    return complex(middles[np.argmin(np.round(np.abs(middles - middles.mean()), 6))])


def _long_axis(outline: Chain) -> float | None:
    """Return the direction along a long shape, None for one that isn't.

    *Source*: the long principal axis of second moments; equal shapes' moments are as length to width squared.
    """
    xx, yy, xy = second_moments(outline)
    mean, apart = 0.5 * (xx + yy), hypot(0.5 * (yy - xx), xy)
    if mean + apart < LONG * LONG * (mean - apart):
        return None
    return 0.5 * atan2(2.0 * xy, yy - xx)
