"""The block's own tiling: whole blocks side by side as drawn, cut out by the sheet's edge.

Pieces of a block fit together without waste; so do many blocks. Where pieces must keep a gap, they move
apart: every piece keeps its turn, and its middle moves away from the block's by one common factor.
"""

from __future__ import annotations

from collections import Counter
from math import pi
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.nest.beds import EDGE, Spot
from convert.cutting.nest.courses import Pattern, motif_patterns
from convert.geometry.index import box_pairs
from convert.geometry.plane import cross

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from convert.cutting.nest.shapes import Kind
    from convert.geometry.chain import Floats
    from convert.geometry.plane import Complexes, Ints
    from convert.geometry.similarity import Similarity

MOST_PATTERNS = 10
"""So many patterns of whole blocks are cut out."""
MOST_PHASES = 48
"""So many places of a pattern are looked at, along the sheet and across."""
MOST_APART = 0.6
"""A block that must grow by more than this share is not laid as drawn: it would be mostly gaps."""
CONVERGED = 12
"""So often the factor by which pieces move apart is improved."""


def block_spots(kinds: Sequence[Kind], drawn: Sequence[tuple[int, Similarity]]) -> tuple[Spot, ...] | None:
    """Return the copies of one block as drawn; None where they are not just what one block needs."""
    kinds = [kind for kind in kinds if not kind.fixed]
    number = {(kind.item, kind.flipped): kind.number for kind in kinds}
    spots = []
    for item, placement in drawn:
        kind = number.get((item, placement.flipped))
        if kind is None:
            return None
        angle = float(np.arctan2(placement.b, placement.a))
        spots.append(Spot(kind, angle, complex(placement.dx, placement.dy)))
    counts = Counter(spot.kind for spot in spots)
    return tuple(spots) if all(counts[kind.number] == kind.demand for kind in kinds) else None


def parted(kinds: Sequence[Kind], spots: Sequence[Spot], gap: float) -> tuple[Spot, ...] | None:
    """Return the copies of a block moved apart until all keep the gap; None where that does not do it.

    They may overlap as drawn. Stand-ins keep it with room to spare; pieces that hook into each other may
    never come free.
    """
    if gap <= 0.0:
        return tuple(spots)
    shapes = [kinds[spot.kind].corners * np.exp(1j * spot.angle) for spot in spots]
    middle = np.array([z.mean() for z in shapes]) + np.array([spot.at for spot in spots])
    reach = float(np.ptp(middle.real) + np.ptp(middle.imag))
    if reach <= 0.0:
        return tuple(spots)
    more = min(4.0 * gap / min(float(np.abs(z - z.mean()).min()) for z in shapes), MOST_APART)
    best: tuple[Spot, ...] | None = None
    for _ in range(CONVERGED):
        away = (more * (middle - middle.mean())).tolist()
        moved = tuple(s._replace(at=s.at + by) for s, by in zip(spots, away, strict=True))
        least = _least_distance([z + s.at for z, s in zip(shapes, moved, strict=True)], 2.0 * gap)
        if least >= gap * (1.0 - 1e-9):
            best = moved
            if least <= gap * 1.002:
                break
        if least <= 0.0 and best is not None:
            break
        more *= max(gap / least, 0.4) * 1.0005 if least > 0.0 else 2.0
        if more > MOST_APART:
            break
    return best


def _least_distance(polygons: Sequence[Complexes], within: float) -> float:
    """Return the least distance between polygons: 0 when two cross; more than `within` may be infinite."""
    boxes = np.array([(z.real.min(), z.imag.min(), z.real.max(), z.imag.max()) for z in polygons])
    i, j = box_pairs(boxes + 0.5 * within * np.array([-1.0, -1.0, 1.0, 1.0]))
    least = np.inf
    for a, b in zip(i.tolist(), j.tolist(), strict=True):
        p, q = polygons[a], polygons[b]
        least = min(least, _points_to_sides(p, q), _points_to_sides(q, p))
        if _crossing(p, q):
            return 0.0
    return float(least)


def _points_to_sides(points: Complexes, ring: Complexes) -> float:
    start, side = ring, np.roll(ring, -1) - ring
    w = points[:, None] - start
    t = np.clip((w * side.conj()).real / np.maximum(np.abs(side) ** 2, 1e-300), 0.0, 1.0)
    return float(np.abs(w - t * side).min())


def _crossing(p: Complexes, q: Complexes) -> bool:
    a, b = p[:, None], np.roll(p, -1)[:, None]
    c, d = q[None, :], np.roll(q, -1)[None, :]
    one = cross(b - a, c - a) * cross(b - a, d - a)
    other = cross(d - c, a - c) * cross(d - c, b - c)
    return bool(((one < 0.0) & (other < 0.0)).any())


def clear_of(polygons: Sequence[Complexes], other: Complexes, gap: float) -> NDArray[np.bool_]:
    """Tell which polygons keep the gap from another; of those over which its box reaches that is not said."""
    if not polygons:
        return np.ones(0, np.bool_)
    starts = np.cumsum([0, *map(len, polygons[:-1])])
    every = np.concatenate(polygons)
    x0, x1 = np.minimum.reduceat(every.real, starts), np.maximum.reduceat(every.real, starts)
    y0, y1 = np.minimum.reduceat(every.imag, starts), np.maximum.reduceat(every.imag, starts)
    wide = np.minimum(x1, other.real.max()) - np.maximum(x0, other.real.min())
    tall = np.minimum(y1, other.imag.max()) - np.maximum(y0, other.imag.min())
    clear: NDArray[np.bool_] = np.minimum(wide, tall) <= -gap
    for n in np.flatnonzero(~clear).tolist():
        clear[n] = _keeps(polygons[n], other, gap, wide[n], tall[n])
    return clear


def _keeps(polygon: Complexes, other: Complexes, gap: float, wide: float, tall: float) -> bool:
    """Tell whether two polygons keep the gap whose boxes have so much in common, but not all of one."""
    for z in (polygon, other):
        if wide > np.ptp(z.real) - EDGE and tall > np.ptp(z.imag) - EDGE:
            return False
    near = min(_points_to_sides(polygon, other), _points_to_sides(other, polygon))
    return near >= gap - EDGE and not _crossing(polygon, other)


def block_patterns(
    kinds: Sequence[Kind], spots: Sequence[Spot], gap: float, quarter: int, most_angles: int
) -> list[Pattern]:
    """Return the patterns of whole blocks, densest first, on a sheet turned by `quarter` right angles."""
    found: list[Pattern] = []
    for angle in _angles(kinds, spots, quarter)[:most_angles]:
        turned = np.exp(1j * angle)
        now = [(kinds[s.kind], s.angle + angle, s.at * turned) for s in spots]
        copies = tuple((kind, kind.corners * np.exp(1j * turn), turn, at) for kind, turn, at in now)
        half = all(kind.may_turn(turn + quarter * pi / 2.0 + pi) for kind, turn, _ in now)
        found += motif_patterns(copies, gap, half=half)
    found.sort(key=lambda pattern: (-round(pattern.density, 6), len(pattern.parts)))
    return found[:MOST_PATTERNS]


def _angles(kinds: Sequence[Kind], spots: Sequence[Spot], quarter: int) -> list[float]:
    """Return the turns that lay a side of the block's convex hull, or its normal, along x."""
    corners = np.concatenate([kinds[s.kind].corners * np.exp(1j * s.angle) + s.at for s in spots])
    hull = _hull(corners)
    sides = np.roll(hull, -1) - hull
    order = np.argsort(-np.round(np.abs(sides), 4), kind="stable")
    found: list[float] = []
    for side in sides[order].tolist():
        for way in (side, 1j * side):
            angle = -float(np.angle(way)) % pi
            if any(abs((angle - other + pi / 2.0) % pi - pi / 2.0) < 1e-6 for other in found):
                continue
            if all(kinds[s.kind].may_turn(s.angle + angle + quarter * pi / 2.0) for s in spots):
                found.append(angle)
    return found


def _hull(points: Complexes) -> Complexes:
    """Return the corners of the convex hull, counter-clockwise.

    *Source*: the monotone chain of Andrew 1979 (from memory).
    """
    ordered = sorted(set(np.round(points, 7).tolist()), key=lambda z: (z.real, z.imag))

    def half(way: list[complex]) -> list[complex]:
        chain: list[complex] = []
        for z in way:
            while len(chain) > 1 and ((chain[-1] - chain[-2]).conjugate() * (z - chain[-2])).imag <= 1e-7:
                chain.pop()
            chain.append(z)
        return chain[:-1]

    return np.array(half(ordered) + half(ordered[::-1]))


class Cut:
    """A pattern of whole blocks cut out by a rectangle, at the phase that yields most whole sets."""

    def __init__(self, kinds: Sequence[Kind], pattern: Pattern, width: float, height: float) -> None:
        self._pattern = pattern
        boxes = np.array([part.box for part in pattern.parts])
        of_kind = np.array([part.kind for part in pattern.parts])
        kinds = [kind for kind in kinds if not kind.fixed]
        demand = np.array([kind.demand for kind in kinds], dtype=np.float64)
        pitch, step = pattern.pitch, pattern.step
        low, high = boxes[:, 1].min(), boxes[:, 3].max()
        reach = int((height + 2.0 * (high - low)) / step.imag) + 2
        courses = np.arange(-reach, reach + 1)
        self.spots: tuple[Spot, ...] = ()
        best: tuple[float, float, float] = (-1.0, 0.0, 0.0)
        for up in _spread(np.mod(-boxes[:, 1], step.imag)):
            lift = up + courses[:, None] * step.imag
            inside = (lift + boxes[:, 1] >= -EDGE) & (lift + boxes[:, 3] <= height + EDGE)
            course, part = np.nonzero(inside)
            if not len(part):
                continue
            along = courses[course] * step.real
            phases = _spread(np.mod(-(boxes[part, 0] + along), pitch))
            origin = phases[:, None] + along
            first = np.ceil((-boxes[part, 0] - origin) / pitch - EDGE / pitch)
            last = np.floor((width - boxes[part, 2] - origin) / pitch + EDGE / pitch)
            number = np.maximum(last - first + 1.0, 0.0)
            counts = np.stack([number[:, of_kind[part] == kind.number].sum(axis=1) for kind in kinds], axis=1)
            score = np.floor(counts / demand).min(axis=1) + 1e-3 * (counts / demand).min(axis=1)
            row = int(np.argmax(np.round(score, 9)))
            if score[row] > best[0] + 1e-9:
                best = (float(score[row]), float(phases[row]), float(up))
        if best[0] >= 0.0:
            self.spots = tuple(self._laid(courses, best[1], best[2], width, height))

    def _laid(self, courses: Ints, phase: float, up: float, width: float, height: float) -> list[Spot]:
        spots = []
        pitch, step = self._pattern.pitch, self._pattern.step
        for j in courses.tolist():
            origin = complex(phase + j * step.real, up + j * step.imag)
            for part in self._pattern.parts:
                left, low, right, high = part.box
                if low + origin.imag < -EDGE or high + origin.imag > height + EDGE:
                    continue
                first = int(np.ceil((-left - origin.real - EDGE) / pitch))
                last = int(np.floor((width - right - origin.real + EDGE) / pitch))
                spots += [
                    Spot(part.kind, part.angle, part.at + origin + k * pitch) for k in range(first, last + 1)
                ]
        return sorted(spots, key=lambda s: (s.kind, round(s.at.imag, 4), round(s.at.real, 4)))


def _spread(phases: Floats) -> Floats:
    unique = np.unique(np.round(phases, 9))
    if len(unique) <= MOST_PHASES:
        return unique
    return unique[np.linspace(0, len(unique) - 1, MOST_PHASES).astype(np.intp)]
