"""Promises of convert/block/scale.py: the block at other sizes."""

from __future__ import annotations

import known_blocks as known
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from maps import loop

from convert.block.check import Advice, check
from convert.block.scale import measure_of, scaled
from convert.errors import UsageError


@settings(max_examples=40, deadline=None)
@given(name=st.sampled_from(list(known.ALL)), width=st.floats(10, 2000))
def test_the_asked_width_is_met_exactly(name, width):
    """A block asked for some width has that width, within 1e-9 of a millimetre, and so does its outline."""
    block = known.block_of(known.ALL[name]())
    other = scaled(block, width / measure_of(block, "width"))
    assert other.width == pytest.approx(width, abs=1e-9)
    assert other.scale == pytest.approx(width / block.width)
    span = np.ptp(np.concatenate([c.points for c in other.outside]), axis=0)
    straight = all((c.bulge == 0).all() for c in other.outside)
    assert span[0] == pytest.approx(width, abs=1e-9) or not straight


@pytest.mark.parametrize("name", list(known.ALL))
def test_scaling_keeps_everything_but_lengths(name):
    """Labels, counts, corners and topology stay; areas grow with the square; neighbours share bits."""
    block = known.block_of(known.ALL[name]())
    other = scaled(block, 2.5)
    assert [t.label for t in other.templates] == [t.label for t in block.templates]
    for a, b in zip(block.templates, other.templates, strict=True):
        assert np.array_equal(a.corners, b.corners)
        assert (b.area, b.perimeter, b.clearance) == pytest.approx(
            (6.25 * a.area, 2.5 * a.perimeter, 2.5 * a.clearance)
        )
    for a, b in zip(block.pieces, other.pieces, strict=True):
        assert (a.label, a.half_edges, a.reversed) == (b.label, b.half_edges, b.reversed)
        assert b.area == pytest.approx(6.25 * a.area)
        bits = {tuple(p) for p in other.map.points.tolist()}
        assert all(tuple(p) in bits for p in b.outline.points.tolist())
        template = other.templates[b.template].outline
        at_first = b.placement.point(*template.points[0])
        was = a.placement.point(*block.templates[a.template].outline.points[0])
        assert at_first == pytest.approx((2.5 * was[0], 2.5 * was[1]), abs=1e-9)


def test_scaling_there_and_back_is_the_same_block():
    """Twice and then half (powers of two lose nothing) is the same block to the last bit."""
    block = known.block_of(known.bell())
    back = scaled(scaled(block, 2.0), 0.5)
    assert np.array_equal(back.map.points, block.map.points)
    assert back.warnings == block.warnings


def test_warnings_are_those_of_the_size():
    """Short edges go when the block grows and come when it shrinks; remarks stay; places stay on the page."""
    block = known.block_of(known.nearly_equal_triangles(), shape=0.1)
    assert not [f for f in block.warnings if f.code == "BLOCK-056"]
    small = scaled(block, 0.1)
    assert [f for f in small.warnings if f.code == "BLOCK-056"]
    assert [f for f in small.warnings if f.code == "BLOCK-061"] == [
        f for f in block.warnings if f.code == "BLOCK-061"
    ]
    (cut,) = [f for f in block.warnings if f.code == "BLOCK-054" and round(f.value, 1) == 36.7]
    assert cut in small.warnings
    assert small.from_page(*cut.place.at) == pytest.approx((18.05, 10.0))


def test_other_advice_is_followed():
    """Advice given to scaled() is used."""
    block = known.block_of(known.ring_of_seven())
    found = scaled(block, 1.0, Advice(short_edge=30.0)).warnings
    assert [f.value for f in found if f.code == "BLOCK-057"] == pytest.approx([25.4])
    assert found == check(block, Advice(short_edge=30.0))


def test_measures_are_width_height_and_the_named_edge():
    """Trade shapes are sold by edge: of a tangram's triangles and square each has its own."""
    block = known.block_of(known.tangram(100.0))
    assert measure_of(block, "width") == pytest.approx(100)
    assert measure_of(block, "height") == pytest.approx(100)
    assert measure_of(block, "edge") == pytest.approx(100)
    assert measure_of(block, "edge", "D") == pytest.approx(25 * 2**0.5)
    assert measure_of(block, "edge", "E") == pytest.approx(50)


def test_an_edge_ends_at_corners_only():
    """A T-junction on a side does not make the edge shorter."""
    assert measure_of(known.block_of(known.turnstile(10.0)), "edge", "A") == pytest.approx(40)


@pytest.mark.parametrize(
    ("template", "words"), [("Z", "no template 'Z'"), ("A", "straight"), (None, "straight")]
)
def test_impossible_measures_are_refused(template, words):
    """An unknown template, or one of curves only, has no edge to measure: a clear usage error."""
    block = known.block_of([loop([(0, 0), (30, 0)], [1, 1])])
    with pytest.raises(UsageError, match=words):
        measure_of(block, "edge", template)


@pytest.mark.parametrize("factor", [0.0, -1.0, float("nan"), float("inf")])
def test_impossible_factors_are_refused(factor):
    """A size of zero, below it, or of no number is a usage error."""
    with pytest.raises(UsageError):
        scaled(known.block_of(known.turnstile()), factor)
