"""Promises of convert/block/check.py and joins.py: what makes a block hard to piece, where, and how much."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import pi, radians

import known_blocks as known
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from maps import loop

from convert.block.check import MOST, Advice, check
from convert.block.joins import corners_of, junctions_of, loops_of, stretches_of
from convert.block.model import OUTSIDE
from convert.errors import Severity


def of_kind(block, code):
    """Return a block's warnings with one code."""
    return [f for f in block.warnings if f.code == code]


def places(block, found):
    """Return the places of findings as points of the block, rounded."""
    return sorted(tuple(round(c, 6) for c in block.from_page(*f.place.at)) for f in found)


@pytest.mark.parametrize("name", list(known.ALL))
def test_corners_add_up(name):
    """Round every vertex the corners total 360 degrees; inside a piece, what its turns leave."""
    block = known.block_of(known.ALL[name]())
    corners = corners_of(block.map)
    whole = np.bincount(corners.vertex, weights=corners.angle)
    assert whole == pytest.approx(2 * pi, abs=1e-9)
    for p in block.pieces:
        own = corners.angle[list(p.half_edges)]
        sweeps = 4 * np.arctan(p.outline.bulge)
        assert (pi - own).sum() + sweeps.sum() == pytest.approx(2 * pi, abs=1e-9)


def test_moth_has_its_sharp_and_inside_corners():
    """The moth's sharp points and its four inside corners are named with their angles and places."""
    block = known.block_of(known.moth())
    sharp = [f for f in of_kind(block, "BLOCK-054") if f.value < 30]
    assert sorted({round(f.value, 4) for f in sharp}) == [11.4212, 17.0615, 21.8014, 24.1455]
    inside = of_kind(block, "BLOCK-055")
    assert sorted(round(f.value, 3) for f in inside) == [189.162, 189.162, 212.779, 212.779]
    assert places(block, inside) == [(12, 30), (46, 20), (114, 20), (148, 30)]


def test_many_points_in_one_place_are_counted():
    """Twelve rhombs and sixteen leaf points meet in the middle; eight diamonds are not worth a word."""
    assert [f.value for f in of_kind(known.block_of(known.rhomb_rings(12, 2)), "BLOCK-053")] == [12]
    (leaves,) = of_kind(known.block_of(known.split_leaves()), "BLOCK-053")
    assert leaves.value == 16
    assert "centre circle" in leaves.advice
    assert not of_kind(known.block_of(known.eight_point_star()), "BLOCK-053")


def test_thirty_degrees_is_very_sharp_and_sixty_is_not():
    """Rhombs of 30 degrees get the strong warning; hexagons and 60-degree diamonds get none."""
    (sharp,) = of_kind(known.block_of(known.rhomb_rings(12, 2)), "BLOCK-054")
    assert sharp.severity is Severity.WARNING
    assert "very sharp" in sharp.what
    assert not of_kind(known.block_of(known.ring_of_seven()), "BLOCK-054")


def test_cusps_of_a_full_flower_ask_for_narrower_petals():
    """Six webs with 0-degree cusps in one place: a warning with the hint, not a refusal."""
    (cusp,) = of_kind(known.block_of(known.bloom()), "BLOCK-051")
    assert cusp.value == pytest.approx(0, abs=1e-6)
    assert "Narrow the petals" in cusp.advice
    assert "centre circle" in cusp.advice


def test_clamshells_get_a_note_and_no_warning_of_a_cusp():
    """The cusp of a clamshell is lapped over: a note that says so."""
    block = known.block_of(known.clams())
    (note,) = of_kind(block, "BLOCK-052")
    assert note.severity is Severity.NOTE
    assert "raw" in note.advice
    assert not of_kind(block, "BLOCK-051")


def test_an_arbelos_has_three_cusps():
    """Three half circles on one line: every corner is a 0-degree cusp (Archimedes, Book of Lemmas, 4)."""
    block = known.block_of([loop([(0, 0), (60, 0), (20, 0)], [1, -1, -1])])
    corners = corners_of(block.map)
    own = corners.angle[list(block.pieces[0].half_edges)]
    # Traversed counter-clockwise along the large lower half circle; the small ones bulge into it.
    assert np.degrees(own) == pytest.approx([0, 0, 0], abs=1e-9)
    assert block.pieces[0].area == pytest.approx(pi / 2 * (30**2 - 20**2 - 10**2))


def test_wedge_outside_a_cusp_is_a_full_turn():
    """Where one side of a vertex is a cusp, the other side is told as a full turn, not as another cusp."""
    block = known.block_of(known.bloom())
    corners = corners_of(block.map)
    middle = int(np.argmax(corners.degree))
    angles = np.degrees(corners.angle[corners.vertex == middle])
    assert sorted(angles.round(6)) == [0.0] * 6 + [60.0] * 6
    lone = known.block_of([known.clams()[0]])
    corners = corners_of(lone.map)
    outside = corners.angle[lone.map.face_of == OUTSIDE]
    assert np.degrees(outside).max() == pytest.approx(360, abs=1e-9)


def test_short_edges_are_measured_between_seams():
    """Nine degrees of a circle of 2 in, from a petal's tip to a seam, are 0.314 in: short, in two places."""
    short = of_kind(known.block_of(known.bell()), "BLOCK-057")
    assert [f.value for f in short] == pytest.approx([0.3141592654 * 25.4] * 2)


def test_tight_inward_curves_are_compared_with_the_allowance():
    """A radius of 20 mm is tight; scaled to 5 mm it is less than the allowance."""
    block = known.block_of(known.sun())
    (curve,) = [f for f in of_kind(block, "BLOCK-058") if "inward" in f.what]
    assert curve.value == pytest.approx(20)
    assert "allowance" not in curve.what
    small = known.block_of(known.moved(known.sun(), scale=0.25))
    (curve,) = [f for f in of_kind(small, "BLOCK-058") if "inward" in f.what]
    assert curve.value == pytest.approx(5)
    assert "not more than the allowance" in curve.what
    assert [round(f.value, 6) for f in of_kind(small, "BLOCK-058") if "outward" in f.what] == [5.0]


def test_narrow_pieces_are_measured_by_the_largest_circle_inside():
    """Squares 6 mm wide are narrow; the number is the width of the largest circle in them."""
    block = known.block_of(
        [loop([(0, 0), (6, 0), (6, 30), (0, 30)]), loop([(6, 0), (40, 0), (40, 30), (6, 30)])]
    )
    (narrow,) = of_kind(block, "BLOCK-056")
    assert narrow.value == pytest.approx(6, rel=0.02)
    assert "B1" in narrow.what


def test_turnstile_needs_one_partial_seam():
    """Four T-junctions whose seams wait for each other: one partial seam undoes the circle."""
    block = known.block_of(known.turnstile())
    u = known.INCH
    assert places(block, of_kind(block, "BLOCK-059")) == sorted(
        (round(x * u, 6), round(y * u, 6)) for x, y in ((2, 2), (2, 4), (4, 2), (4, 4))
    )
    (loop_,) = of_kind(block, "BLOCK-060")
    assert loop_.value == 1
    assert "4 seams" in loop_.what


def test_tangram_has_three_t_junctions_and_no_circle():
    """Two Ts on the big triangles' legs and one, with two seams, on the medium triangle."""
    block = known.block_of(known.tangram())
    found = of_kind(block, "BLOCK-059")
    assert places(block, found) == [(25, 75), (75, 25), (75, 75)]
    assert sorted(f.value for f in found) == [1, 1, 2]
    assert not of_kind(block, "BLOCK-060")


def test_seams_on_a_circle_are_t_junctions_too():
    """Four seams end on the circle of the bell from outside, five tips touch it from inside."""
    found = of_kind(known.block_of(known.bell()), "BLOCK-059")
    assert sorted(f.value for f in found) == [1] * 4 + [2] * 5


def test_two_turnstiles_side_by_side_need_two_partial_seams():
    """Separate circles of seams are told apart."""
    two = known.turnstile() + known.moved(known.turnstile(), dx=6 * known.INCH)
    block = known.block_of(two)
    junctions = junctions_of(block.map, corners_of(block.map), radians(1))
    assert [found.partial_seams for found in loops_of(junctions)] == [1, 1]


def test_stretches_join_edges_that_go_smoothly_on():
    """A side that is cut where nothing ends is one stretch; a T-junction ends one."""
    block = known.block_of([loop([(0, 0), (10, 0), (30, 0), (30, 30), (0, 30)])])
    number, length = stretches_of(block.map, corners_of(block.map), radians(1))
    assert sorted(length.round(9)) == [30, 30, 30, 30]
    assert len(number) == 5
    tangram = known.block_of(known.tangram())
    _, length = stretches_of(tangram.map, corners_of(tangram.map), radians(1))
    assert len(length) == tangram.map.edge_count


def test_a_curve_of_many_arcs_is_one_stretch():
    """A half circle of forty arcs and its diameter are two stretches of the right lengths."""
    angle = np.linspace(0, pi, 41)
    points = np.stack((20 * np.cos(angle), 20 * np.sin(angle)), axis=1).tolist()
    bulge = [float(np.tan(pi / 40 / 4))] * 40 + [0.0]
    block = known.block_of([loop(points, bulge)])
    _, length = stretches_of(block.map, corners_of(block.map), radians(1))
    assert sorted(length) == pytest.approx([40, 20 * pi])


def test_limits_are_the_readers_to_choose():
    """With other advice other things are said: nothing below 20 degrees leaves two of the moth's points."""
    block = known.block_of(known.moth())
    kind = replace(Advice(), remark_deg=20.0, sharp_deg=20.0)
    sharp = [f for f in check(block, kind) if f.code == "BLOCK-054"]
    assert [round(f.value, 1) for f in sharp] == [11.4, 17.1]


def test_long_lists_are_cut_and_say_so():
    """In a block of a hundred different narrow strips the list ends with how many more there are."""
    x = np.concatenate(([0], np.cumsum(3 + 0.05 * np.arange(100))))
    strips = [loop([(a, 0), (b, 0), (b, 100), (a, 100)]) for a, b in pairwise(x)]
    found = of_kind(known.block_of(strips, shape=0.001), "BLOCK-056")
    assert len(found) == MOST + 1
    assert found[-1].what == f"{100 - MOST} more places like these"
    assert [f.value for f in found[:-1]] == sorted(f.value for f in found[:-1])


@settings(max_examples=20, deadline=None)
@given(turn=st.floats(0, 360), name=st.sampled_from(["moth", "bell", "tangram", "turnstile", "clams"]))
def test_what_is_said_does_not_depend_on_how_the_block_lies(turn, name):
    """Turned, a block has the same remarks with the same numbers."""

    def said(block):
        return sorted((f.code, round(f.value, 5)) for f in block.warnings)

    plain, other = (
        known.block_of(known.ALL[name]()),
        known.block_of(known.moved(known.ALL[name](), turn=turn)),
    )
    assert said(plain) == said(other)
