"""Stacks of random fills show what an independent library leaves after taking the later ones off."""

from __future__ import annotations

import pytest
import shapely
from drawings import Shape, circle, loop_area, loops, make_drawing, polygon, rectangle
from hypothesis import given, settings
from hypothesis import strategies as st

from convert.block.arrange import arrange
from convert.block.faces import check_map
from convert.geometry.tolerance import Tolerances

FINE = Tolerances(same_point=1e-8, gap=1e-6, fit=1e-3, shape=1e-2)

whole = st.integers(0, 60)
triangles = st.tuples(
    st.just("polygon"), st.lists(st.tuples(whole, whole), min_size=3, max_size=5, unique=True)
)
boxes = st.tuples(st.just("box"), st.tuples(whole, whole, st.integers(1, 40), st.integers(1, 40)))
discs = st.tuples(st.just("disc"), st.tuples(whole, whole, st.integers(1, 25)))


def shape_of(kind, numbers):
    """Return the chain to draw and the same shape for the oracle."""
    if kind == "box":
        x, y, w, h = numbers
        return rectangle(x, y, w, h), shapely.box(x, y, x + w, y + h)
    if kind == "disc":
        x, y, r = numbers
        return circle(x, y, r, 3), shapely.Point(x, y).buffer(r, quad_segs=400)
    hull = shapely.MultiPoint(numbers).convex_hull
    if hull.geom_type != "Polygon":
        return None, None
    return polygon(*list(hull.exterior.coords)[:-1]), hull


def seen_and_expected(drawn, stroked):
    """Return area by colour as arranged and as the oracle has it."""
    shapes, solid = [], []
    for kind, numbers in drawn:
        chain, area = shape_of(kind, numbers)
        if chain is not None:
            fill = f"#{len(solid):06x}"
            shapes.append(Shape(chain, "#000000" if stroked else None, fill))
            solid.append((fill, area))
    if not shapes:
        return {}, {}
    result = arrange(make_drawing(shapes), FINE)
    assert check_map(result.map, touching=FINE.gap) == []
    seen = dict.fromkeys((f for f, _ in solid), 0.0)
    for face, fabric in enumerate(result.fabric):
        if fabric is not None:
            seen[fabric] += sum(loop_area(r) for r in loops(result.map, face))
    expected, above = {}, shapely.Polygon()
    for fill, area in reversed(solid):
        expected[fill] = area.difference(above).area
        above = above.union(area)
    return seen, expected


@settings(max_examples=80, deadline=None)
@given(st.lists(st.one_of(triangles, boxes), min_size=1, max_size=9), st.booleans())
def test_stacks_of_straight_shapes(drawn, stroked):
    """Visible areas of stacked polygons agree, stroked or not."""
    seen, expected = seen_and_expected(drawn, stroked)
    for fill, area in expected.items():
        assert seen[fill] == pytest.approx(area, rel=1e-9, abs=1e-4)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.one_of(discs, boxes), min_size=1, max_size=8), st.booleans())
def test_stacks_with_discs(drawn, stroked):
    """Visible areas of stacked discs and boxes agree with those of finely flattened ones."""
    seen, expected = seen_and_expected(drawn, stroked)
    for fill, area in expected.items():
        assert seen[fill] == pytest.approx(area, rel=1e-4, abs=2e-2)
