"""Shapes as straight-sided polygons that hold the true shape, for finding places; never for judging them.

*Words.* A **stand-in** is a polygon, counter-clockwise, that holds an outline and is nowhere farther from
it than REACH. A **face** is a side of a polygon as seen from one direction: upper faces are seen from
above, lower ones from below; likewise right and left.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import ceil, pi
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.nest.model import Rotation
from convert.geometry.measure import area, radius, start_tangent, sweep
from convert.geometry.plane import cross, to_complex, unit
from convert.geometry.similarity import Similarity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.cutting.nest.model import Item
    from convert.geometry.chain import Chain, Floats
    from convert.geometry.plane import Complexes, Ints

REACH = 0.1
"""How far a stand-in may reach beyond its outline, mm."""
CHAMFER = pi / 8.0
"""A gap's round corner is stood in for by tangents in such steps: at most 2 % of the gap too much."""
NEAR = 1.25e-7
"""A profile is looked at so far (mm) beside its corners: overlaps narrower than twice that are none."""
FAR = 1e7
"""How far away (mm) a profile is where there is nothing."""
SOME = 100
"""The pairs of so many faces are remembered; those of more would take much memory."""
SAME = 1e-6
"""Corners nearer than this (mm) are one."""


@dataclass(frozen=True, slots=True, eq=False)
class Faces:
    """Sides (n,) that are functions of u: from (u0, v0) to (u1, v1) with u0 < u1."""

    u0: Floats
    v0: Floats
    u1: Floats
    v1: Floats

    def shifted(self, u: float, v: float) -> Faces:
        """Return the faces moved by (u, v)."""
        return Faces(self.u0 + u, self.v0 + v, self.u1 + u, self.v1 + v)

    def between(self, low: float, high: float) -> Faces:
        """Return the faces of which something lies between two places."""
        keep = (self.u1 > low) & (self.u0 < high)
        return Faces(self.u0[keep], self.v0[keep], self.u1[keep], self.v1[keep])

    @staticmethod
    def together(parts: Sequence[Faces]) -> Faces:
        """Return all faces in one table."""
        return Faces(
            np.concatenate([part.u0 for part in parts]),
            np.concatenate([part.v0 for part in parts]),
            np.concatenate([part.u1 for part in parts]),
            np.concatenate([part.v1 for part in parts]),
        )


@dataclass(frozen=True, eq=False)
class Profile:
    """The top of something as a function of u, which may jump: its corners, and values close beside them."""

    knots: Floats
    places: Floats
    values: Floats

    def at(self, u: Floats) -> Floats:
        """Return the values at `u`, of any shape; not meant for the corners themselves."""
        out: Floats = np.interp(u, self.places, self.values, left=-FAR, right=-FAR)
        return out

    @cached_property
    def beside(self) -> tuple[Floats, Floats]:
        """Places a little farther beside its corners than those it knows, and its values there."""
        u = np.add.outer((-2.0 * NEAR, 2.0 * NEAR), self.knots).ravel()
        return u, self.at(u)


@dataclass(frozen=True, eq=False)
class Kind:
    """An item on one of its hands.

    `drawn` is the item's outline, `outline` the same on this hand and `corners` its stand-in; `demand` copies
    are needed for one block. A `fixed` kind is a fixture: `demand` copies are needed on every sheet.
    """

    number: int
    item: int
    flipped: bool
    demand: int
    drawn: Chain
    outline: Chain
    corners: Complexes
    rotation: Rotation
    fixed: bool = False

    @cached_property
    def area(self) -> float:
        """The true area, mm²."""
        return abs(area(self.outline))

    @cached_property
    def centre(self) -> complex:
        """The middle of the stand-in's box."""
        z = self.corners
        return complex(z.real.min() + z.real.max(), z.imag.min() + z.imag.max()) / 2.0

    def may_turn(self, angle: float) -> bool:
        """Tell whether the shape may be turned by `angle`."""
        allowed = self.rotation.angles
        if allowed is None:
            return True
        step = 2.0 * pi / len(allowed)
        return abs(angle / step - round(angle / step)) * step < 1e-9

    def turn_and_shift(self, angle: float, shift: complex) -> Similarity:
        """Return the map from the item's outline: the flip, if any, then the turn, then the shift."""
        turn = Similarity.turn(angle, flipped=self.flipped)
        return Similarity.shift(shift.real, shift.imag).after(turn)


def kinds_of(items: Sequence[Item], rotation: Rotation, fixed: Sequence[Item] = ()) -> tuple[Kind, ...]:
    """Return the kinds that one block needs, in the order of the items, as they are before reversed.

    Those of the fixtures follow.
    """
    kinds: list[Kind] = []
    for number, item in enumerate(items):
        for flipped, demand in ((False, item.count), (True, item.reversed_count)):
            if demand:
                outline = Similarity(flipped=flipped).outline(item.outline)
                turning = item.rotation or rotation
                corners = stand_in(outline)
                kind = Kind(len(kinds), number, flipped, demand, item.outline, outline, corners, turning)
                kinds.append(kind)
    for number, item in enumerate(fixed):
        kind = Kind(
            number=len(kinds),
            item=number,
            flipped=False,
            demand=item.count,
            drawn=item.outline,
            outline=item.outline,
            corners=stand_in(item.outline),
            rotation=Rotation(0.0),
            fixed=True,
        )
        kinds.append(kind)
    return tuple(kinds)


def stand_in(outline: Chain, reach: float = REACH) -> Complexes:
    """Return the corners of a polygon that holds a counter-clockwise outline and is within `reach` of it.

    An arc that bows outward is stood in for by tangents, one that bows inward by chords.
    *Source*: tangents at steps of angle a meet at r / cos(a / 2); chords have the sagitta r (1 - cos(a / 2)).
    """
    table = outline.segments
    r, turn = radius(table), sweep(table)
    begin, along = to_complex(table.start), to_complex(start_tangent(table))
    corners: list[complex] = []
    for row in range(len(table)):
        corners.append(complex(begin[row]))
        if turn[row] == 0.0:
            continue
        most = 2.0 * np.arccos(max(r[row] / (r[row] + reach), 0.0))
        count = max(ceil(abs(turn[row]) / max(most, 1e-3)), 1)
        step = turn[row] / count
        centre = begin[row] + 1j * along[row] * np.copysign(r[row], turn[row])
        out = begin[row] - centre
        if turn[row] > 0.0:
            mids = (np.arange(count) + 0.5) * step
            corners += (centre + out * np.exp(1j * mids) / np.cos(step / 2.0)).tolist()
        else:
            corners += (centre + out * np.exp(1j * step * np.arange(1, count))).tolist()
    return plain(np.array(corners))


def plain(z: Complexes) -> Complexes:
    """Return a polygon's corners without those that are doubled or lie on a straight side."""
    for _ in range(2):
        z = z[np.abs(z - np.roll(z, 1)) > SAME]
        before, after = unit(z - np.roll(z, 1)), unit(np.roll(z, -1) - z)
        straight = (np.abs(cross(before, after)) < 1e-9) & ((before * after.conj()).real > 0.0)
        z = z[~straight]
    return z


def faces(z: Complexes, gap: float = 0.0) -> tuple[Faces, Faces]:
    """Return the upper faces of a counter-clockwise polygon, grown by `gap`, and the lower ones, by x."""
    p, q = _sides(z, gap)
    upper = _rising(q.real, q.imag, p.real, p.imag)
    p, q = z, np.roll(z, -1)
    return upper, _rising(p.real, p.imag, q.real, q.imag)


def side_faces(z: Complexes, gap: float = 0.0) -> tuple[Faces, Faces]:
    """Return the right faces of a counter-clockwise polygon, grown by `gap`, and the left ones, by y."""
    p, q = _sides(z, gap)
    right = _rising(p.imag, p.real, q.imag, q.real)
    p, q = z, np.roll(z, -1)
    return right, _rising(q.imag, q.real, p.imag, p.real)


def upper_profile(sides: Faces) -> Profile:
    """Return the top of faces as seen from above."""
    knots, places, level, slope = _knots(sides)
    return Profile(knots, places, _values(sides, places, level, slope).max(axis=1, initial=-FAR))


def _knots(sides: Faces) -> tuple[Floats, Floats, Floats, Floats]:
    """Return where the top of faces may bend, places close beside, and each face's level at 0 and slope."""
    slope = (sides.v1 - sides.v0) / (sides.u1 - sides.u0)
    level = sides.v0 - slope * sides.u0
    # Faces that were moved out may cross.
    i, j = _pairs(len(slope)) if len(slope) <= SOME else np.triu_indices(len(slope), 1)
    with np.errstate(divide="ignore", invalid="ignore"):
        cross_u = (level[j] - level[i]) / (slope[i] - slope[j])
    inside = cross_u > np.maximum(sides.u0[i], sides.u0[j])
    inside &= cross_u < np.minimum(sides.u1[i], sides.u1[j])
    knots = np.unique(np.concatenate((sides.u0, sides.u1, cross_u[inside])))
    knots = knots[np.append(True, np.diff(knots) > 4.0 * NEAR)]
    return knots, np.add.outer(knots, (-NEAR, NEAR)).ravel(), level, slope


@lru_cache(maxsize=SOME)
def _pairs(count: int) -> tuple[Ints, Ints]:
    first, second = np.triu_indices(count, 1)
    first.flags.writeable = second.flags.writeable = False
    return first, second


def _values(sides: Faces, places: Floats, level: Floats, slope: Floats) -> Floats:
    """Return the height of each face (k) at each place (n, k), far down where it is not."""
    u = places[:, None]
    out: Floats = np.where((sides.u0 <= u) & (u <= sides.u1), level + slope * u, -FAR)
    return out


def seen_faces(sides: Faces, sign: float) -> Faces:
    """Return the faces of which something is seen from above (`sign` 1) or from below (-1)."""
    turned = Faces(sides.u0, sign * sides.v0, sides.u1, sign * sides.v1)
    _, places, level, slope = _knots(turned)
    value = _values(turned, places, level, slope)
    keep = np.unique(value.argmax(axis=1)[value.max(axis=1, initial=-FAR) > -FAR])
    return Faces(sides.u0[keep], sides.v0[keep], sides.u1[keep], sides.v1[keep])


def lower_profile(sides: Faces) -> Profile:
    """Return the bottom of faces as seen from below, upside down."""
    return upper_profile(Faces(sides.u0, -sides.v0, sides.u1, -sides.v1))


def rise(top: Profile, bottom: Profile, shift: Floats) -> Floats:
    """Return how far what has the profile `bottom`, moved by `shift` (m,), must rise to clear `top` (m,).

    The difference of two profiles is largest next to a corner of either. What is nowhere above the other need
    not rise: minus infinity.
    """
    (ends, below), (corners, above) = bottom.beside, top.beside
    s = shift[:, None]
    one = top.at(ends + s) + below
    other = above + bottom.at(corners - s)
    need: Floats = np.maximum(one.max(axis=1), other.max(axis=1))
    return np.where(need > -0.5 * FAR, need, -np.inf)


def _rising(u0: Floats, v0: Floats, u1: Floats, v1: Floats) -> Faces:
    seen = u1 > u0 + SAME
    return Faces(u0[seen], v0[seen], u1[seen], v1[seen])


def _sides(z: Complexes, gap: float) -> tuple[Complexes, Complexes]:
    """Return starts and ends of a polygon's sides, moved out by `gap`, with tangents round outward corners.

    Sides moved out may cross at inward corners; what sticks out there is within the gap of a side.
    """
    p, q = z, np.roll(z, -1)
    if gap <= 0.0:
        return p, q
    out = -1j * unit(q - p)
    turn = np.angle(np.roll(out, -1) / out)
    starts: list[complex] = (p + gap * out).tolist()
    ends: list[complex] = (q + gap * out).tolist()
    for corner in np.flatnonzero(turn > 0.0).tolist():
        count = max(ceil(turn[corner] / CHAMFER), 1)
        step = turn[corner] / count
        out_at = out[corner] * np.exp(1j * step * (np.arange(count) + 0.5))
        mids = q[corner] + out_at * gap / np.cos(step / 2.0)
        ends[corner] = complex(mids[0])
        starts[(corner + 1) % len(out)] = complex(mids[-1])
        starts += mids[:-1].tolist()
        ends += mids[1:].tolist()
    return np.array(starts), np.array(ends)
