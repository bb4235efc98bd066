"""Measures and meetings against formulas that others published.

Sources, each named again beside its test: D. Zwillinger (ed.), CRC Standard Mathematical Tables and
Formulae (regular polygons, circular segments, Heron's formula); G. Pick, "Geometrisches zur
Zahlenlehre" (1899); the DXF reference, LWPOLYLINE group code 42 (bulge); Euclid, Elements I.1;
Archimedes, Book of Lemmas, proposition 4; Hippocrates' lune. Titles from memory; every number recomputed.
"""

from itertools import combinations
from math import acos, cos, degrees, gcd, pi, radians, sin, sqrt, tan

import numpy as np
import pytest

from convert.geometry.chain import Chain, Segments
from convert.geometry.edit import flatten
from convert.geometry.intersect import Meeting, intersect
from convert.geometry.measure import (
    area,
    area_terms,
    box,
    centroid,
    contains,
    distances_to,
    inner_point,
    length,
    lengths,
    midpoint,
    point_at,
    radius,
    second_moments,
    sweep,
)


def polygon(*points) -> Chain:
    """Return a closed chain of lines."""
    return Chain(np.array(points, float), np.zeros(len(points)))


@pytest.mark.parametrize(
    ("n", "size", "inradius", "circumradius"),
    [
        (3, 0.4330127019, 0.2886751346, 0.5773502692),
        (4, 1.0, 0.5, 0.7071067812),
        (5, 1.7204774006, 0.6881909602, 0.8506508084),
        (6, 2.5980762114, 0.8660254038, 1.0),
        (7, 3.6339124440, 1.0382606983, 1.1523824355),
        (8, 4.8284271247, 1.2071067812, 1.3065629649),
        (9, 6.1818241938, 1.3737387097, 1.4619022000),
        (10, 7.6942088429, 1.5388417686, 1.6180339887),
        (12, 11.1961524227, 1.8660254038, 1.9318516526),
    ],
)
def test_regular_polygons(n, size, inradius, circumradius):
    """CRC tables, regular polygons of side 1: area, inradius, circumradius; I = A (6 R^2 - 1) / 24."""
    turn = 0.3 + 2 * pi * np.arange(n) / n
    chain = Chain(np.column_stack((np.cos(turn), np.sin(turn))) * circumradius + [7, -3], np.zeros(n))
    assert length(chain) == pytest.approx(n, rel=1e-9)
    assert area(chain) == pytest.approx(size, rel=1e-9)
    assert centroid(chain) == pytest.approx((7, -3), abs=1e-12)
    x, y, clearance = inner_point(chain)
    assert (x, y, clearance) == pytest.approx((7, -3, inradius), abs=1e-9)
    # Second moment of a regular polygon about any axis through its centre (CRC, moments of inertia).
    expected = size * (6 * circumradius**2 - 1) / 24
    assert second_moments(chain) == pytest.approx((expected, expected, 0), abs=1e-8)


@pytest.mark.parametrize(
    ("a", "b", "c", "size"), [(3, 4, 5, 6), (13, 14, 15, 84), (5, 5, 6, 12), (7, 8, 9, 26.8328157300)]
)
def test_heron(a, b, c, size):
    """Heron's formula for triangles given by their sides; the inradius is area over half the perimeter."""
    angle = acos((a * a + b * b - c * c) / (2 * a * b))
    triangle = polygon((0, 0), (a, 0), (b * cos(angle), b * sin(angle)))
    assert sorted(lengths(triangle.segments)) == pytest.approx(sorted((a, b, c)))
    assert area(triangle) == pytest.approx(size, rel=1e-11)
    assert inner_point(triangle)[2] == pytest.approx(2 * size / (a + b + c), rel=0.01)


@pytest.mark.parametrize(
    ("corners", "size", "on_border", "inside"),
    [
        ([(0, 0), (4, 0), (0, 3)], 6, 8, 3),
        ([(0, 0), (4, 0), (4, 4), (2, 2), (0, 4)], 12, 16, 5),
        ([(0, 0), (6, 0), (6, 2), (2, 2), (2, 6), (0, 6)], 20, 24, 9),
        ([(1, 0), (5, 1), (6, 5), (2, 6), (0, 3)], 24.5, 5, 23),
        ([(0, 0), (8, 3), (13, 5), (5, 2)], 1, 4, 0),
    ],
)
def test_pick(corners, size, on_border, inside):
    """Pick's theorem, A = I + B / 2 - 1: the area exactly, and the lattice points by winding numbers."""
    chain = polygon(*corners)
    assert area(chain) == size == inside + on_border / 2 - 1
    steps = zip(corners, corners[1:] + corners[:1], strict=True)
    assert sum(gcd(u - x, v - y) for (x, y), (u, v) in steps) == on_border
    lattice = np.array([(x, y) for x in range(-1, 15) for y in range(-1, 8)], float)
    border = distances_to(chain, lattice) < 1e-12
    assert border.sum() == on_border
    assert contains(chain, lattice[~border]).sum() == inside


@pytest.mark.parametrize(
    ("angle", "bulge"),
    [
        (30, 0.1316524976), (36, 0.1583844403), (45, 0.1989123674), (60, 0.2679491924), (72, 0.3249196962),
        (90, 0.4142135624), (120, 0.5773502692), (150, 0.7673269880), (180, 1.0),
    ],
)  # fmt: skip
def test_bulges(angle, bulge):
    """DXF reference, group 42: a bulge is the tangent of a quarter of the included angle, left positive."""
    for sign in (1, -1):
        s = Segments([[0, 0]], [[2, 0]], [sign * bulge])
        assert degrees(sweep(s)[0]) == pytest.approx(sign * angle, abs=1e-7)
        assert radius(s)[0] == pytest.approx(1 / sin(radians(angle / 2)), rel=1e-9)
        assert lengths(s)[0] == pytest.approx(radians(angle) / sin(radians(angle / 2)), rel=1e-9)
        # Turning left, the arc bows to the right of its chord; bulge = 2 sagitta / chord.
        assert midpoint(s)[0] == pytest.approx([1, -sign * bulge], abs=1e-9)


def test_bulge_rows():
    """Rows computed from the DXF reference: chord 2 and a quarter circle, bulge 0.5, 120 degrees."""
    s = Segments([[0, 0]] * 3, [[2, 0]] * 3, [0.4142135624, 0.5, 0.57735])
    assert radius(s)[:2] == pytest.approx([1.4142135624, 1.25], rel=1e-9)
    assert -midpoint(s)[:2, 1] == pytest.approx([0.4142135624, 0.5])
    assert np.degrees(sweep(s))[1] == pytest.approx(106.2602047)
    assert sweep(s)[2] == pytest.approx(2.0943951, abs=1e-6)


def test_bulge_of_a_flipped_svg_arc():
    """A quarter circle drawn clockwise (y up) has the bulge -tan(22.5 degrees) (DXF, group 42)."""
    down = Segments([[0.0, 1.0]], [[1.0, 0.0]], [-0.4142135624])
    assert point_at(down, 0.5)[0] == pytest.approx([sqrt(0.5), sqrt(0.5)], abs=1e-9)


@pytest.mark.parametrize(("angle", "size"), [(60, 0.0905860737), (90, 0.2853981634), (120, 0.6141848493)])
def test_circular_segments(angle, size):
    """CRC tables, circular segment of radius 1: (T - sin T) / 2; centroid 4 sin^3(T/2) / (3 (T - sin T))."""
    half = radians(angle) / 2
    chain = Chain([[sin(half), cos(half)], [-sin(half), cos(half)]], [tan(half / 2), 0])
    assert area(chain) == pytest.approx(size, abs=5e-11)
    height = 4 * sin(half) ** 3 / (3 * (2 * half - sin(2 * half)))
    assert centroid(chain) == pytest.approx((0, height), abs=1e-13)
    assert box(chain) == pytest.approx([-sin(half), cos(half), sin(half), 1])


def test_vesica():
    """Euclid I.1: two unit circles through each other's centres meet sqrt(3) apart; their common lens."""
    left = Segments([[1, 0], [-1, 0]], [[-1, 0], [1, 0]], [1, 1])
    right = Segments([[2, 0], [0, 0]], [[0, 0], [2, 0]], [1, 1])
    pairs = [(i, j) for i in (0, 1) for j in (0, 1)]
    i, j = np.array(pairs).T
    m = intersect(left.take(i), right.take(j), 1e-9)
    at = sorted(m.points[m.kind == Meeting.CROSS][:, 0].tolist())
    assert np.abs(np.array(at) - [[0.5, -sqrt(3) / 2], [0.5, sqrt(3) / 2]]).max() < 1e-12
    lens = Chain(at, [tan(pi / 6), tan(pi / 6)])
    assert area(lens) == pytest.approx(1.2283696986, abs=1e-10)
    assert box(lens) == pytest.approx([0, -sqrt(3) / 2, 1, sqrt(3) / 2])


@pytest.mark.parametrize(
    ("chain", "size", "around"),
    [
        # Orange peel in the unit square; chord sqrt(2), tip 90 degrees.
        (Chain([[0, 0], [1, 1]], [tan(pi / 8)] * 2), 0.5707963268, pi),
        # Clamshell of radius 0.75: half a disc and two hollow quarters.
        (Chain([[0.75, 0], [-0.75, 0], [0, -0.75]], [1, -tan(pi / 8), -tan(pi / 8)]), 1.125, 4.7123889804),
        # Apple core on a chord of 1: two full and two hollow quarters.
        (
            Chain([[0, 0], [1, 0], [1, 1], [0, 1]], [tan(pi / 8), -tan(pi / 8)] * 2),
            1.0, 4.4428829382,
        ),
        # Reuleaux triangle of width 1.
        (Chain([[0, 0], [1, 0], [0.5, sqrt(3) / 2]], [tan(pi / 12)] * 3), 0.7047709230, 3.1415926536),
        # Arbelos, Archimedes: half circles over 2, 4 and 6; area a disc of diameter sqrt(2 * 4).
        (Chain([[6, 0], [0, 0], [2, 0]], [1, -1, -1]), 6.2831853072, 18.8495559215),
        # Lune of Hippocrates on the chord of a unit quarter circle: exactly a half.
        (Chain([[1, 0], [0, 1]], [1, -tan(pi / 8)]), 0.5, None),
    ],
)  # fmt: skip
def test_named_shapes(chain, size, around):
    """Classical shapes of arcs: area and perimeter (CRC; Archimedes; Hippocrates; rest recomputed)."""
    assert area(chain) == pytest.approx(size, abs=1e-10)
    if around is not None:
        assert length(chain) == pytest.approx(around, abs=1e-10)


@pytest.mark.parametrize(
    ("r", "tolerance", "steps"), [(25.4, 0.05, 51), (25.4, 0.01, 112), (50.8, 0.05, 71), (12.7, 0.1, 26)]
)
def test_chords_of_a_circle(r, tolerance, steps):
    """A circle needs ceil(pi / acos(1 - e / r)) chords for error e; in two halves, the next even number."""
    disc = Chain([[-r, 0], [r, 0]], [1, 1])
    assert len(flatten(disc, tolerance)) == steps + steps % 2


def test_sagitta():
    """An arc of 60 degrees rises 0.1339745962 of its radius over its chord (CRC tables)."""
    s = Segments([[-12.7, 0]], [[12.7, 0]], [tan(radians(15))])
    assert radius(s)[0] == pytest.approx(25.4)
    assert -midpoint(s)[0, 1] == pytest.approx(3.4029547, abs=5e-8)


def test_six_petals():
    """Six arcs of a compass in a unit circle (Euclid IV.15): six petals and six webs fill the disc."""
    tips = np.column_stack((np.cos(np.arange(6) * pi / 3), np.sin(np.arange(6) * pi / 3)))
    petal = Chain([[0, 0], tips[0]], [tan(pi / 12)] * 2)
    assert area(petal) == pytest.approx(0.1811721474, abs=1e-10)
    assert box(petal)[3] - box(petal)[1] == pytest.approx(0.2679491924, abs=1e-10)
    sides = Segments(np.zeros((6, 2)), tips, np.full(6, tan(pi / 12)))
    i, j = np.array(list(combinations(range(6), 2))).T
    m = intersect(sides.take(i), sides.take(j), 1e-9)
    # All meet at the centre and nowhere else.
    assert (m.kind == Meeting.TOUCH).all()
    assert (m.count == 1).all()
    web = Chain([[0, 0], tips[0], tips[1]], [-tan(pi / 12), tan(pi / 12), -tan(pi / 12)])
    assert area(web) == pytest.approx(0.3424266282, abs=1e-10)
    assert 6 * (area(petal) + area(web)) == pytest.approx(pi, abs=1e-12)
    assert area_terms(petal.segments).sum() == area(petal)
