"""Kerf: what a tool of that width leaves is of the finished size."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from curves import SETTINGS, stars
from hand_blocks import ALL, compass_flower, hand_block, kite_pair, pinwheel, shifted_grid
from hand_profiles import mat
from hypothesis import given
from hypothesis import strategies as st
from parallel_oracle import flat

from convert.cutting.assembled import assembled_sheet
from convert.cutting.kerf import strokes_for_kerf
from convert.cutting.parts import CutChoices
from convert.cutting.products import make_parts
from convert.cutting.rows import piece_sheets
from convert.cutting.sheet import Product, Purpose, Stroke
from convert.errors import OutputError
from convert.geometry import measure
from convert.geometry.chain import Chain

CHOICES = CutChoices(tuple(Product), 6.35)


def left_by_the_tool(strokes, kerf):
    """Return what is kept: inside the outer cut, outside the inner ones, and not within half a kerf of any.

    The beam is a disc whose centre follows the cut; the polygons are chords of the arcs.
    """
    rim = (Purpose.OUTER, Purpose.INNER)
    rings = {purpose: [flat(s.chain, 1e-4) for s in strokes if s.purpose is purpose] for purpose in rim}
    kept = shapely.union_all([shapely.Polygon(ring) for ring in rings[Purpose.OUTER]])
    kept = kept.difference(shapely.union_all([shapely.Polygon(ring) for ring in rings[Purpose.INNER]]))
    lines = [
        shapely.LinearRing(ring) for purpose in (Purpose.OUTER, Purpose.INNER) for ring in rings[purpose]
    ]
    return kept.difference(shapely.union_all([line.buffer(kerf / 2, quad_segs=64) for line in lines]))


def test_the_oracle_itself():
    """A square path of 30.2 mm cut by a beam of 0.2 mm leaves 30 mm."""
    path = Chain(np.array([[0, 0], [30.2, 0], [30.2, 30.2], [0, 30.2]]), np.zeros(4))
    kept = left_by_the_tool([Stroke(path, Purpose.OUTER)], 0.2)
    assert kept.bounds == pytest.approx((0.1, 0.1, 30.1, 30.1), abs=1e-12)
    assert kept.area == pytest.approx(900.0, abs=1e-9)


@pytest.mark.parametrize("kerf", [0.08, 0.2, 0.7])
@pytest.mark.parametrize("product", Product)
@pytest.mark.parametrize("make", [kite_pair, compass_flower, pinwheel])
def test_what_is_left_is_the_part(make, product, kerf):
    """A beam that follows the moved cuts leaves the part itself, but for fillets in its hollow corners.

    A fillet lies in a corner where the beam, of radius r, can't reach: it is no farther than r / tan(a / 2)
    from the corner, so all that differs is within 0.01 mm of the part, or in such a corner.
    """
    profile = mat(kerf=kerf)
    block = make()
    parts = make_parts(block, product, CHOICES).parts
    for sheet in piece_sheets(block, profile, product=product, choices=CHOICES):
        for number, copy in enumerate(sheet.copies):
            part = parts[copy.template if product is not Product.CLOTH else 0]
            if product is Product.CLOTH:
                part = next(p for p in parts if copy.piece in (*p.pieces, *p.reversed_pieces))
            kept = left_by_the_tool([s for s in sheet.strokes if s.copy == number], kerf)
            wanted = left_by_the_tool(
                [replace(s, chain=copy.placement.outline(s.chain)) for s in part.strokes if s.chain.closed],
                1e-9,
            )
            assert wanted.difference(kept.buffer(2e-3)).is_empty
            for extra in shapely.get_parts(kept.difference(wanted.buffer(2e-3))):
                assert extra.area < 8.0 * kerf**2
            if product is not Product.WINDOW:
                assert kept.area == pytest.approx(wanted.area, rel=1e-3)


@SETTINGS
@given(stars(), st.sampled_from([0.05, 0.2, 1.0]))
def test_kept_stars_are_whole(outline, kerf):
    """Of any outline nothing is lost, and nothing more than fillets in its hollow corners is left over."""
    (moved,) = strokes_for_kerf([Stroke(outline, Purpose.OUTER)], kerf, ["A"])
    kept = left_by_the_tool([moved], kerf)
    wanted = shapely.Polygon(flat(outline, 1e-4))
    assert wanted.difference(kept.buffer(1e-3)).is_empty
    # Closing the outline with a disc of the beam's size is all that may be added.
    closed = wanted.buffer(kerf / 2, quad_segs=64).buffer(-kerf / 2 + 1e-3, quad_segs=64)
    assert kept.difference(closed.buffer(2e-3)).is_empty


def test_inner_cuts_shrink():
    """A hole is cut half a kerf inside itself, and goes on running clockwise."""
    hole = Chain(np.array([[0, 0], [0, 30], [30, 30], [30, 0]], dtype=float), np.zeros(4))
    (moved,) = strokes_for_kerf([Stroke(hole, Purpose.INNER)], 0.2, ["A"])
    assert measure.box(moved.chain).tolist() == pytest.approx([0.1, 0.1, 29.9, 29.9])
    assert measure.area(moved.chain) == pytest.approx(-(29.8**2))


def test_marks_and_letters_stay():
    """What is drawn is not moved."""
    mark = Stroke(Chain(np.array([[0.0, 0.0], [5.0, 0.0]]), np.zeros(1), closed=False), Purpose.MARK)
    assert strokes_for_kerf([mark], 0.2, ["A"]) == (mark,)


def test_a_slot_or_hole_narrower_than_the_tool_is_refused():
    """A slot that the beam closes and a hole that it can't enter are errors that name the piece."""
    slot = [(0, 0), (60, 0), (60, 40), (30.05, 40), (31, 15), (29, 15), (29.95, 40), (0, 40)]
    block = hand_block("slot", slot, [[(k, 0) for k in range(8)]])
    assert piece_sheets(block, mat(kerf=0.05))
    with pytest.raises(OutputError) as caught:
        piece_sheets(block, mat(kerf=0.2))
    (finding,) = caught.value.findings
    assert finding.code == "CUT-016"
    assert "of A is narrower than the 0.2 mm" in finding.what
    hole = Chain(np.array([[0.0, 0.0], [0.1, 0.0]]), np.array([-1.0, -1.0]))
    with pytest.raises(OutputError):
        strokes_for_kerf([Stroke(hole, Purpose.INNER)], 0.2, ["B"])


@pytest.mark.parametrize("make", ALL)
def test_assembled_blocks_keep_their_outside(make):
    """The outside of a whole block grows by half a kerf; seams stay, and the finding says what that costs."""
    block = make()
    plain, wider = assembled_sheet(block, mat()), assembled_sheet(block, mat(kerf=0.2))
    seams = [[s.chain for s in sheet.strokes if s.purpose is Purpose.SEAM] for sheet in (plain, wider)]
    for one, other in zip(*seams, strict=True):
        assert other.points == pytest.approx(one.points, abs=1e-9)
    outer = [s for s in wider.strokes if s.purpose in {Purpose.OUTER, Purpose.INNER}]
    kept = left_by_the_tool(outer, 0.2)
    assert kept.bounds[2] - kept.bounds[0] == pytest.approx(block.width, abs=1e-3)
    assert kept.bounds[3] - kept.bounds[1] == pytest.approx(block.height, abs=1e-3)
    found = [f for f in wider.findings if f.code == "CUT-017"]
    assert len(found) == (len(block.pieces) > 1)
    for finding in found:
        assert finding.value == pytest.approx(0.1)
        assert "0.1 mm smaller along each edge" in finding.what
    assert not any(f.code == "CUT-017" for f in plain.findings)


def test_what_shared_cuts_cost_is_what_is_said():
    """A piece of the assembled block between two seams measures a whole kerf less than finished."""
    block = shifted_grid()
    sheet = assembled_sheet(block, mat(kerf=0.2))
    cuts = [shapely.LineString(flat(s.chain, 1e-4)[[*range(len(flat(s.chain, 1e-4))), 0]])
            for s in sheet.strokes if s.purpose is Purpose.OUTER]  # fmt: skip
    cuts += [shapely.LineString(_open(s.chain)) for s in sheet.strokes if s.purpose is Purpose.SEAM]
    beam = shapely.union_all([line.buffer(0.1, quad_segs=16) for line in cuts])
    place = sheet.copies[0].placement
    far = np.array([block.width, block.height]) - 4.0
    inner = [p for p in block.pieces if ((p.outline.points > 4.0) & (p.outline.points < far)).all()]
    assert len(inner) > 10
    for piece in inner:
        finished = shapely.Polygon(flat(place.outline(piece.outline), 1e-4))
        kept = finished.difference(beam)
        assert kept.area == pytest.approx(finished.area - 0.1 * finished.length, abs=0.1)


def _open(chain):
    """Return the vertices of an open chain, arcs as chords: closed by a line out and back, less its end."""
    points = np.vstack((chain.points, chain.points[-1:] + np.array([[1e-3, 0.0]])))
    return flat(Chain(points, np.append(chain.bulge, [0.0, 0.0])), 1e-4)[:-1]
