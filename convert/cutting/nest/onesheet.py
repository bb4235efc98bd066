"""The search for the layout that makes most blocks of one sheet.

Several methods compete, and the best layout that passes judgement is taken: beds of one kind after the other;
the block's own tiling; the engine; and mixtures, where beds or tilings of whole rows take most of the
sheet, and beds or the engine lay the rest. What is quick and exact comes first; the engine is then
asked for one block more, and for another one after each success.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from math import pi
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.nest.accept import Judge, Judged
from convert.cutting.nest.beds import Patterns, Place, Spot, bed_of, fill, tops_of
from convert.cutting.nest.bounds import area_bound, grown_area, whole
from convert.cutting.nest.engine import Limits, fits, pack
from convert.cutting.nest.parting import parted_pattern
from convert.cutting.nest.tiling import Cut, block_patterns, clear_of, parted
from convert.errors import OutputError

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from convert.cutting.nest.courses import Pattern
    from convert.cutting.nest.model import Usable
    from convert.cutting.nest.shapes import Kind

HOPELESS = 0.97
"""Rectangles are not filled more than this with shapes that don't happen to tile them."""
STEPS_DOWN = 8
"""So many numbers of blocks below the bound are tried one by one, before halving begins."""
TILING = 0.9
"""Blocks that take less of the plane, as drawn, are not worth moving apart with care."""
HAIR = 0.01
"""So far (mm) shapes that overlap as drawn are moved apart where no gap is asked for."""
CUT_SHARES = (0.9, 0.75, 0.6, 0.45, 0.3)
"""So much of the sheet, at most, is tiled with whole blocks before the rest is laid otherwise."""


@dataclass(frozen=True, slots=True)
class Budget:
    """What may be spent: the engine's limits for one try, and its reports for all.

    The engine is not asked for more than `copies` at once, nor where copies, each with half the gap round it,
    would take more than `reach` of the place. Where copies have more than `corners` in all, a try gets
    as much less work as they have more, since its reports take as much longer.
    `angles` directions of a shape are tried along rows and `patterns` of it kept, and `block_angles`
    directions of the whole block, of which `parted` are moved apart with care; of the mixtures for one
    number of blocks `filled` are tried with beds, and `engined` with the engine.
    """

    one_try: Limits
    all_tries: int
    copies: int
    corners: int
    reach: float
    angles: int
    patterns: int
    block_angles: int
    parted: int
    filled: int
    engined: int


@dataclass(frozen=True, slots=True)
class Best:
    """A layout of one sheet that passed judgement."""

    blocks: int = 0
    spots: tuple[Spot, ...] = ()
    method: str = ""


@dataclass(slots=True)
class Spent:
    """What the engine has spent; whether its time cut it short, whether it failed, and ever ran."""

    work: int = 0
    by_clock: bool = False
    failed: bool = False
    ran: bool = False


@dataclass(frozen=True, slots=True)
class Mixture:
    """Copies that lie already, the copies still to be laid, and the rectangle left for them."""

    method: str
    spots: tuple[Spot, ...]
    rest: tuple[int, ...]
    place: Place
    crowded: float


@dataclass(slots=True)
class Solver:
    """All that is known about one block and one kind of sheet."""

    kinds: tuple[Kind, ...]
    sheet: Usable
    gap: float
    budget: Budget
    seed: int
    block: tuple[Spot, ...] | None
    patterns: Patterns = field(init=False)
    judge: Judge = field(init=False)
    fixtures: list[tuple[Spot, ...]] = field(init=False)
    bound: float = field(init=False)
    grown: list[float] = field(init=False)
    spent: Spent = field(default_factory=Spent)
    rejected: list[str] = field(default_factory=list)
    _apart: float = 0.0
    _block_patterns: dict[int, list[Pattern]] = field(default_factory=dict)
    _tried: dict[tuple[tuple[int, ...], float, float], tuple[Spot, ...] | None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        room = (self.sheet.width, self.sheet.height)
        self.patterns = Patterns(self.kinds, self.gap, room, self.budget.angles, self.budget.patterns)
        self.judge = Judge([kind.drawn for kind in self.kinds], self.gap)
        self.grown = [grown_area(kind, self.gap) for kind in self.kinds]
        self.bound = area_bound(self.kinds, self.sheet, self.gap)
        if self.block is not None:
            # Shapes grown by a kerf overlap as they are drawn, even where no gap is asked for.
            overlap = self.gap < HAIR and self._judged(self.block).near
            self._apart = HAIR if overlap else self.gap
        self.fixtures = self._fixtures()

    def counts(self, blocks: int) -> tuple[int, ...]:
        """Return how many copies of each kind so many blocks need, and one sheet's fixtures."""
        return tuple(kind.demand * (1 if kind.fixed else blocks) for kind in self.kinds)

    def sets(self, spots: Sequence[Spot]) -> int:
        """Return how many blocks can be made of copies."""
        have = Counter(spot.kind for spot in spots)
        return min(have[kind.number] // kind.demand for kind in self.kinds if not kind.fixed)

    def _fixtures(self) -> list[tuple[Spot, ...]]:
        """Return the fixtures by themselves, close together in each corner of a sheet; no places if none."""
        needs = [(kind.number, kind.demand) for kind in self.kinds if kind.fixed]
        if not needs:
            return []
        place = Place(0, 0.0, 0.0, self.sheet.width, self.sheet.height)
        (spots,), left, _ = fill(self.patterns, needs, [place])
        if any(left):
            what = "what lies on every sheet does not fit one"
            raise OutputError.because("CUT-030", what, "Use a larger sheet")
        found = []
        for right in (False, True):
            for top in (False, True):
                moved = []
                for spot in spots:
                    z = self.kinds[spot.kind].corners + spot.at
                    by = self.sheet.width - z.real.min() - z.real.max() if right else 0.0
                    up = self.sheet.height - z.imag.min() - z.imag.max() if top else 0.0
                    moved.append(spot._replace(at=spot.at + complex(by, up)))
                found.append(tuple(moved))
        return found

    def with_fixtures(self, spots: tuple[Spot, ...]) -> tuple[Spot, ...]:
        """Return copies, less those in the way, and the fixtures in the corner where they cost least."""
        shapes = [self.kinds[s.kind].corners * np.exp(1j * s.angle) + s.at for s in spots]
        best: tuple[tuple[int, int], tuple[Spot, ...]] | None = None
        for fixtures in self.fixtures:
            taken = [self.kinds[s.kind].corners + s.at for s in fixtures]
            kept = [
                spot
                for spot, z in zip(spots, shapes, strict=True)
                if all(clear_of(z, other, self.gap) for other in taken)
            ]
            key = self.sets(kept), len(kept)
            if best is None or key > best[0]:
                best = key, (*fixtures, *kept)
        return spots if best is None else best[1]

    def orders(self, counts: Sequence[int]) -> list[list[tuple[int, int]]]:
        """Return the orders in which kinds are laid: large ones, wide ones or many first."""
        long = [float(np.abs(kind.corners - kind.centre).max()) for kind in self.kinds]
        keys = (
            [(-kind.area, kind.number) for kind in self.kinds],
            [(-round(size, 4), number) for number, size in enumerate(long)],
            [(-kind.area * counts[kind.number], kind.number) for kind in self.kinds],
        )
        found: list[list[tuple[int, int]]] = []
        for key in keys:
            order = [(n, counts[n]) for n in sorted(range(len(self.kinds)), key=key.__getitem__) if counts[n]]
            if order not in found:
                found.append(order)
        return found

    def passes(self, spots: Sequence[Spot], method: str) -> bool:
        """Tell whether a layout may be cut; remember which method made one that may not."""
        passed = self._judged(spots).passed
        if not passed:
            self.rejected.append(method)
        return passed

    def _judged(self, spots: Sequence[Spot]) -> Judged:
        copies = [(s.kind, self.kinds[s.kind].turn_and_shift(s.angle, s.at)) for s in spots]
        return self.judge.judge(copies, self.sheet.width, self.sheet.height)

    def most_blocks(self, most: int | None = None) -> Best:
        """Return the layout that makes most blocks of one sheet, at most `most`."""
        limit = whole(self.bound) if most is None else min(whole(self.bound), most)
        best = self._by_beds(limit)
        best = self._by_tiling(best, limit)
        best = self._by_mixed_beds(best, limit)
        return self._by_engine(best, limit)

    def _by_beds(self, limit: int) -> Best:
        best, tried = Best(), limit
        low, high = 0, limit + 1
        while high - low > 1:
            near_bound = limit - tried < STEPS_DOWN
            tried = high - 1 if near_bound else (low + high) // 2
            spots = self._filled(tried)
            if spots is None:
                high = tried
            else:
                best, low = Best(tried, spots, "beds"), tried
        return best

    def _filled(self, blocks: int) -> tuple[Spot, ...] | None:
        place = Place(0, 0.0, 0.0, self.sheet.width, self.sheet.height)
        for order in self.orders(self.counts(blocks)):
            (spots,), left, _ = fill(self.patterns, order, [place])
            if not any(left) and self.passes(spots, "beds"):
                return tuple(spots)
        return None

    def _by_tiling(self, best: Best, limit: int) -> Best:
        for spots in self._cuts() if best.blocks < limit else ():
            if best.blocks == limit:
                break
            blocks = min(self.sets(spots), limit)
            if blocks > best.blocks:
                chosen = trimmed(spots, self.counts(blocks))
                if self.passes(chosen, "tiling"):
                    best = Best(blocks, chosen, "tiling")
            # What a tiling lacks for one more block may have room beside it.
            if best.blocks == blocks < limit:
                more = self._topped_up(spots, blocks + 1)
                if more is not None:
                    best = Best(blocks + 1, more, "tiling and beds")
        return best

    def _topped_up(self, spots: Sequence[Spot], blocks: int) -> tuple[Spot, ...] | None:
        counts = self.counts(blocks)
        chosen = trimmed(spots, counts)
        have = Counter(spot.kind for spot in chosen)
        rest = tuple(count - have[number] for number, count in enumerate(counts))
        width, height = self.sheet.width, self.sheet.height
        right, top = (end + self.gap for end in self._reach(chosen))
        for places in (
            [Place(0, right, 0.0, width - right, height), Place(0, 0.0, top, right, height - top)],
            [Place(0, 0.0, top, width, height - top), Place(0, right, 0.0, width - right, top)],
        ):
            free = [place for place in places if min(place.width, place.height) > 0.0]
            for order in self.orders(rest):
                (more,), left, _ = fill(self.patterns, order, free or [Place(0, 0.0, 0.0, 0.0, 0.0)])
                if not any(left) and self.passes([*chosen, *more], "tiling and beds"):
                    return (*chosen, *more)
        return None

    def _reach(self, spots: Sequence[Spot]) -> tuple[float, float]:
        """Return how far copies reach to the right and up; if there are none, the gap short of the edge."""
        corners = [self.kinds[s.kind].corners * np.exp(1j * s.angle) + s.at for s in spots]
        right = max((float(z.real.max()) for z in corners), default=-self.gap)
        return right, max((float(z.imag.max()) for z in corners), default=-self.gap)

    def _cuts(self) -> Iterator[tuple[Spot, ...]]:
        """Yield the copies of tilings of the sheet, lying and standing, with the fixtures."""
        for quarter in (0, 1):
            width, height = self._room(quarter)
            for pattern in self._tilings(quarter):
                cut = Cut(self.kinds, pattern, width, height)
                yield self.with_fixtures(turned(cut.spots, quarter, self.sheet.width))

    def _tilings(self, quarter: int) -> list[Pattern]:
        if self.block is None:
            return []
        # Where any turn is allowed, a turned sheet asks for nothing else.
        any_turn = all(kind.rotation.angles is None for kind in self.kinds if not kind.fixed)
        key = 0 if any_turn else quarter
        if key not in self._block_patterns:
            found = self._patterns_of_blocks(self.block, key)
            self._block_patterns[key] = sorted(found, key=lambda p: (-round(p.density, 6), len(p.parts)))
        return self._block_patterns[key]

    def _patterns_of_blocks(self, block: tuple[Spot, ...], quarter: int) -> list[Pattern]:
        """Return patterns of blocks stretched evenly, and of blocks parted no more than need be."""
        budget, gap = self.budget, self._apart
        found = []
        even = parted(self.kinds, block, gap)
        if even is not None:
            found += block_patterns(self.kinds, even, self.gap, quarter, budget.block_angles)
        if gap > 0.0:
            drawn = block_patterns(self.kinds, block, 0.0, quarter, budget.block_angles)
            tiles = [pattern for pattern in drawn[: budget.parted] if pattern.density > TILING]
            closer = [parted_pattern(self.kinds, pattern, gap) for pattern in tiles]
            found += [pattern for pattern in closer if pattern is not None]
        # More than the plane holds: shapes that lie in holes of others, which outlines know nothing of.
        return [pattern for pattern in found if pattern.density < 1.0 + 1e-6]

    def _room(self, quarter: int) -> tuple[float, float]:
        width, height = self.sheet.width, self.sheet.height
        return (height, width) if quarter else (width, height)

    def _by_mixed_beds(self, best: Best, limit: int) -> Best:
        while best.blocks < limit:
            more = next(self._mixed_beds(best.blocks + 1), None)
            if more is None:
                break
            best = more
        return best

    def _mixed_beds(self, blocks: int) -> Iterator[Best]:
        for mixture in self.mixtures(blocks)[: self.budget.filled]:
            for order in self.orders(mixture.rest):
                (more,), left, _ = fill(self.patterns, order, [mixture.place])
                spots = (*mixture.spots, *more)
                if not any(left) and self.passes(spots, f"{mixture.method} and beds"):
                    yield Best(blocks, spots, f"{mixture.method} and beds")

    def mixtures(self, blocks: int) -> list[Mixture]:
        """Return the mixtures for a number of blocks, those first that leave the rest least crowded."""
        counts = self.counts(blocks)
        found = [mixture for quarter in (0, 1) for mixture in self._bed_mixtures(counts, quarter)]
        found += self._tiling_mixtures(counts)
        found = [mixture for mixture in found if mixture.crowded < HOPELESS]
        return sorted(found, key=lambda mixture: round(mixture.crowded, 6))

    def _bed_mixtures(self, counts: tuple[int, ...], quarter: int) -> list[Mixture]:
        """Return mixtures of whole rows of one, two or three kinds, each as many as are needed."""
        found = []
        kinds = [kind for kind in self.kinds if not kind.fixed]
        by_area = sorted(kinds, key=lambda kind: (-kind.area * counts[kind.number], kind.number))
        for first in range(min(3, len(by_area))):
            spots: list[Spot] = []
            rest, base = list(counts), 0.0
            width, height = self._room(quarter)
            for kind in (by_area[first], *by_area[:first], *by_area[first + 1 : 3]):
                rows = self._whole_rows(kind, rest[kind.number], width, height - base, quarter)
                if rows is None:
                    continue
                laid, top = rows
                spots += [spot._replace(at=spot.at + 1j * base) for spot in laid]
                rest[kind.number] -= len(laid)
                base += top + self.gap
                found.append(self._mixture("beds", spots, rest, base, quarter))
        return [mixture for mixture in found if mixture is not None]

    def _whole_rows(
        self, kind: Kind, wanted: int, width: float, height: float, quarter: int
    ) -> tuple[tuple[Spot, ...], float] | None:
        """Return the fullest whole rows of a kind that hold no more than are wanted, and their height."""
        best: tuple[float, tuple[Spot, ...], float] | None = None
        for pattern in self.patterns.of(kind.number, quarter, few=False)[:6]:
            tops = tops_of(pattern, height)
            low, high = 0, len(tops)
            while high - low > 0:
                middle = (low + high) // 2
                bed = bed_of(pattern, width, tops[middle], wanted + 1, self.gap)
                if bed is None or bed.count <= wanted:
                    low = middle + 1
                else:
                    high = middle
            if low == 0:
                continue
            bed = bed_of(pattern, width, tops[low - 1], wanted, self.gap)
            if bed is None:
                continue
            full = bed.count * kind.area / (width * (tops[low - 1] + self.gap))
            if best is None or full > best[0] + 1e-9:
                best = (full, tuple(bed.spots()), tops[low - 1])
        return None if best is None else best[1:]

    def _tiling_mixtures(self, counts: tuple[int, ...]) -> list[Mixture]:
        found = []
        for quarter in (0, 1):
            width, height = self._room(quarter)
            for pattern in self._tilings(quarter)[:3]:
                for share in CUT_SHARES:
                    chosen = trimmed(Cut(self.kinds, pattern, width, height * share).spots, counts)
                    if not chosen:
                        continue
                    have = Counter(spot.kind for spot in chosen)
                    rest = [count - have[number] for number, count in enumerate(counts)]
                    _, top = self._reach(chosen)
                    found.append(self._mixture("tiling", chosen, rest, top + self.gap, quarter))
        return [mixture for mixture in found if mixture is not None]

    def _mixture(
        self, method: str, spots: Sequence[Spot], rest: Sequence[int], base: float, quarter: int
    ) -> Mixture | None:
        width, height = self._room(quarter)
        if height - base <= 0.0 or not any(rest):
            return None
        if quarter:
            place = Place(0, 0.0, 0.0, self.sheet.width - base, self.sheet.height)
        else:
            place = Place(0, 0.0, base, width, height - base)
        area = sum(kind.area * count for kind, count in zip(self.kinds, rest, strict=True))
        crowded = area / (place.width * place.height)
        return Mixture(method, turned(spots, quarter, self.sheet.width), tuple(rest), place, crowded)

    def _by_engine(self, best: Best, limit: int) -> Best:
        while best.blocks < limit:
            more = next(self._engine_tries(best.blocks + 1), None)
            if more is None:
                break
            best = more
        return best

    def _engine_tries(self, blocks: int) -> Iterator[Best]:
        counts = self.counts(blocks)
        place = Place(0, 0.0, 0.0, self.sheet.width, self.sheet.height)
        area = sum(kind.area * count for kind, count in zip(self.kinds, counts, strict=True))
        tasks = [Mixture("engine", (), counts, place, area / (place.width * place.height))]
        tasks += self.mixtures(blocks)[: self.budget.engined]
        for task in sorted(tasks, key=lambda task: round(task.crowded, 6)):
            spots = self.by_engine(task.rest, task.place)
            if spots is None:
                continue
            method = "engine" if task.method == "engine" else f"{task.method} and engine"
            if self.passes((*task.spots, *spots), method):
                yield Best(blocks, (*task.spots, *spots), method)

    def by_engine(self, counts: Sequence[int], place: Place) -> tuple[Spot, ...] | None:
        """Return a layout of copies in a place by the engine, while there is budget.

        The same task is given to the engine once: it would find the same again, or fail again.
        """
        task = (tuple(counts), round(place.width, 6), round(place.height, 6))
        if task not in self._tried:
            self._tried[task] = self._asked(counts, place)
        spots = self._tried[task]
        corner = complex(place.x, place.y)
        return None if spots is None else tuple(spot._replace(at=spot.at + corner) for spot in spots)

    def _asked(self, counts: Sequence[int], place: Place) -> tuple[Spot, ...] | None:
        """Return what the engine finds in a place with its corner at zero."""
        spent, budget = self.spent, self.budget
        corners = sum(len(kind.corners) * count for kind, count in zip(self.kinds, counts, strict=True))
        one_try = budget.one_try.work * min(budget.corners, corners) // max(corners, 1)
        work = min(one_try, budget.all_tries - spent.work)
        if work <= 0 or sum(counts) > budget.copies:
            return None
        taken = sum(area * count for area, count in zip(self.grown, counts, strict=True))
        if taken > budget.reach * (place.width + self.gap) * (place.height + self.gap):
            return None
        if not fits(self.kinds, counts, place.width, place.height):
            return None
        tried = pack(
            self.kinds,
            counts,
            place.width,
            place.height,
            self.gap,
            limits=replace(budget.one_try, work=work),
            seed=self.seed,
        )
        spent.work += tried.work
        spent.by_clock |= tried.by_clock
        spent.failed |= tried.failed
        spent.ran |= not tried.failed
        return tried.spots


def turned(spots: Sequence[Spot], quarter: int, width: float) -> tuple[Spot, ...]:
    """Return copies on a sheet that lies turned as they are on the sheet, `width` wide, when it stands."""
    if not quarter:
        return tuple(spots)
    return tuple(Spot(s.kind, s.angle + pi / 2.0, 1j * s.at + width) for s in spots)


def trimmed(spots: Sequence[Spot], counts: Sequence[int]) -> tuple[Spot, ...]:
    """Return at most so many copies of each kind, the first ones."""
    left = list(counts)
    kept = []
    for spot in spots:
        if left[spot.kind]:
            left[spot.kind] -= 1
            kept.append(spot)
    return tuple(kept)
