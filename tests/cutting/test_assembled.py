"""The whole block on one sheet: every seam once, in long strokes, at its size."""

from collections import Counter

import numpy as np
import pytest
import shapely
from hand_blocks import ALL, compass_flower, hand_block, pinwheel, shifted_grid
from hand_profiles import mat
from reading import find_text

from convert.block.model import OUTSIDE
from convert.cutting.assembled import assembled_sheet
from convert.cutting.seams import seam_chains
from convert.cutting.sheet import Arrangement, Facing, Purpose
from convert.geometry import measure
from convert.geometry.chain import Segments
from convert.profile import load_profile
from convert.proof import prove
from convert.writers.dxf import dxf_bytes
from convert.writers.svg import svg_bytes


def _square_grid(n=4, step=20.0):
    points = [(i * step, j * step) for j in range(n + 1) for i in range(n + 1)]
    at = lambda i, j: (j * (n + 1) + i, 0.0)  # noqa: E731
    outlines = [[at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)] for j in range(n) for i in range(n)]
    return hand_block("square grid", points, outlines, own_mirror=True)


@pytest.mark.parametrize("make", ALL)
def test_every_seam_is_cut_once(make):
    """The seam strokes together are as long as the block's inner edges, the outside as its outer edges."""
    block = make()
    sheet = assembled_sheet(block, mat())
    edges = measure.lengths(_edges(block))
    inner = (block.map.face_of[0::2] != OUTSIDE) & (block.map.face_of[1::2] != OUTSIDE)
    found = Counter()
    for stroke in sheet.strokes:
        found[stroke.purpose] += measure.length(stroke.chain)
    assert found[Purpose.SEAM] == pytest.approx(edges[inner].sum(), abs=1e-9)
    assert found[Purpose.OUTER] == pytest.approx(edges[~inner].sum(), abs=1e-9)


def _edges(block):
    return Segments(block.map.points[block.map.start], block.map.points[block.map.end], block.map.bulge)


def test_straight_lines_across_pieces_are_one_stroke_of_two_vertices():
    """A grid of 4 by 4 squares has 24 inner edges and is cut in 6 strokes, each one line."""
    chains = seam_chains(_square_grid().map, 1e-9)
    assert len(chains) == 6
    assert all(len(chain) == 1 and not chain.closed for chain in chains)


def test_circles_across_pieces_are_long_arcs():
    """Circles go on as themselves where they touch: a compass flower's 12 petal sides are 6 arcs.

    Each side has two others that go on without a turn there, but only one on its own circle.
    """
    chains = seam_chains(compass_flower().map, 1e-9)
    assert len(chains) == 6
    assert all(len(chain) == 1 and not chain.closed for chain in chains)
    assert [abs(chain.bulge[0]) for chain in chains] == pytest.approx([np.tan(np.radians(30))] * 6)


def test_a_seam_that_turns_a_corner_is_one_stroke():
    """A seam between two pieces is one stroke though it has a corner; one inside another is a closed one."""
    points = [(0, 0), (30, 0), (30, 30), (0, 30), (15, 0), (15, 20), (30, 20)]
    outlines = [
        [(0, 0), (4, 0), (5, 0), (6, 0), (2, 0), (3, 0)],
        [(4, 0), (1, 0), (6, 0), (5, 0)],
    ]
    chains = seam_chains(hand_block("step", points, outlines).map, 1e-9)
    assert [len(chain) for chain in chains] == [2]


@pytest.mark.parametrize("make", ALL)
def test_outside_is_closed_and_at_finished_size(make):
    """The outside is a closed outline exactly as large as the block, in the sheet's middle."""
    block = make()
    sheet = assembled_sheet(block, mat())
    (outside,) = [s.chain for s in sheet.strokes if s.purpose is Purpose.OUTER]
    box = measure.box(outside)
    assert outside.closed
    assert measure.area(outside) == pytest.approx(sum(p.area for p in block.pieces), rel=1e-12)
    assert (box[2] - box[0], box[3] - box[1]) == pytest.approx((block.width, block.height), abs=1e-9)
    assert ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2) == pytest.approx((152.4, 152.4), abs=1e-9)


def test_front_is_the_default_and_the_back_is_mirrored():
    """The assembled block shows its front; from the back everything is mirrored, but words stay readable."""
    block = pinwheel()
    front = assembled_sheet(block, mat())
    back = assembled_sheet(block, mat(), Facing.BACK)
    assert front.facing is Facing.FRONT
    assert "Seen from the front" in front.title
    assert "Seen from the back" in back.title
    for one, other in zip(front.strokes, back.strokes, strict=True):
        if one.purpose is Purpose.SEAM:
            assert np.abs(one.chain.points * [-1, 1] + [304.8, 0] - other.chain.points).max() < 1e-9
            assert (one.chain.bulge == -other.chain.bulge).all()
    for sheet in (front, back):
        for number, piece in enumerate(block.pieces):
            ((height, degrees),) = find_text(_letters(sheet, number), piece.label)
            assert height >= 2.0
            assert degrees == pytest.approx(0.0, abs=1e-9)


def _letters(sheet, copy):
    return [s for s in sheet.strokes if s.purpose is Purpose.LETTER and s.copy == copy]


def test_a_block_that_is_its_own_mirror_says_so():
    """Facing does not matter for a block that equals its mirror image, and its sheet says that."""
    sheet = assembled_sheet(compass_flower(), mat())
    assert sheet.facing is Facing.EITHER
    assert "own mirror image" in sheet.title


def test_every_piece_is_labelled_inside():
    """Each piece has its own label, inside it and small enough for it."""
    block = shifted_grid()
    sheet = assembled_sheet(block, mat())
    assert sheet.arrangement is Arrangement.ASSEMBLED
    assert [c.label for c in sheet.copies] == [p.label for p in block.pieces]
    for number, piece in enumerate(block.pieces):
        strokes = _letters(sheet, number)
        assert len(find_text(strokes, piece.label)) == 1
        back = sheet.copies[number].placement.inverse()
        drawn = np.concatenate([back.points(stroke.chain.points) for stroke in strokes])
        assert shapely.Polygon(piece.outline.points).contains(shapely.MultiPoint(drawn))


def test_a_block_larger_than_the_sheet_gets_a_larger_one_and_says_so():
    """A block that the profile can't hold whole is still shown, with a finding that names both sizes."""
    sheet = assembled_sheet(pinwheel(200.0), mat())
    assert (sheet.width, sheet.height) == pytest.approx((412.7, 412.7))
    (finding,) = [f for f in sheet.findings if f.code == "CUT-002"]
    assert "400 mm x 400 mm" in finding.what
    assert "292.1 mm x 292.1 mm" in finding.what
    assert not any(f.code == "CUT-002" for f in assembled_sheet(pinwheel(), mat()).findings)


def test_labels_too_small_to_read_are_left_out_and_named():
    """Where a label would be too small there is none, and a finding names the pieces."""
    sheet = assembled_sheet(pinwheel(1.0), mat())
    assert not [s for s in sheet.strokes if s.purpose is Purpose.LETTER]
    (finding,) = [f for f in sheet.findings if f.code == "CUT-003"]
    assert "A1, A2, A3, A4" in finding.what


def test_a_block_that_fits_only_on_its_side_is_turned():
    """On A4 card a block 250 mm wide and 150 mm high lies on its side; its labels stay upright."""
    profile, block = load_profile("a4-card"), shifted_grid()
    sheet = assembled_sheet(block, profile)
    assert (sheet.width, sheet.height) == (210.0, 297.0)
    assert not any(f.code == "CUT-002" for f in sheet.findings)
    assert sheet.title.endswith("Seen from the front, turned by a quarter")
    (outside,) = [s.chain for s in sheet.strokes if s.purpose is Purpose.OUTER]
    box = measure.box(outside)
    assert (box[2] - box[0], box[3] - box[1]) == pytest.approx((150.0, 250.0), abs=1e-9)
    for number, piece in enumerate(block.pieces):
        ((_, degrees),) = find_text(_letters(sheet, number), piece.label)
        assert degrees == pytest.approx(0.0, abs=1e-9)
    for write, kind in ((svg_bytes, "svg"), (dxf_bytes, "dxf")):
        for facing in (Facing.FRONT, Facing.BACK):
            shown = assembled_sheet(block, profile, facing)
            proof = prove(write(shown, profile), kind, shown, block, profile)
            assert proof.passed, [f.line() for f in proof.findings]
