"""Courses: one kind laid edge to edge in rows, as bricks are.

*Words.* A **motif** is one copy, or a copy and its half-turned partner. A **course** is a row of motifs at
equal distances, the **pitch**; the next course is the same one moved by the **step**. A **pattern** is
a motif with its pitch and its step; it fills the plane.

Pitch and step come from sliding straight-sided stand-ins against each other until they touch, which is
exact: along the row for the pitch, and down onto the course below for the step, from every place along
the row at which that could be lowest.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, pi
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.nest.shapes import (
    SAME,
    Faces,
    faces,
    lower_profile,
    plain,
    rise,
    seen_faces,
    side_faces,
    stand_in,
    upper_profile,
)

if TYPE_CHECKING:
    from convert.cutting.nest.shapes import Kind
    from convert.geometry.chain import Floats
    from convert.geometry.plane import Complexes

MOST_PLACES = 96
"""So many places along the row are tried for the next course."""
REFINED = 6
"""So many stretches between those places are searched for a lower one."""
STEPS_KEPT = 3
"""So many different steps are kept of each course."""
FINE_ANGLES = 4
"""Of a shape with many corners, so many directions are looked at closely: its rough stand-in's best."""
MOST_COURSES = 32
"""A pattern in which so many courses may reach into each other is left out."""
PER_ANGLE = 2
"""So many patterns are kept of each direction."""
ROUGH_SHARE = 0.01
"""A rough stand-in reaches beyond its shape by this share of the side of a square of the shape's area."""
MEANT = 1e-4
"""Shorter stretches (mm) between places are not searched."""
MANY_CORNERS = 9
"""A shape with more corners is laid along its sides only, not along its diagonals."""


@dataclass(frozen=True, slots=True)
class Part:
    """One copy of a motif: its turn and shift, and its box (left, low, right, high) there."""

    kind: int
    angle: float
    at: complex
    box: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Pattern:
    """A motif, repeated by `pitch` along x and by `step` from course to course; its share of the plane."""

    parts: tuple[Part, ...]
    pitch: float
    step: complex
    density: float


def patterns_of(
    kind: Kind, gap: float, quarter: int, keep: int, most: int, *, pairs: bool = True
) -> tuple[Pattern, ...]:
    """Return the best patterns of one kind, densest first, on a sheet turned by `quarter` right angles.

    At most `most` directions are tried along the row. Without `pairs`, no copy has a half-turned partner.
    """
    angles = angles_of(kind, quarter, most)
    if len(kind.corners) > MANY_CORNERS and len(angles) > FINE_ANGLES:
        rough = plain(stand_in(kind.outline, ROUGH_SHARE * kind.area**0.5))
        if len(rough) < len(kind.corners):
            best = [
                max(p.density for p in _of_one_angle(kind, rough, angle, gap, quarter, pairs=False))
                for angle in angles
            ]
            order = np.argsort(-np.round(best, 9), kind="stable")[:FINE_ANGLES]
            angles = [angles[i] for i in order.tolist()]
    found: list[Pattern] = []
    for angle in angles:
        found += _of_one_angle(kind, kind.corners, angle, gap, quarter, pairs=pairs)
    found.sort(key=lambda p: (-round(p.density, 9), len(p.parts), round(abs(p.step.real), 6)))
    # The densest pattern is not always the one of which most fits, so each direction keeps its best two.
    kept: list[Pattern] = []
    for pattern in found:
        same = [p for p in kept if abs(p.parts[0].angle - pattern.parts[0].angle) < 1e-9]
        if len(same) < PER_ANGLE and not any(_alike(pattern, other) for other in same):
            kept.append(pattern)
        if len(kept) == keep:
            break
    return tuple(kept)


def slanted(kind: Kind, gap: float, quarter: int, room: tuple[float, float]) -> tuple[Pattern, ...]:
    """Return patterns at the turn at which a shape that lies along neither side fits a sheet; or none."""
    width, height = room[::-1] if quarter else room
    spare = -1.0
    best = 0.0
    for angle in np.arange(0.0, pi, pi / 180.0).tolist():
        z = kind.corners * np.exp(1j * angle)
        room_left = min(width - float(np.ptp(z.real)), height - float(np.ptp(z.imag)))
        if room_left > spare + 1e-9 and kind.may_turn(angle + quarter * pi / 2.0):
            spare, best = room_left, angle
    if spare < 0.0:
        return ()
    return tuple(_of_one_angle(kind, kind.corners, best, gap, quarter, pairs=False)[:PER_ANGLE])


def angles_of(kind: Kind, quarter: int, most: int) -> list[float]:
    """Return the turns that lay a side, its normal or a diagonal along x, as far as turning is allowed."""
    allowed = kind.rotation.angles
    if allowed is not None:
        return [angle - quarter * pi / 2.0 for angle in allowed]
    z = kind.corners
    sides = np.roll(z, -1) - z
    order = np.argsort(-np.round(np.abs(sides), 4), kind="stable")[: most // 2]
    ways = np.concatenate((sides[order], 1j * sides[order]))
    if len(z) <= MANY_CORNERS:
        i, j = np.triu_indices(len(z), 1)
        ways = np.concatenate((ways, z[j] - z[i]))
    found: list[float] = []
    seen: set[bytes] = set()
    for way in ways.tolist():
        turned = z * (abs(way) / way)
        # A shape that looks the same after a turn is laid but once; so is one turned by a half.
        keys = [_look(turned), _look(-turned)]
        if not seen.intersection(keys):
            seen.update(keys)
            found.append(-float(np.angle(way)))
        if len(found) == most:
            break
    return found


def _look(z: Complexes) -> bytes:
    where = np.round(np.column_stack((z.real - z.real.min(), z.imag - z.imag.min())), 4) + 0.0
    return bytes(where[np.lexsort(where.T)].tobytes())


def _alike(one: Pattern, other: Pattern) -> bool:
    return (
        len(one.parts) == len(other.parts)
        and abs(one.pitch - other.pitch) < MEANT
        and abs(one.step - other.step) < MEANT
    )


Copies = tuple[tuple["Kind", "Complexes", float, complex], ...]
"""Copies of a motif: their kinds, turned polygons, turns and shifts."""


@dataclass(frozen=True, slots=True, eq=False)
class Motif:
    """Copies, and their faces as seen from each side: those above and on the right grown by the gap."""

    copies: Copies
    upper: Faces
    lower: Faces
    right: Faces
    left: Faces

    @classmethod
    def of(cls, copies: Copies, gap: float) -> Motif:
        """Return a motif of copies that keep the gap already."""
        upper, lower, right, left = [], [], [], []
        for _, z, _, at in copies:
            above, below = faces(z + at, gap)
            beyond, before = side_faces(z + at, gap)
            upper.append(above)
            lower.append(below)
            right.append(beyond)
            left.append(before)
        return cls(copies, _seen(upper, 1.0), _seen(lower, -1.0), _seen(right, 1.0), _seen(left, -1.0))

    def moved(self, by: complex) -> Motif:
        """Return the motif shifted."""
        x, y = by.real, by.imag
        return Motif(
            tuple((kind, z, angle, at + by) for kind, z, angle, at in self.copies),
            self.upper.shifted(x, y),
            self.lower.shifted(x, y),
            self.right.shifted(y, x),
            self.left.shifted(y, x),
        )

    def beside(self, other: Motif) -> Motif:
        """Return both together."""
        return Motif(
            (*self.copies, *other.copies),
            Faces.together([self.upper, other.upper]),
            Faces.together([self.lower, other.lower]),
            Faces.together([self.right, other.right]),
            Faces.together([self.left, other.left]),
        )

    @property
    def low(self) -> float:
        """How low it reaches."""
        return float(min(self.lower.v0.min(), self.lower.v1.min()))

    def behind(self, other: Motif) -> float:
        """Return how far along x this motif must be moved to clear another one."""
        return float(rise(upper_profile(other.right), lower_profile(self.left), np.zeros(1))[0])


def half_turned(copies: Copies) -> Copies:
    """Return copies turned upside down about the origin."""
    return tuple((kind, -z, angle + pi, -at) for kind, z, angle, at in copies)


def _seen(parts: list[Faces], sign: float) -> Faces:
    every = Faces.together(parts)
    return every if len(parts) == 1 else seen_faces(every, sign)


def motif_patterns(copies: Copies, gap: float, *, half: bool) -> list[Pattern]:
    """Return patterns of copies as they are turned: alone, and if it may be with a half-turned partner."""
    motif = Motif.of(copies, gap)
    pitch = motif.behind(motif)
    found = _stacked(motif, pitch)
    if not half:
        return found
    other = Motif.of(half_turned(copies), gap)
    # A partner in the same course, level with the first.
    level = other.moved(1j * (motif.low - other.low))
    pair = motif.beside(level.moved(level.behind(motif)))
    found += _stacked(pair, pair.behind(pair))
    # A course of partners on each course.
    for shift, height in lowest(Stack(motif.upper, other.lower, pitch))[:STEPS_KEPT]:
        found += _stacked(motif.beside(other.moved(complex(shift, height))), pitch)
    return found


def _of_one_angle(
    kind: Kind, corners: Complexes, angle: float, gap: float, quarter: int, *, pairs: bool
) -> list[Pattern]:
    z = corners * np.exp(1j * angle)
    half = pairs and kind.may_turn(angle + quarter * pi / 2.0 + pi) and _look(z) != _look(-z)
    return motif_patterns(((kind, z, angle, 0j),), gap, half=half)


def _stacked(motif: Motif, pitch: float) -> list[Pattern]:
    """Return patterns of one motif: with each step that is lowest near by, straight and to and fro."""
    tall = float(max(motif.upper.v0.max(), motif.upper.v1.max())) - motif.low
    stack = Stack(motif.upper, motif.lower, pitch)
    best = lowest(stack)
    chosen = best[:STEPS_KEPT] + [(s, h) for s, h in best[STEPS_KEPT:] if s == 0.0]
    found = []
    for shift, height in chosen:
        step = _step(stack, shift, height, tall)
        if step is not None:
            found.append(_pattern(motif, pitch, complex(shift, step)))
        if SAME < shift < pitch - SAME and abs(shift - pitch / 2.0) > SAME:
            back, straight = stack.rise(np.array([-shift, 0.0])).tolist()
            both = max(height + back, straight)
            if both < 2.0 * height * 1.05:
                found.append(_pattern(motif.beside(motif.moved(complex(shift, height))), pitch, 1j * both))
    return found


def _step(stack: Stack, shift: float, height: float, tall: float) -> float | None:
    """Return the height of a step so that not only the next course clears a course, but all farther up do.

    None when so many would have to be looked at that the pattern can't be a good one.
    """
    looked = 1
    while height * looked < tall:
        looked = 2 * looked
        if looked > MOST_COURSES:
            return None
        count = np.arange(1.0, looked + 1.0)
        height = max(height, float((stack.rise(shift * count) / count).max()))
    return height


def _pattern(motif: Motif, pitch: float, step: complex) -> Pattern:
    parts = []
    for kind, z, angle, at in motif.copies:
        there = z + at
        box = (there.real.min(), there.imag.min(), there.real.max(), there.imag.max())
        parts.append(Part(kind.number, angle, at, tuple(map(float, box))))  # type: ignore[arg-type]
    density = sum(kind.area for kind, _, _, _ in motif.copies) / (pitch * step.imag)
    return Pattern(tuple(parts), pitch, complex(step.real % pitch, step.imag), density)


class Stack:
    """A course, and what is to be laid on it."""

    def __init__(self, upper: Faces, lower: Faces, pitch: float) -> None:
        first = floor((lower.u0.min() - upper.u1.max()) / pitch)
        last = ceil((pitch + lower.u1.max() - upper.u0.min()) / pitch)
        self.pitch = pitch
        tiled = Faces.together([upper.shifted(k * pitch, 0.0) for k in range(first, last + 1)])
        tiled = tiled.between(float(lower.u0.min()), float(lower.u1.max()) + pitch)
        self.top = upper_profile(tiled)
        self.bottom = lower_profile(lower)
        ends = np.concatenate((upper.u0, upper.u1))[:, None] - np.concatenate((lower.u0, lower.u1))
        places = np.unique(np.round(np.mod(ends.ravel(), pitch), 9))
        if len(places) > MOST_PLACES:
            places = places[np.linspace(0, len(places) - 1, MOST_PLACES).astype(np.intp)]
        self.places = np.unique(np.concatenate((places, [0.0, pitch / 2.0])))

    def rise(self, shift: Floats) -> Floats:
        """Return how high what is laid on the course lies, by its shift along it."""
        return rise(self.top, self.bottom, np.mod(shift, self.pitch))


def lowest(stack: Stack) -> list[tuple[float, float]]:
    """Return (shift, height) of the next course wherever it lies lower than near by, lowest first.

    The height as a function of the shift is made of straight pieces and bends upward between the places
    where a corner stands over a corner. So the least of each stretch is where its first and last pieces meet.
    """
    places = stack.places
    height = stack.rise(places)
    more = _between(stack, places)
    places, height = np.concatenate((places, more)), np.concatenate((height, stack.rise(more)))
    places, unique = np.unique(places, return_index=True)
    height = height[unique]
    before, after = np.roll(height, 1), np.roll(height, -1)
    low = (height <= before + 1e-9) & (height <= after + 1e-9) | (places == 0.0)
    order = np.lexsort((places[low], np.round(height[low], 7)))
    return list(zip(places[low][order].tolist(), height[low][order].tolist(), strict=True))


def _between(stack: Stack, places: Floats) -> Floats:
    """Return the places between places where the next course might lie lowest."""
    wide = np.diff(np.append(places, places[0] + stack.pitch))
    start, wide = places[wide > MEANT], wide[wide > MEANT]
    near = 0.01
    shares = (near, 2.0 * near, 1.0 - 2.0 * near, 1.0 - near)
    a, b, c, d = np.split(stack.rise(np.concatenate([start + share * wide for share in shares])), 4)
    first, last = (b - a) / near, (d - c) / near
    bent = last - first > 1e-9
    # Where the lines through both ends meet, as a share of the stretch.
    meet = (a - first * near - d + last * (1.0 - near)) / np.where(bent, last - first, 1.0)
    good = bent & (meet > 0.0) & (meet < 1.0)
    least = a + first * (meet - near)
    order = np.flatnonzero(good)[np.argsort(least[good], kind="stable")[:REFINED]]
    out: Floats = np.mod(start[order] + meet[order] * wide[order], stack.pitch)
    return out
