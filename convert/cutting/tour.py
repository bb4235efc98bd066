"""The shortest way between cuts.

*Words.* A **stop** is one cut, or one group of cuts made together; the tool arrives at its entry
and leaves from its exit (the same point for a closed outline). Any stop may be done backwards,
which swaps the two. The **travel** is the way with the tool lifted: from home to the first
entry, then from each exit to the next entry; it doesn't come back.

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


def shortest_tour(entry: Floats, leave: Floats, home: tuple[float, float]) -> Tour:
    """Return a short tour of n stops from `home`.

    *Shapes*: `entry` and `leave` are (n, 2). *Units*: mm.
    """
    count = len(entry)
    if count == 0:
        return Tour(np.zeros(0, dtype=np.int64), np.zeros(0, dtype=bool), 0.0)
    ends = np.stack((entry, leave), axis=1)
    start = np.asarray(home, dtype=np.float64)
    # A tour is a list of codes: 2 * stop, plus 1 when the stop is done backwards.
    if count <= _FEW:
        tour = _best_of_all(ends, start)
        return Tour(tour >> 1, (tour & 1).astype(bool), _travel(tour, ends, start))
    tour = _improved(_nearest_neighbour(ends, start), ends, start)
    best = _travel(tour, ends, start)
    random = np.random.default_rng(count)
    for _ in range(min(_KICK_WORK // count, 20)):
        cuts = np.sort(random.choice(np.arange(1, count), size=3, replace=False))
        a, b, c, d = np.split(tour, cuts)
        other = _improved(np.concatenate((a, c, b, d)), ends, start)
        length = _travel(other, ends, start)
        if length < best - _LEAST_GAIN:
            tour, best = other, length
    return Tour(tour >> 1, (tour & 1).astype(bool), best)


def _arrive(tour: Ints, ends: Floats) -> Floats:
    return np.asarray(ends[tour >> 1, tour & 1])


def _depart(tour: Ints, ends: Floats) -> Floats:
    return np.asarray(ends[tour >> 1, 1 - (tour & 1)])


def _far(a: Floats, b: Floats) -> Floats:
    step = a - b
    return np.asarray(np.hypot(step[..., 0], step[..., 1]))


def _travel(tour: Ints, ends: Floats, home: Floats) -> float:
    before = np.vstack((home, _depart(tour[:-1], ends)))
    return float(_far(before, _arrive(tour, ends)).sum())


def _nearest_neighbour(ends: Floats, home: Floats) -> Ints:
    left = np.ones(len(ends), dtype=bool)
    here, tour = home, []
    for _ in range(len(ends)):
        far = np.where(left[:, None], _far(ends, here), np.inf)
        # Ties (grids are full of them) go to the lowest number, so that the result repeats.
        code = int(np.argmin(np.round(far, 9)))
        tour.append(code)
        left[code >> 1] = False
        here = ends[code >> 1, 1 - (code & 1)]
    return np.array(tour, dtype=np.int64)


def _best_of_all(ends: Floats, home: Floats) -> Ints:
    count = len(ends)
    orders = np.array(list(permutations(range(count))), dtype=np.int64)
    turns = np.array(list(product((0, 1), repeat=count)), dtype=np.int64)
    tours = (2 * orders[:, None, :] + turns[None, :, :]).reshape(-1, count)
    arrive = _arrive(tours, ends)
    travel = _far(arrive[:, 0], home) + _far(_depart(tours, ends)[:, :-1], arrive[:, 1:]).sum(axis=1)
    return np.asarray(tours[int(np.argmin(np.round(travel, 9)))])


def _improved(tour: Ints, ends: Floats, home: Floats) -> Ints:
    """Return the tour after 2-opt and Or-opt moves, until no single move helps."""
    better = True
    while better:
        tour, turned = _two_opt(tour, ends, home)
        tour, moved = _or_opt(tour, ends, home)
        better = turned or moved
    return tour


def _gaps(tour: Ints, ends: Floats, home: Floats) -> tuple[Floats, Floats, Floats]:
    """Arrivals (n, 2), the points before them (n, 2), and the travel into each stop with a 0 at the end."""
    arrive = _arrive(tour, ends)
    before = np.vstack((home, _depart(tour[:-1], ends)))
    return arrive, before, np.append(_far(before, arrive), 0.0)


def _two_opt(tour: Ints, ends: Floats, home: Floats) -> tuple[Ints, bool]:
    changed = False
    count = len(tour)
    arrive, before, into = _gaps(tour, ends, home)
    depart = np.vstack((before[1:], _depart(tour[-1:], ends)))
    for i in range(count):
        new = _far(depart[i:], before[i])
        new[:-1] += _far(arrive[i + 1 :], arrive[i])
        gain = into[i] + into[i + 1 : count + 1] - new
        j = int(np.argmax(gain))
        if gain[j] > _LEAST_GAIN:
            tour = tour.copy()
            tour[i : i + j + 1] = tour[i : i + j + 1][::-1] ^ 1
            changed = True
            arrive, before, into = _gaps(tour, ends, home)
            depart = np.vstack((before[1:], _depart(tour[-1:], ends)))
    return tour, changed


def _or_opt(tour: Ints, ends: Floats, home: Floats) -> tuple[Ints, bool]:
    changed = False
    count = len(tour)
    arrive, before, into = _gaps(tour, ends, home)
    for run in range(1, min(_LONGEST_MOVED, count - 1) + 1):
        for i in range(count - run + 1):
            moved = tour[i : i + run]
            first, last = arrive[i], _depart(moved[-1:], ends)[0]
            closing = 0.0 if i + run == count else float(_far(before[i], arrive[i + run]))
            # Taking the run out saves its two connections, less the one that closes the hole.
            saved = into[i] + into[i + run] - closing
            if saved <= _LEAST_GAIN:
                continue
            rest = np.concatenate((tour[:i], tour[i + run :]))
            rest_arrive = np.concatenate((arrive[:i], arrive[i + run :]))
            rest_before = np.vstack((home, _depart(rest, ends)))
            rest_into = np.append(_far(rest_before[:-1], rest_arrive), 0.0)
            forwards = _far(rest_before, first) - rest_into
            backwards = _far(rest_before, last) - rest_into
            forwards[:-1] += _far(rest_arrive, last)
            backwards[:-1] += _far(rest_arrive, first)
            ahead, behind = int(np.argmin(forwards)), int(np.argmin(backwards))
            if saved - min(forwards[ahead], backwards[behind]) > _LEAST_GAIN:
                as_is = forwards[ahead] <= backwards[behind]
                place, run_codes = (ahead, moved) if as_is else (behind, moved[::-1] ^ 1)
                tour = np.concatenate((rest[:place], run_codes, rest[place:]))
                changed = True
                arrive, before, into = _gaps(tour, ends, home)
    return tour, changed
