"""Faces of arrangements: order round a vertex, holes, points inside, and the checker of maps."""

from __future__ import annotations

from dataclasses import replace
from math import pi, tan

import numpy as np
import pytest
import shapely
from drawings import (
    Shape,
    arcs,
    areas,
    circle,
    flat,
    line,
    loop_area,
    loops,
    make_drawing,
    polygon,
    rectangle,
    turned,
)

from convert.block.arrange import arrange
from convert.block.faces import RayTable, check_map, inner_points, trace
from convert.block.model import OUTSIDE
from convert.geometry.tolerance import Tolerances


def mapped(shapes):
    """Return the map of shapes about 100 mm large."""
    table = arrange(make_drawing(shapes), Tolerances.for_extent(100.0)).map
    assert check_map(table, touching=0.01) == []
    return table


@pytest.mark.parametrize("angle", [0.0, 0.3, pi / 2, 2.5, pi, 4.0])
def test_tangent_curves_come_in_their_true_order(angle):
    """Arcs of different radius and a line that leave one vertex in one direction bound nested faces."""
    fan = [arcs((0, 0, 1), (0, 2 * r, 1), closed=True) for r in (10, 20, 30)]
    fan += [arcs((0, 0, -1), (0, -2 * r, -1), closed=True) for r in (15, 25)]
    shapes = [
        *fan,
        line((0, 0), (100, 0)),
        polygon((-100, -100), (100, -100), (100, 100), (-100, 100)),
        line((-100, 0), (0, 0)),
    ]
    table = mapped(turned([Shape(s) for s in shapes], angle))
    discs = [pi * 100, pi * 300, pi * 500, pi * 225, pi * 400]
    expected = [*discs, 20000 - pi * 900, 20000 - pi * 625]
    assert areas(table) == pytest.approx(sorted(expected), rel=1e-9)


def test_trace_orders_arcs_of_one_tangent():
    """Three arcs over one tangent between two vertices bound two lenses, whichever way they are given."""
    points = np.array([(0.0, 0.0), (10.0, 0.0)])
    for flip in (False, True):
        start, end = np.array([0, 0, 0]), np.array([1, 1, 1])
        bulge = np.array([0.1, 0.3, 0.2])
        if flip:
            start, end, bulge = end, start, -bulge
        traced = trace(points, start, end, bulge)
        assert len(traced.area) == 3
        assert (traced.area > 0).sum() == 2
        assert traced.area.sum() == pytest.approx(0.0, abs=1e-12)


def test_holes_belong_to_the_face_around_them():
    """Nested and separate outlines: every hole is taken out of the face that holds it, at any depth."""
    shapes = [
        rectangle(0, 0, 100, 100),
        circle(30, 50, 20),
        circle(30, 50, 10, 3),
        rectangle(28, 48, 4, 4),
        circle(75, 50, 20, 5),
        rectangle(120, 0, 50, 50),
        circle(145, 25, 10),
    ]
    table = mapped(shapes)
    expected = [16, 100 * pi - 16, 300 * pi, 400 * pi, 10000 - 800 * pi, 100 * pi, 2500 - 100 * pi]
    assert areas(table) == pytest.approx(sorted(expected), rel=1e-12)
    rims = sorted(len(loops(table, f)) for f in range(table.face_count))
    assert rims == [1, 1, 1, 2, 2, 2, 3]


def test_hole_whose_neighbour_bulges_left():
    """A component's leftmost point can be the middle of an arc; what lies beside it is not its own hole."""
    crescent = arcs((50, 20, -1.0), (50, 80, 0.6), closed=True)
    table = mapped([rectangle(0, 0, 100, 100), crescent, circle(35, 50, 3)])
    rim = [(50, 20, -1.0), (50, 80, 0.6)]
    a = abs(loop_area(rim))
    inside = shapely.contains_xy(shapely.Polygon(flat(rim)), 35, 50)
    disc = 9 * pi
    expected = [disc, a - disc, 10000 - a] if inside else [disc, a, 10000 - a - disc]
    assert areas(table) == pytest.approx(sorted(expected), rel=1e-9)


def test_touching_holes_share_a_vertex():
    """Holes that touch each other in a point, or the outline, leave faces with the right areas."""
    shapes = [
        rectangle(0, 0, 100, 100), polygon((20, 50), (50, 50), (50, 80)),
        polygon((50, 50), (80, 50), (80, 20)), polygon((0, 0), (20, 10), (10, 20)),
    ]  # fmt: skip
    table = mapped(shapes)
    assert areas(table) == pytest.approx([150.0, 450.0, 450.0, 10000 - 1050.0], rel=1e-12)


def test_points_inside_are_inside():
    """The inner point of every face lies inside its outer outline and outside its holes."""
    shapes = [
        rectangle(0, 0, 100, 100), circle(50, 50, 40), circle(50, 50, 39, 3),
        arcs((20, 50, 1.0), (60, 50, -0.9), closed=True),
        line((0, 0), (100, 1)), polygon((0, 99), (100, 99.5), (0, 99.9)),
    ]  # fmt: skip
    table = mapped(shapes)
    middle = inner_points(table)
    for face in range(table.face_count):
        for loop in loops(table, face):
            inside = shapely.contains_xy(shapely.Polygon(flat(loop)), *middle[face])
            assert inside == (loop_area(loop) > 0)


def test_rays_find_the_face_of_a_place():
    """A place is found in the face it lies in, and places outside in none."""
    table = mapped(
        [rectangle(0, 0, 100, 100), circle(50, 50, 20), line((0, 50), (30, 50)), line((70, 50), (100, 50))]
    )
    rays = RayTable.of(table.points, table.start, table.end, table.bulge)
    places = np.array([(50.0, 50.0), (10.0, 90.0), (10.0, 10.0), (95.0, 95.0), (-5.0, 50.0), (120.0, 50.0)])
    half = rays.first_hits(places)
    face = np.where(half >= 0, table.face_of[half], OUTSIDE)
    assert face[1] == face[3]
    assert len({face[0], face[1], face[2]}) == 3
    assert (face[:4] != OUTSIDE).all()
    assert (face[4:] == OUTSIDE).all()


def test_far_from_the_origin_areas_keep_their_digits():
    """A small block far out on a large page has the same areas as at the origin."""
    table = arrange(
        make_drawing([rectangle(1e5, 1e5, 1, 1), circle(1e5 + 0.5, 1e5 + 0.5, 0.25)]),
        Tolerances.for_extent(1.0),
    ).map
    result = sum(table.face_count * [0.0])
    assert result == 0.0
    assert areas(table) == pytest.approx([pi / 16, 1 - pi / 16], rel=1e-9)


def test_checker_names_what_is_broken():
    """Each broken invariant of a map is named."""
    table = mapped([rectangle(0, 0, 100, 100), line((0, 0), (100, 100)), circle(30, 60, 5)])
    following = table.next_half.copy()
    following[[0, 1]] = following[[1, 0]]
    assert any("starts elsewhere" in w for w in check_map(replace(table, next_half=following)))
    following = table.next_half.copy()
    following[0] = following[1]
    assert any("followed by the same" in w for w in check_map(replace(table, next_half=following)))
    faces = table.face_of.copy()
    faces[0] = OUTSIDE if faces[0] != OUTSIDE else 0
    assert any("changes along a boundary" in w for w in check_map(replace(table, face_of=faces)))
    assert any("both sides" in w for w in check_map(replace(table, face_of=np.zeros_like(table.face_of))))
    points = np.concatenate((table.points, [(1.0, 1.0)]))
    assert any("Euler" in w or "no edge" in w for w in check_map(replace(table, points=points)))
    moved = table.points.copy()
    corner = int(np.argmin(np.abs(moved - (100.0, 0.0)).sum(axis=1)))
    moved[corner] = (-50.0, 80.0)
    assert any("no common vertex" in w for w in check_map(replace(table, points=moved), touching=0.01))


def test_quarter_circle_bulge_is_what_the_table_says():
    """The outer loop of a disc drawn in four arcs keeps its bulges: tan(90° / 4)."""
    table = mapped([circle(0, 0, 10, 4)])
    assert np.abs(table.bulge) == pytest.approx(np.full(4, tan(pi / 8)), rel=1e-12)
