"""Rings: the outline of cloth with its allowance, at the same distance from the seam line all round.

At a corner both sides are carried on to where they meet (a mitre), as long as that is no farther
than LONGEST_MITRE allowances from the seam corner. A sharper point is cut off square across its
bisector, one allowance past the seam corner: a spike of cloth would only be in the way (common
practice: a scant 1/4 in past the tip). An allowance never scales with the block's size.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.geometry.chain import Chain
from convert.geometry.measure import area, end_tangent, start_tangent
from convert.geometry.offset import Corners, offset_many, offset_region
from convert.geometry.plane import to_complex, to_points

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from convert.geometry.offset import Parallel
    from convert.geometry.plane import Complexes

LONGEST_MITRE = 2.05
"""In allowances. The mitre of 60 degrees is 2 long: points of 60 degrees, like blunter ones, stay whole."""
PAST_TIP = 1.0
"""In allowances: where sharper points are cut off, past the seam corner."""
_SAME = 1e-9
"""Vertices nearer than this share of the allowance are one."""


@dataclass(frozen=True, slots=True, eq=False)
class Ring:
    """The outlines of one shape with its allowance.

    `outer` runs counter-clockwise, `holes` (what is left of the shape's own holes) clockwise.
    `swallowed` (n,) says which segments of the shape's outline have no counterpart in `outer`,
    because the allowance fills the hollow they lie in.
    """

    outer: Chain
    holes: tuple[Chain, ...]
    swallowed: NDArray[np.bool_]


def rings(shapes: Sequence[tuple[Chain, Sequence[Chain]]], allowance: float) -> tuple[Ring, ...]:
    """Return the ring of each shape (a counter-clockwise outline and its holes) at `allowance` mm.

    *Errors*: GeometryError when an outline crosses itself.
    """
    corners = Corners.trimmed(LONGEST_MITRE * allowance)
    plain = iter(offset_many([outline for outline, holes in shapes if not holes], allowance, corners))
    found = []
    for outline, holes in shapes:
        parallels = offset_region(outline, holes, allowance, corners) if holes else next(plain)
        outer = _outer(parallels)
        shortened = _tips_cut(outline, outer.chain, allowance)
        if shortened is None:
            parallels = offset_region(outline, holes, allowance, Corners.trimmed(PAST_TIP * allowance))
            outer = _outer(parallels)
            shortened = outer.chain
        swallowed = np.ones(len(outline), dtype=np.bool_)
        swallowed[outer.source[(outer.source >= 0) & (outer.source < len(outline))]] = False
        left = tuple(p.chain for p in parallels if p is not outer and (p.source >= len(outline)).any())
        found.append(Ring(shortened, left, swallowed))
    return tuple(found)


def _outer(parallels: Sequence[Parallel]) -> Parallel:
    """Return the one that runs round all others: what is outside a shape has one outer outline."""
    return max(parallels, key=lambda parallel: area(parallel.chain))


def _tips_cut(outline: Chain, ring: Chain, allowance: float) -> Chain | None:
    """Return `ring` with its long points cut one allowance past the corner; None if that is not plain.

    `ring` has every long point cut at LONGEST_MITRE, in the way of `Corners.trimmed`: a side runs on
    along its tangent to q1, then square across to q2. It is not plain when another part of the ring
    runs into a point.
    """
    table = outline.segments
    arrive = to_complex(np.roll(end_tangent(table), 1, axis=0))
    leave = to_complex(start_tangent(table))
    half = np.angle(leave / arrive) / 2
    with np.errstate(divide="ignore"):
        long = np.flatnonzero((half > 0.0) & (1.0 / np.cos(half) > LONGEST_MITRE))
    if not len(long):
        return ring
    at, half, arrive, leave = to_complex(outline.points[long]), half[long], arrive[long], leave[long]
    foot_1, foot_2 = at - 1j * allowance * arrive, at - 1j * allowance * leave

    def cut(reach: float) -> tuple[Complexes, Complexes]:
        along = allowance * (reach - np.cos(half)) / np.sin(half)
        return foot_1 + arrive * along, foot_2 - leave * along

    far_1, far_2 = cut(LONGEST_MITRE)
    near_1, near_2 = cut(PAST_TIP)
    points = to_complex(ring.points).copy()
    same = _SAME * allowance + 1e-12 * float(np.abs(points).max())
    for k in range(len(long)):
        first = int(np.argmin(np.abs(points - far_1[k])))
        second = (first + 1) % len(points)
        before, after = (first - 1) % len(points), (second + 1) % len(points)
        whole = abs(points[first] - far_1[k]) <= same and abs(points[second] - far_2[k]) <= same
        straight = not ring.bulge[[before, first, second]].any()
        # The sides are there from their feet on.
        whole &= ((points[before] - foot_1[k]) * np.conj(arrive[k])).real <= same
        whole &= ((points[after] - foot_2[k]) * np.conj(leave[k])).real >= -same
        if not (whole and straight):
            return None
        points[first], points[second] = near_1[k], near_2[k]
    return Chain(to_points(points), ring.bulge)
