"""Line drawings that come as filled shapes: the seams lie where the lines were drawn.

*Oracle*: the lines themselves, widened with shapely (or scanned and traced by a general tracer) and measured
with shapely's distances. The bounds are those that the project set itself: 0.1 mm root mean square for lines
of 1 mm on a block of 150 mm.
"""

from __future__ import annotations

import os

import numpy as np
import pytest
from inked import (
    EDGE,
    SIZE,
    TRACER,
    block_with_lines,
    bold_border,
    each_stroke,
    junctions,
    junctions_off,
    one_shape,
    seams_off,
    traced,
    traced_in_greys,
)

from convert.block import make_block
from convert.errors import Severity
from convert.reader import read_drawing_bytes

STRAIGHT = ("dusk-moth", "midwinter", "pinwheel-kite", "ring-of-seven", "frost-dozen", "turnstile")
ROUND = ("split-leaves", "sun-in-a-diamond", "evening-sail", "lantern-moth")
FREE = ("cosmos", "river-stones")
"""Blocks with Bézier curves, ellipses, or points too sharp for their lines to be told apart."""

RMS, JUNCTION = 0.1, 0.1
"""Millimetres: seams from lines; a junction from where it was drawn."""


def need_tracer():
    """Skip a test, loudly, where no tracer is installed; fail it where it must run."""
    if TRACER is None:
        if os.environ.get("CI"):
            pytest.fail("no tracer is installed (Debian: potrace); the checks against it must run here")
        pytest.skip("no tracer is installed (Debian: potrace): traced scans are NOT checked")


def recovered(text):
    """Return the block of a page; it must say that its lines were filled shapes, and find no fault."""
    block = make_block(read_drawing_bytes(text.encode(), "inked.svg"))
    assert "BLOCK-022" in {f.code for f in block.remarks}
    assert not [f for f in block.remarks if f.severity is Severity.ERROR]
    return block


def check_seams(block, lines, most=RMS):
    """Seams lie on the lines and lines on the seams."""
    assert max(seams_off(block, lines)) <= most


def check_junctions(block, true):
    """Every junction is there once, sharp, with as many seams as drawn; none was added."""
    assert len(junctions(block)[0]) == len(junctions(true)[0])
    assert junctions_off(block, true) <= JUNCTION


@pytest.mark.parametrize("name", [*STRAIGHT, *ROUND])
def test_one_traced_shape(name):
    """All lines as one dark shape with rounded corners and a wobbling outline come out as drawn."""
    true, lines = block_with_lines(name)
    block = recovered(one_shape(lines))
    check_seams(block, lines, 0.02)
    check_junctions(block, true)
    assert len(block.pieces) == len(true.pieces)
    assert [(t.count, t.reversed_count) for t in block.templates] == [
        (t.count, t.reversed_count) for t in true.templates
    ]


@pytest.mark.parametrize("name", FREE)
def test_free_curves(name):
    """Curves of any kind come out as a few arcs near the line that was drawn."""
    true, lines = block_with_lines(name)
    block = recovered(one_shape(lines))
    check_seams(block, lines, 0.03)
    check_junctions(block, true)
    assert len(block.pieces) == len(true.pieces)
    assert len(block.templates) == len(true.templates)
    assert block.map.edge_count <= 1.3 * true.map.edge_count


@pytest.mark.parametrize(
    ("name", "most"),
    [("midwinter", 0.01), ("split-leaves", 0.01), ("evening-sail", 0.01), ("river-stones", 0.03)],
)
def test_each_stroke_outlined(name, most):
    """Every stroke as a thin shape of its own, with no noise: lines and arcs are right to a hundredth."""
    true, lines = block_with_lines(name)
    block = recovered(each_stroke(lines))
    check_seams(block, lines, most)
    check_junctions(block, true)
    assert len(block.pieces) == len(true.pieces)
    assert len(block.templates) == len(true.templates)


@pytest.mark.parametrize("width", [0.2, 0.5, 2.0])
def test_widths(width):
    """Hairlines and broad lines are recovered alike."""
    true, lines = block_with_lines("turnstile")
    block = recovered(one_shape(lines, width=width, noise=0.02 * width, join="mitre"))
    check_seams(block, lines, 0.02)
    check_junctions(block, true)
    assert len(block.templates) == len(true.templates)


@pytest.mark.parametrize(
    ("name", "width", "dpi"),
    [
        ("dusk-moth", 1.0, 300), ("frost-dozen", 1.0, 300), ("split-leaves", 1.0, 150),
        ("river-stones", 1.0, 300),
        ("evening-sail", 0.5, 300),  # a line of six pixels, or five
        ("lily-pond", 0.5, 300),  # circles with flat stretches
        ("lily-pond", 1.0, 150),  # rounded corners with corners in them
    ],
)  # fmt: skip
def test_scanned_and_traced(name, width, dpi, tmp_path):
    """A scan, traced with Béziers by a general tracer, gives the same pieces."""
    need_tracer()
    true, lines = block_with_lines(name)
    block = recovered(traced(lines, tmp_path, width, dpi))
    check_seams(block, lines, 0.06)
    check_junctions(block, true)
    assert len(block.pieces) == len(true.pieces)
    assert len(block.templates) == len(true.templates)


def test_junctions_made_of_one_are_told():
    """Where the ink is too broad to tell one junction from two, each that was not drawn is told."""
    true, lines = block_with_lines("tide")
    block = recovered(bold_border(lines, border=2.5))
    found, degree = junctions(block, np.array(block.origin) - EDGE)
    drawn, wanted = junctions(true)
    apart = np.hypot(*(found[:, None] - drawn[None]).transpose(2, 0, 1))
    wrong = found[(apart.min(axis=1) > 1.0) | (degree != wanted[apart.argmin(axis=1)])]
    assert len(wrong)
    warned = [f for f in block.remarks if f.code == "BLOCK-037"]
    assert all(f.severity is Severity.WARNING for f in warned)
    told = np.array([f.place.at for f in warned]) - EDGE
    told[:, 1] = SIZE - told[:, 1]
    # Each is told half way between the two that should be one.
    assert np.hypot(*(wrong[:, None] - told[None]).transpose(2, 0, 1)).min(axis=1).max() <= 1.0
    assert 2 * len(told) == len(wrong)


@pytest.mark.parametrize("name", ["evening-sail"])
def test_traced_in_several_shades(name, tmp_path):
    """A smoothed scan traced in four shades of grey gives the same pieces as one in black and white."""
    need_tracer()
    true, lines = block_with_lines(name)
    block = recovered(traced_in_greys(lines, tmp_path))
    check_seams(block, lines, 0.05)
    check_junctions(block, true)
    assert len(block.pieces) == len(true.pieces)
    assert len(block.templates) == len(true.templates)
