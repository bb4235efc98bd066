"""Patterns fill the plane without overlap, and as densely as is known."""

from math import pi

import numpy as np
import pytest
import shapely
from nest_shapes import SHAPES, polygon

from convert.cutting.nest.courses import patterns_of
from convert.cutting.nest.model import Item, Rotation
from convert.cutting.nest.shapes import kinds_of

TILES = ["hexagon", "triangle", "square", "rhomb 60", "rhomb 30", "kite", "quadrilateral", "jewel"]


def patterns(outline, gap=0.0, rotation=None, quarter=0):
    """Return a kind and its patterns."""
    kind = kinds_of([Item(outline, 1)], rotation or Rotation())[0]
    return kind, patterns_of(kind, gap, quarter, 12, 24)


def patch(kind, pattern):
    """Return five courses of seven motifs as shapely polygons."""
    out = []
    z = kind.corners
    for course in range(-2, 3):
        for k in range(-3, 4):
            for part in pattern.parts:
                there = z * np.exp(1j * part.angle) + part.at + course * pattern.step + k * pattern.pitch
                out.append(shapely.Polygon(np.column_stack((there.real, there.imag))))
    return np.array(out)


@pytest.mark.parametrize("name", TILES)
def test_shapes_that_tile_the_plane_are_laid_without_waste(name):
    """Hexagons, all triangles and quadrilaterals, and this jewel tile the plane (known): density 1."""
    _, found = patterns(SHAPES[name])
    assert found[0].density == pytest.approx(1.0, abs=1e-7)


def test_any_triangle_and_any_quadrilateral_tiles():
    """Random triangles and convex or dented quadrilaterals all reach density 1 (known since antiquity)."""
    rng = np.random.default_rng(5)
    for _ in range(4):
        triangle = polygon([(0, 0), (60, 0), tuple(rng.uniform(10, 50, 2))])
        assert patterns(triangle)[1][0].density == pytest.approx(1.0, abs=1e-7)
        a, b = rng.uniform(5, 15, 2), rng.uniform(5, 15, 2)
        four = polygon([(0, 0), (50, -a[0]), (60 + a[1], 40), (-b[0], 35 + b[1])])
        assert patterns(four)[1][0].density == pytest.approx(1.0, abs=1e-7)


@pytest.mark.parametrize("gap", [0.0, 1.0, 3.0])
@pytest.mark.parametrize("name", sorted(SHAPES))
def test_no_two_copies_of_a_pattern_are_too_near(name, gap):
    """By shapely, on a patch of five courses: no overlap, and the gap is kept."""
    kind, found = patterns(SHAPES[name], gap)
    for pattern in found[:4]:
        shapes = patch(kind, pattern)
        tree = shapely.STRtree(shapes)
        i, j = tree.query(shapes, predicate="dwithin", distance=gap + 0.5)
        i, j = i[i < j], j[i < j]
        # Sides that all but coincide can mislead the overlay, so shapes are compared a hair smaller.
        smaller = shapely.buffer(shapes, -1e-6, join_style="mitre")
        assert shapely.area(shapely.intersection(smaller[i], smaller[j])).max(initial=0.0) < 1e-3
        if gap:
            assert shapely.distance(shapes[i], shapes[j]).min(initial=np.inf) >= gap - 1e-5


def test_density_is_the_share_of_the_plane():
    """The density is the copies' area over pitch times height of a step."""
    kind, found = patterns(SHAPES["lens"])
    for pattern in found:
        cell = pattern.pitch * pattern.step.imag
        assert pattern.density == pytest.approx(len(pattern.parts) * kind.area / cell)
    assert found[0].density > 0.92


def test_turning_only_as_allowed():
    """Where turning is in steps of 90 degrees, or forbidden, copies keep to it, on a turned sheet, too."""
    for step in (pi / 2, 0.0):
        for quarter in (0, 1):
            kind, found = patterns(SHAPES["kite"], 1.0, Rotation(step), quarter)
            assert found
            for part in (part for pattern in found for part in pattern.parts):
                assert kind.may_turn(part.angle + quarter * pi / 2)


def test_a_gap_costs_what_it_must():
    """Squares at a gap take (side + gap) squared each."""
    _, found = patterns(SHAPES["square"], 2.0)
    upright = [p for p in found if abs(p.pitch - 40.1) < 1e-6 and abs(p.step.imag - 40.1) < 1e-6]
    assert upright[0].density == pytest.approx(38.1**2 / 40.1**2, rel=1e-6)
