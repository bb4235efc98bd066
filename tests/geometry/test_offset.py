"""Parallel outlines lie at their distance, enclose the right area, and never fail silently."""

import numpy as np
import pytest
import shapely
from hard_outlines import HARD, QUARTER, chain
from hypothesis import given, settings
from hypothesis import strategies as st
from parallel_oracle import corner_tips, distances, grown, is_right, polygon, sampled, tangents

from convert.errors import GeometryError
from convert.geometry import offset as offset_module
from convert.geometry.chain import Chain
from convert.geometry.edit import reverse
from convert.geometry.fit import fit_cubics
from convert.geometry.measure import area
from convert.geometry.offset import Corners, CornerStyle, offset, offset_many, offset_region
from convert.geometry.offsettrace import trace
from convert.geometry.rawoffset import raw_offset

SETTINGS = settings(deadline=None, max_examples=40)
ROUND = Corners.rounded()


def random_outline(rng, size=1.0):
    """Draw lines and arcs round the origin: convex ones, and ones with bays, spikes and necks."""
    while True:
        count = rng.integers(3, 10)
        angle = np.sort(rng.uniform(0, 2 * np.pi, count))
        gap = np.diff(np.append(angle, angle[0] + 2 * np.pi))
        if gap.max() < 2.8 and gap.min() > 0.15:
            break
    convex = rng.random() < 0.3
    radius = np.full(count, rng.uniform(10, 40)) if convex else rng.uniform(8, 40, count)
    bulge = rng.uniform(0, 0.15, count) if convex else rng.uniform(-0.8, 0.8, count)
    bulge = np.where(rng.random(count) < 0.4, 0.0, bulge)
    return chain(size * np.stack((radius * np.cos(angle), radius * np.sin(angle)), axis=1), bulge)


def random_region(rng):
    """Draw an outline, every third one with a hole; only ones that don't cross themselves."""
    while True:
        outer = random_outline(rng)
        outside = polygon(outer, sagitta=1e-4)
        if not outside.is_valid or sharpest(outer) > np.pi - 0.2:
            continue
        hole = random_outline(rng, 0.25)
        inside = polygon(hole, sagitta=1e-4)
        fits = inside.is_valid and sharpest(hole) < np.pi - 0.2 and outside.buffer(-1).contains(inside)
        if rng.random() < 0.35 and fits:
            return outer, (hole,)
        return outer, ()


def sharpest(outline):
    """Return the largest turn at a corner: next to half a turn, chords hide that arcs cross again nearby."""
    leave, arrive = tangents(outline)
    before = np.roll(arrive, 1, axis=0)
    turn = np.arctan2(before[:, 0] * leave[:, 1] - before[:, 1] * leave[:, 0], (before * leave).sum(axis=1))
    return np.abs(turn).max()


def total(rings):
    """Return the area inside some outlines, holes being negative."""
    return sum(area(r.chain) for r in rings)


def worst_distance(rings, chains, distance):
    """Return how far any point of the rings is from being at the distance."""
    points = [sampled(r.chain) for r in rings]
    return np.abs(distances(np.concatenate(points), chains) - abs(distance)).max() if points else 0.0


@pytest.mark.parametrize("seed", range(20))
def test_two_thousand_random_regions(seed):
    """2,000 regions outward and inward: area, distance of every point, and no ring that meets itself.

    The oracle is checked first: its boundary has to be at the distance, too.
    """
    rng = np.random.default_rng(seed)
    for turn in range(100):
        outer, holes = random_region(rng)
        size = abs(area(outer))
        for distance in ((0.8, 6.35, 9.525, 20.0)[turn % 4], (-0.8, -2.0, -4.0, -6.35)[turn % 4]):
            expected = grown(outer, holes, distance)
            assert is_right(expected, outer, holes, distance), "the oracle is wrong"

            rings = offset_region(outer, holes, distance, ROUND)

            if expected.area < 0.1 * size:
                # Where little is left, the chords of the oracle count for more.
                expected = grown(outer, holes, distance, sagitta=5e-5, arc_step=5e-5)
            assert abs(total(rings) - expected.area) <= 1e-4 * max(expected.area, 0.01 * size)
            assert worst_distance(rings, (outer, *holes), distance) < 1e-7
            for ring in rings:
                assert polygon(ring.chain, sagitta=1e-4).is_valid


def random_squares(rng):
    """Join squares of 10 mm edge to edge and bend some edges alike: a region full of coincidences."""
    while True:
        cells = {(0, 0)}
        while len(cells) < rng.integers(3, 14):
            x, y = sorted(cells)[rng.integers(len(cells))]
            dx, dy = ((1, 0), (-1, 0), (0, 1), (0, -1))[rng.integers(4)]
            cells.add((x + dx, y + dy))
        squares = [shapely.box(10 * x, 10 * y, 10 * x + 10, 10 * y + 10) for x, y in sorted(cells)]
        shape = shapely.union_all(squares)
        if shape.geom_type != "Polygon":
            continue
        chains = []
        for ring in (shape.exterior, *shape.interiors):
            points = np.array(ring.segmentize(10.0).coords)[:-1]
            bends = rng.choice([QUARTER, -QUARTER, 0.2, -0.2, np.tan(np.pi / 12)], len(points))
            chains.append(chain(points, np.where(rng.random(len(points)) < 0.5, 0.0, bends)))
        outer, *holes = chains
        valid = polygon(outer, holes, sagitta=1e-4).is_valid
        if valid and max(sharpest(c) for c in chains) < np.pi - 0.05:
            return outer, tuple(holes)


@pytest.mark.parametrize("seed", range(12))
def test_regions_full_of_coincidences(seed):
    """Distances that are halves of the squares: parallels on each other, touches, many lines in one point."""
    rng = np.random.default_rng(200 + seed)
    outer, holes = random_squares(rng)
    size = abs(area(outer))
    for distance in (2.5, 5.0, 10.0, 5 * 2**0.5, 20.0, -2.5, -10 / 3, -5 * (2**0.5 - 1), -5.0):
        expected = grown(outer, holes, distance)
        assert is_right(expected, outer, holes, distance), "the oracle is wrong"
        for corners in (ROUND, Corners.mitred(3.0), Corners.trimmed(1.5 * abs(distance))):
            rings = offset_region(outer, holes, distance, corners)
            assert all(polygon(r.chain, sagitta=1e-4).is_valid for r in rings)
            if corners.style is CornerStyle.ROUNDED:
                assert worst_distance(rings, (outer, *holes), distance) < 1e-7
                if abs(total(rings) - expected.area) > 1e-4 * max(expected.area, 0.05 * size):
                    # Where parallels touch, chords decide how much is left: look closer.
                    expected = grown(outer, holes, distance, sagitta=1e-5, arc_step=1e-5)
                assert abs(total(rings) - expected.area) <= 1e-4 * max(expected.area, 0.05 * size)
            elif distance > 0:
                assert total(rings) >= expected.area * (1 - 1e-4)
            else:
                assert total(rings) <= expected.area + 1e-4 * size


@pytest.mark.parametrize("distance", [1.5, 6.35, 12.7, -1.0, -3.0, -6.35, -9.0])
def test_petals_of_fitted_curves(distance):
    """A pointed petal of two fitted curves, and a lobed one with bays tighter than the distance."""
    petal = [[(0, 0), (25, 30), (75, 30), (100, 0)], [(100, 0), (75, -22), (25, -35), (0, 0)]]
    lobed = [
        [(0, 0), (10, -30), (50, -5), (60, -25)],
        [(60, -25), (90, -20), (80, 5), (60, 5)],
        [(60, 5), (52, 5), (52, 12), (60, 15)],
        [(60, 15), (80, 30), (10, 45), (0, 0)],
    ]
    for curves in (petal, lobed):
        table = fit_cubics(curves, 0.005).segments
        outline = Chain(table.start, table.bulge)
        outline = outline if area(outline) > 0 else reverse(outline)
        expected = grown(outline, (), distance)
        assert is_right(expected, outline, (), distance), "the oracle is wrong"
        rings = offset(outline, distance, ROUND)
        assert total(rings) == pytest.approx(expected.area, rel=1e-4, abs=1e-5 * area(outline))
        assert worst_distance(rings, (outline,), distance) < 1e-7
        for ring in offset(outline, distance, Corners.mitred()):
            assert polygon(ring.chain, sagitta=1e-4).is_valid


def test_outlines_that_touch_come_apart():
    """Where a parallel touches itself in a point there are two rings, and neither has that point twice."""
    for name, distance in (("neck", -2.0), ("bay that closes", 5.0), ("bottle", 2.0)):
        for ring in offset(HARD[name][0], distance, ROUND):
            steps = ring.chain.points[:, None] - ring.chain.points[None]
            apart = np.hypot(*np.moveaxis(steps, 2, 0)) + np.eye(len(ring.chain))
            assert apart.min() > 1e-9


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("style", [CornerStyle.MITRED, CornerStyle.TRIMMED])
def test_pointed_corners_add_their_tips(seed, style):
    """A mitred or trimmed outline is the rounded one and its tips, each by formula; nothing is too near."""
    rng = np.random.default_rng(100 + seed)
    for distance in (3.0, 6.35, -1.5, -4.0):
        outer, holes = random_region(rng)
        corners = Corners.mitred(3.0) if style is CornerStyle.MITRED else Corners.trimmed(1.4 * abs(distance))
        reach = 3.0 * abs(distance) if style is CornerStyle.MITRED else 1.4 * abs(distance)
        tips = corner_tips(outer, distance, reach)
        for hole in holes:
            tips += corner_tips(reverse(hole), distance, reach)
        base, added = grown(outer, holes, distance), shapely.union_all(tips)
        expected = base.union(added) if distance > 0 else base.difference(added)

        rings = offset_region(outer, holes, distance, corners)

        assert abs(total(rings) - expected.area) <= 1e-4 * max(expected.area, 0.05 * abs(area(outer)))
        for ring in rings:
            assert distances(sampled(ring.chain), (outer, *holes)).min() > abs(distance) - 1e-7
            assert polygon(ring.chain, sagitta=1e-4).is_valid


def test_trimmed_corner_by_formula():
    """The cut is square across the bisector, `reach` from the corner: checked on a 36 degree point."""
    tip = np.radians(36)
    far, wide = 40 * np.cos(tip / 2), 40 * np.sin(tip / 2)
    outline = chain([(0, 0), (far, -wide), (far, wide)])
    (ring,) = offset(outline, 6.35, Corners.trimmed(9.0))
    ends = ring.chain.segments.start[ring.source == -1], ring.chain.segments.end[ring.source == -1]
    cut = int(np.argmin(ends[0][:, 0]))
    assert ends[0][cut, 0] == pytest.approx(-9.0, abs=1e-12)
    assert ends[1][cut, 0] == pytest.approx(-9.0, abs=1e-12)
    half = (6.35 - 9.0 * np.sin(tip / 2)) / np.cos(tip / 2)
    assert abs(ends[0][cut, 1]) == pytest.approx(half, abs=1e-12)
    (sharp,) = offset(outline, 6.35, Corners.mitred(4.0))
    assert sharp.chain.points[:, 0].min() == pytest.approx(-6.35 / np.sin(tip / 2), abs=1e-12)


@pytest.mark.parametrize("name", HARD)
def test_hard_shapes(name):
    """Arcs that vanish, necks that pinch, bays that close, cusps, parallels on each other."""
    outline, all_distances = HARD[name]
    for distance in all_distances:
        expected = grown(outline, (), distance)
        rings = offset(outline, distance, ROUND)
        slack = 1e-4 * max(expected.area, 0.1 * area(outline))
        assert total(rings) == pytest.approx(expected.area, abs=slack), distance
        assert worst_distance(rings, (outline,), distance) < 1e-7


@pytest.mark.parametrize("name", HARD)
def test_start_direction_mirror_and_place_change_nothing(name):
    """From another vertex, the other way round, mirrored, or a kilometre away: the same rings."""
    outline, all_distances = HARD[name]
    mirrored = Chain(outline.points * [-1, 1], -outline.bulge)
    variants = [
        reverse(outline),
        mirrored,
        reverse(mirrored),
        Chain(outline.points + np.array([1e6, -1e6]), outline.bulge),
        *(
            Chain(np.roll(outline.points, -k, axis=0), np.roll(outline.bulge, -k))
            for k in range(1, len(outline))
        ),
    ]
    for distance in all_distances:
        rings = offset(outline, distance, ROUND)
        for variant in variants:
            others = offset(variant, distance, ROUND)
            assert len(others) == len(rings)
            assert total(others) == pytest.approx(total(rings), rel=1e-6, abs=1e-4)


def test_a_neck_pinches_into_two():
    """Inward past half a neck's width there are two outlines, both counter-clockwise."""
    rings = offset(HARD["neck"][0], -2.5, ROUND)
    assert len(rings) == 2
    first, second = (area(r.chain) for r in rings)
    assert first == pytest.approx(second)
    assert 15 * 15 < first < 15 * 16


def test_a_bay_closes_to_a_hole():
    """Outward past half its mouth a bay becomes a clockwise hole."""
    rings = offset(HARD["bottle"][0], 2.5, ROUND)
    assert sorted(np.sign(area(r.chain)) for r in rings) == [-1, 1]


def test_holes_shrink_and_grow():
    """Outward a hole shrinks until it is gone; inward it grows until it breaks through."""
    outer = chain([(0, 0), (100, 0), (100, 100), (0, 100)])
    hole = chain([(30, 30), (30, 60), (60, 60), (60, 30)])
    for hole_as_drawn in (hole, reverse(hole)):
        grown_rings = offset_region(outer, (hole_as_drawn,), 10, ROUND)
        assert [round(area(r.chain), 6) for r in grown_rings] == [round(14000 + 100 * np.pi, 6), -100.0]
        assert grown_rings[1].source.min() >= 4
        assert len(offset_region(outer, (hole_as_drawn,), 15, ROUND)) == 1
        assert total(offset_region(outer, (hole_as_drawn,), -10, ROUND)) == pytest.approx(
            6400 - (900 + 1200 + 100 * np.pi)
        )
        broken = offset_region(outer, (hole_as_drawn,), -15.0001, ROUND)
        assert [area(r.chain) > 0 for r in broken] == [True, True]


def test_sources_are_named():
    """Every segment that names a source is parallel to that very segment; fills name none."""
    rng = np.random.default_rng(5)
    for _ in range(40):
        outer, holes = random_region(rng)
        for distance in (4.0, -2.0):
            parts = [
                Chain(np.stack((s.start[0], s.end[0])), s.bulge, closed=False)
                for c in (outer, *holes)
                for s in (c.segments.take(slice(k, k + 1)) for k in range(len(c)))
            ]
            for ring in offset_region(outer, holes, distance, ROUND):
                table = ring.chain.segments
                for k, source in enumerate(ring.source):
                    if source < 0:
                        continue
                    piece = Chain(np.stack((table.start[k], table.end[k])), np.array([table.bulge[k], 0.0]))
                    middle = sampled(piece, 2)[2:3]
                    there = parts[source]
                    twin = Chain(there.points, np.append(there.bulge, -there.bulge))
                    assert abs(distances(middle, (twin,))[0] - abs(distance)) < 1e-9


def test_few_nodes():
    """Round a piece of six arcs a ring has at most four nodes a corner more than the piece."""
    rng = np.random.default_rng(2)
    for _ in range(50):
        angle = np.arange(6) * np.pi / 3 + rng.uniform(-0.2, 0.2, 6)
        radius = rng.uniform(20, 30, 6)
        corners = np.stack((radius * np.cos(angle), radius * np.sin(angle)), axis=1)
        piece = chain(corners, rng.uniform(0.02, 0.2, 6))
        for style in (ROUND, Corners.mitred(), Corners.trimmed(8.0)):
            (ring,) = offset(piece, 6.35, style)
            assert len(ring.chain) <= 6 + 6 * 4


def test_smooth_outlines_get_no_fills():
    """Where arcs meet smoothly the parallel has just as many segments, and lines with mitres too."""
    rounded = HARD["rounded square"][0]
    assert len(offset(rounded, 5, ROUND)[0].chain) == 8
    assert len(offset(HARD["hexagon"][0], 5, Corners.mitred())[0].chain) == 6


@SETTINGS
@given(st.integers(0, 10**6), st.floats(0.1, 15), st.floats(0.1, 15))
def test_offsets_add_up(seed, first, second):
    """Growing twice is growing once by the sum; growing and shrinking loses nothing of the outline."""
    outer, _ = random_region(np.random.default_rng(seed))
    once = total(offset(outer, first + second, ROUND))
    grown_rings = offset(outer, first, ROUND)
    holes = [r.chain for r in grown_rings if area(r.chain) < 0]
    (outside,) = [r.chain for r in grown_rings if area(r.chain) > 0]
    assert total(offset_region(outside, holes, second, ROUND)) == pytest.approx(once, rel=1e-9)
    assert total(offset_region(outside, holes, -first, ROUND)) >= abs(area(outer)) * (1 - 1e-9)


@SETTINGS
@given(st.integers(0, 10**6), st.sampled_from([-9.0, -3.0, 0.5, 6.35, 14.0]))
def test_many_at_once_are_as_one_by_one(seed, distance):
    """A batch gives the very same rings."""
    rng = np.random.default_rng(seed)
    outlines = [random_region(rng)[0] for _ in range(5)]
    together = offset_many(outlines, distance, Corners.mitred())
    assert len(together) == 5
    for outline, rings in zip(outlines, together, strict=True):
        alone = offset(outline, distance, Corners.mitred())
        assert len(alone) == len(rings)
        for a, b in zip(alone, rings, strict=True):
            assert np.allclose(a.chain.points, b.chain.points, atol=1e-9)
            assert np.array_equal(a.source, b.source)


def test_no_distance_is_the_outline():
    """At 0 the outline itself comes back, counter-clockwise, with its own segments' numbers."""
    outline = reverse(HARD["lens"][0])
    (ring,) = offset(outline, 0, ROUND)
    assert area(ring.chain) == pytest.approx(area(HARD["lens"][0]))
    assert sorted(ring.source) == [0, 1]
    assert offset_many([], 1.0, ROUND) == ()


@pytest.mark.parametrize("distance", [1e-6, 1e-9, 1e-12, -1e-9])
def test_distances_far_below_any_tolerance(distance):
    """Next to nothing outward gives the outline again, not a tangle."""
    (ring,) = offset(HARD["star"][0], distance, ROUND)
    assert area(ring.chain) == pytest.approx(area(HARD["star"][0]), rel=1e-6)


@pytest.mark.parametrize(
    "call",
    [
        lambda: offset(chain([(0, 0), (20, 20), (20, 0), (0, 30)]), 1, ROUND),
        lambda: offset(chain([(0, 0), (10, 0), (15, 0), (10, 0), (10, 10), (0, 10)]), 1, ROUND),
        lambda: offset(chain([(0, 0), (10, 0), (5, 5), (10, 10), (0, 10), (5, 5)]), 1, ROUND),
        lambda: offset(chain([(0, 0), (10, 0), (10, 10), (0, 10)], [0, 0, -1, -1]), 1, ROUND),
        lambda: offset(chain([(0, 0), (10, 0), (20, 0)]), 1, ROUND),
        lambda: offset(Chain(np.zeros((2, 2)), np.zeros(1), closed=False), 1, ROUND),
        lambda: offset(HARD["circle"][0], np.nan, ROUND),
        lambda: offset(HARD["circle"][0], 5.0, Corners.trimmed(4.0)),
        lambda: offset(HARD["circle"][0], 5.0, Corners.mitred(0.5)),
        lambda: offset_region(HARD["circle"][0], (chain([(30, 0), (40, 0), (40, 10)]),), 1, ROUND),
        lambda: offset_region(HARD["circle"][0], (chain([(0, 0), (40, 0), (40, 10)]),), 1, ROUND),
        lambda: offset_many([HARD["circle"][0], chain([(0, 0), (20, 20), (20, 0), (0, 30)])], 1, ROUND),
    ],
)
def test_what_has_no_parallel_is_refused(call):
    """Crossing, touching, open or flat outlines, holes outside, and corners that cut too deep are errors."""
    with pytest.raises(GeometryError):
        call()


def test_a_gap_is_an_error_not_an_open_line():
    """If a stretch of the raw parallel were missing, the result would be refused with its place."""
    sources, origin, weld = offset_module._sources([(HARD["rectangle"][0],)], 2.0)
    pieces, tips = raw_offset(sources, 2.0, None, weld[sources.region])
    kept = np.arange(len(pieces)) != 3
    with pytest.raises(GeometryError, match="does not close near"):
        trace(pieces.take(kept), tips, sources, 2.0, weld, np.stack((origin.real, origin.imag), axis=1))
