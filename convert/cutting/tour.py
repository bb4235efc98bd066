"""The shortest way between cuts.

*Words.* A **stop** is one cut, or one group of cuts made together; the tool arrives at its entry
and leaves from its exit (the same point for a closed outline). A stop may be done backwards, which
swaps the two, unless it is **fixed**: several cuts with an order of their own. The **travel** is the
way with the tool lifted: from home to the first entry, then from each exit to the next entry; it
doesn't come back.

*Method*: nearest neighbour, then 2-opt and Or-opt moves until none helps, then a fixed number of
double-bridge kicks, each kept only if the repaired tour is shorter. *Source*: the moves are those
of the travelling-salesman literature (Croes 1958; Or 1976; Martin, Otto and Felten 1991 — titles
from memory). Work is counted in moves, not seconds, so the same stops give the same tour.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import permutations, product
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from convert.geometry.chain import Floats

    Ints = NDArray[np.int64]

_LONGEST_MOVED = 3
"""Or-opt moves runs of one to this many stops."""
_LEAST_GAIN = 1e-9
"""Shorter by less than this (mm) is rounding."""
_KICK_WORK = 1_200
"""Stops times kicks: the budget of the last stage."""
_FEW = 5
"""So few stops are tried in every order and direction."""


@dataclass(frozen=True, slots=True, eq=False)
class Tour:
    """The stops in order, which of them are done backwards, and the travel in mm."""

    order: Ints
    backwards: NDArray[np.bool_]
    travel: float


def shortest_tour(
    entry: Floats,
    leave: Floats,
    home: tuple[float, float],
    fixed: NDArray[np.bool_] | None = None,
    *,
    kicked: bool = True,
) -> Tour:
    """Return a short tour of n stops from `home`; those that are `fixed` are never done backwards.

    Without kicks it is found in a fraction of the time, and a few per cent longer.
    *Shapes*: `entry` and `leave` are (n, 2), `fixed` is (n,). *Units*: mm.
    """
    count = len(entry)
    if count == 0:
        return Tour(np.zeros(0, dtype=np.int64), np.zeros(0, dtype=bool), 0.0)
    stuck = np.zeros(count, dtype=bool) if fixed is None else fixed
    stops = _Stops.of(entry, leave, stuck, np.asarray(home, dtype=np.float64))
    # A tour is a list of codes: 2 * stop, plus 1 when the stop is done backwards.
    tour = _best_of_all(stops) if count <= _FEW else _searched(stops, kicked=kicked)
    # Backwards and forwards are one to a fixed stop.
    return Tour(tour >> 1, (tour & 1).astype(bool) & ~stuck[tour >> 1], stops.travel(tour))


@dataclass(frozen=True, slots=True, eq=False)
class _Stops:
    """Where the tool arrives for each code and where it departs from (2 n, 2), and where it waits."""

    arrive: Floats
    depart: Floats
    home: Floats

    @classmethod
    def of(cls, entry: Floats, leave: Floats, fixed: NDArray[np.bool_], home: Floats) -> _Stops:
        swap = ~fixed[:, None]
        arrive = np.stack((entry, np.where(swap, leave, entry)), axis=1).reshape(-1, 2)
        depart = np.stack((leave, np.where(swap, entry, leave)), axis=1).reshape(-1, 2)
        return cls(arrive.astype(np.float64), depart.astype(np.float64), home)

    def __len__(self) -> int:
        return len(self.arrive) // 2

    def travel(self, tour: Ints) -> float:
        return float(_far(np.vstack((self.home, self.depart[tour[:-1]])), self.arrive[tour]).sum())


@dataclass(frozen=True, slots=True, eq=False)
class _Way:
    """A tour of n stops measured.

    `into` (n + 1,) is the travel into each stop, with 0 after the last, and `before` (n, 2) where each
    starts. `turned` (n,) is the sum, up to each stop, of what its connection from the stop before it
    would cost more if both were done the other way round.
    """

    tour: Ints
    arrive: Floats
    depart: Floats
    before: Floats
    into: Floats
    turned: Floats

    @classmethod
    def of(cls, tour: Ints, stops: _Stops) -> _Way:
        arrive, depart = stops.arrive[tour], stops.depart[tour]
        before = np.vstack((stops.home, depart[:-1]))
        into = np.append(_far(before, arrive), 0.0)
        other = tour ^ 1
        back = _far(stops.depart[other[1:]], stops.arrive[other[:-1]])
        turned = np.concatenate(([0.0], np.cumsum(back - into[1:-1])))
        return cls(tour, arrive, depart, before, into, turned)


def _far(a: Floats, b: Floats) -> Floats:
    step = a - b
    return np.asarray(np.hypot(step[..., 0], step[..., 1]))


def _searched(stops: _Stops, *, kicked: bool) -> Ints:
    count = len(stops)
    tour = _improved(_nearest_neighbour(stops), stops)
    best = stops.travel(tour)
    random = np.random.default_rng(count)
    for _ in range(min(_KICK_WORK // count, 20) if kicked else 0):
        cuts = np.sort(random.choice(np.arange(1, count), size=3, replace=False))
        a, b, c, d = np.split(tour, cuts)
        other = _improved(np.concatenate((a, c, b, d)), stops)
        length = stops.travel(other)
        if length < best - _LEAST_GAIN:
            tour, best = other, length
    return tour


def _nearest_neighbour(stops: _Stops) -> Ints:
    left = np.ones(len(stops.arrive), dtype=bool)
    here, tour = stops.home, []
    for _ in range(len(stops)):
        far = np.where(left, _far(stops.arrive, here), np.inf)
        # Ties (grids are full of them) go to the lowest number, so that the result repeats.
        code = int(np.argmin(np.round(far, 9)))
        tour.append(code)
        left[[code, code ^ 1]] = False
        here = stops.depart[code]
    return np.array(tour, dtype=np.int64)


def _best_of_all(stops: _Stops) -> Ints:
    count = len(stops)
    orders = np.array(list(permutations(range(count))), dtype=np.int64)
    turns = np.array(list(product((0, 1), repeat=count)), dtype=np.int64)
    tours = (2 * orders[:, None, :] + turns[None, :, :]).reshape(-1, count)
    arrive, depart = stops.arrive[tours], stops.depart[tours]
    travel = _far(arrive[:, 0], stops.home) + _far(depart[:, :-1], arrive[:, 1:]).sum(axis=1)
    return np.asarray(tours[int(np.argmin(np.round(travel, 9)))])


def _improved(tour: Ints, stops: _Stops) -> Ints:
    """Return the tour after 2-opt and Or-opt moves, until no single move helps."""
    better = True
    while better:
        tour, turned = _two_opt(tour, stops)
        tour, moved = _or_opt(tour, stops)
        better = turned or moved
    return tour


def _two_opt(tour: Ints, stops: _Stops) -> tuple[Ints, bool]:
    changed = False
    way = _Way.of(tour, stops)
    for i in range(len(tour)):
        # Stops i to j, the other way round: into j first, out of i last.
        other = tour[i:] ^ 1
        new = _far(stops.arrive[other], way.before[i])
        new[:-1] += _far(way.arrive[i + 1 :], stops.depart[tour[i] ^ 1])
        gain = way.into[i] + way.into[i + 1 :] - new - (way.turned[i:] - way.turned[i])
        j = int(np.argmax(gain))
        if gain[j] > _LEAST_GAIN:
            tour = np.concatenate((tour[:i], tour[i : i + j + 1][::-1] ^ 1, tour[i + j + 1 :]))
            changed = True
            way = _Way.of(tour, stops)
    return tour, changed


def _or_opt(tour: Ints, stops: _Stops) -> tuple[Ints, bool]:
    changed = False
    count = len(tour)
    way = _Way.of(tour, stops)
    for run in range(1, min(_LONGEST_MOVED, count - 1) + 1):
        for i in range(count - run + 1):
            moved = tour[i : i + run]
            closing = 0.0 if i + run == count else float(_far(way.before[i], way.arrive[i + run]))
            # Taking the run out saves its two connections, less the one that closes the hole.
            saved = way.into[i] + way.into[i + run] - closing
            back = moved[::-1] ^ 1
            longer = way.turned[i + run - 1] - way.turned[i]
            if saved <= _LEAST_GAIN and saved - longer <= _LEAST_GAIN:
                continue
            rest = np.concatenate((tour[:i], tour[i + run :]))
            rest_arrive = np.concatenate((way.arrive[:i], way.arrive[i + run :]))
            rest_before = np.vstack((stops.home, np.concatenate((way.depart[:i], way.depart[i + run :]))))
            rest_into = np.append(_far(rest_before[:-1], rest_arrive), 0.0)
            costs = []
            for codes, extra in ((moved, 0.0), (back, longer)):
                cost = _far(rest_before, stops.arrive[codes[0]]) - rest_into + extra
                cost[:-1] += _far(rest_arrive, stops.depart[codes[-1]])
                costs.append(cost)
            ahead, behind = (int(np.argmin(cost)) for cost in costs)
            as_is = costs[0][ahead] <= costs[1][behind]
            place, codes, cost = (ahead, moved, costs[0]) if as_is else (behind, back, costs[1])
            if saved - cost[place] > _LEAST_GAIN:
                tour = np.concatenate((rest[:place], codes, rest[place:]))
                changed = True
                way = _Way.of(tour, stops)
    return tour, changed
