"""Distances from points to lines and arcs."""

import numpy as np
import pytest
from curves import SETTINGS, backwards, moves, points, sampled, tables
from hypothesis import given
from hypothesis import strategies as st

from convert.errors import GeometryError
from convert.geometry import nearest as module
from convert.geometry.chain import Chain, Segments
from convert.geometry.measure import distances_to, lengths, nearest, point_at

spots = st.lists(points, min_size=1, max_size=8).map(np.array)


@SETTINGS
@given(tables(), spots)
def test_no_sample_is_nearer(s, xy):
    """The nearest of many independent samples is as far as told, but for the step between samples."""
    distance, row, t = nearest(s, xy)
    at = sampled(s, np.linspace(0, 1, 1001)).reshape(-1, 2)
    least = np.hypot(*np.moveaxis(xy[:, None] - at, 2, 0)).min(axis=1)
    slack = 1e-7
    assert (distance <= least + slack).all()
    assert (least <= distance + lengths(s).max() / 1000).all()
    # The point told lies as far away as told.
    there = point_at(s.take(row), t)
    assert np.hypot(*(there - xy).T) == pytest.approx(distance, abs=1e-9)


@SETTINGS
@given(tables(), spots, moves)
def test_distance_follows_similarities_and_reversal(s, xy, move):
    """Distances grow by the scale under turns, flips and shifts, and don't depend on direction."""
    distance = nearest(s, xy)[0]
    moved = nearest(move.segments(s), move.points(xy))[0]
    assert moved == pytest.approx(distance * move.scale, abs=1e-7 if abs(move.dx) > 1e4 else 1e-8)
    assert nearest(backwards(s), xy)[0] == pytest.approx(distance, abs=1e-10)


@SETTINGS
@given(tables())
def test_points_on_segments_are_at_distance_0(s):
    """A point on a segment is told to be there, with its own fraction where the table has one row."""
    for t in (0.0, 0.25, 0.9, 1.0):
        xy = point_at(s, t)
        assert nearest(s, xy)[0].max() < 1e-12
        for i in range(len(s)):
            one = s.take(slice(i, i + 1))
            distance, row, share = nearest(one, xy[i : i + 1])
            assert row[0] == 0
            assert distance[0] < 1e-12
            assert abs(share[0] - t) * lengths(one)[0] < 1e-9


@SETTINGS
@given(tables(), spots)
def test_index_gives_the_same(s, xy):
    """The way through the index and the way through all pairs give the same rows, to the bit."""
    targets = module.Targets(s)
    whole = targets.nearest_in(np.array([0, len(s)]), np.zeros(len(xy), dtype=np.intp), xy)
    by_index = targets.nearest_by_index(xy)
    assert all((a == b).all() for a, b in zip(whole, by_index, strict=True))


def test_many_points_and_rows():
    """Ten thousand points against two thousand rows are found by the index, as by trying them one by one."""
    random = np.random.default_rng(8)
    start = random.random((2000, 2)) * 300
    s = Segments(start, start + random.normal(size=(2000, 2)), random.uniform(-1, 1, 2000))
    xy = random.random((10_000, 2)) * 400 - 50
    distance, row, t = nearest(s, xy)
    for k in range(0, 10_000, 997):
        alone, _ = module.distance_pairs(s, np.tile(xy[k], (2000, 1)))
        assert distance[k] == alone.min()
        assert row[k] == alone.argmin()
    assert t.min() >= 0
    assert t.max() <= 1


def test_analytic_cases():
    """Feet inside, past the ends, on the far side of an arc and from its centre."""
    line = Segments([[0.0, 0.0]], [[10.0, 0.0]], [0.0])
    got = nearest(line, [[3, 4], [-3, 4], [13, -4]])
    assert [v.tolist() for v in got] == [[4, 5, 5], [0, 0, 0], [0.3, 0, 1]]
    half = Segments([[-1.0, 0.0]], [[1.0, 0.0]], [1.0])
    distance, _, t = nearest(half, [[0, -3], [0, 3], [0, 0], [0.5, 0]])
    assert distance == pytest.approx([2, np.sqrt(10), 1, 0.5])
    assert t[[0, 3]] == pytest.approx([0.5, 1.0])


def test_equally_near_rows_and_chains():
    """Of equally near rows the first counts; a chain's distance is the same inside and outside."""
    double = Segments([[0, 0], [0, 0]], [[1, 0], [1, 0]], [0.0, 0.0])
    assert nearest(double, [[0.5, 1.0]])[1][0] == 0
    disc = Chain([[-1, 0], [1, 0]], [1, 1])
    assert distances_to(disc, np.array([[0, 0.5], [0, 1.5]])) == pytest.approx([0.5, 0.5])
    assert len(distances_to(disc, np.zeros((0, 2)))) == 0


def test_nothing_to_measure_to():
    """An empty table has no nearest row, and that is an error, not a number."""
    with pytest.raises(GeometryError, match="nothing to measure"):
        nearest(Segments(np.zeros((0, 2)), np.zeros((0, 2)), []), [[0, 0]])
