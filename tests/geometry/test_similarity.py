"""Similarities form a group and act on points, segments and chains alike."""

import numpy as np
import pytest
from curves import SETTINGS, moves, points, stars, tables
from hypothesis import given
from hypothesis import strategies as st

from convert.geometry.chain import Chain
from convert.geometry.measure import area, midpoint, point_at
from convert.geometry.similarity import Similarity


def matrix(s):
    """Return the map as a matrix for columns (x, y, 1), read off from three points."""
    o, e, n = (np.array(s.point(*p)) for p in ((0, 0), (1, 0), (0, 1)))
    return np.vstack((np.column_stack((e - o, n - o, o)), [0, 0, 1]))


@SETTINGS
@given(moves, moves)
def test_composition_is_the_matrix_product(one, two):
    """`after` does the first map, then the second."""
    got, expected = matrix(two.after(one)), matrix(two) @ matrix(one)
    assert np.abs(got - expected).max() <= 1e-9 * np.abs(expected).max()
    assert two.after(one).scale == pytest.approx(two.scale * one.scale)
    assert two.after(one).flipped == (two.flipped != one.flipped)


@SETTINGS
@given(moves, points)
def test_inverse_undoes(move, point):
    """There and back again is where one was."""
    assert move.inverse().point(*move.point(*point)) == pytest.approx(point, abs=1e-8)
    assert move.point(*move.inverse().point(*point)) == pytest.approx(point, abs=1e-8)
    assert np.linalg.det(matrix(move)[:2, :2]) * (-1 if move.flipped else 1) > 0


@SETTINGS
@given(moves, tables())
def test_curves_go_along(move, s):
    """The image of a segment passes through the images of its points, flipped or not."""
    image = move.segments(s)
    for t in (0.0, 0.3, 0.5, 1.0):
        assert np.abs(point_at(image, t) - move.points(point_at(s, t))).max() < 1e-8


@SETTINGS
@given(moves, stars())
def test_outlines_stay_counter_clockwise(move, chain):
    """An outline's image runs counter-clockwise even when flipped, along the same curve."""
    image = move.outline(chain)
    assert area(chain) > 0
    expected = area(chain) * move.scale**2
    assert area(image) == pytest.approx(expected, rel=1e-8)
    plain = move.chain(chain)
    assert area(plain) == pytest.approx(-expected if move.flipped else expected, rel=1e-8)
    there, here = midpoint(plain.segments), midpoint(image.segments)
    assert len(here) == len(there)
    assert np.hypot(*np.moveaxis(here[:, None] - there, 2, 0)).min(axis=1).max() < 1e-8


@SETTINGS
@given(st.floats(-3, 3), st.floats(0.1, 5))
def test_named_maps(angle, scale):
    """Turns turn left, shifts shift, the mirror swaps left and right, points agree with arrays of points."""
    turn = Similarity.turn(angle, scale)
    assert turn.point(1, 0) == pytest.approx((scale * np.cos(angle), scale * np.sin(angle)))
    assert Similarity.turn(angle, scale, flipped=True).point(0, -1) == pytest.approx(turn.point(0, 1))
    assert Similarity.shift(3, 4).point(1, 1) == (4, 5)
    assert Similarity.mirror_x().point(2, 7) == (-2, 7)
    assert turn.points(np.array([[0.3, 0.4]]))[0] == pytest.approx(turn.point(0.3, 0.4))


def test_lines_have_no_minus_zero():
    """A flipped line has the bulge 0, not -0, which would be written as such."""
    square = Chain([[0, 0], [1, 0], [1, 1], [0, 1]], [0] * 4)
    flip = Similarity.mirror_x()
    for bulge in (flip.chain(square).bulge, flip.outline(square).bulge, flip.segments(square.segments).bulge):
        assert not np.signbit(bulge).any()
