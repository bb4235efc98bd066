"""Sheets of separate pieces by nesting: the right pieces, the right way up, on fewer sheets than in rows."""

from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest
from hand_blocks import compass_flower, kite_pair, pinwheel, shifted_grid
from hand_profiles import mat

from convert.block import make_block
from convert.block.scale import scaled
from convert.cutting.effort import Effort
from convert.cutting.nested import nested
from convert.cutting.parts import CutChoices
from convert.cutting.rows import better_yield, piece_sheets, sheet_yield
from convert.cutting.sheet import Facing, Product, Purpose
from convert.errors import OutputError
from convert.geometry import measure
from convert.profile import load_profile
from convert.reader import read_drawing

FIXTURES = Path(__file__).parents[2] / "fixtures"


@pytest.mark.parametrize("facing", [Facing.BACK, Facing.FRONT])
@pytest.mark.parametrize("make", [kite_pair, compass_flower, pinwheel, shifted_grid])
def test_every_piece_is_laid_as_often_as_blocks_are_wanted(make, facing):
    """For each sheet every copy names its own piece, flipped as rows flip it; all pieces are there."""
    block, profile = make(), mat()
    layout = nested(block, profile, Effort.QUICK, facing, blocks=3)
    pieces = Counter(piece for load in layout.loads for _, piece, _ in load)
    assert pieces == dict.fromkeys(range(len(block.pieces)), 3)
    for load in layout.loads:
        for part, piece, placement in load:
            assert block.pieces[piece].template == part
            assert placement.flipped == (block.pieces[piece].reversed != (facing is Facing.BACK))


def test_nesting_saves_sheets():
    """Where rows need more sheets than nesting, sheets are nested, inside the margins."""
    block, profile = compass_flower(), mat()
    blocks = nested(block, profile, Effort.QUICK).layout.blocks_per_sheet
    rows = piece_sheets(block, profile, blocks=blocks)
    layout = nested(block, profile, Effort.QUICK, blocks=blocks)
    sheets = piece_sheets(block, profile, blocks=blocks, nested=layout)
    assert len(sheets) == 1 < len(rows)
    margins = profile.margins
    for stroke in sheets[0].strokes:
        if stroke.purpose is Purpose.OUTER:
            left, low, right, high = measure.box(stroke.chain)
            assert left >= margins.left - 1e-4
            assert low >= margins.bottom - 1e-4
            assert right <= profile.width - margins.right + 1e-4
            assert high <= profile.height - margins.top + 1e-4


@pytest.mark.parametrize("kerf", [0.0, 0.1])
def test_without_a_gap_pieces_share_their_cuts(kerf):
    """Where no gap is asked for blocks lie as drawn, side on side; grown by a kerf, as near as can be."""
    profile = replace(mat(gap=0.0), kerf=kerf, width=280.0, height=330.0)
    layout = nested(shifted_grid(), profile, Effort.QUICK, blocks=None).layout
    assert layout.methods == ("tiling",)
    assert not layout.notes
    assert layout.blocks_per_sheet == 2


def test_holes_make_room_for_the_last_block():
    """Rows of the block of five pieces at 4 in lack some for a ninth on Letter, and holes take these."""
    block = make_block(read_drawing(FIXTURES / "vanishing-square.svg"))
    found = nested(
        scaled(block, 101.6 / block.width), load_profile("letter-card"), Effort.NORMAL, blocks=None
    )
    assert found.layout.methods == ("beds and holes",)
    assert found.layout.blocks_per_sheet == found.layout.area_bound == 9
    assert not found.layout.notes


def test_few_copies_lie_closer_than_many():
    """Twenty pieces that take nine tenths of a sheet: as many blocks as the engine alone finds."""
    block = make_block(read_drawing(FIXTURES / "nearly-the-same.svg"))
    sized = scaled(block, 101.6 / block.width)

    layout = nested(sized, load_profile("letter-card"), Effort.NORMAL, blocks=None).layout

    assert layout.blocks_per_sheet == layout.area_bound == 4


def test_many_copies_lie_as_closely_as_the_engine_alone_lays_them():
    """Sixty-three pieces that take 87 % of a sheet: as many blocks as the engine alone finds."""
    block = make_block(read_drawing(FIXTURES / "lily-pond.svg"))
    sized = scaled(block, 101.6 / block.width)

    layout = nested(sized, load_profile("mat-12x12"), Effort.NORMAL, blocks=None).layout

    assert layout.blocks_per_sheet == 7


def test_bays_are_filled_closely():
    """Seventy curved pieces in five bays: a block more than beds, tilings and their holes make."""
    block = make_block(read_drawing(FIXTURES / "five-petal-bell.svg"))
    sized = scaled(block, 101.6 / block.width)

    layout = nested(sized, load_profile("mat-12x12"), Effort.NORMAL, blocks=None).layout

    assert layout.methods == ("engine in bays",)
    assert layout.blocks_per_sheet == 5
    quick = nested(sized, load_profile("mat-12x12"), Effort.QUICK, blocks=None).layout
    assert quick.blocks_per_sheet == 4


def test_holes_of_either_of_two_mirrored_tilings_are_filled():
    """Tilings that lack as much as each other are all tried, in whatever order rounding puts them."""
    block = make_block(read_drawing(FIXTURES / "cosmos.svg"))
    sized = scaled(block, 101.6 / block.width)

    layout = nested(sized, load_profile("mat-12x24"), Effort.NORMAL, blocks=None).layout

    assert layout.methods == ("tiling and holes",)
    assert layout.blocks_per_sheet == 11
    assert layout.area_bound == 13


def test_the_better_yield_counts():
    """What a sheet makes is the better of rows and nesting, never over the bound by area, which is told."""
    block, profile = compass_flower(), mat()
    rows = sheet_yield(block, profile)
    both = better_yield(rows, nested(block, profile, Effort.QUICK).layout)
    assert both.blocks_per_sheet > rows.blocks_per_sheet
    assert both.blocks_per_sheet <= both.area_bound


def test_tools_are_laid_once():
    """Of a window template one is laid however many blocks are wanted, and it names no piece."""
    choices = CutChoices(products=(Product.WINDOW,), allowance_mm=6.35)
    layout = nested(kite_pair(), mat(), Effort.QUICK, blocks=5, product=Product.WINDOW, choices=choices)
    assert [(part, piece) for load in layout.loads for part, piece, _ in load] == [(n, -1) for n in range(3)]


def test_what_fits_no_sheet_is_refused_by_name():
    """A piece larger than the sheet is refused as rows refuse it, by its label."""
    with pytest.raises(OutputError, match="piece A measures"):
        nested(kite_pair(), mat(width=60.0, height=60.0), Effort.QUICK)
