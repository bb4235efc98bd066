"""Parallel outlines: exact on lines and arcs, for outlines of any shape, with or without holes.

*Method.* Every segment is moved sideways and every corner filled or trimmed (see `rawoffset`). If
the result meets itself nowhere it is the parallel outline, or none of it is. Otherwise it is cut
where it meets itself, and the parts that are far enough from the outline are joined
up (see `offsettrace`). With mitred or trimmed corners, the points of corners are added to what
lies within the distance.

*Limits.* Parts of a result nearer together than a welding length, 1e-11 of the region's size,
count as touching; a result thinner than that is none.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

import numpy as np

from convert.errors import GeometryError
from convert.geometry.chain import Chain
from convert.geometry.contain import contains
from convert.geometry.edit import reverse
from convert.geometry.measure import area, midpoint
from convert.geometry.nearest import distance_pairs
from convert.geometry.offsettrace import SLACK, contacts, trace
from convert.geometry.plane import cross, dot, square, to_complex, to_points
from convert.geometry.rawoffset import Pieces, Sources, raw_offset
from convert.geometry.segment import segment_area

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from convert.geometry.chain import Floats
    from convert.geometry.plane import Complexes, Ints

WELD = 1e-11
"""Welding length over the size of a region."""


class CornerStyle(Enum):
    """What happens where moved segments leave a gap."""

    ROUNDED = "rounded"
    MITRED = "mitred"
    TRIMMED = "trimmed"


@dataclass(frozen=True, slots=True)
class Corners:
    """How open corners are closed.

    ROUNDED: by an arc about the corner. MITRED: both sides are carried on to the point where they
    meet, if that is within `size` times the distance from the corner, and else cut square across
    the bisector there (as `stroke-linejoin: miter-clip` of SVG 2 does). TRIMMED: the same with `size` mm.
    Arcs are carried on along their tangents. Corners of less than half a degree are always rounded.
    """

    style: CornerStyle
    size: float = 0.0

    @classmethod
    def rounded(cls) -> Corners:
        """Return rounded corners."""
        return cls(CornerStyle.ROUNDED)

    @classmethod
    def mitred(cls, limit: float = 4.0) -> Corners:
        """Return mitred corners; 4, the customary limit of SVG, cuts corners below 29 degrees."""
        return cls(CornerStyle.MITRED, limit)

    @classmethod
    def trimmed(cls, reach: float) -> Corners:
        """Return corners cut `reach` mm past the outline's corner."""
        return cls(CornerStyle.TRIMMED, reach)

    def reach(self, distance: float) -> float | None:
        """Return how far from a corner its point may be, mm, or None for rounded corners.

        *Errors*: GeometryError if that cuts into what lies within the distance.
        """
        if self.style is CornerStyle.ROUNDED:
            return None
        reach = self.size * abs(distance) if self.style is CornerStyle.MITRED else self.size
        if not np.isfinite(reach) or reach < abs(distance):
            raise GeometryError.because(
                "GEO-042",
                f"corners cut {reach:g} mm out would be nearer than the distance of {abs(distance):g} mm",
                "Cut them at least as far out as the distance",
            )
        return reach


@dataclass(frozen=True, slots=True, eq=False)
class Parallel:
    """One parallel outline: counter-clockwise around what is inside, clockwise around a hole.

    `source` (k,) is the segment of the region that each segment of the chain is parallel to: those
    of the outer outline are counted first, then each hole's, as given; -1 for corner fills.
    """

    chain: Chain
    source: Ints


def offset(outline: Chain, distance: float, corners: Corners) -> tuple[Parallel, ...]:
    """Return the outlines at `distance` mm outside an outline (inside, if negative).

    The outline may run either way; results run counter-clockwise, holes that appear clockwise. None
    is returned when nothing is left.
    *Errors*: GeometryError when the outline is open, crosses or touches itself, or has no area.
    """
    return offset_region(outline, (), distance, corners)


def offset_region(
    outer: Chain, holes: Sequence[Chain], distance: float, corners: Corners
) -> tuple[Parallel, ...]:
    """Return the outlines at `distance` mm outside a region, an outline with holes (inside, if negative).

    *Errors*: GeometryError as for `offset`, and when outlines of the region meet.
    """
    return _offset([(outer, *holes)], distance, corners)[0]


def offset_many(
    outlines: Sequence[Chain], distance: float, corners: Corners
) -> tuple[tuple[Parallel, ...], ...]:
    """Return what `offset` does for each outline, all at once: much faster for many simple ones."""
    return _offset([(outline,) for outline in outlines], distance, corners)


def _offset(
    regions: Sequence[Sequence[Chain]], distance: float, corners: Corners
) -> tuple[tuple[Parallel, ...], ...]:
    if not np.isfinite(distance):
        raise GeometryError.because("GEO-043", "a distance between outlines is not a finite number")
    if not regions:
        return ()
    reach = corners.reach(distance)
    sources, origin, weld = _sources(regions, distance)
    _check_simple(sources, origin, weld)
    _check_holes(regions)
    if distance == 0:
        return tuple(tuple(_unmoved(region)) for region in regions)
    pieces, tips = raw_offset(sources, distance, reach, weld[sources.region])
    following = _following(pieces.ring)
    tangled = np.zeros(len(regions), dtype=np.bool_)
    tangled[pieces.region[~pieces.joined]] = True
    if len(tips.row):
        # The tip of one ring's corner may cover another ring without meeting it.
        tangled |= np.array([len(region) > 1 for region in regions])
    smooth = np.flatnonzero(~tangled[pieces.region])
    place = np.zeros(len(pieces), dtype=np.intp)
    place[smooth] = np.arange(len(smooth))
    part = pieces.take(smooth)
    row, _ = contacts(
        part.table(slice(None)), part.region, place[following[smooth]], part.apart, float(weld.max())
    )
    tangled[part.region[row]] = True
    out: list[list[Parallel]] = [[] for _ in regions]
    _add_plain(out, pieces.take(~tangled[pieces.region]), sources, origin, distance, weld)
    middle = to_points(origin)
    for region, ring in trace(pieces.take(tangled[pieces.region]), tips, sources, distance, weld, middle):
        number = np.where(ring.source >= 0, sources.number[ring.source], -1)
        out[region].append(Parallel(Chain(ring.points + middle[region], ring.bulge), number))
    return tuple(tuple(rings) for rings in out)


def _unmoved(region: Sequence[Chain]) -> Iterator[Parallel]:
    """Yield a region's own outlines, the outer one counter-clockwise and holes clockwise."""
    first = 0
    for k, chain in enumerate(region):
        number = np.arange(first, first + len(chain))
        if (area(chain) > 0) == (k == 0):
            yield Parallel(chain, number)
        else:
            yield Parallel(reverse(chain), number[::-1])
        first += len(chain)


def _sources(regions: Sequence[Sequence[Chain]], distance: float) -> tuple[Sources, Complexes, Floats]:
    """Return all segments, each region's origin and its welding length.

    Outer outlines are made counter-clockwise, holes clockwise, and segments of no length left out.
    """
    chains = [chain for region in regions for chain in region]
    if not all(chain.closed and len(chain) > 1 for chain in chains):
        raise GeometryError.because("GEO-044", "only a closed outline has parallel outlines")
    count = np.array([len(chain) for chain in chains])
    rings = np.array([len(region) for region in regions])
    ring_region = np.repeat(np.arange(len(regions)), rings)
    hole = np.ones(len(chains), dtype=np.bool_)
    hole[np.cumsum(rings) - rings] = False
    start = to_complex(np.concatenate([chain.points for chain in chains]))
    bulge = np.concatenate([chain.bulge for chain in chains])
    ring = np.repeat(np.arange(len(chains)), count)
    region = ring_region[ring]
    opening = np.searchsorted(region, np.arange(len(regions)))
    x0, x1, y0, y1 = (
        f.reduceat(w, opening) for w in (start.real, start.imag) for f in (np.minimum, np.maximum)
    )
    origin = (x0 + x1) / 2 + 1j * ((y0 + y1) / 2)
    size = np.maximum(x1 - x0, y1 - y0)
    start = start - origin[region]
    end = start[_following(ring)]
    first = np.cumsum(count) - count
    terms = cross(start, end) / 2 + square(end - start) * segment_area(bulge)
    enclosed = np.add.reduceat(terms, first)
    if (np.abs(enclosed) <= WELD * size[ring_region] ** 2).any():
        raise GeometryError.because("GEO-045", "an outline encloses no area")
    # Rows of rings that run the wrong way, in reverse.
    backward = ((enclosed < 0) != hole)[ring]
    row = np.arange(len(ring))
    order = np.where(backward, (2 * first + count - 1)[ring] - row, row)
    start, end = np.where(backward, end, start)[order], np.where(backward, start, end)[order]
    bulge = np.where(backward, -bulge, bulge)[order]
    number = (row - opening[region])[order]
    weld = WELD * np.maximum(size, abs(distance))
    keep = np.abs(end - start) > weld[region]
    ring = ring[keep]
    sources = Sources(start[keep], end[keep], bulge[keep], region[keep], ring, _following(ring), number[keep])
    return sources, origin, weld


def _following(ring: Ints) -> Ints:
    """Return for rows in the order of their rings the row that comes next, round each ring."""
    row = np.arange(1, len(ring) + 1)
    last = np.append(ring[1:] != ring[:-1], True)[: len(ring)]
    row[last] = np.searchsorted(ring, ring[last])
    return row


def _check_simple(s: Sources, origin: Complexes, weld: Floats) -> None:
    """Refuse regions whose outlines cross or touch themselves or each other."""
    apart = (s.bulge == 0) & (s.bulge[s.following] == 0)
    along, ahead = s.end - s.start, (s.end - s.start)[s.following]
    back = (dot(along, ahead) < 0) & (np.abs(cross(along, ahead)) <= 1e-9 * np.abs(along) * np.abs(ahead))
    apart &= ~back
    row, place = contacts(s.table(slice(None)), s.region, s.following, apart, float(weld.min()))
    if len(row):
        x, y = place[0] + to_points(origin[s.region[row[:1]]])[0]
        raise GeometryError.because(
            "GEO-046",
            f"an outline crosses or touches itself near {x:.3f}, {y:.3f} mm, so it has no inside",
        )


def _check_holes(regions: Sequence[Sequence[Chain]]) -> None:
    """Refuse holes that are not inside their outline, or inside another hole."""
    for outer, *holes in regions:
        for k, hole in enumerate(holes):
            point = hole.points[:1]
            others = (other for i, other in enumerate(holes) if i != k)
            if not contains(outer, point)[0] or any(contains(other, point)[0] for other in others):
                x, y = point[0]
                raise GeometryError.because(
                    "GEO-047", f"a hole is not inside its outline, or in another hole, at {x:.3f}, {y:.3f} mm"
                )


def _add_plain(
    out: list[list[Parallel]], pieces: Pieces, s: Sources, origin: Complexes, distance: float, weld: Floats
) -> None:
    """Add the rings of regions whose raw parallel meets itself nowhere: each is all right, or not at all."""
    if not len(pieces):
        return
    ring_start = np.flatnonzero(np.append(True, pieces.ring[1:] != pieces.ring[:-1]))
    ring_stop = np.append(ring_start[1:], len(pieces))
    region = pieces.region[ring_start]
    probe = midpoint(pieces.table(ring_start))
    # Every ring's probe against every source of its region.
    low, high = np.searchsorted(s.region, region), np.searchsorted(s.region, region, side="right")
    many = high - low
    which = np.repeat(np.arange(len(region)), many)
    row = np.arange(len(which)) - np.repeat(np.cumsum(many) - many, many) + low[which]
    near = np.minimum.reduceat(distance_pairs(s.table(row), probe[which])[0], np.cumsum(many) - many)
    good = near >= abs(distance) - SLACK * weld[region]
    points, bulge = to_points(pieces.start + origin[pieces.region]), pieces.bulge
    source = np.where(pieces.source >= 0, s.number[pieces.source], -1)
    for column in (points, bulge, source):
        column.flags.writeable = False
    for k in np.flatnonzero(good).tolist():
        part = slice(ring_start[k], ring_stop[k])
        out[region[k]].append(Parallel(Chain(points[part], bulge[part]), source[part]))
