"""Laws that hold for whatever people draw: areas add up, and the way of drawing doesn't matter."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
import shapely
from drawings import Shape, areas, circle, line, make_drawing, open_at, polygon, rectangle, reverse, turned
from hypothesis import example, given, settings
from hypothesis import strategies as st

from convert.block.arrange import arrange
from convert.block.faces import check_map
from convert.geometry.chain import Chain
from convert.geometry.fit import fit_cubics
from convert.geometry.tolerance import Tolerances

SIDE = 100.0
FINE = Tolerances(same_point=1e-8, gap=1e-6, fit=1e-3, shape=1e-2)
"""For comparisons with an oracle that closes no gaps."""

RUNS = settings(max_examples=70, deadline=None)


def arranged(shapes, tolerances=None):
    """Return the map of shapes, after checking every invariant."""
    used = tolerances or Tolerances.for_extent(SIDE)
    result = arrange(make_drawing(shapes), used)
    assert check_map(result.map, touching=used.gap) == []
    return result.map


def redrawn(chains, rng):
    """Return the same linework in another order and direction, some of it twice, or in other parts."""
    again = []
    for chain in [*chains, *(c for c in chains if rng.random() < 0.3)]:
        other = open_at(chain, int(rng.integers(len(chain)))) if chain.closed else chain
        if rng.random() < 0.5:
            other = reverse(other)
        if rng.random() < 0.3:
            other = in_parts(other, rng)
        again.append(other)
    return [again[k] for k in rng.permutation(len(again))]


def in_parts(chain, rng):
    """Return a chain with every segment cut in two."""
    s = chain.segments
    share = rng.uniform(0.2, 0.8, len(s))
    sweep = 4 * np.arctan(s.bulge)
    chord = s.end - s.start
    # The part of an arc up to a share of its sweep: its chord is turned and shortened (inscribed angles).
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = np.where(sweep != 0, np.sin(share * sweep / 2) / np.sin(sweep / 2), share)
    angle = (share - 1) * sweep / 2
    c, n = np.cos(angle) * ratio, np.sin(angle) * ratio
    middle = s.start + chord * c[:, None] + np.column_stack((-chord[:, 1], chord[:, 0])) * n[:, None]
    points = np.stack((s.start, middle), axis=1).reshape(-1, 2)
    bulge = np.stack((np.tan(share * sweep / 4), np.tan((1 - share) * sweep / 4)), axis=1).ravel()
    if not chain.closed:
        points = np.concatenate((points, s.end[-1:]))
    return Chain(points, bulge, chain.closed)


def place_on_square(t):
    """Return the point at t (0 to 400) round the square."""
    side, along = divmod(t, 100)
    return [(along, 0), (100, along), (100 - along, 100), (0, 100 - along)][int(side) % 4]


chords = st.lists(st.tuples(st.integers(0, 399), st.integers(0, 399)), min_size=1, max_size=12)


def lines_in_square(pairs):
    """Return a square and chords of it."""
    ends = [(place_on_square(a), place_on_square(b)) for a, b in pairs]
    return [rectangle(0, 0, SIDE, SIDE), *(line(p, q) for p, q in ends if p != q)]


@RUNS
@given(chords)
def test_lines_through_a_square(pairs):
    """The pieces of a cut square add up to the square, and are those that an independent library finds."""
    chains = lines_in_square(pairs)
    table = arranged(chains)
    assert sum(areas(table)) == pytest.approx(SIDE**2, rel=1e-9)
    fine = arranged(chains, FINE)
    lines = [shapely.LineString(c.points) for c in chains[1:]] + [shapely.LinearRing(chains[0].points)]
    oracle = shapely.get_parts(shapely.polygonize([shapely.unary_union(lines, grid_size=1e-9)]))
    expected = sorted(shapely.area(oracle))
    assert areas(fine) == pytest.approx([a for a in expected if a > 1e-6], rel=1e-7, abs=1e-5)


points_in_square = st.lists(
    st.tuples(st.integers(1, 99), st.integers(1, 99)), min_size=2, max_size=25, unique=True
)


def convex_tiling(points):
    """Return the polygons of the Voronoi diagram of points, cut to the square."""
    cells = shapely.voronoi_polygons(shapely.MultiPoint(points), extend_to=shapely.box(0, 0, SIDE, SIDE))
    cells = shapely.intersection(shapely.get_parts(cells), shapely.box(0, 0, SIDE, SIDE))
    return [polygon(*list(c.exterior.coords)[:-1]) for c in cells]


@RUNS
@given(points_in_square, st.integers(0, 2**32 - 1))
def test_convex_tiling_of_closed_shapes(points, seed):
    """Convex shapes drawn one by one, in any direction and order, come back; every seam has two sides."""
    chains = convex_tiling(points)
    expected = sorted(float(shapely.Polygon(c.points).area) for c in chains)
    rng = np.random.default_rng(seed)
    for drawn in (chains, redrawn(chains, rng)):
        table = arranged(drawn, FINE)
        assert areas(table) == pytest.approx(expected, rel=1e-9, abs=1e-5)
        assert sum(areas(table)) == pytest.approx(SIDE**2, rel=1e-9)
        assert ((table.face_of[0::2] >= 0) | (table.face_of[1::2] >= 0)).all()


circles = st.lists(
    st.tuples(st.integers(20, 80), st.integers(20, 80), st.integers(3, 20), st.integers(2, 6)),
    min_size=1,
    max_size=8,
    unique_by=lambda c: c[:3],
)


@RUNS
@given(circles, st.integers(0, 2**32 - 1), st.floats(0, 2 * pi))
@example([(27, 59, 13, 2), (43, 47, 7, 2), (39, 57, 4, 2)], 2, 6.0)  # two that touch close a leaf
def test_circles(drawn, seed, angle):
    """The union of any circles is right, and redrawing or turning them changes no area."""
    chains = [circle(x, y, r, parts, 0.1 * parts) for x, y, r, parts in drawn]
    table = arranged(chains)
    first = areas(table)
    union = shapely.unary_union([shapely.Point(x, y).buffer(r, quad_segs=256) for x, y, r, _ in drawn])
    # Their polygons are a hair too small to touch where circles do.
    closed = union.buffer(3e-4)
    outside = sum(shapely.Polygon(ring).area for part in shapely.get_parts(closed) for ring in part.interiors)
    assert sum(first) == pytest.approx(union.area + outside, rel=1e-4)
    rng = np.random.default_rng(seed)
    arranged(redrawn(chains, rng))
    fine = areas(arranged(chains, FINE))
    assert areas(arranged(redrawn(chains, rng), FINE)) == pytest.approx(fine, rel=1e-9, abs=1e-5)
    spun = areas(arranged(turned([Shape(c) for c in chains], angle, (50, 50))))
    assert spun == pytest.approx(first, rel=1e-7, abs=1e-5)


@settings(max_examples=40, deadline=None)
@given(chords, st.integers(0, 2**32 - 1), st.floats(0, 2 * pi))
def test_way_of_drawing_does_not_matter(pairs, seed, angle):
    """A drawing that is turned, or redrawn in another order, direction or cut, has the same areas."""
    chains = [*lines_in_square(pairs), circle(50, 50, 30)]
    first = areas(arranged(chains, FINE))
    rng = np.random.default_rng(seed)
    assert areas(arranged(redrawn(chains, rng), FINE)) == pytest.approx(first, rel=1e-9, abs=1e-4)
    spun = turned([Shape(c) for c in chains], angle, (50, 50))
    assert areas(arranged(spun, FINE)) == pytest.approx(first, rel=1e-7, abs=1e-4)


@settings(max_examples=40, deadline=None)
@given(points_in_square, st.integers(0, 2**32 - 1))
def test_rounded_coordinates_close(points, seed):
    """Shapes whose corners were rounded each on its own still share their seams."""
    rng = np.random.default_rng(seed)
    chains = convex_tiling(points)
    kept = [c for c in chains if np.hypot(*(c.points - np.roll(c.points, 1, axis=0)).T).min() > 1.0]
    if len(kept) < len(chains):
        return
    shaken = [
        Chain((c.points + rng.uniform(-0.002, 0.002, c.points.shape)).round(3), c.bulge) for c in chains
    ]
    table = arranged(shaken)
    assert table.face_count == len(chains)
    expected = sorted(float(shapely.Polygon(c.points).area) for c in chains)
    assert areas(table) == pytest.approx(expected, abs=1.5)


@pytest.mark.parametrize("seed", range(12))
def test_two_drawings_of_one_curve(seed):
    """A curve approximated twice, with other vertices, is one seam."""
    rng = np.random.default_rng(seed)
    angles = np.sort(rng.uniform(0.05, pi - 0.05, 5))
    other = np.sort(rng.uniform(0.05, pi - 0.05, 4))

    def half_disc(stops, radius):
        stops = np.concatenate(([0.0], stops, [pi]))
        points = np.column_stack((50 + radius * np.cos(stops), 50 + radius * np.sin(stops)))
        points[0], points[-1] = (90.0, 50.0), (10.0, 50.0)
        return Chain(points, np.append(np.tan(np.diff(stops) / 4), 0.0))

    upper, rest = half_disc(angles, 40.0), half_disc(other, 40.002)
    s = rest.segments
    cap = Chain(
        np.concatenate((rest.points, [(0, 50), (0, 100), (100, 100), (100, 50)])),
        np.concatenate((s.bulge[:-1], np.zeros(5))),
    )
    table = arranged([upper, reverse(cap)])
    assert table.face_count == 2
    assert areas(table) == pytest.approx(sorted([800 * pi, 5000 - 800 * pi]), abs=0.3)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 2**32 - 1), st.sampled_from([30.0, 150.0, 300.0]), st.booleans())
def test_one_bezier_fitted_for_both_neighbours(seed, extent, backwards):
    """A Bézier drawn by both its neighbours, rounded each on its own and either way round, is one seam."""
    rng = np.random.default_rng(seed)
    tolerances = Tolerances.for_extent(extent)
    control = extent * np.array(
        [(0.1, 0.5), (0.35, rng.uniform(0.1, 0.9)), (0.65, rng.uniform(0.1, 0.9)), (0.9, 0.5)]
    )

    def half(y, turn):
        drawn = (control + rng.uniform(-0.0005, 0.0005, control.shape)).round(3)
        table = fit_cubics((drawn[::-1] if turn else drawn)[None], tolerances.fit).segments
        rest = extent * np.array([(1, 0.5), (1, y), (0, y), (0, 0.5)])
        points = np.concatenate((table.start, table.end[-1:], rest[::-1] if turn else rest))
        return Chain(points, np.concatenate((table.bulge, np.zeros(5))))

    table = arranged([half(1.0, False), half(0.0, backwards)], tolerances)
    assert table.face_count == 2
    assert sum(areas(table)) == pytest.approx(extent**2, rel=1e-9)
