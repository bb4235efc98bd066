"""Blocks whose pieces are moved apart with care: the gap is kept everywhere, and little more than that."""

import numpy as np
import pytest
from nest_shapes import polygon, rosette

from convert.cutting.nest.accept import Judge
from convert.cutting.nest.bounds import grown_area
from convert.cutting.nest.model import Item, Rotation
from convert.cutting.nest.parting import parted_pattern
from convert.cutting.nest.shapes import kinds_of
from convert.cutting.nest.tiling import Cut, block_patterns, block_spots
from convert.geometry.chain import Chain
from convert.geometry.similarity import Similarity

HERE = Similarity()


def wavy_square():
    """Return a square of 60 mm cut in two by a wave of two arcs, and a thin sliver on its right."""
    low = Chain(
        np.array([(0.0, 0.0), (54.0, 0.0), (54.0, 30.0), (27.0, 30.0), (0.0, 30.0)]),
        np.array([0.0, 0.0, 0.4, -0.4, 0.0]),
    )
    high = Chain(
        np.array([(0.0, 30.0), (27.0, 30.0), (54.0, 30.0), (54.0, 60.0), (0.0, 60.0)]),
        np.array([0.4, -0.4, 0.0, 0.0, 0.0]),
    )
    thin = polygon([(54, 0), (60, 0), (60, 60), (54, 60)])
    return [Item(low, 1), Item(high, 1), Item(thin, 1)], [(n, HERE) for n in range(3)]


BLOCKS = {"rosette": rosette(20.0), "wavy square": wavy_square()}


@pytest.mark.parametrize("gap", [0.5, 3.0])
@pytest.mark.parametrize("name", BLOCKS)
def test_every_piece_keeps_the_gap_and_little_is_wasted(name, gap):
    """Cut out of a parted pattern, all copies keep the gap; grown by it, they take nearly what they did."""
    items, drawn = BLOCKS[name]
    kinds = kinds_of(items, Rotation())
    judge = Judge([kind.drawn for kind in kinds], gap)
    (tight, *_) = block_patterns(kinds, block_spots(kinds, drawn), 0.0, 0, 4)
    parted = parted_pattern(kinds, tight, gap)
    taken = sum(grown_area(kinds[part.kind], gap) for part in parted.parts)
    assert 0.94 * tight.density < taken / (parted.pitch * parted.step.imag) <= 1.0
    cut = Cut(kinds, parted, 400.0, 300.0)
    assert len(cut.spots) > 20
    copies = [(s.kind, kinds[s.kind].turn_and_shift(s.angle, s.at)) for s in cut.spots]
    assert judge.judge(copies, 400.0, 300.0).passed


def test_a_gap_larger_than_the_pieces_is_kept_too():
    """With a gap of half the block, pieces still part, or that is told."""
    items, drawn = BLOCKS["wavy square"]
    kinds = kinds_of(items, Rotation())
    (tight, *_) = block_patterns(kinds, block_spots(kinds, drawn), 0.0, 0, 4)
    parted = parted_pattern(kinds, tight, 30.0)
    if parted is not None:
        cut = Cut(kinds, parted, 700.0, 700.0)
        copies = [(s.kind, kinds[s.kind].turn_and_shift(s.angle, s.at)) for s in cut.spots]
        assert Judge([kind.drawn for kind in kinds], 30.0).judge(copies, 700.0, 700.0).passed


def test_a_piece_in_the_hole_of_another_is_not_parted():
    """A disc in a ring lies inside the ring's outline: no way out is looked for."""
    ring = polygon([(0, 0), (60, 0), (60, 60), (0, 60)])
    disc = polygon([(20, 20), (40, 20), (40, 40), (20, 40)])
    kinds = kinds_of([Item(ring, 1), Item(disc, 1)], Rotation())
    (tight, *_) = block_patterns(kinds, block_spots(kinds, [(0, HERE), (1, HERE)]), 0.0, 0, 4)
    assert parted_pattern(kinds, tight, 3.0) is None
