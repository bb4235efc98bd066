"""How much cloth a block asks for: its cloth shapes in real rows across the cloth.

*Words.* A shape's **profile** is how far left and right it reaches at each of many heights. A **row** is
shapes side by side across the cloth, standing on one line; rows follow each other along the cloth, which
is the way of its grain. Every shape stands with its grain along the cloth, head up or head down,
whichever lies closer to its neighbour. Profiles take the widest of each band of heights, so that shapes
never overlap; a row may be a little longer than it need be.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, ceil, degrees, pi, radians
from typing import TYPE_CHECKING

import numpy as np

from convert.booklet.closer import closer_length
from convert.cutting.rings import rings
from convert.errors import OutputError
from convert.geometry.edit import flatten
from convert.geometry.measure import area
from convert.geometry.similarity import Similarity
from convert.units import MM_PER_INCH, format_mm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.block.model import Block
    from convert.booklet.closer import Tries
    from convert.geometry.chain import Chain, Floats
    from convert.geometry.plane import Complexes

BAND = 0.2
"""Height of a profile's bands, mm."""
FLAT = 0.01
"""How far a curve may be from the corners that stand for it, mm."""
EIGHTH_YARD = 36.0 * MM_PER_INCH / 8.0
TEN_CM = 100.0
USUAL_WIDTH = 42.0 * MM_PER_INCH
"""Usable width of a bolt sold as 44 to 45 in wide, selvedges taken off (common practice)."""


@dataclass(frozen=True, slots=True, eq=False)
class ClothShape:
    """A template's cloth shape: its outline with the allowance, as the template lies, and its area (mm²).

    `long` and `short` are the sides of the smallest rectangle it fits in, turned as that may be, mm.
    """

    outline: Chain
    long: float
    short: float
    area: float


@dataclass(frozen=True, slots=True)
class Need:
    """What one fabric asks for: the shapes cut from it, their area (mm²) and the length they take (mm)."""

    colour: str | None
    pieces: int
    area: float
    length: float
    width: float

    @property
    def eighths(self) -> int:
        """The length in eighths of a yard, rounded up to what shops sell."""
        return ceil(self.length / EIGHTH_YARD - 1e-9)

    @property
    def tens(self) -> int:
        """The length in tens of centimetres, rounded up."""
        return ceil(self.length / TEN_CM - 1e-9)

    def waste(self, length: float) -> float:
        """Return which share of so much of the cloth is in none of the shapes."""
        return 1.0 - self.area / (length * self.width)


def cloth_shapes(block: Block, allowance: float) -> tuple[ClothShape, ...]:
    """Return the cloth shape of every template."""
    shapes = []
    for ring in rings([(t.outline, t.holes) for t in block.templates], allowance):
        long, short = _rectangle(flatten(ring.outer, FLAT))
        shapes.append(ClothShape(ring.outer, long, short, area(ring.outer)))
    return tuple(shapes)


def _rectangle(corners: Floats) -> tuple[float, float]:
    """Return the sides of the smallest rectangle about a polygon, the longer first.

    *Source*: one side of it lies along a side of the polygon's hull (Freeman and Shapira 1975, from memory).
    """
    z = _hull(corners)
    way = np.roll(z, -1) - z
    way = way[np.abs(way) > 0.0]
    turned = z[None, :] * (way.conj() / np.abs(way))[:, None]
    across, up = np.ptp(turned.real, axis=1), np.ptp(turned.imag, axis=1)
    best = int(np.argmin(np.round(across * up, 6)))
    return float(max(across[best], up[best])), float(min(across[best], up[best]))


def _hull(corners: Floats) -> Complexes:
    """Return the convex hull of points, counter-clockwise, as complex numbers.

    *Source*: Andrew's monotone chain (1979, from memory).
    """
    points = sorted(set(map(tuple, corners.tolist())))
    halves = []
    for run in (points, points[::-1]):
        half: list[complex] = []
        for x, y in run:
            z = complex(x, y)
            while len(half) > 1 and ((half[-1] - half[-2]).conjugate() * (z - half[-1])).imag <= 0.0:
                half.pop()
            half.append(z)
        halves.append(half[:-1])
    return np.array(halves[0] + halves[1])


def needs(
    block: Block,
    shapes: Sequence[ClothShape],
    width: float,
    grain_deg: float = 90.0,
    blocks: int = 1,
    tries: Tries | None = None,
) -> dict[str | None, Need]:
    """Return what each fabric of `blocks` blocks asks for, on cloth of a usable `width` mm.

    `grain_deg` is the direction in the finished block in which the grain of every piece runs. Shapes lie in
    rows, or nested where that is shorter and `tries` are left.
    *Errors*: OutputError (CUT-040) when a shape is wider than the cloth.
    """
    wanted: dict[str | None, dict[tuple[int, bool, int], int]] = {}
    for piece in block.pieces:
        # Turned so that the grain, which runs along the cloth, is upright; half a turn makes no difference.
        lies = atan2(piece.placement.b, piece.placement.a) + 0.5 * pi - radians(grain_deg)
        key = (piece.template, piece.reversed, round(degrees(lies)) % 180)
        counts = wanted.setdefault(piece.fabric, {})
        counts[key] = counts.get(key, 0) + blocks
    found = {}
    for colour, counts in wanted.items():
        kinds = sorted(counts)
        outlines = [
            Similarity.turn(radians(turn), flipped=is_reversed).outline(shapes[template].outline)
            for template, is_reversed, turn in kinds
        ]
        number = [counts[kind] for kind in kinds]
        length = length_of_rows(outlines, number, width)
        if tries is not None:
            length = closer_length(outlines, number, width, length, (EIGHTH_YARD, TEN_CM), tries)
        total = sum(shapes[kind[0]].area * counts[kind] for kind in kinds)
        found[colour] = Need(colour, sum(counts.values()), total, length, width)
    return found


@dataclass(frozen=True, slots=True, eq=False)
class _Profile:
    """Left and right edge in each band, from the shape's own left and lower edge."""

    left: Floats
    right: Floats
    height: float


@dataclass(slots=True)
class _Row:
    """A row being filled: how far right it reaches in each band, and its height."""

    reach: Floats
    height: float


def length_of_rows(outlines: Sequence[Chain], counts: Sequence[int], width: float) -> float:
    """Return how long a piece of cloth `width` mm wide must be for so many of each outline, in rows.

    The highest first, each into the first row that has room (first-fit decreasing height, Coffman,
    Garey, Johnson and Tarjan 1980, from memory). Full rows of one shape are laid once and counted.
    *Errors*: OutputError (CUT-040) when an outline is wider than the cloth.
    """
    half_turn = Similarity.turn(pi)
    both = [(_profile(outline), _profile(half_turn.outline(outline))) for outline in outlines]
    profiles = [upright for upright, _ in both]
    widest = max((float(p.right.max()) for p in profiles), default=0.0)
    if widest > width + 1e-9:
        what = f"a cloth shape is {format_mm(widest, digits=1)} wide, the cloth {format_mm(width, digits=1)}"
        raise OutputError.because(
            "CUT-040", what, "Give a larger --cloth-width, or split the piece with a seam"
        )
    bands = max((len(p.left) for p in profiles), default=0)
    rows: list[_Row] = []
    length = 0.0
    order = sorted(range(len(profiles)), key=lambda n: (-round(profiles[n].height, 3), n))
    for number in order:
        ways = both[number]
        left = counts[number]
        first = 0
        while left:
            while first < len(rows) and not _lay(rows[first], ways, width):
                first += 1
            if first < len(rows):
                left -= 1
                continue
            row = _Row(np.full(bands, 0.0), ways[0].height)
            here = 0
            while here < left and _lay(row, ways, width):
                here += 1
            full = left // here if here < left else 1
            left -= full * here
            length += full * row.height
            rows.append(row)
    return length


def _lay(row: _Row, ways: tuple[_Profile, _Profile], width: float) -> bool:
    """Lay one shape at the end of a row, the way that takes less of it; tell whether there was room."""
    if ways[0].height > row.height + 1e-6:
        return False
    best: tuple[float, float, _Profile] | None = None
    for way in ways:
        n = len(way.left)
        shift = max(float((row.reach[:n] - way.left).max()), 0.0)
        end = float((shift + way.right).max())
        key = (round(end, 6), round(float((shift + way.right).sum()), 6))
        if best is None or key < (round(best[1], 6), round(float((best[0] + best[2].right).sum()), 6)):
            best = (shift, end, way)
    if best is None or best[1] > width + 1e-6:
        return False
    shift, _, way = best
    n = len(way.left)
    row.reach[:n] = np.maximum(row.reach[:n], shift + way.right)
    return True


def _profile(outline: Chain) -> _Profile:
    """Return an outline's profile: in each band the extremes of the outline's parts inside it."""
    corners = flatten(outline, FLAT)
    corners = corners - corners.min(axis=0)
    height = float(corners[:, 1].max())
    count = max(ceil(height / BAND - 1e-9), 1)
    p, q = corners, np.roll(corners, -1, axis=0)
    # In a band a straight side reaches farthest at its ends, or where it crosses the band's limits.
    low, high = np.minimum(p[:, 1], q[:, 1]), np.maximum(p[:, 1], q[:, 1])
    first, last = np.ceil(low / BAND).astype(np.intp), np.floor(high / BAND).astype(np.intp)
    crossed = np.maximum(last - first + 1, 0)
    side = np.repeat(np.arange(len(p)), crossed)
    limit = np.arange(len(side)) - np.repeat(np.cumsum(crossed) - crossed, crossed) + first[side]
    rise = q[side, 1] - p[side, 1]
    t = np.clip((limit * BAND - p[side, 1]) / np.where(rise == 0.0, 1.0, rise), 0.0, 1.0)
    x = p[side, 0] + t * (q[side, 0] - p[side, 0])
    own = np.floor(p[:, 1] / BAND).astype(np.intp)
    band = np.clip(np.concatenate((limit - 1, limit, own)), 0, count - 1)
    reach = np.concatenate((x, x, p[:, 0]))
    left, right = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(left, band, reach)
    np.maximum.at(right, band, reach)
    return _Profile(left, right, height)
