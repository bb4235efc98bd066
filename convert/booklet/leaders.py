"""Labels beside templates that are too small to hold one: each with a fine line that leads into its template.

A label stands where nothing else is, as near to its template as can be, and its line crosses no other
template. Free places are looked for along rays from the template's widest place.
"""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

import numpy as np

from convert.booklet.leaf import CAPITAL, GREY, HAIR, line
from convert.booklet.model import MM_PER_POINT, SMALLEST_POINTS, Anchor
from convert.cutting.room import View, comes_in, polyline
from convert.cutting.sheet import CUTS, Purpose
from convert.geometry.plane import cross

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.block.model import Block
    from convert.booklet.leaf import Leaf
    from convert.cutting.sheet import Sheet
    from convert.geometry.chain import Chain
    from convert.geometry.plane import Complexes, Flags

AWAY = 0.55
"""Free space about a label, mm: it fits between rows."""
RAYS, STEP, REACH = 48, 0.8, 30.0
"""So many directions are tried, in steps (mm) up to so far from the template's widest place."""
MOST = 40
"""With more than this a page would be full of fine lines."""
TALL = CAPITAL * SMALLEST_POINTS * MM_PER_POINT


def label_beside(
    leaf: Leaf, sheet: Sheet, block: Block, area: tuple[float, float, float, float], others: Sequence[Chain]
) -> list[str]:
    """Set labels beside the templates of a sheet that have none inside; return those without room.

    `area` is the left, lower, right and upper edge of what may be used, `others` are closed outlines that are
    in the way, too. Where very many have none, only the first of each template gets its letter.
    """
    bare = _bare(sheet)
    if not bare:
        return []
    each = len(bare) <= MOST
    names = {number: _text(block, sheet, number, piece=each) for number in bare}
    wanted = bare if each else list({name: number for number, name in reversed(names.items())}.values())
    outer = [stroke for stroke in sheet.strokes if stroke.purpose is Purpose.OUTER]
    p, q, chain = polyline([*(stroke.chain for stroke in outer), *others])
    owner = np.array([*(stroke.copy for stroke in outer), *([-1] * len(others))])[chain]
    # What begins farther away than a label may lie is out of the way.
    first, last = (np.array([find(p[chain == n]) for n in range(chain.max() + 1)]) for find in (_low, _high))
    taken: list[tuple[complex, complex]] = []
    lines: list[tuple[complex, complex]] = []
    for number in wanted:
        copy, text = sheet.copies[number], names[number]
        half = complex(0.5 * leaf.wide(text, SMALLEST_POINTS), 0.5 * TALL)
        start = complex(*copy.placement.point(*block.templates[copy.template].at))
        reach = (REACH + abs(half) + AWAY) * (1 + 1j)
        off, over = first - (start + reach), (start - reach) - last
        near = ((off.real < 0.0) & (off.imag < 0.0) & (over.real < 0.0) & (over.imag < 0.0))[chain]
        view = View(p[near], q[near], np.ones(int(near.sum()), np.bool_))
        at = _places(start, half, area)
        at = at[~view.inside(at)]
        at = at[view.clear(at, half + AWAY * (1 + 1j))]
        for middle, size in taken:
            off = at - middle
            room = size + half + AWAY * (1 + 1j)
            at = at[(np.abs(off.real) > room.real) | (np.abs(off.imag) > room.imag)]
        for one, other in lines:
            at = at[~comes_in(one - at, other - at, np.full(len(at), half + 0.5 * AWAY * (1 + 1j)))]
        crossed = near & (owner != number)
        place = next((z for z in at.tolist() if not _crosses(start, z, half, p[crossed], q[crossed])), None)
        if place is None:
            continue
        del names[number]
        end = _edge(start, place, half)
        leaf.shape(line((start.real, start.imag), (end.real, end.imag)), stroke=GREY, width=HAIR)
        leaf.words(text, place.real, place.imag - 0.5 * TALL, SMALLEST_POINTS, anchor=Anchor.MIDDLE)
        taken.append((place, half))
        lines.append((start, end))
    return list(names.values())


def _low(z: Complexes) -> complex:
    return complex(z.real.min(), z.imag.min())


def _high(z: Complexes) -> complex:
    return complex(z.real.max(), z.imag.max())


def _bare(sheet: Sheet) -> list[int]:
    """Return the numbers of the copies that have no words in them."""
    told = {stroke.copy for stroke in sheet.strokes if stroke.purpose is Purpose.LETTER}
    cut = {stroke.copy for stroke in sheet.strokes if stroke.purpose in CUTS}
    return sorted(cut - told - {-1})


def _text(block: Block, sheet: Sheet, number: int, *, piece: bool = True) -> str:
    copy = sheet.copies[number]
    label = block.pieces[copy.piece].label if piece and copy.piece >= 0 else copy.label
    return label + ("r" if copy.reversed else "")


def _places(start: complex, half: complex, area: tuple[float, float, float, float]) -> Complexes:
    """Return the middles of labels that are tried, inside the area, the nearest first."""
    reach = np.arange(STEP, REACH, STEP)
    ways = np.exp(2j * pi * np.arange(RAYS) / RAYS)
    z: Complexes = start + (reach[:, None] * ways).ravel()
    left, low, right, high = area
    inside = (z.real > left + half.real) & (z.real < right - half.real)
    inside &= (z.imag > low + half.imag) & (z.imag < high - half.imag)
    return z[inside]


def _edge(start: complex, middle: complex, half: complex) -> complex:
    """Return where a line to the middle of a label ends, a little before its letters."""
    way = start - middle
    grown = half + 0.4 * (1 + 1j)
    share = min(grown.real / max(abs(way.real), 1e-9), grown.imag / max(abs(way.imag), 1e-9), 1.0)
    return middle + share * way


def _crosses(start: complex, middle: complex, half: complex, p: Complexes, q: Complexes) -> bool:
    """Tell whether the line into a template comes across any of the lines from p to q."""
    end = _edge(start, middle, half)
    way = end - start
    ways = np.full(len(p), way)
    one: Flags = cross(ways, p - start) * cross(ways, q - start) < 0.0
    other: Flags = cross(q - p, start - p) * cross(q - p, end - p) < 0.0
    return bool((one & other).any())
