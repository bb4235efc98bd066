"""A point deep inside an outline: right to the stated precision, and the same however the outline lies."""

import numpy as np
import pytest
from curves import SETTINGS, moves, stars
from hypothesis import given

from convert.errors import GeometryError
from convert.geometry import pole
from convert.geometry.chain import Chain
from convert.geometry.edit import reverse
from convert.geometry.measure import box, contains, distances_to, inner_point
from convert.geometry.pole import FINEST, SLACK, inner_points
from convert.geometry.similarity import Similarity


@SETTINGS
@given(stars())
def test_no_grid_point_is_deeper(chain):
    """The point is inside, its clearance exact, and no point of a fine grid deeper but for the slack."""
    x, y, clearance = inner_point(chain)
    here = np.array([[x, y]])
    assert contains(chain, here)[0]
    assert distances_to(chain, here)[0] == pytest.approx(clearance, rel=1e-12)
    frame = box(chain)
    grid = np.meshgrid(np.linspace(frame[0], frame[2], 90), np.linspace(frame[1], frame[3], 90))
    xy = np.column_stack([g.ravel() for g in grid])
    deepest = distances_to(chain, xy)[contains(chain, xy)].max()
    diagonal = np.hypot(*(frame[2:] - frame[:2]))
    assert clearance >= deepest * (1 - SLACK) - FINEST * diagonal


@SETTINGS
@given(stars(), moves)
def test_clearance_follows_similarities(chain, move):
    """Turned, flipped, moved and scaled outlines have the same clearance to the slack."""
    moved, own = inner_point(move.outline(chain))[2], inner_point(chain)[2]
    diagonal = np.hypot(*(box(chain)[2:] - box(chain)[:2]))
    assert moved / move.scale == pytest.approx(own, rel=SLACK, abs=2 * FINEST * diagonal)


def test_place_follows_turns_and_reversal():
    """An outline without symmetry gets the same point when turned, moved, mirrored or reversed."""
    chain = Chain([[0, 0], [50, 3], [60, 40], [-5, 30]], [0.3, 0, -0.8, 1e-7])
    x, y, _ = inner_point(chain)
    for move in (
        Similarity.turn(1.1),
        Similarity.turn(-2.0, 7.0),
        Similarity.mirror_x(),
        Similarity.shift(1e5, -4e4),
    ):
        u, v, _ = inner_point(move.outline(chain))
        assert (u, v) == pytest.approx(move.point(x, y), abs=1e-7)
    assert inner_point(reverse(chain))[:2] == pytest.approx((x, y), abs=1e-7)


def test_known_poles():
    """Incentres and centres: right triangle, square, disc, ring, long strip, crescent."""
    assert inner_point(Chain([[0, 0], [40, 0], [0, 30]], [0, 0, 0])) == pytest.approx((10, 10, 10), rel=0.01)
    square = Chain([[0, 0], [50, 0], [50, 50], [0, 50]], [0] * 4)
    assert inner_point(square) == pytest.approx((25, 25, 25), rel=1e-12)
    assert inner_point(Chain([[-1, 0], [1, 0]], [1, 1])) == pytest.approx((0, 0, 1), abs=1e-12)
    strip = Chain([[0, 0], [100, 0], [100, 1], [0, 1]], [0] * 4)
    assert inner_point(strip) == pytest.approx((50, 0.5, 0.5), abs=1e-9)
    ring = inner_point(Chain([[-10, 0], [10, 0]], [1, 1]), [Chain([[-4, 0], [4, 0]], [1, 1])])
    assert ring[2] == pytest.approx(3, rel=0.01)
    assert np.hypot(*ring[:2]) == pytest.approx(7, rel=0.02)
    # Of a disc of 20 less one of 8 that touches it inside, 12 are left opposite.
    crescent = inner_point(Chain([[-10, 0], [10, 0]], [1, 1]), [Chain([[-10 + 1e-9, 0], [-2, 0]], [1, 1])])
    assert crescent[2] == pytest.approx(6, rel=0.01)


def test_slivers_are_found_inside():
    """However thin an outline is, its point is inside it."""
    for thin in (1.0, 1e-2, 1e-4):
        bow = Chain([[-50, 0], [50, 0], [50, thin], [-50, thin]], [0.5, 0, -0.5, 0])
        x, y, clearance = inner_point(bow)
        assert clearance > 0
        assert contains(bow, [[x, y]])[0]


def test_many_at_once_are_each_alone(monkeypatch):
    """Outlines searched together, so many at once or more, get exactly the points they get alone."""
    monkeypatch.setattr(pole, "_AT_ONCE", 15)
    random = np.random.default_rng(3)
    outlines = []
    for k in range(20):
        turn = np.sort(random.random(7)) * 2 * np.pi
        corners = np.column_stack((np.cos(turn), np.sin(turn))) * (10 + 5 * random.random(7))[:, None]
        outlines.append((Chain(corners + 30 * k, random.uniform(-0.1, 0.1, 7)), ()))
    together = inner_points(outlines)
    assert together == pytest.approx(np.array([inner_point(*o) for o in outlines]), abs=1e-9)
    assert inner_points([]).shape == (0, 3)


def test_refusals():
    """Nothing inside and open chains are refused."""
    with pytest.raises(GeometryError, match="no area"):
        inner_point(Chain([[0, 0], [1, 0], [2, 0]], [0, 0, 0]))
    with pytest.raises(GeometryError, match="open chain"):
        inner_point(Chain([[0, 0], [1, 0], [2, 1]], [0, 0], closed=False))
    square = Chain([[0, 0], [5, 0], [5, 5], [0, 5]], [0] * 4)
    with pytest.raises(GeometryError, match="no area"):
        inner_point(square, [square])
