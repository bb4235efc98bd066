"""Convex pieces and their sums, against shapely and pyclipper."""

from math import pi

import numpy as np
import pyclipper
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from nest_shapes import SHAPES

from convert.cutting.nest.convex import Convex, convex_pieces, grown
from convert.cutting.nest.shapes import stand_in


def area_of(z):
    """Return a polygon for shapely."""
    return shapely.Polygon(np.column_stack((z.real, z.imag)))


@st.composite
def stars(draw):
    """Return a polygon that goes once round the origin, hollow in places."""
    number = draw(st.integers(3, 14))
    far = draw(st.lists(st.floats(5.0, 60.0), min_size=number, max_size=number))
    off = draw(st.lists(st.floats(0.05, 0.95), min_size=number, max_size=number))
    return np.array(far) * np.exp(2j * pi * (np.arange(number) + off) / number)


@settings(deadline=None)
@given(stars())
def test_convex_pieces_make_up_the_polygon(z):
    """Pieces are convex, do not overlap, and cover the polygon; a convex one is left whole."""
    if not area_of(z).is_valid or area_of(z).exterior.is_ccw is False:
        return
    pieces = [area_of(piece) for piece in convex_pieces(z)]
    assert all(p.convex_hull.area - p.area < 1e-6 for p in pieces)
    assert sum(p.area for p in pieces) == pytest.approx(area_of(z).area, rel=1e-9)
    assert shapely.union_all(pieces).symmetric_difference(area_of(z)).area < 1e-6
    assert len(pieces) <= max(len(z) - 2, 1)
    if area_of(z).convex_hull.area - area_of(z).area < 1e-12:
        assert len(pieces) == 1


@pytest.mark.parametrize("name", SHAPES)
def test_few_pieces_are_needed(name):
    """Shapes without hollow sides are one piece, and an L two."""
    z = stand_in(SHAPES[name])
    pieces = convex_pieces(z)
    assert sum(abs(area_of(piece).area) for piece in pieces) == pytest.approx(area_of(z).area, rel=1e-9)
    if name != "bean":
        assert len(pieces) == (2 if name == "corner" else 1)


@settings(deadline=None)
@given(stars(), stars(), st.floats(0.0, 2.0 * pi))
def test_sums_of_convex_polygons(one, other, turn):
    """The sum of two hulls is what pyclipper finds."""
    hulls = []
    for z in (one, other * np.exp(1j * turn)):
        x, y = np.array(area_of(z).convex_hull.exterior.coords)[:0:-1].T
        hull = x + 1j * y
        hulls.append(hull if shapely.Polygon(np.column_stack((x, y))).exterior.is_ccw else hull[::-1])
    found = area_of(Convex.of(hulls[0]).plus(Convex.of(hulls[1])))
    whole = [
        [tuple(p) for p in np.round(np.column_stack((z.real, z.imag)) * 1e5).astype(int).tolist()]
        for z in hulls
    ]
    rings = [r for r in pyclipper.MinkowskiSum(*whole, True) if pyclipper.Orientation(r)]
    known = shapely.union_all([shapely.make_valid(shapely.Polygon(np.array(ring) / 1e5)) for ring in rings])
    # pyclipper sweeps one outline along the other: what only the insides reach is a hole in it.
    known = shapely.union_all([shapely.Polygon(part.exterior) for part in shapely.get_parts(known)])
    assert found.symmetric_difference(known).area < 0.01


@settings(deadline=None)
@given(stars(), st.floats(0.1, 8.0), st.floats(0.1, 1.0))
def test_grown_polygons_hold_what_is_near(z, by, most):
    """A hull grown holds all that is as near, reaches little farther, and along sides no farther at all."""
    x, y = np.array(area_of(z).convex_hull.exterior.coords)[:0:-1].T
    hull = x + 1j * y
    hull = hull if shapely.Polygon(np.column_stack((x, y))).exterior.is_ccw else hull[::-1]
    found = area_of(grown(hull, by, most))
    true = area_of(hull).buffer(by, quad_segs=64)
    assert true.difference(found).area < 1e-6
    far = by / np.cos(most / 2.0)
    assert found.difference(area_of(hull).buffer(far * 1.001, quad_segs=256)).area < 1e-6
    side = np.roll(hull, -1) - hull
    middle = hull + side / 2.0 - 1j * side / np.abs(side) * by
    assert max(found.exterior.distance(shapely.Point(m.real, m.imag)) for m in middle) < 1e-6
