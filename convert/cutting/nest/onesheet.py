"""The search for the layout that makes most blocks of one sheet.

Several methods compete, and the best layout that passes judgement is taken. Beds of one kind after the other
and the block's own tiling come first. Then one block more is asked for, and another one after each success:
of layouts that lack a few copies, which may find room in holes; of mixtures, where whole rows or a
tiling take most of the sheet and beds lay the rest; and of the engine, in bays, alone or for the rest.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.nest.accept import Judge, Judged
from convert.cutting.nest.asking import Asking
from convert.cutting.nest.bays import divided
from convert.cutting.nest.beds import Filled, Patterns, Place, Spot, fill
from convert.cutting.nest.bounds import area_bound, grown_area, whole
from convert.cutting.nest.holes import Holes
from convert.cutting.nest.mixtures import Mixer, Mixture, parts_of
from convert.cutting.nest.parting import parted_pattern
from convert.cutting.nest.spots import room_of, trimmed, turned
from convert.cutting.nest.tiling import Cut, block_patterns, clear_of, parted
from convert.errors import OutputError

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from convert.cutting.nest.budget import Budget
    from convert.cutting.nest.courses import Pattern
    from convert.cutting.nest.model import Usable
    from convert.cutting.nest.shapes import Kind

STEPS_DOWN = 8
"""So many numbers of blocks below the bound are tried one by one, before halving begins."""
TILING = 0.9
"""Blocks that take less of the plane, as drawn, are not worth moving apart with care."""
HAIR = 0.01
"""So far (mm) shapes that overlap as drawn are moved apart where no gap is asked for."""
LACKING = 0.2
"""Holes are looked for where copies that are lacking take less than this share of a sheet."""


@dataclass(frozen=True, slots=True)
class Best:
    """A layout of one sheet that passed judgement."""

    blocks: int = 0
    spots: tuple[Spot, ...] = ()
    method: str = ""


@dataclass
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
    holes: Holes = field(init=False)
    fixtures: list[tuple[Spot, ...]] = field(init=False)
    bound: float = field(init=False)
    grown: list[float] = field(init=False)
    mixer: Mixer = field(init=False)
    engine: Asking = field(init=False)
    rejected: list[str] = field(default_factory=list)
    _apart: float = 0.0
    _block_patterns: dict[int, list[Pattern]] = field(default_factory=dict)
    _last_beds: tuple[tuple[int, ...], list[Filled]] = ((), [])

    def __post_init__(self) -> None:
        room = (self.sheet.width, self.sheet.height)
        self.patterns = Patterns(self.kinds, self.gap, room, self.budget.angles, self.budget.patterns)
        self.mixer = Mixer(self.kinds, self.sheet, self.gap, self.patterns, self._tilings)
        self.holes = Holes(self.kinds, self.sheet, self.gap, self.budget.patch_angles)
        self.judge = Judge([kind.drawn for kind in self.kinds], self.gap)
        self.grown = [grown_area(kind, self.gap) for kind in self.kinds]
        self.engine = Asking(self.kinds, self.sheet, self.gap, self.grown, self.budget, self.seed)
        self.bound = area_bound(self.kinds, self.grown, self.sheet, self.gap)
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
        (spots,), left, *_ = fill(self.patterns, needs, [place])
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
            clear = np.ones(len(spots), np.bool_)
            for fixture in fixtures:
                clear &= clear_of(shapes, self.kinds[fixture.kind].corners + fixture.at, self.gap)
            kept = [spots[n] for n in np.flatnonzero(clear).tolist()]
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
        best = self._by_tiling(self._by_beds(limit), limit)
        while best.blocks < limit:
            more = self._with_blocks(best.blocks + 1, limit)
            if more is None:
                break
            best = more
        return best

    def _with_blocks(self, blocks: int, limit: int) -> Best | None:
        """Return a layout of so many blocks, or of one more."""
        for layouts in (self._patched, self._mixed_beds, self._relaid, self._in_bays):
            found = next(layouts(blocks), None)
            if found is not None:
                return found
        # Bays alike can be made for 24 blocks, but not for 23.
        further = next(self._in_bays(blocks + 1), None) if blocks < limit else None
        return further or next(self._engine_tries(blocks), None)

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
            (spots,), left, *_ = fill(self.patterns, order, [place])
            if not any(left) and self.passes(spots, "beds"):
                return tuple(spots)
        return None

    def _by_tiling(self, best: Best, limit: int) -> Best:
        for spots in self.cuts if best.blocks < limit else ():
            blocks = min(self.sets(spots), limit)
            if blocks > best.blocks:
                chosen = trimmed(spots, self.counts(blocks))
                if self.passes(chosen, "tiling"):
                    best = Best(blocks, chosen, "tiling")
        return best

    def _beds(self, counts: tuple[int, ...]) -> list[Filled]:
        """Return beds of as many copies as find room, by the order in which kinds are laid."""
        if self._last_beds[0] != counts:
            place = Place(0, 0.0, 0.0, self.sheet.width, self.sheet.height)
            filled = [fill(self.patterns, order, [place], whole=False) for order in self.orders(counts)]
            self._last_beds = counts, filled
        return self._last_beds[1]

    def _patched(self, blocks: int) -> Iterator[Best]:
        """Yield layouts that lack a few copies and have holes for these, those first that lack least."""
        counts = self.counts(blocks)
        nearly = [("tiling", trimmed(spots, counts)) for spots in self.cuts]
        nearly += [("beds", tuple(beds.spots[0])) for beds in self._beds(counts)]
        tasks = []
        for method, spots in nearly:
            have = Counter(spot.kind for spot in spots)
            missing = tuple(count - have[number] for number, count in enumerate(counts))
            lacking = sum(area * count for area, count in zip(self.grown, missing, strict=True))
            tasks.append((round(lacking, 6), method, spots, missing))
        most = LACKING * self.sheet.width * self.sheet.height
        tasks = [task for task in tasks if task[0] < most]
        for _, method, spots, missing in sorted(tasks, key=lambda task: task[0])[: self.budget.patched]:
            patched = self.holes.filled(spots, missing)
            if patched is not None and self.passes(patched, f"{method} and holes"):
                yield Best(blocks, patched, f"{method} and holes")

    @cached_property
    def cuts(self) -> list[tuple[Spot, ...]]:
        """The copies of tilings of the sheet, lying and standing, with the fixtures."""
        found: dict[tuple[int, ...], tuple[Spot, ...]] = {}
        for quarter in (0, 1):
            width, height = room_of(self.sheet, quarter)
            for pattern in self._tilings(quarter):
                cut = Cut(self.kinds, pattern, width, height)
                spots = self.with_fixtures(turned(cut.spots, quarter, self.sheet.width))
                have = Counter(spot.kind for spot in spots)
                found.setdefault(tuple(have[kind.number] for kind in self.kinds), spots)
        return list(found.values())

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

    def _mixed_beds(self, blocks: int) -> Iterator[Best]:
        for mixture in self.mixer.mixtures(self.counts(blocks))[: self.budget.filled]:
            for order in self.orders(mixture.rest):
                (more,), left, *_ = fill(self.patterns, order, [mixture.place])
                spots = (*mixture.spots, *more)
                if not any(left) and self.passes(spots, f"{mixture.method} and beds"):
                    yield Best(blocks, spots, f"{mixture.method} and beds")

    def _in_bays(self, blocks: int) -> Iterator[Best]:
        """Yield layouts of bays, each filled by the engine."""
        if self.fixtures:
            return  # bays would not be alike: more to try for less
        most = self.engine.spent.empty_bays + self.budget.empty_bays
        for bays in divided(self.sheet, self.gap, blocks):
            tasks = [(self.counts(bay.blocks), bay.place) for bay in bays]
            if not all(self.engine.may_fill_bay(counts, place) for counts, place in tasks):
                continue
            if self.engine.spent.empty_bays >= most:
                return
            spots: list[Spot] = []
            for counts, place in tasks:
                # Where some bays are filled already, one that is not is worth more.
                seeds = self.budget.seeds_of_last if spots else 1
                found = self.engine.laid_in_bay(counts, place, seeds)
                if found is None:
                    break
                spots += found
            else:
                if self.passes(spots, "engine in bays"):
                    yield Best(blocks, tuple(spots), "engine in bays")

    def _relaid(self, blocks: int) -> Iterator[Best]:
        """Yield beds of which the engine has laid a part anew, with the copies that they lacked."""
        if not self.budget.relaid:
            return
        tasks = [
            part
            for part in self._parts(self.counts(blocks))
            if self.engine.may_fill_bay(part.rest, part.place, self.budget.reach)
        ]
        for task in sorted(tasks, key=lambda task: round(task.crowded, 6))[: self.budget.relaid]:
            found = self.engine.laid_in_bay(task.rest, task.place)
            if found is not None and self.passes((*task.spots, *found), f"{task.method} and engine"):
                yield Best(blocks, (*task.spots, *found), f"{task.method} and engine")

    def _parts(self, counts: tuple[int, ...]) -> list[Mixture]:
        """Return parts of beds, of those on a whole sheet and of those beside what mixtures have laid."""
        found = [part for beds in self._beds(counts) for part in parts_of(self.kinds, beds, counts)]
        for mixture in self.mixer.mixtures(counts)[: self.budget.filled]:
            for order in self.orders(mixture.rest):
                beds = fill(self.patterns, order, [mixture.place], whole=False)
                found += [
                    replace(part, method=mixture.method, spots=(*mixture.spots, *part.spots))
                    for part in parts_of(self.kinds, beds, mixture.rest)
                ]
        return found

    def _engine_tries(self, blocks: int) -> Iterator[Best]:
        counts = self.counts(blocks)
        place = Place(0, 0.0, 0.0, self.sheet.width, self.sheet.height)
        area = sum(kind.area * count for kind, count in zip(self.kinds, counts, strict=True))
        tasks = [Mixture("engine", (), counts, place, area / (place.width * place.height))]
        tasks += self.mixer.mixtures(self.counts(blocks))[: self.budget.engined]
        for task in sorted(tasks, key=lambda task: round(task.crowded, 6)):
            clocks = self.engine.spent.clocks
            spots = self.engine.laid(task.rest, task.place)
            if spots is None and task.method == "engine" and self.engine.spent.clocks > clocks:
                return  # mixtures that are still more crowded would go on as long
            if spots is None:
                continue
            method = "engine" if task.method == "engine" else f"{task.method} and engine"
            if self.passes((*task.spots, *spots), method):
                yield Best(blocks, (*task.spots, *spots), method)
