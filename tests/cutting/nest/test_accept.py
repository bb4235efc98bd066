"""The judge lets nothing pass that overlaps, is too near or reaches out, and agrees with shapely."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from nest_shapes import SHAPES, flat, lens, polygon

from convert.cutting.nest.accept import CLOSE, Judge, distances
from convert.geometry.chain import Chain, Segments
from convert.geometry.edit import flatten
from convert.geometry.similarity import Similarity

SQUARE = polygon([(0, 0), (10, 0), (10, 10), (0, 10)])
CIRCLE = Chain(np.array([(-5.0, 0.0), (5.0, 0.0)]), np.array([1.0, 1.0]))


def near(outlines, gap, *copies):
    """Return the pairs that are too near, of copies (outline, x, y) on a large sheet."""
    placed = [(n, Similarity.shift(x, y)) for n, x, y in copies]
    return Judge(outlines, gap).judge(placed, 1000.0, 1000.0).near


def test_touching_is_allowed_without_a_gap():
    """Squares side by side pass at no gap; deeper than CLOSE into each other they don't."""
    assert near([SQUARE], 0.0, (0, 0, 0), (0, 10, 0), (0, 0, 10), (0, 10, 10)) == ()
    assert near([SQUARE], 0.0, (0, 0, 0), (0, 10 - 0.9 * CLOSE, 0)) == ()
    assert near([SQUARE], 0.0, (0, 0, 0), (0, 10 - 1.1 * CLOSE, 0)) == ((0, 1),)
    assert near([SQUARE], 0.0, (0, 0, 0), (0, 10 - 1.1 * CLOSE, 10 - 1.1 * CLOSE)) == ((0, 1),)


def test_a_gap_is_kept_to_the_promised_thousandth():
    """With a gap of 2 mm, 2 mm less a little passes, less doesn't, for lines and arcs alike."""
    for outlines, width in (([SQUARE], 10.0), ([CIRCLE], 10.0)):
        assert near(outlines, 2.0, (0, 9, 9), (0, 9 + width + 2.0 - 0.9 * CLOSE, 9)) == ()
        assert near(outlines, 2.0, (0, 9, 9), (0, 9 + width + 2.0 - 1.1 * CLOSE, 9)) == ((0, 1),)


def test_arcs_are_judged_as_arcs():
    """Circles one above the other at a slant: the distance is that of their centres less both radii."""
    step = 7.0 / np.sqrt(2)
    for apart, passes in ((1e-4, True), (-2e-3, False)):
        s = step * (12.0 + apart) / 7.0
        assert (near([CIRCLE], 2.0, (0, 20, 20), (0, 20 + s, 20 + s)) == ()) is passes


def test_one_inside_another_is_found():
    """A small shape wholly inside a large one meets no outline and is found all the same, at any gap."""
    small = polygon([(0, 0), (1, 0), (1, 1), (0, 1)])
    for gap in (0.0, 1.0):
        assert near([SQUARE, small], gap, (0, 0, 0), (1, 4.5, 4.5)) == ((0, 1),)
        assert near([SQUARE, small], gap, (1, 4.5, 4.5), (0, 0, 0)) == ((0, 1),)
    assert near([SQUARE], 0.0, (0, 0, 0), (0, 0, 0)) == ((0, 1),)
    assert near([SQUARE], 1.0, (0, 0, 0), (0, 0, 0)) == ((0, 1),)


def test_reaching_over_the_edge_is_found():
    """The sheet's edge may be touched, not crossed; an arc's belly counts."""
    for outline, size in ((SQUARE, 10.0), (CIRCLE, 10.0)):
        low = -min(0.0, float(outline.points.min())) if outline is SQUARE else 5.0
        judge = Judge([outline], 1.0)
        assert judge.judge([(0, Similarity.shift(low, low))], size, size).passed
        assert not judge.judge([(0, Similarity.shift(low, low + 1e-3))], size, size).passed
        assert not judge.judge([(0, Similarity.shift(low - 1e-3, low))], size, size).passed
    assert Judge([SQUARE], 1.0).judge([], 10.0, 10.0).passed


@settings(deadline=None, max_examples=80)
@given(
    st.sampled_from(sorted(SHAPES)), st.sampled_from(sorted(SHAPES)), st.floats(0, 6.2832),
    st.floats(-70, 70), st.floats(-70, 70), st.booleans(), st.sampled_from([0.0, 1.0, 3.0]),
)  # fmt: skip
def test_agrees_with_shapely(one, other, angle, x, y, flipped, gap):
    """For two shapes anyhow placed: the same verdict as fine chords give, off the border line."""
    outlines = [SHAPES[one], SHAPES[other]]
    placements = [Similarity(), Similarity.shift(x, y).after(Similarity.turn(angle, flipped=flipped))]
    shapes = [flat(outline, placement) for outline, placement in zip(outlines, placements, strict=True)]
    apart, deep = shapes[0].distance(shapes[1]), shapes[0].intersection(shapes[1]).area
    found = bool(Judge(outlines, gap).judge(list(enumerate(placements)), 1e4, 1e4).near)
    if gap and abs(apart - gap) > 2.5e-3:
        assert found == (apart < gap)
    if not gap and (deep == 0.0 or deep > 0.5):
        assert found == (deep > 0.5)


def test_distances_between_segments():
    """Lines and arcs in all mixtures: as far apart as fine chords are, within what those are off."""
    rng = np.random.default_rng(3)
    start, end = rng.uniform(0, 30, (300, 2)), rng.uniform(0, 30, (300, 2))
    bulge = np.where(rng.random(300) < 0.4, 0.0, rng.uniform(-1, 1, 300))
    table = Segments(start, end, bulge)
    lines = [
        shapely.LineString(flatten(Chain(np.array([p, q]), np.array([b]), closed=False), 1e-5))
        for p, q, b in zip(start, end, bulge, strict=True)
    ]
    i, j = rng.integers(0, 300, 2000), rng.integers(0, 300, 2000)
    true = shapely.distance(np.array(lines)[i], np.array(lines)[j])
    got = distances(table, i, j)
    apart = true > 1e-3
    assert apart.sum() > 500
    assert np.abs(got - true)[apart].max() < 3e-5


@pytest.mark.parametrize("turn", [0.0, 0.3, 2.0])
def test_crossing_petals_are_found_wherever_they_cross(turn):
    """Two petals that cross like a plus meet in four points and are refused."""
    petal = lens()
    copies = [
        (0, Similarity.shift(100, 100).after(Similarity.turn(turn))),
        (0, Similarity.shift(100, 100).after(Similarity.turn(turn + 0.4))),
    ]
    assert Judge([petal], 0.0).judge(copies, 500.0, 500.0).near == ((0, 1),)
