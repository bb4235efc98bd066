"""Lines that touch, or meet at a few degrees: their ink is one for a while, and both are recovered.

*Oracle*: lines and arcs drawn at random, widened with shapely; the pieces are those of shapely's polygonize.
"""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from inked import EDGE, SIZE, junctions, one_shape, page, path, sampled_seams, seams_off, turned_down

from convert.block import make_block
from convert.errors import Severity
from convert.reader import read_drawing_bytes

FRAME = shapely.box(50, 20, 100, 105)
"""No larger than it must be: what takes long is to divide its sides."""
FEW = settings(
    max_examples=2,
    deadline=None,
    derandomize=True,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)
SEEDS = st.integers(0, 99)
RADII = st.floats(32, 90)


def leaving(at, heading, radius, length=120.0):
    """Return an arc from a point in a direction, bent to the left (right if negative) about a radius."""
    way = np.linspace(0, min(length, 2.6 * abs(radius)), 600)
    z = complex(*at) + np.exp(1j * heading) * (np.exp(1j * way / radius) - 1) * radius / 1j
    points = np.column_stack((z.real, z.imag))
    points[0] = at
    return shapely.LineString(points)


def framed(*lines):
    """Return the frame and what of the lines is within it, cut where they meet."""
    inside = [shapely.intersection(line, FRAME) for line in lines]
    return shapely.union_all([*inside, FRAME.exterior])


def recovered(text):
    """Return the block of a page, and what it says of lines that run into one: all there is to say."""
    block = make_block(read_drawing_bytes(text.encode(), "inked.svg"))
    assert {f.code for f in block.remarks} <= {"BLOCK-022", "BLOCK-023", "BLOCK-035", "BLOCK-061"}
    return block, [f for f in block.remarks if f.code == "BLOCK-035"]


def check(lines, at, near, degree, seed):
    """Lines come out as drawn; where they meet is one point within `near` mm, and is told."""
    block, said = recovered(one_shape(lines, seed=seed))
    assert len(block.pieces) == len(shapely.polygonize(lines.geoms).geoms)
    assert max(seams_off(block, lines)) <= 0.05
    found, number = junctions(block, np.array(block.origin) - EDGE)
    away = np.hypot(*(found - at).T)
    assert number[away < 12].tolist() == [degree]
    assert away.min() <= near
    told = np.array([f.place.at for f in said]) - EDGE
    told[:, 1] = SIZE - told[:, 1]
    assert np.hypot(*(told - at).T).min() <= max(near, 2.5)
    assert all(f.severity is Severity.NOTE and f.value > 2 for f in said)


@FEW
@given(RADII, RADII, SEEDS)
def test_arcs_that_end_on_a_line_in_one_direction(left, right, seed):
    """Two arcs that touch where they end on a third line: one junction without a stem."""
    at = (75, 20)
    check(framed(leaving(at, pi / 2, left), leaving(at, pi / 2, -right)), at, 0.1, 4, seed)


@FEW
@given(st.floats(60, 90), st.floats(60, 90), st.floats(-0.15, 0.15), SEEDS)
def test_arcs_that_touch_in_passing(one, other, turn, seed):
    """Two arcs that touch in passing meet in one point."""
    at = (75, 62)
    ways = [(pi / 2 + turn, one), (-pi / 2 + turn, -one), (pi / 2 + turn, -other), (-pi / 2 + turn, other)]
    check(framed(*(leaving(at, *way) for way in ways)), at, 0.3, 4, seed)


@FEW
@given(st.floats(3, 10), st.floats(1.15, 1.4), SEEDS)
def test_lines_that_cross_at_a_few_degrees(degrees, turn, seed):
    """Two straight lines that cross at a few degrees meet in one point."""
    at = (75, 62)
    ways = [turn + k * pi + part for k in (0, 1) for part in (0, np.radians(degrees))]
    check(framed(*(leaving(at, way, 1e9) for way in ways)), at, 0.5, 4, seed)


@FEW
@given(RADII, SEEDS)
def test_arc_that_leaves_a_line(radius, seed):
    """An arc that leaves a straight line without an angle: the line stays one, and the arc ends on it."""
    at = (75, 60)
    parts = [leaving(at, pi / 2, 1e9), leaving(at, -pi / 2, 1e9), leaving(at, pi / 2, -radius)]
    # So far along, the two are no more than 0.06 mm apart.
    check(framed(*parts), at, np.sqrt(2 * radius * 0.06), 3, seed)


@pytest.mark.parametrize("cap", ["round", "flat"])
@pytest.mark.parametrize("radius", [80, 100])
def test_tip_of_a_leaf(cap, radius):
    """A tip of no angle, with the outside on both sides, is where the lines end, not where white ends."""
    at = (75, 20)
    sides = [leaving(at, pi / 2, sign * radius, 0.9 * radius) for sign in (1, -1)]
    top = shapely.LineString([sides[0].coords[-1], sides[1].coords[-1]])
    lines = shapely.MultiLineString([*sides, top])
    ink = shapely.union_all([turned_down(s).buffer(0.5, cap_style=cap) for s in (*sides, top)])
    block, said = recovered(page(path(ink.union(turned_down(top).buffer(0.5)))))
    assert len(block.pieces) == 1
    assert max(seams_off(block, lines)) <= 0.03
    assert np.hypot(*(sampled_seams(block, 0.05) - at).T).min() <= 0.1
    assert (sampled_seams(block, 0.05)[:, 1]).min() >= at[1] - 0.05
    assert len(said) == 1


@pytest.mark.parametrize("width", [1.0, 2.5])
def test_bold_line_is_one(width):
    """Lines that touch between two bold ones stay two; a bold line that ends in two thin ones stays one."""
    fork = [shapely.LineString([(75, 60), (75 + dx, 105)]) for dx in (-20, 20)]
    stem = shapely.LineString([(75, 20), (75, 60)])
    lines = shapely.union_all([stem, *fork, FRAME.exterior])
    ink = turned_down(lines).buffer(0.5).union(turned_down(stem).buffer(width / 2))
    block, said = recovered(page(path(ink)))
    assert not said
    assert len(block.pieces) == 3
    assert max(seams_off(block, lines)) <= 0.05


def test_sliver_without_white_is_told():
    """Two lines so near that no white is left look like one that swells: it is one, and the place is told."""
    sides = [shapely.LineString([(50, 70), (75, 70 + dy), (100, 70)]) for dy in (0.3, -0.3)]
    lines = shapely.union_all([*sides, FRAME.exterior])
    block = make_block(read_drawing_bytes(page(path(turned_down(lines).buffer(0.5))).encode(), "inked.svg"))
    assert len(block.pieces) == 2
    (told,) = [f for f in block.remarks if f.code == "BLOCK-036"]
    assert told.severity is Severity.WARNING
    assert told.value == pytest.approx(1.6, abs=0.1)
    assert told.place.at == pytest.approx((85, 90), abs=3)
