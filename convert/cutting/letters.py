"""Lettering as geometry: single strokes that a pen, a scorer or a laser can follow.

No font is needed and every program shows the same letters. The shapes are in `alphabet`.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from math import cos, pi, remainder, sin
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.alphabet import CAPITAL_HEIGHT, GAP, glyphs
from convert.geometry.chain import frozen, open_chains
from convert.geometry.plane import to_complex, to_points

if TYPE_CHECKING:
    from convert.geometry.chain import Chain, Floats
    from convert.geometry.plane import Complexes

UNKNOWN = "?"
"""Stands for a character that the alphabet lacks."""
UPRIGHT = 1e-6
"""Radians by which a line that runs straight up may lean to the left."""


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


@lru_cache(maxsize=4096)
def text_width(text: str, height: float) -> float:
    """Return the width in mm of one line whose capitals are `height` mm high."""
    known = glyphs()
    line = plain(text)
    units = sum(known[c][0] for c in line) + GAP * max(len(line) - 1, 0)
    return units * height / CAPITAL_HEIGHT


@lru_cache(maxsize=1024)
def _line(text: str) -> tuple[Complexes, Floats, tuple[int, ...]]:
    """Return the vertices of a line's strokes in grid units about its middle, their bulges and sizes."""
    known = glyphs()
    pen = -0.5 * text_width(text, CAPITAL_HEIGHT)
    points, bulges, sizes = [np.zeros(0, complex)], [np.zeros(0)], []
    for char in plain(text):
        width, chains = known[char]
        for chain in chains:
            points.append(to_complex(chain.points) + complex(pen, -0.5 * CAPITAL_HEIGHT))
            bulges.append(chain.bulge)
            sizes.append(len(chain.points))
        pen += width + GAP
    return np.concatenate(points), frozen(np.concatenate(bulges)), tuple(sizes)


def letter(text: str, at: tuple[float, float], height: float, angle_rad: float = 0.0) -> tuple[Chain, ...]:
    """Return the strokes of one line of text, open chains in mm, in drawing order.

    `at` is the middle of the line (half its width, half the capitals' height); `height` is that of
    the capitals; the line is turned by `angle_rad` about `at`.
    """
    z, bulge, sizes = _line(text)
    turn = complex(cos(angle_rad), sin(angle_rad)) * (height / CAPITAL_HEIGHT)
    return open_chains(to_points(z * turn + complex(*at)), bulge, sizes)


def readable(angle_rad: float) -> float:
    """Return the same direction or its opposite, whichever is not upside down: over -90 to 90 degrees.

    Straight down, and what is so but for rounding, becomes straight up.
    """
    turned = remainder(angle_rad, pi)  # -90 to 90 degrees
    return turned + pi if turned < UPRIGHT - 0.5 * pi else turned
