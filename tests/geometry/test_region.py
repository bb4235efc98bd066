"""Areas, centroids and second moments of outlines with arcs."""

import numpy as np
import pytest
from curves import SETTINGS, on_circle, stars, variants
from hypothesis import given

from convert.errors import GeometryError
from convert.geometry.chain import Chain
from convert.geometry.edit import flatten
from convert.geometry.measure import area, box, centroid, length, second_moments
from convert.geometry.region import moments
from convert.geometry.similarity import Similarity


def polygon_moments(corners):
    """Area, first and second moments of a polygon about the origin by the sums over its corners."""
    x, y = corners.T
    u, v = np.roll(x, -1), np.roll(y, -1)
    a = x * v - u * y
    size = a.sum() / 2
    first = np.array([((x + u) * a).sum(), ((y + v) * a).sum()]) / 6
    xx = ((x * x + x * u + u * u) * a).sum() / 12
    yy = ((y * y + y * v + v * v) * a).sum() / 12
    xy = ((x * v + 2 * x * y + 2 * u * v + u * y) * a).sum() / 24
    return size, first, np.array([yy, xx, xy])


@SETTINGS
@given(stars())
def test_moments_are_those_of_a_fine_polygon(chain):
    """Area, centroid and second moments agree with a polygon inscribed finely, to what its chords cut off."""
    origin = chain.points.mean(axis=0)
    fine = np.concatenate(
        [
            on_circle(p, q, b, np.arange(400) / 400)
            for p, q, b in zip(chain.points, np.roll(chain.points, -1, axis=0), chain.bulge, strict=True)
        ]
    )
    size, first, second = polygon_moments(fine - origin)
    middle = first / size
    about = second - size * np.array([middle[1] ** 2, middle[0] ** 2, middle[0] * middle[1]])
    assert area(chain) == pytest.approx(size, rel=1e-5)
    assert np.abs(np.array(centroid(chain)) - origin - middle).max() < 1e-4
    assert np.abs(np.array(second_moments(chain)) - about).max() < 2e-5 * about[:2].max()


@SETTINGS
@given(stars())
def test_symmetries(chain):
    """First vertex, direction, mirror, turn, place and scale change nothing but what they must."""
    middle, second = np.array(centroid(chain)), np.array(second_moments(chain))
    for v in variants(chain):
        scale = v.move.scale
        assert area(v.chain) == pytest.approx(v.sign * area(chain) * scale**2, rel=1e-9), v.name
        assert length(v.chain) == pytest.approx(length(chain) * scale, rel=1e-11), v.name
        assert np.array(centroid(v.chain)) == pytest.approx(v.move.points(middle), abs=1e-8), v.name
        # Second moments: the trace and the determinant don't depend on the axes.
        xx, yy, xy = np.array(second_moments(v.chain)) / scale**4
        assert xx + yy == pytest.approx(second[0] + second[1], rel=1e-8), v.name
        det = second[0] * second[1] - second[2] ** 2
        assert xx * yy - xy * xy == pytest.approx(det, rel=1e-6), v.name
    turned = Similarity.turn(np.pi / 2).chain(chain)
    swapped = second[[1, 0, 2]] * [1, 1, -1]
    assert np.array(second_moments(turned)) == pytest.approx(swapped, rel=1e-9, abs=1e-3)


@SETTINGS
@given(stars())
def test_area_adds_up_across_a_cut(chain):
    """A chord from corner to corner cuts an outline into two whose areas add up."""
    k = len(chain) // 2
    one = Chain(chain.points[: k + 1], np.r_[chain.bulge[:k], 0.3])
    two = Chain(np.r_[chain.points[k:], chain.points[:1]], np.r_[chain.bulge[k:], -0.3])
    assert area(one) + area(two) == pytest.approx(area(chain), rel=1e-12, abs=1e-9)


def test_disc_and_half_disc():
    """A disc and a half disc have the area, centroid and moments that the books give."""
    disc = Chain([[0, 0], [2, 0]], [1, 1])
    assert area(disc) == pytest.approx(np.pi, rel=1e-15)
    assert centroid(disc) == pytest.approx((1, 0), abs=1e-15)
    assert second_moments(disc) == pytest.approx((np.pi / 4, np.pi / 4, 0), abs=1e-14)
    half = Chain([[-3, 0], [3, 0]], [0, 1])
    assert centroid(half) == pytest.approx((0, 4 * 3 / (3 * np.pi)), abs=1e-14)
    assert second_moments(half)[0] == pytest.approx((np.pi / 8 - 8 / (9 * np.pi)) * 81, rel=1e-13)
    assert second_moments(half)[1] == pytest.approx(np.pi / 8 * 81, rel=1e-13)


def test_box_of_a_chain():
    """The box holds bows, and an open chain of one point has the box of that point."""
    assert box(Chain([[0, 0], [2, 0]], [1, 1])) == pytest.approx([0, -1, 2, 1], abs=1e-15)
    assert box(Chain([[5, 6]], [], closed=False)).tolist() == [5, 6, 5, 6]


@SETTINGS
@given(stars(), stars())
def test_many_at_once(one, two):
    """Moments of several chains in one table are those of each alone."""
    rows = [chain.segments for chain in (one, two)]
    table = type(rows[0])(
        np.concatenate([r.start for r in rows]),
        np.concatenate([r.end for r in rows]),
        np.concatenate([r.bulge for r in rows]),
    )
    size, middle, second = moments(table, np.array([0, len(one)]))
    assert size == pytest.approx([area(one), area(two)], rel=1e-12)
    for i, chain in enumerate((one, two)):
        assert (middle[i].real, middle[i].imag) == pytest.approx(centroid(chain), abs=1e-11)
        assert second[i] == pytest.approx(second_moments(chain), rel=1e-12, abs=1e-9)


def test_refusals():
    """Open chains and outlines that enclose nothing are refused, because any number would be wrong."""
    for measure in (area, centroid, second_moments):
        with pytest.raises(GeometryError, match="open chain"):
            measure(Chain([[0, 0], [1, 0], [1, 1]], [0, 0], closed=False))
    with pytest.raises(GeometryError, match="encloses no area"):
        centroid(Chain([[0, 0], [1, 0], [3, 0]], [0, 0, 0]))


@SETTINGS
@given(stars())
def test_flattened_area_is_near(chain):
    """Flattening within a tolerance changes the area by at most tolerance times length."""
    x, y = flatten(chain, 0.01).T
    polygon = (x * np.roll(y, -1) - np.roll(x, -1) * y).sum() / 2
    assert abs(polygon - area(chain)) <= 0.01 * length(chain) + 1e-9
