"""What can be added to a shape: holes at corners, a removal hole, centre lines, a grain arrow.

All of it is left out where it doesn't fit, and none of it moves the finished outline.
"""

from __future__ import annotations

from math import cos, hypot, pi, sin
from typing import TYPE_CHECKING

import numpy as np

from convert.geometry.chain import Chain, Segments
from convert.geometry.edit import part
from convert.geometry.intersect import intersect
from convert.geometry.measure import boxes, centroid, lengths, nearest, point_at, radius, second_moments
from convert.geometry.offset import Corners, offset

if TYPE_CHECKING:
    from collections.abc import Sequence

    from convert.block.model import Template
    from convert.geometry.chain import Floats

JUNCTION_MM = 1.2
"""Diameter of a junction-point hole: the point of a pencil goes through (1 to 1.5 mm, from memory)."""
REMOVAL_MM = 5.0
"""Diameter of the hole by which a paper is lifted out when the block is done (3 to 6 mm, from memory)."""
REMOVAL_RIM_MM = 4.0
"""The least card between a removal hole and the outline: stitches must not reach it (our own choice)."""
WEB_MM = 1.0
"""The narrowest strip that stays whole in card (from memory)."""
CORNER = pi / 360.0
"""An outline that turns by less than half a degree has no corner there."""
NECK_MM = 0.3
"""The least width with which an opening goes over into the hole at its corner (our own choice)."""
ARROW_MM = (8.0, 30.0)
"""Shortest and longest grain arrow."""
HEAD_MM = 2.0
PLACES = 8
"""So many places along each side of a frame are tried for words."""
WORDS_MM = 6.0
"""Radius of the circle that an arrow leaves to a label, where there is so much."""
ALIKE = 1e-3
"""A shape whose second moments differ by less than this share is as wide one way as the other."""


def circle(x: float, y: float, diameter: float) -> Chain:
    """Return a circle as a hole: two half circles, clockwise."""
    r = 0.5 * diameter
    return Chain(np.array([[x - r, y], [x + r, y]]), np.array([-1.0, -1.0]))


def removal_hole(template: Template) -> Chain | None:
    """Return a hole at the widest place of a paper, or None where the largest circle has no room for it."""
    if template.clearance < 0.5 * REMOVAL_MM + REMOVAL_RIM_MM:
        return None
    return circle(*template.at, REMOVAL_MM)


def with_corner_holes(outline: Chain, corners: Floats, frame: float, kerf: float = 0.0) -> tuple[Chain, int]:
    """Return an opening with a round hole about each corner that has room, and how many have none.

    `corners` are the interior angles of `outline`, `frame` (mm) the width of what surrounds the
    opening, `kerf` (mm) what the tool takes away: it must get through to the hole. The holes are part
    of the one cut: it leaves the outline a hole's radius before the corner, goes round the corner
    outside the shape, and comes back as far behind it.
    """
    r = 0.5 * JUNCTION_MM
    table = outline.segments
    count = len(outline)
    real = np.abs(corners - pi) > CORNER
    neck = 2.0 * r * np.abs(np.sin(0.5 * corners)) > max(NECK_MM, 1.5 * kerf)
    chord = np.hypot(*(table.end - table.start).T)
    room = neck & (chord > 3.0 * r) & (np.roll(chord, 1) > 3.0 * r) & (frame >= r + WEB_MM)
    for i in np.flatnonzero(real & room).tolist():
        others = np.ones(count, dtype=np.bool_)
        others[[i, i - 1]] = False
        if others.any():
            rest = table.take(others)
            room[i] = float(nearest(rest, outline.points[i : i + 1])[0][0]) > 2.0 * r
    pierced = real & room
    if not pierced.any():
        return outline, int((real & ~room).sum())
    # An arc of radius R whose chord is r turns through 2 asin(r / 2R); a line is passed evenly.
    long = lengths(table)
    with np.errstate(divide="ignore", invalid="ignore"):
        passed = np.where(
            table.is_arc, 2.0 * radius(table) * np.arcsin(np.minimum(r / (2.0 * radius(table)), 1.0)), r
        )
    share = passed / long
    sides = part(
        table, np.where(pierced, share, 0.0), np.where(np.roll(pierced, -1), 1.0 - share, np.ones(count))
    )
    points: list[Floats] = []
    bulges: list[float] = []
    for i in range(count):
        if pierced[i]:
            middle, first, last = outline.points[i], sides.end[i - 1], sides.start[i]
            a, b = complex(*(first - middle)), complex(*(last - middle))
            sweep = float(np.angle(b / a)) % (2.0 * pi)
            half = a * np.exp(0.5j * sweep)
            points += [first, middle + np.array([half.real, half.imag])]
            bulges += [np.tan(sweep / 8.0)] * 2
        points.append(sides.start[i])
        bulges.append(float(sides.bulge[i]))
    return Chain(np.array(points), np.array(bulges)), int((real & ~room).sum())


def centre_lines(outline: Chain, opening: Chain, outer: Chain) -> tuple[Chain, ...]:
    """Return ticks across a frame, from its opening to its outside, where its two centre lines cross it.

    `outline` is the finished shape, `opening` that with holes at its corners.

    They run through the centroid: along the shape and across it, or, where it is as wide one way
    as the other, to the corner farthest away and square to that.
    """
    x, y = centroid(outline)
    xx, yy, xy = second_moments(outline)
    if hypot(xx - yy, 2.0 * xy) > ALIKE * (xx + yy):
        # The long principal axis of the matrix with the integrals of x^2, x y and y^2.
        angle = 0.5 * float(np.arctan2(2.0 * xy, yy - xx))
    else:
        away = outline.points - (x, y)
        far = np.round(np.hypot(*away.T), 6)
        angle = float(np.arctan2(*away[int(np.argmax(far)), ::-1]))
    ticks = []
    for turn in (angle, angle + 0.5 * pi):
        way = (cos(turn), sin(turn))
        inner = _crossings((opening,), (x, y), way)
        beyond = _crossings((outer,), (x, y), way)
        for side in (-1.0, 1.0):
            begin = float((side * inner).max(initial=0.0))
            end = float((side * beyond).max(initial=0.0))
            if 0.0 < begin < end:
                ends = np.array([[x, y]]) + side * np.outer((begin, end), way)
                ticks.append(Chain(ends, np.zeros(1), closed=False))
    return tuple(ticks)


def off_marks(
    widest: tuple[float, float], outline: Chain, cuts: Sequence[Chain], marks: Sequence[Chain]
) -> tuple[float, float, float]:
    """Return x, y and clearance of a place for words in a frame, off what is cut and drawn there.

    It is the `widest` place of the frame, or one in the middle of a side if that has more room: half-way
    between the finished `outline` and what surrounds it.
    """
    outer, opening = cuts
    frame = float(nearest(outer.segments, outline.points)[0].min())
    (middle, *_) = offset(outline, 0.5 * frame, Corners.rounded())
    table = middle.chain.segments
    share = (np.arange(PLACES) + 0.5) / PLACES
    row = np.repeat(np.arange(len(table)), PLACES)
    on_side = point_at(table.take(row), np.tile(share, len(table)))
    places = np.vstack((widest, on_side))
    lines = [chain.segments for chain in (outer, opening, *marks)]
    every = Segments(
        np.concatenate([line.start for line in lines]),
        np.concatenate([line.end for line in lines]),
        np.concatenate([line.bulge for line in lines]),
    )
    room = nearest(every, places)[0]
    best = int(np.argmax(np.round(room, 6)))
    return float(places[best, 0]), float(places[best, 1]), float(room[best])


def grain_arrow(
    template: Template, spot: tuple[float, float], angle_rad: float
) -> tuple[tuple[Chain, ...], float] | None:
    """Return an arrow with two heads at `spot` along `angle_rad`, and the free radius left for words.

    It lies in the middle of the line through `spot` that is inside the finished outline and outside
    the circle kept for words; None where that line is too short.
    """
    way = np.array([cos(angle_rad), sin(angle_rad)])
    kept = words_circle(template)
    found = _crossings((template.outline, *template.holes, kept), spot, (float(way[0]), float(way[1])))
    before, after = found[found < 0.0], found[found > 0.0]
    if not (len(before) and len(after)):
        return None
    low, high = float(before.max()), float(after.min())
    size = min(0.8 * (high - low), ARROW_MM[1])
    if size < ARROW_MM[0]:
        return None
    middle = np.array(spot) + 0.5 * (low + high) * way
    ends = middle + np.outer((-0.5 * size, 0.5 * size), way)
    shaft = Chain(ends, np.zeros(1), closed=False)
    heads = [_head(ends[0], -way), _head(ends[1], way)]
    along = float(np.clip((np.array(template.at) - middle) @ way, -0.5 * size, 0.5 * size))
    away = hypot(*(middle + along * way - template.at)) - HEAD_MM / 2.0
    return (shaft, *heads), min(template.clearance, away)


def words_circle(template: Template) -> Chain:
    """Return the circle at the widest place that a grain arrow leaves to words, as a hole."""
    return circle(*template.at, 2.0 * min(0.5 * template.clearance, WORDS_MM))


def _head(tip: Floats, way: Floats) -> Chain:
    """Return an arrow's head: 30 degrees to either side of the shaft."""
    arms = -HEAD_MM * complex(*way) * np.exp(np.array([1j, -1j]) * pi / 6.0) + complex(*tip)
    points = np.array([[arms[0].real, arms[0].imag], tip, [arms[1].real, arms[1].imag]])
    return Chain(points, np.zeros(2), closed=False)


def _crossings(chains: Sequence[Chain], at: tuple[float, float], way: tuple[float, float]) -> Floats:
    """Return where the line through `at` along a unit vector meets closed chains, as signed distances."""
    start = np.concatenate([chain.segments.start for chain in chains])
    end = np.concatenate([chain.segments.end for chain in chains])
    table = Segments(start, end, np.concatenate([chain.bulge for chain in chains]))
    frame = boxes(table)
    far = 1.0 + hypot(*(np.maximum(frame[:, 2:].max(axis=0), at) - np.minimum(frame[:, :2].min(axis=0), at)))
    ray = np.outer((-far, far), way) + np.array(at)
    line = Segments(np.tile(ray[0], (len(table), 1)), np.tile(ray[1], (len(table), 1)), np.zeros(len(table)))
    meetings = intersect(table, line, 1e-9 * far)
    there = meetings.points[np.arange(2) < meetings.count[:, None]]
    return np.sort((there - at) @ np.array(way))
