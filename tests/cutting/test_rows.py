"""Separate pieces in rows: all of them, apart, inside the usable area, the right way round."""

from collections import Counter
from math import cos, radians, sin

import numpy as np
import pytest
from hand_blocks import ALL, compass_flower, hand_block, kite_pair, one_circle, pinwheel, shifted_grid
from hand_profiles import mat
from hypothesis import given, settings
from hypothesis import strategies as st
from reading import texts_of

from convert.cutting.parts import CutChoices
from convert.cutting.rows import piece_sheets, sheet_yield, sheets_in_rows
from convert.cutting.sheet import Facing, Product, Purpose
from convert.errors import OutputError
from convert.geometry import measure
from convert.profile import Margins


def _boxes(sheet):
    return np.array([measure.box(s.chain) for s in sheet.strokes if s.purpose is Purpose.OUTER])


def _check(sheets, block, profile, blocks):
    found = Counter((c.template, c.reversed) for sheet in sheets for c in sheet.copies)
    for number, template in enumerate(block.templates):
        assert found[number, False] == template.count * blocks
        assert found[number, True] == template.reversed_count * blocks
    margins = profile.margins
    for sheet in sheets:
        box = _boxes(sheet)
        assert len(box) == len(sheet.copies)
        assert box[:, 0].min() >= margins.left - 1e-9
        assert box[:, 1].min() >= margins.bottom - 1e-9
        assert box[:, 2].max() <= profile.width - margins.right + 1e-9
        assert box[:, 3].max() <= profile.height - margins.top + 1e-9
        for i in range(len(box)):
            apart = np.maximum(box[:, :2] - box[i, 2:], box[i, :2] - box[:, 2:]).max(axis=1)
            assert (np.delete(apart, i) >= profile.gap - 1e-9).all()


@pytest.mark.parametrize("facing", [Facing.BACK, Facing.FRONT])
@pytest.mark.parametrize("make", ALL)
@pytest.mark.parametrize("blocks", [1, 3])
def test_all_pieces_are_there_apart_and_inside(make, facing, blocks):
    """Each template is there as often as needed; boxes keep the gap and stay in the usable area."""
    block, profile = make(), mat()
    sheets = piece_sheets(block, profile, facing, blocks=blocks)
    _check(sheets, block, profile, blocks)
    assert [sheet.number for sheet in sheets] == list(range(1, len(sheets) + 1))
    assert {sheet.of for sheet in sheets} == {len(sheets)}


@settings(deadline=None, max_examples=60)
@given(
    st.floats(120, 700), st.floats(120, 700), st.floats(0, 30), st.floats(0, 30), st.floats(0.5, 12),
    st.integers(1, 5), st.sampled_from([kite_pair, pinwheel, shifted_grid]),
)  # fmt: skip
def test_any_sheet_that_is_large_enough(width, height, side, end, gap, blocks, make):
    """Whatever the sheet's size, margins and gap, pieces keep apart and inside."""
    profile = mat(width=width, height=height, margins=Margins(side, side / 2, end, end / 3), gap=gap)
    block = make()
    _check(piece_sheets(block, profile, blocks=blocks), block, profile, blocks)


def test_outlines_are_the_templates_moved():
    """Every outline is its template under the copy's placement: flipped on the back unless reversed."""
    block = kite_pair()
    for facing in (Facing.BACK, Facing.FRONT):
        (sheet,) = piece_sheets(block, mat(), facing)
        outer = [s for s in sheet.strokes if s.purpose is Purpose.OUTER]
        for stroke, copy in zip(outer, sheet.copies, strict=True):
            template = block.templates[copy.template]
            image = copy.placement.outline(template.outline)
            assert np.array_equal(image.points, stroke.chain.points)
            assert copy.placement.scale == pytest.approx(1.0, abs=1e-12)
            assert copy.placement.flipped == (copy.reversed != (facing is Facing.BACK))
            assert measure.area(stroke.chain) == pytest.approx(template.area, rel=1e-9)


def test_templates_lie_low():
    """Each template is turned so that its box is as low as the lowest over its sides' directions."""
    a = radians(30)
    points = [(0, 0), (100 * cos(a), 100 * sin(a)), (100 * cos(a) - 20 * sin(a), 100 * sin(a) + 20 * cos(a)),
              (-20 * sin(a), 20 * cos(a))]  # fmt: skip
    block = hand_block("turned strip", points, [[(0, 0), (1, 0), (2, 0), (3, 0)]], own_mirror=True)
    (sheet,) = piece_sheets(block, mat())
    (box,) = _boxes(sheet)
    assert (box[2] - box[0], box[3] - box[1]) == pytest.approx((100.0, 20.0), abs=1e-9)


def test_copies_of_a_template_lie_together():
    """On each sheet the copies of a template follow each other, reversed ones last."""
    sheets = piece_sheets(shifted_grid(), mat(), blocks=4)
    assert len(sheets) > 1
    for sheet in sheets:
        order = [(c.template, c.reversed) for c in sheet.copies]
        runs = [kind for i, kind in enumerate(order) if i == 0 or order[i - 1] != kind]
        assert len(runs) == len(set(runs))


def test_low_pieces_fill_the_ends_of_high_rows():
    """A small piece goes beside a large one, and only a piece with no room there begins another sheet."""
    points = [(0, 0), (200, 0), (200, 200), (0, 200), (260, 0), (260, 60), (200, 60), (-10, 0), (-10, 200)]
    outlines = [
        [(0, 0), (1, 0), (6, 0), (2, 0), (3, 0)],
        [(1, 0), (4, 0), (5, 0), (6, 0)],
        [(7, 0), (0, 0), (3, 0), (8, 0)],
    ]
    block = hand_block("large and small", points, outlines)
    sheets = piece_sheets(block, mat(width=280.0, height=215.0 + 12.7))
    assert [[c.label for c in sheet.copies] for sheet in sheets] == [["A", "B", "C"]]


def test_long_piece_is_turned_to_fit_a_narrow_sheet():
    """A strip longer than the sheet is wide stands upright; one longer than both lies across, if it can."""
    strip = hand_block("strip", [(0, 0), (250, 0), (250, 10), (0, 10)], [[(0, 0), (1, 0), (2, 0), (3, 0)]])
    narrow = mat(width=150.0)
    (box,) = _boxes(piece_sheets(strip, narrow)[0])
    assert (box[2] - box[0], box[3] - box[1]) == pytest.approx((10.0, 250.0), abs=1e-9)
    square = mat(width=230.0, height=230.0)
    (box,) = _boxes(piece_sheets(strip, square)[0])
    assert 150 < box[2] - box[0] < 217.3


def test_a_piece_that_fits_no_sheet_is_an_error_with_the_numbers():
    """The error names the piece, its size, the usable size and the profile, and what to do."""
    with pytest.raises(OutputError) as caught:
        piece_sheets(one_circle(200.0), mat())
    (finding,) = caught.value.findings
    assert finding.code == "CUT-001"
    for words in ("piece A", "400 mm x 400 mm", "mat-12x12", "292.1 mm x 292.1 mm"):
        assert words in finding.what
    assert "smaller size" in finding.advice


def test_titles_say_name_size_number_and_side():
    """A sheet's title has the block's name, the size's name, both lengths in both units, and its side."""
    sheets = piece_sheets(shifted_grid(), mat(), size="large", blocks=3)
    assert len(sheets) > 1
    title = sheets[1].title
    for words in (
        "shifted grid, large",
        "250 x 150 mm (9.843 x 5.906 in)",
        f"sheet 2 of {len(sheets)}",
        "from the back",
    ):
        assert words in title
    drawn = [w for w in sheets[1].letterings if w.purpose is Purpose.CHECK]
    assert any(w.text.startswith("shifted grid, large") for w in drawn)


def test_reversed_copies_are_labelled_so():
    """A reversed copy says "reversed" where there is room, and "r" where there is little."""
    block = kite_pair()
    (large,) = piece_sheets(block, mat())
    (small,) = piece_sheets(kite_pair(9.0), mat())
    for sheet in (large, small):
        for number, copy in enumerate(sheet.copies):
            label = block.pieces[copy.piece].label
            shown = texts_of(sheet, Purpose.LETTER, number, label, "reversed", f"{label}r")
            if not copy.reversed:
                assert shown == {label}
            elif sheet is large:
                assert shown == {label, "reversed"}
            else:
                assert shown == {label, f"{label}r"}


def test_check_lengths_are_true_and_never_cut():
    """The brackets in the margins are 50 mm and 1 in wide, and 50 mm high, on the layer that isn't cut."""
    (sheet,) = piece_sheets(pinwheel(), mat())
    sizes = []
    for stroke in sheet.strokes:
        if stroke.purpose is Purpose.CHECK:
            box = measure.box(stroke.chain)
            sizes.append((round(box[2] - box[0], 6), round(box[3] - box[1], 6)))
    assert {max(size) for size in sizes} == {50.0, 25.4}
    assert any(height == 50.0 for _, height in sizes)
    assert any(width == 50.0 for width, _ in sizes)


@pytest.mark.parametrize("margins", [Margins(0, 0, 0, 0), Margins(10, 10, 0, 10), Margins(10, 10, 10, 0)])
def test_narrow_margins_keep_the_title_off_the_pieces(margins):
    """With margins too narrow for words the title takes a strip of the sheet that no piece enters."""
    profile = mat(margins=margins)
    block = shifted_grid()
    sheets = piece_sheets(block, profile, blocks=4)
    _check(sheets, block, profile, 4)
    title = next(w for w in sheets[0].letterings if w.text.startswith("shifted grid"))
    box = _boxes(sheets[0])
    above = title.at[1] - title.height / 2 >= box[:, 3].max()
    assert above or title.at[1] + title.height / 2 <= box[:, 1].min()
    if max(margins.left, margins.bottom) == 0:
        assert any(f.code == "CUT-004" for f in sheets[0].findings)


def test_yield_is_what_rows_hold():
    """The stated number of blocks fits one sheet, one more does not; a large block says how many sheets."""
    made = sheet_yield(pinwheel(), mat())
    assert made.blocks_per_sheet >= 1
    assert made.sheets_per_block == 1
    assert len(piece_sheets(pinwheel(), mat(), blocks=made.blocks_per_sheet)) == 1
    assert len(piece_sheets(pinwheel(), mat(), blocks=made.blocks_per_sheet + 1)) == 2
    large = sheet_yield(pinwheel(150.0), mat())
    assert large.blocks_per_sheet == 0
    assert large.sheets_per_block == len(piece_sheets(pinwheel(150.0), mat()))


@pytest.mark.parametrize("make", [pinwheel, kite_pair, compass_flower])
def test_rows_leave_a_corner_free(make):
    """What is taken at the lower right stays empty on every sheet, and counts when the yield is told."""
    block, profile, taken = make(), mat(width=150.0, height=150.0), (60.0, 45.0)
    sheets = piece_sheets(block, profile, blocks=3, taken=taken)
    right, low = profile.width - profile.margins.right - 60.0, profile.margins.bottom + 45.0
    for sheet in sheets:
        box = _boxes(sheet)
        assert ((box[:, 2] <= right + 1e-6) | (box[:, 1] >= low - 1e-6)).all()
    assert sheets_in_rows(block, profile, Product.FINISHED, CutChoices(), 3, taken) == len(sheets)
    made = sheet_yield(block, profile, taken=taken)
    assert made.sheets_per_block == len(piece_sheets(block, profile, taken=taken))
    assert made.blocks_per_sheet <= sheet_yield(block, profile).blocks_per_sheet


def test_a_part_with_no_room_beside_the_corner_is_refused():
    """A square of 100 fits a sheet of 100 by 130 above a corner 30 high, but not above one of 31."""
    block = hand_block("square", [(0, 0), (100, 0), (100, 100), (0, 100)], [[(0, 0), (1, 0), (2, 0), (3, 0)]])
    bare = Margins(left=0.0, right=0.0, top=4.0, bottom=0.0)
    profile = mat(width=100.0, height=134.0, margins=bare)
    assert len(piece_sheets(block, profile, taken=(60.0, 30.0))) == 1
    with pytest.raises(OutputError, match="without a corner of 60 mm x 31 mm"):
        piece_sheets(block, profile, taken=(60.0, 31.0))


@pytest.mark.parametrize("step", [0.0, 90.0, 45.0, 22.5])
def test_parts_are_turned_only_as_the_profile_allows(step):
    """Every copy lies as in the block, or turned by whole steps; any turn is taken where any is allowed."""
    block = kite_pair()
    for facing in (Facing.FRONT, Facing.BACK):
        (sheet, *_) = piece_sheets(block, mat(turn_step_deg=step), facing)
        for copy in sheet.copies:
            x0, y0 = copy.placement.point(0.0, 0.0)
            x, y = copy.placement.point(1.0, 0.0)
            turn = np.degrees(np.arctan2(y - y0, x - x0))
            over = turn % step if step else turn % 360
            assert min(over, (step or 360) - over) < 1e-6
