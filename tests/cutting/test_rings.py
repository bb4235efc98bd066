"""Rings: at their allowance all round, whole or blunt at corners, and honest about what they fill."""

from math import cos, pi, radians, sin, sqrt, tan

import numpy as np
import pytest
import shapely
from curves import SETTINGS, moves, stars
from hypothesis import given
from hypothesis import strategies as st
from parallel_oracle import corner_tips, grown, tangents

from convert.cutting.rings import LONGEST_MITRE, PAST_TIP, rings
from convert.geometry.chain import Chain
from convert.geometry.measure import area
from convert.proof.outlines import table_of
from convert.proof.parallel import Distance, deviations


def polygon(*corners):
    """Make an outline of straight lines."""
    return Chain(np.array(corners, dtype=float), np.zeros(len(corners)))


def rhombus(degrees, side=40.0):
    """Make a rhombus with its acute points at the left and right."""
    half = radians(degrees) / 2
    x, y = side * cos(half), side * sin(half)
    return polygon((0, -y), (x, 0), (0, y), (-x, 0))


def ring(outline, allowance=6.35, holes=()):
    """Return the ring of one shape."""
    (made,) = rings([(outline, holes)], allowance)
    return made


def _off(outline, made, allowance):
    one = np.ones(1)
    distance = Distance(allowance * one, LONGEST_MITRE * one, PAST_TIP * allowance * one)
    return deviations(table_of([made]), table_of([outline]), distance)[0]


@pytest.mark.parametrize("degrees", [90.0, 72.0, 60.0])
def test_blunt_points_stay_whole(degrees):
    """The ring of a rhombus of 60 degrees or more is a rhombus: its sides are carried on to their mitre."""
    made = ring(rhombus(degrees))
    assert len(made.outer) == 4
    reach = np.hypot(*made.outer.points.T).max()
    assert reach == pytest.approx(
        40.0 * cos(radians(degrees / 2)) + 6.35 / sin(radians(degrees / 2)), abs=1e-9
    )


@pytest.mark.parametrize("degrees", [55.0, 45.0, 36.0, 22.5, 5.0])
def test_long_points_are_cut_one_allowance_past_the_corner(degrees):
    """A sharper point is cut square across its bisector, at the allowance, 2 (d / sin - d) tan long."""
    outline, d, half = rhombus(degrees), 6.35, radians(degrees / 2)
    made = ring(outline)
    assert len(made.outer) == 6
    right = np.isclose(made.outer.points[:, 0], made.outer.points[:, 0].max(), atol=1e-9)
    assert right.sum() == 2
    assert made.outer.points[:, 0].max() == pytest.approx(40.0 * cos(half) + d, abs=1e-9)
    long = np.ptp(made.outer.points[right, 1])
    assert long == pytest.approx(2.0 * (d / sin(half) - d) * tan(half), abs=1e-9)
    assert _off(outline, made.outer, d) < 1e-9


def test_petal_of_arcs_keeps_few_nodes():
    """Arcs stay arcs with their centres; a point between two arcs adds at most four nodes."""
    for degrees, corners in ((60.0, 2), (40.0, 2)):
        bulge = tan(radians(degrees) / 4)
        petal = Chain(np.array([[0.0, 0.0], [80.0, 0.0]]), np.array([bulge, bulge]))
        made = ring(petal)
        assert made.outer.bulge.astype(bool).sum() == 2
        assert len(made.outer) <= 2 + 4 * corners
        assert _off(petal, made.outer, 6.35) < 1e-9
        assert not made.swallowed.any()


def test_a_hollow_curve_tighter_than_the_allowance_is_filled_and_said_so():
    """A concave arc has no ring when its radius is the allowance or less, and one when it is more."""
    for radius, gone in ((5.0, True), (6.35, True), (7.0, False)):
        outline = Chain(
            np.array([[0, 0], [60, 0], [60, 40], [30 + radius, 40], [30 - radius, 40], [0, 40]], dtype=float),
            np.array([0, 0, 0, -1.0, 0, 0]),
        )
        made = ring(outline)
        assert made.swallowed.tolist() == [False, False, False, gone, False, False]
        assert area(made.outer) > area(outline)


def test_a_narrow_hollow_is_filled_and_said_so():
    """The sides of a slot narrower than two allowances have no ring, those of a wider one have."""
    for width, gone in ((10.0, True), (14.0, False)):
        slot = [(0, 0), (60, 0), (60, 40), (30 + width / 2, 40), (30 + width / 2, 15), (30 - width / 2, 15),
                (30 - width / 2, 40), (0, 40)]  # fmt: skip
        made = ring(polygon(*slot))
        assert made.swallowed.tolist() == [False, False, False, gone, gone, gone, False, False]
        assert made.holes == ()


def test_a_hollow_that_closes_leaves_one_outline():
    """Where the arms of a ring-shaped piece meet, the hole inside is filled: cloth has only its outer cut."""
    c = [
        (0, 0),
        (80, 0),
        (80, 35),
        (60, 35),
        (60, 20),
        (20, 20),
        (20, 60),
        (60, 60),
        (60, 45),
        (80, 45),
        (80, 80),
        (0, 80),
    ]
    made = ring(polygon(*c))
    assert made.holes == ()
    assert made.swallowed.any()
    assert area(made.outer) == pytest.approx((80 + 12.7) ** 2, abs=1e-6)


def test_holes_shrink_by_the_allowance_until_nothing_is_left():
    """A hole keeps what is farther than the allowance from its edge, clockwise; a small one is gone."""
    outline = polygon((0, 0), (100, 0), (100, 60), (0, 60))
    large = Chain(np.array([[10.0, 30.0], [50.0, 30.0]]), np.array([-1.0, -1.0]))
    small = Chain(np.array([[70.0, 30.0], [80.0, 30.0]]), np.array([-1.0, -1.0]))
    made = ring(outline, holes=(large, small))
    (left,) = made.holes
    assert area(left) == pytest.approx(-pi * (20.0 - 6.35) ** 2, rel=1e-9)


def expected(outline, d):
    """Build the ring from a round parallel and, at each open corner, the piece of cloth that fills it."""
    shapes = [grown(outline, (), d, 1e-4)]
    leave, arrive = tangents(outline)
    for i in range(len(outline)):
        a, b = arrive[i - 1], leave[i]
        turn = np.arctan2(a[0] * b[1] - a[1] * b[0], a @ b)
        if turn > 1e-2:
            whole = 1.0 / cos(turn / 2) <= LONGEST_MITRE
            alone = Chain(np.roll(outline.points, -i, axis=0), np.roll(outline.bulge, -i))
            tips = corner_tips(alone, d, (9.0 if whole else PAST_TIP) * d)
            shapes.append(next(tip for tip in tips if tip.exterior.coords[0] == tuple(outline.points[i])))
    union = shapely.union_all(shapes)
    return shapely.Polygon(union.exterior)


@SETTINGS
@given(stars(), st.floats(0.5, 15.0), moves)
def test_rings_of_any_star(outline, allowance, move):
    """Every ring is at its allowance by the proof's measures, and has the area that an oracle finds.

    The oracle is the union of a finely flattened round parallel and of each corner's own piece.
    """
    outline = move.outline(outline)
    allowance *= move.scale
    made = ring(outline, allowance)
    size = np.abs(outline.points - outline.points.mean(axis=0)).max()
    assert _off(outline, made.outer, allowance) < 1e-9 * (size + np.abs(outline.points).max())
    middle = outline.points.mean(axis=0)
    shifted = Chain(outline.points - middle, outline.bulge)
    assert area(made.outer) == pytest.approx(expected(shifted, allowance).area, rel=1e-4)


def test_many_at_once_are_like_each_alone():
    """Rings of many shapes, with and without holes, are those of each shape alone."""
    hole = Chain(np.array([[-8.0, 0.0], [8.0, 0.0]]), np.array([-1.0, -1.0]))
    shapes = [(rhombus(90.0), (hole,)), (rhombus(36.0), ()), (rhombus(100.0), (hole,)), (rhombus(60.0), ())]
    for made, (outline, holes) in zip(rings(shapes, 3.0), shapes, strict=True):
        alone = ring(outline, 3.0, holes)
        assert np.array_equal(made.outer.points, alone.outer.points)
        assert len(made.holes) == len(holes)


def test_sides_of_sixty_degrees_are_on_the_whole_side():
    """The longest mitre leaves room above that of 60 degrees, so that rounding doesn't decide."""
    assert 1.0 / sin(radians(30)) == pytest.approx(2.0)
    assert 2.0 + 1e-2 < LONGEST_MITRE < sqrt(2) * 2


@pytest.mark.parametrize("apart", [3.0, 6.0, 10.0, 14.0, 40.0])
def test_long_points_that_run_into_each_other(apart):
    """Two sharp points side by side are cut one allowance past their tips, rings meeting or not."""
    spikes = polygon(
        (-30, 0), (apart + 30, 0), (apart + 6, 10), (apart, 50), (apart / 2, 12), (0, 50), (-6, 10)
    )
    made = ring(spikes)
    assert _off(spikes, made.outer, 6.35) < 1e-9
    assert area(made.outer) == pytest.approx(expected(spikes, 6.35).area, rel=1e-2)
    assert made.outer.points[:, 1].max() <= 50 + 1.5 * 6.35
