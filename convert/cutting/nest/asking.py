"""What the engine is asked for on one sheet: which copies in which places, how often and for how long."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import partial
from typing import TYPE_CHECKING

from convert.cutting.nest.engine import fits, pack

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from convert.cutting.nest.beds import Place, Spot
    from convert.cutting.nest.budget import Budget
    from convert.cutting.nest.engine import Limits, Tried
    from convert.cutting.nest.model import Usable
    from convert.cutting.nest.shapes import Kind

FEW_COPIES = 30
"""So few copies lie closer than many: the engine laid 20 in 89 % and in 91 %, and 27 in 87 % of a sheet."""
CLOSER = 0.91
"""Many copies seldom take more of a sheet; those found to take nearly as much did so in 174 reports."""
CLOSEST = 0.95
"""Few copies do: the engine laid ten of straight sides in 94.3 % of a sheet, by 342 reports."""
BAY_COPIES = 36
"""No more copies are tried in a bay,"""
BAY_SHARE = 0.89
"""nor such as would take more of it: of 319 bays tried so 74 were filled, up to 88.7 %."""

Spots = tuple["Spot", ...]


@dataclass(slots=True)
class Spent:
    """What the engine has spent, and what came of it.

    `empty_bays` are tries of bays that came to nothing, `clocks` tries that their time cut short.
    """

    work: int = 0
    empty_bays: int = 0
    clocks: int = 0
    failed: bool = False
    ran: bool = False


@dataclass
class Asking:
    """Asks the engine for copies of one block's kinds, and remembers what came of it.

    `grown` are the areas of the kinds, each with half the gap round it; tries have the seeds from `seed` on.
    """

    kinds: Sequence[Kind]
    sheet: Usable
    gap: float
    grown: Sequence[float]
    budget: Budget
    seed: int
    spent: Spent = field(default_factory=Spent)
    _known: dict[tuple[tuple[int, ...], tuple[float, float]], Spots | None] = field(default_factory=dict)

    def laid(self, counts: Sequence[int], place: Place) -> Spots | None:
        """Return a layout of copies in a place, while there is budget."""
        # What is not asked since nothing is left may be asked another time.
        left = self.budget.all_tries > self.spent.work
        return self._known_or(self._by_tries, counts, place) if left else None

    def laid_in_bay(self, counts: Sequence[int], place: Place, seeds: int = 1) -> Spots | None:
        """Return a layout of few copies in a bay, by a try with each of `seeds`; none counts among all."""
        return self._known_or(partial(self._by_seeds, seeds), counts, place)

    def may_fill_bay(self, counts: Sequence[int], place: Place, reach: float = BAY_SHARE) -> bool:
        """Tell whether copies are so few, and take so little of a bay, that a try in it is worth it."""
        room = sum(counts) <= BAY_COPIES and self._share(counts, place) <= reach
        return room and fits(self.kinds, counts, place.width, place.height)

    def _share(self, counts: Sequence[int], place: Place) -> float:
        """Return how much of a place copies take, each with half the gap round it."""
        taken = sum(area * count for area, count in zip(self.grown, counts, strict=True))
        return taken / ((place.width + self.gap) * (place.height + self.gap))

    def _known_or(
        self, ask: Callable[[Sequence[int], Place], Spots | None], counts: Sequence[int], place: Place
    ) -> Spots | None:
        """Return what is known of a task, or what comes of asking.

        The same task is given to the engine once: it would find the same again, or fail again. So it would
        in a turned place, since it tries both ways, unless shapes may not be turned along.
        """
        copies, sides = tuple(counts), (round(place.width, 6), round(place.height, 6))
        any_turn = all(kind.rotation.angles is None for kind in self.kinds if counts[kind.number])
        if any_turn and self._known.get((copies, sides[::-1]), ()) is None:
            return None
        if (copies, sides) not in self._known:
            self._known[copies, sides] = ask(counts, place)
        spots = self._known[copies, sides]
        corner = complex(place.x, place.y)
        return None if spots is None else tuple(spot._replace(at=spot.at + corner) for spot in spots)

    def _by_tries(self, counts: Sequence[int], place: Place) -> Spots | None:
        spent, budget = self.spent, self.budget
        few = sum(counts) <= FEW_COPIES
        corners = sum(len(kind.corners) * count for kind, count in zip(self.kinds, counts, strict=True))
        one_try = budget.one_try.work * min(budget.corners, corners) // max(corners, 1)
        share = self._share(counts, place)
        if sum(counts) > budget.many or share > (budget.reach_of_few if few else budget.reach):
            whole_sheet = (place.width, place.height) == (self.sheet.width, self.sheet.height)
            closest = CLOSEST if few else CLOSER
            one_try = min(one_try, budget.closer if whole_sheet and share <= closest else 0)
        if sum(counts) > budget.copies or not fits(self.kinds, counts, place.width, place.height):
            return None
        for number in range(budget.tries_of_few if few else 1):
            work = min(one_try, budget.all_tries - spent.work)
            if work <= 0:
                break
            tried = self._try(counts, place, replace(budget.one_try, work=work), self.seed + number)
            spent.work += tried.work
            if tried.spots is not None or tried.by_clock or tried.failed:
                return tried.spots
        return None

    def _by_seeds(self, seeds: int, counts: Sequence[int], place: Place) -> Spots | None:
        for number in range(seeds):
            spots = self._try(counts, place, self.budget.one_bay, self.seed + number).spots
            if spots is not None:
                return spots
            self.spent.empty_bays += 1
        return None

    def _try(self, counts: Sequence[int], place: Place, limits: Limits, seed: int) -> Tried:
        """Return what the engine finds in a place with its corner at zero."""
        tried = pack(self.kinds, counts, place.width, place.height, self.gap, limits=limits, seed=seed)
        self.spent.clocks += tried.by_clock
        self.spent.failed |= tried.failed
        self.spent.ran |= not tried.failed
        return tried
