"""Tours: short, complete, the same every time."""

from itertools import permutations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from convert.cutting.tour import shortest_tour

POINT = st.tuples(st.floats(0, 300), st.floats(0, 300))


def travel_of(order, backwards, entry, leave, home):
    """Walk the tour step by step."""
    here, total = np.asarray(home), 0.0
    for stop, back in zip(order, backwards, strict=True):
        first, last = (leave[stop], entry[stop]) if back else (entry[stop], leave[stop])
        total += float(np.hypot(*(first - here)))
        here = last
    return total


@settings(deadline=None, max_examples=25)
@given(st.lists(st.tuples(POINT, POINT), min_size=1, max_size=5))
def test_tours_of_few_stops_are_the_best_there_are(stops):
    """Against every order and direction tried out by brute force."""
    entry = np.array([s[0] for s in stops], dtype=float)
    leave = np.array([s[1] for s in stops], dtype=float)
    best = min(
        travel_of(order, flips, entry, leave, (0, 0))
        for order in permutations(range(len(stops)))
        for flips in product((False, True), repeat=len(stops))
    )

    tour = shortest_tour(entry, leave, (0.0, 0.0))

    assert sorted(tour.order) == list(range(len(stops)))
    assert tour.travel == pytest.approx(travel_of(tour.order, tour.backwards, entry, leave, (0, 0)))
    assert tour.travel == pytest.approx(best, abs=1e-6)


@pytest.mark.parametrize("side", [4, 8, 12])
def test_a_grid_is_walked_without_a_detour(side):
    """Stops on a square grid of pitch 10 can be toured in 10 mm a step; ours needs at most 3 % more."""
    grid = np.array([(x, y) for x in range(side) for y in range(side)], dtype=float) * 10.0

    tour = shortest_tour(grid, grid, (0.0, 0.0))

    assert tour.travel <= 1.03 * 10.0 * (side * side - 1)


def test_the_same_stops_give_the_same_tour():
    """Chance is seeded by the number of stops alone."""
    points = np.random.default_rng(5).uniform(0, 300, (60, 2))

    first, second = (shortest_tour(points, points, (0.0, 0.0)) for _ in range(2))

    assert first.order.tolist() == second.order.tolist()


def test_no_stops_need_no_travel():
    """An empty sheet is a tour of length nothing."""
    nothing = np.zeros((0, 2))

    assert shortest_tour(nothing, nothing, (0.0, 0.0)).travel == 0.0
