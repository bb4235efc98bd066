"""Die boards: bends, rules near each other, nicks and window rings, against sizes worked out by hand."""

from dataclasses import replace

import numpy as np
import pytest
from hand_blocks import kite_pair, pinwheel
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from convert.cutting.assembled import assembled_sheet
from convert.cutting.die import checked_for_die, near_rules, nearest_of_pairs, nick_marks
from convert.cutting.machine import for_machine, sheet_work
from convert.cutting.parts import CutChoices
from convert.cutting.rows import piece_sheets
from convert.cutting.sheet import CUTS, Product, Purpose, Stroke
from convert.errors import OutputError
from convert.geometry.chain import Chain, Segments
from convert.geometry.measure import contains, distances_to, point_at
from convert.profile import NickSettings, Smallest, load_profile
from convert.proof import prove
from convert.writers.dxf import dxf_bytes

DIE = load_profile("die-board")
LEAST = DIE.smallest.gap


def box(x, y, width, height):
    """Return a rectangle."""
    corners = np.array([(x, y), (x + width, y), (x + width, y + height), (x, y + height)], dtype=float)
    return Chain(corners, np.zeros(4))


def codes(sheet):
    """Return the codes of what a die maker is told about a sheet, and the numbers with them."""
    return {finding.code: finding.value for finding in sheet.findings if finding.code.startswith("CUT-07")}


COORDINATE = st.floats(-50, 50)
SEGMENT = st.tuples(COORDINATE, COORDINATE, COORDINATE, COORDINATE, st.sampled_from([0.0, 0.3, -0.7, 1.0]))


@settings(deadline=None, max_examples=60)
@given(SEGMENT, SEGMENT)
def test_nearest_of_pairs(first, second):
    """The nearest of two segments that don't cross is what 2,000 points along each find from the other."""
    chains = [
        Chain(np.array([row[:2], row[2:4]]), np.array([row[4]]), closed=False) for row in (first, second)
    ]
    assume(all(np.hypot(*(chain.points[1] - chain.points[0])) > 1.0 for chain in chains))
    share = np.linspace(0, 1, 2000)
    fine = min(
        distances_to(other, point_at(chain.segments.take(np.zeros(2000, dtype=int)), share)).min()
        for chain, other in (chains, chains[::-1])
    )
    assume(fine > 0.5)  # nearer ones may cross
    distance, place, _, _ = nearest_of_pairs(*(chain.segments for chain in chains))
    assert distance[0] == pytest.approx(fine, abs=1e-3)
    assert distance[0] <= fine + 1e-9
    for chain in chains:
        assert distances_to(chain, place)[0] == pytest.approx(0.5 * distance[0], abs=1e-9)


def test_near_rules_are_found_with_their_place():
    """Two parts 2 mm apart are too near for a board that needs 3/32 in, two 2.5 mm apart are not."""
    cuts = [
        Stroke(box(0, 0, 50, 30), Purpose.OUTER, 0),
        Stroke(box(52, 10, 50, 5), Purpose.OUTER, 1),
        Stroke(box(0, 32.5, 50, 30), Purpose.OUTER, 2),
    ]
    near = near_rules(cuts, LEAST)
    assert (near.first.tolist(), near.second.tolist()) == ([0], [1])
    assert near.distance[0] == pytest.approx(2.0)
    assert near.place[0][0] == pytest.approx(51.0)
    assert 10 <= near.place[0][1] <= 15


def test_a_neck_is_found_and_a_corner_is_not():
    """Within one part: a neck 1 mm wide is too narrow, a sharp or cut corner is none of it."""
    neck = [(0, 0), (40, 0), (40, 19.5), (80, 19.5), (80, 0), (120, 0), (120, 40), (80, 40), (80, 20.5)]
    neck += [(40, 20.5), (40, 40), (0, 40)]
    narrow = near_rules([Stroke(Chain(np.array(neck, dtype=float), np.zeros(12)), Purpose.OUTER, 0)], LEAST)
    assert narrow.distance.tolist() == pytest.approx([1.0])
    wedge = Chain(np.array([(0, 0), (60, -8), (60.5, 0), (60, 8.0)]), np.zeros(4))
    cut = Chain(np.array([(0, -0.4), (60, -20), (60, 20.0), (0, 0.4)]), np.zeros(4))
    for chain in (wedge, cut):
        assert len(near_rules([Stroke(chain, Purpose.OUTER, 0)], LEAST).distance) == 0


def test_tight_bends_are_told():
    """The tightest bend is named with its radius; a wider one than the board's least is not."""
    sheet = piece_sheets(pinwheel(), DIE)[0]
    assert sheet_work(sheet, DIE).smallest_bend > 30
    assert codes(checked_for_die(sheet, DIE)) == {}
    slot = Chain(np.array([(90, 96), (110, 96), (110, 104), (90, 104.0)]), np.array([0, 1.0, 0, 1.0]))
    with_slot = replace(sheet, strokes=(Stroke(slot, Purpose.INNER, 0), *sheet.strokes))
    assert sheet_work(with_slot, DIE).smallest_bend == pytest.approx(4.0)
    assert codes(checked_for_die(with_slot, DIE))["CUT-072"] == pytest.approx(4.0)
    wider = replace(DIE, smallest=Smallest(gap=LEAST, bend=3.9))
    assert "CUT-072" not in codes(checked_for_die(with_slot, wider))


def test_a_round_hole_is_punched():
    """A full circle is no bend, in however many arcs it is drawn."""
    sheet = piece_sheets(pinwheel(), DIE)[0]
    for corners in (2, 3, 5):
        turns = np.arange(corners) * 2 * np.pi / corners
        points = 4.0 * np.column_stack((np.cos(turns), np.sin(turns))) + 100.0
        hole = Chain(points, np.full(corners, np.tan(np.pi / 2 / corners)))
        pierced = replace(sheet, strokes=(Stroke(hole, Purpose.INNER, 0), *sheet.strokes))
        assert sheet_work(pierced, DIE).smallest_bend == sheet_work(sheet, DIE).smallest_bend
        assert "CUT-072" not in codes(checked_for_die(pierced, DIE))


def test_rings_need_room_for_foam():
    """A window whose rim is narrower than the least gap is refused; one as wide as a quarter inch is made."""
    block = pinwheel()
    for allowance, fits in ((2.0, False), (6.35, True)):
        choices = CutChoices((Product.WINDOW,), allowance)
        sheet = piece_sheets(block, DIE, product=Product.WINDOW, choices=choices)[0]
        if fits:
            assert not {"CUT-070", "CUT-071"} & set(codes(checked_for_die(sheet, DIE)))
        else:
            with pytest.raises(OutputError, match=r"2 mm apart; the die needs 2.38 mm between rules"):
                checked_for_die(sheet, DIE)


def test_shared_rules_are_told():
    """A whole block's pieces share rules, which a die maker should not be asked for."""
    assert "CUT-073" in codes(checked_for_die(assembled_sheet(pinwheel(), DIE), DIE))


def test_nicks_are_marked_inside_on_straight_rules():
    """Each mark begins on its rule, leads inwards, and every rule stays one closed polyline."""
    profile, block = replace(DIE, nicks=NickSettings(0.5, 50.0)), kite_pair()
    plain = piece_sheets(block, profile)[0]
    sheet = for_machine(plain, profile)
    outlines = {s.copy: s.chain for s in sheet.strokes if s.purpose is Purpose.OUTER}
    cuts = [stroke for stroke in plain.strokes if stroke.purpose in CUTS]
    marks = [mark for stroke in cuts for mark in nick_marks(stroke, profile.nicks)]
    assert len(marks) >= 2 * len(outlines)
    for mark in marks:
        outline = outlines[mark.copy]
        assert distances_to(outline, mark.chain.points)[0] == pytest.approx(0.0, abs=1e-9)
        assert contains(outline, mark.chain.points[1:]).all()
    assert all(stroke.chain.closed for stroke in sheet.strokes if stroke.purpose in CUTS)
    proof = prove(dxf_bytes(sheet, profile), "dxf", sheet, block, profile)
    assert [finding.line() for finding in proof.findings] == []


def test_no_segments_are_no_trouble():
    """A sheet without cuts has no rules near each other."""
    none = Segments(np.empty((0, 2)), np.empty((0, 2)), np.empty(0))
    assert len(nearest_of_pairs(none, none)[0]) == 0
    assert len(near_rules([], LEAST).distance) == 0
