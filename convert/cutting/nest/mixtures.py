"""Mixtures: copies that lie in whole rows or as a tiling, and a rectangle for those still to be laid."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from convert.cutting.nest.beds import Place, Spot, bed_of, tops_of
from convert.cutting.nest.spots import reach_of, room_of, trimmed, turned
from convert.cutting.nest.tiling import Cut

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from convert.cutting.nest.beds import Filled, Patterns
    from convert.cutting.nest.courses import Pattern
    from convert.cutting.nest.model import Usable
    from convert.cutting.nest.shapes import Kind

HOPELESS = 0.97
"""Rectangles are not filled more than this with shapes that don't happen to tile them."""
SMALL = 1e-3
"""A copy that reaches so far (mm) out of a place still lies in it; none that lies beside it lies in it."""
CUT_SHARES = (0.9, 0.75, 0.6, 0.45, 0.3)
"""So much of the sheet, at most, is tiled with whole blocks before the rest is laid otherwise."""


@dataclass(frozen=True, slots=True)
class Mixture:
    """Copies that lie already, the copies still to be laid, and the rectangle left for them."""

    method: str
    spots: tuple[Spot, ...]
    rest: tuple[int, ...]
    place: Place
    crowded: float


@dataclass(frozen=True, slots=True)
class Mixer:
    """Makes mixtures of one block on one kind of sheet; `tilings` are those of the sheet lying or turned."""

    kinds: Sequence[Kind]
    sheet: Usable
    gap: float
    patterns: Patterns
    tilings: Callable[[int], Sequence[Pattern]]

    def mixtures(self, counts: tuple[int, ...]) -> list[Mixture]:
        """Return the mixtures for so many copies, those first that leave the rest least crowded."""
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
            width, height = room_of(self.sheet, quarter)
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
            width, height = room_of(self.sheet, quarter)
            for pattern in self.tilings(quarter)[:3]:
                for share in CUT_SHARES:
                    chosen = trimmed(Cut(self.kinds, pattern, width, height * share).spots, counts)
                    if not chosen:
                        continue
                    have = Counter(spot.kind for spot in chosen)
                    rest = [count - have[number] for number, count in enumerate(counts)]
                    _, top = reach_of(self.kinds, chosen, self.gap)
                    found.append(self._mixture("tiling", chosen, rest, top + self.gap, quarter))
        return [mixture for mixture in found if mixture is not None]

    def _mixture(
        self, method: str, spots: Sequence[Spot], rest: Sequence[int], base: float, quarter: int
    ) -> Mixture | None:
        width, height = room_of(self.sheet, quarter)
        if height - base <= 0.0 or not any(rest):
            return None
        if quarter:
            place = Place(0, 0.0, 0.0, self.sheet.width - base, self.sheet.height)
        else:
            place = Place(0, 0.0, base, width, height - base)
        area = sum(kind.area * count for kind, count in zip(self.kinds, rest, strict=True))
        crowded = area / (place.width * place.height)
        return Mixture(method, turned(spots, quarter, self.sheet.width), tuple(rest), place, crowded)


def parts_of(kinds: Sequence[Kind], filled: Filled, counts: Sequence[int]) -> list[Mixture]:
    """Return mixtures of one sheet of beds: of each place that was used, what lies in it is laid anew.

    So are the copies, of `counts`, that found no room; the rest stays. Those least crowded come first.
    """
    (spots,) = filled.spots
    found: dict[tuple[int, ...], Mixture] = {}
    for place in filled.used:
        kept = tuple(spot for spot in spots if not _lies_in(kinds[spot.kind], spot, place))
        have = Counter(spot.kind for spot in kept)
        rest = tuple(count - have[number] for number, count in enumerate(counts))
        area = sum(kind.area * count for kind, count in zip(kinds, rest, strict=True))
        if kept:
            crowded = area / (place.width * place.height)
            found.setdefault(rest, Mixture("beds", kept, rest, place, crowded))
    return sorted(found.values(), key=lambda mixture: round(mixture.crowded, 6))


def _lies_in(kind: Kind, spot: Spot, place: Place) -> bool:
    z = kind.corners * np.exp(1j * spot.angle) + spot.at - complex(place.x, place.y)
    across = z.real.min() > -SMALL and z.real.max() < place.width + SMALL
    return bool(across and z.imag.min() > -SMALL and z.imag.max() < place.height + SMALL)
