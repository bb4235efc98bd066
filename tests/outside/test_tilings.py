"""Arrangements at sizes that matter, against an independent library and against known counts and areas.

Sources: the rhombic rosette (m petals, unit side: a regular m-gon of side 2) and the rhombs of the
Penrose tiling: B. Grünbaum and G. C. Shephard, Tilings and Patterns, 1987 (from memory; recomputed). The
missing square of 8 × 8 = 5 × 13: G. N. Frederickson, Dissections: Plane and Fancy, 1997 (from memory). The
oracle for random tilings is shapely (GEOS).
"""

from __future__ import annotations

from dataclasses import replace
from math import cos, pi, sin, sqrt, tan

import numpy as np
import pytest
import shapely
from drawings import Shape, areas, line, make_drawing, polygon, rectangle

from convert.block.arrange import arrange
from convert.block.faces import check_map
from convert.geometry.tolerance import Tolerances


def mapped(shapes, gap=None):
    """Return the map of shapes, after checking its cheap invariants."""
    drawing = make_drawing(shapes)
    both = np.concatenate((drawing.segments.start, drawing.segments.end))
    tolerances = Tolerances.for_extent(float(np.ptp(both, axis=0).max()))
    if gap:
        tolerances = replace(tolerances, same_point=gap / 100, gap=gap)
    result = arrange(drawing, tolerances)
    assert check_map(result.map) == []
    return result.map


def star(k, m):
    """Return the unit vector in the direction of petal k of m."""
    return np.array((cos(2 * pi * k / m), sin(2 * pi * k / m)))


@pytest.mark.parametrize(("m", "pieces", "total"), [(8, 24, 19.3137085), (12, 60, 44.7846097)])
def test_full_rhombic_rosette(m, pieces, total):
    """All rings of a rosette's rhombs fill the regular polygon of side 2."""
    shapes = []
    for ring in range(m // 2 - 1):
        for k in range(m):
            # The corner nearest to the middle is the sum of `ring` neighbouring petals.
            corner = sum((star(k + 1 + j, m) for j in range(ring)), np.zeros(2))
            a, b = star(k, m), star(k + ring + 1, m)
            shapes.append(polygon(corner, corner + a, corner + a + b, corner + b))
    table = mapped([Shape(s) for s in shapes])
    assert table.face_count == pieces
    assert sum(areas(table)) == pytest.approx(total, rel=1e-8)
    assert total == pytest.approx(m / (4 * tan(pi / m)) * 4, rel=1e-8)


def test_penrose_rhombs_round_a_point():
    """Rhombs of 72 and 36 degrees of side 1 have the areas .9510565163 and .5877852523."""
    shapes = []
    for k in range(5):
        a, b = star(2 * k, 10), star(2 * k + 2, 10)
        shapes.append(polygon((0, 0), a, a + b, b))
    for k in range(5):
        # A thin rhomb stands on each corner between two thick ones.
        a, out = star(2 * k, 10), star(2 * k + 1, 10)
        shapes.append(polygon(a, a + out, a + out + star(2 * k, 10), a + star(2 * k, 10)))
    table = mapped([Shape(s) for s in shapes])
    found = areas(table)
    assert found == pytest.approx(5 * [0.5877852523] + 5 * [0.9510565163], rel=1e-9)


def test_missing_square():
    """8 × 8 cut into 5 × 13 leaves a sliver of area 1 along a diagonal of 13.92838828."""
    shapes = [
        rectangle(0, 0, 13, 5),
        line((0, 0), (8, 3), (13, 5)),
        line((0, 0), (5, 2), (13, 5)),
        line((8, 0), (8, 3)),
        line((5, 2), (5, 5)),
    ]
    found = areas(mapped(shapes))
    assert found == pytest.approx([1, 12, 12, 20, 20], rel=1e-12)
    assert sqrt(13**2 + 5**2) == pytest.approx(13.92838828, rel=1e-9)


@pytest.mark.parametrize("fill", [None, "#bb4422"])
@pytest.mark.parametrize("seed", range(5))
def test_random_convex_tiling_of_many_pieces(seed, fill):
    """A thousand random convex shapes, drawn one by one, come back as they were."""
    rng = np.random.default_rng(seed)
    frame = shapely.box(0, 0, 300, 300)
    cells = shapely.voronoi_polygons(shapely.MultiPoint(rng.uniform(0, 300, (1000, 2))), extend_to=frame)
    cells = shapely.intersection(shapely.get_parts(cells), frame)
    sides = [np.hypot(*np.diff(np.array(c.exterior.coords), axis=0).T).min() for c in cells]
    shapes = [Shape(polygon(*list(c.exterior.coords)[:-1]), None if fill else "#000000", fill) for c in cells]
    order = rng.permutation(len(shapes))
    table = mapped([shapes[k] for k in order])
    assert sum(areas(table)) == pytest.approx(90000, rel=1e-9)
    assert table.face_count == len(cells)
    if min(sides) > 0.1:
        assert areas(table) == pytest.approx(sorted(shapely.area(cells)), rel=1e-9)
    else:
        # Corners nearer than the gap of 0.03 mm are one.
        assert areas(table) == pytest.approx(sorted(shapely.area(cells)), abs=1.0)


@pytest.mark.parametrize("seed", range(4))
def test_many_lines_through_a_square(seed):
    """Sixty chords of a square make the pieces that shapely finds, apart from specks."""
    rng = np.random.default_rng(seed)
    ends = []
    for _ in range(60):
        t, u = rng.integers(0, 4000, 2)
        ends.append([_on_square(v / 10) for v in (t, u)])
    chains = [rectangle(0, 0, 100, 100), *(line(p, q) for p, q in ends if p != q)]
    table = mapped([Shape(c) for c in chains], gap=1e-6)
    lines = [shapely.LineString(c.points) for c in chains[1:]] + [shapely.LinearRing(chains[0].points)]
    oracle = shapely.area(shapely.get_parts(shapely.polygonize([shapely.unary_union(lines, grid_size=1e-9)])))
    assert sum(areas(table)) == pytest.approx(1e4, rel=1e-9)
    assert [a for a in areas(table) if a > 1e-3] == pytest.approx(
        sorted(oracle[oracle > 1e-3]), rel=1e-7, abs=1e-5
    )


def _on_square(t):
    side, along = divmod(t, 100)
    return [(along, 0.0), (100.0, along), (100 - along, 100.0), (0.0, 100 - along)][int(side) % 4]
