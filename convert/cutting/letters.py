"""Lettering as geometry: single strokes that a pen, a scorer or a laser can follow.

No font is needed and every program shows the same letters. The shapes are in `alphabet`.
"""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.alphabet import CAPITAL_HEIGHT, GAP, glyphs
from convert.geometry.similarity import Similarity

if TYPE_CHECKING:
    from convert.geometry.chain import Chain, Floats

UNKNOWN = "?"
"""Stands for a character that the alphabet lacks."""


def plain(text: str) -> str:
    """Return `text` in characters that the alphabet has: accents dropped, unknown ones as `?`."""
    known = glyphs()
    letters = []
    for char in unicodedata.normalize("NFC", text):
        if char in known:
            letters.append(char)
            continue
        base = [c for c in unicodedata.normalize("NFKD", char) if not unicodedata.combining(c)]
        letters.extend("/" if c == "\N{FRACTION SLASH}" else c if c in known else UNKNOWN for c in base)
    return "".join(letters)


def text_width(text: str, height: float) -> float:
    """Return the width in mm of one line whose capitals are `height` mm high."""
    known = glyphs()
    line = plain(text)
    units = sum(known[c][0] for c in line) + GAP * max(len(line) - 1, 0)
    return units * height / CAPITAL_HEIGHT


def letter(text: str, at: tuple[float, float], height: float, angle_rad: float = 0.0) -> tuple[Chain, ...]:
    """Return the strokes of one line of text, open chains in mm, in drawing order.

    `at` is the middle of the line (half its width, half the capitals' height); `height` is that of
    the capitals; the line is turned by `angle_rad` about `at`.
    """
    known = glyphs()
    scale = height / CAPITAL_HEIGHT
    to_sheet = Similarity.turn(angle_rad, scale)
    to_sheet = Similarity(to_sheet.a, to_sheet.b, *at)
    pen = -0.5 * text_width(text, height) / scale
    strokes: list[Chain] = []
    for char in plain(text):
        width, chains = known[char]
        shift = Similarity.shift(pen, -0.5 * CAPITAL_HEIGHT)
        strokes.extend(to_sheet.after(shift).chain(chain) for chain in chains)
        pen += width + GAP
    return tuple(strokes)


def box_corners(text: str, at: tuple[float, float], height: float, angle_rad: float) -> Floats:
    """Return the corners (4, 2) of the box that the line fills, tails included, for tests of fit."""
    half, up, down = 0.5 * text_width(text, height), 0.55 * height, -0.85 * height
    turned = Similarity.turn(angle_rad)
    corners = np.array([(-half, down), (half, down), (half, up), (-half, up)])
    return Similarity(turned.a, turned.b, *at).points(corners)
