"""Parallel outlines against published formulas.

Sources: Steiner's formula for parallel bodies (area A + P d + pi d^2, perimeter P + 2 pi d of a convex
figure), after Schneider, Convex Bodies: The Brunn-Minkowski Theory, and MathWorld, "Outer Parallel
Body"; regular polygons and circles after an engineering handbook's mensuration tables; the ratio of
mitre length 1 / sin(angle / 2) and `miter-clip` after W3C, SVG 2, 13.5.4 "Controlling line joins".
Numbers are those formulas worked out.
"""

import numpy as np
import pytest

from convert.geometry.chain import Chain
from convert.geometry.measure import area, length
from convert.geometry.offset import Corners, offset

ROUND, MITRED = Corners.rounded(), Corners.mitred(10.0)


def polygon(*corners):
    """Make an outline of straight lines."""
    return Chain(np.array(corners, dtype=float), np.zeros(len(corners)))


def regular(count, side=1.0):
    """Make a regular polygon."""
    angle = 2 * np.pi * np.arange(count) / count
    radius = side / 2 / np.sin(np.pi / count)
    return polygon(*np.stack((radius * np.cos(angle), radius * np.sin(angle)), axis=1))


def rhombus(degrees):
    """Make a rhombus of side 1 with this acute angle."""
    half = np.radians(degrees) / 2
    return polygon((0, -np.sin(half)), (np.cos(half), 0), (0, np.sin(half)), (-np.cos(half), 0))


SQUARE = polygon((0, 0), (1, 0), (1, 1), (0, 1))
ELL = polygon((0, 0), (2, 0), (2, 1), (1, 1), (1, 2), (0, 2))


@pytest.mark.parametrize(
    ("outline", "distance", "mitred", "rounded"),
    [
        (SQUARE, 0.25, 2.25, 2.196349541),
        (regular(6), 0.375, 5.335215501, 5.289862678),
        (regular(6), 0.25, 4.314582562, 4.294425752),
        (rhombus(60), 0.25, 2.154700538, 2.062374945),
        (rhombus(60), 0.375, 3.015544457, 2.807811871),
        (rhombus(45), 0.25, 2.060660172, 1.903456322),
        (rhombus(36), 0.25, 2.013110656, 1.784134793),
        (regular(3), 0.25, 1.507772228, 1.379362243),
        (ELL, 0.25, 5.25, 5.182936926),
    ],
)
def test_areas_outward(outline, distance, mitred, rounded):
    """Areas with mitred corners (P d + d^2 sum of tan of half the turns) and with round ones (Steiner)."""
    (sharp,) = offset(outline, distance, MITRED)
    (soft,) = offset(outline, distance, ROUND)
    assert area(sharp.chain) == pytest.approx(mitred, abs=1e-9)
    assert area(soft.chain) == pytest.approx(rounded, abs=1e-9)


@pytest.mark.parametrize(
    ("outline", "distance", "side"),
    [
        (regular(6), 0.375, 1.4330127019),
        (regular(6), 0.25, 1.2886751346),
        (rhombus(60), 0.25, 1.5773502692),
        (rhombus(60), 0.375, 1.8660254038),
        (rhombus(45), 0.25, 1.7071067812),
        (regular(3), 0.25, 1.8660254038),
        (regular(6), -0.25, 0.7113248654),
    ],
)
def test_sides_of_mitred_parallels(outline, distance, side):
    """A mitred parallel of a figure with equal sides and one inscribed circle is similar to it."""
    (ring,) = offset(outline, distance, MITRED)
    sides = np.linalg.norm(np.roll(ring.chain.points, -1, axis=0) - ring.chain.points, axis=1)
    assert sides == pytest.approx([side] * len(outline), abs=1e-9)


def test_steiner_perimeter():
    """The perimeter of a convex figure's round parallel is P + 2 pi d."""
    for outline in (SQUARE, regular(6), rhombus(36), regular(3)):
        (ring,) = offset(outline, 0.25, ROUND)
        assert length(ring.chain) == pytest.approx(length(outline) + np.pi / 2, abs=1e-12)


def test_insets():
    """A hexagon of side 1 inset by 0.25; a 60 degree rhombus is gone at its inradius, sqrt(3) / 4."""
    assert area(offset(regular(6), -0.25, ROUND)[0].chain) == pytest.approx(1.314582562, abs=1e-9)
    assert len(offset(rhombus(60), -0.4330, ROUND)) == 1
    assert offset(rhombus(60), -0.4330127019, ROUND) == ()


def test_ring_of_a_hexagon():
    """Ring of 3/8 in round a 1 in hexagon: 2.737139290 square inches."""
    (ring,) = offset(regular(6), 0.375, MITRED)
    assert area(ring.chain) - area(regular(6)) == pytest.approx(2.737139290, abs=1e-9)


def test_half_a_kerf():
    """A 30 mm part cut with a beam of 0.2 mm needs a path of 30.2; a 30 mm hole one of 29.8."""
    part = polygon((0, 0), (30, 0), (30, 30), (0, 30))
    for distance, side in ((0.1, 30.2), (-0.1, 29.8)):
        (ring,) = offset(part, distance, MITRED)
        assert np.ptp(ring.chain.points, axis=0) == pytest.approx([side, side], abs=1e-12)


def test_arcs_keep_their_angle():
    """A half disc of radius 1: its arc's parallels have radius 1.25 and 0.75 and the same bulge."""
    half_disc = Chain(np.array([[1.0, 0], [-1.0, 0]]), np.array([1.0, 0.0]))
    (out,) = offset(half_disc, 0.25, ROUND)
    arc = list(out.source).index(0)
    assert out.chain.bulge[arc] == 1.0
    assert np.linalg.norm(out.chain.points[arc]) == pytest.approx(1.25, abs=1e-12)
    circle = Chain(np.array([[1.0, 0], [-1.0, 0]]), np.ones(2))
    (inner,) = offset(circle, -0.25, ROUND)
    assert np.array_equal(inner.chain.bulge, circle.bulge)
    assert np.linalg.norm(inner.chain.points, axis=1) == pytest.approx([0.75, 0.75], abs=1e-12)


@pytest.mark.parametrize(("limit", "degrees"), [(4.0, 28.95502437), (10.0, 11.47834095), (2**0.5, 90.0)])
def test_mitre_limits(limit, degrees):
    """A corner is cut exactly below the angle where 1 / sin(angle / 2) passes the limit."""
    for factor, cut in ((1 + 1e-6, 0), (1 - 1e-6, 1)):
        apex = np.radians(degrees * factor)
        x, y = np.cos(apex / 2), np.sin(apex / 2)
        triangle = polygon((0, 0), (x, -y), (x, y))
        # The base corners of the right triangle are below the smallest limit as well.
        base = 2 if 1 / np.sin((np.pi - apex) / 4) > limit else 0
        (ring,) = offset(triangle, 0.01, Corners.mitred(limit))
        assert len(ring.chain) == 3 + cut + base
