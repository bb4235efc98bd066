"""Winding numbers and containment, exact up to the line itself."""

import numpy as np
import pytest
from curves import BULGES, SETTINGS, stars, variants
from hypothesis import given
from hypothesis import strategies as st

from convert.errors import GeometryError
from convert.geometry.chain import Chain
from convert.geometry.edit import flatten
from convert.geometry.measure import contains, distances_to, windings

small = st.integers(0, 4)
corners = st.lists(st.tuples(small, small), min_size=2, max_size=8)


def by_angles(polygon, xy):
    """Winding numbers of a polygon: the angles under which its sides are seen, added up."""
    seen = (polygon @ [1, 1j])[None] - (xy @ [1, 1j])[:, None]
    return np.angle(np.roll(seen, -1, axis=1) / seen).sum(axis=1) / (2 * np.pi)


@SETTINGS
@given(corners, st.data())
def test_winding_is_the_angle_seen(at, data):
    """Rings that cross themselves, with vertices level with the points, wind as the angles seen say."""
    ring = np.array(at, float)
    if (ring == np.roll(ring, -1, axis=0)).all(axis=1).any():
        ring = np.array([[0.0, 0.0], [4.0, 1.0], [1.0, 3.0]])
    size = len(ring)
    bulge = np.array(data.draw(st.lists(st.sampled_from(BULGES), min_size=size, max_size=size)))
    chain = Chain(ring, bulge)
    x, y = np.meshgrid(np.arange(-1, 5.51, 0.25) + 0.01, np.arange(-1, 5.51, 0.5))
    xy = np.column_stack((x.ravel(), y.ravel()))
    xy = xy[distances_to(chain, xy) > 1e-3]
    expected = by_angles(flatten(chain, 1e-4), xy)
    got = windings(chain.segments, np.array([0, size]), np.zeros(len(xy), dtype=np.intp), xy)
    assert np.abs(got - expected).max() < 1e-6


@SETTINGS
@given(stars())
def test_symmetries(chain):
    """Start vertex, direction, mirror, turn, place and scale don't change what is inside."""
    x, y = np.meshgrid(np.linspace(-1.3, 1.3, 12), np.linspace(-1.3, 1.3, 12))
    xy = chain.points.mean(axis=0) + 60 * np.column_stack((x.ravel(), y.ravel()))
    xy = xy[distances_to(chain, xy) > 1e-6]
    inside = contains(chain, xy)
    for v in variants(chain):
        assert (contains(v.chain, v.move.points(xy)) == inside).all(), v.name


def test_points_level_with_vertices():
    """A point level with a corner, a flat side, the top of a bow or a smooth join is counted once."""
    square = Chain([[0, 0], [2, 0], [2, 2], [0, 2]], [0] * 4)
    diamond = Chain([[0, -1], [1, 0], [0, 1], [-1, 0]], [0] * 4)
    disc = Chain([[-1, 0], [1, 0]], [1, 1])
    four = Chain([[1, 0], [0, 1], [-1, 0], [0, -1]], [np.tan(np.pi / 8)] * 4)
    for chain, inside, outside in (
        (square, [1, 1], [[-1, 0], [-1, 2], [3, 0], [3, 2], [-1, 1]]),
        (diamond, [0, 0], [[-2, 0], [2, 0], [-2, 1], [-2, -1]]),
        (disc, [0, 0], [[-2, 0], [2, 0], [-2, 1], [-2, -1], [2, 1]]),
        (four, [0, 0], [[-2, 0], [2, 0], [-2, 1], [-2, -1], [2, 1]]),
    ):
        assert contains(chain, [inside]).tolist() == [True]
        assert not contains(chain, outside).any()


def test_a_hair_from_an_arc():
    """One part in 1e12 inside or outside an arc is told rightly, on all sides of a disc."""
    turn = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    way = np.column_stack((np.cos(turn), np.sin(turn)))
    disc = Chain([[-100, 0], [100, 0]], [1, 1])
    assert contains(disc, way * 100 * (1 - 1e-12)).all()
    assert not contains(disc, way * 100 * (1 + 1e-12)).any()


def test_many_rings_at_once():
    """Each point is asked about its own ring only; clockwise counts negatively, twice round double."""
    one = Chain([[0, 0], [2, 0], [2, 2], [0, 2]], [0] * 4).segments
    twice = Chain([[0, 0], [0, 2], [2, 2], [2, 0]] * 2, [0] * 8).segments
    table = type(one)(np.r_[one.start, twice.start], np.r_[one.end, twice.end], np.r_[one.bulge, twice.bulge])
    ring = np.array([0, 1, 0, 1, 1])
    xy = np.array([[1, 1], [1, 1], [3, 1], [3, 1], [0.5, 1.5]])
    assert windings(table, np.array([0, 4, 12]), ring, xy).tolist() == [1, -2, 0, 0, -2]


def test_open_chain():
    """An open chain has no inside, and asking is an error."""
    with pytest.raises(GeometryError, match="open chain"):
        contains(Chain([[0, 0], [1, 0]], [0], closed=False), [[0, 0]])
