"""Whole blocks side by side: pieces as drawn, or moved apart by one factor; sheets are cut out of that."""

from collections import Counter

import numpy as np
import pytest
from nest_shapes import INCH, polygon, rosette

from convert.cutting.nest.accept import Judge
from convert.cutting.nest.model import Item, Rotation
from convert.cutting.nest.shapes import kinds_of
from convert.cutting.nest.tiling import Cut, block_patterns, block_spots, parted
from convert.geometry.similarity import Similarity

HALVES = [polygon([(0, 0), (40, 0), (0, 40)]), polygon([(40, 0), (40, 40), (0, 40)])]


def halves():
    """Return a square of two triangles: kinds, and pieces as drawn."""
    items = [Item(half, 1) for half in HALVES]
    return kinds_of(items, Rotation()), [(0, Similarity()), (1, Similarity())]


def test_a_drawn_block_must_be_what_is_needed():
    """Places of other pieces than one block needs are not used."""
    kinds, drawn = halves()
    assert block_spots(kinds, drawn) is not None
    assert block_spots(kinds, drawn[:1]) is None
    assert block_spots(kinds, [*drawn, (1, Similarity())]) is None
    assert block_spots(kinds, [(0, Similarity()), (1, Similarity(flipped=True))]) is None


@pytest.mark.parametrize("gap", [0.5, 2.0, 5.0])
def test_pieces_move_apart_just_as_far_as_the_gap(gap):
    """Moved apart, pieces keep the gap, and the nearest two are not much farther apart than that."""
    items, drawn = rosette()
    kinds = kinds_of(items, Rotation())
    spots = parted(kinds, block_spots(kinds, drawn), gap)
    middles = np.array([spot.at for spot in spots])
    nearest = min(abs(a - b) for i, a in enumerate(middles) for b in middles[:i])
    assert nearest - np.sqrt(3) * INCH == pytest.approx(gap, rel=0.01)
    judge = Judge([kind.drawn for kind in kinds], gap)
    copies = [(s.kind, kinds[s.kind].turn_and_shift(s.angle, s.at + 200 + 200j)) for s in spots]
    assert judge.judge(copies, 400.0, 400.0).passed


def test_without_a_gap_nothing_moves():
    """With no gap the block stays as drawn."""
    kinds, drawn = halves()
    spots = block_spots(kinds, drawn)
    assert parted(kinds, spots, 0.0) == spots


def test_square_blocks_of_two_triangles_fill_a_sheet_of_squares():
    """A sheet of 3 by 4 squares holds 12 blocks, exactly, all pieces as drawn."""
    kinds, drawn = halves()
    spots = block_spots(kinds, drawn)
    best = max(
        (Cut(kinds, pattern, 120.0, 160.0) for pattern in block_patterns(kinds, spots, 0.0, 0, 8)),
        key=lambda cut: len(cut.spots),
    )
    assert Counter(spot.kind for spot in best.spots) == {0: 12, 1: 12}
    judge = Judge([kind.drawn for kind in kinds], 0.0)
    copies = [(s.kind, kinds[s.kind].turn_and_shift(s.angle, s.at)) for s in best.spots]
    assert judge.judge(copies, 120.0, 160.0).passed


@pytest.mark.parametrize("gap", [0.0, 1.5])
def test_every_cut_passes_judgement(gap):
    """Whatever is cut out of patterns of rosettes lies inside and apart, at any size of sheet."""
    items, drawn = rosette(12.0)
    kinds = kinds_of(items, Rotation())
    spots = parted(kinds, block_spots(kinds, drawn), gap)
    judge = Judge([kind.drawn for kind in kinds], gap)
    for width, height in ((203.2, 266.7), (150.0, 90.0), (77.7, 300.0)):
        for pattern in block_patterns(kinds, spots, gap, 0, 8)[:4]:
            cut = Cut(kinds, pattern, width, height)
            copies = [(s.kind, kinds[s.kind].turn_and_shift(s.angle, s.at)) for s in cut.spots]
            assert judge.judge(copies, width, height).passed
            assert len(cut.spots) >= (7 if min(width, height) > 80.0 else 0)


def test_a_block_that_may_not_turn_is_laid_as_drawn():
    """Without turning, patterns of whole blocks keep every piece's turn as drawn."""
    items = [Item(half, 1) for half in HALVES]
    kinds = kinds_of(items, Rotation(0.0))
    spots = block_spots(kinds, [(0, Similarity()), (1, Similarity())])
    found = block_patterns(kinds, spots, 0.0, 0, 8)
    assert found
    assert {part.angle for pattern in found for part in pattern.parts} == {0.0}
