"""Neighbours on one line or circle become one segment, and nothing else does."""

import numpy as np
import pytest
from curves import SETTINGS, stars, variants
from hypothesis import given
from hypothesis import strategies as st

from convert.geometry.chain import Chain
from convert.geometry.edit import flatten, merge_smooth, split
from convert.geometry.measure import area, distances_to, length, midpoint

QUARTER = float(np.tan(np.pi / 8))


def cut_up(chain, cuts):
    """Return the outline with vertices added at (row, fraction)."""
    row = np.array([r % len(chain) for r, _ in cuts], dtype=np.intp)
    parts = split(chain.segments, row, np.array([t for _, t in cuts], dtype=np.float64))
    return Chain(parts.start, parts.bulge)


cuts = st.lists(st.tuples(st.integers(0, 20), st.floats(0.02, 0.98).map(lambda v: round(v, 2))), max_size=25)


@SETTINGS
@given(stars(), cuts)
def test_cuts_are_healed(chain, where):
    """An outline cut up anywhere is itself again, with its vertices and bulges, whatever the first vertex."""
    plain = merge_smooth(chain, 1e-7)
    for k in (0, 3):
        many = cut_up(chain, where)
        many = Chain(np.roll(many.points, -k, axis=0), np.roll(many.bulge, -k))
        got = merge_smooth(many, 1e-7)
        assert len(got) == len(plain)
        assert sorted(got.points.tolist()) == sorted(plain.points.tolist())
        assert sorted(got.bulge) == pytest.approx(sorted(plain.bulge), abs=1e-8)
        assert area(got) == pytest.approx(area(chain), rel=1e-9)


@SETTINGS
@given(stars(), cuts, st.sampled_from((1e-6, 1e-3, 0.1, 3.0)))
def test_nothing_strays(chain, where, tolerance):
    """Every vertex and middle is within the tolerance of what stays, and only old vertices stay."""
    many = cut_up(chain, where)
    got = merge_smooth(many, tolerance)
    assert distances_to(got, many.points).max() <= tolerance * (1 + 1e-9)
    assert distances_to(got, midpoint(many.segments)).max() <= tolerance * (1 + 1e-9)
    kept = {tuple(p) for p in many.points.tolist()}
    assert all(tuple(p) in kept for p in got.points.tolist())
    assert np.abs(got.bulge).max() <= 1


@SETTINGS
@given(stars(), cuts)
def test_symmetries(chain, where):
    """First vertex, direction, mirror, turn, place and scale don't change how many segments stay."""
    many = cut_up(chain, where)
    count = len(merge_smooth(many, 1e-6))
    for v in variants(many):
        assert len(merge_smooth(v.chain, 1e-6 * v.move.scale)) == count, v.name


def test_first_vertex():
    """The first vertex stays first; if it goes, the next that stays is first."""
    at_corner = Chain([[0, 0], [1, 0], [2, 0], [2, 2], [0, 2], [0, 1]], [0] * 6)
    assert merge_smooth(at_corner, 1e-9).points.tolist() == [[0, 0], [2, 0], [2, 2], [0, 2]]
    on_side = Chain(np.roll(at_corner.points, -1, axis=0), [0] * 6)
    assert merge_smooth(on_side, 1e-9).points.tolist() == [[2, 0], [2, 2], [0, 2], [0, 0]]


def test_circles():
    """A circle of many arcs becomes two halves, one of three arcs has no vertices for halves and stays."""
    for count in (4, 6, 36):
        turn = np.arange(count) * 2 * np.pi / count
        xy = 30 * np.column_stack((np.cos(turn), np.sin(turn)))
        got = merge_smooth(Chain(xy, np.full(count, np.tan(np.pi / 2 / count))), 1e-9)
        assert got.bulge == pytest.approx([1, 1], abs=1e-12)
        assert got.points == pytest.approx(np.array([[30, 0], [-30, 0]]), abs=1e-12)
    turn = np.arange(3) * 2 * np.pi / 3
    third = Chain(np.column_stack((np.cos(turn), np.sin(turn))), np.full(3, np.tan(np.pi / 6)))
    assert len(merge_smooth(third, 1e-9)) == 3


def test_chords_of_a_circle():
    """Chords within the tolerance of one circle become arcs; of one line, exactly a line."""
    disc = Chain([[-30, 0], [30, 0]], [1, 1])
    got = merge_smooth(Chain(flatten(disc, 0.05), np.zeros(len(flatten(disc, 0.05)))), 0.06)
    assert len(got) <= 4
    assert length(got) == pytest.approx(60 * np.pi, rel=2e-3)
    random = np.random.default_rng(2)
    x = np.sort(random.random(50)) * 100
    line = Chain(np.column_stack((x, 1e-9 * random.random(50))), np.zeros(49), closed=False)
    assert merge_smooth(line, 1e-8).bulge.tolist() == [0.0]


def test_what_must_stay():
    """Corners, spikes back along a line, S-bends and open ends stay."""
    spike = Chain([[0, 0], [10, 0], [5, 0], [5, 5]], [0] * 4)
    assert len(merge_smooth(spike, 1e-6)) == 4
    bend = Chain([[0, 0], [10, 0], [20, 0]], [0.3, -0.3], closed=False)
    assert len(merge_smooth(bend, 1e-6)) == 2
    quarters = Chain([[1, 0], [0, 1], [-1, 0], [0, -1], [1, 0]], [QUARTER] * 4, closed=False)
    got = merge_smooth(quarters, 1e-9)
    assert got.points.tolist() == [[1, 0], [-1, 0], [1, 0]]
    assert not got.closed
    for lone in (Chain([[0, 0], [1, 0]], [0.5], closed=False), Chain([[0, 0], [1, 0]], [1, 1])):
        assert merge_smooth(lone, 1e-9).points.tolist() == lone.points.tolist()


def test_tolerance_larger_than_the_outline():
    """An outline smaller than the tolerance is left alone rather than made to vanish."""
    speck = Chain([[0, 0], [1e-3, 0], [1e-3, 1e-3], [0, 1e-3]], [0] * 4)
    assert len(merge_smooth(speck, 1.0)) >= 2
