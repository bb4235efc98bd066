"""Beds: patterns cut out by a rectangle, and rectangles filled with beds.

*Words.* A **spot** is one copy in its place: its kind, turn and shift. A **bed** is as much of one pattern
as lies in a rectangle, from its lower edge up. A **place** is a rectangle that is still free.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import ceil, floor, pi
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from convert.cutting.nest.courses import Pattern, patterns_of, slanted

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from convert.cutting.nest.shapes import Kind
    from convert.geometry.chain import Floats
    from convert.geometry.plane import Ints

EDGE = 2e-5
"""A copy may reach so far (mm) over the edge of its rectangle: exact fits are exact but for rounding."""
MOST_PHASES = 64
"""So many places of a pattern along the row are looked at, all where a copy touches the left edge."""
STACKED = 3
"""Of so many patterns of a kind two are tried together."""
FEW = 3
"""For so few copies only the most obvious patterns are tried: no pairs,"""
FEW_ANGLES = 8
"""so many directions along the row,"""
FEW_KEPT = 4
"""and so many patterns."""


class Spot(NamedTuple):
    """One copy: its kind, and how it is turned (radians) and shifted."""

    kind: int
    angle: float
    at: complex


class Place(NamedTuple):
    """A free rectangle of one sheet."""

    sheet: int
    x: float
    y: float
    width: float
    height: float


class Filled(NamedTuple):
    """What came of filling places: spots by sheet, what is left of each need, places still free and used.

    Whatever was laid into a place after it, beside its bed, lies in it, too.
    """

    spots: list[list[Spot]]
    left: list[int]
    free: list[Place]
    used: list[Place]


class Laid(NamedTuple):
    """A phase of rows, lifted, in a rectangle that lies turned by `quarter` right angles."""

    rows: Rows
    phase: int
    wanted: int
    lift: float
    quarter: int


@dataclass(frozen=True, slots=True)
class Bed:
    """Copies of one kind in a rectangle, what is free beside them, and how much they take up, mm²."""

    count: int
    free: tuple[tuple[float, float, float, float], ...]
    takes: float
    width: float
    laid: tuple[Laid, ...]

    def better(self, other: Bed) -> bool:
        """Tell whether a bed holds more, or as much in less room."""
        return (-self.count, round(self.takes, 6)) < (-other.count, round(other.takes, 6))

    def turned(self, width: float) -> Bed:
        """Return a bed of a turned rectangle as it lies in the rectangle, which is so wide."""
        free = tuple((width - y - h, x, h, w) for x, y, w, h in self.free)
        laid = tuple(each._replace(quarter=1) for each in self.laid)
        return Bed(self.count, free, self.takes, width, laid)

    def spots(self) -> list[Spot]:
        """Return the copies."""
        out = []
        for rows, phase, wanted, lift, quarter in self.laid:
            spots = [s._replace(at=s.at + 1j * lift) for s in rows.spots(phase, wanted)]
            if quarter:
                spots = [Spot(s.kind, s.angle + pi / 2.0, 1j * s.at + self.width) for s in spots]
            out += spots
        return out


class Patterns:
    """The patterns of all kinds, found when they are first asked for."""

    def __init__(
        self, kinds: Sequence[Kind], gap: float, room: tuple[float, float], angles: int, kept: int
    ) -> None:
        self.kinds, self.gap = kinds, gap
        self._room = room
        self._angles, self._kept = angles, kept
        self._found: dict[tuple[int, int, bool], tuple[Pattern, ...]] = {}
        self._beds: dict[tuple[int, int, float, float], Bed | None] = {}
        self._narrowest: dict[int, float] = {}

    def of(self, kind: int, quarter: int, *, few: bool) -> tuple[Pattern, ...]:
        """Return patterns of a kind, best first."""
        shape = self.kinds[kind]
        # Where any turn is allowed, a turned sheet asks for nothing else.
        key = (kind, quarter if shape.rotation.angles is not None else 0, few)
        if key not in self._found:
            keep, most = (FEW_KEPT, FEW_ANGLES) if few else (self._kept, self._angles)
            patterns = patterns_of(shape, self.gap, quarter, keep, most, pairs=not few)
            if not any(self._holds(pattern, quarter) for pattern in patterns):
                patterns = slanted(shape, self.gap, quarter, self._room)
            self._found[key] = patterns
        return self._found[key]

    def narrowest(self, kind: int) -> float:
        """Return how wide the narrowest strip that holds a shape is."""
        if kind not in self._narrowest:
            z = self.kinds[kind].corners
            side = np.roll(z, -1) - z
            way = side / np.abs(side)
            # Such a strip has a side of the convex hull on its edge (rotating calipers, common practice).
            self._narrowest[kind] = min(float(np.ptp((z * w.conjugate()).imag)) for w in way.tolist())
        return self._narrowest[kind]

    def _holds(self, pattern: Pattern, quarter: int) -> bool:
        width, height = self._room[::-1] if quarter else self._room
        left, low, right, high = pattern.parts[0].box
        return right - left <= width + EDGE and high - low <= height + EDGE

    def bed(self, kind: int, wanted: int, width: float, height: float) -> Bed | None:
        """Return the bed of as many copies as are wanted that takes least, else the one with most copies."""
        key = (kind, wanted, round(width, 6), round(height, 6))
        if key not in self._beds:
            self._beds[key] = self._bed(kind, wanted, width, height)
        return self._beds[key]

    def _bed(self, kind: int, wanted: int, width: float, height: float) -> Bed | None:
        best: Bed | None = None
        for quarter in (0, 1):
            w, h = (height, width) if quarter else (width, height)
            for pattern in self.of(kind, quarter, few=wanted <= FEW):
                bed = bed_of(pattern, w, h, wanted, self.gap)
                if bed is not None and (best is None or bed.better(best)):
                    best = bed.turned(width) if quarter else bed
        return best

    def stacked(self, kind: int, wanted: int, width: float, height: float) -> Bed | None:
        """Return the bed of most copies of two patterns, one above or beside the other."""
        best: Bed | None = None
        for quarter in (0, 1):
            w, h = (height, width) if quarter else (width, height)
            for lower in self.of(kind, quarter, few=False)[:STACKED]:
                for top in tops_of(lower, h)[-4:-1]:
                    below = bed_of(lower, w, top, wanted, self.gap)
                    if below is None or below.count >= wanted:
                        continue
                    lift = top + self.gap
                    above = self._above(kind, wanted - below.count, w, h - lift, quarter)
                    if above is not None and (best is None or below.count + above.count > best.count):
                        laid = below.laid + tuple(each._replace(lift=each.lift + lift) for each in above.laid)
                        both = Bed(below.count + above.count, (), width * height, w, laid)
                        best = both.turned(width) if quarter else both
        return best

    def _above(self, kind: int, wanted: int, width: float, height: float, quarter: int) -> Bed | None:
        best: Bed | None = None
        for pattern in self.of(kind, quarter, few=False)[:STACKED]:
            bed = bed_of(pattern, width, height, wanted, self.gap)
            if bed is not None and (best is None or bed.better(best)):
                best = bed
        return best


def tops_of(pattern: Pattern, height: float) -> list[float]:
    """Return the heights at which a row of a pattern that starts at its lowest part ends, rising."""
    low = min(part.box[1] for part in pattern.parts)
    tops = {
        round(part.box[3] - low + j * pattern.step.imag, 6)
        for part in pattern.parts
        for j in range(int(height / pattern.step.imag) + 1)
    }
    return sorted(top for top in tops if top <= height + EDGE)


def bed_of(pattern: Pattern, width: float, height: float, wanted: int, gap: float) -> Bed | None:
    """Return the lowest bed of `wanted` copies, or the one of most copies; None when not one fits.

    A row holds as many copies as it can when one touches the left edge, so only such phases are looked at.
    """
    boxes = _boxes(pattern)
    if height < (boxes[:, 3] - boxes[:, 1]).min() - EDGE or width < (boxes[:, 2] - boxes[:, 0]).min() - EDGE:
        return None
    best_key, best = (0, 0.0), None
    for start in np.unique(-boxes[:, 1]).tolist():
        rows = Rows(pattern, start, width, height)
        if rows.count.size:
            key, phase = rows.best(wanted)
            if key < best_key:
                best_key, best = key, (rows, phase)
    return None if best is None else best[0].bed(best[1], wanted, gap)


@lru_cache(maxsize=4096)
def _boxes(pattern: Pattern) -> Floats:
    return np.array([part.box for part in pattern.parts])


class Rows:
    """The rows of a pattern in a rectangle, and how many copies each holds at every phase."""

    def __init__(self, pattern: Pattern, start: float, width: float, height: float) -> None:
        self.pattern, self.start, self.width, self.height = pattern, start, width, height
        step, pitch, boxes = pattern.step, pattern.pitch, _boxes(pattern)
        first = floor((-start - boxes[:, 1].max()) / step.imag)
        last = ceil((height - start - boxes[:, 3].min()) / step.imag)
        lift = start + np.arange(first, last + 1)[:, None] * step.imag
        inside = (lift + boxes[:, 1] >= -EDGE) & (lift + boxes[:, 3] <= height + EDGE)
        course, part = np.nonzero(inside)
        top = np.round(lift[course, 0] + boxes[part, 3], 6)
        order = np.argsort(top, kind="stable")
        self.part, self.course, self.top = part[order], course[order] + first, top[order]
        self.left, self.right = boxes[self.part, 0], boxes[self.part, 2]
        along = self.course * step.real
        phases = np.unique(np.round(np.mod(-(self.left + along), pitch), 9))
        if len(phases) > MOST_PHASES:
            phases = phases[np.linspace(0, len(phases) - 1, MOST_PHASES).astype(np.intp)]
        self.phases = phases
        origin = phases[:, None] + along
        slack = EDGE / pitch
        self.first = np.ceil((-self.left - origin) / pitch - slack)
        last = np.floor((width - self.right - origin) / pitch + slack)
        self.count = np.maximum(last - self.first + 1.0, 0.0)

    def best(self, wanted: int) -> tuple[tuple[int, float], int]:
        """Return how good the best phase is (copies and height, less is better), and which it is."""
        total = np.cumsum(self.count, axis=1)
        copies = np.minimum(total[:, -1], wanted)
        most = int(copies.max())
        row = np.argmax(total >= copies[:, None], axis=1)
        high = np.where(copies == most, self.top[row], np.inf)
        phase = int(np.argmin(high))
        return (-most, float(high[phase])), phase

    def bed(self, phase: int, wanted: int, gap: float) -> Bed:
        """Return the bed of one phase."""
        full, last, number = self._needed(phase, wanted)
        high = float(self.top[last[0]])
        held = full[self.count[phase, full] > 0]
        level = float(self.top[held].max()) if len(held) else 0.0
        right = max(end for _, end, _ in self._ends(phase, last, number))
        w, h = self.width, self.height
        beside, above = w - right - gap, h - high - gap
        ground = level + gap if level else 0.0
        takes = level * w + (high - level) * right
        # One of the two free rectangles gets the corner: the one that becomes larger by it.
        if beside * (h - ground) > w * above:
            free = ((right + gap, ground, beside, h - ground), (0.0, high + gap, right, above))
        else:
            free = ((right + gap, ground, beside, high - ground), (0.0, high + gap, w, above))
        count = int(self.count[phase, full].sum()) + number
        some = tuple(f for f in free if f[2] > 0.0 and f[3] > 0.0)
        return Bed(count, some, takes, w, (Laid(self, phase, wanted, 0.0, 0),))

    def spots(self, phase: int, wanted: int) -> list[Spot]:
        """Return the copies of one phase, as many as are wanted, from the lowest row up."""
        full, last, number = self._needed(phase, wanted)
        spots = [spot for row in full.tolist() for _, _, spot in self._row(phase, row)]
        return spots + [spot for _, _, spot in self._ends(phase, last, number)]

    def _needed(self, phase: int, wanted: int) -> tuple[Ints, Ints, int]:
        """Return the rows needed whole, the highest ones, and how many copies of these are needed."""
        total = np.cumsum(self.count[phase])
        row = int(np.argmax(total >= min(float(total[-1]), float(wanted))))
        highest = np.abs(self.top - self.top[row]) < 1e-5
        full = np.flatnonzero((np.arange(len(self.top)) <= row) & ~highest)
        last = np.flatnonzero(highest)
        most = int(self.count[phase, last].sum())
        return full, last, min(wanted - int(self.count[phase, full].sum()), most)

    def _ends(self, phase: int, last: Ints, number: int) -> list[tuple[float, float, Spot]]:
        return sorted(spot for row in last.tolist() for spot in self._row(phase, row))[:number]

    def _row(self, phase: int, row: int) -> list[tuple[float, float, Spot]]:
        part = self.pattern.parts[self.part[row]]
        course = int(self.course[row])
        origin = complex(self.phases[phase], self.start) + course * self.pattern.step
        first, count = int(self.first[phase, row]), int(self.count[phase, row])
        out = []
        for k in range(first, first + count):
            shift = origin + k * self.pattern.pitch
            spot = Spot(part.kind, part.angle, part.at + shift)
            out.append((part.box[0] + shift.real, part.box[2] + shift.real, spot))
        return out


def fill(
    patterns: Patterns, needs: Sequence[tuple[int, int]], places: Iterable[Place], *, whole: bool = True
) -> Filled:
    """Lay copies, kind after kind, where they take least.

    `needs` are (kind, number), laid in this order. With `whole` a kind that has room nowhere at all ends it.
    """
    free = list(places)
    spots: list[list[Spot]] = [[] for _ in range(1 + max((place.sheet for place in free), default=-1))]
    left = [number for _, number in needs]
    used: list[Place] = []
    for order, (kind, _) in enumerate(needs):
        while left[order]:
            found = _where(patterns, kind, left[order], free)
            if found is None:
                break
            place, bed = free.pop(found[0]), found[1]
            used.append(place)
            corner = complex(place.x, place.y)
            spots[place.sheet] += [spot._replace(at=spot.at + corner) for spot in bed.spots()]
            left[order] -= bed.count
            free += [Place(place.sheet, place.x + x, place.y + y, w, h) for x, y, w, h in bed.free]
        if whole and left[order]:
            break
    return Filled(spots, left, free, used)


def _where(patterns: Patterns, kind: int, wanted: int, free: Sequence[Place]) -> tuple[int, Bed] | None:
    """Return the place, and the bed in it, where copies take least: all of them if a place holds all."""
    area = patterns.kinds[kind].area
    smallest = patterns.narrowest(kind) - EDGE
    best: tuple[tuple[float, ...], int, Bed] | None = None
    for find in (patterns.bed, patterns.stacked):
        if find == patterns.stacked and (best is None or best[0][0] == 0.0 or wanted <= FEW):
            break
        for index, place in enumerate(free):
            if min(place.width, place.height) < smallest or place.width * place.height < area:
                continue
            bed = find(kind, wanted, place.width, place.height)
            if bed is not None:
                fullness = bed.count * area / bed.takes
                short = float(bed.count < wanted)
                key = (short, float(place.sheet), -short * bed.count, -fullness, place.width * place.height)
                if best is None or key < best[0]:
                    best = (key, index, bed)
    return None if best is None else best[1:]
